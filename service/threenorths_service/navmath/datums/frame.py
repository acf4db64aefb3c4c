"""What a position is read on: its datum, with the way from there to WGS 84."""

from __future__ import annotations

from dataclasses import dataclass

from ..angle import normalise_longitude
from ..errors import OutsideGridError
from ..grids.grid import from_grid
from ..grids.projected_grid import FIRST_EPSG_CODE, projected_grid
from .datum import WGS84, Datum, DatumShift
from .datum_shift import shifted_to_wgs84

__all__ = ["WGS84_FRAME", "Frame"]


@dataclass(frozen=True, slots=True)
class Frame:
    """The datum that a text or a grid coordinate is on, and whether it may be taken over where no shift is known."""

    datum: Datum = WGS84
    allow_ballpark: bool = False

    def on_wgs84(self, lat_deg: float, lon_deg: float) -> tuple[float, float, DatumShift | None]:
        """One place of the datum on WGS 84, and how it came there: ``None`` where it was there already.

        Raises
        ------
        OutsideDatumAreaError, BallparkShiftError
            There is no operation for the place, or for the datum.
        """
        if self.datum.epsg == WGS84.epsg:
            return lat_deg, lon_deg, None
        return shifted_to_wgs84(self.datum, lat_deg, lon_deg, allow_ballpark=self.allow_ballpark)

    def from_greenwich(self, lat_deg: float, lon_deg: float) -> tuple[float, float, DatumShift | None]:
        """As `on_wgs84`, of a longitude counted from Greenwich, as UTM does on every datum."""
        if self.datum.prime_meridian_deg:
            lon_deg = float(normalise_longitude(lon_deg - self.datum.prime_meridian_deg))
        return self.on_wgs84(lat_deg, lon_deg)

    def from_grid(
        self, zone: int, south: bool, easting_m: float, northing_m: float
    ) -> tuple[float, float, DatumShift | None]:
        """One place of a grid on WGS 84, and how it came there.

        The grid is the datum's UTM zone, or UPS where ``zone`` is 0; or a national grid by its EPSG code, which brings its
        own datum.

        Raises
        ------
        OutsideDatumAreaError, BallparkShiftError
            As for `on_wgs84`.
        UnknownGridError, OutsideGridError
            There is no such national grid, or the place lies outside the area that it is for.
        """
        if zone < FIRST_EPSG_CODE:
            lat, lon = from_grid(zone, south, easting_m, northing_m, ellipsoid=self.datum.ellipsoid)
            return self.from_greenwich(float(lat), float(lon))
        grid = projected_grid(zone)
        lat, lon = grid.from_grid(easting_m, northing_m)
        if not grid.contains(lat, lon):
            raise OutsideGridError(
                f"the place lies outside the area of {grid.name}",
                member="easting_m",
                value=easting_m,
                allowed=f"coordinates in {grid.area_name}",
            )
        return Frame(grid.datum, self.allow_ballpark).on_wgs84(float(lat), float(lon))


#: What nothing else is said of.
WGS84_FRAME = Frame()
