"""Common slips of a bearing: what the bearing would have been without each, for whole columns of bearings.

A reading r that is wrong by one slip is turned into the bearing c without it. Between the north N that a bearing is said to
be from and another north X, which an angle ties to it, ``N = X + t``: t is -D from true to magnetic north, +C from grid to
true, and so on (`directions.bearing` has the rules). Who left the angle out reported X, so ``c = r + t``; who applied it
the wrong way reported X - t, so ``c = r + 2t``; who applied it twice reported X + 2t, so ``c = r - t``. To read from a
north other than the one said is the same number as to leave the angle out, and has no code of its own.

Which slips are common, and in which order, is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ..angle import CIRCLE_DIVISIONS, FloatArray, normalise_azimuth
from ..directions.bearing import NorthAngles

__all__ = ["BEARING_SLIPS", "UNIT_SLIPS", "Undone", "slips_undone"]

#: The slip of a number that was in another unit than was said, by that unit.
UNIT_SLIPS = MappingProxyType(
    {
        "deg": "number_in_degrees",
        "mil": "number_in_mils",
        "mil_6300": "number_in_mils_6300",
        "mil_6000": "number_in_mils_6000",
        "grad": "number_in_gradians",
    }
)

#: Every slip that is looked for, likeliest first (common practice, no source), with what it means.
BEARING_SLIPS = MappingProxyType(
    {
        "back_bearing": "The bearing is that of the opposite direction: 180 degrees off.",
        "grid_magnetic_angle_forgotten": "The grid-magnetic angle was left out: the bearing is from the other of grid and "
        "magnetic north.",
        "grid_magnetic_angle_reversed": "The grid-magnetic angle was applied the wrong way: added for subtracted, or the "
        "other way round.",
        "grid_magnetic_angle_twice": "The grid-magnetic angle was applied twice.",
        "declination_forgotten": "The declination was left out: the bearing is from the other of true and magnetic north.",
        "declination_reversed": "The declination was applied the wrong way: added for subtracted, or the other way round.",
        "declination_twice": "The declination was applied twice.",
        "convergence_forgotten": "The convergence was left out: the bearing is from the other of true and grid north.",
        "convergence_reversed": "The convergence was applied the wrong way: added for subtracted, or the other way round.",
        "convergence_twice": "The convergence was applied twice.",
        "ten_misread": "The number is off by ten of its unit.",
        "hundred_misread": "The number is off by a hundred of its unit.",
        "thousand_misread": "The number is off by a thousand of its unit.",
        "figures_exchanged": "Two neighbouring figures of the number stand in each other's place.",
        "number_in_degrees": "The number is in degrees, not in the unit that was said.",
        "number_in_mils": "The number is in mils of 6400 to the circle, not in the unit that was said.",
        "number_in_mils_6300": "The number is in mils of 6300 to the circle, not in the unit that was said.",
        "number_in_mils_6000": "The number is in mils of 6000 to the circle, not in the unit that was said.",
        "number_in_gradians": "The number is in gradians, not in the unit that was said.",
        "counted_backward": "The scale was read counterclockwise: the bearing is the full circle less the right one.",
    }
)

#: By which angle a direction is turned from another north to the one named, and with which sign.
_TURNS = MappingProxyType(
    {
        "grid_magnetic_angle": {"magnetic": -1.0, "grid": 1.0},
        "declination": {"magnetic": -1.0, "true": 1.0},
        "convergence": {"grid": -1.0, "true": 1.0},
    }
)


class Undone(NamedTuple):
    """One slip undone in every row: the bearing without it, in [0, 360); NaN in rows where it cannot have been made."""

    slip: str
    bearing_deg: FloatArray


def slips_undone(
    reported_deg: FloatArray, number: FloatArray, circle: FloatArray, north: ArrayLike, angles: NorthAngles
) -> Iterator[Undone]:
    """Every slip undone, in the order of `BEARING_SLIPS`; some in two or three ways, each an `Undone` of its own.

    Parameters
    ----------
    reported_deg : ndarray, shape (N,)
        The bearings reported, NaN where the number is more than the circle of its unit. [degree]
    number : ndarray, shape (N,)
        The numbers as they were reported; NaN of a bearing written otherwise, whose figures are then not looked at.
    circle : ndarray, shape (N,)
        Parts to the circle of the unit that was said, a value of `CIRCLE_DIVISIONS`.
    north : array_like of str
        The north that each is said to be from; it broadcasts to (N,).
    angles : NorthAngles
        The angles between the norths; they broadcast. Slips of one that is not known are not tried.
    """
    yield Undone("back_bearing", normalise_azimuth(reported_deg + 180.0))
    yield from _angles_undone(reported_deg, np.broadcast_to(north, reported_deg.shape), angles)
    part_deg = 360.0 / circle
    for slip, step in (("ten_misread", 10.0), ("hundred_misread", 100.0), ("thousand_misread", 1000.0)):
        shown = np.isfinite(number) & (step < circle)
        for way in (step, -step):
            yield Undone(slip, _azimuth(reported_deg + way * part_deg, shown))
    for swapped in _exchanged(number, circle):
        yield Undone("figures_exchanged", _azimuth(swapped * part_deg, np.isfinite(reported_deg)))
    for unit, parts in CIRCLE_DIVISIONS.items():
        other = (circle != parts) & (number <= parts)
        yield Undone(UNIT_SLIPS[unit], _azimuth(number * (360.0 / parts), other))
    yield Undone("counted_backward", normalise_azimuth(360.0 - reported_deg))


def _angles_undone(reported_deg: FloatArray, north: FloatArray, angles: NorthAngles) -> Iterator[Undone]:
    for name, ways in _TURNS.items():
        angle_deg = getattr(angles, f"{name}_deg")
        if angle_deg is None:
            continue
        sign = np.select([north == each for each in ways], list(ways.values()), np.nan)
        turn_deg = sign * np.asarray(angle_deg, dtype=np.float64)
        for slip, times in (("forgotten", 1.0), ("reversed", 2.0), ("twice", -1.0)):
            yield Undone(f"{name}_{slip}", normalise_azimuth(reported_deg + times * turn_deg))


def _exchanged(number: FloatArray, circle: FloatArray) -> Iterator[FloatArray]:
    """The numbers with two neighbouring figures of their whole part exchanged; NaN where that changes nothing.

    Leading noughts are figures as well: 034 becomes 304. A number that no dial shows was nobody's reading.
    """
    whole = np.floor(number)
    for low in (1.0, 10.0, 100.0):
        ones, tens = np.floor(whole / low) % 10.0, np.floor(whole / (10.0 * low)) % 10.0
        swapped = number + 9.0 * low * (ones - tens)
        shown = (ones != tens) & (swapped <= circle)
        yield np.where(shown, swapped, np.nan)


def _azimuth(bearing_deg: FloatArray, where: ArrayLike) -> FloatArray:
    return normalise_azimuth(np.where(where, bearing_deg, np.nan))
