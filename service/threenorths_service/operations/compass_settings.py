"""Compass settings: clicks of a bezel, the reading to follow, and orienting the map."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import caution
from ..navmath.directions.bearing import NORTHS, Azimuths, azimuths_from
from ..navmath.directions.compass_setting import (
    BezelSetting,
    Turn,
    bezel_for_azimuth,
    bezel_for_grid_magnetic_angle,
    map_oriented_dial_deg,
    shorter_clicks,
)
from ..navmath.errors import AnglesMissingError
from .answer_schemas import CautionedAnswerSchema, GridAngleAnswerSchema
from .bearings import angles_answer, turning_steps
from .fields import Azimuth, Bearing, Number, Rounded
from .north_angles import ANGLE_ERRORS, AngleSource, angle_source, bearing_in_degrees
from .operation import AnswerSchema, Example, Operation
from .request_schemas import AnglesRequestSchema, north_member, unit_member

__all__ = ["OPERATION"]

PURPOSES = ("follow_bearing", "set_off_grid_magnetic_angle")
TURNS = ("clockwise", "counterclockwise", "none")


class CompassSettingRequestSchema(AnglesRequestSchema):
    """A bearing to pre-set, or none to set off the grid-magnetic angle."""

    bearing = Bearing(
        "The bearing to follow, with its `north`. Without one, the grid-magnetic angle is set off."
    )
    unit = unit_member()
    north = north_member()
    click_deg = Number(
        "What one click of the bezel turns. [degree]", minimum=0.1, maximum=45, load_default=3.0
    )


class TurnSchema(AnswerSchema):
    """A turn of the bezel from its index."""

    clicks = fields.Integer(
        required=True, metadata={"description": "Clicks to count, never negative.", "minimum": 0}
    )
    turn = fields.String(
        required=True, metadata={"description": "Which way to turn the bezel.", "enum": list(TURNS)}
    )


class SettingSchema(TurnSchema):
    """A setting of the bezel and how far it misses."""

    set_deg = Rounded(
        "What the clicks set: a magnetic azimuth in [0, 360), or a grid-magnetic angle, east positive. [degree]",
        6,
        required=True,
    )
    residual_deg = Rounded("Angle set less angle wanted. [degree]", 6, required=True)
    off_line_m_per_km = Rounded(
        "How far the line followed lies off the line wanted after a kilometre, right positive. [m/km]",
        2,
        required=True,
    )


class CompassSettingAnswerSchema(SettingSchema, CautionedAnswerSchema):
    """The nearest setting, and what to do with other compasses."""

    purpose = fields.String(
        required=True, metadata={"description": "What the clicks are for.", "enum": list(PURPOSES)}
    )
    tie = fields.Boolean(
        required=True,
        metadata={"description": "Whether `other_setting` is just as near to the angle wanted."},
    )
    other_setting = fields.Nested(
        SettingSchema,
        required=True,
        metadata={"description": "The click on the other side of the angle wanted."},
    )
    short_way = fields.Nested(
        TurnSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": "The same setting reached the shorter way round; null where the clicks do not divide the circle."
        },
    )
    plain_compass_deg = Azimuth(
        "Reading to follow on a compass with no bezel: the magnetic azimuth; null without a bearing. [degree]",
        required=True,
        allow_none=True,
    )
    declination_scale_deg = Rounded(
        "What to set on a compass with an adjustable declination scale so that it reads grid: the grid-magnetic angle, "
        "east positive; null where not known. [degree]",
        6,
        required=True,
        allow_none=True,
    )
    adjusted_compass_deg = Azimuth(
        "Reading to follow on that compass: the grid azimuth; null where not known. [degree]",
        required=True,
        allow_none=True,
    )
    map_oriented_dial_deg = Azimuth(
        "With the compass's edge along a north-south grid line and its sights up the map, what the dial reads when the map "
        "lies oriented; null where not known. [degree]",
        required=True,
        allow_none=True,
    )
    angles = fields.Nested(GridAngleAnswerSchema, required=True)
    declination_sd_deg = Rounded(
        "Standard deviation of the modelled declination; null where no model was used. [degree]",
        2,
        required=True,
        allow_none=True,
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a compass-setting request."""
    if "bearing" in request and "north" not in request:
        raise AnglesMissingError("the bearing's north is not said", member="north", allowed=", ".join(NORTHS))
    source = angle_source(request)
    grid_magnetic = source.angles.grid_magnetic_angle_deg
    azimuths, steps = _azimuths(request, source)
    if azimuths is None:
        if grid_magnetic is None:
            raise AnglesMissingError(
                "the grid-magnetic angle to set off does not follow from what was given",
                allowed="a position and a date, the grid-magnetic angle, or declination and convergence, or a bearing",
            )
        wanted = grid_magnetic
        bezel = bezel_for_grid_magnetic_angle(wanted, request["click_deg"])
    else:
        wanted = _magnetic(azimuths)
        bezel = bezel_for_azimuth(wanted, request["click_deg"])
    answer = {
        "purpose": PURPOSES[azimuths is None],
        **_setting(bezel.nearest),
        "tie": bool(bezel.tie),
        "other_setting": _setting(bezel.other),
        "short_way": _short_way(bezel.nearest, request["click_deg"]),
        "plain_compass_deg": None if azimuths is None else azimuths.magnetic,
        "declination_scale_deg": grid_magnetic,
        "adjusted_compass_deg": None if azimuths is None else azimuths.grid,
        "map_oriented_dial_deg": None if grid_magnetic is None else map_oriented_dial_deg(grid_magnetic),
        "angles": angles_answer(source.angles, source.source),
        "declination_sd_deg": source.declination_sd_deg,
        "cautions": [*source.cautions, *([caution("click_tie")] if bezel.tie else [])],
    }
    if request["working"]:
        answer["working"] = [
            *source.working,
            *steps,
            *_click_steps(bezel, request["click_deg"], float(wanted)),
        ]
    return answer


