"""Traverses: a walk or a survey that ends at a known place, its misclosure and its adjusted places.

A closed loop ends where it began, a closed link at another known place. Places are adjusted twice: by the compass rule,
which anyone can do on paper and which is reported, and by least squares, the best that the stated errors allow (condition
adjustment: E. M. Mikhail, "Observations and Least Squares", 1976, from memory). Each has its own covariance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_longitude
from ..cautions import Caution, caution
from ..directions.bearing import back_azimuth
from ..errors import NoLegsError, WalkUnclosableError
from ..estimates.estimate import checked
from ..sights.compass_error import LARGE_COMPASS_ERROR_DEG
from ..sights.ellipse import Ellipse, ellipse_of
from .geodesic import COINCIDENT_M, direct, inverse
from .line import Line, line_between
from .misclosure import CHI_SQUARE_95, Explanation, chi_square_of, compass_rule_shares, explain
from .reckoning import Reckoning, checked_covariance
from .reckoning_errors import ErrorGrowth, plane_vectors, turned

__all__ = ["AdjustedPlaces", "Closure", "Misclosure", "close"]


#: Ellipses of the compass rule are cautioned where they are longer than those of least squares by this factor: with paced
#: legs alone one walk in ten is, with legs by the watch among them half.
MUCH_LONGER = 1.3


@dataclass(frozen=True, slots=True)
class AdjustedPlaces:
    """The n + 1 places of an adjusted walk, longitudes in [-180, 180) [degree], with their covariance of north and east
    errors, shape (n + 1, 2, 2) [square metre], and its ellipses.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    covariance_m2: FloatArray
    ellipse: Ellipse


@dataclass(frozen=True, slots=True)
class Misclosure:
    """From the known end to where the legs lead.

    ``distance_m`` with its parts ``north_m`` and ``east_m`` and its azimuth from true north, at the known end, and
    ``one_in``, the length of the walk over it: both ``None`` under a millimetre. ``chi_square`` is its square over
    ``covariance_m2``, which the stated errors lead to expect on the plane of the walk [square metre]; ``explained``, whether
    it is within what 95 of 100 walks with these errors would miss by.
    """

    distance_m: float
    north_m: float
    east_m: float
    true_azimuth_deg: float | None
    one_in: float | None
    covariance_m2: FloatArray
    chi_square: float
    explained: bool


@dataclass(frozen=True, slots=True)
class Closure:
    """A walk closed on a known end.

    ``loop`` says whether the end is the start itself. ``adjusted`` are the places by the compass rule, with ``legs``, the
    lines between them, and ``corrected_bearing_deg``, each from the north and at the end of the leg that its own bearing
    was from, ``None`` for a halt or beyond the grid. ``best`` are the places by least squares. Where the misclosure is not
    explained, the covariances of both were multiplied by ``variance_factor``.
    """

    loop: bool
    misclosure: Misclosure
    explanation: Explanation | None
    adjusted: AdjustedPlaces
    legs: Line
    corrected_bearing_deg: tuple[float | None, ...]
    best: AdjustedPlaces
    variance_factor: float
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class _End:
    """The known end. ``start_m2`` and ``end_m2``, on the plane of the walk [square metre], are what the errors of the start
    and of the end add to the misclosure: nought for a ``loop``, where they are one and drop out.
    """

    lat_deg: float
    lon_deg: float
    loop: bool
    start_m2: FloatArray
    end_m2: FloatArray


