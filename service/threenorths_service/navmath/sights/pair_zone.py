"""The grid zones that pairs of sights from unknown places were read on, in rows: what `resection` finds of one.

A row is fixed on the grid of the zone of its first mark and, where another zone is near enough to come in question, on
the grid of that. It is taken where one of the two fixes, and surely only one, agrees with its own zone.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..grids.grid import zone_of
from ..lines.geodesic import direct
from ..rows import BoolArray, IntArray
from .pair_model import moved_by
from .pair_table import PairTable, taken
from .pair_trust import TrustedPairs, ellipse_from, is_fixed, joined_pairs, sights_covariance
from .resection import LARGEST_TURN

__all__ = ["on_own_grids"]

#: Fixes on the grids of zones for rows of the table by index.
FitOnGrids = Callable[[NDArray[np.intp], IntArray, BoolArray], TrustedPairs]

#: A zone with its hemisphere in one number: UPS South is this much more than UPS North.
SOUTH_KEY = 100

#: A box of more degrees of longitude than this may have a whole zone inside; rows so near a pole are not taken.
WIDEST_BOX_DEG = 2.5

#: A reach is the same as that of the one adjustment to this share and so many metres.
REACH_SHARE = 1e-5
REACH_M = 1.0

_NORTHWARD, _EASTWARD = np.array([(1.0, 1.0, -1.0, -1.0), (1.0, -1.0, 1.0, -1.0)])[:, :, None]


def on_own_grids(table: PairTable, fit: FitOnGrids) -> tuple[TrustedPairs, IntArray]:
    """The rows that are certain, and the zone whose grid each was read on."""
    every = np.arange(table.lat_deg.shape[1])
    keys = _keys(table.lat_deg, table.lon_deg)
    first = fit(every, *_grid(keys[0]))
    first_key = keys[0, first.rows]
    alone = (keys[1, first.rows] == first_key) & _box_is_in_zone(
        first, _search_m(first, first.reach_m), first_key
    )
    chosen, zones = [taken(first, alone)], [first_key[alone]]
    edge = np.flatnonzero(~alone)
    if edge.size:
        for found, key in _at_edges(table, fit, taken(first, edge), first_key[edge], keys[1]):
            chosen.append(found)
            zones.append(key)
    return joined_pairs(chosen), _zone(np.concatenate(zones))


def _at_edges(
    table: PairTable, fit: FitOnGrids, first: TrustedPairs, first_key: IntArray, mark_key: IntArray
) -> list[tuple[TrustedPairs, IntArray]]:
    """Of rows with another zone near, the fixes on the first zone's grid, and on the other's, that surely are the one."""
    near, sure = _keys_around(first, _search_m(first, first.reach_m))
    other_key = _the_other(np.concatenate((near, mark_key[first.rows][None])), first_key)
    sure &= other_key >= 0
    first, first_key, other_key = taken(first, sure), first_key[sure], other_key[sure]
    other = fit(first.rows, *_grid(other_key))
    # Both fixes of a row side by side.
    both = np.searchsorted(first.rows, other.rows)
    first, first_key, other_key = taken(first, both), first_key[both], other_key[both]
    # The sights are weighed as read first, then with their marks' squares as seen from the one fix: here with the wider.
    sd = np.maximum(first.sd_deg, other.sd_deg)
    first_home, first_off, sure = _agreement(first, first_key, sd)
    other_home, other_off, sure_of_other = _agreement(other, other_key, sd)
    sure &= (
        sure_of_other & _are_all(first, sd, first_key, other_key) & _are_all(other, sd, first_key, other_key)
    )
    by_first = sure & first_home & other_off
    by_other = sure & other_home & first_off & _finds_other(table, first, sd, other_key, mark_key)
    return [(taken(first, by_first), first_key[by_first]), (taken(other, by_other), other_key[by_other])]


def _agreement(
    fix: TrustedPairs, key: IntArray, sd_deg: FloatArray
) -> tuple[BoolArray, BoolArray, BoolArray]:
    """Whether fixes lie in the zone of the key, whether even their ellipses are off it, and where both are certain."""
    near, sure = _keys_around(fix, _reach_m(fix, sd_deg))
    return _box_is_in_zone(fix, np.full(len(key), REACH_M), key), ~_is_near(near, key), sure


def _are_all(fix: TrustedPairs, sd_deg: FloatArray, first_key: IntArray, other_key: IntArray) -> BoolArray:
    """Whether `resection` looks in no third zone."""
    near, sure = _keys_around(fix, _search_m(fix, _reach_m(fix, sd_deg)))
    return np.asarray(sure & ((near == first_key) | (near == other_key)).all(axis=0))


def _finds_other(
    table: PairTable, first: TrustedPairs, sd_deg: FloatArray, other_key: IntArray, mark_key: IntArray
) -> BoolArray:
    """Whether `resection` comes upon the other zone: by a mark, or by the first fix, whichever way the sights are weighed."""
    near, sure = _keys_around(first, _search_m(first, _reach_m(first, table.sd_deg[:, first.rows])))
    by_fix = sure & (near == other_key).any(axis=0) & is_fixed(_reach_m(first, sd_deg), first.distances_m)
    return np.asarray(by_fix | (mark_key[first.rows] == other_key))


def _reach_m(fix: TrustedPairs, sd_deg: FloatArray) -> FloatArray:
    """The longer semi-axis of fixes by sights of such standard deviations."""
    return ellipse_from(sights_covariance(fix.influence, sd_deg**2)).semi_major_m


def _search_m(fix: TrustedPairs, reach_m: FloatArray) -> FloatArray:
    """How far around a fix `resection` looks for zones."""
    sine = np.sin(np.radians(fix.crossing_angle_deg))
    moved_m = LARGEST_TURN * fix.distances_m.max(axis=0) / np.maximum(sine, LARGEST_TURN)
    return np.asarray(reach_m + moved_m)


def _box_is_in_zone(fix: TrustedPairs, reach_m: FloatArray, key: IntArray) -> BoolArray:
    """Whether all within that reach, and a little more, surely is of the zone. The zones' edges are those of boxes."""
    further = reach_m * 1.01 + REACH_M
    lat, lon = moved_by(fix.lat_deg, fix.lon_deg, _NORTHWARD * further, _EASTWARD * further)
    width = np.abs((lon[0] - lon[1] + 180.0) % 360.0 - 180.0)
    lat = np.clip(lat, -90.0, 90.0)
    return np.asarray((_keys(lat, lon) == key).all(axis=0) & (width < WIDEST_BOX_DEG))


