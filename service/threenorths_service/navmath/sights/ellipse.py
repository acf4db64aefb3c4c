"""Error ellipses: the region that holds a fix with a stated confidence."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth

__all__ = ["CONFIDENCE", "Ellipse", "ellipse_of", "standard_deviations"]

#: The confidence of the ellipses that answers carry.
CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Ellipse:
    """An error ellipse around a fix.

    ``semi_major_m`` and ``semi_minor_m`` [metre]; ``major_axis_azimuth_deg`` of the long axis, from the north that
    the covariance was in, in [0, 180) [degree]; ``confidence``, the share of errors that fall inside.
    """

    semi_major_m: FloatArray
    semi_minor_m: FloatArray
    major_axis_azimuth_deg: FloatArray
    confidence: float


def standard_deviations(confidence: float = CONFIDENCE) -> float:
    """How many standard deviations the semi-axes of an ellipse of that confidence are long."""
    return math.sqrt(-2.0 * math.log1p(-confidence))


def ellipse_of(covariance_m2: ArrayLike, confidence: float = CONFIDENCE) -> Ellipse:
    """The ellipse of a normally distributed error of position.

    Parameters
    ----------
    covariance_m2 : array_like, shape (..., 2, 2)
        Covariance of the north (first) and east errors. [square metre]
    confidence : float
        In (0, 1).

    Notes
    -----
    The semi-axes are the roots of the covariance's eigenvalues, times ``sqrt(-2 ln(1 - confidence))``, which is the
    root of the chi-square quantile of two degrees of freedom in closed form: 2.4477 at 95 %. The azimuth of the long
    axis is ``atan2(2 cov, var_north - var_east) / 2``; for a circle it is 0.
    """
    covariance = np.asarray(covariance_m2, dtype=np.float64)
    var_north, var_east = covariance[..., 0, 0], covariance[..., 1, 1]
    cov = covariance[..., 0, 1]
    middle = (var_north + var_east) / 2.0
    half_gap = np.hypot((var_north - var_east) / 2.0, cov)
    factor = standard_deviations(confidence)
    azimuth = np.degrees(np.arctan2(2.0 * cov, var_north - var_east)) / 2.0
    return Ellipse(
        semi_major_m=factor * np.sqrt(middle + half_gap),
        semi_minor_m=factor * np.sqrt(np.maximum(middle - half_gap, 0.0)),
        major_axis_azimuth_deg=normalise_azimuth(azimuth, 180.0),
        confidence=confidence,
    )
