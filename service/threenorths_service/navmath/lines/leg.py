"""A leg of a walk: one direction and one level length, however the length was told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..directions.bearing import NORTHS
from ..errors import (
    LengthsInconsistentError,
    LengthsMissingError,
    NavigationError,
    NoLegsError,
    OutOfRangeError,
)
from ..estimates.estimate import checked, paced_length_m
from ..rows import BoolArray

__all__ = [
    "HEADING_SD_RANGE_DEG",
    "LENGTH_SD_RATIO_RANGE",
    "LONGEST_LEG_M",
    "LONGEST_WALK_M",
    "MEASURES",
    "Leg",
    "LegTable",
    "leg_of",
    "leg_table",
]

#: How the length of a leg was had: given in metres, from counted paces, or from the time at a speed.
MEASURES = ("distance", "paces", "time")

#: The longest leg and the longest walk that are reckoned. Errors are carried on a plane rolled along the walk: over a
#: walk of the second length the round Earth makes that 0.4 per cent wrong. [metre]
LONGEST_LEG_M = 100_000.0
LONGEST_WALK_M = 1_000_000.0

#: Standard deviations of a direction that are accepted. Beyond the second a walk ends anywhere on an arc, which no
#: ellipse describes: with 10 degrees for each leg and 10 for the compass, that of 95 per cent still holds 92. [degree]
HEADING_SD_RANGE_DEG = (0.0001, 10.0)

#: Standard deviations of a length, over it, that are accepted: from that of a surveyor's distance meter upwards.
LENGTH_SD_RATIO_RANGE = (1e-6, 0.5)

#: Metres a minute in a kilometre an hour.
_M_PER_MIN = 1000.0 / 60.0


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg, straight from one turning point to the next.

    ``bearing_deg`` clockwise from ``north``, one of `NORTHS`. Where ``back`` is set it was read at the leg's end, looking
    back to its start, from the north there. ``length_m`` is level; none is a halt. ``measured_by`` is one of `MEASURES`.
    The standard deviations of the leg's own errors are those of the whole walk where they are ``None``.
    """

    bearing_deg: float
    length_m: float
    north: str = "true"
    back: bool = False
    measured_by: str = "distance"
    heading_sd_deg: float | None = None
    length_sd_ratio: float | None = None


@dataclass(frozen=True, slots=True)
class LegTable:
    """Checked legs as columns of shape (n,); a standard deviation that a leg does not have is NaN."""

    length_m: FloatArray
    magnetic: BoolArray
    true: BoolArray
    timed: BoolArray
    heading_sd_deg: FloatArray
    length_sd_ratio: FloatArray


def leg_of(
    bearing_deg: float,
    *,
    distance_m: float | None = None,
    paces: float | None = None,
    paces_per_100_m: float | None = None,
    time_min: float | None = None,
    speed_km_per_h: float | None = None,
    gradient: float = 0.0,
    north: str = "true",
    back: bool = False,
    heading_sd_deg: float | None = None,
    length_sd_ratio: float | None = None,
) -> Leg:
    """The leg of a direction and of one length: a distance, paces with the walker's count, or a time at a speed.

    Parameters
    ----------
    gradient : float
        Rise over level length, uphill positive; either way the length lies along the slope, and the leg is its level part.

    Raises
    ------
    LengthsMissingError, LengthsInconsistentError
        The length is not told, or in more than one way.
    OutOfRangeError
        A number of paces is not 0 to 1,000,000, a count not 20 to 500 over 100 m, a time not 0 to 100,000 minutes, a
        speed not 0.01 to 1000 km/h, a gradient not -2 to 2, or the length, however it was told, not 0 to 100,000 m.
    """
    told = {"distance": distance_m, "paces": paces, "time": time_min}
    given = [measure for measure, value in told.items() if value is not None]
    if len(given) > 1:
        raise LengthsInconsistentError(f"the length is told by {' and by '.join(given)}", allowed=_ONE_LENGTH)
    if distance_m is not None:
        along_m = float(checked("distance_m", distance_m, 0.0, LONGEST_LEG_M))
    elif paces is not None and paces_per_100_m is not None:
        along_m = float(paced_length_m(paces, paces_per_100_m))
    elif time_min is not None and speed_km_per_h is not None:
        speed = float(checked("speed_km_per_h", speed_km_per_h, 0.01, 1000.0))
        along_m = float(checked("time_min", time_min, 0.0, 1e5)) * speed * _M_PER_MIN
    else:
        raise _missing(paces, time_min)
    if along_m > LONGEST_LEG_M:
        # What was given is named, not the length that it came to.
        member, value = ("paces", paces) if paces is not None else ("time_min", time_min)
        raise OutOfRangeError(
            f"{member} of {value:g} make {along_m / 1000.0:,.0f} km",
            member=member,
            value=value,
            allowed=f"what makes at most {LONGEST_LEG_M / 1000.0:.0f} km",
        )
    level_m = along_m / float(np.hypot(1.0, checked("gradient", gradient, -2.0, 2.0)))
    return Leg(bearing_deg, level_m, north, back, given[0], heading_sd_deg, length_sd_ratio)


