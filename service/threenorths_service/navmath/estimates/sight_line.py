"""Whether one place sees another over the ground between, and how surely.

Only the ground is in a profile: forest and buildings must be in its heights, or they are not seen. The verdict weighs how
well the heights are known: between two clear answers lies "too close to tell".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..rows import BoolArray, IntArray
from .estimate import EYE_HEIGHT_M, checked
from .terrain_profile import (
    MEAN_RADIUS_M,
    REFRACTION_K,
    REFRACTION_K_SD,
    TerrainProfile,
    skyline,
    terrain_profile,
)

__all__ = ["BLOCKED_SD", "CLEAR_SD", "HEIGHT_CORRELATION_M", "SightLine", "Verdict", "sight_line"]

#: Standard deviations by which one place must block the line for "not visible": 95 per cent, one side.
BLOCKED_SD = 1.645

#: Standard deviations by which the worst place must be clear for "visible": 99 per cent, one side. Every place along the line
#: has to be clear at once: by simulated ground, with 95 per cent at the worst place the whole line was clear in 92 to 99 of
#: 100 trials, with 99 per cent in more than 99.
CLEAR_SD = 2.33

#: Distance over which errors of heights from one map are alike: they fall off as exp(-distance / this). Common practice, no
#: source. Were they taken as independent, no place could be told to see its own feet.
HEIGHT_CORRELATION_M = 500.0

#: Rounds in which a height that is sure settles: each looks at the places nearest to the line of the height before.
SURE_HEIGHT_ROUNDS = 4


class Verdict(IntEnum):
    """Whether the target is seen."""

    NOT_VISIBLE = 0
    TOO_CLOSE_TO_TELL = 1
    VISIBLE = 2


@dataclass(frozen=True, slots=True)
class SightLine:
    """Lines of sight, each along one profile: arrays of the shape of the profiles without their last axis.

    ``visible`` is what the heights say as they stand, ``verdict`` what can be said for sure. The obstruction is the place
    between the two ends where the ground stands highest against the line of sight; ``clearance_m`` is how far the line
    passes over it, negative where it is blocked. ``margin_sd`` is the least clearance in its own standard deviations
    anywhere along the line, infinite where nothing is uncertain. ``least_target_height_m`` and
    ``least_observer_height_m`` are the heights above the ground at which the line would just be clear by the heights as
    they stand, the other end being as it is; at ``sure_target_height_m`` or ``sure_observer_height_m`` the verdict would
    be that the target is visible.
    """

    visible: BoolArray
    verdict: IntArray
    margin_sd: FloatArray
    clearance_m: FloatArray
    clearance_sd_m: FloatArray
    obstruction_distance_m: FloatArray
    obstruction_height_m: FloatArray
    least_target_height_m: FloatArray
    least_target_height_sd_m: FloatArray
    least_observer_height_m: FloatArray
    least_observer_height_sd_m: FloatArray
    sure_target_height_m: FloatArray
    sure_observer_height_m: FloatArray


@dataclass(frozen=True, slots=True)
class _Spread:
    """How well heights and refraction are known: shape (..., 1), to go with places along profiles."""

    height_sd_m: FloatArray
    refraction_k_sd: FloatArray
    radius_m: FloatArray
    correlation_m: FloatArray

    def of_clearance(self, place_m: FloatArray, length_m: FloatArray) -> FloatArray:
        """Standard deviation of the clearance at places along lines of a length. [metre]

        The clearance is the mean of the heights of the two ends, weighted by nearness, less the height at the place.
        Their errors are alike the more, the nearer they are, so at the ends nothing is left of it.
        """
        ahead = place_m / length_m
        behind = 1.0 - ahead
        unshared = (
            1.0
            + ahead**2
            + behind**2
            - 2.0 * behind * self._alike(place_m)
            - 2.0 * ahead * self._alike(length_m - place_m)
            + 2.0 * ahead * behind * self._alike(length_m)
        )
        bent = self.refraction_k_sd * place_m * (length_m - place_m) / (2.0 * self.radius_m)
        return np.sqrt(self.height_sd_m**2 * np.maximum(unshared, 0.0) + bent**2)

    def _alike(self, apart_m: FloatArray) -> FloatArray:
        return np.exp(-apart_m / self.correlation_m)


def sight_line(
    distance_m: ArrayLike,
    height_m: ArrayLike,
    *,
    height_sd_m: ArrayLike,
    observer_height_m: ArrayLike = EYE_HEIGHT_M,
    target_height_m: ArrayLike = EYE_HEIGHT_M,
    refraction_k: ArrayLike = REFRACTION_K,
    refraction_k_sd: ArrayLike = REFRACTION_K_SD,
    radius_m: ArrayLike = MEAN_RADIUS_M,
    height_correlation_m: ArrayLike = HEIGHT_CORRELATION_M,
) -> SightLine:
    """Whether the last point of a profile is seen from its first.

    Parameters
    ----------
    distance_m, height_m, refraction_k, radius_m : array_like
        The profile, as `terrain_profile` takes it.
    height_sd_m : array_like, shape (...)
        Standard deviation of the profile's heights: `gradient.height_sd_from_contours`, or 0 to take them as true.
    observer_height_m, target_height_m : array_like, shape (...)
        Heights of the eye and of the target above the ground, 0 to 1000. [metre]
    refraction_k_sd : array_like, shape (...)
        Standard deviation of the coefficient of refraction.
    height_correlation_m : array_like, shape (...)
        Over what distance errors of heights are alike, 1 to 1,000,000. [metre]

    Raises
    ------
    OutOfRangeError
        A value is out of its range, or the distances do not grow from 0.
    """
    observer = checked("observer_height_m", observer_height_m, 0.0, 1000.0)
    target = checked("target_height_m", target_height_m, 0.0, 1000.0)
    spread = _Spread(
        checked("height_sd_m", height_sd_m, 0.0, 1000.0)[..., np.newaxis],
        checked("refraction_k_sd", refraction_k_sd, 0.0, 5.0)[..., np.newaxis],
        checked("radius_m", radius_m, 6.3e6, 6.5e6)[..., np.newaxis],
        checked("height_correlation_m", height_correlation_m, 1.0, 1e6)[..., np.newaxis],
    )
    there = terrain_profile(distance_m, height_m, refraction_k=refraction_k, radius_m=radius_m)
    back = terrain_profile(
        there.distance_m[..., -1:] - there.distance_m[..., ::-1],
        there.height_m[..., ::-1],
        refraction_k=refraction_k,
        radius_m=radius_m,
    )
    length = there.distance_m[..., -1:]
    place, ground, clearance = _clearances(there, observer, target)
    sd = spread.of_clearance(place, length)
    between = (place > 0.0) & (place < length)
    # With no place between the ends nothing can stand in the way, and the end itself is told of.
    between_or_all = between | ~np.any(between, axis=-1, keepdims=True)
    worst = np.argmin(np.where(between_or_all, clearance, np.inf), axis=-1)[..., np.newaxis]
    margin = np.min(np.where(between, _in_own_sds(clearance, sd), np.inf), axis=-1)
    least_target, least_target_sd = _least_height(there, observer, spread)
    least_observer, least_observer_sd = _least_height(back, target, spread)

    def at_worst(values: FloatArray) -> FloatArray:
        return np.take_along_axis(np.broadcast_to(values, clearance.shape), worst, axis=-1)[..., 0][()]

    return SightLine(
        visible=np.asarray(target >= least_target)[()],
        verdict=_verdict(margin),
        margin_sd=margin,
        clearance_m=at_worst(clearance),
        clearance_sd_m=at_worst(sd),
        obstruction_distance_m=at_worst(place),
        obstruction_height_m=at_worst(ground),
        least_target_height_m=least_target,
        least_target_height_sd_m=least_target_sd,
        least_observer_height_m=least_observer,
        least_observer_height_sd_m=least_observer_sd,
        sure_target_height_m=_sure_height(there, observer, target, least_target, spread),
        sure_observer_height_m=_sure_height(back, target, observer, least_observer, spread),
    )


def _clearances(
    profile: TerrainProfile, observer_m: FloatArray, target_m: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Places where the line of sight can come nearest to the ground, the ground's height there, and the line above it.

    They are the points of the profile between its ends, and the place of each segment where the line, straight against
    lowered ground that is humped, comes nearest to it.
    """
    distance, height, bend = profile.distance_m, profile.height_m, profile.bend_per_m
    eye = height[..., :1] + observer_m[..., np.newaxis]
    seen = profile.lowered_m[..., -1:] + target_m[..., np.newaxis]
    slope = (seen - eye) / distance[..., -1:]
    near, far = distance[..., :-1], distance[..., 1:]
    rise = np.diff(height) / (far - near)
    nearest = np.clip((rise - slope) / (2.0 * bend), near, far)
    shape = np.broadcast_shapes(eye.shape[:-1], seen.shape[:-1], bend.shape[:-1])
    points, heights = (np.broadcast_to(v[..., 1:-1], (*shape, v.shape[-1] - 2)) for v in (distance, height))
    place = np.concatenate((points, nearest), axis=-1)
    ground = np.concatenate((heights, height[..., :-1] + rise * (nearest - near)), axis=-1)
    return place, ground, eye + slope * place - (ground - bend * place**2)


