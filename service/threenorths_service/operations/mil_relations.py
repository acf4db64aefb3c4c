"""Mil relations: width, distance and angle of what is seen, any two to the third, exactly and by rule of thumb."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.errors import MembersConflictError, OutOfRangeError, TwoOfThreeError
from ..navmath.estimates.estimate import DEFAULT_SD_SHARE, default_sd
from ..navmath.estimates.mil_relation import (
    MIL_CIRCLES,
    MIL_SD,
    WIDTH_SD_RATIO,
    MilRelation,
    solve_mil_relation,
)
from .answer_schemas import CautionedAnswerSchema
from .estimates import as_given, default_sd_cautions, sds_of_given, weak_cautions, worked
from .fields import Choice, Number, Rounded
from .operation import AnswerSchema, Example, Operation
from .request_schemas import OperationRequestSchema

__all__ = ["OPERATION"]

#: The rule is told of from so far off on: it is then no small part of a misreading. [per cent]
NOTICEABLE_PERCENT = 1.0

#: The three quantities with the names of their standard deviations.
QUANTITIES = {"width_m": "width_sd_m", "distance_m": "distance_sd_m", "angle": "angle_sd"}
WORDS = {"width_m": ("width", "m"), "distance_m": ("distance", "m")}


class MilRelationsRequestSchema(OperationRequestSchema):
    """Just two of width, distance and angle."""

    width_m = Number("Width, or height, across the line of sight. [m]", minimum=0.001, maximum=100_000)
    distance_m = Number("Distance to its middle. [m]", minimum=0.1, maximum=1_000_000)
    angle = Number(
        "Angle between its edges in `unit`; under half a circle of it.", minimum=0.001, maximum=3200
    )
    unit = Choice(
        "Unit of the angle: NATO mils (6400 to the circle), mils of the 6300 or the 6000 division, or milliradians.",
        tuple(MIL_CIRCLES),
        load_default="mil",
    )
    width_sd_m = Number(
        f"Standard deviation of the width; left out {100 * WIDTH_SD_RATIO:g} per cent of it, as of a thing known by its "
        "kind. [m]",
        minimum=0,
        maximum=1_000_000,
    )
    distance_sd_m = Number(
        f"Standard deviation of the distance; left out {100 * WIDTH_SD_RATIO:g} per cent of it. [m]",
        minimum=0,
        maximum=1_000_000,
    )
    angle_sd = Number(
        f"Standard deviation of the angle in `unit`; left out {MIL_SD:g}, but at most {100 * DEFAULT_SD_SHARE:g} per cent of "
        "it.",
        minimum=0,
        maximum=1000,
    )


class RuleOfThumbSchema(AnswerSchema):
    """The same three by the rule width = distance x angle / 1000, which takes a mil for a milliradian."""

    width_m = Rounded("Width. [m]", 4, required=True)
    distance_m = Rounded("Distance. [m]", 3, required=True)
    angle = Rounded("Angle in `unit`.", 4, required=True)


class MilRelationsAnswerSchema(CautionedAnswerSchema):
    """The three with one standard deviation each, exactly, and what the rule of thumb makes of the same two."""

    found = fields.String(
        required=True, metadata={"description": "The one that was found.", "enum": list(QUANTITIES)}
    )
    width_m = Rounded("Width across the line of sight. [m]", 4, required=True)
    width_sd_m = Rounded("Its standard deviation. [m]", 4, required=True)
    distance_m = Rounded("Distance. [m]", 3, required=True)
    distance_sd_m = Rounded("Its standard deviation. [m]", 3, required=True)
    angle = Rounded("Angle in `unit`.", 4, required=True)
    angle_sd = Rounded("Its standard deviation in `unit`.", 4, required=True)
    unit = fields.String(
        required=True, metadata={"description": "Unit of the angle.", "enum": list(MIL_CIRCLES)}
    )
    rule_of_thumb = fields.Nested(RuleOfThumbSchema, required=True)
    difference_percent = Rounded(
        "How much too large the rule makes the one found, too small negative. [per cent]", 3, required=True
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a mil-relation request."""
    given = {name: request[name] for name in QUANTITIES if name in request}
    sds = sds_of_given(request, QUANTITIES, {name: _default_sd(name, value) for name, value in given.items()})
    solved = solve_mil_relation(**given, **sds, unit=request["unit"])
    found = solved.found
    name, unit = WORDS.get(found, ("angle", request["unit"]))
    answer = {
        "found": found,
        **{quantity: getattr(solved, quantity) for quantity in QUANTITIES},
        **sds,
        QUANTITIES[found]: solved.sd,
        "unit": request["unit"],
        "rule_of_thumb": {**given, found: solved.rule_of_thumb},
        "difference_percent": solved.difference_percent,
        "cautions": [
            *_cautions(request, solved),
            *weak_cautions(name, float(getattr(solved, found)), float(solved.sd), unit),
        ],
    }
    if request["working"]:
        answer["working"] = _working(solved, request["unit"])
    return answer


