"""How far a shift may be trusted at a place: to the accuracy stated, or to the disagreement there if that is more.

An area of use is known as a box, and a box reaches over borders: that of Portugal holds a part of Spain. So the operation
chosen may be another country's, and its stated accuracy then says nothing. Other operations show it: each of them whose
box holds the place too and which disagrees by more than *its own* stated accuracy may be the one that is right, and then
the shift is off by as much as they disagree. One that disagrees by less tells nothing against the choice. A shift by a
grid is compared with other grids alone, since a grid is of one country and closer than any formula.

Two things no rule here can know. A stated accuracy is a representative figure, not a bound: a place twice as far off is
found. And where one operation's box alone reaches over a border, nothing shows that it is the wrong country's.

The disagreement changes slowly over the ground, so it is taken at the middle of the cell of a quarter degree that holds the
place, against every operation whose box reaches into the cell.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..rows import IntArray
from .datum_pipeline import carried_over
from .datum_table import DatumOperations

__all__ = ["trusted_to_m"]

CELLS_IN_DEGREE = 4
CELLS_UP = 180 * CELLS_IN_DEGREE
CELLS_ROUND = 360 * CELLS_IN_DEGREE
HALF_CELL_DEG = 0.5 / CELLS_IN_DEGREE
#: An arc of a degree on the equator of WGS 84. [metre]
DEGREE_M = 111_319.49


def trusted_to_m(
    table: DatumOperations, chosen: IntArray, lat_deg: FloatArray, lon_deg: FloatArray
) -> FloatArray:
    """How far from the truth the chosen operations, given by index, may put places of the datum. [metre]"""
    row = np.minimum(np.floor((lat_deg + 90.0) * CELLS_IN_DEGREE), CELLS_UP - 1).astype(np.int64)
    column = np.floor((lon_deg + 180.0) * CELLS_IN_DEGREE).astype(np.int64) % CELLS_ROUND
    if chosen.size == 1:
        return np.array([_in_one_cell(table, chosen.item(), row.item(), column.item())])
    cells, cell_of_place = np.unique((chosen * CELLS_UP + row) * CELLS_ROUND + column, return_inverse=True)
    chosen_in_cell, cell = np.divmod(cells, CELLS_UP * CELLS_ROUND)
    return _in_cells(table, chosen_in_cell, *np.divmod(cell, CELLS_ROUND))[cell_of_place]


@lru_cache(maxsize=65_536)
def _in_one_cell(table: DatumOperations, chosen: int, row: int, column: int) -> float:
    """`_in_cells` of one, remembered: places that come one at a time come from the same ground mostly."""
    return float(_in_cells(table, np.array([chosen]), np.array([row]), np.array([column]))[0])


def _in_cells(table: DatumOperations, chosen: IntArray, row: IntArray, column: IntArray) -> FloatArray:
    """The larger of the accuracy stated and the greatest disagreement that counts, at the middles of cells. [metre]"""
    lat_deg = (row + 0.5) / CELLS_IN_DEGREE - 90.0
    lon_deg = (column + 0.5) / CELLS_IN_DEGREE - 180.0
    stated_m = np.array([operation.accuracy_m for operation in table.operations])
    gridded = np.array([bool(operation.grids) for operation in table.operations])
    compared = table.bounds.holds(lat_deg, lon_deg, HALF_CELL_DEG)
    compared &= gridded[:, np.newaxis] == gridded[chosen]
    compared[chosen, np.arange(chosen.size)] = True
    lat, lon = np.full(compared.shape, np.nan), np.full(compared.shape, np.nan)
    for index in np.flatnonzero(compared.any(axis=1)).tolist():
        places = compared[index]
        lat[index, places], lon[index, places] = carried_over(
            table.operations[index], lat_deg[places], lon_deg[places]
        )
    taken = np.arange(chosen.size)
    north_deg = lat - lat[chosen, taken]
    east_deg = normalise_signed(lon - lon[chosen, taken]) * np.cos(np.radians(lat_deg))
    apart_m = DEGREE_M * np.hypot(north_deg, east_deg)
    counted_m = np.where(apart_m > stated_m[:, np.newaxis], apart_m, 0.0)
    trusted_m: FloatArray = np.maximum(stated_m[chosen], counted_m.max(axis=0))
    return trusted_m
