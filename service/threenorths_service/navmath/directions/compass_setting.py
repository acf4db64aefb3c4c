"""Settings of a compass: clicks of a bezel, an adjustable declination scale, and orienting the map.

The bezel is the ring of a sighting compass with a luminous line, turned by feel in clicks from the index. Turned
counterclockwise by a magnetic azimuth, it makes the sights point along that azimuth once the north arrow lies under
the line (US Army TC 3-25.26 and FM 3-25.26, para 9-2: 120 clicks of 3 degrees; clicks = azimuth / 3). Turned
clockwise by an easterly grid-magnetic angle, or counterclockwise by a westerly one, it makes the sights point along
grid north (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_azimuth, normalise_signed

__all__ = [
    "BezelSetting",
    "Turn",
    "bezel_for_azimuth",
    "bezel_for_grid_magnetic_angle",
    "map_oriented_dial_deg",
    "shorter_clicks",
]

#: Two settings whose misses differ by less than this are as near as each other. [degree]
TIE_DEG = 1e-9
#: A click of which this much of one is left over on the circle divides it. [clicks]
WHOLE_CLICKS = 1e-6

IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn of the bezel from its index: so many clicks, signed, counterclockwise positive."""

    clicks: IntArray
    set_deg: FloatArray
    residual_deg: FloatArray
    off_line_m_per_km: FloatArray


@dataclass(frozen=True, slots=True)
class BezelSetting:
    """The nearest setting, the next nearest, and whether the two are a tie. Clicks are to be of less than 90 degrees.

    ``set_deg`` is the angle that the clicks make, ``residual_deg`` that angle less the one wanted, and
    ``off_line_m_per_km`` how far the line followed lies off the line wanted after a kilometre, right positive.
    """

    nearest: Turn
    other: Turn
    tie: NDArray[np.bool_]


def bezel_for_azimuth(magnetic_azimuth_deg: ArrayLike, click_deg: ArrayLike = 3.0) -> BezelSetting:
    """Clicks counterclockwise that pre-set a bezel for a magnetic azimuth. Shapes broadcast. [degree]

    They are counted from the index all the way, as the handbook counts, so that 359 degrees by clicks of 3 is 120
    clicks, a full turn. Of a tie the lesser turn is named first.
    """
    wanted, click = normalise_azimuth(magnetic_azimuth_deg), np.asarray(click_deg, dtype=np.float64)
    lower, upper = _clicks_about(wanted, click)

    def turn(clicks: FloatArray) -> Turn:
        angle = clicks * click
        residual = normalise_signed(angle - wanted)
        return Turn(clicks.astype(np.int64), normalise_azimuth(angle), residual, _off_line(residual))

    return _nearer(turn(lower), turn(upper))


def bezel_for_grid_magnetic_angle(
    grid_magnetic_angle_deg: ArrayLike, click_deg: ArrayLike = 3.0
) -> BezelSetting:
    """Clicks that set off a grid-magnetic angle, so that directions read from the line are grid. [degree]

    Easterly angles turn clockwise (negative clicks), westerly ones counterclockwise. ``set_deg`` is the angle set
    off, east positive. A setting too far east leads left of the line, hence the sign of ``off_line_m_per_km``.
    """
    wanted, click = normalise_signed(grid_magnetic_angle_deg), np.asarray(click_deg, dtype=np.float64)
    east = np.where(wanted < 0.0, -1.0, 1.0)
    lower, upper = _clicks_about(np.abs(wanted), click)

    def turn(clicks: FloatArray) -> Turn:
        angle = east * clicks * click + 0.0
        residual = normalise_signed(angle - wanted)
        return Turn((-east * clicks).astype(np.int64), angle, residual, _off_line(-residual))

    return _nearer(turn(lower), turn(upper))


def map_oriented_dial_deg(grid_magnetic_angle_deg: ArrayLike) -> FloatArray:
    """What the dial reads when the compass's edge lies along a north-south grid line of an oriented map. [degree]

    Grid north lies at the magnetic azimuth ``0 - G``: 346 for an easterly angle of 14 degrees.
    """
    return normalise_azimuth(np.negative(grid_magnetic_angle_deg))


def shorter_clicks(clicks: ArrayLike, click_deg: ArrayLike) -> tuple[IntArray, NDArray[np.bool_]]:
    """The same setting of the bezel reached the shorter way round, in signed clicks as a `Turn` has them.

    The second array says whether the clicks divide the circle: only where they do is there another way round.
    """
    circle = 360.0 / np.asarray(click_deg, dtype=np.float64)
    whole = np.rint(circle)
    divides = np.abs(circle - whole) <= WHOLE_CLICKS
    around = np.mod(clicks, whole.astype(np.int64))
    return np.where(around <= circle / 2.0, around, around - whole.astype(np.int64)), divides


def _clicks_about(angle_deg: FloatArray, click_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    lower = np.floor(angle_deg / click_deg)
    return lower, lower + 1.0


def _off_line(residual_deg: FloatArray) -> FloatArray:
    return np.asarray(1000.0 * np.tan(np.radians(residual_deg)) + 0.0)


def _nearer(lower: Turn, upper: Turn) -> BezelSetting:
    miss_lower, miss_upper = np.abs(lower.residual_deg), np.abs(upper.residual_deg)
    tie = np.abs(miss_lower - miss_upper) < TIE_DEG
    take_lower = tie | (miss_lower < miss_upper)

    def pick(first: Turn, second: Turn) -> Turn:
        return Turn(
            np.where(take_lower, first.clicks, second.clicks),
            np.where(take_lower, first.set_deg, second.set_deg),
            np.where(take_lower, first.residual_deg, second.residual_deg),
            np.where(take_lower, first.off_line_m_per_km, second.off_line_m_per_km),
        )

    return BezelSetting(pick(lower, upper), pick(upper, lower), tie)
