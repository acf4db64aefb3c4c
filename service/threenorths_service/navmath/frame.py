"""What a position is read on: its datum, with the way from there to WGS 84."""

from __future__ import annotations

from dataclasses import dataclass

from .datum import WGS84, Datum, DatumShift
from .datum_shift import shifted_to_wgs84
from .grid import from_grid

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

    def from_grid(
        self, zone: int, south: bool, easting_m: float, northing_m: float
    ) -> tuple[float, float, DatumShift | None]:
        """One place of the datum's UTM zone, or of UPS where ``zone`` is 0, on WGS 84; errors are those of `on_wgs84`."""
        lat_deg, lon_deg = from_grid(zone, south, easting_m, northing_m, ellipsoid=self.datum.ellipsoid)
        return self.on_wgs84(float(lat_deg), float(lon_deg))


#: What nothing else is said of.
WGS84_FRAME = Frame()
