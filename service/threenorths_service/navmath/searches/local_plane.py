"""A plane about one place, for work over tens of kilometres: east and north in metres.

It is the azimuthal equidistant projection of the ellipsoid about that place (J. P. Snyder, "Map Projections: A Working
Manual", US Geological Survey Professional Paper 1395, 1987, pp. 191-202), by geodesics: direction and distance from the
place are true, poles and the antimeridian are places like others. Lengths across the direction to the place are too long
by a share of (r / R)^2 / 6, R the earth's radius: 1 in 6000 at 200 km.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_signed
from ..grids.ellipsoid import SEMI_MAJOR_AXIS_M
from ..lines.geodesic import direct, inverse

__all__ = ["LocalPlane", "drawn_line"]

#: A line is followed by points this near to each other. On a parallel at 80 degrees a chord of it is 3 cm off. [metre]
STEP_M = 500.0
#: Steps of a line at most: of one of over 10,000 km they are longer. [count]
MOST_STEPS = 20_000


@dataclass(frozen=True, slots=True)
class LocalPlane:
    """The plane about a place; points are arrays of shape (N, 2), east and north of it. [metre]"""

    lat_deg: float
    lon_deg: float

    def from_geodetic(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatArray:
        """The points of places. Of the antipode the direction is arbitrary."""
        azimuth_deg, _back, distance_m = inverse(self.lat_deg, self.lon_deg, lat_deg, lon_deg)
        azimuth = np.radians(azimuth_deg)
        points: FloatArray = np.stack((distance_m * np.sin(azimuth), distance_m * np.cos(azimuth)), axis=-1)
        return points

    def to_geodetic(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Latitudes, and longitudes in [-180, 180), of points. [degree]"""
        east, north = points[..., 0], points[..., 1]
        azimuth_deg = np.degrees(np.arctan2(east, north))
        lat_deg, lon_deg, _back = direct(self.lat_deg, self.lon_deg, azimuth_deg, np.hypot(east, north))
        return lat_deg, lon_deg


def drawn_line(lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """A line with points put in, so near to each other that it may be carried to a plane point by point.

    Between the points given it is straight in longitude and latitude, as RFC 7946 (section 3.1.1) has it, and its longitude
    runs the shorter way.
    """
    lat, lon = np.asarray(lat_deg, dtype=np.float64), np.asarray(lon_deg, dtype=np.float64)
    lon = np.concatenate((lon[:1], lon[0] + np.cumsum(normalise_signed(np.diff(lon)))))
    widest = np.cos(np.radians(np.minimum(np.abs(lat[:-1]), np.abs(lat[1:]))))
    length_m = SEMI_MAJOR_AXIS_M * np.radians(np.hypot(np.diff(lat), np.diff(lon) * widest))
    step_m = max(STEP_M, float(length_m.sum()) / MOST_STEPS)
    parts = np.maximum(np.ceil(length_m / step_m), 1.0).astype(np.intp)
    whole = np.concatenate(([0], np.cumsum(parts)))
    places = np.arange(whole[-1] + 1)
    return np.interp(places, whole, lat), np.interp(places, whole, lon)
