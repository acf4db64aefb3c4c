"""Time, distance and speed on the flat, any two to the third, and the paces that go with them.

It is a steady walk on level ground: what slopes and going add to it is not in here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..errors import TwoOfThreeError
from .estimate import PACED_SD_RATIO, checked, checked_sd, default_sd, first_order_sd

__all__ = ["SPEED_SD_RATIO", "TIME_SD_MIN", "TravelTime", "pace_speed_km_per_h", "solve_travel"]

#: Standard deviation of a walking speed expected, over it: common practice, no source.
SPEED_SD_RATIO = 0.1

#: Standard deviation of a time by the watch, read to the minute at both ends: common practice, no source. [minute]
TIME_SD_MIN = 0.5

#: Metres a minute in a kilometre an hour.
_M_PER_MIN = 1000.0 / 60.0


@dataclass(frozen=True, slots=True)
class TravelTime:
    """Distance, time and speed that belong together, and the standard deviation ``sd`` of the one ``found``, in its unit."""

    found: str
    distance_m: FloatArray
    time_min: FloatArray
    speed_km_per_h: FloatArray
    sd: FloatArray


_LIMITS = MappingProxyType(
    {"distance_m": (0.1, 2e7), "time_min": (1e-3, 1e6), "speed_km_per_h": (0.01, 1000.0)}
)

_FORMULAS: MappingProxyType[str, Callable[..., FloatArray]] = MappingProxyType(
    {
        "distance_m": lambda time, speed: time * speed * _M_PER_MIN,
        "time_min": lambda distance, speed: distance / (speed * _M_PER_MIN),
        "speed_km_per_h": lambda distance, time: distance / (time * _M_PER_MIN),
    }
)


def solve_travel(
    *,
    distance_m: ArrayLike | None = None,
    time_min: ArrayLike | None = None,
    speed_km_per_h: ArrayLike | None = None,
    distance_sd_m: ArrayLike | None = None,
    time_sd_min: ArrayLike | None = None,
    speed_sd_km_per_h: ArrayLike | None = None,
) -> TravelTime:
    """The third of distance [metre], time [minute] and speed [kilometre an hour] from two. Shapes broadcast.

    Standard deviations that are not given are `PACED_SD_RATIO` of the distance, `TIME_SD_MIN` but at most
    `estimate.DEFAULT_SD_SHARE` of the time, and `SPEED_SD_RATIO` of the speed.

    Raises
    ------
    TwoOfThreeError
        Not just two are given.
    OutOfRangeError
        A distance is not 0.1 to 20,000,000 m, a time not 0.001 to 1,000,000 minutes, a speed not 0.01 to 1000 km/h, or a
        standard deviation that is given is not under its own value.
    """
    offered = {"distance_m": distance_m, "time_min": time_min, "speed_km_per_h": speed_km_per_h}
    given = {
        name: checked(name, value, *_LIMITS[name]) for name, value in offered.items() if value is not None
    }
    if len(given) != 2:
        raise TwoOfThreeError(
            f"{len(given)} of distance, time and speed are given",
            allowed="just two of distance_m, time_min and speed_km_per_h",
        )
    (found,) = offered.keys() - given.keys()
    stated = {
        "distance_m": ("distance_sd_m", distance_sd_m),
        "time_min": ("time_sd_min", time_sd_min),
        "speed_km_per_h": ("speed_sd_km_per_h", speed_sd_km_per_h),
    }
    sds = [_sd(value, *stated[name]) for name, value in given.items()]
    values = list(given.values())
    answer = np.asarray(_FORMULAS[found](*values))[()]
    return TravelTime(
        found=found, **given | {found: answer}, sd=first_order_sd(_FORMULAS[found], values, sds)
    )


def pace_speed_km_per_h(paces_per_min: ArrayLike, paces_per_100_m: ArrayLike) -> FloatArray:
    """The speed of a walker who takes so many paces a minute, by the walker's own count over 100 m.

    Raises
    ------
    OutOfRangeError
        Paces a minute are not 1 to 400, or the count is not 20 to 500.
    """
    cadence = checked("paces_per_min", paces_per_min, 1.0, 400.0)
    count = checked("paces_per_100_m", paces_per_100_m, 20.0, 500.0)
    return cadence * (100.0 / count) / _M_PER_MIN


def _sd(value: FloatArray, member: str, sd: ArrayLike | None) -> FloatArray:
    if sd is not None:
        return checked_sd(member, sd, value)
    if member == "time_sd_min":
        return default_sd(value, TIME_SD_MIN)
    return (PACED_SD_RATIO if member == "distance_sd_m" else SPEED_SD_RATIO) * value