def _keys_around(fix: TrustedPairs, reach_m: FloatArray) -> tuple[IntArray, BoolArray]:
    """The zones at the fix and at that reach in the four directions, shape (5, n), and where they are certain."""
    azimuth = np.array([0.0, 90.0, 270.0, 0.0, 180.0])[:, None]
    share = np.array([0.0, 1.0, 1.0, 1.0, 1.0])[:, None]
    nearer, further = (
        _keys(*direct(fix.lat_deg, fix.lon_deg, azimuth, share * np.maximum(reach, 0.0))[:2])
        for reach in (reach_m * (1.0 - REACH_SHARE) - REACH_M, reach_m * (1.0 + REACH_SHARE) + REACH_M)
    )
    return nearer, (nearer == further).all(axis=0)


def _the_other(near: IntArray, key: IntArray) -> IntArray:
    """The one zone beside that of the key, shape (n,); -1 where there is none or are more."""
    highest = np.where(near == key, -1, near).max(axis=0)
    alike = ((near == key) | (near == highest)).all(axis=0)
    return np.where(alike, highest, -1)


def _keys(lat_deg: FloatArray, lon_deg: FloatArray) -> IntArray:
    zone = np.asarray(zone_of(lat_deg, lon_deg))
    return np.asarray(zone + SOUTH_KEY * ((zone == 0) & (lat_deg < 0.0)))


def _zone(key: IntArray) -> IntArray:
    return key % SOUTH_KEY


def _grid(key: IntArray) -> tuple[IntArray, BoolArray]:
    return _zone(key), key >= SOUTH_KEY


def _is_near(near: IntArray, key: IntArray) -> BoolArray:
    """Whether the zone of the key is among those near, whichever the hemisphere."""
    return np.asarray((_zone(near) == _zone(key)).any(axis=0))
