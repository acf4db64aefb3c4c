"""Gradients: what contours say of a slope, and how far apart they lie on the map for one."""

from __future__ import annotations

from marshmallow import fields

from ..navmath.errors import MembersConflictError, MembersMissingError, OutOfRangeError
from ..navmath.estimates.estimate import PACED_SD_RATIO
from ..navmath.estimates.gradient import HEIGHT_SD_OF_INTERVAL, MAP_READING_SD_MM
from .answer_schemas import CautionedAnswerSchema
from .fields import Choice, List, Number, Rounded, Scale
from .gradient_methods import METHODS, run
from .operation import AnswerSchema, Example, Operation, RequestSchema
from .request_schemas import OperationRequestSchema

__all__ = ["OPERATION"]


class CrossingSchema(RequestSchema):
    """Where a line on the map crosses a contour."""

    map_mm = Number("Along the line from its start. [mm]", minimum=0, maximum=100_000, required=True)
    height_m = Number("Height of the contour. [m]", minimum=-1000, maximum=10_000, required=True)


class GradientsRequestSchema(OperationRequestSchema):
    """A rise over a length, a spacing of contours, or the contours that a line crosses."""

    method = Choice(
        "`rise`: a rise, or a count of contours, over a level length, or a length on the map. `spacing`: how far apart "
        "contours lie on the map. `crossings`: where a line on the map crosses contours; the steepest place of it is found.",
        tuple(METHODS),
        required=True,
    )
    rise_m = Number("Height gained, lost negative. [m]", minimum=-10_000, maximum=10_000)
    contours = Number(
        "In place of the rise: contour intervals climbed, down negative; needs `contour_interval_m`.",
        minimum=-1000,
        maximum=1000,
    )
    contour_interval_m = Number(
        "Contour interval; of `rise` with a `scale`, the spacing follows. [m]", minimum=0.1, maximum=1000
    )
    ground_m = Number("Horizontal length on the ground. [m]", minimum=0.1, maximum=20_100_000)
    map_mm = Number("In place of it: length on the map; needs `scale`. [mm]", minimum=0.01, maximum=100_000)
    spacing_mm = Number(
        "Distance between neighbouring contours on the map. [mm]", minimum=0.01, maximum=10_000
    )
    crossings = List(
        fields.Nested(CrossingSchema),
        "Contours crossed in their order, each 0.001 mm or more beyond the last.",
        minimum=2,
        maximum=1000,
    )
    scale = Scale("Scale of the map 1:N, as the number N or as text such as `1:50,000`; at most 100,000,000.")
    rise_sd_m = Number(
        f"Standard deviation of the rise; left out that of two heights from contours, each {HEIGHT_SD_OF_INTERVAL:.3f} of "
        "the interval, and not known without an interval. [m]",
        minimum=0,
        maximum=10_000,
    )
    ground_sd_m = Number(
        f"Standard deviation of `ground_m`; left out {100 * PACED_SD_RATIO:g} per cent of it, as paced. [m]",
        minimum=0,
        maximum=20_100_000,
    )
    map_sd_mm = Number(
        "Standard deviation of `map_mm`, of `spacing_mm`, or of where each crossing was read; left out "
        f"{MAP_READING_SD_MM:g}. [mm]",
        minimum=0,
        maximum=1000,
    )


class SteepestSchema(AnswerSchema):
    """The steepest stretch between two contours that follow each other along the line."""

    from_mm = Rounded("Where it begins along the line. [mm]", 3, required=True)
    to_mm = Rounded("Where it ends. [mm]", 3, required=True)
    gradient_percent = Rounded("Rise over horizontal length, falling negative. [per cent]", 4, required=True)
    gradient_sd_percent = Rounded("Its standard deviation. [per cent]", 4, required=True)
    gradient_deg = Rounded("Angle of the slope. [degree]", 4, required=True)


class GradientsAnswerSchema(CautionedAnswerSchema):
    """The slope in every form, uphill positive; of `crossings` that of the whole line. Null for what is not known."""

    method = fields.String(required=True, metadata={"description": "Method used.", "enum": list(METHODS)})
    rise_m = Rounded("Height gained, lost negative; of `spacing` one interval. [m]", 3, required=True)
    ground_m = Rounded("Horizontal length on the ground. [m]", 3, required=True)
    slope_m = Rounded("Length along the slope. [m]", 3, required=True)
    gradient_percent = Rounded("Rise over horizontal length. [per cent]", 4, required=True)
    gradient_sd_percent = Rounded(
        "Its standard deviation; null where that of the rise is not known. [per cent]",
        4,
        required=True,
        allow_none=True,
    )
    gradient_deg = Rounded("Angle of the slope. [degree]", 4, required=True)
    gradient_sd_deg = Rounded("Its standard deviation, or null. [degree]", 4, required=True, allow_none=True)
    gradient_mil = Rounded("Angle of the slope in NATO mils. [mil]", 3, required=True)
    run_per_rise = Rounded(
        "n of a gradient of 1 in n, falling negative; null where it is level.",
        3,
        required=True,
        allow_none=True,
    )
    spacing_m = Rounded(
        "Horizontal distance between contours for this gradient; null without an interval or where none lie side by side. "
        "[m]",
        3,
        required=True,
        allow_none=True,
    )
    spacing_mm = Rounded(
        "The same on the map; null without a scale too. [mm]", 4, required=True, allow_none=True
    )
    steepest = fields.Nested(SteepestSchema, required=True, allow_none=True)


OPERATION = Operation(
    name="gradients",
    summary="Gradient and contours",
    description=(
        "The gradient from a rise over a horizontal length, from contours counted over a length on the map, from how far "
        "apart contours lie, or from the contours that a line crosses, with the steepest place between two of them; in per "
        "cent, degrees, mils and as 1 in n. With a contour interval and a scale, how far apart contours lie for it follows. "
        "A gradient from contours is the mean between them: what is steeper and lower than the interval need not show. "
        "Standard deviations of heights from contours follow the United States National Map Accuracy Standards of 1947."
    ),
    request=GradientsRequestSchema(),
    answer=GradientsAnswerSchema(),
    run=run,
    errors=(MembersConflictError, MembersMissingError, OutOfRangeError),
    examples=(
        Example(
            "contours",
            "7 contours of 20 m over 18 mm of an invented 1:50,000 sheet",
            {
                "method": "rise",
                "contours": 7,
                "contour_interval_m": 20,
                "map_mm": 18,
                "scale": "1:50,000",
                "working": True,
            },
        ),
        Example(
            "spacing",
            "Contours of 5 m lie 0.8 mm apart on an invented 1:10,000 sheet",
            {"method": "spacing", "contour_interval_m": 5, "spacing_mm": 0.8, "scale": 10000},
        ),
        Example(
            "steepest_place",
            "A line down an invented gully on a 1:25,000 sheet",
            {
                "method": "crossings",
                "crossings": [
                    {"map_mm": 0, "height_m": 840},
                    {"map_mm": 2.5, "height_m": 820},
                    {"map_mm": 3.6, "height_m": 800},
                    {"map_mm": 6.8, "height_m": 780},
                ],
                "scale": 25000,
                "working": True,
            },
        ),
    ),
)
