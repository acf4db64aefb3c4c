"""Writing MGRS references, all rows at once, by truncation."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..errors import OutOfRangeError, OutsideGridError
from ..grids.ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from ..grids.grid import to_grid
from ..grids.projections import UPS_FALSE_ORIGIN_M, UTM_FALSE_EASTING_M, UTM_SOUTH_FALSE_NORTHING_M
from ..grids.zones import ALPHABET, LETTERS_PER_ZONE, SOUTHERN, check_places, designation_of
from ..rows import IntArray, as_rows, in_shape
from .mgrs_letters import (
    COLUMN_COUNT,
    COLUMN_LETTERS,
    ENDS_AT_GRID_LINE,
    ROW_COUNT,
    ROW_LETTERS,
    SQUARE_M,
    Lettering,
    lettering_of,
)
from .mgrs_status import MOST_DIGITS

__all__ = ["spaced_mgrs", "write_mgrs", "write_mgrs_from_grid"]

_DESIGNATION_TEXTS = np.array(
    [f"{zone:02}{letter}" if zone else letter for zone in range(61) for letter in ALPHABET]
)


def write_mgrs(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    digits: int = MOST_DIGITS,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> NDArray[np.str_]:
    """The MGRS reference of the square that each place lies in, such as ``32TMT6543212345`` or ``ZAH1234512345``.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Latitude in [-90, 90] and longitude in [-180, 360). [degree]
    digits : int, default 5
        Digits for the easting and again for the northing: 0 for a square of 100 km to 5 for one of 1 m.
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum on which the latitude and longitude are. It decides the lettering: `mgrs_letters.lettering_of`.

    Returns
    -------
    ndarray of str, of the broadcast shape
        The zone number always has two digits; UPS has none.

    Raises
    ------
    OutOfRangeError
        Any latitude or longitude is out of range or NaN, or ``digits`` is not 0 to 5.
    """
    (lat, lon), shape = as_rows(lat_deg, lon_deg)
    check_places(lat, lon)
    designation = designation_of(lat, lon)
    zone, south = designation // LETTERS_PER_ZONE, SOUTHERN[designation]
    grid = to_grid(lat, lon, zone, south, ellipsoid=ellipsoid)
    easting, northing = _truncated(designation, grid.easting_m, grid.northing_m)
    # The same for the one zone that ends at a grid line.
    easting -= (designation == ENDS_AT_GRID_LINE) & (easting == int(UTM_FALSE_EASTING_M))
    # UPS is halved by easting: A and Y, the even numbers, are west of the pole.
    polar = np.flatnonzero(designation < LETTERS_PER_ZONE)
    if polar.size:
        designation[polar] = designation[polar] // 2 * 2 + (easting[polar] >= int(UPS_FALSE_ORIGIN_M))
    references = _references(designation, easting, northing, digits, lettering_of(ellipsoid))
    return in_shape(references, shape)


def write_mgrs_from_grid(
    zone: ArrayLike,
    band: ArrayLike,
    easting_m: ArrayLike,
    northing_m: ArrayLike,
    digits: int = MOST_DIGITS,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> NDArray[np.str_]:
    """The MGRS reference of a square in a named zone and band, even where the place lies over their edges.

    Parameters
    ----------
    zone, band : array_like of int and of str
        The zone, 0 for UPS, and the band letter.
    easting_m, northing_m : array_like
        Any place in the square, with the false origins. [metre]
    digits : int, default 5
        As for `write_mgrs`.
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum on which the grid is.

    Raises
    ------
    OutOfRangeError
        There is no such zone, or ``digits`` is not 0 to 5.
    OutsideGridError
        The zone has no square there.
    """
    (zone_rows, easting_rows, northing_rows, band_rows), shape = as_rows(
        zone, easting_m, northing_m, _letter_places(band)
    )
    designation = (zone_rows * LETTERS_PER_ZONE + band_rows).astype(np.intp)
    if not np.all((zone_rows >= 0) & (zone_rows <= 60)):
        raise OutOfRangeError("there is no such grid zone", member="zone", allowed="0 for UPS, or 1 to 60")
    for member, values, count in (
        ("easting_m", easting_rows, COLUMN_COUNT),
        ("northing_m", northing_rows, ROW_COUNT),
    ):
        if not np.all((values >= 0.0) & (values < count * SQUARE_M)):
            raise OutsideGridError("there is no 100 km square so far out", member=member)
    easting, northing = _truncated(designation, easting_rows, northing_rows)
    column, row = easting // SQUARE_M, northing // SQUARE_M
    lettering = lettering_of(ellipsoid)
    if np.any((COLUMN_LETTERS[designation, column] == "") | (ROW_LETTERS[lettering][designation, row] == "")):
        raise OutsideGridError("the grid zone has no 100 km square there")
    return in_shape(_references(designation, easting, northing, digits, lettering), shape)


def _truncated(
    designation: NDArray[np.intp], easting_m: FloatArray, northing_m: FloatArray
) -> tuple[IntArray, IntArray]:
    """Whole metres. The last place south of the equator is not carried over it by the rounding of its northing."""
    easting, northing = easting_m.astype(np.int64), northing_m.astype(np.int64)
    northing -= SOUTHERN[designation] & (northing == int(UTM_SOUTH_FALSE_NORTHING_M))
    return easting, northing


def _letter_places(letters: ArrayLike) -> NDArray[np.int64]:
    """The place in the alphabet of each letter."""
    codes = np.asarray(letters, dtype="U1")
    places = np.searchsorted(list(ALPHABET), codes)
    if not np.all(np.isin(codes, list(ALPHABET))):
        raise OutOfRangeError("there is no such band", member="band", allowed="A to Z, in capitals")
    return places


@cache
def _figures(digits: int) -> NDArray[np.str_]:
    """Every number of so many digits, written out."""
    numbers = np.arange(10**digits).astype(f"U{digits}")
    return np.strings.zfill(numbers, digits)


@cache
def _layout(designation_width: int, digits: int) -> np.dtype[Any]:
    fields = [("designation", f"U{designation_width}"), ("column", "U1"), ("row", "U1")]
    figures = [("easting", f"U{digits}"), ("northing", f"U{digits}")] if digits else []
    return np.dtype(fields + figures)


def _references(
    designation: NDArray[np.intp], easting: IntArray, northing: IntArray, digits: int, lettering: Lettering
) -> NDArray[np.str_]:
    if digits not in range(MOST_DIGITS + 1):
        raise OutOfRangeError("a side has 0 to 5 digits", member="digits", value=digits, allowed="0 to 5")
    row_letters = ROW_LETTERS[lettering]
    references = _joined(3, designation, easting, northing, digits, row_letters)
    polar = np.flatnonzero(designation < LETTERS_PER_ZONE)
    if polar.size:
        references[polar] = _joined(
            1, designation[polar], easting[polar], northing[polar], digits, row_letters
        )
    return references


def _joined(
    designation_width: int,
    designation: NDArray[np.intp],
    easting: IntArray,
    northing: IntArray,
    digits: int,
    row_letters: NDArray[np.str_],
) -> NDArray[np.str_]:
    """The parts of each reference put side by side in memory, and read as one text."""
    layout = _layout(designation_width, digits)
    parts = np.empty(len(designation), dtype=layout)
    column, row = easting // SQUARE_M, northing // SQUARE_M
    parts["designation"] = _DESIGNATION_TEXTS[designation]
    parts["column"] = COLUMN_LETTERS[designation, column]
    parts["row"] = row_letters[designation, row]
    if digits:
        unit = 10 ** (MOST_DIGITS - digits)
        parts["easting"] = _figures(digits)[(easting - column * SQUARE_M) // unit]
        parts["northing"] = _figures(digits)[(northing - row * SQUARE_M) // unit]
    return parts.view(f"U{layout.itemsize // 4}")


def spaced_mgrs(reference: str) -> str:
    """A reference as `write_mgrs` gives it, parted by spaces for people to read: ``32T MT 65432 12345``."""
    letters_at = 3 if reference[:1].isdigit() else 1
    digits_at = letters_at + 2
    middle = (digits_at + len(reference)) // 2
    parts = (
        reference[:letters_at],
        reference[letters_at:digits_at],
        reference[digits_at:middle],
        reference[middle:],
    )
    return " ".join(part for part in parts if part)
