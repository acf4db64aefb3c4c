"""The region that holds the place with a stated confidence, by the likelihood itself: polygons, wherever they bend.

The plane about the fix is stretched so that its ellipse is a circle and searched by squares. Of a square, bounds of the cost
are had from bounds of each miss; a square that surely lies outside the region is left, one that may lie on its edge is
quartered. Through the smallest squares the edge is drawn by the sign of the cost at their corners, which keeps the inside on
the left: outlines run counter-clockwise and holes clockwise. (W. E. Lorensen, H. E. Cline, "Marching cubes: A high resolution
3D surface construction algorithm", Computer Graphics 21(4), 163-169, 1987, doi:10.1145/37402.37422, in two dimensions.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..rows import BoolArray, IntArray
from .likelihood import Likelihood, chi_square_of_two
from .search_plane import ComplexArray

__all__ = ["CONFIDENCES", "THINNEST", "LikelihoodRegion", "Ring", "regions_of"]

CONFIDENCES = (0.5, 0.95, 0.99)

#: Squares along each side of the first search.
FIRST_SQUARES = 16
#: Squares are quartered until the edge has so many and no miss changes more in half of one than so much of the root of
#: the quantile, which is what it changes from the best place to the edge; or until there would be too many.
ENOUGH_SQUARES, MOST_SQUARES = 220, 16_000
FINE_SHARE = 0.25
MOST_LEVELS = 24
#: No region is followed further from the fix than so many times the farthest known place: there it is cut off.
FARTHEST_SHARE = 5.0
#: How much more a miss may change within a square than its derivatives at the middle say.
BEND = 1.3
#: Nearer to a known place than this share of the square's diagonal over the distance, a direction may turn any way in it.
MOST_NEAR = 0.5
#: How far the plane is stretched across the ellipse, from whole to not at all: bent regions want less.
STRETCHES = (1.0, 0.5, 0.0)
#: Points of a ring are left out that lie nearer to the line between their neighbours than this share of the ellipse's shorter
#: standard deviation.
THINNED_SHARE = 0.02
MOST_THINNINGS = 6
#: Pieces of less than this share of the area are splinters at the tips of a bent region, and left out.
SPLINTER_SHARE = 1e-3
#: The edge's corner values are taken for no nearer to it than this, so that no corner lies on it.
OFF_EDGE = 1e-12
#: An ellipse is taken for no thinner than this share of its length: beyond, its covariance has no figures left.
THINNEST = 1e-6


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed line, its last place equal to its first: an outline counter-clockwise, a hole clockwise. [degree]"""

    lat_deg: FloatArray
    lon_deg: FloatArray


@dataclass(frozen=True, slots=True)
class LikelihoodRegion:
    """Where the place is with a stated confidence: rings, their area [square metre], and whether it was ``cut_off``.

    A region that is cut off reaches further than the fix can tell: its rings end some times the farthest sight away.
    """

    confidence: float
    rings: tuple[Ring, ...]
    area_m2: float
    cut_off: bool


@dataclass(frozen=True, slots=True)
class _Frame:
    """The stretched plane: a unit along each axis is one standard deviation of the ellipse there."""

    likelihood: Likelihood
    centre: complex
    axes: ComplexArray
    reach_m: float
    least_m: float

    @property
    def half_width(self) -> float:
        """Of the square that is searched, in units of the axes."""
        return self.reach_m / float(np.abs(self.axes).min())

    def point(self, along: FloatArray, across: FloatArray) -> ComplexArray:
        point: ComplexArray = self.centre + along * self.axes[0] + across * self.axes[1]
        return point


def regions_of(
    likelihood: Likelihood, confidences: tuple[float, ...] = CONFIDENCES, places: int = 1
) -> tuple[LikelihoodRegion, ...]:
    """The regions about a fix, each of one ring or several: also about other places that fit as well, ``places`` in all."""
    values, vectors = np.linalg.eigh(likelihood.place.covariance_m2)
    # By rounding, the shorter of a very long ellipse may be nothing or less.
    minor, major = np.sqrt(np.maximum(values, THINNEST**2 * values[1]))
    longer = complex(vectors[0, 1], vectors[1, 1])
    shorter = -1j * longer  # to the left of the longer, seen from above
    reach_m = FARTHEST_SHARE * max(float(np.abs(likelihood.table.point).max()), float(major))
    frames = []
    for stretch in STRETCHES:
        axes = np.array([major * longer, minor**stretch * major ** (1.0 - stretch) * shorter])
        frames.append(_Frame(likelihood, likelihood.peak, axes, reach_m, float(minor)))
    return tuple(_region(frames, confidence, places) for confidence in confidences)


