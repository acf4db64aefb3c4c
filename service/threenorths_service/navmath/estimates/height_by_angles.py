"""Height of a tower, tree or cliff by angles of elevation, from one place or from two in line with it.

Heights are from the object's base to its top, which are taken to stand one above the other: a leaning tree needs the
place under its top. Angles are from the horizontal, up positive. The earth's curvature is left out: it comes to 0.07 m
at 1 km and 1.7 m at 5 km, far under what a hand-held clinometer tells there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..rows import IntArray
from .estimate import (
    CLINOMETER_SD_DEG,
    EYE_HEIGHT_M,
    EYE_HEIGHT_SD_M,
    TOLD_APART_SD,
    EstimateStatus,
    checked,
    first_order_sd,
)
from .object_height import (
    LONGEST_M,
    SHORTEST_M,
    ObjectHeight,
    elevation,
    length,
    length_sd,
    object_height,
    tangent,
)

__all__ = [
    "height_by_top",
    "height_by_top_and_base",
    "height_from_two_stations",
    "height_from_two_stations_seeing_the_base",
]


def height_by_top(
    distance_m: ArrayLike,
    top_deg: ArrayLike,
    *,
    eye_height_m: ArrayLike = EYE_HEIGHT_M,
    base_rise_m: ArrayLike = 0.0,
    distance_sd_m: ArrayLike | None = None,
    angle_sd_deg: ArrayLike = CLINOMETER_SD_DEG,
    eye_height_sd_m: ArrayLike = EYE_HEIGHT_SD_M,
    base_rise_sd_m: ArrayLike = 0.0,
) -> ObjectHeight:
    """The height from the top's angle alone, where the base is hidden or on the observer's own level. Shapes broadcast.

    Height = distance x tan(top) + eye height - how far the base lies above the observer's feet.

    Parameters
    ----------
    distance_m : array_like
        Horizontal distance to the object, 0.01 to 10,000. [metre]
    top_deg : array_like
        Angle of elevation of the top, -89 to 89. [degree]
    eye_height_m, base_rise_m : array_like
        Height of the eye over the observer's feet, and of the object's base over them. [metre]
    distance_sd_m : array_like, optional
        Standard deviation of the distance; where it is not given, that of a paced length. [metre]
    angle_sd_deg, eye_height_sd_m, base_rise_sd_m : array_like
        Standard deviations of the others.

    Raises
    ------
    OutOfRangeError
        A value is out of its range.
    """
    distance = length("distance_m", distance_m)
    eye = checked("eye_height_m", eye_height_m, 0.0, 100.0)
    rise = checked("base_rise_m", base_rise_m, -1000.0, 1000.0)

    def height(level: FloatArray, top: FloatArray, eye: FloatArray, rise: FloatArray) -> FloatArray:
        return level * tangent(top) + eye - rise

    values = (distance, elevation("top_deg", top_deg), eye, rise)
    sds = [
        ("distance_sd_m", length_sd(distance, distance_sd_m)),
        ("angle_sd_deg", angle_sd_deg),
        ("eye_height_sd_m", eye_height_sd_m),
        ("base_rise_sd_m", base_rise_sd_m),
    ]
    return object_height(height, lambda level, *_: level, values, sds)


def height_by_top_and_base(
    distance_m: ArrayLike,
    top_deg: ArrayLike,
    base_deg: ArrayLike,
    *,
    distance_along_ground: bool = False,
    eye_height_m: ArrayLike = EYE_HEIGHT_M,
    distance_sd_m: ArrayLike | None = None,
    angle_sd_deg: ArrayLike = CLINOMETER_SD_DEG,
    eye_height_sd_m: ArrayLike = EYE_HEIGHT_SD_M,
) -> ObjectHeight:
    """The height from the angles of top and base, on ground that slopes as it will. Shapes broadcast.

    Height = horizontal distance x (tan(top) - tan(base)). A distance measured along the ground, from the observer's
    feet to the base, is first brought to the horizontal; only then does the height of the eye enter. Parameters and
    errors are otherwise those of `height_by_top`; a distance along the ground is longer than the eye is high.
    """
    distance = length("distance_m", distance_m)
    eye = checked("eye_height_m", eye_height_m, 0.0, 100.0)
    if distance_along_ground:
        least = float(np.max(eye))
        distance = checked("distance_m", distance, least + SHORTEST_M, LONGEST_M)

    def level(length: FloatArray, _top: FloatArray, base: FloatArray, eye: FloatArray) -> FloatArray:
        return _level_distance(length, base, eye) if distance_along_ground else length

    def height(length: FloatArray, top: FloatArray, base: FloatArray, eye: FloatArray) -> FloatArray:
        return level(length, top, base, eye) * (tangent(top) - tangent(base))

    values = (distance, elevation("top_deg", top_deg), elevation("base_deg", base_deg), eye)
    sds = [
        ("distance_sd_m", length_sd(distance, distance_sd_m)),
        *[("angle_sd_deg", angle_sd_deg)] * 2,
        ("eye_height_sd_m", eye_height_sd_m),
    ]
    return object_height(height, level, values, sds)


def height_from_two_stations(
    apart_m: ArrayLike,
    near_top_deg: ArrayLike,
    far_top_deg: ArrayLike,
    *,
    eye_height_m: ArrayLike = EYE_HEIGHT_M,
    near_above_far_m: ArrayLike = 0.0,
    apart_sd_m: ArrayLike | None = None,
    angle_sd_deg: ArrayLike = CLINOMETER_SD_DEG,
    eye_height_sd_m: ArrayLike = EYE_HEIGHT_SD_M,
    near_above_far_sd_m: ArrayLike = 0.0,
) -> ObjectHeight:
    """The height where the base cannot be reached: the top's angles from two stations in line with it. Shapes broadcast.

    With b the distance between the stations and r the height of the near eye above the far one, the near station is
    ``(b tan(far) - r) / (tan(near) - tan(far))`` from the object. The base is taken to lie level with the ground of
    the near station.

    Parameters
    ----------
    apart_m : array_like
        Horizontal distance between the stations, 0.01 to 10,000. [metre]
    near_top_deg, far_top_deg : array_like
        Angles of elevation of the top from the nearer and the farther station. [degree]
    eye_height_m : array_like
        Height of the near eye over the object's base, which is its height over the ground where that is level. [metre]
    near_above_far_m : array_like
        Height of the near eye above the far eye. [metre]
    apart_sd_m, angle_sd_deg, eye_height_sd_m, near_above_far_sd_m : array_like, optional
        Standard deviations; that of the distance is that of a paced length where it is not given.

    Raises
    ------
    OutOfRangeError
        A value is out of its range.
    """
    apart = length("apart_m", apart_m)
    eye = checked("eye_height_m", eye_height_m, -1000.0, 1000.0)
    rise = checked("near_above_far_m", near_above_far_m, -1000.0, 1000.0)
    near, far = elevation("near_top_deg", near_top_deg), elevation("far_top_deg", far_top_deg)

    def distance(
        b: FloatArray, near: FloatArray, far: FloatArray, _eye: FloatArray, r: FloatArray
    ) -> FloatArray:
        return (b * tangent(far) - r) / (tangent(near) - tangent(far))

    def height(
        b: FloatArray, near: FloatArray, far: FloatArray, eye: FloatArray, r: FloatArray
    ) -> FloatArray:
        return distance(b, near, far, eye, r) * tangent(near) + eye

    sds = [
        ("apart_sd_m", length_sd(apart, apart_sd_m)),
        *[("angle_sd_deg", angle_sd_deg)] * 2,
        ("eye_height_sd_m", eye_height_sd_m),
        ("near_above_far_sd_m", near_above_far_sd_m),
    ]
    converging = _told_apart(tangent, (near,), (far,), angle_sd_deg)
    return object_height(height, distance, (apart, near, far, eye, rise), sds, converging)


def height_from_two_stations_seeing_the_base(
    apart_m: ArrayLike,
    near_top_deg: ArrayLike,
    near_base_deg: ArrayLike,
    far_top_deg: ArrayLike,
    far_base_deg: ArrayLike,
    *,
    apart_sd_m: ArrayLike | None = None,
    angle_sd_deg: ArrayLike = CLINOMETER_SD_DEG,
) -> ObjectHeight:
    """The height from the angles of top and base at two stations in line with it, on any ground. Shapes broadcast.

    With n and f the differences of the tangents of top and base at the near and the far station, b apart, the height
    is ``b n f / (n - f)``. Neither the height of the eye nor that of the stations enters. Parameters and errors are
    otherwise those of `height_from_two_stations`.
    """
    apart = length("apart_m", apart_m)
    near = elevation("near_top_deg", near_top_deg), elevation("near_base_deg", near_base_deg)
    far = elevation("far_top_deg", far_top_deg), elevation("far_base_deg", far_base_deg)

    def tall(top: FloatArray, base: FloatArray) -> FloatArray:
        return tangent(top) - tangent(base)

    def distance(b: FloatArray, *angles: FloatArray) -> FloatArray:
        far_tall = tall(*angles[2:])
        return b * far_tall / (tall(*angles[:2]) - far_tall)

    def height(b: FloatArray, *angles: FloatArray) -> FloatArray:
        return distance(b, *angles) * tall(*angles[:2])

    sds = [("apart_sd_m", length_sd(apart, apart_sd_m)), *[("angle_sd_deg", angle_sd_deg)] * 4]
    return object_height(
        height, distance, (apart, *near, *far), sds, _told_apart(tall, near, far, angle_sd_deg)
    )


def _level_distance(slope_m: FloatArray, base_deg: FloatArray, eye_m: FloatArray) -> FloatArray:
    """The horizontal distance to a base seen at an angle from the eye, that is so far from the feet along the ground.

    The base lies ``eye + level tan(base)`` above the feet; this and the level distance are the legs of the triangle
    whose long side is the slope.
    """
    slant = tangent(base_deg)
    square = 1.0 + slant**2
    root = np.sqrt((eye_m * slant) ** 2 + square * (slope_m**2 - eye_m**2))
    return np.asarray((root - eye_m * slant) / square)


def _told_apart(
    tall: Callable[..., FloatArray], near: Sequence[FloatArray], far: Sequence[FloatArray], sd_deg: ArrayLike
) -> IntArray:
    """Whether the object looks taller from the near station than from the far one, by more than noise could make it."""
    more = tall(*near) - tall(*far)
    half = len(near)
    noise = first_order_sd(
        lambda *angles: tall(*angles[:half]) - tall(*angles[half:]), (*near, *far), [sd_deg] * (2 * half)
    )
    return np.where(
        np.abs(more) <= np.maximum(TOLD_APART_SD * noise, 1e-12),
        EstimateStatus.WEAK_BASE,
        np.where(more > 0.0, EstimateStatus.OK, EstimateStatus.LINES_DO_NOT_MEET),
    )
