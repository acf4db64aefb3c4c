"""A fix with its observations checked against each other: the door that names a blunder before it refuses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..cautions import Caution, caution, observation_name
from ..errors import NavigationError
from .blunder import NOT_LOOKED_AT, Verdict, look_for_blunders, worth_a_look
from .blunder_explanation import Explanation, explanations_of
from .mixed_answer import MixedFix, check_agreement, mixed_cautions
from .mixed_fix import fix_from, fix_of_settled, problem_of
from .mixed_solution import Problem, settle_all
from .no_fix import no_fit
from .observation import Observation

__all__ = ["CheckedFix", "checked_fix"]


@dataclass(frozen=True, slots=True)
class CheckedFix:
    """The fix of all observations, what contradicts it, and what may explain that.

    ``fix`` is ``None`` where all together fit no place, and only without the suspects do the others. ``verdict.without`` is
    the place without the suspects. ``explanations``, those of each suspect in their order; an empty one says that no slip
    tried explains it. ``without``, the whole fix of the observations ``kept``, for its regions and cautions: ``None`` where
    nothing is suspected, or where by themselves they make none. ``cautions``, of ``fix``, or where there is none of
    ``without``, and that something is suspected.
    """

    fix: MixedFix | None
    problem: Problem
    verdict: Verdict
    explanations: tuple[tuple[Explanation, ...], ...]
    kept: tuple[int, ...]
    without: MixedFix | None
    cautions: tuple[Caution, ...]


def checked_fix(
    observations: Sequence[Observation],
    decimal_year: float | None = None,
    solve_compass_error: bool = False,
    units: Sequence[str] | None = None,
    other_marks: Sequence[tuple[float, float]] = (),
) -> CheckedFix:
    """The fix of `mixed_fix.fix_from`, and with four observations or more the search for a blunder.

    Parameters
    ----------
    units : sequence of str, optional
        The unit each observation's angle was written in, a key of `angle.CIRCLE_DIVISIONS`; degrees where left out.
    other_marks : sequence of (lat_deg, lon_deg)
        Places that may have been taken for the known ones.

    Raises
    ------
    NavigationError
        As `mixed_fix.fix_from`; but observations that contradict each other, or point away, are answered where leaving out
        a suspect makes the others agree.
    """
    problem = problem_of(observations, decimal_year, solve_compass_error)
    settled = settle_all(problem)
    fix = fix_of_settled(problem, settled) if settled.fits.any() else None
    verdict = NOT_LOOKED_AT
    if fix is None or worth_a_look(fix):
        verdict = look_for_blunders(problem, settled)
    if verdict.without is None:
        if fix is None:
            raise no_fit(problem, settled)
        check_agreement(fix)
        return CheckedFix(fix, problem, verdict, (), tuple(range(len(observations))), None, fix.cautions)
    explanations = tuple(
        explanations_of(
            problem,
            verdict.without,
            suspect,
            "deg" if units is None else units[suspect.row],
            other_marks,
        )
        for suspect in verdict.suspects
    )
    suspected = {suspect.row for suspect in verdict.suspects}
    kept = tuple(row for row in range(len(observations)) if row not in suspected)
    without = _fix_or_none([observations[row] for row in kept], decimal_year, solve_compass_error)
    said = _of_all(fix, without, kept) if fix is not None else () if without is None else _left(without, kept)
    cautions = (*said, _suspected(verdict))
    return CheckedFix(fix, problem, verdict, explanations, kept, without, cautions)


def _fix_or_none(
    observations: Sequence[Observation], decimal_year: float | None, solve_compass_error: bool
) -> MixedFix | None:
    """The fix of those that are left; they agree, but may by themselves be parallel or too few of a kind."""
    try:
        return fix_from(observations, decimal_year, solve_compass_error)
    except NavigationError:
        return None


def _of_all(fix: MixedFix, without: MixedFix | None, kept: tuple[int, ...]) -> tuple[Caution, ...]:
    """What is to be said of the fix of all: a blunder showed, so what goes unchecked is asked of the others' fix."""
    others = () if without is None else mixed_cautions(without, kept)
    unchecked = (each for each in others if each.code == "no_check")
    return (*(each for each in fix.cautions if each.code != "no_check"), *unchecked)


def _left(without: MixedFix, kept: tuple[int, ...]) -> tuple[Caution, ...]:
    """What is to be said of the only fix that there is, that of the observations kept."""
    several = caution(
        "several_places",
        f"Without the suspects, {len(without.places)} places fit, and only the best is given: for the others, ask again "
        "without them.",
    )
    return tuple(several if each.code == several.code else each for each in mixed_cautions(without, kept))


def _suspected(verdict: Verdict) -> Caution:
    names = ", ".join(observation_name(suspect.row) for suspect in verdict.suspects)
    told = (
        "" if verdict.located else " It cannot be told for sure from others that may be wrong in its stead."
    )
    return caution(
        "blunder_suspected",
        f"Against the others by far more than the standard deviation: {names}. The fix without stands beside.{told}",
    )