def _region(frames: list[_Frame], confidence: float, places: int) -> LikelihoodRegion:
    """The region by the first stretching that resolves it; else by the one that breaks it into the fewest pieces."""
    quantile = chi_square_of_two(confidence)
    drawn: list[tuple[int, _Frame, list[ComplexArray]]] = []
    for frame in frames:
        cells, size, fine = _edge_squares(frame, quantile)
        lines = _chained(*_segments(frame, cells, size, quantile))
        drawn.append((len(lines) if lines else MOST_SQUARES, frame, lines))
        if fine and len(lines) <= places:
            break
    _pieces, frame, lines = min(drawn, key=lambda each: each[0])
    farthest = max((float(np.abs(line - frame.centre).max()) for line in lines), default=0.0)
    areas = [_area(line) for line in lines]
    area = sum(areas)
    lines = [line for line, own in zip(lines, areas, strict=True) if abs(own) > SPLINTER_SHARE * area]
    rings = tuple(_ring(frame, _thinned(line, THINNED_SHARE * frame.least_m)) for line in lines)
    return LikelihoodRegion(confidence, rings, area, farthest > 0.99 * frame.reach_m)


def _may_hold_edge(
    frame: _Frame, middles: FloatArray, size: float, quantile: float
) -> tuple[BoolArray, BoolArray, float]:
    """Which squares the region's edge may cross; which of them lie about a known place, where directions turn in them any
    way; and the most that a miss changes within one of the others.
    """
    likelihood = frame.likelihood
    point = frame.point(middles[:, 0], middles[:, 1])
    misses, design, distance = likelihood.whitened(point)
    change = np.abs(design @ np.stack((frame.axes.real, frame.axes.imag))).sum(axis=2) * size / 2.0
    diagonal = float(np.abs(frame.axes).sum()) * size / 2.0
    near = likelihood.mixed(diagonal / np.maximum(distance, 1e-3))
    bound = np.where(near > MOST_NEAR, np.inf, change * (BEND + near))
    least = np.sum(np.maximum(np.abs(misses) - bound, 0.0) ** 2, axis=1) - likelihood.least
    most = np.sum((np.abs(misses) + bound) ** 2, axis=1) - likelihood.least
    away = np.abs(point - frame.centre) - frame.reach_m
    holds = (least <= quantile) & (((most >= quantile) & (away < diagonal)) | (np.abs(away) <= diagonal))
    about = near.max(axis=1) > MOST_NEAR
    return holds, about, float(change[holds & ~about].max(initial=0.0))


def _edge_squares(frame: _Frame, quantile: float) -> tuple[IntArray, float, bool]:
    """Column and row of the small squares that the edge may cross, shape (s, 2), their side, and whether they will do."""
    side = FIRST_SQUARES
    cells: IntArray = np.stack(np.meshgrid(np.arange(side), np.arange(side)), axis=-1).reshape(-1, 2)
    quarters = np.array([[0, 0], [1, 0], [0, 1], [1, 1]])
    for _ in range(MOST_LEVELS):
        size = 2.0 * frame.half_width / side
        middles: FloatArray = (cells + np.float64(0.5)) * size - frame.half_width
        holds, about, change = _may_hold_edge(frame, middles, size, quantile)
        cells = cells[holds]
        fine = int(np.count_nonzero(holds & ~about)) >= ENOUGH_SQUARES and change < FINE_SHARE * quantile**0.5
        if fine or len(cells) * 4 > MOST_SQUARES:
            return cells, size, fine
        cells = (2 * cells[:, None, :] + quarters).reshape(-1, 2)
        side *= 2
    return cells, 2.0 * frame.half_width / side, False


