"""Places fixed by two sights each, in arrays: intersections and resections of many rows at once.

A row that is called plain has the answer of `intersect` or `resect` to the same two sights: the place to a micrometre,
and all else to its last digits. Every other row, with an answer or with a named error, is for those to answer.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_azimuth, normalise_longitude
from ..directions.bearing import NORTHS
from ..grids.grid import zone_of
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..magnetism.magnetic import field_at, in_model
from ..rows import BoolArray, IntArray
from .adjustment import wrap_line
from .pair_fixes import PairFixes, pair_fixes
from .pair_model import ObserverNorth, PairModel
from .pair_settle import settle_pairs
from .pair_start import crossing_of_lines, place_by_back_bearings, surely_not_parallel
from .pair_table import NO_ZONE, GivenPairs, PairTable, Rows, given_pairs, grids_reach, taken
from .pair_trust import TrustedPairs, joined_pairs, trusted_pairs
from .pair_zone import on_own_grids
from .sight import angle_from_true_north

__all__ = ["NO_ZONE", "PairFixes", "intersect_pairs", "resect_pairs"]

#: The area of a national grid has edges, where its north stands still: an observer within so much is not taken. [degree]
NATIONAL_EDGE_DEG = 0.01
#: The convergence of national grids is a difference itself, blurred by up to 1e-10 degree. Over the shifts of the one
#: adjustment, a share of the shortest sight, that is as much as shows where the other sight is so many times as long.
NATIONAL_MOST_TIMES = 30.0


def intersect_pairs(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    bearing_deg: ArrayLike,
    sd_deg: ArrayLike,
    place_sd_m: ArrayLike,
    north: str,
    decimal_year: ArrayLike | None = None,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
) -> PairFixes:
    """The places that two bearings each from known observers meet at.

    Parameters
    ----------
    lat_deg, lon_deg, bearing_deg, sd_deg, place_sd_m : array_like, shape (N, 2)
        As in `Sight`, or what broadcasts to that.
    north : str
        The north that all bearings are from: "true", "grid" or "magnetic".
    decimal_year : array_like, shape (N,), optional
        Needed for magnetic bearings.
    zone, south : array_like, shape (N, 2), optional
        The grid of each grid bearing; the observer's own by the zone rule where none is given or it is `NO_ZONE`.

    Raises
    ------
    ValueError
        The shapes do not fit, or there is no such north. Nothing that stands in a row raises.
    """
    given = given_pairs(lat_deg, lon_deg, bearing_deg, sd_deg, place_sd_m)
    year = _years(decimal_year, given)
    zones, souths = _column(zone, given, np.int64, 2), _column(south, given, np.bool_, 2)
    table = given.table
    if north == "grid":
        zones, souths = _or_own_grid(table, zones, souths)
        usable = grids_reach(table.lat_deg, table.lon_deg, zones, souths).all(axis=0)
    else:
        zones, souths, usable = None, None, _is_dated(north, year)
    rows = np.flatnonzero(usable)
    turn, shared_sd = _turns(
        north, taken(table, rows), year[rows], _rows_of(zones, rows), _rows_of(souths, rows)
    )
    table = taken(table, rows)
    azimuth = normalise_azimuth(table.bearing_deg + turn)
    lat, lon, angle = crossing_of_lines(table.lat_deg, table.lon_deg, azimuth)
    cross = np.flatnonzero(surely_not_parallel(angle, table.sd_deg))
    model = PairModel(table, azimuth).rows(cross)
    settled = settle_pairs(model, lat[cross], lon[cross])
    found = trusted_pairs(model, angle[cross[settled.rows]], settled, shared_sd[cross[settled.rows]])
    return pair_fixes(given, found, rows[cross[found.rows]])


def resect_pairs(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    bearing_deg: ArrayLike,
    sd_deg: ArrayLike,
    place_sd_m: ArrayLike,
    north: str,
    decimal_year: ArrayLike | None = None,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
) -> PairFixes:
    """The places from which two bearings each to known marks were read.

    Parameters
    ----------
    lat_deg, lon_deg, bearing_deg, sd_deg, place_sd_m : array_like, shape (N, 2)
        As in `Sight`, or what broadcasts to that.
    north : str
        The north that all bearings are from: "true", "grid" or "magnetic".
    decimal_year : array_like, shape (N,), optional
        Needed for magnetic bearings.
    zone, south : array_like, shape (N,), optional
        The grid of grid bearings; that of the observer's own zone where none is given or it is `NO_ZONE`.

    Raises
    ------
    ValueError
        As for `intersect_pairs`.
    """
    given = given_pairs(lat_deg, lon_deg, bearing_deg, sd_deg, place_sd_m)
    table = given.table
    year = _years(decimal_year, given)
    angle = np.abs(wrap_line(table.bearing_deg[0] - table.bearing_deg[1]))
    cross = np.flatnonzero(surely_not_parallel(angle, table.sd_deg) & _is_dated(north, year))
    table = taken(table, cross)
    if north == "grid":
        zones, souths = _column(zone, given, np.int64), _column(south, given, np.bool_)
        found, own_zone = _resect_on_grids(table, _rows_of(zones, cross), _rows_of(souths, cross))
        return pair_fixes(given, found, cross[found.rows], own_zone)
    found = _resected(table, ObserverNorth(north, year[cross] if north == "magnetic" else None))
    return pair_fixes(given, found, cross[found.rows])


def _resected(table: PairTable, north: ObserverNorth) -> TrustedPairs:
    model = PairModel(table, table.bearing_deg, north)
    settled = settle_pairs(model, *place_by_back_bearings(model))
    bearing = table.bearing_deg[:, settled.rows]
    return trusted_pairs(model, np.abs(wrap_line(bearing[0] - bearing[1])), settled, settled.shared_sd_deg)


def _resect_on_grids(
    table: PairTable, zone: IntArray | None, south: BoolArray | None
) -> tuple[TrustedPairs, IntArray]:
    """Fixes from grid north, on the grids that are named and on those that the rows find themselves."""
    count = table.lat_deg.shape[1]
    zones = np.full(count, NO_ZONE) if zone is None else zone
    own = np.flatnonzero(zones == NO_ZONE)
    named = np.flatnonzero(_marks_are_reached(table, zones, south))
    on_named = _on_named_grids(table, named, zones[named], _rows_of(south, named))
    on_own, own_zone = on_own_grids(taken(table, own), partial(_on_named_grids, taken(table, own)))
    on_own = replace(on_own, rows=own[on_own.rows])
    return joined_pairs([on_named, on_own]), np.append(np.full(on_named.rows.size, NO_ZONE), own_zone)


def _marks_are_reached(table: PairTable, zone: IntArray, south: BoolArray | None) -> BoolArray:
    hemisphere = table.lat_deg < 0.0 if south is None else np.broadcast_to(south, table.lat_deg.shape)
    reached = grids_reach(table.lat_deg, table.lon_deg, np.tile(zone, (2, 1)), hemisphere)
    return np.asarray(reached.all(axis=0))


def _on_named_grids(
    table: PairTable, rows: NDArray[np.intp], zone: IntArray, south: BoolArray | None
) -> TrustedPairs:
    """Fixes of some rows on the grids of zones; ``rows`` of the answer are of the table."""
    found = _resected(taken(table, rows), ObserverNorth("grid", None, zone, south))
    found = taken(found, _is_well_on_grid(found, zone[found.rows]))
    return replace(found, rows=rows[found.rows])


def _is_well_on_grid(found: TrustedPairs, zone: IntArray) -> BoolArray:
    """Whether an observer on a national grid surely is in its area, with sights that its convergence is fine enough for."""
    well = np.ones(zone.size, dtype=np.bool_)
    national = np.flatnonzero(zone >= FIRST_EPSG_CODE)
    distance = found.distances_m[:, national]
    well[national] = distance.max(axis=0) < NATIONAL_MOST_TIMES * distance.min(axis=0)
    for north, east in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        lat = found.lat_deg[national] + north * NATIONAL_EDGE_DEG
        lon = normalise_longitude(found.lon_deg[national] + east * NATIONAL_EDGE_DEG)
        well[national] &= grids_reach(lat, lon, zone[national], np.zeros(national.size, dtype=np.bool_))
    return well


def _turns(
    north: str, table: PairTable, year: FloatArray, zone: IntArray | None, south: BoolArray | None
) -> tuple[FloatArray, FloatArray]:
    """The turn of north at known observers, shape (2, n), and what both readings of a row err by alike by it. [degree]"""
    if north == "magnetic":
        field = field_at(table.lat_deg, table.lon_deg, year)
        return field.declination_deg, field.declination_sd_deg.max(axis=0)
    turn = angle_from_true_north(north, table.lat_deg, table.lon_deg, None, zone, south)
    return turn, np.zeros(table.lat_deg.shape[1])


def _is_dated(north: str, year: FloatArray) -> BoolArray:
    """Which rows have the date that their north needs."""
    if north not in NORTHS:
        raise ValueError(f"north must be one of {NORTHS}, not {north!r}")
    return in_model(year) if north == "magnetic" else np.ones(year.size, dtype=np.bool_)


def _years(decimal_year: ArrayLike | None, given: GivenPairs) -> FloatArray:
    """The dates, of which NaN is in no model."""
    return np.broadcast_to(
        np.asarray(np.nan if decimal_year is None else decimal_year, dtype=np.float64), given.count
    )[given.rows]


def _or_own_grid(
    table: PairTable, zone: IntArray | None, south: BoolArray | None
) -> tuple[IntArray, BoolArray]:
    """The zones and hemispheres given, and each place's own where none is."""
    own, own_south = np.asarray(zone_of(table.lat_deg, table.lon_deg)), table.lat_deg < 0.0
    if zone is None:
        return own, own_south
    missing = zone == NO_ZONE
    return np.where(missing, own, zone), own_south if south is None else np.where(missing, own_south, south)


def _column(
    value: ArrayLike | None, given: GivenPairs, kind: Any, sights: int | None = None
) -> NDArray[Any] | None:
    """A column of shape (N,) or, of so many sights, (N, sights): its usable rows, rows last."""
    if value is None:
        return None
    shape = (given.count,) if sights is None else (given.count, sights)
    return np.ascontiguousarray(np.broadcast_to(np.asarray(value, dtype=kind), shape)[given.rows].T)


def _rows_of(column: NDArray[Any] | None, rows: Rows) -> NDArray[Any] | None:
    return None if column is None else column[..., rows]
