"""Where a walk misses its known end: by how much, whether its stated errors explain that, and which one error would.

On the plane of the walk (`walk.Walk.turned_deg`), where a vector is its north and its east part. [metre]
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_signed
from .geodesic import COINCIDENT_M
from .reckoning_errors import ErrorGrowth

__all__ = ["CHI_SQUARE_95", "Explanation", "chi_square_of", "compass_rule_shares", "explain"]

#: What the square of a misclosure over its covariance stays under in 95 of 100 walks: chi-square of two degrees of freedom,
#: whose quantile is ``-2 ln(1 - confidence)``.
CHI_SQUARE_95 = -2.0 * math.log(0.05)

#: A normally distributed error stays within so many standard deviations in 95 of 100 cases.
NORMAL_95 = 1.959964

#: Where the errors of the single legs turn the line from the start to the end by more than this, or stretch it by as much
#: of itself, it does not tell the errors that all share. [radian]
MOST_NOISE = 0.5


@dataclass(frozen=True, slots=True)
class Explanation:
    """The one compass error and the one error of lengths that would, together, explain a misclosure exactly.

    ``compass_error_deg``, which every bearing had too much, in (-180, 180] [degree]; ``length_error_ratio``, which every
    length had too much, over the true length: 0.05 where 105 m were told for 100. Their standard deviations are what the
    errors of single legs, of the start and of the end leave open. One is ``credible`` where it lies within what its own
    stated standard deviation and that allow, at 95 per cent.
    """

    compass_error_deg: float
    compass_error_sd_deg: float
    compass_error_credible: bool
    length_error_ratio: float
    length_error_sd_ratio: float
    length_error_credible: bool


def compass_rule_shares(length_m: FloatArray) -> FloatArray:
    """The share of the misclosure that is taken off each of the n + 1 places of a traverse, from 0 up to 1.

    It is in proportion to the length of the legs up to there: the compass rule of N. Bowditch, 1808, as in J. Mahun, Open
    Access Surveying Library, "Traverse Computations", chapters E and I, equations E-1 and E-2. The ``length_m`` of the
    legs, shape (n,), are not all nought.
    """
    return np.append(0.0, np.cumsum(length_m)) / np.sum(length_m)


def chi_square_of(misclosure_m: FloatArray, covariance_m2: FloatArray) -> float:
    """The square of a misclosure over its covariance: chi-square of two degrees of freedom."""
    return float(misclosure_m @ np.linalg.solve(covariance_m2, misclosure_m))


def explain(
    reckoned_m: FloatArray, known_m: FloatArray, growth: ErrorGrowth, places_m2: FloatArray
) -> Explanation | None:
    """What turns and stretches the line from the start to the reckoned end into that to the known end.

    ``places_m2`` is the covariance of what the start and the end themselves add, shape (2, 2). ``None`` where either line
    is too short for that: after a closed loop any turn and any stretch closes as badly as before.
    """
    net_m = float(np.hypot(*reckoned_m))
    if net_m < COINCIDENT_M or np.hypot(*known_m) < COINCIDENT_M:
        return None
    stretch = complex(*reckoned_m) / complex(*known_m)
    turn_deg, ratio = float(normalise_signed(math.degrees(np.angle(stretch)))), abs(stretch) - 1.0
    along = reckoned_m / net_m
    across = np.array([-along[1], along[0]])
    own_m2 = growth.random_m2[-1] + places_m2
    turn_sd, ratio_sd = (math.sqrt(axis @ own_m2 @ axis) / net_m for axis in (across, along))
    if max(turn_sd, ratio_sd) > MOST_NOISE:
        return None
    turn_allowed = NORMAL_95 * math.hypot(turn_sd, *(across @ growth.heading_m[-1] / net_m))
    ratio_allowed = NORMAL_95 * math.hypot(ratio_sd, *(along @ growth.scale_m[-1] / net_m))
    return Explanation(
        compass_error_deg=turn_deg,
        compass_error_sd_deg=math.degrees(turn_sd),
        compass_error_credible=abs(math.radians(turn_deg)) <= turn_allowed,
        length_error_ratio=ratio,
        length_error_sd_ratio=ratio_sd,
        length_error_credible=abs(ratio) <= ratio_allowed,
    )
