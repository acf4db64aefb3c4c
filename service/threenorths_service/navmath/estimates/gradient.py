"""Gradients and contours: what contours say of a slope, and how far apart they lie on the map for one.

The horizontal equivalent is the horizontal distance between neighbouring contours. A gradient from contours is the mean
between them: a drop or a bluff lower than the contour interval need not show at all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, from_degrees
from ..errors import OutOfRangeError
from ..rows import BoolArray, IntArray
from .estimate import checked, known
from .map_distance import solve_map_distance

__all__ = [
    "FLATTEST_GRADIENT",
    "HEIGHT_SD_OF_INTERVAL",
    "MAP_READING_SD_MM",
    "STEEPEST_GRADIENT",
    "ContourSpacing",
    "Gradient",
    "SteepestPlace",
    "contour_spacing",
    "gradient_between",
    "gradient_from_spacing",
    "height_sd_from_contours",
    "rise_from_contours",
    "steepest_place",
]

#: Standard deviation of a height taken from contours, over their interval. United States National Map Accuracy
#: Standards, 1947: not more than 10 per cent of heights tested are wrong by more than half the interval. 90 per cent of
#: a normal distribution lie within 1.6449 standard deviations, so it is 0.5 / 1.6449.
HEIGHT_SD_OF_INTERVAL = 0.5 / 1.6449

#: Standard deviation of a length read off a map with a ruler: common practice, no source. [millimetre]
MAP_READING_SD_MM = 0.25

#: Gradients that contours are spaced for, up or down: flatter than these none lie side by side, steeper they run together.
FLATTEST_GRADIENT = 1e-6
STEEPEST_GRADIENT = 10.0

#: Crossings on a map that are nearer than this are one: nothing is drawn so fine. [millimetre]
LEAST_APART_MM = 0.001


@dataclass(frozen=True, slots=True)
class Gradient:
    """A slope in every form: arrays of the broadcast shape, uphill positive.

    ``gradient`` is rise over horizontal length. ``run_per_rise`` is the n of "1 in n", NaN where ``level``.
    """

    rise_m: FloatArray
    ground_m: FloatArray
    slope_m: FloatArray
    gradient: FloatArray
    gradient_sd: FloatArray
    gradient_percent: FloatArray
    gradient_deg: FloatArray
    gradient_deg_sd: FloatArray
    gradient_mil: FloatArray
    run_per_rise: FloatArray
    level: BoolArray


@dataclass(frozen=True, slots=True)
class ContourSpacing:
    """How far apart contours lie, on the ground [metre] and on the map [millimetre]: the horizontal equivalent."""

    ground_m: FloatArray
    ground_sd_m: FloatArray
    map_mm: FloatArray
    map_sd_mm: FloatArray


@dataclass(frozen=True, slots=True)
class SteepestPlace:
    """The steepest stretch between contours along lines: arrays without the last axis of the input.

    ``stretch`` counts the stretches from 0; ``from_mm`` and ``to_mm`` are its ends on the map along the line, and
    ``gradient`` its own, falling negative. ``mean_gradient`` is that of the whole line.
    """

    stretch: IntArray
    from_mm: FloatArray
    to_mm: FloatArray
    gradient: FloatArray
    gradient_sd: FloatArray
    mean_gradient: FloatArray


def rise_from_contours(contours: ArrayLike, interval_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """The rise from one contour to another so many intervals higher (lower: negative), and its standard deviation.

    The standard deviation is that of two heights from contours, `HEIGHT_SD_OF_INTERVAL`. Shapes broadcast. [metre]
    """
    count = checked("contours", contours, -1000.0, 1000.0)
    interval = _interval(interval_m)
    return count * interval, np.sqrt(2.0) * height_sd_from_contours(interval) * np.ones_like(count)


def height_sd_from_contours(interval_m: ArrayLike) -> FloatArray:
    """Standard deviation of one height read from contours of an interval. [metre]"""
    return HEIGHT_SD_OF_INTERVAL * _interval(interval_m)


def gradient_between(
    rise_m: ArrayLike, ground_m: ArrayLike, *, rise_sd_m: ArrayLike, ground_sd_m: ArrayLike
) -> Gradient:
    """The gradient of a rise over a horizontal length. Shapes broadcast.

    Raises
    ------
    OutOfRangeError
        A rise is beyond 10,000 m up or down, a length is not 0.1 to 20,100,000 m, or a standard deviation is negative.
    """
    rise = checked("rise_m", rise_m, -10_000.0, 10_000.0)
    ground = checked("ground_m", ground_m, 0.1, 2.01e7)
    rise_sd = checked("rise_sd_m", rise_sd_m, 0.0, 1e4)
    ground_sd = checked("ground_sd_m", ground_sd_m, 0.0, 2.01e7)
    solved = solve_map_distance(ground_m=ground, rise_m=rise)
    gradient, slope = np.asarray(solved.gradient)[()], np.asarray(solved.slope_m)[()]
    angle_deg = np.degrees(np.arctan(gradient))
    gradient_sd = np.hypot(rise_sd, gradient * ground_sd) / ground
    level = gradient == 0.0
    return Gradient(
        rise_m=rise,
        ground_m=ground,
        slope_m=slope,
        gradient=gradient,
        gradient_sd=gradient_sd,
        gradient_percent=100.0 * gradient,
        gradient_deg=angle_deg,
        gradient_deg_sd=np.degrees(gradient_sd / (1.0 + gradient**2)),
        gradient_mil=from_degrees(angle_deg, "mil"),
        run_per_rise=known(1.0 / np.where(level, 1.0, gradient), ~level),
        level=level,
    )


def gradient_from_spacing(
    interval_m: ArrayLike,
    spacing_mm: ArrayLike,
    scale: ArrayLike,
    *,
    spacing_sd_mm: ArrayLike = MAP_READING_SD_MM,
) -> Gradient:
    """The gradient where contours of an interval lie so far apart on a map of scale 1:N. Shapes broadcast.

    Neighbouring contours are drawn from the same survey, and their interval is taken as true: the standard deviation is
    that of the reading on the map. It is a gradient without sign.
    """
    interval, denominator = _interval(interval_m), _scale(scale)
    spacing = checked("spacing_mm", spacing_mm, 0.01, 10_000.0)
    ground = np.asarray(solve_map_distance(scale=denominator, map_mm=spacing).ground_m)
    ground_sd = checked("spacing_sd_mm", spacing_sd_mm, 0.0, 1000.0) * denominator / 1000.0
    return gradient_between(interval, ground, rise_sd_m=0.0, ground_sd_m=ground_sd)


def contour_spacing(
    interval_m: ArrayLike, gradient: ArrayLike, scale: ArrayLike, *, gradient_sd: ArrayLike = 0.0
) -> ContourSpacing:
    """How far apart contours of an interval lie on a map of scale 1:N, for a gradient up or down. Shapes broadcast.

    Raises
    ------
    OutOfRangeError
        The interval is not 0.1 to 1000 m, the scale not 1 to 100,000,000, or the gradient is level or over 10 (1000 per
        cent): on level ground no contours lie side by side.
    """
    interval, denominator = _interval(interval_m), _scale(scale)
    steepness = np.abs(checked("gradient", gradient, -STEEPEST_GRADIENT, STEEPEST_GRADIENT))
    if np.any(steepness < FLATTEST_GRADIENT):
        raise OutOfRangeError(
            "on level ground no contours lie side by side",
            member="gradient",
            value=0.0,
            allowed="a gradient but 0",
        )
    spread = checked("gradient_sd", gradient_sd, 0.0, 10.0)
    ground = interval / steepness
    ground_sd = ground * spread / steepness
    per_metre = 1000.0 / denominator
    return ContourSpacing(ground, ground_sd, ground * per_metre, ground_sd * per_metre)


def steepest_place(
    crossing_mm: ArrayLike,
    height_m: ArrayLike,
    scale: ArrayLike,
    *,
    crossing_sd_mm: ArrayLike = MAP_READING_SD_MM,
) -> SteepestPlace:
    """The steepest stretch between contours along a line on the map.

    Parameters
    ----------
    crossing_mm : array_like, shape (..., n)
        Where the line crosses the contours, from its start, growing, two or more. [millimetre on the map]
    height_m : array_like, shape (..., n)
        The height of each contour crossed. [metre]
    scale : array_like, shape (...)
        N of the scale 1:N.
    crossing_sd_mm : array_like, shape (...)
        Standard deviation of where each crossing was read. [millimetre]

    Raises
    ------
    OutOfRangeError
        There are fewer than two crossings, they do not grow, or a value is out of its range.
    """
    crossing = checked("crossing_mm", crossing_mm, 0.0, 100_000.0)
    height = checked("height_m", height_m, -1000.0, 10_000.0)
    if crossing.ndim == 0 or crossing.shape[-1] < 2 or np.any(np.diff(crossing) < LEAST_APART_MM):
        raise OutOfRangeError(
            "the crossings do not grow along the line",
            member="crossing_mm",
            allowed=f"two or more, each {LEAST_APART_MM:g} mm or more beyond the last",
        )
    metres_per_mm = np.asarray(_scale(scale) / 1000.0)[..., np.newaxis]
    ground, rise = np.diff(crossing) * metres_per_mm, np.diff(height)
    ground_sd = (
        np.sqrt(2.0) * checked("crossing_sd_mm", crossing_sd_mm, 0.0, 1000.0)[..., np.newaxis] * metres_per_mm
    )
    gradient = rise / ground
    gradient_sd = np.abs(gradient) * ground_sd / ground
    steepest = np.argmax(np.abs(gradient), axis=-1)

    def there(values: FloatArray) -> FloatArray:
        return np.take_along_axis(values, steepest[..., np.newaxis], axis=-1)[..., 0][()]

    whole = (crossing[..., -1] - crossing[..., 0]) * metres_per_mm[..., 0]
    return SteepestPlace(
        stretch=np.asarray(steepest, dtype=np.int64)[()],
        from_mm=there(np.broadcast_to(crossing[..., :-1], gradient.shape)),
        to_mm=there(np.broadcast_to(crossing[..., 1:], gradient.shape)),
        gradient=there(gradient),
        gradient_sd=there(np.broadcast_to(gradient_sd, gradient.shape)),
        mean_gradient=(height[..., -1] - height[..., 0]) / whole,
    )


def _interval(interval_m: ArrayLike) -> FloatArray:
    return checked("interval_m", interval_m, 0.1, 1000.0)


def _scale(scale: ArrayLike) -> FloatArray:
    return checked("scale", scale, 1.0, 1e8)
