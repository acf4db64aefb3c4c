"""Where a place is expected: near a known one, or on a sheet.

It decides which of several places a reference can mean, and whether a place that was read is likely the one meant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..lines.geodesic import inverse
from ..rows import BoolArray, as_rows, in_shape
from ..sheets.sheet import Sheet
from ..texts.position_reading import PositionReading

__all__ = ["ANY_SHIFT_M", "DEFAULT_REACH_M", "NOTHING_EXPECTED", "Expected", "tolerance_m"]

#: About a day on foot. Common practice, no source. [metre]
DEFAULT_REACH_M = 30_000.0

#: What another datum than WGS 84 can move a place by, and more. [metre]
ANY_SHIFT_M = 5_000.0

#: What the last digit of a latitude or longitude may leave open at most, and still count as one place. Whole degrees may
#: mean any place within 100 km, and are not taken for near by on that account. Common practice, no source. [metre]
_MOST_LEFT_OPEN_M = 1_000.0


@dataclass(frozen=True, slots=True)
class Expected:
    """A place that the one meant is near to, with how near; or the sheet that it is on; or both; or neither.

    All latitudes and longitudes are on WGS 84.
    """

    #: Both or neither. [degree]
    near_lat_deg: float | None = None
    near_lon_deg: float | None = None
    #: How far from there a place may be. [metre]
    reach_m: float = DEFAULT_REACH_M
    sheet: Sheet | None = None
    #: Whether what is read says of itself that it is on WGS 84, so that it is on no national grid of another datum.
    on_wgs84: bool = False

    @property
    def near(self) -> tuple[float, float] | None:
        """Latitude and longitude of the place near by. [degree]"""
        if self.near_lat_deg is None or self.near_lon_deg is None:
            return None
        return self.near_lat_deg, self.near_lon_deg

    @property
    def edged_sheet(self) -> Sheet | None:
        """The sheet, where its edges are known."""
        return self.sheet if self.sheet is not None and self.sheet.has_edges else None

    @property
    def has_place(self) -> bool:
        """Whether it says where on the earth: without that it has no distances, and every place fits."""
        return self.near is not None or self.edged_sheet is not None

    @property
    def middle(self) -> tuple[float, float] | None:
        """Latitude and longitude of the place that all that fits lies around, where ``has_place``. [degree]"""
        return self.near or (self.edged_sheet.middle() if self.edged_sheet else None)

    @property
    def radius_m(self) -> float:
        """How far from ``middle`` a place can be and still fit. [metre]"""
        if self.near is not None:
            return self.reach_m
        return self.edged_sheet.radius_m if self.edged_sheet else math.inf

    def distance_m(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatArray:
        """How far places are from what is expected: from the place near by or, without one, from the sheet.

        Parameters
        ----------
        lat_deg, lon_deg : array_like
            They broadcast. [degree]

        Returns
        -------
        ndarray of the broadcast shape
            0 on the sheet, and everywhere if `has_place` is false. [metre]
        """
        if self.near is not None:
            return inverse(*self.near, lat_deg, lon_deg)[2]
        if self.edged_sheet is not None:
            return self.edged_sheet.outside_m(lat_deg, lon_deg)
        (lat, _lon), shape = as_rows(lat_deg, lon_deg)
        return in_shape(np.zeros(len(lat)), shape)

    def fits(self, lat_deg: ArrayLike, lon_deg: ArrayLike, tolerance_m: ArrayLike = 0.0) -> BoolArray:
        """Whether each place lies within reach of the place near by, and on the sheet: whichever of them is known.

        ``tolerance_m`` is how much further off it may be, since what was written stands for a square. [metre]
        """
        (lat, lon, tolerance), shape = as_rows(lat_deg, lon_deg, tolerance_m)
        fitting = np.ones(len(lat), dtype=np.bool_)
        if self.near is not None:
            fitting &= self.distance_m(lat, lon) <= self.reach_m + tolerance
        if self.edged_sheet is not None:
            fitting &= self.edged_sheet.outside_m(lat, lon) <= tolerance
        return in_shape(fitting, shape)

    def fits_reading(self, reading: PositionReading) -> bool:
        """Whether any place that the reading stands for fits."""
        return bool(self.fits(reading.lat_deg, reading.lon_deg, tolerance_m(reading)))


#: What is expected where nothing is said.
NOTHING_EXPECTED = Expected()


def tolerance_m(reading: PositionReading) -> float:
    """How far from the point of a reading the place meant can be: half the diagonal of one unit of the last digit. [metre]

    It is the whole diagonal where the edge of the grid zone cut the centre off a square, for its point is at that edge. Of
    a latitude and longitude it is never over 1 km: no square is written there that the place could be anywhere in.
    """
    diagonal_m = math.hypot(reading.resolution_north_m, reading.resolution_east_m)
    if reading.form == "latitude_longitude":
        return min(diagonal_m / 2.0, _MOST_LEFT_OPEN_M)
    return diagonal_m if reading.square is not None and reading.square.cut else diagonal_m / 2.0
