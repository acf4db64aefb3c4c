"""Places to start a fix from: where each two observations put it, on a plane, and how well the others agree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..rows import IntArray
from .crossing_curves import Circles, Straights, all_crossings, circle_of_angle
from .observation_model import evaluate, mean_turn, plane_rays
from .observation_table import ObservationTable
from .observed_north import ObservedNorth
from .search_plane import ComplexArray

__all__ = ["Starts", "starts_all_around", "starts_by_pairs"]

#: Misses count as their square up to about so many standard deviations, and beyond it for less and less, so that a blunder
#: does not hide the place that the others agree on: the cost of a Cauchy distribution.
AGREEING_SDS = 3.0
#: Candidates this near to a known place, as a share of the spread, are crossings of two curves that share the place.
AT_PLACE_SHARE = 1e-7
#: Beyond this no place is sought. [metre]
FARTHEST_M = 1.2e7

#: Rings of places around known ones, as multiples of their spread, places on a ring, and places that get rings.
RINGS = np.geomspace(0.02, 20.0, 12)
PLACES_ON_A_RING = 16
MOST_RINGED = 4


@dataclass(frozen=True, slots=True)
class Starts:
    """Candidates, shape (k,), those that most observations agree on first; ``misses`` over the standard deviations."""

    point: ComplexArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    compass_error_deg: FloatArray
    misses: FloatArray
    score: FloatArray

    def only(self, chosen: IntArray) -> Starts:
        """Some of them."""
        return Starts(*(getattr(self, name)[chosen] for name in self.__slots__))


def starts_by_pairs(table: ObservationTable, north: ObservedNorth, sd: FloatArray) -> Starts:
    """Where the curves of each two observations cross; lines stood on bring their ends and bends.

    ``north`` is taken at the middle of the plane.
    """
    straights, circles = _straights(table, north), _circles(table)
    point, first, second = all_crossings(straights, circles)
    if table.to.size and not table.same_compass.any():
        point = _recrossed(table, north, straights, circles, point, first, second)
    bends = [_nearest_bends(stretches.point, straights, circles) for stretches in table.lines]
    return _scored(table, north, sd, np.concatenate((point, *bends)))


def starts_all_around(table: ObservationTable, north: ObservedNorth, sd: FloatArray) -> Starts:
    """Places on rings around known ones: for where the crossings lead nowhere."""
    ring = np.exp(2j * np.pi * np.arange(PLACES_ON_A_RING) / PLACES_ON_A_RING)
    around = (_spread(table) * RINGS[:, None] * ring).ravel()
    return _scored(table, north, sd, (table.point[:MOST_RINGED, None] + around).ravel())


def _nearest_bends(bend: ComplexArray, straights: Straights, circles: Circles) -> ComplexArray:
    """The ends of a line, and its points that are nearest to each sight and each circle: where what passes by is nearest."""
    sights = np.isinf(straights.length_m)
    anchor, direction = straights.anchor[sights, None], straights.direction[sights, None]
    off_sight = np.abs(np.imag((bend - anchor) * direction.conj()))
    off_circle = np.abs(np.abs(bend - circles.centre[:, None]) - circles.radius_m[:, None])
    nearest = np.concatenate((off_sight.argmin(axis=1), off_circle.argmin(axis=1), [0, len(bend) - 1]))
    bends: ComplexArray = bend[np.unique(nearest)]
    return bends


def _spread(table: ObservationTable) -> float:
    """How far the known places lie from the middle, or the place from them by its distances. [metre]"""
    measured = table.reading[table.distance]
    return float(max(np.abs(table.point).max(), measured.max(initial=1.0)))


def _straights(table: ObservationTable, north: ObservedNorth) -> Straights:
    """Lines of sight and stretches of lines. A bearing read at the unknown place is drawn with the norths of the middle."""
    turn = north.turn_deg[0]
    rows = np.concatenate(
        (table.to[~table.same_compass[table.to]], table.frm[~table.same_compass[table.frm]])
    )
    azimuth = table.reading.copy()
    azimuth[table.to] += turn
    azimuth[table.frm] += table.turn_deg[table.frm]
    flat = [row for row in table.angle if abs(np.sin(np.radians(table.reading[row]))) < 1e-9]
    flat_ends = [table.point[table.right[list(table.angle).index(row)]] - table.point[row] for row in flat]
    anchors = [table.point[rows], table.point[flat], *(stretches.point[:-1] for stretches in table.lines)]
    along = [np.exp(1j * np.radians(azimuth[rows])), np.array(flat_ends, dtype=np.complex128)]
    along += [np.diff(stretches.point) for stretches in table.lines]
    owners = [rows, np.array(flat, dtype=np.int64)]
    owners += [np.full(len(each.point) - 1, row) for row, each in zip(table.line, table.lines, strict=True)]
    endless = len(rows) + len(flat)
    vector = np.concatenate(along)
    length = np.abs(vector)
    bounded = np.where(np.arange(len(vector)) < endless, np.inf, length)
    return Straights(np.concatenate(anchors), vector / length, bounded, np.concatenate(owners))


def _circles(table: ObservationTable) -> Circles:
    """Circles of distances, of angles, and of the angles between bearings that share an unknown compass error."""
    centre, radius = [table.point[table.distance]], [table.reading[table.distance]]
    owner = [table.distance]
    pairs = [(table.angle, table.right, table.reading[table.angle], table.angle)]
    shared = table.to[table.same_compass[table.to]]
    if shared.size > 1:
        following = np.roll(shared, -1)
        if shared.size == 2:
            shared, following = shared[:1], following[:1]
        angle = table.reading[following] - table.reading[shared]
        pairs.append((shared, following, angle, table.count + np.arange(len(shared))))
    for left, right, angle, owners in pairs:
        middle, size = circle_of_angle(table.point[left], table.point[right], angle)
        round_ = np.isfinite(size)
        centre.append(middle[round_])
        radius.append(size[round_])
        owner.append(owners[round_])
    return Circles(np.concatenate(centre), np.concatenate(radius), np.concatenate(owner))


def _recrossed(
    table: ObservationTable,
    north: ObservedNorth,
    straights: Straights,
    circles: Circles,
    point: ComplexArray,
    first: IntArray,
    second: IntArray,
) -> ComplexArray:
    """The crossings again, each with bearings drawn by the norths of the place where it was.

    A degree of meridians that converge is 2 % of the way; drawn again, it is the square of that.
    """
    turned = table.plane.place(point)[2]
    turn = north.at(point)[0] - north.turn_deg
    mean = turn.mean(axis=1) if turn.size else 0.0
    swing = np.exp(1j * np.radians(turned + mean))
    straight_count, to_count = len(straights.owner), len(table.to[~table.same_compass[table.to]])
    return _cross_again(straights, circles, point, first, second, swing, straight_count, to_count)


def _cross_again(
    straights: Straights,
    circles: Circles,
    point: ComplexArray,
    first: IntArray,
    second: IntArray,
    swing: ComplexArray,
    straight_count: int,
    to_count: int,
) -> ComplexArray:
    """One Newton step of each crossing toward both of its curves, with the first ``to_count`` lines swung."""
    normals, gaps = [], []
    for curve in (first, second):
        is_line = curve < straight_count
        line, circle = np.where(is_line, curve, 0), np.where(is_line, 0, curve - straight_count)
        if straight_count:
            direction = straights.direction[line] * np.where(line < to_count, swing, 1.0)
            anchor = straights.anchor[line]
        else:
            direction, anchor = np.ones_like(point), point
        across, off = 1j * direction, np.imag((point - anchor) * np.conj(direction))
        if len(circles.owner):
            ray = point - circles.centre[circle]
            distance = np.maximum(np.abs(ray), 1e-9)
            across = np.where(is_line, across, ray / distance)
            off = np.where(is_line, off, distance - circles.radius_m[circle])
        normals.append(across)
        gaps.append(off)
    sine = np.imag(np.conj(normals[0]) * normals[1])
    flat = np.abs(sine) < 0.01
    step = 1j * (gaps[0] * normals[1] - gaps[1] * normals[0]) / np.where(flat, 1.0, sine)
    return point + np.where(flat, 0.0, step)


def _scored(table: ObservationTable, north: ObservedNorth, sd: FloatArray, point: ComplexArray) -> Starts:
    """The candidates that are places of their own, the best first."""
    tied = np.concatenate((table.to, table.frm, table.angle, table.right))
    spread = _spread(table)
    kept = np.isfinite(point) & (np.abs(point) < FARTHEST_M)
    if tied.size:
        nearest = np.abs(point[:, None] - table.point[tied]).min(axis=1)
        kept &= nearest > np.maximum(AT_PLACE_SHARE * spread, 1e-3)
    point = point[kept]
    lat, lon, turn = table.plane.place(point)
    rays = plane_rays(table, point, turn)
    error = np.zeros(len(point))
    misses = evaluate(table, rays, lat, north, point, error).misses
    shared = table.same_compass
    if shared.any():
        error = mean_turn(misses[:, shared], sd[shared] ** -2)
        misses = evaluate(table, rays, lat, north, point, error).misses
    misses = misses / sd
    score = np.log1p((misses / AGREEING_SDS) ** 2).sum(axis=1)
    starts = Starts(point, lat, lon, error, misses, score)
    return starts.only(np.argsort(score, kind="stable"))
