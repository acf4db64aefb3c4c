"""Observations of one unknown place: what was seen, measured or known there, each with its own standard deviation.

Five kinds, each of which says one number about the place: a bearing read there to a known mark, a bearing read at a known
place toward it, a distance from a known place, an angle between two marks seen from it, and a line that it lies on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..directions.bearing import NORTHS
from ..errors import CoincidentPointsError, OutOfRangeError
from ..sights.sight import DEFAULT_SD_DEG, SD_RANGE_DEG

__all__ = [
    "DEFAULT_LINE_SD_M",
    "KINDS",
    "LENGTH_RANGE_M",
    "SD_RANGE_M",
    "AngleBetween",
    "BearingFrom",
    "BearingTo",
    "DistanceTo",
    "LineStoodOn",
    "Observation",
    "check_observation",
]

#: How well a road, a stream or a ridge is drawn, and stood on: 0.2 mm on a sheet of 1:50,000 (common practice, no source).
DEFAULT_LINE_SD_M = 10.0

#: Standard deviations of lengths that are accepted. [metre]
SD_RANGE_M = (0.001, 10_000.0)
#: Distances that are accepted: a quarter of the way round the globe at most. [metre]
LENGTH_RANGE_M = (0.001, 10_000_000.0)


@dataclass(frozen=True, slots=True)
class BearingTo:
    """A bearing read at the unknown place toward a known mark.

    ``lat_deg``, ``lon_deg`` of the mark; ``bearing_deg`` from ``north`` at the unknown place; ``sd_deg``. [degree]
    ``zone`` and ``south`` name the grid of a grid bearing, by the zone rule at the unknown place where left out.
    ``place_sd_m``, of the mark to the north and to the east. [metre] ``same_compass``: whether it was read on the compass
    whose error may be solved for.
    """

    lat_deg: float
    lon_deg: float
    bearing_deg: float
    sd_deg: float = DEFAULT_SD_DEG
    north: str = "true"
    zone: int | None = None
    south: bool | None = None
    place_sd_m: float = 0.0
    same_compass: bool = True


@dataclass(frozen=True, slots=True)
class BearingFrom:
    """A bearing read at a known place toward the unknown one; members as in `BearingTo`, the north at the known place."""

    lat_deg: float
    lon_deg: float
    bearing_deg: float
    sd_deg: float = DEFAULT_SD_DEG
    north: str = "true"
    zone: int | None = None
    south: bool | None = None
    place_sd_m: float = 0.0
    same_compass: bool = False


@dataclass(frozen=True, slots=True)
class DistanceTo:
    """A level distance between the unknown place and a known one, with its standard deviation. [metre]"""

    lat_deg: float
    lon_deg: float
    distance_m: float
    sd_m: float
    place_sd_m: float = 0.0


@dataclass(frozen=True, slots=True)
class AngleBetween:
    """The angle at the unknown place clockwise from a left mark to a right one. [degree] It needs no compass."""

    left_lat_deg: float
    left_lon_deg: float
    right_lat_deg: float
    right_lon_deg: float
    angle_deg: float
    sd_deg: float = DEFAULT_SD_DEG
    left_sd_m: float = 0.0
    right_sd_m: float = 0.0


@dataclass(frozen=True, slots=True)
class LineStoodOn:
    """A line that the unknown place lies on: two or more places, joined by geodesics; ``sd_m``, across it. [metre]"""

    lat_deg: tuple[float, ...]
    lon_deg: tuple[float, ...]
    sd_m: float = DEFAULT_LINE_SD_M


Observation = BearingTo | BearingFrom | DistanceTo | AngleBetween | LineStoodOn

#: The name of each kind, as errors and answers say it.
KINDS: dict[type, str] = {
    BearingTo: "bearing_to",
    BearingFrom: "bearing_from",
    DistanceTo: "distance",
    AngleBetween: "angle",
    LineStoodOn: "line",
}


def check_observation(observation: Observation, member: str) -> None:
    """Raise `OutOfRangeError` for a number that is not finite or out of its range, naming it as ``member/sd_deg``."""
    if isinstance(observation, BearingTo | BearingFrom):
        if observation.north not in NORTHS:
            raise ValueError(f"north must be one of {NORTHS}, not {observation.north!r}")
        _check_place(observation.lat_deg, observation.lon_deg, member)
        _check(observation.bearing_deg, (-360.0, 360.0), f"{member}/bearing_deg", "degrees")
        _check(observation.sd_deg, SD_RANGE_DEG, f"{member}/sd_deg", "degrees")
    elif isinstance(observation, DistanceTo):
        _check_place(observation.lat_deg, observation.lon_deg, member)
        _check(observation.distance_m, LENGTH_RANGE_M, f"{member}/distance_m", "metres")
        _check(observation.sd_m, SD_RANGE_M, f"{member}/sd_m", "metres")
    elif isinstance(observation, AngleBetween):
        _check_place(observation.left_lat_deg, observation.left_lon_deg, member, "left_")
        _check_place(observation.right_lat_deg, observation.right_lon_deg, member, "right_")
        _check(observation.angle_deg, (-360.0, 360.0), f"{member}/angle_deg", "degrees")
        _check(observation.sd_deg, SD_RANGE_DEG, f"{member}/sd_deg", "degrees")
    else:
        _check_line(observation, member)


def _check_line(line: LineStoodOn, member: str) -> None:
    if len(line.lat_deg) < 2 or len(line.lat_deg) != len(line.lon_deg):
        raise CoincidentPointsError(
            f"{member} has {len(line.lat_deg)} places: a line has two at least",
            member=member,
            allowed="two or more places",
        )
    _check_each(line.lat_deg, (-90.0, 90.0), f"{member}/lat_deg")
    _check_each(line.lon_deg, (-180.0, 360.0), f"{member}/lon_deg")
    _check(line.sd_m, SD_RANGE_M, f"{member}/sd_m", "metres")


def _check_each(values: Sequence[float], limits: tuple[float, float], member: str) -> None:
    for index, value in enumerate(values):
        _check(value, limits, f"{member}/{index}", "degrees")


def _check_place(lat_deg: float, lon_deg: float, member: str, side: str = "") -> None:
    _check(lat_deg, (-90.0, 90.0), f"{member}/{side}lat_deg", "degrees")
    _check(lon_deg, (-180.0, 360.0), f"{member}/{side}lon_deg", "degrees")


def _check(value: float, limits: tuple[float, float], member: str, unit: str) -> None:
    least, most = limits
    if not (math.isfinite(value) and least <= value <= most):
        raise OutOfRangeError(
            f"{value} is outside [{least:g}, {most:g}]",
            member=member,
            value=value,
            allowed=f"a number in [{least:g}, {most:g}] {unit}",
        )
