"""Fixes: a place from any mixture of bearings, distances, angles and lines stood on, with blunders named."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Unpack

from .answers import Caution, North, Unit
from .caller import Operations
from .errors import ArgumentError
from .place_options import PlaceOptions, place_members
from .places import Position, PositionInput
from .search_areas import LineInput, line_json
from .sights import Covariance, Ellipse
from .to_json import DateInput, given, position_json

__all__ = [
    "AngleBetween",
    "BearingFrom",
    "BearingTo",
    "DistanceTo",
    "FixOperations",
    "Fixes",
    "LineStoodOn",
    "Observation",
]


@dataclass(frozen=True, slots=True)
class BearingTo:
    """A bearing read at the unknown place to a known mark; ``north`` and ``sd_deg`` where they differ from the request's."""

    to: PositionInput
    bearing: float | str
    north: North | None = None
    sd_deg: float | None = None


@dataclass(frozen=True, slots=True)
class BearingFrom:
    """A bearing read at a known place to the unknown one. Members as of `BearingTo`."""

    from_: PositionInput
    bearing: float | str
    north: North | None = None
    sd_deg: float | None = None


@dataclass(frozen=True, slots=True)
class DistanceTo:
    """A level distance between the unknown place and a known one. [metre]"""

    to: PositionInput
    distance_m: float
    sd_m: float


@dataclass(frozen=True, slots=True)
class AngleBetween:
    """The angle at the unknown place from a left mark clockwise to a right one."""

    left: PositionInput
    right: PositionInput
    angle: float | str
    sd_deg: float | None = None


@dataclass(frozen=True, slots=True)
class LineStoodOn:
    """A line that the unknown place lies on: positions, or a GeoJSON LineString. [metre]"""

    line: LineInput
    sd_m: float | None = None


Observation = BearingTo | BearingFrom | DistanceTo | AngleBetween | LineStoodOn


@dataclass(frozen=True, slots=True)
class Observed:
    """One observation against a place; of a length its angles are ``None``, and the other way round. [degree], [metre]"""

    kind: str
    residual_deg: float | None
    residual_m: float | None
    sd_deg: float | None
    sd_m: float | None
    standardised: float
    redundancy: float
    distance_m: float


@dataclass(frozen=True, slots=True)
class FixedPlace:
    """A place that fits the observations, and how well it is known. [metre], [degree]"""

    position: Position
    covariance_m2: Covariance
    ellipse: Ellipse
    along_line_sd_m: tuple[float, ...]
    compass_error_deg: float | None
    compass_error_sd_deg: float | None
    misfit: float
    observations: tuple[Observed, ...]


@dataclass(frozen=True, slots=True)
class SlipFound:
    """A slip that would make an observation fit; ``reading`` is what would have been right to give."""

    slip: str
    explanation: str
    reading: float
    left_sds: float
    mark: int | None
    chance: float


@dataclass(frozen=True, slots=True)
class Suspect:
    """An observation, by its index, that contradicts the others; ``rivals`` could be wrong in its stead."""

    observation: int
    test: float
    rivals: tuple[int, ...]
    explanations: tuple[SlipFound, ...]


@dataclass(frozen=True, slots=True)
class Region:
    """Where the place is with a stated confidence, by the likelihood itself; rings are longitude first. [degree]"""

    confidence: float
    area_m2: float
    area_ratio: float
    cut_off: bool
    rings: tuple[tuple[tuple[float, ...], ...], ...] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Fixes:
    """The places that fit, the best first; none where all observations together fit none, and then ``without_suspects`` is
    the fix of the others.
    """

    places: tuple[FixedPlace, ...]
    degrees_of_freedom: int | None
    variance_factor: float | None
    variance_factor_limit: float | None
    ellipse: Ellipse | None
    posterior_ellipse: Ellipse | None
    crossing_angle_deg: float | None
    suspects: tuple[Suspect, ...]
    without_suspects: FixedPlace | None
    regions: tuple[Region, ...]
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class FixOperations(Operations):
    """``client.fixes``"""

    def find(
        self,
        observations: Sequence[Observation],
        north: North | None = None,
        unit: Unit | None = None,
        date: DateInput | None = None,
        sd_deg: float | None = None,
        *,
        solve_compass_error: bool | None = None,
        other_marks: Sequence[PositionInput] | None = None,
        regions: bool | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Fixes:
        """The place, or the places, that observations of any kinds fix; magnetic bearings need a ``date``.

        ``other_marks`` are places that may have been taken for the marks named. With ``regions`` the answer has the regions
        of the likelihood itself.

        Raises `NoAnswerError`: ``observations_do_not_meet``, ``observations_touch``, ``too_few_observations``, and those of
        `ResectionOperations.fix`; its ``sights`` say which observations are at fault.
        """
        members = given(
            observations=[_observation_json(each, index) for index, each in enumerate(observations)],
            north=north,
            unit=unit,
            date=date,
            sd_deg=sd_deg,
            solve_compass_error=solve_compass_error,
            other_marks=None
            if other_marks is None
            else [position_json(mark, f"other_marks[{index}]") for index, mark in enumerate(other_marks)],
            regions=regions,
            working=working,
            **place_members(places),
        )
        return self._ask(Fixes, "fixes", members)


def _observation_json(observation: Observation, index: int) -> dict[str, Any]:
    where = f"observations[{index}]"
    match observation:
        case BearingTo():
            place = {"to": position_json(observation.to, f"{where}.to")}
            return {"kind": "bearing_to", **place, **_bearing_json(observation)}
        case BearingFrom():
            place = {"from": position_json(observation.from_, f"{where}.from_")}
            return {"kind": "bearing_from", **place, **_bearing_json(observation)}
        case DistanceTo():
            place = {"to": position_json(observation.to, f"{where}.to")}
            return {
                "kind": "distance",
                **place,
                "distance_m": observation.distance_m,
                "sd_m": observation.sd_m,
            }
        case AngleBetween():
            marks = {
                side: position_json(getattr(observation, side), f"{where}.{side}")
                for side in ("left", "right")
            }
            return {"kind": "angle", **marks, **given(angle=observation.angle, sd_deg=observation.sd_deg)}
        case LineStoodOn():
            line = line_json(observation.line, f"{where}.line")
            return {"kind": "line", **given(line=line, sd_m=observation.sd_m)}
    raise ArgumentError(
        f"{where} is no observation but {observation!r:.100}; use BearingTo, BearingFrom, DistanceTo, AngleBetween or "
        "LineStoodOn"
    )


def _bearing_json(observation: BearingTo | BearingFrom) -> dict[str, Any]:
    return given(bearing=observation.bearing, north=observation.north, sd_deg=observation.sd_deg)
