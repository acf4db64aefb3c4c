"""Heights of objects: what every way to them shares."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..rows import IntArray
from .estimate import PACED_SD_RATIO, EstimateStatus, checked, first_order_sd, known

__all__ = [
    "LONGEST_M",
    "SHORTEST_M",
    "ObjectHeight",
    "elevation",
    "length",
    "length_sd",
    "object_height",
    "tangent",
]

#: Lengths and angles that are taken. Nearer to the vertical than this a tangent is no measurement.
SHORTEST_M = 0.01
LONGEST_M = 10_000.0
STEEPEST_DEG = 89.0

#: The largest standard deviations that are taken, by unit.
_MOST_SD = {"m": 1000.0, "deg": 45.0}


@dataclass(frozen=True, slots=True)
class ObjectHeight:
    """Heights and horizontal distances, with standard deviations: arrays of the broadcast shape. [metre]

    ``distance_m`` is to the object, from the only station or from the nearer of two. Where ``status`` is not
    `EstimateStatus.OK` all are NaN; `estimate_error` says why.
    """

    height_m: FloatArray
    height_sd_m: FloatArray
    distance_m: FloatArray
    distance_sd_m: FloatArray
    status: IntArray


def length(member: str, value: ArrayLike) -> FloatArray:
    """A length that can be worked with: 0.01 to 10,000. [metre]"""
    return checked(member, value, SHORTEST_M, LONGEST_M)


def length_sd(length_m: FloatArray, sd_m: ArrayLike | None) -> ArrayLike:
    """The standard deviation stated for a length, or that of a paced one. [metre]"""
    return PACED_SD_RATIO * length_m if sd_m is None else sd_m


def elevation(member: str, value: ArrayLike) -> FloatArray:
    """An angle from the horizontal that can be worked with: -89 to 89. [degree]"""
    return checked(member, value, -STEEPEST_DEG, STEEPEST_DEG)


def tangent(angle_deg: FloatArray) -> FloatArray:
    """The tangent of an angle in degrees."""
    return np.tan(np.radians(angle_deg))


def object_height(
    height: Callable[..., FloatArray],
    distance: Callable[..., FloatArray],
    values: Sequence[FloatArray],
    sds: Sequence[tuple[str, ArrayLike]],
    status: ArrayLike = EstimateStatus.OK,
) -> ObjectHeight:
    """The two formulas of ``values`` worked, where ``status`` has no fault already and the top is above the base.

    ``sds`` are the standard deviations of the values in their order, each with the name that it was given under.
    """
    spreads = [checked(member, sd, 0.0, _MOST_SD[member.rsplit("_", 1)[1]]) for member, sd in sds]
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        height_m, distance_m = height(*values), distance(*values)
        height_sd_m = first_order_sd(height, values, spreads)
        distance_sd_m = first_order_sd(distance, values, spreads)
    none = (np.asarray(status) == EstimateStatus.OK) & ~((height_m > 0.0) & (distance_m > 0.0))
    shape = np.broadcast_shapes(np.shape(height_m), np.shape(height_sd_m))
    final = np.broadcast_to(np.where(none, EstimateStatus.NO_HEIGHT, status), shape)
    solved = final == EstimateStatus.OK
    return ObjectHeight(
        height_m=known(height_m, solved),
        height_sd_m=known(height_sd_m, solved),
        distance_m=known(distance_m, solved),
        distance_sd_m=known(distance_sd_m, solved),
        status=final.astype(np.int64)[()],
    )
