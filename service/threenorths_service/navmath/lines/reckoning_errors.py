"""How the error of a reckoned position grows along a walk.

Each leg has errors of its own, in direction and in length, and all legs share others: the compass's, the declination's,
the walker's count or speed. Own errors grow with the root of the number of legs, shared ones with the distance made good.
To first order (JCGM 100:2008, "Guide to the expression of uncertainty in measurement", eq. 13) an error of direction
moves the end of a leg across it and one of length along it, and all later places by as much. Of the second order only what
makes the ellipse too short is kept: a turn by an angle of standard deviation s, on an arc, puts the end short of the
tangent by half the angle's square, whose mean square is 3/4 s^4.

The sums are made on a plane that is rolled along the walk, with the start's true north for its first axis and east for
its second. Directions are carried from leg to leg along the walk itself, each leg as it runs on the ellipsoid. Left out
is that a place in error has another north; `reckoning` cautions where that matters, near the poles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..estimates.estimate import PACED_SD_RATIO, checked
from ..estimates.travel_time import SPEED_SD_RATIO
from .leg import HEADING_SD_RANGE_DEG, LENGTH_SD_RATIO_RANGE, LegTable

__all__ = [
    "COMPASS_SD_DEG",
    "HEADING_SD_DEG",
    "SCALE_SD_RATIO",
    "TIMED_LENGTH_SD_RATIO",
    "ErrorGrowth",
    "ReckoningErrors",
    "error_growth",
    "plane_vectors",
    "turned",
]

#: Standard deviation of the direction of one leg walked by compass from mark to mark: a bearing is read to a degree or two
#: (`sight.DEFAULT_SD_DEG`), and keeping to it round what is in the way costs as much again. Common practice, no source.
HEADING_SD_DEG = 3.0

#: Standard deviation of what the compass and the way it is held turn all legs by: common practice, no source.
COMPASS_SD_DEG = 2.0

#: Standard deviation of what all lengths have too much or too little, over them: a count checked on like ground is good to
#: one in twenty (common practice, no source). One that was not is far worse: a task of the US Army, 071-329-1006, has
#: 116 paces over 100 m on level ground and 148 across country.
SCALE_SD_RATIO = 0.05

#: The same of one leg's length by the watch, beside `SPEED_SD_RATIO` for the speed of the whole walk: going and rests
#: change from leg to leg. Common practice, no source.
TIMED_LENGTH_SD_RATIO = 0.05


#: Root of 3/4: what the square of a normal deviate's half-square is on average.
BEND = math.sqrt(0.75)


@dataclass(frozen=True, slots=True)
class ReckoningErrors:
    """Standard deviations of the errors of a walk, normally distributed and independent of each other.

    ``heading_sd_deg`` and ``length_sd_ratio`` are of each leg by itself, where a leg has none of its own;
    ``compass_sd_deg`` and ``scale_sd_ratio`` are of what all legs share. Legs by the watch have the ``timed`` ratios, and
    share nothing of their lengths with the others. With the defaults, after ten legs straight on, a circle of 68 per cent
    has 7 per cent of the distance for its radius; D. Robertson, "Simplified Dead Reckoning on a Tortuous Path", The
    Journal of Navigation, 2010 (abstract), found about 10 in rainforest, by compass and paces.
    """

    heading_sd_deg: float = HEADING_SD_DEG
    compass_sd_deg: float = COMPASS_SD_DEG
    length_sd_ratio: float = PACED_SD_RATIO
    scale_sd_ratio: float = SCALE_SD_RATIO
    timed_length_sd_ratio: float = TIMED_LENGTH_SD_RATIO
    timed_scale_sd_ratio: float = SPEED_SD_RATIO

    def check(self) -> None:
        """Raise `OutOfRangeError` for a standard deviation that no walk has; those that are shared may be nought."""
        for field in fields(self):
            least, most = HEADING_SD_RANGE_DEG if field.name.endswith("_deg") else LENGTH_SD_RATIO_RANGE
            shared = field.name in ("compass_sd_deg", "scale_sd_ratio", "timed_scale_sd_ratio")
            checked(f"errors/{field.name}", getattr(self, field.name), 0.0 if shared else least, most)


@dataclass(frozen=True, slots=True)
class ErrorGrowth:
    """The errors of the n + 1 places of a walk, its start first, on the plane of the walk.

    ``start_m2`` is the covariance of the start, shape (2, 2); ``random_m2`` that of what the legs' own errors add, shape
    (n + 1, 2, 2). [square metre] ``heading_m`` is what one standard deviation of the compass's and of the declination's
    error does, ``scale_m`` the same of the scale of measured and of timed legs: columns, shape (n + 1, 2, 2); ``bend_m``
    is what the turn of both together leaves the walk short of, shape (n + 1, 2, 1). [metre]
    """

    start_m2: FloatArray
    random_m2: FloatArray
    heading_m: FloatArray
    scale_m: FloatArray
    bend_m: FloatArray

    @property
    def covariance_m2(self) -> FloatArray:
        """Covariance of each place, shape (n + 1, 2, 2). [square metre]"""
        return self.start_m2 + self.walk_m2

    @property
    def walk_m2(self) -> FloatArray:
        """Covariance of each place, its start being known, shape (n + 1, 2, 2). [square metre]"""
        return self.random_m2 + self.shared_m @ np.swapaxes(self.shared_m, 1, 2)

    @property
    def shared_m(self) -> FloatArray:
        """What one standard deviation of each error that legs share does, in columns, shape (n + 1, 2, 5). [metre]"""
        return np.concatenate([self.heading_m, self.scale_m, self.bend_m], axis=2)


def error_growth(
    azimuth_deg: FloatArray,
    table: LegTable,
    errors: ReckoningErrors,
    declination_sd_deg: FloatArray,
    start_m2: FloatArray,
) -> ErrorGrowth:
    """The growth of the errors along legs in directions of the plane of the walk, shape (n,). [degree]

    ``declination_sd_deg``, shape (n,), is nought for legs that do not rest on the model's declination. [degree]
    """
    timed = table.timed
    along_m = plane_vectors(azimuth_deg, table.length_m)
    across_m = plane_vectors(azimuth_deg + 90.0, table.length_m)
    own_turn, own_ratio = _own_errors(table, errors)
    own_m = np.stack(
        [across_m * own_turn[:, None], along_m * np.hypot(own_ratio, BEND * own_turn**2)[:, None]], axis=2
    )
    turn = np.radians(np.stack([np.full(len(timed), errors.compass_sd_deg), declination_sd_deg], axis=1))
    scale = np.stack(
        [np.where(timed, 0.0, errors.scale_sd_ratio), np.where(timed, errors.timed_scale_sd_ratio, 0.0)],
        axis=1,
    )
    return ErrorGrowth(
        start_m2=start_m2,
        random_m2=_summed(own_m @ np.swapaxes(own_m, 1, 2)),
        heading_m=_summed(across_m[:, :, None] * turn[:, None, :]),
        scale_m=_summed(along_m[:, :, None] * scale[:, None, :]),
        bend_m=_summed(along_m[:, :, None] * BEND * np.sum(turn**2, axis=1)[:, None, None]),
    )


def _own_errors(table: LegTable, errors: ReckoningErrors) -> tuple[FloatArray, FloatArray]:
    """Standard deviations of each leg's own direction [radian] and of its length over it, the walk's where it has none."""
    heading_sd_deg = np.where(np.isnan(table.heading_sd_deg), errors.heading_sd_deg, table.heading_sd_deg)
    walk_ratio = np.where(table.timed, errors.timed_length_sd_ratio, errors.length_sd_ratio)
    ratio = np.where(np.isnan(table.length_sd_ratio), walk_ratio, table.length_sd_ratio)
    return np.radians(heading_sd_deg), ratio


def plane_vectors(azimuth_deg: ArrayLike, length_m: ArrayLike) -> FloatArray:
    """North and east parts of lengths in directions, in a last axis of two. [metre]"""
    azimuth, length = np.radians(azimuth_deg), np.asarray(length_m)
    return np.stack([length * np.cos(azimuth), length * np.sin(azimuth)], axis=-1)


def turned(covariance_m2: FloatArray, angle_deg: FloatArray) -> FloatArray:
    """Covariances, shape (..., 2, 2), seen from an axis from which all azimuths are ``angle_deg`` greater. [square metre]"""
    angle = np.radians(np.asarray(angle_deg))
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.stack([np.stack([cos, -sin], axis=-1), np.stack([sin, cos], axis=-1)], axis=-2)
    return np.asarray(turn @ covariance_m2 @ np.swapaxes(turn, -1, -2))


def _summed(values: FloatArray) -> FloatArray:
    """What each leg adds summed up to each place: nought at the start."""
    return np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)])
