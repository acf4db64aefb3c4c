"""Reading MGRS references, all rows at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..grids.ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from ..grids.grid import from_grid
from ..grids.projections import UTM_FALSE_EASTING_M
from ..grids.zones import ALPHABET, EDGES, LETTERS_PER_ZONE, OVERLAP_EDGES, SOUTHERN
from ..rows import BoolArray, IntArray, as_rows, in_shape
from .mgrs_letters import (
    COLUMN_EASTING,
    ENDS_AT_GRID_LINE,
    NO_SQUARE,
    ROW_NORTHING,
    SQUARE_M,
    lettering_of,
)
from .mgrs_status import MOST_DIGITS, MgrsStatus, mgrs_error
from .mgrs_text import MgrsParts, split_joined, split_texts
from .square_in_zone import Squares, nearest_in_zone

__all__ = ["MgrsSquares", "read_mgrs", "read_mgrs_joined", "read_mgrs_text", "square_corners"]

#: How far beyond its edge the grid of a UTM zone is printed. DMA TM 8358.1, section 2-6.3.1, as quoted by M. Rittri,
#: PROJ mailing list, 2011-06-21: "overlaps the adjacent zone [...] a minimum of 40 kilometers".
OVERLAP_M = 40_000.0

_BAND_LETTERS = np.array(list(ALPHABET))
_SIZES_M = np.array([SQUARE_M // 10**digits for digits in range(MOST_DIGITS + 1)])
_UNUSED_LETTERS = [ALPHABET.index(letter) for letter in "IO"]


@dataclass(frozen=True, slots=True)
class MgrsSquares:
    """The squares that references name: arrays of the shape of the texts, or numpy scalars.

    ``status`` is a `MgrsStatus`; where it is not 0 the numbers are NaN, the whole numbers 0 and the texts empty.
    ``zone`` is 0 for UPS. ``easting_m`` and ``northing_m`` are of the south-west corner, ``digits`` the number a side.
    ``lat_deg`` and ``lon_deg`` are of the point that stands for the square: its centre, or where ``cut`` is true the
    point nearest to it inside the grid zone, since the zone's edge cuts the centre off. ``overlap`` is true where the
    whole square is outside its zone, but in the part beyond the edge that sheets print; the point is its centre. All is
    on the datum that the references stand on.
    """

    status: NDArray[np.uint8]
    zone: IntArray
    band: NDArray[np.str_]
    south: BoolArray
    easting_m: FloatArray
    northing_m: FloatArray
    size_m: FloatArray
    digits: IntArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    cut: BoolArray
    overlap: BoolArray


def read_mgrs(
    texts: str | Sequence[str] | NDArray[np.str_], *, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> MgrsSquares:
    """The squares that the texts name, one bad text leaving the others be.

    Parameters
    ----------
    texts : str, sequence of str or ndarray of str
        In any case; the zone number with one digit or two; with or without spaces between the parts and in the figures,
        as long as one of these is in their middle. At most `mgrs_status.LONGEST_TEXT` characters.
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum which the references stand on. It decides the lettering: `mgrs_letters.lettering_of`.

    Returns
    -------
    MgrsSquares
        Of the shape of the texts.
    """
    shape: tuple[int, ...] = ()
    if isinstance(texts, str):
        parts = split_texts([texts])
    elif isinstance(texts, np.ndarray):
        parts, shape = split_texts(texts.reshape(-1).tolist()), texts.shape
    else:
        parts, shape = split_texts(texts), (len(texts),)
    return _read(parts, shape, ellipsoid)


def read_mgrs_joined(joined: bytes, count: int, *, ellipsoid: Ellipsoid = WGS84_ELLIPSOID) -> MgrsSquares:
    """The squares that texts name which lie in one run of bytes, ``count`` of them with a zero byte between each two.

    So a column of texts is read as it lies in memory. Of what is not ASCII none is a reference, but for the no-break
    space of Latin-1. Parameters and result are those of `read_mgrs`; no text may hold a zero byte.
    """
    return _read(split_joined(joined, count), (count,), ellipsoid)


def read_mgrs_text(text: str, *, ellipsoid: Ellipsoid = WGS84_ELLIPSOID) -> MgrsSquares:
    """The square that one text names: `MgrsSquares` of numpy scalars. Parameters are those of `read_mgrs`.

    Raises
    ------
    UnreadablePositionError
        The text is not a whole MGRS reference.
    OutOfRangeError
        There is no zone of that number.
    SquareNotInZoneError
        The grid zone does not exist or holds no such square.
    """
    square = read_mgrs(text, ellipsoid=ellipsoid)
    if square.status != MgrsStatus.OK:
        raise mgrs_error(int(square.status), text, lettering_of(ellipsoid))
    return square


def _read(parts: MgrsParts, shape: tuple[int, ...], ellipsoid: Ellipsoid) -> MgrsSquares:
    status = parts.status.copy()
    squares = _squares(parts, status, ellipsoid)
    designation = squares.designation
    zone, south = designation // LETTERS_PER_ZONE, SOUTHERN[designation]
    half_m = squares.size_m / 2.0
    centre = squares.easting_m + half_m, squares.northing_m + half_m
    lat_deg, lon_deg = from_grid(zone, south, *centre, ellipsoid=ellipsoid)
    cut, overlap = _bring_into_zone(squares, lat_deg, lon_deg, status)
    band, digits = _BAND_LETTERS[designation % LETTERS_PER_ZONE], parts.digits
    numbers = (squares.easting_m, squares.northing_m, squares.size_m, lat_deg, lon_deg)
    bad = np.flatnonzero(status)
    if bad.size:
        zone[bad], south[bad], band[bad], digits[bad], cut[bad], overlap[bad] = 0, False, "", 0, False, False
        for column in numbers:
            column[bad] = np.nan
    columns = (status, zone, band, south, *numbers[:3], digits, *numbers[3:], cut, overlap)
    return MgrsSquares(*(in_shape(column, shape) for column in columns))


def _squares(parts: MgrsParts, status: NDArray[np.uint8], ellipsoid: Ellipsoid) -> Squares:
    """The squares; a text whose letters name none is given its ``status``, and its numbers mean nothing."""
    column_m = COLUMN_EASTING[parts.designation, parts.column]
    row_m = ROW_NORTHING[lettering_of(ellipsoid)][parts.designation, parts.row]
    nameless = (column_m == NO_SQUARE) | (row_m == NO_SQUARE)
    if nameless.any():
        unused = np.isin(parts.column, _UNUSED_LETTERS) | np.isin(parts.row, _UNUSED_LETTERS)
        status[nameless] = MgrsStatus.SQUARE_NOT_IN_ZONE
        status[nameless & unused] = MgrsStatus.SQUARE_LETTER
    size_m = _SIZES_M[parts.digits]
    return Squares(
        parts.designation,
        (column_m + parts.easting * size_m).astype(np.float64),
        (row_m + parts.northing * size_m).astype(np.float64),
        size_m.astype(np.float64),
        ellipsoid,
    )


def _bring_into_zone(
    squares: Squares, lat_deg: FloatArray, lon_deg: FloatArray, status: NDArray[np.uint8]
) -> tuple[BoolArray, BoolArray]:
    """Move the points that are outside their grid zone into it, in place, and tell which were cut or overlap it.

    A square that does neither is given its ``status``.
    """
    designation = squares.designation
    inside = (
        (lon_deg >= EDGES.west_deg[designation])
        & (lon_deg < EDGES.east_deg[designation])
        & (lat_deg >= EDGES.south_deg[designation])
        & (lat_deg < EDGES.north_deg[designation])
    )
    cut, overlap = np.zeros((2, len(designation)), dtype=np.bool_)
    outside = np.flatnonzero(~inside & (status == MgrsStatus.OK))
    if outside.size:
        lat, lon, meets = nearest_in_zone(squares.taken(outside), EDGES)
        # The squares east of a grid line touch the zone that ends there, but no part of them is in it.
        at_line = squares.easting_m[outside] >= UTM_FALSE_EASTING_M
        meets &= ~((designation[outside] == ENDS_AT_GRID_LINE) & at_line)
        rows = outside[meets]
        lat_deg[rows], lon_deg[rows], cut[rows] = lat[meets], lon[meets], True
        beyond = outside[~meets]
        if beyond.size:
            overlap[beyond] = nearest_in_zone(squares.taken(beyond), OVERLAP_EDGES, OVERLAP_M)[2]
            status[beyond[~overlap[beyond]]] = MgrsStatus.SQUARE_NOT_IN_ZONE
    return cut, overlap


def square_corners(
    zone: ArrayLike,
    south: ArrayLike,
    easting_m: ArrayLike,
    northing_m: ArrayLike,
    size_m: ArrayLike,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> tuple[FloatArray, FloatArray]:
    """Latitudes and longitudes of the corners of squares, counter-clockwise from the south-west (grid) corner.

    Parameters
    ----------
    zone, south, easting_m, northing_m, size_m : array_like
        As in `MgrsSquares`, in their good rows; of broadcast shape S.
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum which the squares, and so the corners, stand on.

    Returns
    -------
    lat_deg, lon_deg : ndarray, shape (*S, 4)
        Across the antimeridian the longitude jumps from 180 to -180. [degree]
    """
    rows, shape = as_rows(zone, south, easting_m, northing_m, size_m)
    zone_rows, south_rows, easting, northing, size = (row[:, np.newaxis] for row in rows)
    lat_deg, lon_deg = from_grid(
        zone_rows,
        south_rows,
        easting + size * [0.0, 1.0, 1.0, 0.0],
        northing + size * [0.0, 0.0, 1.0, 1.0],
        ellipsoid=ellipsoid,
    )
    return lat_deg.reshape((*shape, 4)), lon_deg.reshape((*shape, 4))
