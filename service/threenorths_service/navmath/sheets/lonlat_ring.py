"""Closed rings in the plane of longitude and latitude, as RFC 7946 understands them: lines are straight in it.

A ring is an array of shape (N, 2), longitude and latitude in degrees, its last point equal to its first, its inside on the
left. Its longitudes run on without a jump, so that they may leave [-180, 180].
"""

from __future__ import annotations

import numpy as np

from ..angle import FloatArray
from ..rows import BoolArray

__all__ = ["closed_over_pole", "contains", "cut_at_antimeridian", "into_first_turn"]

#: Nearer to the ring than this, a point is on it, and so inside: some 0.1 mm on the ground. [degree]
ON_RING_DEG = 1e-9

#: Points times segments that are worked on at a time, so that their table stays in a few megabytes.
TABLE_CELLS = 500_000


def closed_over_pole(lon_deg: FloatArray, lat_deg: FloatArray) -> FloatArray:
    """The ring of a boundary once around a pole: opened at the antimeridian and led along it to the pole and back.

    Parameters
    ----------
    lon_deg, lat_deg : ndarray, shape (N,)
        The boundary, whose last longitude is its first and a turn: eastward about the north pole, westward about the
        south pole. [degree]
    """
    turn = 360.0 if lon_deg[-1] > lon_deg[0] else -360.0
    # The whole turn is cut into two at the first point beyond the antimeridian.
    sheet = np.floor((lon_deg + 180.0) / 360.0)
    index = int(np.flatnonzero(sheet != sheet[0])[0]) if np.any(sheet != sheet[0]) else len(lon_deg) - 1
    meridian = 360.0 * max(sheet[index], sheet[index - 1]) - 180.0
    lat_there = _lat_at(lon_deg, lat_deg, index, meridian)
    around_lon = np.concatenate(([meridian], lon_deg[index:-1], lon_deg[:index] + turn, [meridian + turn]))
    around_lat = np.concatenate(([lat_there], lat_deg[index:-1], lat_deg[:index], [lat_there]))
    pole = np.copysign(90.0, turn)
    ends = [(meridian + turn, pole), (meridian, pole), (meridian, lat_there)]
    return _without_repeats(np.concatenate((np.column_stack((around_lon, around_lat)), ends)))


def into_first_turn(ring: FloatArray) -> FloatArray:
    """The ring by whole turns moved, so that its westernmost longitude is in [-180, 180).

    Points nearer to the antimeridian than `ON_RING_DEG` are put on it: a cut would leave a sliver of no width beyond.
    """
    antimeridian = 360.0 * np.round((ring[:, 0] - 180.0) / 360.0) + 180.0
    lon = np.where(np.abs(ring[:, 0] - antimeridian) < ON_RING_DEG, antimeridian, ring[:, 0])
    turns = np.floor((lon.min() + 180.0) / 360.0)
    return _without_repeats(np.column_stack((lon - 360.0 * turns, ring[:, 1])))


