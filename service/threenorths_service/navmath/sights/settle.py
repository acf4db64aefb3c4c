"""Settling on a place: from where to start, which of several to take, and whether the sights look at it."""

from __future__ import annotations

import numpy as np

from ..angle import FloatArray
from ..cautions import sight_name
from ..errors import CoincidentPointsError, NoSolutionError, ParallelSightsError, SightsCrossBehindError
from ..lines.geodesic import COINCIDENT_M
from .adjustment import Adjustment, Model, adjust, costs, one_sd_m, wrap_line

__all__ = ["LARGE_RESIDUAL_SDS", "MEETING_SHARE", "check_ahead", "check_fixed", "pointing_away", "settle"]

#: A residual of more than this many of its own standard deviations is cautioned: one in 370 is, without a blunder.
LARGE_RESIDUAL_SDS = 3.0

#: Sights without redundancy fit exactly; a cost above this is a place where the adjustment got stuck.
EXACT_COST = 1e-6

#: Noise does not put a place behind a known one that is farther off than this many standard deviations of the place.
SURELY_BEHIND_SDS = 3.0

#: A place nearer to a known one than this share of its standard deviation is that known place.
MEETING_SHARE = 0.001

#: A quarter of the way round the globe: no line of sight is longer. [metre]
FARTHEST_M = 10_000_000.0

#: Starting places that are tried, those that fit best first.
MOST_STARTS = 3
#: The same without redundancy, where a start that leads nowhere shows and the next one may not.
MOST_EXACT_STARTS = 10


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


def check_ahead(model: Model, adjustment: Adjustment) -> None:
    """Refuse a place that sights point away from, naming them.

    Raises
    ------
    NoSolutionError
        The lines do not fit the place either, so it does not tell which bearing is wrong.
    ParallelSightsError
        They fit, but cross so flatly or so near to the known place that noise alone may have put the place behind.
    SightsCrossBehindError
        They fit, and surely cross behind.
    """
    away = pointing_away(adjustment)
    if not away:
        return
    if np.max(np.abs(wrap_line(adjustment.residuals_deg)) / model.sd_deg) > LARGE_RESIDUAL_SDS:
        raise NoSolutionError("the sights contradict each other: no place fits them", member="sights")
    reach_m = SURELY_BEHIND_SDS * one_sd_m(check_fixed(adjustment))
    away = [index for index in away if adjustment.distances_m[index] > reach_m]
    if not away:
        raise _too_flat()
    names = ", ".join(f"{sight_name(index)}" for index in away)
    raise SightsCrossBehindError(
        f"the lines cross where {names} point{'s' if len(away) == 1 else ''} away from",
        member=f"sights/{away[0]}",
        allowed="bearings toward the place where the lines cross",
        details={"sights": away},
    )


def check_fixed(adjustment: Adjustment) -> FloatArray:
    """The covariance; `ParallelSightsError` where one standard deviation reaches beyond the farthest known place."""
    covariance = adjustment.covariance
    if covariance is None or one_sd_m(covariance) > np.max(adjustment.distances_m):
        raise _too_flat()
    return covariance


def _too_flat() -> ParallelSightsError:
    return ParallelSightsError(
        "the sights cross too flatly for their standard deviations to fix a place",
        member="sights",
        allowed="sights that cross nearer to a right angle",
    )


def _adjust_from_best(
    model: Model, lat_deg: FloatArray, lon_deg: FloatArray, *, directed: bool
) -> Adjustment | None:
    """The adjustment from the candidate that fits best, or the next where that one gets stuck."""
    cost, error = costs(model, lat_deg, lon_deg, directed=directed)
    exact = len(model.sd_deg) == model.unknowns
    on_known_place: Adjustment | None = None
    for index in np.argsort(cost, kind="stable")[: MOST_EXACT_STARTS if exact else MOST_STARTS]:
        found = adjust(model, float(lat_deg[index]), float(lon_deg[index]), float(error[index]))
        if _meets_known_place(found):
            on_known_place = on_known_place or found
        elif (
            found.settled
            and np.max(found.distances_m) < FARTHEST_M
            and not (exact and found.cost > EXACT_COST)
        ):
            return found
    if on_known_place is not None:
        raise _fix_on_known_place(on_known_place)
    return None


def _meets_known_place(adjustment: Adjustment) -> bool:
    """Whether the place found is a known one, to a thousandth of what the sights can tell.

    So near, the direction from the known place turns with the last digits, and the adjustment creeps on.
    """
    nearest_m = float(np.min(adjustment.distances_m))
    if adjustment.covariance is None:
        return nearest_m < COINCIDENT_M
    return nearest_m < max(COINCIDENT_M, MEETING_SHARE * one_sd_m(adjustment.covariance))


def _fix_on_known_place(adjustment: Adjustment) -> CoincidentPointsError:
    index = int(np.argmin(adjustment.distances_m))
    return CoincidentPointsError(
        f"the sights meet at the known place of {sight_name(index)} itself, where its own bearing says nothing",
        member=f"sights/{index}",
        allowed="sights that meet away from the places they are tied to",
        details={"sights": [index]},
    )
