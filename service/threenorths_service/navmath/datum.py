"""Datums: what a written latitude, longitude or grid coordinate stands on, and the way from there to WGS 84."""

from __future__ import annotations

from dataclasses import dataclass

from .ellipsoid import WGS84_ELLIPSOID, Ellipsoid

__all__ = ["WGS84", "Datum", "DatumShift"]


@dataclass(frozen=True, slots=True)
class Datum:
    """A geodetic datum, as a geographic coordinate reference system of the EPSG dataset has it."""

    #: The name that answers give, such as ``"ED50"``.
    name: str
    #: Code of the two-dimensional geographic CRS.
    epsg: int
    ellipsoid: Ellipsoid
    #: Longitude of its prime meridian from Greenwich, east positive. [degree]
    prime_meridian_deg: float = 0.0


WGS84 = Datum("WGS84", 4326, WGS84_ELLIPSOID)


@dataclass(frozen=True, slots=True)
class DatumShift:
    """How one place came from its own datum to WGS 84."""

    datum: Datum
    #: The place on ``datum``. [degree]
    lat_deg: float
    lon_deg: float
    #: Name and code of the one operation that was used.
    operation: str
    #: How far from the truth the operation may put a place. [metre]
    accuracy_m: float
    #: Whether no operation is known and the latitude and longitude were taken over as they stand.
    ballpark: bool = False
