"""Why observations fix no place: the named error for each geometry that has no answer."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np

from ..angle import FloatArray
from ..cautions import observation_name
from ..errors import (
    CoincidentPointsError,
    CompassErrorUnsolvableError,
    DangerCircleError,
    NavigationError,
    NoSolutionError,
    ObservationsDoNotMeetError,
    ObservationsTouchError,
    ParallelSightsError,
    SightsCrossBehindError,
    TooFewObservationsError,
)
from ..sights.adjustment import one_sd_m, wrap_line
from ..sights.compass_error import (
    DANGER_CIRCLE_STRETCH,
    check_compass_error_solvable,
    check_off_danger_circle,
)
from ..sights.crossing import FLATTEST_CROSSING_DEG, best_crossing
from ..sights.settle import LARGE_RESIDUAL_SDS, SURELY_BEHIND_SDS
from ..sights.sight import SightTable, distinct_places
from .fixed_place import fixed_place, stretch_of
from .mixed_solution import FITTING_COST, Problem, Settled
from .observation import KINDS
from .observation_model import wrapped
from .observation_table import ObservationTable

__all__ = ["check_angles_tell", "check_enough", "kinds_of", "no_fit", "nothing_crosses", "points_away"]

#: Below this the observations meet. The weighted square sum of what is left.
MEETING_COST = 1e-6
ORDER = tuple(KINDS.values())


def check_enough(problem: Problem) -> None:
    """Raise `TooFewObservationsError`, with how many there are of each kind, where the unknowns need more."""
    table = problem.table
    kinds = kinds_of(table)
    shared = int(np.count_nonzero(table.same_compass))
    enough = table.count >= problem.unknowns and (not problem.solve_compass_error or shared >= 2)
    if enough:
        return
    counted = Counter(kinds)
    said = ", ".join(f"{counted[kind]} {kind}" for kind in ORDER if counted[kind])
    needed = f"at least {problem.unknowns} observations"
    if problem.solve_compass_error:
        needed += ", two of them bearings read on the compass whose error is solved for"
    raise TooFewObservationsError(
        f"{said or 'none'} given where {needed} are needed",
        member="observations",
        value=table.count,
        allowed=needed,
        details={"counted": dict(counted)},
    )


def check_angles_tell(problem: Problem, sd: FloatArray) -> None:
    """Refuse bearings of one unknown compass error alone that fit an observer anywhere on the circle through their marks.

    ``sd``, with those of the known places once these can be told. [degree]

    Raises
    ------
    CompassErrorUnsolvableError, DangerCircleError
        From `compass_error`.
    """
    table = problem.table
    if not problem.solve_compass_error or not table.same_compass.all() or len(table.to) < table.count:
        return
    sights = SightTable(table.lat_deg, table.lon_deg, table.reading, sd)
    apart = distinct_places(sights, problem.unknowns)
    angles = np.abs(wrap_line(table.reading[:, None] - table.reading[None, :]))
    check_compass_error_solvable(angles, sd, apart)
    check_off_danger_circle(sights, apart)


def kinds_of(table: ObservationTable) -> list[str]:
    """The kind of each observation, in words."""
    return [KINDS[type(each)] for each in table.observations]


def no_fit(problem: Problem, settled: Settled) -> NavigationError:
    """The error for observations that no place fits, by the best of the places tried."""
    trial = settled.trial
    for index in np.argsort(trial.cost, kind="stable").tolist():
        if not trial.settled[index] or trial.cost[index] > max(MEETING_COST, trial.cost.min() * 1.01):
            continue
        if settled.at_place[index]:
            return _at_known_place(problem, settled, index)
        if settled.away[index].any() and trial.cost[index] <= FITTING_COST:
            return _behind(problem, settled, index)
    index = int(np.argmin(trial.cost))
    if settled.at_place[index]:
        return _at_known_place(problem, settled, index)
    if not problem.spare and trial.cost[index] > FITTING_COST:
        return _apart(problem, settled, index)
    return NoSolutionError("no place fits the observations", member="observations")


def points_away(problem: Problem, settled: Settled) -> NavigationError:
    """The error for a best place, of observations to spare, that sights point away from."""
    left = wrapped(settled.trial.evaluation.misses[0], problem.table.period) / settled.sd
    if np.max(np.abs(left)) > LARGE_RESIDUAL_SDS:
        return NoSolutionError(
            "the observations contradict each other: no place fits them", member="observations"
        )
    return _behind(problem, settled, 0)


def nothing_crosses(problem: Problem, settled: Settled, index: int) -> NavigationError:
    """The error for a place that the observations leave a direction of unknown."""
    table = problem.table
    kinds = set(kinds_of(table))
    azimuth = settled.trial.evaluation.rays.azimuth_deg[index]
    if kinds <= {"bearing_to", "bearing_from"} and not problem.solve_compass_error:
        return ParallelSightsError(
            "the sights cross too flatly for their standard deviations to fix a place",
            member="observations",
            allowed="sights that cross nearer to a right angle",
        )
    if kinds == {"angle"} or (problem.solve_compass_error and kinds <= {"bearing_to", "angle"}):
        angle, _pair = best_crossing(azimuth)
        if FLATTEST_CROSSING_DEG <= angle <= 180.0 - FLATTEST_CROSSING_DEG or not problem.solve_compass_error:
            return DangerCircleError(
                "the marks and the observer lie on one circle, as near as the observations can tell",
                member="observations",
                allowed="a mark well off the circle through the others and the observer",
            )
        return CompassErrorUnsolvableError(
            f"the directions of the marks differ by {angle:.1f} degrees at best, too near to one line for the compass "
            "error to be told from the place",
            member="observations",
            allowed="marks spread around the horizon",
        )
    return ObservationsTouchError(
        "where they are nearest, the observations run alongside each other: the place could lie anywhere along them",
        member="observations",
        allowed="observations whose lines of position cross",
    )


def _at_known_place(problem: Problem, settled: Settled, index: int) -> CoincidentPointsError:
    table = problem.table
    tied = np.concatenate((table.to, table.frm, table.angle, table.right))
    distance = settled.trial.evaluation.rays.distance_m[index, tied]
    column = int(tied[np.argmin(distance)])
    row = column if column < table.count else int(table.angle[column - table.count])
    return CoincidentPointsError(
        f"the observations meet at the known place of {observation_name(row)} itself, where its own direction says nothing",
        member=f"observations/{row}",
        allowed="observations that meet away from the places they are tied to",
        details={"observations": [row]},
    )


def _behind(problem: Problem, settled: Settled, index: int) -> NavigationError:
    """Surely behind, or so flat a crossing or so near to the known place that noise alone may have put it there."""
    place = fixed_place(problem, settled, index)
    reach_m = math.inf if place is None else SURELY_BEHIND_SDS * one_sd_m(place.covariance_m2)
    away = [
        row
        for row in np.flatnonzero(settled.away[index]).tolist()
        if _distance(settled, index, row) > reach_m
    ]
    if not away or (place is not None and stretch_of(place) > DANGER_CIRCLE_STRETCH):
        return nothing_crosses(problem, settled, index)
    names = ", ".join(observation_name(row) for row in away)
    return SightsCrossBehindError(
        f"the observations meet where {names} point{'s' if len(away) == 1 else ''} away from",
        member=f"observations/{away[0]}",
        allowed="bearings toward the place where the observations meet",
        details={"observations": away},
    )


def _distance(settled: Settled, index: int, row: int) -> float:
    return float(settled.trial.evaluation.rays.distance_m[index, row])


def _apart(problem: Problem, settled: Settled, index: int) -> ObservationsDoNotMeetError:
    """Where they come nearest, with what each would have to be off by."""
    table = problem.table
    left = wrapped(settled.trial.evaluation.misses[index], table.period)
    lengths = table.circle > 360.0
    gap_m = float(np.abs(left[lengths]).sum()) if lengths.all() else None
    said = ", ".join(
        f"{observation_name(row)} by {miss:+.1f} {'m' if length else 'degrees'}"
        for row, (miss, length) in enumerate(zip(left.tolist(), lengths.tolist(), strict=True))
        if abs(miss) > 0.05
    )
    gap = f"; {gap_m:.1f} m are between them" if gap_m is not None else ""
    return ObservationsDoNotMeetError(
        f"where the observations come nearest to each other they still miss: {said}{gap}",
        member="observations",
        value=gap_m,
        allowed="observations that have a place in common",
        details={"misses": [round(miss, 4) for miss in left.tolist()]},
    )