def _least_height(
    profile: TerrainProfile, observer_m: FloatArray, spread: _Spread
) -> tuple[FloatArray, FloatArray]:
    """How high above the ground the last point must stand to be seen from the first, and its standard deviation."""
    eye = profile.height_m[..., 0] + observer_m
    sky = skyline(profile, eye)
    highest = np.argmax(sky.slope, axis=-1)[..., np.newaxis]
    slope, place = (np.take_along_axis(v, highest, axis=-1) for v in (sky.slope, sky.distance_m))
    length = profile.distance_m[..., -1:]
    least = eye + (slope * length - profile.lowered_m[..., -1:])[..., 0]
    # An eye on the ground has its skyline at its feet, where a leverage is not defined: taken a metre off.
    place = np.maximum(place, np.minimum(1.0, length))
    sd = spread.of_clearance(place, length) * length / place
    return np.maximum(least, 0.0), sd[..., 0][()]


def _sure_height(
    profile: TerrainProfile,
    observer_m: FloatArray,
    target_m: FloatArray,
    least_m: FloatArray,
    spread: _Spread,
) -> FloatArray:
    """How high above the ground the last point must stand to be told visible from the first. [metre]

    Raising the target raises the line in proportion to the distance, and every place between asks for a height of its
    own. Where a segment comes nearest to the line moves with the height, so that is looked for again at the height found.
    From an eye on the ground that closes in slowly and from below, so the search starts at the least height.
    """
    length = profile.distance_m[..., -1:]
    sure, height = least_m, np.maximum(target_m, least_m)
    for _ in range(SURE_HEIGHT_ROUNDS):
        place, _, clearance = _clearances(profile, observer_m, height)
        short = CLEAR_SD * spread.of_clearance(place, length) - clearance
        between = (place > 0.0) & (place < length)
        raised = np.divide(short * length, place, out=np.full_like(short, -np.inf), where=between)
        sure = np.maximum(sure, height + np.max(raised, axis=-1))
        height = sure
    return np.asarray(sure)[()]


def _in_own_sds(clearance_m: FloatArray, sd_m: FloatArray) -> FloatArray:
    sure = np.where(clearance_m >= 0.0, np.inf, -np.inf)
    return np.divide(clearance_m, sd_m, out=sure, where=np.broadcast_to(sd_m, sure.shape) > 0.0)


def _verdict(margin_sd: FloatArray) -> IntArray:
    told = np.where(margin_sd >= CLEAR_SD, Verdict.VISIBLE, Verdict.TOO_CLOSE_TO_TELL)
    return np.where(margin_sd <= -BLOCKED_SD, Verdict.NOT_VISIBLE, told).astype(np.int64)[()]
