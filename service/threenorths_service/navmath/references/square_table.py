"""Every 100 km square of the UTM and UPS grids, to find those near a place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..grids.ellipsoid import SEMI_MAJOR_AXIS_M
from ..grids.grid import central_meridian_deg, from_grid, to_grid
from ..grids.zones import ALPHABET, EDGES, LETTERS_PER_ZONE, SOUTHERN
from ..rows import BoolArray, IntArray
from .mgrs_letters import COLUMN_LETTERS, ROW_COUNT, ROW_LETTERS, SQUARE_M

__all__ = ["SquareTable", "square_table"]

#: Rows of squares are listed this far beyond the latitudes of their band: over the overlap of UTM and UPS, of half a
#: degree, and the bulge of a parallel toward the edge of a zone.
_BEYOND_BAND_M = 100_000.0

#: From the centre of a square to its corner, with what the scale of the grid, the flattening of the earth over the width
#: of a square, and another datum than WGS 84 may add.
_HALF_SQUARE_M = 80_000.0
#: The sphere, on which the search is, against the ellipsoid: half a hundredth, taken twice.
_SPHERE_SLACK = 1.01


@dataclass(frozen=True, slots=True)
class SquareTable:
    """Squares as rows, shape (N,): every square that may touch its zone and band, and some beyond it.

    A square that an edge between two bands cuts is there with both.
    """

    #: 0 for UPS.
    zone: IntArray
    band: NDArray[np.str_]
    south: BoolArray
    #: South-west corner. [metre]
    easting_m: FloatArray
    northing_m: FloatArray
    #: Shape (N, 3): the direction of the centre from the middle of the earth.
    towards: FloatArray

    def near(self, lat_deg: float, lon_deg: float, within_m: float) -> BoolArray:
        """The squares that a circle around a place may touch: none is left out, and a few are too many."""
        angle = (within_m * _SPHERE_SLACK + _HALF_SQUARE_M) / SEMI_MAJOR_AXIS_M
        if angle >= math.pi:
            return np.ones(len(self.zone), dtype=np.bool_)
        middle = _towards(np.float64(lat_deg), np.float64(lon_deg))
        return np.asarray(self.towards @ middle >= math.cos(angle))


@cache
def square_table() -> SquareTable:
    """The one table of them all; made at first use, in a tenth of a second."""
    designations = np.flatnonzero(~np.isnan(EDGES.west_deg))
    has_column = COLUMN_LETTERS[designations] != ""
    # Which rows there are does not depend on how they are lettered.
    has_row = (ROW_LETTERS["AA"][designations] != "") & _reaches_band(designations)
    which, column, row = np.nonzero(has_column[:, :, np.newaxis] & has_row[:, np.newaxis, :])
    designation = designations[which]
    zone, south = designation // LETTERS_PER_ZONE, SOUTHERN[designation]
    easting_m, northing_m = (column * SQUARE_M).astype(np.float64), (row * SQUARE_M).astype(np.float64)
    centre = from_grid(zone, south, easting_m + SQUARE_M / 2.0, northing_m + SQUARE_M / 2.0)
    band = np.array(list(ALPHABET))[designation % LETTERS_PER_ZONE]
    return SquareTable(zone, band, south, easting_m, northing_m, _towards(*centre))


def _reaches_band(designations: NDArray[np.intp]) -> BoolArray:
    """Shape (designations, ROW_COUNT): whether each row of squares comes near its band; in UPS each does."""
    zone, south = designations // LETTERS_PER_ZONE, SOUTHERN[designations]
    utm = zone > 0
    meridian_deg = np.where(utm, central_meridian_deg(zone), 0.0)
    edges_m = [
        to_grid(np.clip(lat_deg[designations], -90.0, 90.0), meridian_deg, zone, south).northing_m
        for lat_deg in (EDGES.south_deg, EDGES.north_deg)
    ]
    row_m = np.arange(ROW_COUNT) * float(SQUARE_M)
    above = row_m + SQUARE_M >= edges_m[0][:, np.newaxis] - _BEYOND_BAND_M
    below = row_m <= edges_m[1][:, np.newaxis] + _BEYOND_BAND_M
    return np.asarray(~utm[:, np.newaxis] | (above & below))


def _towards(lat_deg: FloatArray | np.float64, lon_deg: FloatArray | np.float64) -> FloatArray:
    """Unit vectors, shape (..., 3)."""
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    return np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=-1)
