"""Dead ground: the stretches of a profile that an observer at its start does not see."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from .estimate import EYE_HEIGHT_M, checked
from .terrain_profile import MEAN_RADIUS_M, REFRACTION_K, TerrainProfile, skyline, terrain_profile

__all__ = ["Stretch", "dead_ground"]

#: Stretches nearer to each other than this are one. [metre]
JOINED_M = 1e-3


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a line, by the distances of its ends from the observer. [metre]"""

    from_m: float
    to_m: float


def dead_ground(
    distance_m: ArrayLike,
    height_m: ArrayLike,
    *,
    observer_height_m: float = EYE_HEIGHT_M,
    target_height_m: float = 0.0,
    refraction_k: float = REFRACTION_K,
    radius_m: float = MEAN_RADIUS_M,
) -> list[Stretch]:
    """The stretches of one profile where a target of a height above the ground is hidden, from the observer on.

    A target of no height is the ground itself. Heights are taken as they stand, without their uncertainty.

    Parameters
    ----------
    distance_m, height_m : array_like, shape (n,)
        The profile, as `terrain_profile` takes it. [metre]
    observer_height_m, target_height_m : float
        Heights of the eye and of the target above the ground, 0 to 1000. [metre]
    refraction_k, radius_m : float
        As `terrain_profile` takes them.

    Raises
    ------
    OutOfRangeError
        A value is out of its range, or the distances do not grow from 0.
    """
    profile = terrain_profile(distance_m, height_m, refraction_k=refraction_k, radius_m=radius_m)
    eye_m = profile.height_m[0] + float(checked("observer_height_m", observer_height_m, 0.0, 1000.0))
    target_m = float(checked("target_height_m", target_height_m, 0.0, 1000.0))
    sky = skyline(profile, eye_m)
    so_far = np.maximum.accumulate(sky.slope)
    before = np.concatenate(([-np.inf], so_far[:-1]))
    # Up to its highest place a segment is hidden by what lies before it, beyond that place by itself too.
    split = np.where(sky.slope >= before, sky.distance_m, profile.distance_m[1:])
    rising = _hidden(profile, profile.distance_m[:-1], split, before, eye_m, target_m)
    falling = _hidden(profile, split, profile.distance_m[1:], so_far, eye_m, target_m)
    return _joined(np.concatenate((rising, falling)))


def _hidden(
    profile: TerrainProfile,
    start_m: FloatArray,
    end_m: FloatArray,
    sky_slope: FloatArray,
    eye_m: float,
    target_m: float,
) -> FloatArray:
    """The hidden stretches, as rows of start and end, of one part of every segment under one skyline each.

    The depth under the skyline, ``eye + sky d - target - (p + q d - c d^2)``, is a parabola open upward: the target is
    seen between its roots alone.
    """
    bend = profile.bend_per_m
    rise = np.diff(profile.height_m) / np.diff(profile.distance_m)
    open_sky = np.isneginf(sky_slope)
    linear = np.where(open_sky, 0.0, sky_slope) - rise
    constant = eye_m - target_m - (profile.height_m[:-1] - rise * profile.distance_m[:-1])
    discriminant = linear**2 - 4.0 * bend * constant
    first, last = _roots(bend, linear, constant, np.sqrt(np.maximum(discriminant, 0.0)))
    # Where the parabola has no roots nothing is seen, and the first row has all of it.
    first = np.where(open_sky, -np.inf, np.where(discriminant < 0.0, np.inf, first))
    last = np.where(open_sky, np.inf, last)
    before = np.column_stack((start_m, np.minimum(end_m, first)))
    after = np.column_stack((np.maximum(start_m, last), end_m))
    rows = np.concatenate((before, after))
    return rows[rows[:, 1] > rows[:, 0]]


def _roots(
    bend: FloatArray, linear: FloatArray, constant: FloatArray, root: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The roots of ``bend d^2 + linear d + constant``, the lower first, without the difference of near numbers.

    The bend is so small that the textbook form would lose all digits of the nearer root.
    """
    half = -0.5 * (linear + np.copysign(root, linear))
    one = half / bend
    with np.errstate(over="ignore"):
        other = np.divide(constant, half, out=np.zeros_like(half), where=half != 0.0)
    return np.minimum(one, other), np.maximum(one, other)


def _joined(rows: FloatArray) -> list[Stretch]:
    joined: list[Stretch] = []
    for start, end in sorted(rows.tolist()):
        if joined and start - joined[-1].to_m < JOINED_M:
            joined[-1] = Stretch(joined[-1].from_m, max(end, joined[-1].to_m))
        else:
            joined.append(Stretch(start, end))
    return [stretch for stretch in joined if stretch.to_m - stretch.from_m >= JOINED_M]
