"""The likelihood of places about the place last known, in square cells."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..rows import BoolArray
from .direction_distribution import DirectionDistribution
from .distance_distribution import DistanceDistribution
from .plane_shape import PlaneShape
from .start_region import StartRegion

__all__ = ["HALF_CELLS", "Whereabouts", "WhereaboutsGrid"]

#: Cells from the middle to an edge.
HALF_CELLS = 150
#: Cells of a grid of the whole that stay empty along each edge, so that every area in it has an edge of its own.
MARGIN_CELLS = 4
#: A size of the Fourier transform with small factors, no less than the cells of a row.
TRANSFORM_SIZE = 320

#: Near the middle the likelihood turns with every cell: there each is worked out by parts.
FINE_CELLS = 10
FINE_PARTS = 10
#: Places as likely as each other are told apart by this: by so little is the farthest less likely than the place last known.
#: It is over what rounding leaves, and under what shows.
NEARER_FIRST = 1e-6
#: The parts of a cell of the start's region are as many as give it this many a side at least.
START_PARTS = 64


@dataclass(frozen=True, slots=True)
class WhereaboutsGrid:
    """Shares of likelihood in square cells about the place last known.

    ``share`` has shape (N, N), rows to the north and columns to the east; their middles are at ``middles_m`` [metre].
    """

    middles_m: FloatArray
    share: FloatArray

    @property
    def cell_m(self) -> float:
        """The side of a cell. [metre]"""
        return float(self.middles_m[1] - self.middles_m[0])

    def inside(self, shape: PlaneShape) -> BoolArray:
        """Which cells have their middle in a shape."""
        return shape.contains(np.stack(np.meshgrid(self.middles_m, self.middles_m), axis=-1))

    def share_in(self, shape: PlaneShape) -> float:
        """The share of the cells that have their middle in a shape."""
        return float(self.share[self.inside(shape)].sum())


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """A start in its region, and from there a distance and a direction, each by itself.

    Of the start's region what is not ``passable`` is left out, if that is given.
    """

    start: StartRegion
    distances: DistanceDistribution
    directions: DirectionDistribution
    passable: PlaneShape | None = None

    def whole_grid(self) -> WhereaboutsGrid:
        """The grid that all of it fits into; its shares make 1."""
        half_width_m = self.distances.extent_m + self.start.radius_m
        cell_m = half_width_m / (HALF_CELLS - MARGIN_CELLS)
        middles_m, share = self._shares(cell_m)
        return WhereaboutsGrid(middles_m, share / share.sum())

    def part_grid(self, half_width_m: float) -> WhereaboutsGrid:
        """A finer grid of what is about the place last known.

        Along its edges, as far as the start's region is wide, it leaves out those who were beyond the edge and came back.
        """
        return WhereaboutsGrid(*self._shares(half_width_m / HALF_CELLS))

    def _shares(self, cell_m: float) -> tuple[FloatArray, FloatArray]:
        middles_m: FloatArray = cell_m * np.arange(-HALF_CELLS, HALF_CELLS + 1, dtype=np.float64)
        far = np.square(middles_m / (self.distances.extent_m + self.start.radius_m))
        nearer_first = 1.0 - NEARER_FIRST * (far + far[:, np.newaxis])
        return middles_m, self._ended(middles_m, cell_m) * nearer_first

    def _ended(self, middles_m: FloatArray, cell_m: float) -> FloatArray:
        """How likely it is that somebody is in a cell."""
        if self.distances.extent_m < cell_m / 2.0:
            return self._started(middles_m, cell_m)
        moved = self._moved(middles_m, cell_m)
        if self.start.radius_m < cell_m / 2.0:
            return moved
        return _spread(moved, self._started(middles_m, cell_m))

    def _moved(self, middles_m: FloatArray, cell_m: float) -> FloatArray:
        """How likely it is that somebody moved by so much east and north."""
        share = self._moved_into(*np.meshgrid(middles_m, middles_m), cell_m)
        fine = slice(HALF_CELLS - FINE_CELLS, HALF_CELLS + FINE_CELLS + 1)
        parts = _parted(middles_m[fine], cell_m, FINE_PARTS)
        shares = self._moved_into(*np.meshgrid(parts, parts), cell_m / FINE_PARTS)
        # The four parts about the place itself are taken for a circle of their size: pieces of rings do not fit there.
        middle, within_m = len(parts) // 2, math.sqrt(4.0 / math.pi) * cell_m / FINE_PARTS
        shares[middle - 1 : middle + 1, middle - 1 : middle + 1] = (
            self.distances.cumulative(np.array(within_m)) / 4.0
        )
        share[fine, fine] = _summed(shares, FINE_PARTS)
        return share

    def _moved_into(self, east_m: FloatArray, north_m: FloatArray, side_m: float) -> FloatArray:
        """The same of squares, each taken for as long a piece of a ring, so that together they leave out nothing."""
        away_m = np.hypot(east_m, north_m)
        nearer = self.distances.cumulative(np.stack((away_m - side_m / 2.0, away_m + side_m / 2.0)))
        width = side_m / np.maximum(away_m, side_m / 2.0)
        share: FloatArray = np.diff(nearer, axis=0)[0] * self.directions.shares(
            np.arctan2(east_m, north_m), width
        )
        return share

    def _started(self, middles_m: FloatArray, cell_m: float) -> FloatArray:
        """How likely it is that somebody set out from a cell."""
        reach = min(int(np.ceil(self.start.radius_m / cell_m)), HALF_CELLS)
        cells = slice(HALF_CELLS - reach, HALF_CELLS + reach + 1)
        count = max(START_PARTS // (2 * reach + 1), 1)
        parts = _parted(middles_m[cells], cell_m, count)
        east_m, north_m = np.meshgrid(parts, parts)
        weights = self.start.weights(east_m, north_m)
        if self.passable is not None:
            weights = np.where(self.passable.contains(np.stack((east_m, north_m), axis=-1)), weights, 0.0)
        share = np.zeros((len(middles_m), len(middles_m)))
        share[cells, cells] = _summed(weights, count)
        # The place itself is passable, however little there is about it.
        share[HALF_CELLS, HALF_CELLS] += 1e-9
        started: FloatArray = share / share.sum()
        return started


def _parted(middles_m: FloatArray, cell_m: float, count: int) -> FloatArray:
    """The middles of the parts of cells in a row, ``count`` to each."""
    within = (np.arange(count) + 0.5) / count - 0.5
    parts: FloatArray = (middles_m[:, np.newaxis] + cell_m * within).ravel()
    return parts


def _summed(parts: FloatArray, count: int) -> FloatArray:
    """The sums over the parts of each cell."""
    cells = len(parts) // count
    summed: FloatArray = parts.reshape(cells, count, cells, count).sum(axis=(1, 3))
    return summed


def _spread(moved: FloatArray, started: FloatArray) -> FloatArray:
    """The sum of two moves, each likely as given, by Fourier transform."""
    size = (TRANSFORM_SIZE, TRANSFORM_SIZE)
    both = np.fft.irfft2(np.fft.rfft2(moved, size) * np.fft.rfft2(started, size), size)
    # The middle of the sum lies at twice the number of a middle, and what is far from it has come around.
    turned = np.roll(both, (-HALF_CELLS, -HALF_CELLS), axis=(0, 1))[: len(moved), : len(moved)]
    return np.maximum(turned, 0.0)