def contains(ring: FloatArray, lat_deg: FloatArray, lon_deg: FloatArray) -> BoolArray:
    """Which of the points, shape (P,), in any turn of longitude, are inside the ring or on it."""
    west = float(ring[:, 0].min()) - ON_RING_DEG
    lon = west + np.mod(lon_deg - west, 360.0)
    low, high = ring.min(axis=0) - ON_RING_DEG, ring.max(axis=0) + ON_RING_DEG
    found: BoolArray = (lon <= high[0]) & (lat_deg >= low[1]) & (lat_deg <= high[1])
    rows = np.flatnonzero(found)
    for some in np.array_split(rows, 1 + rows.size * len(ring) // TABLE_CELLS):
        found[some] = _inside(ring, lon[some][:, np.newaxis], lat_deg[some][:, np.newaxis])
    return found


def _inside(ring: FloatArray, lon: FloatArray, lat: FloatArray) -> BoolArray:
    """Whether a line from each point to the east crosses the ring an odd number of times, or the point is on it."""
    start, step = ring[:-1], np.diff(ring, axis=0)
    aside, above = lon - start[:, 0], lat - start[:, 1]
    crosses = (start[:, 1] > lat) != (start[:, 1] + step[:, 1] > lat)
    slope = step[:, 0] / np.where(step[:, 1] == 0.0, 1.0, step[:, 1])
    odd = np.count_nonzero(crosses & (aside < slope * above), axis=1) % 2 == 1
    along = np.clip((aside * step[:, 0] + above * step[:, 1]) / np.square(step).sum(axis=1), 0.0, 1.0)
    miss = np.hypot(aside - along * step[:, 0], above - along * step[:, 1])
    inside: BoolArray = odd | np.any(miss <= ON_RING_DEG, axis=1)
    return inside


def cut_at_antimeridian(ring: FloatArray) -> list[FloatArray]:
    """The parts of a ring on one side of the antimeridian each, longitudes in [-180, 180]: RFC 7946, section 3.1.9."""
    ring = into_first_turn(ring)
    parts = []
    for turn in range(1 + int(np.ceil((ring[:, 0].max() - 180.0) / 360.0))):
        moved = ring - np.array([360.0 * turn, 0.0])
        for piece in _kept(moved, -180.0, east=True):
            parts.extend(_kept(piece, 180.0, east=False))
    return parts


def _kept(ring: FloatArray, meridian: float, *, east: bool) -> list[FloatArray]:
    """The parts of the ring on one side of a meridian."""
    keep = (ring[:, 0] >= meridian) if east else (ring[:, 0] <= meridian)
    if keep.all():
        return [ring]
    chains = [chain for chain in _chains(ring, keep, meridian) if np.any(chain[:, 0] != meridian)]
    # Along the meridian, in and out alternate: each chain's end is tied to the start that lies next to it inside.
    ends = sorted(
        (float(chain[place, 1]), is_end, number)
        for number, chain in enumerate(chains)
        for place, is_end in ((0, False), (-1, True))
    )
    following: dict[int, int] = {}
    for one, other in zip(ends[::2], ends[1::2], strict=True):
        end, start = (one, other) if one[1] else (other, one)
        following[end[2]] = start[2]
    return [_without_repeats(np.concatenate(group)) for group in _cycles(chains, following)]


def _chains(ring: FloatArray, keep: BoolArray, meridian: float) -> list[FloatArray]:
    """The stretches of the ring on the side kept, each from the meridian to the meridian."""
    first = int(np.flatnonzero(~keep)[0])
    order = np.concatenate((np.arange(first, len(ring) - 1), np.arange(first + 1)))
    ring, keep = ring[order], keep[order]
    enters = np.flatnonzero(~keep[:-1] & keep[1:]).tolist()
    leaves = np.flatnonzero(keep[:-1] & ~keep[1:]).tolist()

    def crossing(after: int) -> FloatArray:
        return np.array([[meridian, _lat_at(ring[:, 0], ring[:, 1], after, meridian)]])

    return [
        np.concatenate((crossing(enter + 1), ring[enter + 1 : leave + 1], crossing(leave + 1)))
        for enter, leave in zip(enters, leaves, strict=True)
    ]


def _cycles(chains: list[FloatArray], following: dict[int, int]) -> list[list[FloatArray]]:
    """The chains in the order of the rings that they make, each ring closed by its first point."""
    groups = []
    while following:
        start = number = next(iter(following))
        group = []
        while number in following:
            group.append(chains[number])
            number = following.pop(number)
        groups.append([*group, chains[start][:1]])
    return groups


def _lat_at(lon_deg: FloatArray, lat_deg: FloatArray, index: int, meridian: float) -> float:
    """The latitude at which the segment that ends at ``index`` meets a meridian."""
    before, after = float(lon_deg[index - 1]), float(lon_deg[index])
    share = (meridian - before) / (after - before)
    return float(lat_deg[index - 1] + share * (lat_deg[index] - lat_deg[index - 1]))


def _without_repeats(ring: FloatArray) -> FloatArray:
    changed = np.any(ring[1:] != ring[:-1], axis=1)
    return ring[np.concatenate(([True], changed))]
