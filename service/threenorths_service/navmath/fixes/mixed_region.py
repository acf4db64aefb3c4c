"""The regions that hold a mixed fix, and by how much the ellipse misleads."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .likelihood import chi_square_of_two, likelihood_about
from .likelihood_region import CONFIDENCES, THINNEST, LikelihoodRegion, regions_of
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
    regions = regions_of(likelihood_about(fix.problem, fix.best, fix.widening), confidences, len(fix.places))
    major_m, minor_m = float(fix.ellipse.semi_major_m), float(fix.ellipse.semi_minor_m)
    ellipse_m2 = (
        math.pi * major_m * max(minor_m, THINNEST * major_m) / chi_square_of_two(fix.ellipse.confidence)
    )
    ratios = (region.area_m2 / (ellipse_m2 * chi_square_of_two(region.confidence)) for region in regions)
    return FixRegions(regions, tuple(ratios))
