"""What estimates in the field share: how well things are read by hand, and what that makes of a result."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..errors import LinesDoNotMeetError, NavigationError, OutOfRangeError, WeakBaseError

__all__ = [
    "CLINOMETER_SD_DEG",
    "DEFAULT_SD_SHARE",
    "EYE_HEIGHT_M",
    "EYE_HEIGHT_SD_M",
    "PACED_SD_RATIO",
    "TAPED_SD_M",
    "TOLD_APART_SD",
    "EstimateStatus",
    "checked",
    "checked_sd",
    "default_sd",
    "estimate_error",
    "first_order_sd",
    "known",
    "paced_length_m",
]

#: Standard deviation of a paced length, over the length. Experienced pacers reach 1 in 50 to 1 in 100 (C. D. Ghilani and
#: P. R. Wolf, "Elementary Surveying", as quoted in teaching); on rough ground not so near: common practice, no source.
PACED_SD_RATIO = 0.03

#: Standard deviation of an angle of elevation by a hand-held clinometer marked in degrees: common practice, no source.
CLINOMETER_SD_DEG = 1.0

#: Standard deviation of a short length by tape or marked stick, its ends picked by eye: common practice, no source. [metre]
TAPED_SD_M = 0.05

#: Height of the eye of a grown person who stands, and its standard deviation: common practice, no source. [metre]
EYE_HEIGHT_M = 1.6
EYE_HEIGHT_SD_M = 0.05

#: A usual standard deviation is taken for no more than this share of a reading: whoever times half a minute or reads half a
#: mil does it finer than usual, and a spread of all of the value tells nothing. Common practice, no source.
DEFAULT_SD_SHARE = 0.25

#: Two angles are told apart when they differ by so many standard deviations of their difference: 99.7 per cent.
TOLD_APART_SD = 3.0

#: The step of a difference quotient, over the standard deviation of the input: small against the curvature of any
#: formula here, and 10 digits above rounding.
_STEP = 1e-3


class EstimateStatus(IntEnum):
    """How the estimate of one row went: 0 is good, the others say why there is none."""

    OK = 0
    LINES_DO_NOT_MEET = 1
    WEAK_BASE = 2
    NO_HEIGHT = 3
    SET_BACK_TOO_FAR = 4


def estimate_error(status: int) -> NavigationError:
    """The named error for the status of a row; a ``ValueError`` for `EstimateStatus.OK`."""
    match EstimateStatus(status):
        case EstimateStatus.LINES_DO_NOT_MEET:
            return LinesDoNotMeetError("the lines of sight from the two ends of the base do not meet ahead")
        case EstimateStatus.WEAK_BASE:
            return WeakBaseError(
                "the base is too short, or too nearly in line with the mark, for angles read so coarsely"
            )
        case EstimateStatus.NO_HEIGHT:
            return OutOfRangeError("the top is not above the base", allowed="a top seen above its base")
        case EstimateStatus.SET_BACK_TOO_FAR:
            return OutOfRangeError(
                "the first station stands further back from the edge than the mark is away",
                member="set_back_m",
                allowed="less than the distance to the far mark",
            )
        case _:
            raise ValueError("there is no error to tell of")


def checked(member: str, values: ArrayLike, least: float, most: float) -> FloatArray:
    """The values as an array, a numpy scalar for a scalar; `OutOfRangeError` for the first that is not in [least, most]."""
    array: FloatArray = np.asarray(values, dtype=np.float64)
    wrong = ~((array >= least) & (array <= most))
    if np.any(wrong):
        value = float(array[wrong][0])
        raise OutOfRangeError(
            f"{member} is {value:g}", member=member, value=value, allowed=f"{least:g} to {most:g}"
        )
    return array[()]


def checked_sd(member: str, sd: ArrayLike, value: ArrayLike) -> FloatArray:
    """The standard deviation of a length, a time or a speed above nought; `OutOfRangeError` where it is not under it.

    So wide a spread tells nothing, and a quotient by the value would run through nought.
    """
    array: FloatArray = np.asarray(sd, dtype=np.float64)
    most = np.asarray(value, dtype=np.float64)
    wrong = ~((array >= 0.0) & (array < most))
    if np.any(wrong):
        worst = float(np.broadcast_to(array, wrong.shape)[wrong][0])
        under = float(np.broadcast_to(most, wrong.shape)[wrong][0])
        raise OutOfRangeError(
            f"{member} of {worst:g} is not under the value that it is of, {under:g}",
            member=member,
            value=worst,
            allowed=f"0 to under {under:g}",
        )
    return array[()]


def default_sd(value: ArrayLike, usual_sd: float) -> FloatArray:
    """The usual standard deviation of a reading, but at most `DEFAULT_SD_SHARE` of the reading."""
    return np.minimum(usual_sd, DEFAULT_SD_SHARE * np.asarray(value, dtype=np.float64))[()]


def first_order_sd(
    formula: Callable[..., FloatArray], values: Sequence[ArrayLike], sds: Sequence[ArrayLike]
) -> FloatArray:
    """Standard deviation of ``formula(*values)`` from independent standard deviations of the values.

    First order: the root of the sum of (partial derivative times standard deviation) squared (JCGM 100:2008, "Guide
    to the expression of uncertainty in measurement", eq. 10), the derivatives by central differences. It holds while
    the formula is nearly straight over a few standard deviations.
    """
    arrays = [np.asarray(value, dtype=np.float64) for value in values]
    variance: FloatArray = np.zeros(())
    for index, sd in enumerate(sds):
        step = _STEP * np.asarray(sd, dtype=np.float64)
        above, below = list(arrays), list(arrays)
        above[index] = arrays[index] + step
        below[index] = arrays[index] - step
        variance = variance + ((formula(*above) - formula(*below)) / (2.0 * _STEP)) ** 2
    return np.sqrt(variance)[()]


def known(values: ArrayLike, mask: ArrayLike) -> FloatArray:
    """The values, NaN where the mask is not set; a numpy scalar for scalars."""
    return np.where(mask, values, np.nan)[()]


def paced_length_m(paces: ArrayLike, paces_per_100_m: ArrayLike) -> FloatArray:
    """The length of so many paces by the walker's own count over 100 m of like ground. [metre]"""
    counted = checked("paces", paces, 0.0, 1e6)
    return counted * (100.0 / checked("paces_per_100_m", paces_per_100_m, 20.0, 500.0))
