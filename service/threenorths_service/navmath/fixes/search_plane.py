"""The plane that the place of a fix is searched on: laid on the ellipsoid about the middle of the known places.

The azimuthal equidistant projection, by exact geodesics: the place at distance d and true azimuth a is the complex number
``d exp(i a)``, so that its real part is north and its imaginary part east, and differences have azimuths for arguments. At
the distance r, lengths across are long by ``r^2 / (6 R^2)``: 4e-7 at 10 km, 4e-5 at 100 km.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..lines.geodesic import direct, inverse

__all__ = ["ComplexArray", "SearchPlane"]

ComplexArray = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class SearchPlane:
    """The plane about a place. [degree]"""

    lat_deg: float
    lon_deg: float

    def project(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[ComplexArray, FloatArray]:
        """The places on the plane [metre], and by how much an azimuth on it is more than the true azimuth there [degree]."""
        azimuth, back_azimuth, distance = inverse(self.lat_deg, self.lon_deg, lat_deg, lon_deg)
        point: ComplexArray = np.asarray(distance * np.exp(1j * np.radians(azimuth)), dtype=np.complex128)
        return point, azimuth - back_azimuth - 180.0

    def place(self, point: ComplexArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Latitude and longitude of points on the plane, and the turn of the azimuths there, as `project` has it."""
        azimuth = np.degrees(np.angle(point))
        lat, lon, back_azimuth = direct(self.lat_deg, self.lon_deg, azimuth, np.abs(point))
        return lat, lon, azimuth - back_azimuth - 180.0
