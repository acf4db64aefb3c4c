"""How far somebody may be from where they were last known, in a straight line: a share of likelihood for each distance.

Three forms, each as sure as what the caller knows: bounds alone; bounds and a likeliest distance; quantiles, such as those
of local records of how far from where they were last known people like this one were found. No such records are in here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from ..angle import FloatArray
from ..errors import BoundsReversedError, ReachTooLargeError
from ..estimates.estimate import checked

__all__ = [
    "LEAST_REACH_M",
    "MOST_HOURS",
    "MOST_REACH_M",
    "MOST_SPEED_KM_PER_H",
    "TAIL_SHARE",
    "DistanceDistribution",
    "between_bounds",
    "from_quantiles",
    "reach_m",
]

#: Under this the place last known is the search area. [metre]
LEAST_REACH_M = 1.0
#: Beyond this the plane that areas are worked on is over 1 in 6000 out, and no foot search is planned as one. [metre]
MOST_REACH_M = 200_000.0
MOST_HOURS = 1000.0
#: The fastest that is taken for somebody on foot: a downhill run, common practice, no source. [kilometre an hour]
MOST_SPEED_KM_PER_H = 30.0

#: The share of the farthest distances that quantiles speak of which is cut off: they have no end of their own.
TAIL_SHARE = 0.01

#: For distances [metre], the share that lies no farther.
Cumulative = Callable[[FloatArray], FloatArray]

_NORMAL = NormalDist()
#: Rows of the table of a distribution by quantiles.
_ROWS = 2000
#: The same of the nearest distances, in standard deviations: a millionth.
_NEAREST_SCORE = -4.75
#: Stands for no width in a division whose result is not used. [metre]
_NO_WIDTH_M = 1e-9


@dataclass(frozen=True, slots=True)
class DistanceDistribution:
    """A distribution of distances from ``least_m`` to ``extent_m``. [metre]

    ``cumulative`` rises from 0 at the least to 1 at the extent. ``greatest_m`` is the distance
    never passed, ``None`` where none was stated. Quantiles speak of distances beyond the extent too, of which ``tail`` is the
    share if they are possible, and ``beyond`` if they are not. ``words`` says it in a sentence.
    """

    least_m: float
    extent_m: float
    cumulative: Cumulative
    words: str
    greatest_m: float | None
    tail: float = 0.0
    beyond: float = 0.0


def reach_m(hours: float, speed_km_per_h: float) -> float:
    """How far one comes in a time, straight on. [metre]

    Raises
    ------
    OutOfRangeError
        The time is not over 0 and up to 1000 hours, or the speed not 0 to 30 km/h.
    """
    time = checked("hours_since", hours, 1e-3, MOST_HOURS)
    return float(time * checked("speed_km_per_h", speed_km_per_h, 0.0, MOST_SPEED_KM_PER_H) * 1000.0)


def between_bounds(least_m: float, greatest_m: float, likely_m: float | None = None) -> DistanceDistribution:
    """Distances between a least and a greatest: every one as likely, or rising to a likeliest and falling from it.

    Raises
    ------
    OutOfRangeError, ReachTooLargeError
        The greatest is under 1 m or over 200 km, or another is negative.
    BoundsReversedError
        They are not in order, or the least is the greatest.
    """
    _check_reach(greatest_m)
    least = float(checked("least_m", least_m, 0.0, MOST_REACH_M))
    likely = least if likely_m is None else float(checked("likely_m", likely_m, 0.0, MOST_REACH_M))
    if not least <= likely <= greatest_m or least >= greatest_m:
        raise BoundsReversedError(
            "the distances or speeds are not in order",
            value=[least_m, likely_m, greatest_m],
            allowed="least <= likely <= greatest, and least < greatest",
        )
    bounds = f"from {least / 1000:.4g} to {greatest_m / 1000:.4g} km"
    if likely_m is None:
        words = f"Every straight-line distance {bounds} from where the person was last known is as likely."
        even = _by_table(np.array([least, greatest_m]), np.array([0.0, 1.0]))
        return DistanceDistribution(least, greatest_m, even, words, greatest_m)
    words = f"The straight-line distance is {bounds}: likeliest {likely / 1000:.4g} km, falling evenly to either bound."
    return DistanceDistribution(least, greatest_m, _triangular(least, likely, greatest_m), words, greatest_m)


def from_quantiles(
    quantiles: Sequence[tuple[float, float]], greatest_m: float | None = None
) -> DistanceDistribution:
    """Distances by their quantiles: log-normal by two; by more, so between every two neighbours.

    Between quantiles, and beyond the first and the last by the two next to it, the logarithm of the distance runs straight
    with the quantile of the standard normal distribution.

    Parameters
    ----------
    quantiles : sequence of (float, float)
        Two to 20 of a share, 0.01 to 0.99, and the distance within which that share was found, 1 m to 200 km; both rising.
    greatest_m : float, optional
        The distance never passed, 1 m to 200 km: what is beyond is left out. Without it the farthest `TAIL_SHARE` is cut
        off.

    Raises
    ------
    OutOfRangeError
        A value is out of its range, or there are too few or too many quantiles.
    ReachTooLargeError
        What remains reaches beyond 200 km.
    BoundsReversedError
        The quantiles do not rise, or the first is beyond the greatest distance.
    """
    shares, distances = _checked_quantiles(quantiles)
    if greatest_m is not None:
        _check_reach(greatest_m)
        if greatest_m <= distances[0]:
            raise BoundsReversedError(
                "the greatest distance is not beyond the first quantile",
                value=greatest_m,
                allowed=f"over {distances[0]:g} m",
            )
    scores, logs = np.array([_NORMAL.inv_cdf(share) for share in shares]), np.log(distances)
    end = _log_at(scores, logs, _NORMAL.inv_cdf(1.0 - TAIL_SHARE))
    cut_by_bound = greatest_m is not None and math.log(greatest_m) < end
    last = math.log(greatest_m) if greatest_m is not None and cut_by_bound else end
    _check_reach(math.exp(last))
    log_distance = np.linspace(_log_at(scores, logs, _NEAREST_SCORE), last, _ROWS)
    share = np.array([_NORMAL.cdf(score) for score in _scores_at(scores, logs, log_distance).tolist()])
    # What lies nearer than the table begins is put into its first row.
    distance, share = np.concatenate(([0.0], np.exp(log_distance))), np.concatenate(([0.0], share))
    beyond = 1.0 - float(share[-1])
    words = _quantile_words(quantiles, len(shares))
    tail, beyond = (0.0, beyond) if cut_by_bound else (beyond, 0.0)
    by_table = _by_table(distance, share / share[-1])
    return DistanceDistribution(0.0, float(distance[-1]), by_table, words, greatest_m, tail, beyond)


def _check_reach(greatest_m: float) -> None:
    if greatest_m > MOST_REACH_M:
        raise ReachTooLargeError(
            f"the reach is {greatest_m / 1000.0:.4g} km", value=greatest_m, allowed="up to 200 km"
        )
    checked("greatest_m", greatest_m, LEAST_REACH_M, MOST_REACH_M)


def _by_table(distances_m: FloatArray, shares: FloatArray) -> Cumulative:
    def cumulative(distance_m: FloatArray) -> FloatArray:
        return np.interp(distance_m, distances_m, shares)

    return cumulative


def _triangular(least_m: float, likely_m: float, greatest_m: float) -> Cumulative:
    width = greatest_m - least_m

    def cumulative(distance_m: FloatArray) -> FloatArray:
        distance = np.clip(distance_m, least_m, greatest_m)
        rising = np.square(distance - least_m) / (width * max(likely_m - least_m, _NO_WIDTH_M))
        falling = 1.0 - np.square(greatest_m - distance) / (width * max(greatest_m - likely_m, _NO_WIDTH_M))
        return np.where(distance <= likely_m, rising, falling)

    return cumulative


def _checked_quantiles(quantiles: Sequence[tuple[float, float]]) -> tuple[FloatArray, FloatArray]:
    checked("distance_quantiles", len(quantiles), 2, 20)
    shares, distances = (np.array(column, dtype=np.float64) for column in zip(*quantiles, strict=True))
    checked("distance_quantiles", shares, 0.01, 0.99)
    checked("distance_quantiles", distances, LEAST_REACH_M, MOST_REACH_M)
    if np.any(np.diff(shares) <= 0.0) or np.any(np.diff(distances) <= 0.0):
        raise BoundsReversedError(
            "the quantiles do not rise",
            member="distance_quantiles",
            value=[list(row) for row in quantiles],
            allowed="shares and distances that both rise",
        )
    return shares, distances


def _log_at(scores: FloatArray, logs: FloatArray, score: float) -> float:
    """The logarithm of the distance at a score, straight on beyond the quantiles."""
    return float(_straight_on(scores, logs, np.array([score]))[0])


def _scores_at(scores: FloatArray, logs: FloatArray, log_distance: FloatArray) -> FloatArray:
    return _straight_on(logs, scores, log_distance)


def _straight_on(x: FloatArray, y: FloatArray, at: FloatArray) -> FloatArray:
    """Straight between points, and beyond the first and the last on the line of the two next to it."""
    before = np.clip(np.searchsorted(x, at) - 1, 0, len(x) - 2)
    slope = np.diff(y)[before] / np.diff(x)[before]
    line: FloatArray = y[before] + slope * (at - x[before])
    return line


def _quantile_words(quantiles: Sequence[tuple[float, float]], count: int) -> str:
    said = ", ".join(f"{100 * share:g} % within {distance / 1000:.4g} km" for share, distance in quantiles)
    form = "log-normal" if count == 2 else "log-normal between each two of them"
    return f"The straight-line distance is as the quantiles given say ({said}), {form}."
