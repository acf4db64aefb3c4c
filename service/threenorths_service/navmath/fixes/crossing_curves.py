"""Where curves of position cross on a plane: straight lines of sight and of roads, circles of distances and of angles.

Points are complex, north + i east, so that the argument of a difference is its azimuth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..rows import BoolArray, IntArray
from .search_plane import ComplexArray

__all__ = ["Circles", "Straights", "all_crossings", "circle_of_angle"]

#: Lines that cross at less than this, and circles whose middles are nearer than it, are not crossed. [radian], [metre]
SMALLEST_ANGLE = 1e-9
SMALLEST_GAP_M = 1e-6
#: Curves that touch, or nearly, are started from on either side of where they do, by this share of the radius: off the plane
#: they may cross twice.
ASIDE_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Straights:
    """Straight lines, shape (s,): through ``anchor`` along the unit ``direction``; from 0 to ``length_m`` where it is finite,
    else endless both ways; ``owner``, the observation that each is of.
    """

    anchor: ComplexArray
    direction: ComplexArray
    length_m: FloatArray
    owner: IntArray


@dataclass(frozen=True, slots=True)
class Circles:
    """Circles, shape (c,), each of the observation ``owner``."""

    centre: ComplexArray
    radius_m: FloatArray
    owner: IntArray


def circle_of_angle(
    left: ComplexArray, right: ComplexArray, angle_deg: FloatArray
) -> tuple[ComplexArray, FloatArray]:
    """Centre and radius of the circle from which ``right`` is seen so far clockwise of ``left``, or 180 degrees more.

    The chord is seen from the centre under twice the angle. Of an angle of 0 or 180 the radius is infinite.
    """
    turn = np.exp(2j * np.radians(angle_deg))
    flat = np.abs(1.0 - turn) < SMALLEST_ANGLE
    centre = np.where(flat, 0.0, (right - left * turn) / np.where(flat, 1.0, 1.0 - turn))
    return centre, np.where(flat, np.inf, np.abs(left - centre))


def all_crossings(straights: Straights, circles: Circles) -> tuple[ComplexArray, IntArray, IntArray]:
    """Where curves of two different observations cross or, of circles that do not, come nearest; and the two curves.

    Returns
    -------
    point : ndarray of complex, shape (p,)
    first, second : ndarray of int, shape (p,)
        The curves: straight lines by their index, circles by theirs and as many more as there are straight lines.
    """
    found = [
        _straight_with_straight(straights),
        _straight_with_circle(straights, circles),
        _circle_with_circle(circles, len(straights.owner)),
    ]
    points, firsts, seconds = zip(*found, strict=True)
    return np.concatenate(points), np.concatenate(firsts), np.concatenate(seconds)


def _pairs(count: int, owner: IntArray) -> tuple[IntArray, IntArray]:
    first, second = np.triu_indices(count, 1)
    apart = owner[first] != owner[second]
    return first[apart], second[apart]


def _within(along: FloatArray, length: FloatArray) -> BoolArray:
    return np.isinf(length) | ((along >= 0.0) & (along <= length))


def _straight_with_straight(straights: Straights) -> tuple[ComplexArray, IntArray, IntArray]:
    first, second = _pairs(len(straights.owner), straights.owner)
    one, other = straights.direction[first], straights.direction[second]
    gap = straights.anchor[second] - straights.anchor[first]
    sine = np.imag(np.conj(one) * other)
    flat = np.abs(sine) < SMALLEST_ANGLE
    sine = np.where(flat, 1.0, sine)
    along = np.imag(gap.conj() * other) / sine
    along_other = np.imag(gap.conj() * one) / sine
    kept = ~flat & _within(along, straights.length_m[first])
    kept &= _within(along_other, straights.length_m[second])
    point = straights.anchor[first] + along * one
    return point[kept], first[kept], second[kept]


def _straight_with_circle(straights: Straights, circles: Circles) -> tuple[ComplexArray, IntArray, IntArray]:
    first, second = np.divmod(
        np.arange(len(straights.owner) * len(circles.owner)), max(len(circles.owner), 1)
    )
    apart = straights.owner[first] != circles.owner[second]
    first, second = first[apart], second[apart]
    anchor, direction = straights.anchor[first], straights.direction[first]
    middle = np.real((circles.centre[second] - anchor) * direction.conj())
    off = np.abs(circles.centre[second] - anchor - middle * direction)
    radius = circles.radius_m[second]
    half = np.sqrt(np.maximum(radius**2 - off**2, (ASIDE_SHARE * radius) ** 2))
    along = np.concatenate((middle - half, middle + half))
    first, second = np.tile(first, 2), np.tile(second, 2)
    kept = _within(along, straights.length_m[first])
    point = straights.anchor[first] + along * straights.direction[first]
    return point[kept], first[kept], second[kept] + len(straights.owner)


def _circle_with_circle(circles: Circles, offset: int) -> tuple[ComplexArray, IntArray, IntArray]:
    first, second = _pairs(len(circles.owner), circles.owner)
    gap = circles.centre[second] - circles.centre[first]
    distance = np.abs(gap)
    apart = distance > SMALLEST_GAP_M
    first, second, gap, distance = first[apart], second[apart], gap[apart], distance[apart]
    radius, other = circles.radius_m[first], circles.radius_m[second]
    middle = (radius**2 - other**2 + distance**2) / (2.0 * distance)
    half = np.sqrt(np.maximum(radius**2 - middle**2, (ASIDE_SHARE * np.minimum(radius, other)) ** 2))
    # One circle within the other: they come nearest beyond the middle of the smaller one, on the larger.
    middle = np.clip(middle, -np.maximum(radius, other), distance + np.maximum(radius, other))
    aside = gap / distance
    point = circles.centre[first] + np.concatenate(
        ((middle - 1j * half) * aside, (middle + 1j * half) * aside)
    ).reshape(2, -1)
    return point.ravel(), np.tile(first, 2) + offset, np.tile(second, 2) + offset
