"""A place fixed from any mixture of observations: the door.

Bearings to known marks and from known places, distances, angles between marks and lines stood on are one problem of weighted
least squares. Where the observations fit several places, all are given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..errors import (
    CoincidentPointsError,
    OutsideGridError,
    ParallelSightsError,
    TooFewObservationsError,
)
from ..grids.grid import within_reach
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..sights.crossing import LEAST_PARALLEL_DEG
from ..sights.ellipse import CONFIDENCE, Ellipse, ellipse_of
from .fixed_place import FixedPlace, fixed_place
from .likelihood import ellipse_shares
from .mixed_answer import MixedFix, check_agreement, mixed_cautions
from .mixed_solution import FITTING_COST, Problem, Settled, settle_all
from .mixed_trust import variance_factor_limit
from .no_fix import check_angles_tell, check_enough, kinds_of, no_fit, nothing_crosses
from .observation import Observation
from .observation_table import table_of_observations

__all__ = ["fix_from", "fix_of_settled", "problem_of"]

#: Places given where several fit.
MOST_PLACES = 20


def fix_from(
    observations: Sequence[Observation],
    decimal_year: float | None = None,
    solve_compass_error: bool = False,
) -> MixedFix:
    """The place, or the places, that observations fix.

    Parameters
    ----------
    observations : sequence of Observation
        Two or more of any kinds.
    decimal_year : float, optional
        Needed for magnetic bearings.
    solve_compass_error : bool
        Whether to solve for an angle that every bearing read on the same compass has too much, as well. It needs one
        observation more, and two such bearings.

    Raises
    ------
    TooFewObservationsError, OutOfRangeError, OutsideGridError, DateMissingError, MagneticUselessError
        What was given makes no fix.
    CoincidentPointsError
        The observations are tied to one place, or meet at a place that one is tied to.
    ParallelSightsError, ObservationsTouchError, DangerCircleError, CompassErrorUnsolvableError
        The lines of position do not cross, as near as the standard deviations can tell.
    SightsCrossBehindError, ObservationsDoNotMeetError
        They cross behind a sight, or nowhere.
    NoSolutionError
        The observations contradict each other.
    """
    problem = problem_of(observations, decimal_year, solve_compass_error)
    settled = settle_all(problem)
    if not settled.fits.any():
        raise no_fit(problem, settled)
    fix = fix_of_settled(problem, settled)
    check_agreement(fix)
    return fix


def fix_of_settled(problem: Problem, settled: Settled) -> MixedFix:
    """The fix of places settled on, one of which fits, also where observations contradict it; errors as for `fix_from`."""
    places = _places(problem, settled)
    check_angles_tell(problem, places[0].sd)
    _check_reach(problem, places[0])
    return _fix(problem, settled, places)


def problem_of(
    observations: Sequence[Observation], decimal_year: float | None, solve_compass_error: bool
) -> Problem:
    """The observations as a checked problem; the errors are those of `fix_from`."""
    if not observations:
        raise _nothing()
    table = table_of_observations(observations, decimal_year, solve_compass_error)
    problem = Problem(table, decimal_year, solve_compass_error)
    check_enough(problem)
    _check_places(problem)
    check_angles_tell(problem, problem.table.sd)
    return problem


def _nothing() -> TooFewObservationsError:
    return TooFewObservationsError(
        "none given where at least 2 observations are needed",
        member="observations",
        value=0,
        allowed="at least 2 observations",
        details={"counted": {}},
    )


def _check_places(problem: Problem) -> None:
    """Refuse observations that are all of one kind and of one place, which say one thing only."""
    table = problem.table
    seconds = dict(zip(table.angle.tolist(), table.right.tolist(), strict=True))
    said = set()
    for row, kind in enumerate(kinds_of(table)):
        what = "bearing" if kind in ("bearing_to", "bearing_from") else kind
        second = seconds.get(row, row)
        own = row if kind == "line" else -1  # a line is of no one place
        said.add((what, own, *(float(table.lat_deg[at]) for at in (row, second)), float(table.lon_deg[row])))
    if len(said) < 2:
        raise CoincidentPointsError(
            f"all {table.count} observations are of the same kind and tied to the same place",
            member="observations/1",
            allowed="observations of different kinds, or tied to different places",
            details={"observations": [0, 1]},
        )


def _places(problem: Problem, settled: Settled) -> tuple[FixedPlace, ...]:
    """The places that fit, those that a direction is left unknown of left out."""
    least = float(np.sum(settled.directed[0] ** 2))
    found: list[FixedPlace] = []
    for index in np.flatnonzero(settled.fits).tolist():
        rival = float(np.sum(settled.directed[index] ** 2)) <= least + FITTING_COST
        if index and problem.spare and (not rival or settled.away[index].any()):
            continue
        place = fixed_place(problem, settled, index)
        if place is not None:
            found.append(place)
    if not found:
        raise nothing_crosses(problem, settled, 0)
    return tuple(found[:MOST_PLACES])


def _check_reach(problem: Problem, place: FixedPlace) -> None:
    """A national grid has no north beyond its area: a fix out there stands on one that was only lent to the search."""
    for (north, zone, _south), rows in problem.table.norths:
        if north != "grid" or zone is None or zone < FIRST_EPSG_CODE:
            continue
        if not within_reach(place.lat_deg, place.lon_deg, zone, False):
            raise OutsideGridError(
                "the observations put the place beyond the reach of the grid that bearings are said to be from",
                member=f"observations/{rows[0]}",
                value=zone,
                allowed="the grid that the bearings were read on",
            )


def _fix(problem: Problem, settled: Settled, places: tuple[FixedPlace, ...]) -> MixedFix:
    best, spare = places[0], problem.spare
    factor = limit = posterior = None
    widening = 1.0
    if spare:
        shown = best.trust.residual_covariance / np.outer(best.sd, best.sd)
        factor = float(np.sum((best.residuals / best.sd) ** 2) / np.trace(shown))
        limit = variance_factor_limit(spare)
        posterior = _scaled(best, factor * _f_over_chi_square(spare))
        if factor > limit:
            widening = factor
    angle, pair = _best_crossing(best.design[:, :2])
    _check_not_parallel(problem, angle, pair)
    fix = MixedFix(
        places,
        tuple(kinds_of(problem.table)),
        spare,
        factor,
        limit,
        best.ellipse if widening == 1.0 else _scaled(best, widening),
        widening,
        posterior,
        angle,
        pair,
        ellipse_shares(problem, best),
        (),
        problem,
        settled,
    )
    return MixedFix(
        **{name: getattr(fix, name) for name in fix.__slots__ if name != "cautions"},
        cautions=mixed_cautions(fix),
    )


def _scaled(place: FixedPlace, factor: float) -> Ellipse:
    return ellipse_of(place.covariance_m2 * factor)


def _f_over_chi_square(degrees_of_freedom: int) -> float:
    """By how much an ellipse grows when the spread is had from the residuals: twice the F quantile over chi-square's.

    With two degrees of freedom above, F has the closed form ``P(F > x) = (1 + 2 x / f)^(-f / 2)``.
    """
    rest = 1.0 - CONFIDENCE
    twice_f = degrees_of_freedom * (rest ** (-2.0 / degrees_of_freedom) - 1.0)
    return float(twice_f / (-2.0 * math.log(rest)))


def _best_crossing(design: FloatArray) -> tuple[float, tuple[int, int]]:
    """The angle nearest to a right angle at which two lines of position cross, in [0, 90], and which two. [degree]"""
    across = np.degrees(np.arctan2(design[:, 1], design[:, 0]))
    angle = np.abs(normalise_signed(2.0 * (across[:, None] - across[None, :])) / 2.0)
    angle = np.where(np.hypot(design[:, 0], design[:, 1]) > 0.0, angle, 0.0)
    first, second = divmod(int(np.argmax(angle)), len(design))
    return float(angle[first, second]), (min(first, second), max(first, second))


def _check_not_parallel(problem: Problem, angle_deg: float, pair: tuple[int, int]) -> None:
    """Bearings alone must cross at more than their standard deviations together; see `crossing.check_not_parallel`."""
    table = problem.table
    if problem.solve_compass_error or len(table.to) + len(table.frm) < table.count:
        return
    least = max(float(np.hypot(table.sd[pair[0]], table.sd[pair[1]])), LEAST_PARALLEL_DEG)
    if angle_deg < least:
        raise ParallelSightsError(
            f"the sights cross at {angle_deg:.2f} degrees at best, where {least:.2f} are needed for standard deviations "
            "such as theirs",
            member="observations",
            value=angle_deg,
            allowed=f"a crossing of at least {least:.2f} degrees",
            details={"observations": list(pair)},
        )
