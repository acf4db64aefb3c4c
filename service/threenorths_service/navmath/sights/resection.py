"""Resection: the observer's own place fixed by bearings taken there to known marks.

Every reading is predicted at the place sought itself: its true azimuth toward the mark, less the declination or the
convergence there, which move as the place does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from itertools import islice

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..cautions import Caution, caution
from ..errors import NavigationError, NoSolutionError, OutsideGridError
from ..grids.grid import within_reach, zone_of
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..lines.geodesic import direct, inverse
from .adjustment import Adjustment, Model, Predict, wrap_line
from .compass_error import (
    check_compass_error,
    check_compass_error_solvable,
    check_off_danger_circle,
    compass_cautions,
)
from .crossing import check_not_parallel
from .fix import Fix, fix_of
from .fix_trust import trusted_fix
from .resection_start import places_all_around, places_by_angles, places_by_back_bearings
from .settle import check_ahead, check_fixed, settle
from .sight import Sight, SightTable, angle_from_true_north, check_grid_reaches, distinct_places, table_of

__all__ = ["LARGEST_TURN", "resect"]

#: Grid zones that are tried for the observer's own.
MOST_GRIDS = 3

#: The norths of grids next to each other part by the width of a zone, 6 degrees, and of those of Svalbard by 12; a turn
#: of all bearings moves the fix by as much of the longest sight, over the sine of the crossing. [radian]
LARGEST_TURN = 0.21


def resect(
    sights: Sequence[Sight],
    north: str,
    decimal_year: float | None = None,
    solve_compass_error: bool = False,
    zone: int | None = None,
    south: bool | None = None,
) -> Fix:
    """The place from which bearings to known marks were read.

    Parameters
    ----------
    sights : sequence of Sight
        Two or more, each with a mark's place and the bearing read toward it.
    north : str
        The north that all bearings are from: "true", "grid" or "magnetic".
    decimal_year : float, optional
        Needed for magnetic bearings.
    solve_compass_error : bool
        Whether to solve for an angle that every reading has too much, as well. It needs three marks. Only the angles
        between the marks then place the observer.
    zone, south : optional
        The grid of grid bearings; where none is given, that of the observer's own zone by the rule.

    Raises
    ------
    TooFewSightsError, OutOfRangeError, AnglesMissingError
        From `table_of` and `angle_from_true_north`.
    OutsideGridError
        A known place is beyond the reach of the grid that is given, or the observer of a national grid's.
    CoincidentPointsError
        There are too few different marks, or the sights put the observer at a mark.
    ParallelSightsError
        The marks are in a line with the observer, within what the sights can tell.
    CompassErrorUnsolvableError, DangerCircleError
        The place and the compass error cannot be told apart.
    SightsCrossBehindError
        Sights point away from their marks at the place where the lines cross.
    NoSolutionError
        The sights contradict each other: the adjustment did not come to rest, or to fit.
    """
    fit = partial(
        _fit,
        north=north,
        decimal_year=decimal_year,
        solve_compass_error=solve_compass_error,
        zone=zone,
        south=south,
    )
    shared_year = decimal_year if north == "magnetic" and not solve_compass_error else None
    return trusted_fix(fit, sights, shared_year, at_fix=True)


def _fit(
    sights: Sequence[Sight],
    *,
    north: str,
    decimal_year: float | None,
    solve_compass_error: bool,
    zone: int | None,
    south: bool | None,
) -> Fix:
    needed = 3 if solve_compass_error else 2
    table = table_of(sights, needed)
    apart = distinct_places(table, needed)
    # All sights leave one place, so the lines cross at their readings' differences.
    angles = np.abs(wrap_line(table.bearing_deg[:, None] - table.bearing_deg[None, :]))
    if solve_compass_error:
        check_compass_error_solvable(angles, table.sd_deg, apart)
        check_off_danger_circle(table, apart)
    else:
        check_not_parallel(angles, table.sd_deg, apart)
    if north == "grid":
        if zone is None:
            return _fix_on_own_grid(table, solve_compass_error)
        check_grid_reaches(table, zone, south)
    predict = _prediction(table, north, decimal_year, zone, south)
    fix = _fix(table, predict, solve_compass_error)
    if north == "grid" and zone is not None and zone >= FIRST_EPSG_CODE:
        _check_national_reach(fix, zone)
    return fix


def _check_national_reach(fix: Fix, zone: int) -> None:
    """A national grid has no north beyond its area: a fix out there stands on one that was only lent to the search."""
    if not within_reach(fix.lat_deg, fix.lon_deg, zone, False):
        raise OutsideGridError(
            "the sights put the observer beyond the reach of the grid that the bearings are said to be from",
            member="sights",
            value=zone,
            allowed="the grid that the bearings were read on",
        )


def _prediction(
    table: SightTable, north: str, decimal_year: float | None, zone: int | None, south: bool | None
) -> Predict:
    """Bearings from candidate places toward the marks, from the named north at each place."""

    def predict(lat_deg: FloatArray, lon_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
        azimuth, _back, distance = inverse(lat_deg[:, None], lon_deg[:, None], table.lat_deg, table.lon_deg)
        turn = angle_from_true_north(north, lat_deg, lon_deg, decimal_year, zone, south)
        return azimuth - turn[:, None], distance

    return predict


def _fix(table: SightTable, predict: Predict, solve_compass_error: bool) -> Fix:
    model = Model(predict, table.bearing_deg, table.sd_deg, solve_compass_error)
    found = _settle(model, table)
    if not solve_compass_error:
        check_ahead(model, found)
        return fix_of(model, table, found, check_fixed(found))
    covariance = check_compass_error(table, found)
    check_ahead(model, found)  # only now: near the danger circle sights point anywhere
    fix = fix_of(model, table, found, covariance)
    return replace(fix, cautions=(*fix.cautions, *compass_cautions(fix, covariance)))


def _settle(model: Model, table: SightTable) -> Adjustment:
    """Settled from the places that geometry suggests or, where that fails, from all around the marks."""
    suggest = places_by_angles if model.solve_compass_error else places_by_back_bearings
    lat, lon = suggest(model, table)
    try:
        return settle(model, lat, lon)
    except NoSolutionError:
        return settle(model, *places_all_around(table))


def _fix_on_own_grid(table: SightTable, solve_compass_error: bool) -> Fix:
    """The fix whose grid bearings are from the grid of the zone that it lies in.

    Which zone that is shows only afterwards, so the zones of the marks are tried, and any other near enough to a fix
    for its own grid to put the fix there. Near a zone's edge two fixes, or none, can agree with their own zone, which
    their ellipses must touch: then the first is cautioned.
    """
    grids = _grids_of(table.lat_deg, table.lon_deg)
    fixes: list[Fix] = []
    failures: list[NavigationError] = []
    for zone, south in islice(grids, MOST_GRIDS):  # grows where a fix falls in a zone that was not tried
        try:
            predict = _prediction(table, "grid", None, zone, south)
            fix = _fix(table, predict, solve_compass_error)
        except NavigationError as error:
            failures.append(error)
            continue
        fixes.append(replace(fix, grid_zone=zone))
        sine = math.sin(math.radians(fix.crossing_angle_deg))
        moved_m = LARGEST_TURN * float(np.max(fix.distances_m)) / max(sine, LARGEST_TURN)
        grids.extend(grid for grid in _grids_around(fix, moved_m) if grid not in grids)
    agreeing = [fix for fix in fixes if fix.grid_zone in [zone for zone, _south in _grids_around(fix, 0.0)]]
    if len(agreeing) == 1:
        return agreeing[0]
    if len(fixes) < 2:
        raise failures[0]
    first, second = (agreeing or fixes)[:2]
    return replace(first, cautions=(*first.cautions, _zone_in_doubt(first, second)))


def _grids_of(lat_deg: ArrayLike, lon_deg: ArrayLike) -> list[tuple[int, bool]]:
    """The zones that places lie in by the rule, each once, in their order; with the hemisphere, which UPS needs."""
    zones = np.atleast_1d(zone_of(lat_deg, lon_deg))
    souths = (zones == 0) & np.less(np.atleast_1d(lat_deg), 0.0)
    return list(dict.fromkeys(zip(zones.tolist(), souths.tolist(), strict=True)))


def _grids_around(fix: Fix, further_m: float) -> list[tuple[int, bool]]:
    """The zones within the longer semi-axis of a fix's ellipse and so much further, the fix's own first."""
    reach_m = np.array([0.0, 1.0, 1.0, 1.0, 1.0]) * (fix.ellipse.semi_major_m + further_m)
    lat, lon, _back = direct(fix.lat_deg, fix.lon_deg, np.array([0.0, 90.0, 270.0, 0.0, 180.0]), reach_m)
    return _grids_of(lat, lon)


def _zone_in_doubt(first: Fix, second: Fix) -> Caution:
    apart = float(inverse(first.lat_deg, first.lon_deg, second.lat_deg, second.lon_deg)[2])
    return caution(
        "zone_in_doubt",
        f"At the edge of a grid zone: the bearings fit here on the grid of zone {first.grid_zone}, and {apart:.0f} m "
        f"away on that of zone {second.grid_zone}. Name the zone that they were read on.",
    )
