"""Bearings: one direction from true, grid and magnetic north, in every division of the circle."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.angle import CIRCLE_DIVISIONS, FloatArray, from_degrees
from ..navmath.cautions import caution
from ..navmath.directions.bearing import NORTHS, Azimuths, NorthAngles, azimuths_from, back_azimuth
from ..navmath.texts.angle_text import write_dms, write_quadrant
from .answer_schemas import AzimuthSchema, CautionedAnswerSchema, GridAngleAnswerSchema
from .fields import Bearing, Rounded
from .north_angles import ANGLE_ERRORS, AngleSource, angle_source, bearing_in_degrees
from .operation import Example, Operation
from .request_schemas import AnglesRequestSchema, north_member, unit_member

__all__ = ["OPERATION", "angles_answer", "every_notation", "turning_steps"]


class BearingRequestSchema(AnglesRequestSchema):
    """A bearing, the north it is from, and where the angles between the norths come from."""

    bearing = Bearing(
        "The bearing: a number in `unit`, or a text in degrees or quadrant notation.", required=True
    )
    unit = unit_member()
    north = north_member(required=True)


class BearingAnswerSchema(CautionedAnswerSchema):
    """The bearing from each north; null from a north that the angles known do not reach."""

    true = fields.Nested(AzimuthSchema, required=True, allow_none=True)
    grid = fields.Nested(AzimuthSchema, required=True, allow_none=True)
    magnetic = fields.Nested(AzimuthSchema, required=True, allow_none=True)
    angles = fields.Nested(GridAngleAnswerSchema, required=True)
    declination_sd_deg = Rounded(
        "Standard deviation of the modelled declination; null where no model was used. [degree]",
        2,
        required=True,
        allow_none=True,
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date that the angles are for; null where none was given."},
    )


def every_notation(azimuth_deg: FloatArray | None) -> dict[str, Any] | None:
    """One direction in every division of the circle, with its opposite."""
    if azimuth_deg is None:
        return None
    azimuth = float(azimuth_deg)
    back = float(back_azimuth(azimuth))
    return {
        **{f"azimuth_{unit}": from_degrees(azimuth, unit) for unit in CIRCLE_DIVISIONS},
        "azimuth_dms": write_dms(azimuth),
        "azimuth_quadrant": write_quadrant(azimuth, 1),
        "back_azimuth_deg": back,
        "back_azimuth_mil": from_degrees(back, "mil"),
    }


def angles_answer(angles: NorthAngles, source: str) -> dict[str, Any]:
    """The angles between the norths as an answer gives them."""
    return {
        "declination_deg": angles.declination_deg,
        "convergence_deg": angles.convergence_deg,
        "grid_magnetic_angle_deg": angles.grid_magnetic_angle_deg,
        "source": source,
    }


def turning_steps(azimuth_deg: float, north: str, azimuths: Azimuths) -> list[str]:
    """How a direction was turned from its own north to the others, as written on a board."""
    rules = {
        ("magnetic", "true"): "true = magnetic + D",
        ("magnetic", "grid"): "grid = magnetic + G",
        ("grid", "true"): "true = grid + C",
        ("grid", "magnetic"): "magnetic = grid - G",
        ("true", "grid"): "grid = true - C",
        ("true", "magnetic"): "magnetic = true - D",
    }
    return [f"{north} azimuth {azimuth_deg:.3f} degrees"] + [
        f"{rules[north, target]} = {float(value):.3f} degrees, back {float(back_azimuth(value)):.3f}"
        for target in NORTHS
        if target != north and (value := getattr(azimuths, target)) is not None
    ]


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a bearing request."""
    azimuth_deg = bearing_in_degrees(request["bearing"], request["unit"], "bearing")
    source: AngleSource = angle_source(request)
    azimuths = azimuths_from(azimuth_deg, request["north"], source.angles)
    answer: dict[str, Any] = {
        "true": every_notation(azimuths.true),
        "grid": every_notation(azimuths.grid),
        "magnetic": every_notation(azimuths.magnetic),
        "angles": angles_answer(source.angles, source.source),
        "declination_sd_deg": source.declination_sd_deg,
        "date": source.date,
        "cautions": source.cautions if source.source != "none" else [caution("own_north_only")],
    }
    if request["working"]:
        answer["working"] = [*source.working, *turning_steps(azimuth_deg, request["north"], azimuths)]
    return answer


OPERATION = Operation(
    name="bearings",
    summary="One direction from true, grid and magnetic north",
    description=(
        "Turns a bearing between true, grid and magnetic north, and between degrees, NATO mils (6400), the 6300 and 6000 "
        "divisions, gradians, degrees minutes seconds and quadrant notation, with its back bearing. The angles between "
        "the norths come from just one source: a `position` and a `date` (the magnetic model and the grid there); the "
        "angles given (two tell the third; one alone ties two norths); or a `sheet` with the grid-magnetic angle printed "
        "in its margin, carried to `date` by its annual change where both are given. With none of these the bearing is only "
        "written in every notation, from its own north."
    ),
    request=BearingRequestSchema(),
    answer=BearingAnswerSchema(),
    run=run,
    errors=ANGLE_ERRORS,
    examples=(
        Example(
            "magnetic_at_a_place",
            "A compass reads 78 degrees near an invented hut",
            {"bearing": 78, "north": "magnetic", "position": "33V VK 12345 67890", "date": "2026-11-25"},
        ),
        Example(
            "given_angle",
            "Magnetic 190 degrees with a grid-magnetic angle of 9 degrees easterly",
            {"bearing": 190, "north": "magnetic", "grid_magnetic_angle_deg": 9, "working": True},
        ),
        Example(
            "from_a_sheet",
            "A grid bearing in mils, with the angle printed in an invented sheet's margin",
            {
                "bearing": 1150,
                "unit": "mil",
                "north": "grid",
                "sheet": {"grid_magnetic_angle_deg": 5.5, "year": 2015, "annual_change_deg": 0.17},
                "date": "2026-11-25",
            },
        ),
    ),
)
