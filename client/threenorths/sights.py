"""Sights, and the fix that intersections and resections find from them."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from .answers import Caution
from .errors import ArgumentError
from .places import Position, PositionInput
from .to_json import given, position_json

__all__ = ["Ellipse", "Fix", "SightFrom", "SightTo", "sight_members"]


@dataclass(frozen=True, slots=True)
class SightFrom:
    """A bearing that was taken *at* a known place, for an intersection.

    ``bearing`` is a number in the unit that the call names, or a text in degrees; ``sd_deg`` its standard deviation.
    """

    place: PositionInput
    bearing: float | str
    sd_deg: float | None = None


@dataclass(frozen=True, slots=True)
class SightTo:
    """A bearing that was taken *to* a known mark, for a resection. Members as of `SightFrom`."""

    place: PositionInput
    bearing: float | str
    sd_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Covariance:
    """Covariance of the place's errors to the true north and east. [square metre]"""

    north_north: float
    north_east: float
    east_east: float


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Where the place may be: half-axes from the standard deviations of all that is known to err. [metre]

    ``major_axis_azimuth_deg`` is from true north, in [0, 180). ``confidence`` is the probability that the place lies
    inside, if the standard deviations are right and no sight is a blunder.
    """

    semi_major_m: float
    semi_minor_m: float
    major_axis_azimuth_deg: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Fix:
    """The place that fits the sights best, and how well it is known. [degree], [metre]

    For each sight in order: ``residuals_deg``, the bearing read less that of the fix; ``distances_m``, from the fix
    to its place; ``sd_deg``, the standard deviation used. ``degrees_of_freedom`` counts the sights to spare: at 0 a
    blunder cannot show, and ``variance_factor`` is ``None``. ``compass_error_deg`` is reading less correct bearing,
    ``None`` where it was not solved for.
    """

    position: Position
    covariance_m2: Covariance
    ellipse: Ellipse
    crossing_angle_deg: float
    residuals_deg: tuple[float, ...]
    distances_m: tuple[float, ...]
    sd_deg: tuple[float, ...]
    degrees_of_freedom: int
    variance_factor: float | None
    compass_error_deg: float | None
    compass_error_sd_deg: float | None
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


def sight_members(sights: Sequence[SightFrom | SightTo], member: str) -> list[dict[str, Any]]:
    """Sights as a request has them; ``member`` is what their known place is called there.

    Raises `ArgumentError` where one is not a `SightFrom`, or for ``to`` a `SightTo`.
    """
    expected = SightFrom if member == "from" else SightTo
    members = []
    for index, sight in enumerate(sights):
        if not isinstance(sight, expected):
            raise ArgumentError(f"sights[{index}] is no {expected.__name__} but {sight!r:.100}")
        place = position_json(sight.place, f"sights[{index}].place")
        members.append({member: place, **given(bearing=sight.bearing, sd_deg=sight.sd_deg)})
    return members