def _azimuths(request: dict[str, Any], source: AngleSource) -> tuple[Azimuths | None, list[str]]:
    """The bearing from each north and its steps; a magnetic bearing needs no turning to be set."""
    if "bearing" not in request:
        return None, []
    azimuth_deg = bearing_in_degrees(request["bearing"], request["unit"], "bearing")
    azimuths = azimuths_from(azimuth_deg, request["north"], source.angles)
    return azimuths, turning_steps(azimuth_deg, request["north"], azimuths)


def _magnetic(azimuths: Azimuths) -> Any:
    if azimuths.magnetic is None:
        raise AnglesMissingError(
            "the angles given do not tie the bearing to magnetic north",
            allowed="a declination for a true bearing, a grid-magnetic angle for a grid bearing",
        )
    return azimuths.magnetic


def _setting(turn: Turn) -> dict[str, Any]:
    return {
        **_counted(int(turn.clicks)),
        "set_deg": turn.set_deg,
        "residual_deg": turn.residual_deg,
        "off_line_m_per_km": turn.off_line_m_per_km,
    }


def _counted(clicks: int) -> dict[str, Any]:
    way = "none" if clicks == 0 else "counterclockwise" if clicks > 0 else "clockwise"
    return {"clicks": abs(clicks), "turn": way}


def _short_way(turn: Turn, click_deg: float) -> dict[str, Any] | None:
    clicks, divides = shorter_clicks(turn.clicks, click_deg)
    return _counted(int(clicks)) if divides else None


def _click_steps(bezel: BezelSetting, click_deg: float, wanted_deg: float) -> list[str]:
    nearest = bezel.nearest
    counted = _counted(int(nearest.clicks))
    return [
        f"{abs(wanted_deg):.3f} degrees / {click_deg:g} degrees a click = {abs(wanted_deg) / click_deg:.2f} clicks",
        f"nearest: {counted['clicks']} clicks {counted['turn']}, which sets {float(nearest.set_deg):.3f} degrees",
        f"off by {float(nearest.residual_deg):+.3f} degrees: 1000 m x tangent = "
        f"{float(nearest.off_line_m_per_km):+.1f} m a kilometre, right positive",
    ]


OPERATION = Operation(
    name="compass-settings",
    summary="Clicks of a bezel, the reading to follow, and orienting the map",
    description=(
        "With a `bearing`: the clicks that pre-set a bezel for it, counted counterclockwise from the index all the way as "
        "the handbook counts, so that the sights point along the bearing once the north arrow lies under the bezel's line. "
        "Without one: the clicks that set off the grid-magnetic angle, clockwise where it is easterly, so that directions "
        "are grid. Either way the nearest whole click, the one on the other side, whether the two are a tie, how far the "
        "setting misses and how far off the line that leads; and for other compasses the reading to follow with no bezel "
        "or with an adjustable declination scale, and what the dial reads when the map lies oriented."
    ),
    request=CompassSettingRequestSchema(),
    answer=CompassSettingAnswerSchema(),
    run=run,
    errors=ANGLE_ERRORS,
    examples=(
        Example(
            "follow_a_bearing",
            "A grid bearing of 60 degrees with a grid-magnetic angle of 8 degrees easterly",
            {"bearing": 60, "north": "grid", "grid_magnetic_angle_deg": 8, "working": True},
        ),
        Example(
            "set_off_the_angle",
            "Setting off a grid-magnetic angle of 14 degrees easterly",
            {"grid_magnetic_angle_deg": 14},
        ),
    ),
)