def close(
    reckoning: Reckoning,
    end_lat_deg: float,
    end_lon_deg: float,
    end_covariance_m2: ArrayLike | None = None,
) -> Closure:
    """The walk closed on a known end, latitude in [-90, 90] and longitude in [-180, 360]. [degree]

    An end within a millimetre of the start is the start, and its error the start's. Otherwise ``end_covariance_m2`` is
    that of the end's own north and east errors, shape (2, 2), nought if not given. [square metre]

    Raises
    ------
    OutOfRangeError
        The end is no place, or its covariance none.
    NoLegsError
        The walk consists of halts.
    WalkUnclosableError
        The misclosure is not explained, and longer than the walk.
    """
    end = _known_end(reckoning, end_lat_deg, end_lon_deg, end_covariance_m2)
    misclosure, gap_m = _misclosure(reckoning, end)
    factor = 1.0 if misclosure.explained else misclosure.chi_square / 2.0
    by_the_rule = compass_rule_shares(np.diff(reckoning.walked_m))[:, None, None] * np.eye(2)
    by_least_squares = _least_squares_gains(reckoning.growth, end, misclosure.covariance_m2)
    adjusted, best = (
        _adjusted(reckoning, gains, gap_m, factor * _covariance(reckoning.growth, gains, end))
        for gains in (by_the_rule, by_least_squares)
    )
    zone, south, year = reckoning.zone, reckoning.south, reckoning.decimal_year
    lat, lon = adjusted.lat_deg, adjusted.lon_deg
    legs = line_between(lat[:-1], lon[:-1], lat[1:], lon[1:], year, zone, south)
    explanation = None if end.loop else _explained(reckoning, end)
    return Closure(
        loop=end.loop,
        misclosure=misclosure,
        explanation=explanation,
        adjusted=adjusted,
        legs=legs,
        corrected_bearing_deg=_bearings(reckoning, legs),
        best=best,
        variance_factor=factor,
        cautions=(
            *_misclosure_cautions(reckoning, misclosure),
            *_rule_cautions(adjusted, best),
            *_explanation_cautions(explanation),
        ),
    )


def _known_end(reckoning: Reckoning, lat_deg: float, lon_deg: float, covariance_m2: ArrayLike | None) -> _End:
    lat = float(checked("end_lat_deg", lat_deg, -90.0, 90.0))
    lon = float(normalise_longitude(checked("end_lon_deg", lon_deg, -180.0, 360.0)))
    covariance = checked_covariance("end_covariance_m2", covariance_m2)
    walk = reckoning.walk
    if reckoning.walked_m[-1] < COINCIDENT_M:
        raise NoLegsError("the walk leads nowhere", member="legs", allowed="a leg that is no halt")
    if float(inverse(walk.lat_deg[0], walk.lon_deg[0], lat, lon)[2]) < COINCIDENT_M:
        return _End(lat, lon, True, np.zeros((2, 2)), np.zeros((2, 2)))
    return _End(lat, lon, False, reckoning.growth.start_m2, turned(covariance, -walk.turned_deg[-1]))


def _misclosure(reckoning: Reckoning, end: _End) -> tuple[Misclosure, FloatArray]:
    """The misclosure, and its vector on the plane of the walk. [metre]"""
    walk, walked_m = reckoning.walk, float(reckoning.walked_m[-1])
    line = inverse(walk.lat_deg[-1], walk.lon_deg[-1], end.lat_deg, end.lon_deg)
    to_end_deg, azimuth_deg, distance_m = (float(value) for value in line)
    distinct = distance_m >= COINCIDENT_M
    distance_m = distance_m if distinct else 0.0
    gap_m = plane_vectors(back_azimuth(to_end_deg) - walk.turned_deg[-1], distance_m)
    north_m, east_m = plane_vectors(azimuth_deg, distance_m).tolist()
    covariance_m2 = reckoning.growth.walk_m2[-1] + end.start_m2 + end.end_m2
    chi_square = chi_square_of(gap_m, covariance_m2)
    explained = chi_square <= CHI_SQUARE_95
    if distance_m > walked_m and not explained:
        raise WalkUnclosableError(
            f"the legs are {walked_m:.0f} m long together and lead {distance_m:.0f} m away from the end given",
            member="end",
            allowed="an end that the legs lead near to",
        )
    return (
        Misclosure(
            distance_m=distance_m,
            north_m=north_m,
            east_m=east_m,
            true_azimuth_deg=azimuth_deg if distinct else None,
            one_in=walked_m / distance_m if distinct else None,
            covariance_m2=covariance_m2,
            chi_square=chi_square,
            explained=explained,
        ),
        gap_m,
    )


def _least_squares_gains(growth: ErrorGrowth, end: _End, misclosure_m2: FloatArray) -> FloatArray:
    """What least squares takes off each place for a misclosure, shape (n + 1, 2, 2): its covariance with it over its own."""
    with_misclosure_m2 = end.start_m2 + growth.random_m2 + growth.shared_m @ growth.shared_m[-1].T
    return np.asarray(with_misclosure_m2 @ np.linalg.inv(misclosure_m2))


