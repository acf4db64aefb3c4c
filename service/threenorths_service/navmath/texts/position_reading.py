"""What a written position was read as: a reading, or the reason why it is none."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

from ..datums.datum import DatumShift
from ..datums.frame import WGS84_FRAME, Frame
from ..errors import NavigationError
from ..grids.ellipsoid import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M

__all__ = [
    "FAR_OFF",
    "INCOMPLETE",
    "WRONG_VALUE",
    "GridSquare",
    "Outcome",
    "PartialReference",
    "PositionForm",
    "PositionReading",
    "Refusal",
    "metres_per_degree",
]

PositionForm = Literal["mgrs", "utm", "ups", "latitude_longitude", "national_reference", "projected"]


@dataclass(frozen=True, slots=True)
class GridSquare:
    """The square that a grid reference names."""

    #: Side of the square. [metre]
    size_m: float
    #: Digits of the easting, and as many of the northing.
    digits: int
    #: The grid: a UTM zone, 0 for UPS, or the EPSG code of a national grid; and its hemisphere.
    zone: int
    south: bool
    #: South-west corner. [metre]
    corner_easting_m: float
    corner_northing_m: float
    #: Whether the edge of the grid zone cuts off the square's centre, so another point was taken.
    cut: bool
    #: Whether the square lies beyond the edge of its grid zone, in the overlap.
    overlap: bool
    #: The datum that the zone's grid is on; a national grid brings its own.
    frame: Frame = WGS84_FRAME

    @property
    def corner_lat_deg(self) -> float:
        """Latitude of the south-west corner, on WGS 84. [degree]"""
        return self._corner_deg()[0]

    @property
    def corner_lon_deg(self) -> float:
        """Longitude of the south-west corner, on WGS 84, in [-180, 180). [degree]"""
        return self._corner_deg()[1]

    def _corner_deg(self) -> tuple[float, float]:
        corner_m = (self.corner_easting_m, self.corner_northing_m)
        lat_deg, lon_deg, _shift = self.frame.from_grid(self.zone, self.south, *corner_m)
        return lat_deg, lon_deg


@dataclass(frozen=True, slots=True)
class PositionReading:
    """A written position, read. Longitude is in [-180, 180).

    ``lat_deg`` and ``lon_deg`` are on WGS 84, whatever datum the text is on; grid coordinates are as the text has them,
    on its own datum.
    """

    form: PositionForm
    lat_deg: float
    lon_deg: float
    #: The reading in words that have no other reading; it reads as this reading.
    read_as: str
    #: What one unit of the last written digit is on the ground; for a grid reference, the side of its square. [metre]
    resolution_north_m: float
    resolution_east_m: float
    #: UTM zone, 0 for UPS, or the EPSG code of a national grid; ``None`` with all that follows where the text is a
    #: latitude and longitude.
    zone: int | None = None
    south: bool | None = None
    band: str | None = None
    easting_m: float | None = None
    northing_m: float | None = None
    #: For a grid reference only.
    square: GridSquare | None = None
    #: How the place came to WGS 84; ``None`` where it was given on it.
    shift: DatumShift | None = None
    #: Whether the text left out the zone or the square, and what was expected told it.
    filled_in: bool = field(default=False, compare=False)

    def as_details(self) -> dict[str, Any]:
        """The reading as it is listed in an error's details."""
        return {"read_as": self.read_as, "lat_deg": self.lat_deg, "lon_deg": self.lon_deg, "form": self.form}


#: How near a text came to a position: a whole position with a value that cannot be; one with something missing; or
#: a text that only a stretch makes a position of this form.
WRONG_VALUE, INCOMPLETE, FAR_OFF = 3, 2, 1


class Refusal(NamedTuple):
    """Why one way of reading a text is no position."""

    nearness: int
    error: type[NavigationError]
    message: str
    allowed: str | None = None
    #: Readings that the text misses by little.
    offered: tuple[PositionReading, ...] = ()


class PartialReference(NamedTuple):
    """A grid reference, or grid coordinates, that names a place only near another: without its zone or its square."""

    #: UTM zone and band letter where the text has them, in ``32T 654 123``; a zone may come without its band. Or the EPSG
    #: code of a national grid that the text names.
    zone: int | None
    band: str | None
    #: The letters of the 100 km square: two of MGRS, or of a national grid; "" where there are none.
    letters: str
    #: Figures of the easting and the northing. Within a square as many as each other, 1 to 5; or, where
    #: ``whole`` is true, all of the easting and northing in metres, with decimals perhaps.
    easting: str
    northing: str
    whole: bool
    #: Why the text is no position where nothing tells which place is meant.
    refusal: Refusal


Outcome = PositionReading | PartialReference | Refusal


def metres_per_degree(lat_deg: float) -> tuple[float, float]:
    """Length of a degree of latitude and of a degree of longitude at a latitude. [metre]

    J. P. Snyder, "Map Projections: A Working Manual", USGS Professional Paper 1395, 1987, eq. 4-18 to 4-21.
    """
    sine, cosine = math.sin(math.radians(lat_deg)), max(math.cos(math.radians(lat_deg)), 0.0)
    slimming = 1.0 - ECCENTRICITY_SQUARED * sine * sine
    meridian_radius_m = SEMI_MAJOR_AXIS_M * (1.0 - ECCENTRICITY_SQUARED) / slimming**1.5
    parallel_radius_m = SEMI_MAJOR_AXIS_M / math.sqrt(slimming) * cosine
    return math.radians(meridian_radius_m), math.radians(parallel_radius_m)
