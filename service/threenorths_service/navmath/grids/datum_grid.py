"""A grid as sheets on an old datum have it: every latitude and longitude on that datum itself, none on WGS 84."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_longitude
from ..datums.datum import WGS84, Datum
from ..rows import BoolArray
from .grid import convergence_and_scale, from_grid, to_grid, within_reach
from .projected_grid import FIRST_EPSG_CODE, projected_grid

__all__ = ["DatumGrid"]


@dataclass(frozen=True, slots=True)
class DatumGrid:
    """One grid on one datum; its functions take arrays that broadcast and give arrays of that shape.

    ``zone`` is 0 for UPS, 1 to 60 for UTM, or the EPSG code of a national grid, which must be one of ``datum``. Longitudes
    count from the datum's own prime meridian.
    """

    zone: int
    south: bool = False
    datum: Datum = WGS84

    @property
    def is_national(self) -> bool:
        """Whether the grid is an EPSG code rather than of UTM or UPS."""
        return self.zone >= FIRST_EPSG_CODE

    def from_grid(self, easting_m: ArrayLike, northing_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of grid coordinates. [degree]

        Raises `OutsideGridError` where they are on no part of a national grid's projection.
        """
        if self.is_national:
            return projected_grid(self.zone).from_grid(easting_m, northing_m)
        lat, lon = from_grid(self.zone, self.south, easting_m, northing_m, ellipsoid=self.datum.ellipsoid)
        return lat, normalise_longitude(lon - self.datum.prime_meridian_deg)

    def to_grid(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Easting and northing of places within the grid's reach. [metre]"""
        if self.is_national:
            return projected_grid(self.zone).to_grid(lat_deg, lon_deg)
        grid = to_grid(
            lat_deg, self.from_greenwich(lon_deg), self.zone, self.south, ellipsoid=self.datum.ellipsoid
        )
        return grid.easting_m, grid.northing_m

    def convergence(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatArray:
        """From true north to grid north, east positive, in (-180, 180], at places within the grid's reach. [degree]"""
        if self.is_national:
            return projected_grid(self.zone).convergence_and_scale(lat_deg, lon_deg)[0]
        lon = self.from_greenwich(lon_deg)
        return convergence_and_scale(lat_deg, lon, self.zone, self.south, ellipsoid=self.datum.ellipsoid)[0]

    def reaches(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> BoolArray:
        """Which places may be put on the grid: for UTM and UPS as `grid.within_reach` says, for others in their area."""
        if self.is_national:
            return projected_grid(self.zone).contains(lat_deg, lon_deg)
        return within_reach(lat_deg, self.from_greenwich(lon_deg), self.zone, self.south)

    def from_greenwich(self, lon_deg: ArrayLike) -> FloatArray:
        """A longitude of the datum as counted from Greenwich, in [-180, 180). [degree]"""
        return normalise_longitude(np.add(lon_deg, self.datum.prime_meridian_deg))
