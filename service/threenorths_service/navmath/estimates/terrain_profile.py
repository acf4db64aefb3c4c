"""A profile of the ground along a line, bent to where rays of light run straight.

Sea level falls away from the horizontal plane of a place by ``d^2 / (2 R)``; a ray near the ground is bent down by k times
as much, k being the coefficient of refraction. Heights lowered by ``c = (1 - k) / (2 R)`` times distance squared stand as
an eye at the start sees them along straight lines (surveying texts: curvature and refraction, 0.0673 m at 1 km for k of
1/7). Between the points of a profile the height above sea level runs evenly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..errors import OutOfRangeError
from ..grids.ellipsoid import WGS84_ELLIPSOID
from ..lines.geodesic import COINCIDENT_M
from .estimate import checked

__all__ = [
    "LONGEST_PROFILE_M",
    "MEAN_RADIUS_M",
    "REFRACTION_K",
    "REFRACTION_K_SD",
    "Skyline",
    "TerrainProfile",
    "curvature_and_refraction_m",
    "radius_along_m",
    "skyline",
    "terrain_profile",
]

#: Coefficient of refraction and its standard deviation, a quarter of it: C. F. Gauss, 1826, of the network of Hannover, as
#: given by F. K. Brunner (ed.), "Geodetic Refraction", Springer, 1984. By night, and near hot or cold ground, k strays much
#: further: from -4 to 16 at 1.8 m over grass (C. Hirt et al., J. Geophys. Res. 115, D21102, 2010,
#: doi:10.1029/2010JD014067; the figures from memory).
REFRACTION_K = 0.13
REFRACTION_K_SD = 0.25 * REFRACTION_K

#: Mean radius of the ellipsoid of WGS 84, (2 a + b) / 3, within 0.6 per cent of that along any line. [metre]
MEAN_RADIUS_M = WGS84_ELLIPSOID.semi_major_axis_m * (1.0 - WGS84_ELLIPSOID.flattening / 3.0)

#: Longest profile. The next term of the earth's curvature, ``d^4 / (8 R^3)``, comes to 0.8 m there. [metre]
LONGEST_PROFILE_M = 200_000.0


@dataclass(frozen=True, slots=True)
class TerrainProfile:
    """Points along lines, shape (..., n): distances from the first point, heights, and the bend c. [metre, 1/metre]

    The bend has a last axis of length one, so that it goes with the points.
    """

    distance_m: FloatArray
    height_m: FloatArray
    bend_per_m: FloatArray

    @property
    def lowered_m(self) -> FloatArray:
        """Heights as they stand against straight rays from the first point."""
        return self.height_m - self.bend_per_m * self.distance_m**2


@dataclass(frozen=True, slots=True)
class Skyline:
    """The highest that each segment of a profile stands in the eye: shape (..., n - 1).

    ``slope`` is the rise over distance, from the eye, of the place of each segment that stands highest, and
    ``distance_m`` where that is.
    """

    slope: FloatArray
    distance_m: FloatArray


def radius_along_m(lat_deg: ArrayLike, azimuth_deg: ArrayLike) -> FloatArray:
    """Radius of curvature of the ellipsoid of WGS 84 along a direction, by Euler's formula. Shapes broadcast. [metre]"""
    latitude = np.radians(checked("lat_deg", lat_deg, -90.0, 90.0))
    azimuth = np.radians(checked("azimuth_deg", azimuth_deg, -360.0, 720.0))
    eccentricity_squared = WGS84_ELLIPSOID.eccentricity_squared
    narrowed = 1.0 - eccentricity_squared * np.sin(latitude) ** 2
    prime_vertical = WGS84_ELLIPSOID.semi_major_axis_m / np.sqrt(narrowed)
    meridian = prime_vertical * (1.0 - eccentricity_squared) / narrowed
    return np.asarray(1.0 / (np.cos(azimuth) ** 2 / meridian + np.sin(azimuth) ** 2 / prime_vertical))[()]


def curvature_and_refraction_m(
    distance_m: ArrayLike, *, refraction_k: ArrayLike = REFRACTION_K, radius_m: ArrayLike = MEAN_RADIUS_M
) -> FloatArray:
    """How far sea level lies under a ray that leaves horizontally, after a distance. Shapes broadcast. [metre]"""
    distance = checked("distance_m", distance_m, 0.0, LONGEST_PROFILE_M)
    return _bend(refraction_k, radius_m) * distance**2


def terrain_profile(
    distance_m: ArrayLike,
    height_m: ArrayLike,
    *,
    refraction_k: ArrayLike = REFRACTION_K,
    radius_m: ArrayLike = MEAN_RADIUS_M,
) -> TerrainProfile:
    """A profile from points along a line.

    Parameters
    ----------
    distance_m : array_like, shape (..., n)
        Distances of the points from the start of the line, growing from 0, two or more. [metre]
    height_m : array_like, shape (..., n)
        Their heights above sea level. [metre]
    refraction_k : array_like, shape (...)
        Coefficient of refraction, -5 to 0.9. From 1 on, rays follow the ground and nothing is hidden by its curvature.
    radius_m : array_like, shape (...)
        Radius of the earth along the line: a mean by default, or `radius_along_m`. [metre]

    Raises
    ------
    OutOfRangeError
        A value is out of its range, or the distances do not grow from 0.
    """
    distance = checked("distance_m", distance_m, 0.0, LONGEST_PROFILE_M)
    height = checked("height_m", height_m, -1000.0, 10_000.0)
    if distance.ndim == 0 or distance.shape[-1] < 2:
        raise OutOfRangeError(
            "a profile has two points or more", member="distance_m", allowed="two or more distances"
        )
    if height.shape[-1:] != distance.shape[-1:]:
        raise OutOfRangeError(
            "there is not one height to each distance",
            member="height_m",
            allowed="as many heights as distances",
        )
    if np.any(distance[..., 0] != 0.0) or np.any(np.diff(distance) < COINCIDENT_M):
        raise OutOfRangeError(
            "the distances do not grow from 0",
            member="distance_m",
            allowed="0 first, then each a millimetre or more beyond the last",
        )
    distance, height = np.broadcast_arrays(distance, height)
    return TerrainProfile(distance, height, _bend(refraction_k, radius_m)[..., np.newaxis])


def skyline(profile: TerrainProfile, eye_m: ArrayLike) -> Skyline:
    """The highest place of each segment as seen by an eye at a height above sea level over the first point.

    On a segment the ground stands at ``p + q d - c d^2``, so from the eye e at the slope ``q - c d - (e - p) / d``. It is
    greatest at ``d^2 = (e - p) / c``, or at the end of the segment nearest to that.
    """
    near, far = profile.distance_m[..., :-1], profile.distance_m[..., 1:]
    rise = np.diff(profile.height_m) / (far - near)
    under_eye = np.asarray(eye_m)[..., np.newaxis] - (profile.height_m[..., :-1] - rise * near)
    bend = profile.bend_per_m
    peak = np.clip(np.sqrt(np.maximum(under_eye, 0.0) / bend), near, far)
    # Of an eye on the ground the first segment starts at no distance and no drop, which is a drop of nothing a metre.
    drop = np.divide(under_eye, peak, out=np.zeros_like(peak), where=peak > 0.0)
    return Skyline(rise - bend * peak - drop, peak)


def _bend(refraction_k: ArrayLike, radius_m: ArrayLike) -> FloatArray:
    coefficient = checked("refraction_k", refraction_k, -5.0, 0.9)
    return np.asarray((1.0 - coefficient) / (2.0 * checked("radius_m", radius_m, 6.3e6, 6.5e6)))
