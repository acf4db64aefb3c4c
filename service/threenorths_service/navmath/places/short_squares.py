"""The whole references that one without its zone or its square can stand for, and the whole coordinates likewise."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..datums.frame import Frame
from ..grids.grid import from_grid
from ..lines.geodesic import inverse
from ..references.mgrs import MgrsSquares, read_mgrs, write_mgrs_from_grid
from ..references.mgrs_status import MOST_DIGITS, MgrsStatus
from ..references.square_table import SquareTable, square_table
from ..rows import BoolArray
from ..texts.position_reading import PartialReference
from .expected import ANY_SHIFT_M, Expected

__all__ = ["grid_sought", "sheet_squares", "whole_coordinates", "whole_references"]

_UTM_ZONES = range(1, 61)
_UPS_ZONE = 0
#: Of a grid zone with the two letters of a square in it: `33VVK`.
_DESIGNATION_CHARACTERS = 5

#: Of latitude, and less than any. [metre]
_METRES_PER_DEGREE = 110_000.0


def grid_sought(partial: PartialReference, expected: Expected) -> int | None:
    """The zone of the text, else the grid of the sheet, else ``None`` for all of them."""
    if partial.zone is not None:
        return partial.zone
    return expected.sheet.grid_zone if expected.sheet is not None else None


def sheet_squares(expected: Expected) -> tuple[str, ...]:
    """The squares to which a sheet without edges confines a reference; none where there is no such sheet.

    Each has its letters, with its grid zone before them where the sheet prints that: ``VK``, ``33VVK``, ``SK``.
    """
    if expected.sheet is None or expected.sheet.has_edges:
        return ()
    return tuple(_designation(square) for square in expected.sheet.squares)


def _designation(square: str) -> str:
    """What names the square in ``33V VK``, in ``5LNG``, and behind the name of its grid in ``British grid SK``."""
    words = square.upper().split()
    text = "".join(words) if words[0][0].isdigit() else words[-1]
    return text.zfill(_DESIGNATION_CHARACTERS) if text[0].isdigit() else text


def whole_references(
    partial: PartialReference, frame: Frame, expected: Expected, within_m: float
) -> list[str]:
    """The MGRS references of all squares that a reference within a square can mean, nearest first.

    Those within ``within_m`` of the middle of what is expected, and a few beyond it. The zone and band are the text's
    own where it has them; else the zone is the sheet's where it names one; else all are tried. A square that is cut
    by the edge between two bands is there once, with the band of its centre.
    """
    table = square_table()
    rows = np.flatnonzero(_squares_sought(table, partial, expected, within_m))
    digits = len(partial.easting)
    unit_m = 10 ** (MOST_DIGITS - digits)
    texts = write_mgrs_from_grid(
        table.zone[rows],
        table.band[rows],
        table.easting_m[rows] + int(partial.easting) * unit_m,
        table.northing_m[rows] + int(partial.northing) * unit_m,
        digits,
        ellipsoid=frame.datum.ellipsoid,
    )
    texts = texts[_has_letters(texts, partial, expected)]
    squares = read_mgrs(texts, ellipsoid=frame.datum.ellipsoid)
    found = _one_for_each(squares)
    order = np.argsort(_distance_m(expected, squares.lat_deg[found], squares.lon_deg[found]), kind="stable")
    return [str(text) for text in texts[found[order]]]


def whole_coordinates(
    partial: PartialReference, frame: Frame, expected: Expected, within_m: float
) -> list[str]:
    """UTM and UPS coordinates, as text, that coordinates without their zone or hemisphere can mean, nearest first."""
    grids = _grids_sought(partial, expected)
    easting_m, northing_m = float(partial.easting), float(partial.northing)
    zone, south = np.array(grids).T
    lat_deg, lon_deg = from_grid(zone, south, easting_m, northing_m, ellipsoid=frame.datum.ellipsoid)
    distance_m = _distance_m(expected, lat_deg, lon_deg)
    order = np.argsort(distance_m, kind="stable")
    return [_written(grids[row], partial) for row in order if distance_m[row] <= within_m + ANY_SHIFT_M]


def _squares_sought(
    table: SquareTable, partial: PartialReference, expected: Expected, within_m: float
) -> BoolArray:
    sought = np.ones(len(table.zone), dtype=np.bool_)
    if expected.middle is not None and not math.isinf(within_m):
        sought &= table.near(*expected.middle, within_m)
    zone = grid_sought(partial, expected)
    if zone is not None:
        sought &= table.zone == zone
    if partial.band is not None:
        sought &= table.band == partial.band
    elif expected.sheet is not None and zone is not None and not expected.has_place:
        sought &= table.south == expected.sheet.grid_south
    return sought


def _grids_sought(partial: PartialReference, expected: Expected) -> list[tuple[int, bool]]:
    """Zones, 0 for UPS, each with its hemisphere."""
    zone = grid_sought(partial, expected)
    if zone is not None and (zone == partial.zone or _reaches_equator(expected)):
        return [(zone, False), (zone, True)]
    if zone is not None and expected.sheet is not None:
        return [(zone, expected.sheet.grid_south)]
    return [(zone, south) for zone in (*_UTM_ZONES, _UPS_ZONE) for south in (False, True)]


def _reaches_equator(expected: Expected) -> bool:
    """Whether a place may be in either hemisphere and still fit: a sheet that names one may lie across the equator."""
    if expected.middle is None:
        return False
    return abs(expected.middle[0]) * _METRES_PER_DEGREE <= expected.radius_m + ANY_SHIFT_M


def _has_letters(texts: NDArray[np.str_], partial: PartialReference, expected: Expected) -> BoolArray:
    """Whether the square's letters are those of the text or, on a sheet without edges, of one of its squares."""
    digits = len(partial.easting)
    heads = [text[: len(text) - 2 * digits] for text in texts.tolist()]
    if partial.letters:
        return np.array([head[-2:] == partial.letters for head in heads], dtype=np.bool_)
    squares = sheet_squares(expected)
    if not squares:
        return np.ones(len(heads), dtype=np.bool_)
    # One letter is a square of a national grid, and the end of others here.
    squares = tuple(square for square in squares if len(square) > 1)
    return np.array([head.endswith(squares) for head in heads], dtype=np.bool_)


def _one_for_each(squares: MgrsSquares) -> NDArray[np.intp]:
    """The rows that can be read, of two of the same square in neighbouring bands the one that is not cut."""
    rows = np.flatnonzero(squares.status == MgrsStatus.OK)
    rows = rows[np.argsort(squares.cut[rows], kind="stable")]
    keys = np.stack(
        [squares.zone[rows], squares.south[rows], squares.easting_m[rows], squares.northing_m[rows]], axis=1
    )
    return rows[np.sort(np.unique(keys, axis=0, return_index=True)[1])] if rows.size else rows


def _distance_m(
    expected: Expected, lat_deg: NDArray[np.float64], lon_deg: NDArray[np.float64]
) -> NDArray[np.float64]:
    """From the middle of what is expected, on whatever datum: for order, and to leave out what is far away."""
    if expected.middle is None:
        return np.zeros(len(lat_deg))
    return inverse(*expected.middle, lat_deg, lon_deg)[2]


def _written(grid: tuple[int, bool], partial: PartialReference) -> str:
    zone, south = grid
    name = f"UTM {zone}" if zone else "UPS"
    return f"{name} {'south' if south else 'north'} {partial.easting} m E {partial.northing} m N"