def _default_sd(name: str, value: float) -> float:
    return float(default_sd(value, MIL_SD)) if name == "angle" else WIDTH_SD_RATIO * value


def _cautions(request: dict[str, Any], solved: MilRelation) -> list[Caution]:
    defaults = {
        "width_sd_m": f"{100 * WIDTH_SD_RATIO:g} per cent of the width",
        "distance_sd_m": f"{100 * WIDTH_SD_RATIO:g} per cent of the distance",
        "angle_sd": f"{_default_sd('angle', float(solved.angle)):.3g} {request['unit']} for the angle",
    }
    del defaults[QUANTITIES[solved.found]]
    cautions = default_sd_cautions(request, defaults)
    percent = float(solved.difference_percent)
    if abs(percent) >= NOTICEABLE_PERCENT:
        size = "large" if percent > 0.0 else "small"
        what = WORDS.get(solved.found, ("angle",))[0]
        cautions.append(
            caution(
                "rule_of_thumb", f"The rule of thumb makes the {what} {abs(percent):.1f} per cent too {size}."
            )
        )
    return cautions


def _working(solved: MilRelation, unit: str) -> list[str]:
    width, distance, angle = (float(getattr(solved, name)) for name in QUANTITIES)
    rule = worked(float(solved.rule_of_thumb))
    half_deg = as_given(angle * 180.0 / MIL_CIRCLES[unit])
    w, d, a = as_given(width), as_given(distance), as_given(angle)
    exact, thumb = {
        "width_m": (
            f"2 x {d} x tan {half_deg} = {worked(width)} m",
            f"{d} x {a} / 1000 = {rule} m",
        ),
        "distance_m": (
            f"{w} / (2 x tan {half_deg}) = {worked(distance)} m",
            f"{w} x 1000 / {a} = {rule} m",
        ),
        "angle": (
            f"2 x the angle whose tangent is {w} / (2 x {d}) = {worked(angle)} {unit}",
            f"{w} x 1000 / {d} = {rule} {unit}",
        ),
    }[solved.found]
    steps = [] if solved.found == "angle" else [f"half of {a} {unit} is {half_deg} degrees"]
    return [
        *steps,
        f"exactly: {exact}, give or take {worked(float(solved.sd))}, one standard deviation",
        f"by the rule of thumb: {thumb}, {float(solved.difference_percent):+.1f} per cent off",
    ]


OPERATION = Operation(
    name="mil-relations",
    summary="Width, distance and angle of what is seen",
    description=(
        "Any two of the width (or height) of an object, its distance and the angle that it fills give the third: exactly, "
        "width = 2 x distance x tan(angle / 2) for an object square to the line of sight, and beside it by the rule of thumb "
        "width = distance x angle / 1000. The rule takes a mil for a milliradian: with NATO mils it makes distances 1.8 per "
        "cent too small, with milliradians it is exact for small angles. A width known by the kind of thing is the weak "
        "point: a door, a van or a man is not always of its usual size."
    ),
    request=MilRelationsRequestSchema(),
    answer=MilRelationsAnswerSchema(),
    run=run,
    errors=(MembersConflictError, OutOfRangeError, TwoOfThreeError),
    examples=(
        Example(
            "distance",
            "An invented hut known to be 8 m wide fills 12 mils",
            {"width_m": 8, "angle": 12, "working": True},
        ),
        Example(
            "width",
            "An invented landslip at 2,400 m fills 85 milliradians",
            {"distance_m": 2400, "angle": 85, "unit": "mrad", "distance_sd_m": 50},
        ),
    ),
)
