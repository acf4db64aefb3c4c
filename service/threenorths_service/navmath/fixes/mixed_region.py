"""The regions that hold a mixed fix, and by how much the ellipse misleads."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .likelihood import chi_square_of_two, likelihood_about
from .likelihood_region import CONFIDENCES, LikelihoodRegion, regions_of
from .mixed_answer import MixedFix

__all__ = ["FixRegions", "fix_regions"]


@dataclass(frozen=True, slots=True)
class FixRegions:
    """Regions of the likelihood about a fix, in the order of their confidences.

    ``area_ratios``, the area of each over that of the ellipse of the same confidence: near 1 where the ellipse tells the
    truth and only one place fits.
    """

    regions: tuple[LikelihoodRegion, ...]
    area_ratios: tuple[float, ...]


def fix_regions(fix: MixedFix, confidences: tuple[float, ...] = CONFIDENCES) -> FixRegions:
    """The regions, widened as the fix's ellipse is where the observations disagree."""
    factor = 1.0
    if fix.variance_factor is not None and fix.variance_factor_limit is not None:
        factor = fix.variance_factor if fix.variance_factor > fix.variance_factor_limit else 1.0
    regions = regions_of(likelihood_about(fix.problem, fix.best, factor), confidences, len(fix.places))
    ellipse_m2 = math.pi * float(fix.ellipse.semi_major_m * fix.ellipse.semi_minor_m)
    ellipse_m2 /= chi_square_of_two(fix.ellipse.confidence)
    ratios = (region.area_m2 / (ellipse_m2 * chi_square_of_two(region.confidence)) for region in regions)
    return FixRegions(regions, tuple(ratios))
