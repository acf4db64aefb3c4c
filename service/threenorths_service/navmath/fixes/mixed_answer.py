"""What a fix from mixed observations answers, and what is to be said of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..cautions import Caution, caution, observation_name
from ..errors import NoSolutionError
from ..sights.compass_error import large_error_caution, near_circle_caution
from ..sights.crossing import FLATTEST_CROSSING_DEG
from ..sights.ellipse import CONFIDENCE, Ellipse
from ..sights.fix import MOST_CURVED
from .fixed_place import FixedPlace, stretch_of
from .mixed_solution import Problem, Settled
from .no_fix import points_away

__all__ = ["MixedFix", "check_agreement", "mixed_cautions"]

#: What is over an exact fit by less than this is called one. The weighted square sum of the residuals.
EXACT_COST = 1e-6
#: A reading that takes less than this part in the fix adds nothing to it: its share of the trace of the hat matrix.
LEAST_PART = 1e-4
#: A reading whose residual shows less of its own error than this is called unchecked.
LEAST_REDUNDANCY = 0.02


@dataclass(frozen=True, slots=True)
class MixedFix:
    """The place that fits n observations best, and the others that they would fit.

    ``places``, the best first, then those whose cost is within the 99 % of the best's. ``kinds`` of the observations.
    ``variance_factor``, a posteriori: the weighted square sum of the residuals over what the stated standard deviations
    lead to expect, about 1 where these are right, ``None`` with no observation to spare; a priori it is 1.
    ``variance_factor_limit``, what it exceeds once in a hundred times. ``ellipse``, a priori, but widened by the factor's
    root where it is beyond the limit, as ``places`` are not; ``widening``, by how much its variances grew, 1 elsewhere;
    ``posterior_ellipse``, with the spread taken from the residuals alone, by the F distribution, ``None`` likewise.
    ``crossing_angle_deg``, in [0, 90], at which the lines of position of the two observations ``crossing`` cross, of all
    pairs the one nearest to a right angle. ``ellipse_shares``, the least and the most that the likelihood's cost rises on
    the best place's own ellipse over what it should: near 1 where the ellipse tells the truth; ``mixed_region.fix_regions``
    gives the region itself.
    """

    places: tuple[FixedPlace, ...]
    kinds: tuple[str, ...]
    degrees_of_freedom: int
    variance_factor: float | None
    variance_factor_limit: float | None
    ellipse: Ellipse
    widening: float
    posterior_ellipse: Ellipse | None
    crossing_angle_deg: float
    crossing: tuple[int, int]
    ellipse_shares: tuple[float, float]
    cautions: tuple[Caution, ...]
    problem: Problem
    settled: Settled

    @property
    def best(self) -> FixedPlace:
        """The place that fits best."""
        return self.places[0]


def check_agreement(fix: MixedFix) -> None:
    """Refuse a place that sights point away from, or so contradicted that it could be beyond the farthest known one.

    Raises
    ------
    SightsCrossBehindError, NoSolutionError
        As for `fix_from`.
    """
    if fix.settled.away[0].any():
        raise points_away(fix.problem, fix.settled)
    one_sd_m = float(fix.ellipse.semi_major_m) / math.sqrt(-2.0 * math.log(1.0 - CONFIDENCE))
    if fix.variance_factor is not None and one_sd_m > float(np.max(fix.best.distances_m)):
        raise NoSolutionError(
            "the observations contradict each other: no place fits them", member="observations"
        )


def mixed_cautions(fix: MixedFix, rows: Sequence[int] | None = None) -> tuple[Caution, ...]:
    """What cannot be known well of a fix; ``rows`` are what its observations are called, where others were left out."""
    called: Sequence[int] = range(len(fix.kinds)) if rows is None else rows
    found = [*_of_places(fix), *_of_geometry(fix), *_of_shape(fix), *_of_checks(fix, called)]
    if fix.settled.zone_changed:
        found.append(caution("zone_in_doubt"))
    return tuple(found)


def _of_places(fix: MixedFix) -> list[Caution]:
    found = []
    if len(fix.places) > 1:
        found.append(
            caution(
                "several_places",
                f"{len(fix.places)} places fit the observations: each is given. Tell them apart by what can be seen there.",
            )
        )
    if not fix.degrees_of_freedom and fix.best.cost > EXACT_COST:
        found.append(caution("nearly_meet"))
    return found


def _of_geometry(fix: MixedFix) -> list[Caution]:
    if fix.best.compass_error_deg is not None:
        found = [near_circle_caution(stretch_of(fix.best)), large_error_caution(fix.best.compass_error_deg)]
        return [each for each in found if each is not None]
    if fix.crossing_angle_deg >= FLATTEST_CROSSING_DEG:
        return []
    return [
        caution(
            "flat_crossing",
            f"The lines of position cross at {fix.crossing_angle_deg:.1f} degrees at best; under "
            f"{FLATTEST_CROSSING_DEG:g}, a small error in one moves the fix far.",
        )
    ]


def _of_shape(fix: MixedFix) -> list[Caution]:
    """Whether the true outline of where the place may be bends away from the ellipse."""
    least, most = fix.ellipse_shares
    if least >= 1.0 / MOST_CURVED and most <= MOST_CURVED:
        return []
    return [
        caution(
            "weak_geometry",
            f"Along the ellipse's longer semi-axis, {float(fix.ellipse.semi_major_m):.0f} m, the lines of position turn: the "
            "true outline is curved and reaches further than stated. Ask for the regions.",
        )
    ]


def _of_checks(fix: MixedFix, called: Sequence[int]) -> list[Caution]:
    """What the residuals show, and which observations they do not check."""
    if not fix.degrees_of_freedom:
        return [caution("no_check")]
    found = []
    unchecked = np.flatnonzero(fix.best.redundancy < LEAST_REDUNDANCY)
    if unchecked.size:
        names = ", ".join(observation_name(called[row]) for row in unchecked.tolist())
        found.append(
            caution(
                "no_check", f"The other observations do not check {names}: a blunder there would not show."
            )
        )
    silent = np.flatnonzero(1.0 - fix.best.redundancy < LEAST_PART)
    if silent.size:
        names = ", ".join(observation_name(called[row]) for row in silent.tolist())
        found.append(caution("says_nothing", f"So weak beside the others that they add nothing: {names}."))
    factor, limit = fix.variance_factor, fix.variance_factor_limit
    if factor is not None and limit is not None and factor > limit:
        found.append(
            caution(
                "sights_disagree",
                f"The observations disagree {math.sqrt(factor):.1f} times as much as their standard deviations allow: the "
                "ellipse was widened as much. Look for a blunder before you trust it.",
            )
        )
    return found
