"""How far a shift may be trusted at a place: the stated accuracy, or the disagreement of the operations there if that is more.

An area of use is known as a box, and a box reaches over borders: that of Portugal holds a part of Spain. So the operation chosen may be
another country's, and its stated accuracy then says nothing. Other operations show it: each of them whose box holds the place too
and which disagrees by more than *its own* stated accuracy may be the one that is right, and then the shift is off by as much
as they disagree. One that disagrees by less tells nothing against the choice. A shift by a grid is compared with other grids alone, since a
grid is of one country and closer than any formula.

The disagreement changes slowly over the ground, so it is taken at the middle of the cell of a quarter degree that holds the place.
"""

from __future__ import annotations

import numpy as np

from .angle import FloatArray, normalise_signed
from .datum_pipeline import carried_over
from .datum_table import DatumOperations
from .rows import IntArray

__all__ = ["trusted_to_m"]

CELLS_IN_DEGREE = 4
CELLS_ROUND = 360 * CELLS_IN_DEGREE
HALF_CELL_DEG = 0.5 / CELLS_IN_DEGREE
#: An arc of a degree on the equator of WGS 84. [metre]
DEGREE_M = 111_319.49


def trusted_to_m(
    table: DatumOperations, chosen: IntArray, lat_deg: FloatArray, lon_deg: FloatArray
) -> FloatArray:
    """How far from the truth the chosen operations, given by index, may put places of the datum. [metre]"""
    row = np.minimum(np.floor((lat_deg + 90.0) * CELLS_IN_DEGREE), 180 * CELLS_IN_DEGREE - 1)
    column = np.floor((lon_deg + 180.0) * CELLS_IN_DEGREE)
    key = ((chosen * 180 * CELLS_IN_DEGREE + row) * CELLS_ROUND + column).astype(np.int64)
    cells, cell_of_place = np.unique(key, return_inverse=True)
    chosen_in_cell, cell = np.divmod(cells, 180 * CELLS_IN_DEGREE * CELLS_ROUND)
    row_of_cell, column_of_cell = np.divmod(cell, CELLS_ROUND)
    accuracy_m = _in_cells(
        table,
        chosen_in_cell,
        (row_of_cell + 0.5) / CELLS_IN_DEGREE - 90.0,
        (column_of_cell + 0.5) / CELLS_IN_DEGREE - 180.0,
    )
    return accuracy_m[cell_of_place]


def _in_cells(
    table: DatumOperations, chosen: IntArray, lat_deg: FloatArray, lon_deg: FloatArray
) -> FloatArray:
    """The larger of the accuracy stated and the greatest disagreement that counts, at the middles of cells. [metre]"""
    stated_m = np.array([operation.accuracy_m for operation in table.operations])
    gridded = np.array([bool(operation.grids) for operation in table.operations])
    compared = table.bounds.holds(lat_deg, lon_deg, HALF_CELL_DEG)
    compared &= gridded[:, np.newaxis] == gridded[chosen]
    compared[chosen, np.arange(chosen.size)] = True
    lat, lon = np.full(compared.shape, np.nan), np.full(compared.shape, np.nan)
    for index in np.flatnonzero(compared.any(axis=1)):
        places = compared[index]
        lat[index, places], lon[index, places] = carried_over(
            table.operations[index], lat_deg[places], lon_deg[places]
        )
    taken = np.arange(chosen.size)
    north_deg = lat - lat[chosen, taken]
    east_deg = normalise_signed(lon - lon[chosen, taken]) * np.cos(np.radians(lat_deg))
    apart_m = DEGREE_M * np.hypot(north_deg, east_deg)
    counted_m = np.where(apart_m > stated_m[:, np.newaxis], apart_m, 0.0)
    return np.maximum(stated_m[chosen], counted_m.max(axis=0))
