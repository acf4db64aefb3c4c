"""A place fixed by sights: what an intersection or a resection answers, and how far it is to be trusted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .adjustment import Adjustment, Model, adjust, costs
from .angle import FloatArray, normalise_longitude, normalise_signed
from .cautions import Caution, caution
from .ellipse import Ellipse, ellipse_of
from .errors import CoincidentPointsError, NoSolutionError, ParallelSightsError, SightsCrossBehindError
from .geodesic import COINCIDENT_M, direct, inverse
from .sight import SightTable

__all__ = [
    "FLATTEST_CROSSING_DEG",
    "Crossings",
    "Fix",
    "best_crossing",
    "check_ahead",
    "check_not_parallel",
    "crossings_of",
    "fix_of",
    "pointing_away",
    "settle",
]

#: Sights that cross at less, or at more than 180 less this, are cautioned: common practice, no source. [degree]
FLATTEST_CROSSING_DEG = 30.0

#: A residual of more than this many of its own standard deviations is cautioned: one in 370 is, without a blunder.
LARGE_RESIDUAL_SDS = 3.0

#: A sight whose residual shows less than this share of its own error is called unchecked.
LEAST_REDUNDANCY = 0.02

#: The ellipse is cautioned when its longer semi-axis is more than this share of the shortest sight: beyond, the
#: lines of sight can no longer be taken for parallel bands, which the covariance does.
LONGEST_ELLIPSE_SHARE = 0.5

#: The cost at the ends of the ellipse's axes may be this many times what it should be, or one over that many.
MOST_CURVED = 2.0

#: Sights without redundancy fit exactly; a cost above this is a place where the adjustment got stuck.
EXACT_COST = 1e-6

#: However fine the compass, lines that cross at less than this are parallel. [degree]
LEAST_PARALLEL_DEG = 0.01

#: Lines that cross at this many standard deviations of their angle are not moved behind an observer by noise.
SURELY_CROSSING_SDS = 3.0

#: Starting places that are tried, those that fit best first.
MOST_STARTS = 3
#: The same without redundancy, where a start that leads nowhere shows and the next one may not.
MOST_EXACT_STARTS = 10


@dataclass(frozen=True, slots=True)
class Fix:
    """A place fixed by n sights.

    ``lat_deg``, ``lon_deg`` [degree]; ``covariance_m2`` of its north and east errors, from the standard deviations
    of the sights alone, shape (2, 2) [square metre]; ``ellipse`` of that covariance.
    ``sd_deg``, the standard deviations used; ``residuals_deg``, observed
    less computed, in (-180, 180], and ``distances_m`` to the known places, both of shape (n,).
    ``crossing_angle_deg``, in [0, 180], between the directions from the fix to the two known places
    ``crossing_sights``, of all pairs the one nearest to a right angle. ``degrees_of_freedom``, the sights beyond
    those needed, and ``variance_factor``, the weighted square sum of the residuals over them: about 1 where the
    standard deviations are right, ``None`` without any. ``compass_error_deg``, which every reading had too much, in
    (-180, 180], and its standard deviation: ``None`` unless solved for. ``grid_zone``, where the grid bearings of a
    resection were to find out their own grid zone, 0 for UPS.
    """

    lat_deg: float
    lon_deg: float
    covariance_m2: FloatArray
    ellipse: Ellipse
    sd_deg: FloatArray
    residuals_deg: FloatArray
    distances_m: FloatArray
    crossing_angle_deg: float
    crossing_sights: tuple[int, int]
    degrees_of_freedom: int
    variance_factor: float | None
    compass_error_deg: float | None
    compass_error_sd_deg: float | None
    cautions: tuple[Caution, ...]
    grid_zone: int | None = None


@dataclass(frozen=True, slots=True)
class Crossings:
    """How each two lines of sight cross; arrays of shape (n, n).

    ``angle_deg``, in [0, 90]; ``sd_deg``, the standard deviation of that angle; ``apart``, whether the two are tied
    to different places, without which their crossing says nothing. [degree]
    """

    angle_deg: FloatArray
    sd_deg: FloatArray
    apart: NDArray[np.bool_]


def crossings_of(angle_deg: FloatArray, sd_deg: FloatArray, apart: NDArray[np.bool_]) -> Crossings:
    """`Crossings` of lines whose own standard deviations are ``sd_deg``, shape (n,)."""
    return Crossings(angle_deg, np.hypot(sd_deg[:, None], sd_deg[None, :]), apart)


def settle(model: Model, lat_deg: FloatArray, lon_deg: FloatArray) -> Adjustment:
    """The place that fits the sights best, from candidates to start at, shape (k,). [degree]

    Lines that run both ways are fitted first, which finds the place even where a bearing was reversed. Where sights
    turn out to point away from it, a place that all of them do point at is taken instead if it fits them well. So
    the answer may have sights that point away: see `pointing_away` and `check_ahead`.

    Raises
    ------
    CoincidentPointsError
        The lines meet at a known place.
    NoSolutionError
        The adjustment did not come to rest.
    """
    crossing = _adjust_from_best(model, lat_deg, lon_deg, directed=False)
    if crossing is not None and not pointing_away(crossing):
        return crossing
    ahead = _adjust_from_best(model, lat_deg, lon_deg, directed=True)
    if ahead is not None and not pointing_away(ahead):
        misses = np.abs(ahead.residuals_deg) / model.sd_deg
        if crossing is None or np.max(misses) <= LARGE_RESIDUAL_SDS:
            return ahead
    if crossing is None:
        raise NoSolutionError("the adjustment did not settle on a place", member="sights")
    return crossing


def pointing_away(adjustment: Adjustment) -> list[int]:
    """The sights whose bearings point away from the place, by more than a right angle."""
    return [int(index) for index in np.flatnonzero(np.abs(adjustment.residuals_deg) > 90.0)]


def check_ahead(adjustment: Adjustment, crossings: Crossings) -> None:
    """Refuse a place that sights point away from, naming them.

    Raises
    ------
    ParallelSightsError
        The lines cross so flatly that noise alone may have put the place behind.
    SightsCrossBehindError
        They do not.
    """
    away = pointing_away(adjustment)
    if not away:
        return
    check_not_parallel(crossings, SURELY_CROSSING_SDS)
    names = ", ".join(f"sights/{index}" for index in away)
    raise SightsCrossBehindError(
        f"the lines cross where {names} point{'s' if len(away) == 1 else ''} away from",
        member=f"sights/{away[0]}",
        allowed="bearings toward the place where the lines cross",
        details={"sights": away},
    )


def check_not_parallel(crossings: Crossings, least_sds: float = 1.0) -> None:
    """Raise `ParallelSightsError` unless two sights cross at that many of their standard deviations together."""
    least = np.maximum(crossings.sd_deg * least_sds, LEAST_PARALLEL_DEG)
    share = np.where(crossings.apart, crossings.angle_deg / least, -1.0)
    if np.max(share) >= 1.0:
        return
    first, second = divmod(int(np.argmax(share)), len(share))
    angle, least_deg = float(crossings.angle_deg[first, second]), float(least[first, second])
    raise ParallelSightsError(
        f"the sights cross at {angle:.2f} degrees at best, where {least_deg:.2f} are needed for standard deviations "
        "such as theirs",
        member="sights",
        value=angle,
        allowed=f"a crossing of at least {least_deg:.2f} degrees",
        details={"sights": [first, second]},
    )


def best_crossing(azimuth_deg: FloatArray) -> tuple[float, tuple[int, int]]:
    """The angle nearest to a right angle between two of the directions, and which two. [degree], in [0, 180]"""
    angle = np.abs(normalise_signed(azimuth_deg[:, None] - azimuth_deg[None, :]))
    first, second = divmod(int(np.argmin(np.abs(angle - 90.0))), len(azimuth_deg))
    return float(angle[first, second]), (first, second)


def fix_of(model: Model, table: SightTable, adjustment: Adjustment, covariance: FloatArray) -> Fix:
    """The answer to a settled adjustment of the sights in ``table`` with its ``covariance``."""
    azimuth = inverse(adjustment.lat_deg, adjustment.lon_deg, table.lat_deg, table.lon_deg)[0]
    angle, pair = best_crossing(azimuth)
    freedom = len(model.sd_deg) - model.unknowns
    fix = Fix(
        lat_deg=adjustment.lat_deg,
        lon_deg=float(normalise_longitude(adjustment.lon_deg)),
        covariance_m2=covariance[:2, :2],
        ellipse=ellipse_of(covariance[:2, :2]),
        sd_deg=model.sd_deg,
        residuals_deg=adjustment.residuals_deg,
        distances_m=adjustment.distances_m,
        crossing_angle_deg=angle,
        crossing_sights=pair,
        degrees_of_freedom=freedom,
        variance_factor=adjustment.cost / freedom if freedom else None,
        compass_error_deg=adjustment.compass_error_deg if model.solve_compass_error else None,
        compass_error_sd_deg=float(np.sqrt(covariance[2, 2])) if model.solve_compass_error else None,
        cautions=(),
    )
    return replace(fix, cautions=_cautions(fix, model, adjustment.redundancy))


def _adjust_from_best(
    model: Model, lat_deg: FloatArray, lon_deg: FloatArray, *, directed: bool
) -> Adjustment | None:
    """The adjustment from the candidate that fits best, or the next where that one gets stuck."""
    cost, error = costs(model, lat_deg, lon_deg, directed=directed)
    exact = len(model.sd_deg) == model.unknowns
    on_known_place: Adjustment | None = None
    for index in np.argsort(cost, kind="stable")[: MOST_EXACT_STARTS if exact else MOST_STARTS]:
        found = adjust(model, float(lat_deg[index]), float(lon_deg[index]), float(error[index]))
        if np.min(found.distances_m) < COINCIDENT_M:
            on_known_place = on_known_place or found
        elif found.settled and not (exact and found.cost > EXACT_COST):
            return found
    if on_known_place is not None:
        raise _fix_on_known_place(on_known_place)
    return None


def _fix_on_known_place(adjustment: Adjustment) -> CoincidentPointsError:
    index = int(np.argmin(adjustment.distances_m))
    return CoincidentPointsError(
        f"the sights meet at the known place of sights/{index} itself, where its own bearing says nothing",
        member=f"sights/{index}",
        allowed="sights that meet away from the places they are tied to",
        details={"sights": [index]},
    )


def _cautions(fix: Fix, model: Model, redundancy: FloatArray) -> tuple[Caution, ...]:
    found: list[Caution | None] = [
        _flat_crossing(fix),
        _no_check(fix, redundancy),
        _large_residual(fix, model, redundancy),
        _weak_geometry(fix, model),
    ]
    return tuple(item for item in found if item is not None)


def _flat_crossing(fix: Fix) -> Caution | None:
    if FLATTEST_CROSSING_DEG <= fix.crossing_angle_deg <= 180.0 - FLATTEST_CROSSING_DEG:
        return None
    return caution(
        "flat_crossing",
        f"The sights cross at {fix.crossing_angle_deg:.1f} degrees at best; under {FLATTEST_CROSSING_DEG:g} or over "
        f"{180.0 - FLATTEST_CROSSING_DEG:g}, a small error in one moves the fix far.",
    )


def _no_check(fix: Fix, redundancy: FloatArray) -> Caution | None:
    if not fix.degrees_of_freedom:
        return caution("no_check")
    unchecked = np.flatnonzero(redundancy < LEAST_REDUNDANCY)
    if not unchecked.size:
        return None
    names = ", ".join(f"sights/{index}" for index in unchecked)
    return caution("no_check", f"The other sights do not check {names}: a blunder there would not show.")


def _large_residual(fix: Fix, model: Model, redundancy: FloatArray) -> Caution | None:
    """Residuals over their own standard deviations, which are less than the sights': W. Baarda, "A testing procedure
    for use in geodetic networks", 1968 (from memory).
    """
    if not fix.degrees_of_freedom:
        return None
    own_sd = model.sd_deg * np.sqrt(np.maximum(redundancy, LEAST_REDUNDANCY))
    standardised = np.abs(fix.residuals_deg) / own_sd
    large = np.flatnonzero(standardised > LARGE_RESIDUAL_SDS)
    if not large.size:
        return None
    misses = ", ".join(f"sights/{index} by {fix.residuals_deg[index]:+.2f} degrees" for index in large)
    return caution(
        "large_residual",
        f"More than {LARGE_RESIDUAL_SDS:g} standard deviations off the fix: {misses}. Suspect a blunder in one of "
        "the sights, not always in the one that is farthest off.",
    )


def _weak_geometry(fix: Fix, model: Model) -> Caution | None:
    """Whether the ellipse is so long that the covariance, which takes lines of sight for parallel bands, misleads."""
    longest, shortest = float(fix.ellipse.semi_major_m), float(np.min(fix.distances_m))
    if longest > LONGEST_ELLIPSE_SHARE * shortest:
        return caution(
            "weak_geometry",
            f"The ellipse's longer semi-axis, {longest:.0f} m, is over half the shortest sight, {shortest:.0f} m: its "
            "true outline is curved and reaches further than stated.",
        )
    if _outline_is_curved(fix, model):
        return caution(
            "weak_geometry",
            f"Along the ellipse's longer semi-axis, {longest:.0f} m, the lines of sight turn: its true outline is "
            "curved and reaches further than stated.",
        )
    return None


def _outline_is_curved(fix: Fix, model: Model) -> bool:
    """Whether the ends of the ellipse's axes fit the sights much better or worse than its outline should."""
    axis = float(fix.ellipse.major_axis_azimuth_deg)
    major, minor = float(fix.ellipse.semi_major_m), float(fix.ellipse.semi_minor_m)
    azimuths = axis + np.array([0.0, 180.0, 90.0, 270.0])
    lat, lon, _back = direct(fix.lat_deg, fix.lon_deg, azimuths, np.array([major, major, minor, minor]))
    rise = costs(model, np.append(lat, fix.lat_deg), np.append(lon, fix.lon_deg))[0]
    share = (rise[:4] - rise[4]) / (-2.0 * np.log1p(-fix.ellipse.confidence))
    return bool(np.any((share < 1.0 / MOST_CURVED) | (share > MOST_CURVED)))
