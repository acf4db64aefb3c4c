"""Height of a tower or tree by proportion, with a stick and no instrument: by its shadow, or sighted over the stick."""

from __future__ import annotations

from numpy.typing import ArrayLike

from .estimate import TAPED_SD_M, checked, checked_sd
from .object_height import ObjectHeight, length, length_sd, object_height

__all__ = ["height_by_shadow", "height_by_stick"]


def height_by_shadow(
    shadow_m: ArrayLike,
    stick_m: ArrayLike,
    stick_shadow_m: ArrayLike,
    *,
    shadow_sd_m: ArrayLike | None = None,
    stick_sd_m: ArrayLike = TAPED_SD_M,
) -> ObjectHeight:
    """The height by its shadow on level ground, beside an upright stick's at the same time. Shapes broadcast. [metre]

    Height = shadow x stick / stick's shadow. The shadow counts from under the top. Its standard deviation is that of
    a paced length where it is not given; ``stick_sd_m`` is that of the stick and of its shadow.

    Raises
    ------
    OutOfRangeError
        A length or a standard deviation is out of its range, or the stick's is not under the length that is divided by.
    """
    shadow = length("shadow_m", shadow_m)
    values = (shadow, length("stick_m", stick_m), length("stick_shadow_m", stick_shadow_m))
    checked_sd("stick_sd_m", stick_sd_m, values[2])
    sds = [("shadow_sd_m", length_sd(shadow, shadow_sd_m)), *[("stick_sd_m", stick_sd_m)] * 2]
    return object_height(
        lambda shadow, stick, stick_shadow: shadow * stick / stick_shadow,
        lambda shadow, *_: shadow,
        values,
        sds,
    )


def height_by_stick(
    distance_m: ArrayLike,
    stick_m: ArrayLike,
    stick_distance_m: ArrayLike,
    *,
    eye_height_m: ArrayLike = 0.0,
    distance_sd_m: ArrayLike | None = None,
    stick_sd_m: ArrayLike = TAPED_SD_M,
) -> ObjectHeight:
    """The height by sighting its top over an upright stick on level ground. Shapes broadcast. [metre]

    Height = eye + (stick - eye) x distance / stick's distance, both distances from the eye, which by default is down
    on the ground. Standard deviations are as in `height_by_shadow`; that of the eye's height is the stick's too.

    Raises
    ------
    OutOfRangeError
        A length or a standard deviation is out of its range, or the stick's is not under the length that is divided by.
    """
    distance = length("distance_m", distance_m)
    eye = checked("eye_height_m", eye_height_m, 0.0, 100.0)
    values = (distance, length("stick_m", stick_m), length("stick_distance_m", stick_distance_m), eye)
    checked_sd("stick_sd_m", stick_sd_m, values[2])
    sds = [("distance_sd_m", length_sd(distance, distance_sd_m)), *[("stick_sd_m", stick_sd_m)] * 3]
    return object_height(
        lambda level, stick, near, eye: eye + (stick - eye) * level / near,
        lambda level, *_: level,
        values,
        sds,
    )
