"""The part of a grid square that lies in its own grid zone, and the point of it nearest to the square's centre.

Along the edges of the zones the squares are cut: a square's centre may lie in the zone next door, where it has another
name. The point sought is then on the zone's edge. The edges are curves on the grid. Each step takes them as straight,
solves that problem exactly and goes on from its answer, so that a few steps come down to the rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..grids.ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from ..grids.grid import convergence_and_scale, from_grid
from ..grids.zones import LETTERS_PER_ZONE, SOUTHERN, ZoneEdges
from ..rows import BoolArray

__all__ = ["Squares", "nearest_in_zone"]

_MOST_STEPS = 12
#: A step shorter than this ends the search: the next, by the square of its length over the earth's radius, is nothing.
_STILL_M = 1e-6
#: How far inside the square and the zone the point is kept, so that no rounding carries it out: a round trip through the
#: projection may move it by 6 nm in UTM and 0.1 um in UPS (measured), and writing it to 1e-11 degree by 0.6 um.
_INSET_M = 1e-6
#: A square that misses its zone by no more than this touches it: a sliver narrower than the insets must still be read.
_TOUCH_M = 4e-6
#: What stands for no limit.
_FAR_M = 1e9


@dataclass(frozen=True, slots=True)
class Squares:
    """Squares of a grid, shape (N,): the designation, the south-west corner and the side [metre], and what it is on."""

    designation: NDArray[np.intp]
    easting_m: FloatArray
    northing_m: FloatArray
    size_m: FloatArray
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID

    def taken(self, rows: NDArray[np.intp]) -> Squares:
        """Those of some rows only."""
        return Squares(
            self.designation[rows],
            self.easting_m[rows],
            self.northing_m[rows],
            self.size_m[rows],
            self.ellipsoid,
        )


@dataclass(frozen=True, slots=True)
class _Surroundings:
    """The zone's edges as seen from points of the grid, taken as straight lines. [metre]

    ``sine`` and ``cosine`` are of the convergence. The edges lie ``west`` and ``east`` to the true east of the point
    and ``south`` and ``north`` to its true north, so that well inside, the first of each pair is negative. They are
    drawn in by the inset.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    sine: FloatArray
    cosine: FloatArray
    west: FloatArray
    east: FloatArray
    south: FloatArray
    north: FloatArray

    def miss_m(self, easting: FloatArray | float, northing: FloatArray | float) -> FloatArray:
        """How far a place, given from the point along the grid, is outside the edges; negative inside."""
        true_east = easting * self.cosine + northing * self.sine
        true_north = northing * self.cosine - easting * self.sine
        return np.maximum(
            np.maximum(self.west - true_east, true_east - self.east),
            np.maximum(self.south - true_north, true_north - self.north),
        )


def _look_around(
    squares: Squares, point: tuple[FloatArray, FloatArray], edges: ZoneEdges, beyond_m: float
) -> _Surroundings:
    designation, ellipsoid = squares.designation, squares.ellipsoid
    zone = designation // LETTERS_PER_ZONE
    southern = SOUTHERN[designation]
    lat_deg, lon_deg = from_grid(zone, southern, *point, ellipsoid=ellipsoid)
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg, zone, southern, ellipsoid=ellipsoid)
    latitude, convergence = np.radians(lat_deg), np.radians(convergence_deg)
    # Metres on the grid for a degree of longitude and of latitude, from the radii of curvature.
    squared = 1.0 - ellipsoid.eccentricity_squared * np.sin(latitude) ** 2
    degree_m = np.radians(scale * ellipsoid.semi_major_axis_m) / np.sqrt(squared)
    across_m = degree_m * np.cos(latitude)
    along_m = degree_m * (1.0 - ellipsoid.eccentricity_squared) / squared
    bounded = zone > 0
    to_west_deg, to_east_deg = (
        (edge[designation] - lon_deg + 180.0) % 360.0 - 180.0 for edge in (edges.west_deg, edges.east_deg)
    )
    return _Surroundings(
        lat_deg,
        lon_deg,
        np.sin(convergence),
        np.cos(convergence),
        np.where(bounded, to_west_deg * across_m + _INSET_M - beyond_m, -_FAR_M),
        np.where(bounded, to_east_deg * across_m - _INSET_M + beyond_m, _FAR_M),
        (edges.south_deg[designation] - lat_deg) * along_m + _INSET_M,
        (edges.north_deg[designation] - lat_deg) * along_m - _INSET_M,
    )


