"""Blunders among the observations of a fix: which one contradicts the others, and the fix without it.

Each observation is left out in turn and the place is settled anew by the others, which finds it where they agree however
wrong the one is: data snooping (W. Baarda, "A testing procedure for use in geodetic networks", Netherlands Geodetic
Commission, Publications on Geodesy, New Series 2(5), 1968, from memory) with residuals from the fix that the suspect had no
part in, so that a large blunder does not hide by bending it. Where more than one is wrong the worst is left out first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..angle import FloatArray
from .fixed_place import FixedPlace, fixed_place
from .mixed_answer import MixedFix
from .mixed_solution import Problem, Settled, settle_again
from .mixed_trust import variance_factor_limit

__all__ = [
    "CRITICAL_VALUE",
    "LEAST_OBSERVATIONS",
    "NOT_LOOKED_AT",
    "Suspect",
    "Verdict",
    "look_for_blunders",
    "worth_a_look",
]

#: The standard normal deviate that one in a thousand exceeds, either way: Baarda's, from memory.
CRITICAL_VALUE = 3.29
#: With fewer observations a blunder shows, but not whose it is.
LEAST_OBSERVATIONS = 4
#: Only where the fix of all shows a standardised residual beyond this is each left out in turn: a blunder that would then
#: be beyond the critical value never leaves them all below it.
WORTH_A_LOOK = 2.6
MOST_SUSPECTS = 3


@dataclass(frozen=True, slots=True)
class Suspect:
    """An observation that contradicts the others.

    ``row``; ``residual``, read less what the place without it leads to expect, within 180 degrees either way [degree or
    metre]; ``sd``, the standard deviation of that; ``test``, the one over the other, beyond the critical value;
    ``rivals``, other observations that leave the rest as well agreed when they are left out in its stead.
    """

    row: int
    residual: float
    sd: float
    test: float
    rivals: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found: the suspects, the worst first, and the place without them, ``None`` where none is suspected.

    ``located`` says whether the one observation can be told from others that could be wrong in its stead. ``tests``, shape
    (n,), of each observation against the fix of all the others; ``None`` where nothing was worth a look, or too few.
    """

    suspects: tuple[Suspect, ...]
    without: FixedPlace | None
    tests: FloatArray | None

    @property
    def located(self) -> bool:
        """Whether no suspect has a rival."""
        return not any(suspect.rivals for suspect in self.suspects)


NOT_LOOKED_AT = Verdict((), None, None)


def look_for_blunders(problem: Problem, settled: Settled) -> Verdict:
    """The observations that contradict the others, whether or not all together fit a place.

    Fewer than `LEAST_OBSERVATIONS` name nobody.
    """
    count = problem.table.count
    if count < LEAST_OBSERVATIONS or problem.spare < 2:
        return NOT_LOOKED_AT
    counted = np.ones(count)
    index = 0
    suspects: list[Suspect] = []
    without: FixedPlace | None = None
    first_tests: FloatArray | None = None
    while len(suspects) < MOST_SUSPECTS and counted.sum() - problem.unknowns >= 2:
        tried = _left_out(problem, settled, index, counted)
        tests = np.array([0.0 if each is None else each.suspect.test for each in tried])
        if first_tests is None:
            first_tests = tests
        found = _worst(problem, counted, tried)
        if found is None:
            break
        suspects.append(found.suspect)
        counted[found.suspect.row] = 0.0
        settled, index, without = found.settled, found.index, found.place
    return Verdict(tuple(suspects), without, first_tests)


def worth_a_look(fix: MixedFix) -> bool:
    """Whether a fix shows anything that a blunder could be behind."""
    limit = fix.variance_factor_limit or np.inf
    away = bool(fix.settled.away[0].any())
    return (
        away
        or (fix.variance_factor or 0.0) > limit
        or float(np.abs(fix.best.standardised).max()) > WORTH_A_LOOK
    )


@dataclass(frozen=True, slots=True)
class _LeftOut:
    """The fix without one observation, and that observation against it."""

    suspect: Suspect
    place: FixedPlace
    settled: Settled
    index: int
    factor: float


def _left_out(problem: Problem, settled: Settled, index: int, counted: FloatArray) -> list[_LeftOut | None]:
    """For each observation the fix of the others counted; ``None`` where they make none, or it is not counted itself."""
    counts = np.tile(counted, (len(counted), 1))
    np.fill_diagonal(counts, 0.0)
    again = settle_again(problem, settled, index, counts)
    found: list[_LeftOut | None] = []
    for row in range(len(counted)):
        place = None
        if counted[row] and again.fits[row]:
            place = fixed_place(problem, again, row, counts[row])
        found.append(None if place is None else _held_against(problem, again, place, row, counts[row]))
    return found


def _held_against(
    problem: Problem, again: Settled, place: FixedPlace, row: int, counts: FloatArray
) -> _LeftOut:
    """One observation against the place without it: its error less what those of the others did to the place."""
    sd = float(np.sqrt(place.trust.residual_covariance[row, row]))
    suspect = Suspect(row, float(place.residuals[row]), sd, float(place.standardised[row]), ())
    return _LeftOut(suspect, place, again, row, _factor(place, counts, problem.unknowns))


def _factor(place: FixedPlace, counts: FloatArray, unknowns: int) -> float:
    """The variance factor of the observations counted, 1 where there is none to spare."""
    rows = np.flatnonzero(counts)
    if len(rows) <= unknowns:
        return 1.0
    shown = np.diagonal(place.trust.residual_covariance)[rows] / place.sd[rows] ** 2
    return float(np.sum((place.residuals[rows] / place.sd[rows]) ** 2) / shown.sum())


def _worst(problem: Problem, counted: FloatArray, tried: list[_LeftOut | None]) -> _LeftOut | None:
    """Of those beyond the critical value, the one without which the others agree best, with its rivals."""
    beyond = [each for each in tried if each is not None and abs(each.suspect.test) > CRITICAL_VALUE]
    if not beyond:
        return None
    spare = int(counted.sum()) - problem.unknowns - 1
    best = min(beyond, key=lambda each: each.factor)
    limit = variance_factor_limit(spare)
    rivals = [
        each.suspect.row
        for each in tried
        if each is not None and each is not best and best.factor <= limit and each.factor <= limit
    ]
    return replace(best, suspect=replace(best.suspect, rivals=tuple(rivals)))