_ONE_LENGTH = "just one of distance_m, paces with paces_per_100_m, and time_min with speed_km_per_h"


def _missing(paces: float | None, time_min: float | None) -> LengthsMissingError:
    if paces is not None:
        return LengthsMissingError(
            "a length in paces needs the walker's count", member="paces_per_100_m", allowed="paces over 100 m"
        )
    if time_min is not None:
        return LengthsMissingError(
            "a length by the time needs the speed", member="speed_km_per_h", allowed="a speed in km/h"
        )
    return LengthsMissingError("the length of the leg is not told", allowed=_ONE_LENGTH)


def leg_table(legs: Sequence[Leg]) -> LegTable:
    """The legs as columns.

    Raises
    ------
    NoLegsError
        There are none.
    OutOfRangeError
        A number of a leg is out of its range, such as ``legs/1/length_m``; or all of the walk is too long.
    """
    if not legs:
        raise NoLegsError("the walk has no legs", member="legs", value=0, allowed="at least one leg")
    for index, leg in enumerate(legs):
        try:
            _check_leg(leg)
        except NavigationError as error:
            raise error.within(f"legs/{index}")  # noqa: B904 - the same error, told where it is
    length_m = np.array([leg.length_m for leg in legs], dtype=np.float64)
    if length_m.sum() > LONGEST_WALK_M:
        raise OutOfRangeError(
            f"the legs are {length_m.sum() / 1000.0:.0f} km long together",
            member="legs",
            allowed=f"at most {LONGEST_WALK_M / 1000.0:.0f} km between known places",
        )
    return LegTable(
        length_m=length_m,
        magnetic=np.array([leg.north == "magnetic" for leg in legs]),
        true=np.array([leg.north == "true" for leg in legs]),
        timed=np.array([leg.measured_by == "time" for leg in legs]),
        heading_sd_deg=np.array([leg.heading_sd_deg for leg in legs], dtype=np.float64),
        length_sd_ratio=np.array([leg.length_sd_ratio for leg in legs], dtype=np.float64),
    )


def _check_leg(leg: Leg) -> None:
    if leg.north not in NORTHS or leg.measured_by not in MEASURES:
        raise ValueError(f"{leg.north!r} must be one of {NORTHS}, {leg.measured_by!r} one of {MEASURES}")
    checked("bearing_deg", leg.bearing_deg, -360.0, 360.0)
    checked("length_m", leg.length_m, 0.0, LONGEST_LEG_M)
    if leg.heading_sd_deg is not None:
        checked("heading_sd_deg", leg.heading_sd_deg, *HEADING_SD_RANGE_DEG)
    if leg.length_sd_ratio is not None:
        checked("length_sd_ratio", leg.length_sd_ratio, *LENGTH_SD_RATIO_RANGE)
