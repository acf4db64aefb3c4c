"""The letters of the 100 km squares, on WGS 84, as look-up tables both ways.

Source: DMA TM 8358.1, "Datums, Ellipsoids, Grids, and Grid Reference Systems", 1990, chapter 3 and appendix B (from
memory, checked by the published rows and by every square that the `mgrs` library knows, in `tests/navmath`).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from .projections import UTM_SOUTH_FALSE_NORTHING_M, transverse_mercator_forward
from .zones import ALPHABET, DESIGNATION_COUNT, EDGES, LETTERS_PER_ZONE, SOUTHERN

__all__ = [
    "COLUMN_COUNT",
    "COLUMN_EASTING",
    "COLUMN_LETTERS",
    "ENDS_AT_GRID_LINE",
    "NO_SQUARE",
    "ROW_COUNT",
    "ROW_LETTERS",
    "ROW_NORTHING",
    "SQUARE_M",
]

SQUARE_M = 100_000
NO_SQUARE = -1

_UTM_COLUMNS = {1: "ABCDEFGH", 2: "JKLMNPQR", 0: "STUVWXYZ"}
_UTM_FIRST_COLUMN = 1
_UTM_ROWS = "ABCDEFGHJKLMNPQRSTUV"
#: The row at the equator, counted from A, in odd and in even zones. Older ellipsoids have other offsets.
_ROW_OFFSET = {1: 0, 0: 5}

#: By UPS letter: the column letters and the first column's easting, the row letters and the first row's northing, both
#: in units of 100 km.
_UPS = {
    "A": ("JKLPQRSTUXYZ", 8, "ABCDEFGHJKLMNPQRSTUVWXYZ", 8),
    "B": ("ABCFGHJKLPQR", 20, "ABCDEFGHJKLMNPQRSTUVWXYZ", 8),
    "Y": ("RSTUXYZ", 13, "ABCDEFGHJKLMNP", 13),
    "Z": ("ABCFGHJ", 20, "ABCDEFGHJKLMNP", 13),
}

#: Enough columns for UPS South, to 3200 km, and enough rows for UTM South, to the equator's 10,000 km.
COLUMN_COUNT = 32
ROW_COUNT = 101

#: The one designation whose eastern edge, 3 degrees east, is a grid line, the easting of 500,000 m.
ENDS_AT_GRID_LINE = 31 * LETTERS_PER_ZONE + ALPHABET.index("V")

Table = NDArray[Any]


def _letter_tables() -> tuple[Table, Table]:
    """By designation and by the 100 km the coordinate is in: the letter of the column, and of the row; "" for none."""
    columns = np.full((DESIGNATION_COUNT, COLUMN_COUNT), "", dtype="U1")
    rows = np.full((DESIGNATION_COUNT, ROW_COUNT), "", dtype="U1")
    cycle = np.array(list(_UTM_ROWS))
    for zone in range(1, 61):
        designations = slice(zone * LETTERS_PER_ZONE, (zone + 1) * LETTERS_PER_ZONE)
        letters = list(_UTM_COLUMNS[zone % 3])
        columns[designations, _UTM_FIRST_COLUMN : _UTM_FIRST_COLUMN + len(letters)] = letters
        rows[designations] = cycle[(np.arange(ROW_COUNT) + _ROW_OFFSET[zone % 2]) % len(cycle)]
    for band, (column_letters, first_column, row_letters, first_row) in _UPS.items():
        designation = ALPHABET.index(band)
        columns[designation, first_column : first_column + len(column_letters)] = list(column_letters)
        rows[designation, first_row : first_row + len(row_letters)] = list(row_letters)
    rows[SOUTHERN, -1] = ""  # it begins at the equator, which is north
    missing = np.isnan(EDGES.west_deg)
    columns[missing], rows[missing] = "", ""
    return columns, rows


COLUMN_LETTERS, ROW_LETTERS = _letter_tables()


def _column_eastings() -> Table:
    """By designation and by the letter's place in the alphabet: the column's western edge, or `NO_SQUARE`. [metre]"""
    eastings = np.full((DESIGNATION_COUNT, len(ALPHABET)), NO_SQUARE)
    for place, letter in enumerate(ALPHABET):
        designation, column = np.nonzero(np.equal(COLUMN_LETTERS, letter))
        eastings[designation, place] = column * SQUARE_M
    return eastings


def _row_northings() -> Table:
    """By designation and by the letter's place in the alphabet: the row's southern edge, or `NO_SQUARE`. [metre]

    In UTM the letters come round every 2000 km, and the one meant is that nearest to the middle of the band. No other
    could meet the band, which is 900 km high, or 1340 km for band X.
    """
    middle_lat_deg = np.nan_to_num((EDGES.south_deg + EDGES.north_deg) / 2.0)
    middle_m = transverse_mercator_forward(middle_lat_deg, np.zeros(DESIGNATION_COUNT))[1]
    middle_m += UTM_SOUTH_FALSE_NORTHING_M * SOUTHERN
    designation, row = np.nonzero(ROW_LETTERS != "")
    place = np.searchsorted(list(ALPHABET), ROW_LETTERS[designation, row])
    distance_m = np.abs((row + 0.5) * SQUARE_M - middle_m[designation])
    # Of several rows put into one cell of the table, the last stays there.
    nearest_last = np.argsort(-distance_m)
    northings = np.full((DESIGNATION_COUNT, len(ALPHABET)), NO_SQUARE)
    northings[designation[nearest_last], place[nearest_last]] = row[nearest_last] * SQUARE_M
    return northings


COLUMN_EASTING = _column_eastings()
ROW_NORTHING = _row_northings()