def _covariance(growth: ErrorGrowth, gains: FloatArray, end: _End) -> FloatArray:
    """Covariance of places that ``gains`` times the misclosure was taken off, on the plane of the walk. [square metre]

    What a place keeps of the errors up to it is the unit matrix less its gain; of those after it, it gets the gain.
    """
    kept = np.eye(2) - gains
    later_m2 = growth.random_m2[-1] - growth.random_m2
    shared_m = growth.shared_m - gains @ growth.shared_m[-1]
    of_start_m2 = growth.start_m2 if end.loop else _carried(kept, growth.start_m2)
    return np.asarray(
        of_start_m2
        + _carried(kept, growth.random_m2)
        + _carried(gains, later_m2 + end.end_m2)
        + shared_m @ np.swapaxes(shared_m, 1, 2)
    )


def _carried(matrix: FloatArray, covariance_m2: FloatArray) -> FloatArray:
    return np.asarray(matrix @ covariance_m2 @ np.swapaxes(matrix, 1, 2))


def _adjusted(
    reckoning: Reckoning, gains: FloatArray, gap_m: FloatArray, covariance_m2: FloatArray
) -> AdjustedPlaces:
    """The places with ``gains`` times the misclosure taken off, each from its own north."""
    walk = reckoning.walk
    shift_m = -(gains @ gap_m)
    azimuth_deg = np.degrees(np.arctan2(shift_m[:, 1], shift_m[:, 0])) + walk.turned_deg
    lat_deg, lon_deg, _back = direct(walk.lat_deg, walk.lon_deg, azimuth_deg, np.hypot(*shift_m.T))
    covariance = turned(covariance_m2, walk.turned_deg)
    return AdjustedPlaces(lat_deg, lon_deg, covariance, ellipse_of(covariance))


def _explained(reckoning: Reckoning, end: _End) -> Explanation | None:
    """The turn and the stretch about the start that bring the reckoned end to the known one."""
    walk = reckoning.walk
    lat, lon = np.array([walk.lat_deg[-1], end.lat_deg]), np.array([walk.lon_deg[-1], end.lon_deg])
    azimuth_deg, _back, distance_m = inverse(walk.lat_deg[0], walk.lon_deg[0], lat, lon)
    reckoned_m, known_m = plane_vectors(azimuth_deg, distance_m)
    return explain(reckoned_m, known_m, reckoning.growth, end.start_m2 + end.end_m2)


def _bearings(reckoning: Reckoning, legs: Line) -> tuple[float | None, ...]:
    """The bearing of each adjusted leg as its own was given."""
    bearings = []
    for index, leg in enumerate(reckoning.legs):
        azimuths = getattr(legs, f"{leg.north}_{'back_' if leg.back else ''}azimuth_deg")
        bearing = float(azimuths[index])
        bearings.append(bearing if math.isfinite(bearing) else None)
    return tuple(bearings)


def _misclosure_cautions(reckoning: Reckoning, misclosure: Misclosure) -> list[Caution]:
    """Those of the reckoning, but that nothing checks it, and one where the misclosure is not explained."""
    found = [each for each in reckoning.cautions if each.code != "reckoned_only"]
    if misclosure.explained:
        return found
    times = math.sqrt(misclosure.chi_square / CHI_SQUARE_95)
    message = (
        f"The walk misses its known end by {misclosure.distance_m:.0f} m, {times:.1f} times as far as the stated errors "
        "explain: the ellipses were widened; look for a blunder in a leg, or in the start or the end."
    )
    return [*found, caution("misclosure_unexplained", message)]


def _rule_cautions(adjusted: AdjustedPlaces, best: AdjustedPlaces) -> list[Caution]:
    longer = adjusted.ellipse.semi_major_m[1:-1] > MUCH_LONGER * best.ellipse.semi_major_m[1:-1]
    return [caution("compass_rule_coarse")] if np.any(longer) else []


def _explanation_cautions(explanation: Explanation | None) -> list[Caution]:
    if explanation is None:
        return []
    found = []
    if abs(explanation.compass_error_deg) > LARGE_COMPASS_ERROR_DEG:
        message = f"A compass error of {explanation.compass_error_deg:+.1f} degrees would explain the misclosure: look for "
        found.append(caution("large_compass_error", f"{message}iron, a wrong north or a wrong leg first."))
    if not (explanation.compass_error_credible and explanation.length_error_credible):
        found.append(caution("correction_not_credible"))
    return found
