"""Datums: what a written latitude, longitude or grid coordinate stands on, and the way from there to WGS 84."""

from __future__ import annotations

from dataclasses import dataclass

from ..grids.ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from .datum_names import find_row

__all__ = ["WGS84", "Datum", "DatumShift", "find_datum"]


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


def find_datum(name_or_code: str) -> Datum:
    """The datum of a name or an EPSG code: ``"ED50"``, ``"european 1950"``, ``"4230"`` and ``"EPSG:4230"`` are the same.

    Any two-dimensional geographic coordinate reference system of the EPSG dataset that is not deprecated is known, by its
    code, its name and its aliases, as is a three-dimensional one by its code. Letters and digits count; case, spaces and
    punctuation do not.

    Raises
    ------
    UnknownDatumError
        The name is none that is known, or that of more than one datum.

    Examples
    --------
    >>> find_datum("European 1950").name
    'ED50'
    """
    row = find_row(name_or_code)
    if row.code == WGS84.epsg:
        return WGS84
    figure = Ellipsoid(row.ellipsoid, row.semi_major_axis_m, row.inverse_flattening)
    return Datum(row.name, row.code, figure, row.prime_meridian_deg)
