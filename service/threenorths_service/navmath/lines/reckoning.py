"""Dead reckoning: the places of a walk from its start and its legs, and how far each is to be trusted.

Every leg is laid off on the ellipsoid, as `ray` does, from the place that the one before it ended at: a magnetic
direction with the declination there, a grid direction as the straight line on the map.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_longitude
from ..cautions import Caution, caution
from ..directions.bearing import back_azimuth
from ..directions.north import AT_POLE_LAT_DEG, norths_at, norths_cautions
from ..errors import MagneticUselessError, OutOfRangeError
from ..estimates.estimate import checked
from ..grids.zones import zone_of
from ..magnetism.magnetic import field_at
from ..sights.ellipse import Ellipse, ellipse_of
from ..sights.fix_trust import MOST_DECLINATION_SD_DEG
from .leg import Leg, LegTable, leg_table
from .line import Line, line_between
from .reckoning_errors import ErrorGrowth, ReckoningErrors, error_growth, turned
from .walk import Walk, lay_off

__all__ = ["Reckoning", "checked_covariance", "reckon"]

#: True north may be turned, by the place being in error, by this part of a radian before it is cautioned. Up to there the
#: ellipses of 95 per cent hold 94 to 97; with twice as much they may hold 92.
MOST_NORTH_TURN = 0.03

#: Metres of a degree of a meridian, for how near a pole is, no more.
_M_PER_DEG = 111_133.0

#: A covariance's smaller eigenvalue may be less than nought by this share of the larger: by rounding alone.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Reckoning:
    """A reckoned walk of n legs: arrays of shape (n + 1,) for its places, the start first.

    ``walk`` has the places and the directions of the legs; ``walked_m``, level, up to each place; ``to_start``, the
    straight line from each place back to the start. ``covariance_m2`` of the north and east errors, shape (n + 1, 2, 2)
    [square metre], with its ``ellipse``; ``along_track_sd_m`` and ``cross_track_sd_m``, the standard deviations along and
    across each leg at its end, shape (n,) [metre]. ``drift_m_per_km`` is the longer semi-axis of the ellipse that the
    walk from a known start would have, over the distance walked; 0 before anything is. ``growth`` holds the errors on the
    plane of the walk.
    """

    legs: tuple[Leg, ...]
    walk: Walk
    walked_m: FloatArray
    to_start: Line
    covariance_m2: FloatArray
    ellipse: Ellipse
    along_track_sd_m: FloatArray
    cross_track_sd_m: FloatArray
    drift_m_per_km: FloatArray
    growth: ErrorGrowth
    decimal_year: float | None
    zone: int
    south: bool
    cautions: tuple[Caution, ...]


def reckon(
    lat_deg: float,
    lon_deg: float,
    legs: Sequence[Leg],
    *,
    errors: ReckoningErrors | None = None,
    start_covariance_m2: ArrayLike | None = None,
    decimal_year: float | None = None,
    zone: int | None = None,
    south: bool | None = None,
) -> Reckoning:
    """The places of a walk.

    Parameters
    ----------
    lat_deg, lon_deg : float
        The start: latitude in [-90, 90], longitude in [-180, 360]. [degree]
    errors : ReckoningErrors, optional
        Those of the walk; the defaults are for a walker with a compass who counts paces.
    start_covariance_m2 : array_like, shape (2, 2), optional
        Covariance of the start's north and east errors: that of a fix, or a place's ``sd_m`` squared times the unit
        matrix. Without it the start is taken for known. [square metre]
    decimal_year : float, optional
        Needed for magnetic legs.
    zone, south : optional
        The grid of all grid legs, that of the map in hand; where none is given, that of the start by the zone rule.

    Raises
    ------
    NoLegsError, OutOfRangeError, DateMissingError, DateOutsideModelError
        What was given is no walk: the member says what.
    OutsideGridError
        A grid leg begins or ends beyond the reach of its grid.
    MagneticUselessError
        The declination of a magnetic leg is known to no better than `fix_trust.MOST_DECLINATION_SD_DEG`.
    """
    errors = errors or ReckoningErrors()
    errors.check()
    table = leg_table(legs)
    start_m2 = checked_covariance("start_covariance_m2", start_covariance_m2)
    lat = float(checked("lat_deg", lat_deg, -90.0, 90.0))
    lon = float(normalise_longitude(checked("lon_deg", lon_deg, -180.0, 360.0)))
    zone = int(zone_of(lat, lon)) if zone is None else zone
    south = lat < 0.0 if south is None else south
    walk = lay_off(lat, lon, legs, decimal_year, zone, south)
    declination_sd_deg, cautions = _magnetic(walk, table, decimal_year)
    growth = error_growth(walk.plane_azimuth_deg, table, errors, declination_sd_deg, start_m2)
    walked_m = np.append(0.0, np.cumsum(table.length_m))
    covariance = turned(growth.covariance_m2, walk.turned_deg)
    along_and_across = turned(covariance[1:], -back_azimuth(walk.back_azimuth_deg))
    ellipse = ellipse_of(covariance)
    return Reckoning(
        legs=tuple(legs),
        walk=walk,
        walked_m=walked_m,
        to_start=line_between(walk.lat_deg, walk.lon_deg, lat, lon, decimal_year, zone, south),
        covariance_m2=covariance,
        ellipse=ellipse,
        along_track_sd_m=np.sqrt(along_and_across[:, 0, 0]),
        cross_track_sd_m=np.sqrt(along_and_across[:, 1, 1]),
        drift_m_per_km=_drift_m_per_km(growth, walked_m),
        growth=growth,
        decimal_year=decimal_year,
        zone=zone,
        south=south,
        cautions=(caution("reckoned_only"), *_near_pole(walk, table, ellipse), *cautions),
    )


def checked_covariance(member: str, covariance_m2: ArrayLike | None) -> FloatArray:
    """The covariance of a place's north and east errors, shape (2, 2), nought where there is none. [square metre]

    Raises
    ------
    OutOfRangeError
        It is none: not symmetric, not finite, or negative in some direction.
    """
    covariance = np.zeros((2, 2)) if covariance_m2 is None else np.asarray(covariance_m2, dtype=np.float64)
    if covariance.shape == (2, 2) and np.isfinite(covariance).all() and covariance[0, 1] == covariance[1, 0]:
        low, high = np.linalg.eigvalsh(covariance)
        if low >= -_ROUNDING * high:
            return covariance
    raise OutOfRangeError(
        "no errors of a place have this covariance",
        member=member,
        value=covariance.tolist(),
        allowed="a symmetric matrix of two by two that is negative in no direction",
    )


def _drift_m_per_km(growth: ErrorGrowth, walked_m: FloatArray) -> FloatArray:
    longer_m = ellipse_of(growth.walk_m2).semi_major_m
    return np.asarray(1000.0 * longer_m / np.where(walked_m > 0.0, walked_m, 1.0))


def _magnetic(
    walk: Walk, table: LegTable, decimal_year: float | None
) -> tuple[FloatArray, Sequence[Caution]]:
    """Standard deviation of the declination at the start of each leg, nought where it is not magnetic [degree]; cautions."""
    sd_deg = np.zeros(len(table.length_m))
    magnetic = np.flatnonzero(table.magnetic)
    if decimal_year is None or not magnetic.size:
        return sd_deg, ()
    field = field_at(walk.lat_deg[magnetic], walk.lon_deg[magnetic], decimal_year)
    sd_deg[magnetic] = field.declination_sd_deg
    weakest = magnetic[int(np.argmin(field.horizontal_nt))]
    if sd_deg[weakest] > MOST_DECLINATION_SD_DEG:
        raise MagneticUselessError(
            f"where legs/{weakest} begins the declination is known to {sd_deg[weakest]:.0f} degrees only, so near the "
            "magnetic pole",
            member=f"legs/{weakest}/north",
            value="magnetic",
            allowed="bearings from true or grid north, such as from the sun",
        )
    place = (float(walk.lat_deg[weakest]), float(walk.lon_deg[weakest]))
    return sd_deg, norths_cautions(place[0], norths_at(*place, decimal_year))


def _near_pole(walk: Walk, table: LegTable, ellipse: Ellipse) -> Sequence[Caution]:
    """Whether legs from true north began at a pole, or where a place in error has quite another north."""
    to_pole_m = np.maximum((90.0 - np.abs(walk.lat_deg[:-1])) * _M_PER_DEG, 1.0)
    astray = ellipse.semi_major_m[:-1] / to_pole_m > MOST_NORTH_TURN
    if not np.any(table.true & astray):
        # However well the place is known, at the pole itself true north is no direction.
        at_pole = np.abs(walk.lat_deg[:-1]) > AT_POLE_LAT_DEG
        return (caution("at_pole"),) if np.any(table.true & at_pole) else ()
    return (
        caution(
            "at_pole",
            "So near a pole true north is another wherever the walker may really be: legs from true north lead further "
            "astray than the ellipses tell. Work on the grid.",
        ),
    )
