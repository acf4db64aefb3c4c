"""Intersection: a distant place fixed by bearings toward it from two or more known places."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth
from ..lines.geodesic import inverse
from .adjustment import Model, Predict
from .crossing import check_not_parallel, crossing_places, line_angles
from .fix import Fix, fix_of
from .fix_trust import trusted_fix
from .settle import check_ahead, check_fixed, settle
from .sight import Sight, SightTable, angle_from_true_north, check_grid_reaches, distinct_places, table_of

__all__ = ["intersect"]


def intersect(
    sights: Sequence[Sight],
    north: str,
    decimal_year: float | None = None,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
) -> Fix:
    """The place that bearings from known observers meet at.

    Parameters
    ----------
    sights : sequence of Sight
        Two or more, each with the observer's place and the bearing read there toward the place sought.
    north : str
        The north that all bearings are from: "true", "grid" or "magnetic".
    decimal_year : float, optional
        Needed for magnetic bearings; each takes the declination of its own observer's place.
    zone, south : optional
        The grid of grid bearings, one or each observer's; where none is given, each observer's own by the zone rule.

    Raises
    ------
    TooFewSightsError, OutOfRangeError, DateMissingError
        From `table_of` and `angle_from_true_north`.
    OutsideGridError
        A known place is beyond the reach of the grid that is given.
    CoincidentPointsError
        All observers are at one place, or the sights meet at an observer.
    ParallelSightsError
        No two sights cross at more than their standard deviations can tell from parallel; two observers who look at
        each other are parallel too.
    SightsCrossBehindError
        Sights point away from where the lines cross, of the two such places on the globe the nearer.
    NoSolutionError
        The sights contradict each other: the adjustment did not come to rest, or to fit.
    """
    fit = partial(_fit, north=north, decimal_year=decimal_year, zone=zone, south=south)
    return trusted_fix(fit, sights, decimal_year if north == "magnetic" else None, at_fix=False)


def _fit(
    sights: Sequence[Sight],
    *,
    north: str,
    decimal_year: float | None,
    zone: ArrayLike | None,
    south: ArrayLike | None,
) -> Fix:
    table = table_of(sights, needed=2)
    if north == "grid" and zone is not None:
        check_grid_reaches(table, zone, south)
    turn = angle_from_true_north(north, table.lat_deg, table.lon_deg, decimal_year, zone, south)
    true_azimuth = normalise_azimuth(table.bearing_deg + turn)
    angles = line_angles(table.lat_deg, table.lon_deg, true_azimuth)
    check_not_parallel(angles, table.sd_deg, distinct_places(table, needed=2))
    model = Model(_prediction(table), true_azimuth, table.sd_deg)
    found = settle(model, *crossing_places(table.lat_deg, table.lon_deg, true_azimuth))
    check_ahead(model, found)
    return fix_of(model, table, found, check_fixed(found))


def _prediction(table: SightTable) -> Predict:
    """True azimuths from the observers toward candidate places."""

    def predict(lat_deg: FloatArray, lon_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
        azimuth, _back, distance = inverse(table.lat_deg, table.lon_deg, lat_deg[:, None], lon_deg[:, None])
        return azimuth, distance

    return predict
