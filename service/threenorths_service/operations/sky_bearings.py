"""Sky bearings: where the sun, the moon or Polaris stands at a place and moment, to check a compass by with no map."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.directions.bearing import NORTHS
from ..navmath.directions.north import norths_cautions
from ..navmath.errors import DateOutsideModelError, MembersConflictError
from ..navmath.magnetism.magnetic import MAXIMUM_HEIGHT_M, MINIMUM_HEIGHT_M, check_date
from ..navmath.skies.sky_bearing import (
    BODIES,
    SIGHTED_PARTS,
    WATCH_SD_S,
    SkyBearing,
    SkyStatus,
    sighted_azimuth,
    sighted_azimuth_sd,
    sky_bearing,
)
from ..navmath.skies.sky_north import azimuths_at
from .answer_schemas import CautionedAnswerSchema, ReadPlaceSchema
from .estimates import naming
from .fields import Azimuth, Number, Rounded
from .moments import Moment, MomentText, read_moment, universal
from .operation import Example, Operation
from .places import POSITION_ERRORS, reader_of
from .request_schemas import PlacesRequestSchema, Position, model_member
from .sky_given import SKY_YEARS, body_member, check_part, part_member, sky_cautions, watch_sd_member

__all__ = ["OPERATION", "STATUS_NAMES"]

STATUS_NAMES = tuple(status.name.lower() for status in SkyStatus)


class SkyBearingRequestSchema(PlacesRequestSchema):
    """A body, a place and a moment."""

    body = body_member("The body that is sighted.", required=True)
    position = Position("Where it is sighted from. Its grid is that of the grid azimuth.", required=True)
    moment = MomentText(
        f"When: ISO 8601 with an offset from UTC or Z, {SKY_YEARS} as the sky goes and to the end of 2029 as the magnetic "
        "model goes, or `now`, which is echoed.",
        required=True,
    )
    part = part_member(load_default="centre")
    height_m = Number(
        "Height of the place above the WGS 84 ellipsoid. [m]",
        minimum=MINIMUM_HEIGHT_M,
        maximum=MAXIMUM_HEIGHT_M,
        load_default=0.0,
    )
    watch_sd_s = watch_sd_member()
    model = model_member()


class SkyBearingAnswerSchema(CautionedAnswerSchema):
    """What a true reading of the part sighted would be, from each north, and where the body's middle stands."""

    body = fields.String(required=True, metadata={"description": "The body.", "enum": list(BODIES)})
    part = fields.String(
        required=True, metadata={"description": "What of it is sighted.", "enum": list(SIGHTED_PARTS)}
    )
    moment = Moment("The moment.", required=True)
    status = fields.String(
        required=True,
        metadata={
            "description": "Whether the body can be sighted, and if not, why.",
            "enum": list(STATUS_NAMES),
        },
    )
    true_azimuth_deg = Azimuth("Azimuth of the part sighted, from true north. [degree]", required=True)
    grid_azimuth_deg = Azimuth("The same from grid north. [degree]", required=True)
    magnetic_azimuth_deg = Azimuth(
        "The same from magnetic north: what a compass without an error reads. [degree]", required=True
    )
    true_azimuth_sd_deg = Rounded(
        "Standard deviation of the true and the grid azimuth, of the theory and the watch. [degree]",
        4,
        required=True,
    )
    magnetic_azimuth_sd_deg = Rounded(
        "Standard deviation of the magnetic azimuth: the declination's own with it. [degree]",
        3,
        required=True,
    )
    greatest_error_deg = Rounded(
        "What the azimuth of the body's middle is off by at most, by a watch that is right. [degree]",
        4,
        required=True,
    )
    change_deg_per_min = Rounded("How much the azimuth grows in a minute. [degree/min]", 4, required=True)
    altitude_deg = Rounded(
        "Altitude of the body's middle above a level horizon as it is seen, refraction and all. [degree]",
        3,
        required=True,
    )
    semidiameter_deg = Rounded("Half the width of its disk; 0 of a star. [degree]", 4, required=True)
    limb_offset_deg = Rounded("Azimuth of its right edge less that of its middle. [degree]", 4, required=True)
    declination_deg = Rounded(
        "Declination used, from true to magnetic north, east positive. [degree]", 6, required=True
    )
    declination_sd_deg = Rounded("Its standard deviation. [degree]", 3, required=True)
    convergence_deg = Rounded(
        "Convergence used, from true to grid north, east positive. [degree]", 9, required=True
    )
    position = fields.Nested(ReadPlaceSchema, required=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a sky bearing request."""
    body, part = request["body"], request["part"]
    check_part(body, part, "part")
    moment = read_moment(request["moment"], "moment")
    with naming({"date": "moment"}):
        check_date(moment.astimezone(datetime.UTC).date(), request.get("model"))
    place = reader_of(request).read(request["position"], "position")
    where = (place.lat_deg, place.lon_deg, universal(moment), request["height_m"])
    sky = sky_bearing(body, *where)
    azimuths, norths = azimuths_at(
        sighted_azimuth(sky, part), *where, place.grid_zone, place.grid_south, request.get("model")
    )
    sd_deg = float(sighted_azimuth_sd(sky, request.get("watch_sd_s", WATCH_SD_S)))
    answer: dict[str, Any] = {
        **{name: getattr(sky, name) for name in SKY_MEMBERS},
        **{name: getattr(norths, name) for name in NORTH_MEMBERS},
        "body": body,
        "part": part,
        "moment": moment,
        "status": STATUS_NAMES[int(sky.status)],
        "true_azimuth_deg": azimuths.true,
        "grid_azimuth_deg": azimuths.grid,
        "magnetic_azimuth_deg": azimuths.magnetic,
        "true_azimuth_sd_deg": sd_deg,
        "magnetic_azimuth_sd_deg": np.hypot(sd_deg, norths.declination_sd_deg),
        "position": place,
        "cautions": [
            *sky_cautions(body, sky),
            *place.cautions,
            *norths_cautions(place.lat_deg, norths),
        ],
    }
    if request["working"]:
        answer["working"] = [
            f"{moment.isoformat()} is {moment.astimezone(datetime.UTC):%Y-%m-%d %H:%M:%S} UTC",
            *_working(part, sky, answer),
        ]
    return answer


SKY_MEMBERS = (
    "greatest_error_deg",
    "change_deg_per_min",
    "altitude_deg",
    "semidiameter_deg",
    "limb_offset_deg",
)
NORTH_MEMBERS = ("declination_deg", "declination_sd_deg", "convergence_deg")


def _working(part: str, sky: SkyBearing, answer: dict[str, Any]) -> list[str]:
    middle, offset = float(sky.true_azimuth_deg), float(sky.limb_offset_deg)
    declination, convergence = float(answer["declination_deg"]), float(answer["convergence_deg"])
    true, grid, magnetic = (float(answer[f"{north}_azimuth_deg"]) for north in NORTHS)
    turned = {
        "centre": [],
        "left_limb": [f"its left edge is {offset:.2f} to the left: {true:.2f} degrees true"],
        "right_limb": [f"its right edge is {offset:.2f} to the right: {true:.2f} degrees true"],
        "shadow": [f"the shadow falls the opposite way: {middle:.2f} +- 180 = {true:.2f} degrees true"],
    }
    return [
        f"its middle stands {float(sky.altitude_deg):.1f} degrees high at azimuth {middle:.2f} true, which changes by "
        f"{float(sky.change_deg_per_min):+.2f} in a minute",
        *turned[part],
        f"grid = true - C = {true:.2f} - ({convergence:+.2f}) = {grid:.2f} degrees",
        f"magnetic = true - D = {true:.2f} - ({declination:+.2f}) = {magnetic:.2f} degrees",
        "compass error = reading - magnetic azimuth, positive where the compass reads too much",
    ]


OPERATION = Operation(
    name="sky-bearings",
    summary="The bearing of the sun, the moon or Polaris, to check a compass by",
    description=(
        "Where the sun, the moon or Polaris stands at a place and moment, from true, grid and magnetic north, so that a "
        "compass can be checked with no map. **Never look at the sun, and never sight it through a lens or a mirror: it "
        "blinds.** Take the shadow of a plumb line.\n\n"
        "Positions are from the theories of the IAU's SOFA collection and were held against an independent ephemeris; "
        "`greatest_error_deg` says what they and the earth's uneven turning leave. The watch, the hand and the declination "
        "leave far more. The altitude supposes a level horizon and air at 10 degrees Celsius and 1010 hPa."
    ),
    request=SkyBearingRequestSchema(),
    answer=SkyBearingAnswerSchema(),
    run=run,
    errors=(*POSITION_ERRORS, DateOutsideModelError, MembersConflictError),
    examples=(
        Example(
            "shadow_of_a_plumb_line",
            "A morning on an invented moor",
            {
                "body": "sun",
                "part": "shadow",
                "position": "33V VK 12345 67890",
                "moment": "2026-06-14T08:30:00+02:00",
                "working": True,
            },
        ),
        Example(
            "polaris_at_night",
            "A winter's night at the same invented place, by a watch that may be half a minute off",
            {
                "body": "polaris",
                "position": "33V VK 12345 67890",
                "moment": "2026-11-25T21:00Z",
                "watch_sd_s": 30,
            },
        ),
    ),
)
