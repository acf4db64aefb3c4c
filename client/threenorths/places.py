"""Positions: as they are handed in, and as an answer gives them, which is on WGS 84."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

__all__ = [
    "Corner",
    "Hemisphere",
    "LatLon",
    "Position",
    "PositionInput",
    "Projected",
    "ReadPlace",
    "Ups",
    "UpsCoordinates",
    "Utm",
    "UtmCoordinates",
    "Written",
]

Hemisphere = Literal["north", "south"]


@dataclass(frozen=True, slots=True)
class LatLon:
    """A geodetic position: latitude north positive in [-90, 90], longitude east positive in [-180, 360). [degree]"""

    lat_deg: float
    lon_deg: float
    datum: str | None = None


@dataclass(frozen=True, slots=True)
class Utm:
    """A position in UTM zone 1 to 60; ``hemisphere`` says whose northings are used. [metre]"""

    zone: int
    hemisphere: Hemisphere
    easting_m: float
    northing_m: float
    datum: str | None = None


@dataclass(frozen=True, slots=True)
class Ups:
    """A position in the polar grid (UPS) of a hemisphere, beyond 84 north or 80 south. [metre]"""

    hemisphere: Hemisphere
    easting_m: float
    northing_m: float
    datum: str | None = None


@dataclass(frozen=True, slots=True)
class Projected:
    """A position on a national grid: a projected coordinate reference system, by its EPSG code. [metre]"""

    epsg: int
    easting_m: float
    northing_m: float


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of a square. [degree]"""

    lat_deg: float
    lon_deg: float


@dataclass(frozen=True, slots=True)
class UtmCoordinates:
    """A place in its UTM zone, with its latitude band. [metre]"""

    zone: int
    band: str
    hemisphere: str
    easting_m: float
    northing_m: float


@dataclass(frozen=True, slots=True)
class UpsCoordinates:
    """A place in the polar grid; ``band`` is A or B in the south, Y or Z in the north. [metre]"""

    band: str
    hemisphere: str
    easting_m: float
    northing_m: float


@dataclass(frozen=True, slots=True)
class Written:
    """A place written as latitude and longitude."""

    decimal_degrees: str
    degrees_minutes: str
    degrees_minutes_seconds: str


@dataclass(frozen=True, slots=True)
class Position:
    """A place in every form.

    ``mgrs`` names the square of side ``square_m``, whose corners run counterclockwise from its south-west one.
    ``convergence_deg`` is from true to grid north, east positive. ``utm`` is ``None`` in the polar grid and ``ups``
    elsewhere. Handed to another call, it is the place by latitude and longitude, in the grid zone that is the rule
    there; hand in its ``utm`` to stay in the zone it was given in.
    """

    lat_deg: float
    lon_deg: float
    datum: str
    mgrs: str
    mgrs_spaced: str
    square_m: float
    square_corners: tuple[Corner, ...]
    utm: UtmCoordinates | None
    ups: UpsCoordinates | None
    central_meridian_deg: float | None
    east_of_central_meridian_m: float | None
    convergence_deg: float
    point_scale_factor: float
    written: Written


@dataclass(frozen=True, slots=True)
class ReadPlace:
    """A place of a request, as the service read it; ``read_as`` has no other reading. ``resolution_m`` is how finely it was
    given: the side of the square, or a unit of the last digit; ``None`` for an object. ``datum`` is the one it was given
    on, and ``accuracy_m`` how far the shift from there to WGS 84 may have put it off. [degree, metre]

    Handed to another call, it is the place by latitude and longitude.
    """

    lat_deg: float
    lon_deg: float
    read_as: str
    resolution_m: float | None
    datum: str
    accuracy_m: float


#: What is taken for a position: a text in any written form, an object, or a place out of an earlier answer.
PositionInput = (
    str
    | Mapping[str, Any]
    | LatLon
    | Utm
    | Ups
    | Projected
    | Position
    | ReadPlace
    | UtmCoordinates
    | UpsCoordinates
)
