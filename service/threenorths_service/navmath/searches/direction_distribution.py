"""Which way somebody may have gone: a likelihood for each direction, about one that was stated, or about none."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from ..angle import FloatArray
from ..estimates.estimate import checked

__all__ = [
    "ANY_DIRECTION",
    "LEAST_DIRECTION_SD_DEG",
    "OTHER_DIRECTIONS_SHARE",
    "DirectionDistribution",
    "about_direction",
    "sd_of_half_angle_deg",
]

#: The share of cases in which the direction of travel stated is taken to be no guide. Chosen for caution: no source.
OTHER_DIRECTIONS_SHARE = 0.1

#: No direction that somebody may have walked in is taken to be known better than this: nobody on foot in rough country keeps
#: to a line, and a narrower wedge could not be drawn. Common practice, no source. [degree]
LEAST_DIRECTION_SD_DEG = 5.0
NO_DIRECTION_DEG = 180.0

#: Turns to either side that are summed up: at 180 degrees of spread the next are under 1e-14.
_TURNS = np.arange(-6, 7)
#: Steps to a turn in the table of the distribution, twenty to the least standard deviation.
_TURN_STEPS = 1440


@dataclass(frozen=True, slots=True)
class DirectionDistribution:
    """A wrapped normal distribution about a true azimuth, and a share in which every direction is as likely.

    ``true_azimuth_deg`` and ``sd_deg`` are ``None`` where every direction is as likely.
    """

    true_azimuth_deg: float | None
    sd_deg: float | None
    other_share: float

    def shares(self, azimuth: FloatArray, width: FloatArray) -> FloatArray:
        """The shares of directions within half a width to either side of azimuths [radian]; widths are under a circle."""
        even = width / (2.0 * math.pi)
        if self.true_azimuth_deg is None or self.sd_deg is None:
            return even
        off = np.mod(azimuth - math.radians(self.true_azimuth_deg) + math.pi, 2.0 * math.pi) - math.pi
        table, cumulative = _wrapped_normal(math.radians(self.sd_deg))
        near_and_far = np.interp(np.stack((off - width / 2.0, off + width / 2.0)), table, cumulative)
        share: FloatArray = (
            self.other_share * even + (1.0 - self.other_share) * np.diff(near_and_far, axis=0)[0]
        )
        return share

    @property
    def words(self) -> str:
        """The same in a sentence."""
        if self.true_azimuth_deg is None or self.sd_deg is None:
            return "Every direction from where the person was last known is as likely."
        return (
            f"In {100 * (1 - self.other_share):g} % of cases the person is in the direction of travel, "
            f"{self.true_azimuth_deg:.1f} degrees from true north with a standard deviation of {self.sd_deg:.1f} degrees; in "
            f"the other {100 * self.other_share:g} % in any direction, each as likely."
        )


ANY_DIRECTION = DirectionDistribution(None, None, 1.0)


def about_direction(
    true_azimuth_deg: float, sd_deg: float, other_share: float = OTHER_DIRECTIONS_SHARE
) -> DirectionDistribution:
    """Directions about the one stated. A standard deviation of 180 degrees says nothing: then any is as likely.

    Raises
    ------
    OutOfRangeError
        The azimuth is not in [0, 360], the standard deviation not in [5, 180], or the share not in [0, 1].
    """
    azimuth = float(checked("direction", true_azimuth_deg, 0.0, 360.0))
    sd = float(checked("direction_sd_deg", sd_deg, LEAST_DIRECTION_SD_DEG, NO_DIRECTION_DEG))
    share = float(checked("other_directions_share", other_share, 0.0, 1.0))
    if sd >= NO_DIRECTION_DEG or share >= 1.0:
        return ANY_DIRECTION
    return DirectionDistribution(azimuth, sd, share)


def sd_of_half_angle_deg(half_angle_deg: float, confidence: float) -> float:
    """The standard deviation of directions of which a share lies within an angle to either side. [degree]

    By the normal distribution on a line, never over 180 degrees, and 180 for a half-angle of 180, which says nothing.

    Raises
    ------
    OutOfRangeError
        The half-angle is not in [5, 180], or the confidence not in [0.5, 0.999].
    """
    half = float(checked("direction_spread_deg", half_angle_deg, LEAST_DIRECTION_SD_DEG, NO_DIRECTION_DEG))
    sure = float(checked("direction_confidence", confidence, 0.5, 0.999))
    if half >= NO_DIRECTION_DEG:
        return NO_DIRECTION_DEG
    sd = half / NormalDist().inv_cdf((1.0 + sure) / 2.0)
    return min(max(sd, LEAST_DIRECTION_SD_DEG), NO_DIRECTION_DEG)


def _wrapped_normal(sd: float) -> tuple[FloatArray, FloatArray]:
    """A table of angles from the middle, over two turns [radian], and of the share before each."""
    table = np.linspace(-2.0 * math.pi, 2.0 * math.pi, 2 * _TURN_STEPS + 1)
    density = np.exp(-np.square((table[:, np.newaxis] + 2.0 * math.pi * _TURNS) / sd) / 2.0).sum(axis=1)
    cumulative = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2.0)))
    return table, 2.0 * cumulative / cumulative[-1]
