"""Pairs of sights in columns: many places, each to be fixed by two sights."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_azimuth, normalise_longitude
from ..errors import UnknownGridError
from ..grids.grid import within_reach
from ..grids.projected_grid import FIRST_EPSG_CODE, projected_grid
from ..rows import BoolArray, IntArray
from .sight import SD_RANGE_DEG

__all__ = ["NO_ZONE", "GivenPairs", "PairTable", "Rows", "given_pairs", "grids_reach", "taken"]

#: Stands for no zone: one that is not given, or that was not looked for.
NO_ZONE = -1

#: Which rows, by index or by a mask.
Rows = NDArray[np.intp] | BoolArray

Columns = TypeVar("Columns", bound=Any)


@dataclass(frozen=True, slots=True)
class PairTable:
    """Checked pairs as columns of shape (2, n), the two sights first; named as in `Sight`."""

    lat_deg: FloatArray
    lon_deg: FloatArray
    bearing_deg: FloatArray
    sd_deg: FloatArray
    place_sd_m: FloatArray


@dataclass(frozen=True, slots=True)
class GivenPairs:
    """What was given of N rows: the pairs of the ``rows`` whose numbers are in their ranges, and how many there were."""

    table: PairTable
    rows: NDArray[np.intp]
    count: int


def taken(columns: Columns, rows: Rows) -> Columns:
    """The rows of a frozen dataclass of columns, rows being their last axis; what is no column stays."""
    chosen: dict[str, Any] = {}
    for each in fields(columns):
        value = getattr(columns, each.name)
        if isinstance(value, np.ndarray):
            chosen[each.name] = value[..., rows]
        elif is_dataclass(value):
            chosen[each.name] = taken(value, rows)
    return replace(columns, **chosen)


def given_pairs(
    lat_deg: ArrayLike, lon_deg: ArrayLike, bearing_deg: ArrayLike, sd_deg: ArrayLike, place_sd_m: ArrayLike
) -> GivenPairs:
    """The pairs that `sight.table_of` would take, each argument of shape (N, 2) or broadcasting to it."""
    given = [
        np.asarray(each, dtype=np.float64) for each in (lat_deg, lon_deg, bearing_deg, sd_deg, place_sd_m)
    ]
    shape = np.broadcast_shapes(*(each.shape for each in given))
    if len(shape) != 2 or shape[1] != 2:
        raise ValueError(f"pairs of sights have the shape (rows, 2), not {shape}")
    ranges = ((-90.0, 90.0), (-180.0, 360.0), (-360.0, 360.0), SD_RANGE_DEG, (0.0, np.finfo(np.float64).max))
    columns = [np.ascontiguousarray(np.broadcast_to(each, shape).T) for each in given]
    inside = np.ones(shape[0], dtype=np.bool_)
    for column, (least, most) in zip(columns, ranges, strict=True):
        inside &= ((column >= least) & (column <= most)).all(axis=0)  # not a number is not inside
    if not inside.all():
        columns = [column[:, inside] for column in columns]
    lat, lon, bearing, sd, place_sd = columns
    table = PairTable(lat, normalise_longitude(lon), normalise_azimuth(bearing), sd, place_sd)
    return GivenPairs(table, np.flatnonzero(inside), shape[0])


def grids_reach(lat_deg: FloatArray, lon_deg: FloatArray, zone: IntArray, south: BoolArray) -> BoolArray:
    """Which places are within reach of their grids, rows of one shape; none is of a grid that there is not."""
    known = _is_grid(zone)
    reached = np.zeros(zone.shape, dtype=np.bool_)
    reached[known] = within_reach(lat_deg[known], lon_deg[known], zone[known], south[known])
    return reached


def _is_grid(zone: IntArray) -> BoolArray:
    national = zone >= FIRST_EPSG_CODE
    known = (zone >= 0) & (zone <= 60)
    for code in np.unique(zone[national]).tolist():
        if _answers(projected_grid, code):
            known |= zone == code
    return known


def _answers(grid_of: Callable[[int], object], code: int) -> bool:
    try:
        grid_of(code)
    except UnknownGridError:
        return False
    return True
