"""The smallest areas that hold shares of likelihood: everywhere that is likelier than some level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import contourpy
import numpy as np

from ..angle import FloatArray
from .plane_shape import PlaneShape, joined
from .whereabouts_grid import HALF_CELLS, Whereabouts, WhereaboutsGrid

__all__ = ["SmallestArea", "smallest_areas"]

#: An area that takes up less than this of the half width of its grid is drawn anew on a finer one, of which it takes up more.
LEAST_FILL = 0.5
_NEXT_FILL = 0.8
#: Grids that are tried for an area: four make the first guess of the size of the smallest good.
_MOST_GRIDS = 6
#: How much farther than drawn an area of a coarse grid may reach. [cell]
_DRAWN_SHORT_CELLS = 2.0

#: An area of fewer cells than this is not told from its neighbours: then it is all that is allowed.
LEAST_CELLS = 10

#: Less likelihood than this in all that is allowed is what rounding leaves: no cell has its middle in it.
LEAST_HELD = 1e-9

#: How far the edge of an area is moved to draw it by fewer points, over the size of a cell.
DRAWING_CELLS = 0.05


@dataclass(frozen=True, slots=True)
class SmallestArea:
    """An area of a plane, and the size of the cells that it was drawn on. [metre]

    ``told_apart`` is false where the cells are too large to tell it from the rest of what is allowed, which it then is.
    """

    shape: PlaneShape
    cell_m: float
    told_apart: bool


def smallest_areas(
    whereabouts: Whereabouts, whole: WhereaboutsGrid, shares: Sequence[float], allowed: PlaneShape
) -> list[SmallestArea]:
    """The smallest areas that hold rising shares of what is allowed; every one lies within the next.

    ``whole`` is the grid of the whole. Each area is drawn on the coarsest grid that shows it well.
    """
    grid, cells = whole, _allowed_cells(whole, allowed)
    held = float(cells.sum())
    if held < LEAST_HELD:
        return [SmallestArea(allowed, grid.cell_m, told_apart=False) for _ in shares]
    areas: list[SmallestArea] = []
    for share in reversed(shares):
        shape = _likeliest(grid, cells, share * held)
        for _ in range(_MOST_GRIDS):
            half_width_m = _finer_half_width_m(grid, shape, whereabouts.start.radius_m)
            if half_width_m is None:
                break
            finer = whereabouts.part_grid(half_width_m)
            finer_cells = _allowed_cells(finer, allowed)
            if finer_cells.sum() <= share * held:
                break
            grid, cells = finer, finer_cells
            shape = _likeliest(grid, cells, share * held)
        shape = shape.within(allowed)
        told_apart = shape.area >= LEAST_CELLS * grid.cell_m**2
        areas.append(SmallestArea(shape if told_apart else allowed, grid.cell_m, told_apart))
    return _nested(areas[::-1])


def _nested(areas: list[SmallestArea]) -> list[SmallestArea]:
    """The same, without the corners of one that stick out of the next: they are drawn by few points, on several grids."""
    nested = areas[:1]
    for area in areas[1:]:
        nested.append(replace(area, shape=joined([area.shape, nested[-1].shape])))
    return nested


def _allowed_cells(grid: WhereaboutsGrid, allowed: PlaneShape) -> FloatArray:
    cells: FloatArray = np.where(grid.inside(allowed), grid.share, 0.0)
    return cells


def _finer_half_width_m(grid: WhereaboutsGrid, shape: PlaneShape, start_radius_m: float) -> float | None:
    """The half width of a grid that shows a shape better, ``None`` where this one shows it well."""
    farthest_m = shape.farthest + _DRAWN_SHORT_CELLS * grid.cell_m
    if farthest_m + start_radius_m > LEAST_FILL * HALF_CELLS * grid.cell_m:
        return None
    return start_radius_m + farthest_m / _NEXT_FILL


def _likeliest(grid: WhereaboutsGrid, cells: FloatArray, held: float) -> PlaneShape:
    """Everywhere, allowed or not, that is likelier than the level above which the allowed cells hold so much."""
    falling = np.sort(cells, axis=None)[::-1]
    level = float(np.interp(held, np.cumsum(falling), falling))
    contours = contourpy.contour_generator(
        grid.middles_m, grid.middles_m, grid.share, fill_type=contourpy.FillType.OuterOffset
    )
    shapes = []
    for points, offsets in zip(*contours.filled(level, 2.0), strict=True):
        rings = np.split(points, offsets[1:-1].astype(np.intp))
        shapes.append(PlaneShape.polygon(rings[0], rings[1:]))
    return joined(shapes).simplified(DRAWING_CELLS * grid.cell_m)
