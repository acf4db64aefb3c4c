"""Where lines of sight cross, and at what angle.

The ellipsoid is laid on a sphere by the conformal latitude, which keeps every direction at every place; there the
geodesics are nearly great circles. Each line is the plane of its great circle, named by its unit normal; two planes
meet in the line through their two antipodal crossings. Conformal latitude: C. F. F. Karney, "Transverse Mercator with
an accuracy of a few nanometers", Journal of Geodesy 85(8), 475-485, 2011, doi:10.1007/s00190-011-0445-3, eqs 7 to 9.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray, normalise_signed
from ..errors import ParallelSightsError
from ..grids.ellipsoid import ECCENTRICITY

__all__ = [
    "FLATTEST_CROSSING_DEG",
    "LEAST_PARALLEL_DEG",
    "best_crossing",
    "check_not_parallel",
    "crossing_places",
    "geodetic_of",
    "great_circles",
    "line_angles",
]

#: Sights that cross at less, or at more than 180 less this, are cautioned: common practice, no source. [degree]
FLATTEST_CROSSING_DEG = 30.0

#: However fine the compass, lines that cross at less than this are parallel. [degree]
LEAST_PARALLEL_DEG = 0.01

#: Crossings of two lines that are tried, those nearest to a right angle first; each costs its geodesics.
MOST_PAIRS = 60

#: Planes nearer to each other than this have no crossing that could be computed. [radian]
SMALLEST_ANGLE = 1e-9


def crossing_places(
    lat_deg: FloatArray, lon_deg: FloatArray, true_azimuth_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Where lines through known places cross two by two, of the two antipodal crossings the nearer to the places.

    The lines run both ways: a crossing may lie behind a place. All parameters have shape (n,), in degrees.

    Returns
    -------
    lat_deg, lon_deg : ndarray, shape (k,)
        The crossings nearest to a right angle first.
    """
    place, normal = great_circles(lat_deg, lon_deg, true_azimuth_deg)
    first, second = np.array(list(combinations(range(len(place)), 2))).T
    crossing = np.cross(normal[first], normal[second])
    sine = np.linalg.norm(crossing, axis=1)
    best = np.argsort(-sine, kind="stable")[:MOST_PAIRS]
    best = best[sine[best] > SMALLEST_ANGLE]
    points = crossing[best] / sine[best, None]
    toward = np.where(points @ place.sum(axis=0) < 0.0, -1.0, 1.0)
    return geodetic_of(points * toward[:, None])


def line_angles(lat_deg: FloatArray, lon_deg: FloatArray, true_azimuth_deg: FloatArray) -> FloatArray:
    """The angle between each two lines where they cross, in [0, 90]; shape (n, n). [degree]"""
    normal = great_circles(lat_deg, lon_deg, true_azimuth_deg)[1]
    sine = np.linalg.norm(np.cross(normal[:, None], normal[None, :]), axis=2)
    return np.asarray(np.degrees(np.arctan2(sine, np.abs(normal @ normal.T))))


def check_not_parallel(line_angle_deg: FloatArray, sd_deg: FloatArray, apart: NDArray[np.bool_]) -> None:
    """Raise `ParallelSightsError` unless two sights cross at more than their standard deviations together.

    Parameters
    ----------
    line_angle_deg : ndarray, shape (n, n)
        Between each two lines, in [0, 90]. [degree]
    sd_deg : ndarray, shape (n,)
    apart : ndarray of bool, shape (n, n)
        Which two are tied to different places, without which their crossing says nothing.
    """
    least = np.maximum(np.hypot(sd_deg[:, None], sd_deg[None, :]), LEAST_PARALLEL_DEG)
    share = np.where(apart, line_angle_deg / least, -1.0)
    if np.max(share) >= 1.0:
        return
    first, second = divmod(int(np.argmax(share)), len(share))
    angle, least_deg = float(line_angle_deg[first, second]), float(least[first, second])
    raise ParallelSightsError(
        f"the sights cross at {angle:.2f} degrees at best, where {least_deg:.2f} are needed for standard deviations "
        "such as theirs",
        member="sights",
        value=angle,
        allowed=f"a crossing of at least {least_deg:.2f} degrees",
        details={"sights": [first, second]},
    )


def best_crossing(azimuth_deg: FloatArray) -> tuple[float, tuple[int, int]]:
    """The angle nearest to a right angle between two of the directions, and which two. [degree], in [0, 180]"""
    angle = np.abs(normalise_signed(azimuth_deg[:, None] - azimuth_deg[None, :]))
    first, second = divmod(int(np.argmin(np.abs(angle - 90.0))), len(azimuth_deg))
    return float(angle[first, second]), (min(first, second), max(first, second))


def great_circles(
    lat_deg: FloatArray, lon_deg: FloatArray, true_azimuth_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Unit vectors of the places on the conformal sphere and of the normals of their great circles; shape (..., 3)."""
    latitude, lon, azimuth = np.radians(lat_deg), np.radians(lon_deg), np.radians(true_azimuth_deg)
    sine, cosine = np.sin(latitude), np.cos(latitude)
    stretch = np.sinh(ECCENTRICITY * np.arctanh(ECCENTRICITY * sine))
    # Eq. 9 times the cosine of the latitude, which keeps the poles finite.
    latitude = np.arctan2(sine * np.hypot(1.0, stretch) - stretch, cosine)
    sine, cosine, zero = np.sin(latitude), np.cos(latitude), np.zeros_like(lon)
    place = np.stack((cosine * np.cos(lon), cosine * np.sin(lon), sine), axis=-1)
    north = np.stack((-sine * np.cos(lon), -sine * np.sin(lon), cosine), axis=-1)
    east = np.stack((-np.sin(lon), np.cos(lon), zero), axis=-1)
    return place, np.sin(azimuth)[..., None] * north - np.cos(azimuth)[..., None] * east


def geodetic_of(point: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Geodetic latitudes and longitudes of points on the conformal sphere, shape (k, 3). [degree]"""
    x, y, z = point.T
    from_axis = np.maximum(np.hypot(x, y), 1e-300)
    isometric = np.arcsinh(z / from_axis)
    tangent = z / from_axis
    for _ in range(8):  # each round gains a factor of the eccentricity squared, 1/150
        sine = tangent / np.hypot(1.0, tangent)
        tangent = np.sinh(isometric + ECCENTRICITY * np.arctanh(ECCENTRICITY * sine))
    return np.degrees(np.arctan(tangent)), np.degrees(np.arctan2(y, x))
