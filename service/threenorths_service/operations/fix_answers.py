"""What a fix from mixed observations answers: its places, how well they are known, and what contradicts them."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.fixes.blunder_explanation import SLIPS, Explanation
from ..navmath.fixes.checked_fix import CheckedFix
from ..navmath.fixes.fixed_place import FixedPlace
from ..navmath.fixes.likelihood_region import LikelihoodRegion
from ..navmath.fixes.mixed_region import FixRegions
from ..navmath.fixes.observation import KINDS
from ..navmath.places.place import digits_for, place_from_geodetic
from ..navmath.places.position import describe
from ..navmath.sights.ellipse import ellipse_of
from .answer_schemas import CautionedAnswerSchema, PositionAnswerSchema
from .fields import Rounded
from .operation import AnswerSchema
from .uncertainty import CovarianceSchema, EllipseSchema, covariance_answer

__all__ = ["FixesAnswerSchema", "fixes_answer", "fixes_working"]

#: Kinds whose residuals are lengths.
LENGTHS = ("distance", "line")


class ObservedSchema(AnswerSchema):
    """One observation against the place."""

    kind = fields.String(required=True, metadata={"description": "Its kind.", "enum": list(KINDS.values())})
    residual_deg = Rounded(
        "Read less what the place leads to expect; null of lengths. [degree]",
        6,
        required=True,
        allow_none=True,
    )
    residual_m = Rounded("The same of lengths; null of angles. [m]", 3, required=True, allow_none=True)
    sd_deg = Rounded(
        "Standard deviation used, with that of known places; null of lengths. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    sd_m = Rounded("The same of lengths; null of angles. [m]", 3, required=True, allow_none=True)
    standardised = Rounded(
        "The residual over its own standard deviation; 0 where nothing shows.", 3, required=True
    )
    redundancy = Rounded(
        "The share of the observation's own error that its residual shows.", 4, required=True
    )
    distance_m = Rounded(
        "Distance from the place: of an angle to its left mark, of a line to the beginning of its nearest stretch. [m]",
        2,
        required=True,
    )


class FixedPlaceSchema(AnswerSchema):
    """A place that fits, and how well it is known."""

    position = fields.Nested(
        PositionAnswerSchema,
        required=True,
        metadata={
            "description": "The place in every form; its `mgrs` is written no finer than the ellipse warrants."
        },
    )
    covariance_m2 = fields.Nested(CovarianceSchema, required=True)
    ellipse = fields.Nested(
        EllipseSchema,
        required=True,
        metadata={
            "description": "Of that covariance, widened where the variance factor is beyond its limit: what to act on."
        },
    )
    along_line_sd_m = fields.List(
        Rounded("Standard deviation. [m]", 2),
        required=True,
        metadata={"description": "Standard deviation along each line stood on, in their order. [m]"},
    )
    compass_error_deg = Rounded(
        "Compass error found: reading less correct; null where it was not solved for. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    compass_error_sd_deg = Rounded(
        "Its standard deviation; null likewise. [degree]", 4, required=True, allow_none=True
    )
    misfit = Rounded("Weighted square sum of the residuals.", 4, required=True)
    observations = fields.List(
        fields.Nested(ObservedSchema),
        required=True,
        metadata={"description": "Each observation in order, against this place."},
    )


class SlipFoundSchema(AnswerSchema):
    """A slip that would make an observation fit."""

    slip = fields.String(required=True, metadata={"description": "Stable code.", "enum": list(SLIPS)})
    explanation = fields.String(
        required=True, metadata={"description": "The slip in words, with the numbers."}
    )
    reading = Rounded(
        "What would have been right to give; as given for a mark taken for another. [degree or metre]",
        3,
        required=True,
    )
    left_sds = Rounded("What it then misses by, over its standard deviation.", 2, required=True)
    mark = fields.Integer(
        required=True,
        allow_none=True,
        metadata={
            "description": "Of a mark taken for another, which place: those of the other observations in order, then "
            "`other_marks`; null of other slips."
        },
    )
    chance = Rounded(
        "How likely it is that one of the slips tried fits a reading that is anything.", 4, required=True
    )


class SuspectSchema(AnswerSchema):
    """An observation that contradicts the others."""

    observation = fields.Integer(required=True, metadata={"description": "Its index, from 0."})
    test = Rounded(
        "What it misses the place without it by, over the standard deviation of that.", 2, required=True
    )
    rivals = fields.List(
        fields.Integer(),
        required=True,
        metadata={"description": "Observations that could be wrong in its stead, by their indices."},
    )
    explanations = fields.List(
        fields.Nested(SlipFoundSchema),
        required=True,
        metadata={"description": "Slips that would explain it, the best first; empty where none tried does."},
    )


class RegionSchema(AnswerSchema):
    """Where the place is with a stated confidence, by the likelihood itself."""

    confidence = Rounded("Confidence.", 3, required=True)
    area_m2 = Rounded("Its area. [m2]", 1, required=True)
    area_ratio = Rounded("That over the area of the ellipse of the same confidence.", 3, required=True)
    cut_off = fields.Boolean(
        required=True, metadata={"description": "Whether it reaches further than the fix can tell."}
    )
    rings = fields.List(
        fields.List(fields.List(Rounded("Degrees. [degree]", 8))),
        required=True,
        metadata={"description": "Its rings of longitudes and latitudes, closed; holes clockwise. [degree]"},
    )


class FixesAnswerSchema(CautionedAnswerSchema):
    """The places that fit, and what contradicts them."""

    places = fields.List(
        fields.Nested(FixedPlaceSchema),
        required=True,
        metadata={
            "description": "The places that fit, the best first; empty where all observations together fit none, and then "
            "`without_suspects` is the fix of the others."
        },
    )
    degrees_of_freedom = fields.Integer(
        required=True,
        allow_none=True,
        metadata={"description": "Observations more than the unknowns need; null where no place fits."},
    )
    variance_factor = Rounded(
        "A posteriori: how the residuals compare with the standard deviations, near 1 where they agree; a priori it is 1. "
        "Null with no observation to spare.",
        4,
        required=True,
        allow_none=True,
    )
    variance_factor_limit = Rounded(
        "What it exceeds once in a hundred times; null likewise.", 4, required=True, allow_none=True
    )
    ellipse = fields.Nested(
        EllipseSchema,
        required=True,
        allow_none=True,
        metadata={"description": "Of the best place: the one that it has itself."},
    )
    posterior_ellipse = fields.Nested(
        EllipseSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": "The same with the spread taken from the residuals alone; null with none to spare."
        },
    )
    crossing_angle_deg = Rounded(
        "Angle in [0, 90] at which the best pair of lines of position crosses. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    suspects = fields.List(
        fields.Nested(SuspectSchema),
        required=True,
        metadata={"description": "Observations that contradict the others, the worst first."},
    )
    without_suspects = fields.Nested(FixedPlaceSchema, required=True, allow_none=True)
    regions = fields.List(
        fields.Nested(RegionSchema),
        required=True,
        metadata={
            "description": "Regions of the likelihood, of the fix without the suspects where `places` is empty; empty "
            "where they were not asked for."
        },
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date of magnetic bearings; null where none was given."},
    )


def fixes_answer(checked: CheckedFix, regions: FixRegions | None) -> dict[str, Any]:
    """A checked fix as `FixesAnswerSchema` has it, without what the request adds."""
    fix, verdict = checked.fix, checked.verdict
    kinds = tuple(KINDS[type(each)] for each in checked.problem.table.observations)
    return {
        "places": [] if fix is None else [_place(place, kinds, fix.widening) for place in fix.places],
        "degrees_of_freedom": None if fix is None else fix.degrees_of_freedom,
        "variance_factor": None if fix is None else fix.variance_factor,
        "variance_factor_limit": None if fix is None else fix.variance_factor_limit,
        "ellipse": None if fix is None else fix.ellipse,
        "posterior_ellipse": None if fix is None else fix.posterior_ellipse,
        "crossing_angle_deg": None if fix is None else fix.crossing_angle_deg,
        "suspects": [
            {
                "observation": suspect.row,
                "test": suspect.test,
                "rivals": suspect.rivals,
                "explanations": [_slip(each) for each in explanations],
            }
            for suspect, explanations in zip(verdict.suspects, checked.explanations, strict=False)
        ],
        "without_suspects": None
        if verdict.without is None
        else _place(verdict.without, kinds, 1.0 if checked.without is None else checked.without.widening),
        "regions": []
        if regions is None
        else [_region(*each) for each in zip(regions.regions, regions.area_ratios, strict=True)],
        "cautions": list(checked.cautions),
    }


def _place(place: FixedPlace, kinds: tuple[str, ...], widening: float) -> dict[str, Any]:
    there = place_from_geodetic(place.lat_deg, place.lon_deg)
    ellipse = ellipse_of(place.covariance_m2 * widening)
    return {
        "position": describe(there, digits_for(float(ellipse.semi_major_m) / 2.0)),
        "covariance_m2": covariance_answer(place.covariance_m2),
        "ellipse": ellipse,
        "along_line_sd_m": place.along_line_sd_m,
        "compass_error_deg": place.compass_error_deg,
        "compass_error_sd_deg": place.compass_error_sd_deg,
        "misfit": place.cost,
        "observations": [_observed(place, row, kind) for row, kind in enumerate(kinds)],
    }


def _observed(place: FixedPlace, row: int, kind: str) -> dict[str, Any]:
    length = kind in LENGTHS
    residual, sd = place.residuals[row], place.sd[row]
    return {
        "kind": kind,
        "residual_deg": None if length else residual,
        "residual_m": residual if length else None,
        "sd_deg": None if length else sd,
        "sd_m": sd if length else None,
        "standardised": place.standardised[row],
        "redundancy": place.redundancy[row],
        "distance_m": place.distances_m[row],
    }


def _slip(found: Explanation) -> dict[str, Any]:
    return {
        "slip": found.slip,
        "explanation": found.says,
        "reading": found.reading,
        "left_sds": found.left_sds,
        "mark": found.mark,
        "chance": found.chance,
    }


def _region(region: LikelihoodRegion, area_ratio: float) -> dict[str, Any]:
    return {
        "confidence": region.confidence,
        "area_m2": region.area_m2,
        "area_ratio": area_ratio,
        "cut_off": region.cut_off,
        "rings": [
            [[lon, lat] for lat, lon in zip(ring.lat_deg.tolist(), ring.lon_deg.tolist(), strict=True)]
            for ring in region.rings
        ],
    }


def fixes_working(checked: CheckedFix) -> list[str]:
    """The sum as it is written on a board."""
    steps = []
    kinds = [KINDS[type(each)].replace("_", " ") for each in checked.problem.table.observations]
    fix = checked.without if checked.fix is None else checked.fix
    best = checked.verdict.without if checked.fix is None else checked.fix.best
    if best is not None:
        ellipse = best.ellipse if fix is None else fix.ellipse
        for row, kind in enumerate(kinds):
            unit = "m" if kind in LENGTHS else "degrees"
            steps.append(
                f"{kind} {row + 1}: misses the place by {best.residuals[row]:+.2f} {unit}, give or take {best.sd[row]:.2f}; "
                f"{best.distances_m[row] / 1000:.2f} km off"
            )
        steps.append(
            f"at {best.lat_deg:.5f}, {best.lon_deg:.5f}: {ellipse.confidence:.0%} ellipse of "
            f"{ellipse.semi_major_m:.0f} m by {ellipse.semi_minor_m:.0f} m (half-axes)"
        )
    for suspect, found in zip(checked.verdict.suspects, checked.explanations, strict=False):
        why = found[0].says if found else "no slip that was tried explains it"
        steps.append(
            f"observation {suspect.row + 1} contradicts the others ({suspect.test:.1f} standard deviations): {why}"
        )
    return steps
