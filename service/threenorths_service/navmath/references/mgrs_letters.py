"""The letters of the 100 km squares, as look-up tables both ways, in the two letterings.

The lettering AA is named for the first row north of the equator in zone 1 and its first column, AA; the older one, AL,
starts its rows ten letters later, so that nearly every square has another name. The datum decides, by its ellipsoid.

Source: DMA TM 8358.1, "Datums, Ellipsoids, Grids, and Grid Reference Systems", 1990, chapter 3 and appendix B (from
memory, checked by the published rows and by every square that the `mgrs` library knows, in `tests/navmath`). Which
ellipsoids have which lettering: the C++ source that the library `mgrs` 1.6.0 bundles, getGridValues.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ..grids.ellipsoid import Ellipsoid
from ..grids.projections import UTM_SOUTH_FALSE_NORTHING_M, transverse_mercator_forward
from ..grids.zones import ALPHABET, DESIGNATION_COUNT, EDGES, LETTERS_PER_ZONE, SOUTHERN

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
    "Lettering",
    "lettering_of",
]

Lettering = Literal["AA", "AL"]

SQUARE_M = 100_000
NO_SQUARE = -1

_UTM_COLUMNS = {1: "ABCDEFGH", 2: "JKLMNPQR", 0: "STUVWXYZ"}
_UTM_FIRST_COLUMN = 1
_UTM_ROWS = "ABCDEFGHJKLMNPQRSTUV"
#: The row at the equator, counted from A, in odd and in even zones.
_ROW_OFFSET: dict[Lettering, dict[int, int]] = {"AA": {1: 0, 0: 5}, "AL": {1: 10, 0: 15}}

#: By their names in the EPSG dataset. That the source means all figures which go by the name of Clarke's of 1880, and
#: Schwarzeck's of Namibia in either of its units, is from memory.
_AL_ELLIPSOIDS = frozenset(
    {
        "Bessel 1841",
        "Bessel Namibia",
        "Bessel Namibia (GLM)",
        "Clarke 1866",
        "Clarke 1880",
        "Clarke 1880 (Arc)",
        "Clarke 1880 (Benoit)",
        "Clarke 1880 (IGN)",
        "Clarke 1880 (RGS)",
        "Clarke 1880 (SGA 1922)",
        "Clarke 1880 (international foot)",
    }
)

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


def lettering_of(ellipsoid: Ellipsoid) -> Lettering:
    """The lettering of the squares on datums of an ellipsoid, which is known by its name in the EPSG dataset.

    The national grid of the United States, which is written like these references, has AA on NAD 27 too (from memory):
    one of these is refused here, nearly always, since its square is not in its zone.
    """
    return "AL" if ellipsoid.name in _AL_ELLIPSOIDS else "AA"


def _letter_tables(lettering: Lettering) -> tuple[Table, Table]:
    """By designation and by the 100 km the coordinate is in: the letter of the column, and of the row; "" for none."""
    columns = np.full((DESIGNATION_COUNT, COLUMN_COUNT), "", dtype="U1")
    rows = np.full((DESIGNATION_COUNT, ROW_COUNT), "", dtype="U1")
    cycle = np.array(list(_UTM_ROWS))
    for zone in range(1, 61):
        designations = slice(zone * LETTERS_PER_ZONE, (zone + 1) * LETTERS_PER_ZONE)
        letters = list(_UTM_COLUMNS[zone % 3])
        columns[designations, _UTM_FIRST_COLUMN : _UTM_FIRST_COLUMN + len(letters)] = letters
        rows[designations] = cycle[(np.arange(ROW_COUNT) + _ROW_OFFSET[lettering][zone % 2]) % len(cycle)]
    for band, (column_letters, first_column, row_letters, first_row) in _UPS.items():
        designation = ALPHABET.index(band)
        columns[designation, first_column : first_column + len(column_letters)] = list(column_letters)
        rows[designation, first_row : first_row + len(row_letters)] = list(row_letters)
    rows[SOUTHERN, -1] = ""  # it begins at the equator, which is north
    missing = np.isnan(EDGES.west_deg)
    columns[missing], rows[missing] = "", ""
    return columns, rows


#: The columns are the same in both letterings.
COLUMN_LETTERS, _AA_ROW_LETTERS = _letter_tables("AA")
ROW_LETTERS: dict[Lettering, Table] = {"AA": _AA_ROW_LETTERS, "AL": _letter_tables("AL")[1]}


def _column_eastings() -> Table:
    """By designation and by the letter's place in the alphabet: the column's western edge, or `NO_SQUARE`. [metre]"""
    eastings = np.full((DESIGNATION_COUNT, len(ALPHABET)), NO_SQUARE)
    for place, letter in enumerate(ALPHABET):
        designation, column = np.nonzero(np.equal(COLUMN_LETTERS, letter))
        eastings[designation, place] = column * SQUARE_M
    return eastings


def _row_northings(row_letters: Table) -> Table:
    """By designation and by the letter's place in the alphabet: the row's southern edge, or `NO_SQUARE`. [metre]

    In UTM the letters come round every 2000 km, and the one meant is that nearest to the middle of the band. No other
    could meet the band, which is 900 km high, or 1340 km for band X: so the figure of the earth makes no difference.
    """
    middle_lat_deg = np.nan_to_num((EDGES.south_deg + EDGES.north_deg) / 2.0)
    middle_m = transverse_mercator_forward(middle_lat_deg, np.zeros(DESIGNATION_COUNT))[1]
    middle_m += UTM_SOUTH_FALSE_NORTHING_M * SOUTHERN
    designation, row = np.nonzero(row_letters != "")
    place = np.searchsorted(list(ALPHABET), row_letters[designation, row])
    distance_m = np.abs((row + 0.5) * SQUARE_M - middle_m[designation])
    # Of several rows put into one cell of the table, the last stays there.
    nearest_last = np.argsort(-distance_m)
    northings = np.full((DESIGNATION_COUNT, len(ALPHABET)), NO_SQUARE)
    northings[designation[nearest_last], place[nearest_last]] = row[nearest_last] * SQUARE_M
    return northings


COLUMN_EASTING = _column_eastings()
ROW_NORTHING: dict[Lettering, Table] = {
    lettering: _row_northings(row_letters) for lettering, row_letters in ROW_LETTERS.items()
}
