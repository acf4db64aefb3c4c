"""The place where somebody was last known, with how well it is known: a region, and a likelihood for each point in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_longitude
from ..errors import OutOfRangeError
from ..estimates.estimate import checked
from ..lines.geodesic import COINCIDENT_M
from .local_plane import LocalPlane
from .plane_shape import PlaneShape

__all__ = [
    "MOST_START_RADIUS_M",
    "REGION_CONFIDENCE",
    "StartRegion",
    "known_by_covariance",
    "known_to_radius",
]

#: A place known no better than this is no place to search from. [metre]
MOST_START_RADIUS_M = 20_000.0

#: The share of a normally distributed place that its region holds; what is beyond is left out.
REGION_CONFIDENCE = 0.99

#: The squared radius, in standard deviations, of that region: the chi-square quantile of two degrees of freedom.
_REGION_CHI_SQUARE = -2.0 * math.log1p(-REGION_CONFIDENCE)


@dataclass(frozen=True, slots=True)
class StartRegion:
    """An ellipse about a place: all x, east and north of it, with x' S^-1 x <= 1.

    ``shape_m2`` is S, of shape (2, 2) [square metre]. Within it the place is normally distributed, or is anywhere as likely
    (``normal`` false). ``words`` says it in a sentence.
    """

    plane: LocalPlane
    shape_m2: FloatArray
    normal: bool
    words: str

    @property
    def radius_m(self) -> float:
        """The long semi-axis. [metre]"""
        return math.sqrt(float(np.linalg.eigvalsh(self.shape_m2)[-1]))

    def region(self) -> PlaneShape:
        """The ellipse."""
        return PlaneShape.ellipse(self.shape_m2)

    def weights(self, east_m: FloatArray, north_m: FloatArray) -> FloatArray:
        """The likelihood of points, to a common factor: 0 outside the region."""
        (a, b), (_, d) = np.linalg.inv(self.shape_m2)
        squared = a * east_m * east_m + 2.0 * b * east_m * north_m + d * north_m * north_m
        height = np.exp(-_REGION_CHI_SQUARE * squared / 2.0) if self.normal else 1.0
        return np.where(squared <= 1.0, height, 0.0)


def known_to_radius(lat_deg: float, lon_deg: float, radius_m: float = 0.0) -> StartRegion:
    """A place known to lie within a radius, anywhere in it as likely.

    Raises
    ------
    OutOfRangeError
        The latitude is not in [-90, 90], the longitude not in [-180, 360), or the radius not 0 to 20 km.
    """
    plane = _plane(lat_deg, lon_deg)
    radius = float(checked("radius_m", radius_m, 0.0, MOST_START_RADIUS_M))
    words = "The place where the person was last known is right as it was given."
    if radius > COINCIDENT_M:
        words = f"The place where the person was last known is anywhere within {radius:.4g} m of what was given, as likely."
    return StartRegion(plane, np.eye(2) * max(radius, COINCIDENT_M) ** 2, normal=False, words=words)


def known_by_covariance(lat_deg: float, lon_deg: float, covariance_m2: ArrayLike) -> StartRegion:
    """A place with a normally distributed error, such as that of a fix, cut off where 99 % of it is inside.

    Parameters
    ----------
    lat_deg, lon_deg : float
        The place. [degree]
    covariance_m2 : array_like, shape (2, 2)
        Covariance of the north (first) and east errors. [square metre]

    Raises
    ------
    OutOfRangeError
        The latitude or longitude is out of range, the covariance is none, or it reaches beyond 20 km.
    """
    plane = _plane(lat_deg, lon_deg)
    covariance = np.asarray(covariance_m2, dtype=np.float64)
    if not np.all(np.isfinite(covariance)) or not np.allclose(covariance, covariance.T):
        raise _no_covariance(covariance)
    variances: FloatArray = np.linalg.eigvalsh(covariance).astype(np.float64)
    if variances[0] < -1e-9 * abs(variances[1]):
        raise _no_covariance(covariance)
    # The smallest axis is kept above nothing, so that there is an ellipse.
    shape_m2 = _REGION_CHI_SQUARE * covariance[::-1, ::-1] + np.eye(2) * COINCIDENT_M**2
    start = StartRegion(plane, shape_m2, normal=True, words=_normal_words(variances))
    checked("covariance_m2", start.radius_m, 0.0, MOST_START_RADIUS_M)
    return start


def _plane(lat_deg: float, lon_deg: float) -> LocalPlane:
    lat = float(checked("lat_deg", lat_deg, -90.0, 90.0))
    lon = float(checked("lon_deg", lon_deg, -180.0, np.nextafter(360.0, 0.0)))
    return LocalPlane(lat, float(normalise_longitude(lon)))


def _no_covariance(covariance: FloatArray) -> OutOfRangeError:
    return OutOfRangeError(
        "the covariance is none",
        member="covariance_m2",
        value=covariance.tolist(),
        allowed="a symmetric matrix of numbers with variances that are not negative",
    )


def _normal_words(variances: FloatArray) -> str:
    short, long = np.sqrt(np.maximum(variances, 0.0))
    return (
        f"The place where the person was last known has a normally distributed error, of {short:.4g} to {long:.4g} m "
        f"standard deviation by direction, cut off where {100 * REGION_CONFIDENCE:g} % of it is inside."
    )