def _clipped(
    start: tuple[FloatArray, FloatArray],
    direction: tuple[FloatArray, FloatArray],
    middle: tuple[FloatArray, FloatArray],
    reach_m: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Between which distances along a line it is in a square, given by its middle and half its side."""
    enters, leaves = np.full((2, len(reach_m)), np.inf)
    enters = -enters
    for start_m, slope, middle_m in zip(start, direction, middle, strict=True):
        slope = np.where(np.abs(slope) < 1e-12, 1e-12, slope)
        one, other = (middle_m - reach_m - start_m) / slope, (middle_m + reach_m - start_m) / slope
        enters = np.maximum(enters, np.minimum(one, other))
        leaves = np.minimum(leaves, np.maximum(one, other))
    return enters, leaves


def _nearest_on_straight_edges(
    around: _Surroundings, centre: tuple[FloatArray, FloatArray], reach_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The place nearest to the centre on the edges of the zone inside the square; all is given from the point.

    Where none of the edges comes into the square, the corner of the square that misses the zone by least.
    """
    best_east, best_north = _corner_nearest_to_zone(around, centre, reach_m)
    best_m = np.full(len(reach_m), np.inf)
    true_east = (around.cosine, around.sine)
    true_north = (-around.sine, around.cosine)
    for offset_m, across, along, low_m, high_m in (
        (around.west, true_east, true_north, around.south, around.north),
        (around.east, true_east, true_north, around.south, around.north),
        (around.south, true_north, true_east, around.west, around.east),
        (around.north, true_north, true_east, around.west, around.east),
    ):
        start = (offset_m * across[0], offset_m * across[1])
        enters, leaves = _clipped(start, along, centre, reach_m)
        low_m, high_m = np.maximum(low_m, enters), np.minimum(high_m, leaves)
        place_m = np.clip(centre[0] * along[0] + centre[1] * along[1], low_m, high_m)
        east, north = start[0] + place_m * along[0], start[1] + place_m * along[1]
        distance_m = np.hypot(east - centre[0], north - centre[1])
        better = (low_m <= high_m) & (distance_m < best_m)
        best_east, best_north = np.where(better, east, best_east), np.where(better, north, best_north)
        best_m = np.where(better, distance_m, best_m)
    return best_east, best_north


def _corner_nearest_to_zone(
    around: _Surroundings, centre: tuple[FloatArray, FloatArray], reach_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    corners = [(centre[0] + e * reach_m, centre[1] + n * reach_m) for e in (-1.0, 1.0) for n in (-1.0, 1.0)]
    least = np.argmin([around.miss_m(*corner) for corner in corners], axis=0)
    east, north = (np.choose(least, values) for values in zip(*corners, strict=True))
    return east, north


def nearest_in_zone(
    squares: Squares, edges: ZoneEdges, beyond_m: float = 0.0
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """The point of each square nearest to its centre that is inside its grid zone: for centres outside.

    Parameters
    ----------
    squares : Squares
        The squares, shape (N,).
    edges : ZoneEdges
        Where the zones end, and `beyond_m` how much further to the west and east. [metre]

    Returns
    -------
    lat_deg, lon_deg : ndarray, shape (N,)
        The point. [degree]
    meets : ndarray of bool, shape (N,)
        Whether the square and the zone meet at all; if not, the point means nothing.
    """
    half_m = squares.size_m / 2.0
    centre = squares.easting_m + half_m, squares.northing_m + half_m
    around = _look_around(squares, centre, edges, beyond_m)
    lat_deg, lon_deg = around.lat_deg.copy(), around.lon_deg.copy()
    meets = np.zeros(len(half_m), dtype=np.bool_)
    # Half as far again as the corners are: the straight edges are not so wrong over a square's width.
    rows = np.flatnonzero(around.miss_m(0.0, 0.0) <= 1.5 * np.sqrt(2.0) * half_m)
    if rows.size:
        lat_deg[rows], lon_deg[rows], meets[rows] = _search(squares.taken(rows), edges, beyond_m)
    return lat_deg, lon_deg, meets


def _search(squares: Squares, edges: ZoneEdges, beyond_m: float) -> tuple[FloatArray, FloatArray, BoolArray]:
    half_m = squares.size_m / 2.0
    centre = squares.easting_m + half_m, squares.northing_m + half_m
    point = centre
    around = _look_around(squares, point, edges, beyond_m)
    # Each square rests for itself: its point is the same whatever squares stand beside it.
    moving = np.ones(len(half_m), dtype=np.bool_)
    for _ in range(_MOST_STEPS):
        from_point = centre[0] - point[0], centre[1] - point[1]
        east, north = _nearest_on_straight_edges(around, from_point, half_m - _INSET_M)
        point = point[0] + np.where(moving, east, 0.0), point[1] + np.where(moving, north, 0.0)
        around = _look_around(squares, point, edges, beyond_m)
        moving &= np.hypot(east, north) >= _STILL_M
        if not moving.any():
            break
    return around.lat_deg, around.lon_deg, around.miss_m(0.0, 0.0) <= _INSET_M + _TOUCH_M