def _segments(frame: _Frame, cells: IntArray, size: float, quantile: float) -> tuple[IntArray, ComplexArray]:
    """The edge's pieces: the sides of squares that each begins and ends on, shape (p, 2, 3), and the points, shape (p, 2).

    A side is named by the corner it begins at and its direction, 0 along and 1 across.
    """
    corners = cells[:, None, :] + np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    unique, inverse = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    at = unique * size - frame.half_width
    point = frame.point(at[:, 0], at[:, 1])
    wall = np.abs(point - frame.centre) / frame.reach_m
    rise = np.maximum(frame.likelihood.rise(point), np.where(wall > 1.0, quantile * wall**2, 0.0))
    # The root of the cost grows evenly away from the place: its edge is found by proportion.
    value = np.sqrt(np.maximum(rise, 0.0)) - np.sqrt(quantile)
    value = np.where(np.abs(value) < OFF_EDGE, OFF_EDGE, value)[inverse.reshape(-1)].reshape(-1, 4)
    inside = value < 0.0
    nxt = np.roll(np.arange(4), -1)
    leaves = inside & ~inside[:, nxt]  # along the square counter-clockwise, from in to out
    enters = ~inside & inside[:, nxt]
    square, begins = np.nonzero(leaves)
    # The piece runs from the side where the square's border enters to where it leaves, the inside on its left.
    ends = np.array(
        [
            next(b for b in [(a - step) % 4 for step in (1, 2, 3)] if enters[s, b])
            for s, a in zip(square, begins, strict=True)
        ],
        dtype=np.int64,
    )
    crossed = leaves | enters
    share = np.where(crossed, value, 0.0) / np.where(crossed, value - value[:, nxt], 1.0)
    start = corners + share[:, :, None] * (corners[:, nxt] - corners)
    points = start * size - frame.half_width
    z = frame.point(points[:, :, 0], points[:, :, 1])
    low = np.minimum(corners, corners[:, nxt])
    sides = np.concatenate(
        (low, np.broadcast_to(np.array([0, 1, 0, 1])[:, None], (len(cells), 4, 1))), axis=2
    )
    return (
        np.stack((sides[square, begins], sides[square, ends]), axis=1),
        np.stack((z[square, begins], z[square, ends]), axis=1),
    )


def _chained(sides: IntArray, points: ComplexArray) -> list[ComplexArray]:
    """Closed lines of the pieces, each joined to the one that begins on the side where it ends."""
    follows = {tuple(first): index for index, first in enumerate(sides[:, 0].tolist())}
    ends = [tuple(last) for last in sides[:, 1].tolist()]
    waiting, lines = dict.fromkeys(range(len(ends))), []
    while waiting:
        index: int | None = next(iter(waiting))
        line = []
        while index is not None and index in waiting:
            del waiting[index]
            line.append(points[index, 0])
            index = follows.get(ends[index])
        if len(line) > 2:
            lines.append(np.array([*line, line[0]]))
    return lines


def _thinned(line: ComplexArray, nearest_m: float) -> ComplexArray:
    """The closed line without points that lie on it anyhow."""
    for _ in range(MOST_THINNINGS):
        kept = np.ones(len(line), dtype=np.bool_)
        between = line[1:-1:2]
        before, after = line[:-2:2][: len(between)], line[2::2][: len(between)]
        along = after - before
        off = np.abs(np.imag((between - before) * np.conj(along))) / np.maximum(np.abs(along), 1e-12)
        kept[1:-1:2] = off > nearest_m
        if kept.all() or np.count_nonzero(kept) < 5:
            break
        line = line[kept]
    return line


def _area(line: ComplexArray) -> float:
    """The area that a closed line has on its left, north + i east: positive of an outline. [square metre]"""
    return float(-np.sum(np.imag(np.conj(line[:-1]) * line[1:])) / 2.0)


def _ring(frame: _Frame, line: ComplexArray) -> Ring:
    """The ring on the ellipsoid, outlines counter-clockwise."""
    lat, lon, _turn = frame.likelihood.table.plane.place(line)
    return Ring(lat, lon)
