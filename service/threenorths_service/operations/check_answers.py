"""What a check answers: the verdict, the miss, and the slips that explain it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.checks.check_summary import CHECK_SLIPS
from ..navmath.checks.verdict import VERDICTS, Outcome
from .answer_schemas import CautionedAnswerSchema, GridAngleAnswerSchema, ReadPlaceSchema
from .fields import Azimuth, Rounded
from .operation import AnswerSchema

__all__ = ["CheckAnswerSchema", "length", "said", "slip_cautions", "slips_answer"]


def _told(description: str) -> fields.Boolean:
    return fields.Boolean(required=True, allow_none=True, metadata={"description": description})


def _metres(description: str, places: int = 3) -> Rounded:
    return Rounded(f"{description} [m]", places, required=True, allow_none=True)


class CheckSlipSchema(AnswerSchema):
    """A common slip that would explain the report."""

    slip = fields.String(
        required=True, metadata={"description": "Stable code of the slip.", "enum": list(CHECK_SLIPS)}
    )
    explanation = fields.String(required=True, metadata={"description": "The slip in a sentence."})
    without_slip = fields.String(
        required=True, metadata={"description": "What would have been reported without it."}
    )
    distance_m = _metres(
        "How far the position would then be from the place expected, or from the sheet or the middle of the area; null of a "
        "bearing.",
        1,
    )
    difference_deg = Rounded(
        "How far the bearing would then be from the one expected, clockwise positive; null of a position. [degree]",
        4,
        required=True,
        allow_none=True,
    )


class CheckAnswerSchema(CautionedAnswerSchema):
    """The verdict on a report. What was not demanded, or belongs to the other kind of report, is null."""

    verdict = fields.String(
        required=True,
        metadata={
            "description": " ".join(f"`{verdict}`: {meaning}" for verdict, meaning in VERDICTS.items()),
            "enum": list(VERDICTS),
        },
    )
    reason = fields.String(required=True, metadata={"description": "What the verdict rests on, in words."})
    fault = fields.String(
        required=True,
        allow_none=True,
        metadata={
            "description": "Why the report could not be read, as the code of a problem; null where it could."
        },
    )
    distance_m = _metres("How far the reported place is from the one expected.")
    true_azimuth_deg = Azimuth(
        "Direction off: from the place expected to the reported one, from true north; null where they are the same. [degree]",
        required=True,
        allow_none=True,
    )
    left_open_m = _metres(
        "How far that distance may be off, for how finely the two places were written and for the shifts of their datums."
    )
    within_tolerance = _told(
        "Whether the report is within the tolerance of what was expected; null where that is undecided."
    )
    within_area = _told("Whether the position is in the area; null where its square is partly in.")
    outside_area_m = _metres("How far outside the area its point is, 0 inside.", 1)
    on_sheet = _told(
        "Whether the position is within the edges of the sheet, or in its squares; null where its square is partly in."
    )
    outside_sheet_m = _metres("How far outside the edges of the sheet its point is, 0 inside.", 1)
    precision_met = _told(
        "Whether it is written as finely as demanded; null where it was given by plain numbers, which do not tell: that "
        "leaves it undecided."
    )
    difference_deg = Rounded(
        "The bearing reported less the one expected, clockwise positive. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    expected_azimuth_deg = Azimuth(
        "The bearing expected, from `north`. [degree]", required=True, allow_none=True
    )
    left_open_deg = Rounded(
        "How far the bearing expected may be off, for how finely its places were written, with one standard deviation of the "
        "modelled declination where it was used. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    slip = fields.String(
        required=True,
        allow_none=True,
        metadata={
            "description": "The likeliest slip that explains a wrong report; null where none does. See `slip_in_doubt`.",
            "enum": [*CHECK_SLIPS, None],
        },
    )
    slip_in_doubt = fields.Boolean(
        required=True, metadata={"description": "Whether more than one slip explains the report."}
    )
    slip_chance = Rounded(
        "How likely it is that some slip fits a bearing that is any at all, so that it explains nothing; null where no slip "
        "of a bearing was looked for.",
        3,
        required=True,
        allow_none=True,
    )
    slips = fields.List(
        fields.Nested(CheckSlipSchema),
        required=True,
        metadata={
            "description": "Every slip that brings a wrong or unreadable report to what was expected, likeliest first. None "
            "of them was corrected."
        },
    )
    reported = fields.Nested(
        ReadPlaceSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": "The reported place as it was read; null where it could not be, and of a bearing."
        },
    )
    expected = fields.Nested(
        ReadPlaceSchema,
        required=True,
        allow_none=True,
        metadata={"description": "The place expected as it was read; null without one."},
    )
    angles = fields.Nested(
        GridAngleAnswerSchema,
        required=True,
        allow_none=True,
        metadata={"description": "The angles between the norths that were used; null of a position."},
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date that the angles are for; null where none was given."},
    )


#: An answer before anything is known.
NOTHING: dict[str, Any] = {
    **{name: None for name in CheckAnswerSchema().fields if name not in ("working",)},
    "slip_in_doubt": False,
    "slips": [],
    "cautions": [],
}


def said(outcome: Outcome | None) -> bool | None:
    """An outcome as an answer gives it: null where it is open, or nothing was demanded."""
    return {Outcome.MET: True, Outcome.NOT_MET: False}.get(outcome) if outcome is not None else None


def slips_answer(slips: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """The members of an answer that tell the slips, likeliest first."""
    codes = list(dict.fromkeys(slip["slip"] for slip in slips))
    return {
        "slips": list(slips),
        "slip": codes[0] if codes else None,
        "slip_in_doubt": len(codes) > 1,
    }


def slip_cautions(slips: Sequence[dict[str, Any]]) -> list[Caution]:
    """What is to be said of slips of which nobody knows which one it was."""
    codes = list(dict.fromkeys(slip["slip"] for slip in slips))
    if len(codes) < 2:
        return []
    return [
        caution(
            "slip_in_doubt",
            f"{len(codes)} slips explain the report, and nothing here tells which one it was: ask.",
        )
    ]


def length(value_m: float) -> str:
    """A length in words."""
    return f"{value_m:,.0f} m" if value_m >= 10.0 else f"{value_m:.3g} m"
