"""The pinned operations from the datums to WGS 84: the rows of `data/datum_operations.csv` that can be applied here."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from ..angle import FloatArray
from ..rows import BoolArray
from .datum_grids import grid_path
from .datum_names import datum_row, read_table

__all__ = [
    "Bounds",
    "DatumOperation",
    "DatumOperations",
    "all_operations",
    "grids_found",
    "operations_of",
    "pinned_for",
]


@dataclass(frozen=True, slots=True)
class Bounds:
    """The boxes of areas of use, as columns; ``west_deg`` is above ``east_deg`` where a box holds the antimeridian.

    Each side has the shape (operations, 1), so that the places are the second axis. [degree]
    """

    west_deg: FloatArray
    south_deg: FloatArray
    east_deg: FloatArray
    north_deg: FloatArray

    def holds(self, lat_deg: FloatArray, lon_deg: FloatArray, margin_deg: float = 0.0) -> BoolArray:
        """Whether each place lies in each box, edges included, or no further outside than a margin along either axis.

        The margin is one of distance: it is wider in longitude towards the poles.
        """
        in_latitude = (lat_deg >= self.south_deg - margin_deg) & (lat_deg <= self.north_deg + margin_deg)
        along_deg = margin_deg / np.maximum(np.cos(np.radians(lat_deg)), 1e-3) if margin_deg else 0.0
        east_of_west_deg = lon_deg - self.west_deg + along_deg
        east_of_west_deg += np.where(east_of_west_deg < 0.0, 360.0, 0.0)
        east_of_west_deg -= np.where(east_of_west_deg > 360.0, 360.0, 0.0)
        width_deg = self.east_deg - self.west_deg
        width_deg = np.where(width_deg <= 0.0, width_deg + 360.0, width_deg)
        in_box: BoolArray = in_latitude & (east_of_west_deg <= width_deg + 2.0 * along_deg)
        return in_box

    def of(self, index: int) -> Bounds:
        """One of the boxes."""
        one = slice(index, index + 1)
        return Bounds(self.west_deg[one], self.south_deg[one], self.east_deg[one], self.north_deg[one])


@dataclass(frozen=True, slots=True)
class DatumOperation:
    """One operation from a datum to WGS 84, as the table pins it."""

    #: EPSG code; two with a plus where one leads to another datum first; empty of WGS 84 itself.
    code: str
    name: str
    method: str
    accuracy_m: float
    area: str
    #: West, south, east and north edge of the box of the area. [degree]
    box_deg: tuple[float, float, float, float]
    #: Steps of a PROJ pipeline on longitudes and latitudes from Greenwich in radians; a grid stands as ``{0}``, ``{1}``.
    pipeline: str
    #: For each grid, the names that its file may have.
    grids: tuple[tuple[str, ...], ...]

    @property
    def label(self) -> str:
        """What an answer says of it: name and code."""
        return f"{self.name} (EPSG:{self.code})" if self.code else self.name

    @property
    def grid_files(self) -> tuple[Path, ...] | None:
        """The files of its grids, or ``None`` where one is not there."""
        files = tuple(path for names in self.grids if (path := grid_path(names)) is not None)
        return files if len(files) == len(self.grids) else None


def _operation(row: dict[str, str]) -> DatumOperation:
    west, south, east, north = (float(row[f"{side}_deg"]) for side in ("west", "south", "east", "north"))
    grids = tuple(tuple(names.split("|")) for names in row["grids"].split(";")) if row["grids"] else ()
    return DatumOperation(
        row["code"],
        row["name"],
        row["method"],
        float(row["accuracy_m"]),
        row["area"],
        (west, south, east, north),
        row["pipeline"],
        grids,
    )


@cache
def all_operations() -> dict[int, tuple[DatumOperation, ...]]:
    """Every operation of the table by the code of its datum, in the order of choice."""
    found: dict[int, list[DatumOperation]] = defaultdict(list)
    for row in read_table("datum_operations.csv"):
        found[int(row["datum"])].append(_operation(row))
    return {code: tuple(operations) for code, operations in found.items()}


@dataclass(frozen=True, slots=True, eq=False)
class DatumOperations:
    """The operations of one datum that can be applied, in the order of choice, and their boxes.

    There is one of each datum in a process, so it is compared and hashed by identity.
    """

    operations: tuple[DatumOperation, ...]
    bounds: Bounds


def pinned_for(epsg: int) -> tuple[DatumOperation, ...]:
    """Every operation of a datum by its code, in the order of choice, whether its grids are there or not."""
    return all_operations().get(datum_row(epsg).operations_of, ())


@cache
def operations_of(epsg: int) -> DatumOperations:
    """The operations of a datum by its code, without those that miss a grid."""
    usable = tuple(operation for operation in pinned_for(epsg) if operation.grid_files is not None)
    boxes = np.array([operation.box_deg for operation in usable]).reshape(-1, 4)
    return DatumOperations(usable, Bounds(*(boxes[:, side, np.newaxis] for side in range(4))))


def grids_found() -> dict[str, Path]:
    """The grids of the table that an operator has provided, by the first of their names."""
    named = {names for operations in all_operations().values() for op in operations for names in op.grids}
    return {names[0]: path for names in sorted(named) if (path := grid_path(names)) is not None}
