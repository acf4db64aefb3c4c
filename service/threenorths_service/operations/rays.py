"""Rays: the place at the end of a bearing and a distance."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.errors import (
    AnglesUnreadableError,
    DateMissingError,
    DateOutsideModelError,
    OutsideGridError,
)
from ..navmath.lines.ray import ray_from
from ..navmath.places.place import place_from_geodetic
from ..navmath.places.position import describe
from .answer_schemas import CautionedAnswerSchema, PositionAnswerSchema, ReadPlaceSchema
from .fields import Azimuth, Bearing, Number, Rounded
from .north_angles import bearing_in_degrees, date_for_magnetic, magnetic_cautions
from .operation import Example, Operation
from .places import POSITION_ERRORS, on_sheet_cautions, reader_of
from .request_schemas import PlacesRequestSchema, Position, date_member, north_member, unit_member

__all__ = ["COARSE_M", "OPERATION", "coarse_cautions"]

#: The longest ray: a quarter of the way round. Beyond it a bearing says nothing to somebody on foot.
LONGEST_M = 10_000_000
#: A beginning known no better than this is worth a caution: a six-figure reference. [m]
COARSE_M = 100.0


class RayRequestSchema(PlacesRequestSchema):
    """A place, a bearing from it, and a distance along it."""

    from_ = Position("Where the ray begins.", data_key="from", required=True)
    bearing = Bearing("Direction at the beginning.", required=True)
    unit = unit_member()
    north = north_member(required=True)
    distance_m = Number("Distance on the ellipsoid. [m]", minimum=0, maximum=LONGEST_M, required=True)
    date = date_member("Date of a magnetic bearing; required for one.")


class RayAnswerSchema(CautionedAnswerSchema):
    """The place at the end, and the azimuths of the ray."""

    position = fields.Nested(PositionAnswerSchema, required=True)
    from_ = fields.Nested(ReadPlaceSchema, data_key="from", required=True)
    true_azimuth_deg = Azimuth("Azimuth at the beginning, from true north. [degree]", required=True)
    true_back_azimuth_deg = Azimuth("Azimuth back, from true north at the end. [degree]", required=True)
    distance_m = Rounded("Distance on the ellipsoid. [m]", 4, required=True)
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date of a magnetic bearing; null where none was given."},
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a ray request."""
    year = date_for_magnetic(request)
    azimuth_deg = bearing_in_degrees(request["bearing"], request["unit"], "bearing")
    start = reader_of(request).read(request["from_"], "from")
    ray = ray_from(
        start.lat_deg,
        start.lon_deg,
        azimuth_deg,
        request["north"],
        request["distance_m"],
        decimal_year=year,
        zone=start.grid_zone,
        south=start.grid_south,
    )
    if not ray.grid_reached:
        raise OutsideGridError(
            f"the grid of the beginning ({start.grid_name}) does not reach the end of the ray; follow a true bearing instead",
            member="distance_m",
            value=request["distance_m"],
            allowed="a distance within the reach of the grid",
        )
    end = place_from_geodetic(float(ray.lat_deg), float(ray.lon_deg))
    position = describe(end, start.own_digits)
    magnetic_year = year if request["north"] == "magnetic" else None
    answer = {
        "position": position,
        "from_": start,
        "true_azimuth_deg": ray.true_azimuth_deg,
        "true_back_azimuth_deg": ray.true_back_azimuth_deg,
        "distance_m": request["distance_m"],
        "date": request.get("date"),
        "cautions": [
            *start.cautions,
            *coarse_cautions(start.resolution_m),
            *magnetic_cautions([start], magnetic_year),
            *on_sheet_cautions(request, position, start.own_digits),
        ],
    }
    if request["working"]:
        answer["working"] = [
            f"{request['north']} azimuth {azimuth_deg:.3f} degrees is true azimuth "
            f"{float(ray.true_azimuth_deg):.3f} degrees at the beginning",
            f"{request['distance_m']:,.1f} m along it on the ellipsoid leads to {answer['position'].mgrs_spaced}",
        ]
    return answer


def coarse_cautions(resolution_m: float | None) -> list[Caution]:
    """What is to be said of a beginning that is given so coarsely that it limits the end."""
    if resolution_m is None or resolution_m < COARSE_M:
        return []
    return [
        caution(
            "coarse_reference",
            f"The beginning is given to {resolution_m:,.0f} m only, and so is the end, before any error of the "
            "bearing.",
        )
    ]


OPERATION = Operation(
    name="rays",
    summary="The place at the end of a bearing and a distance",
    description=(
        "Follows a bearing for a distance. True and magnetic bearings leave the first place along the line of sight; a grid "
        "bearing is that of the straight line on the map, so that `/v1/lines` turns it back exactly."
    ),
    request=RayRequestSchema(),
    answer=RayAnswerSchema(),
    run=run,
    errors=(*POSITION_ERRORS, DateMissingError, AnglesUnreadableError, DateOutsideModelError),
    examples=(
        Example(
            "from_the_hut",
            "2.5 km along a magnetic bearing from an invented hut",
            {
                "from": "33V VK 12345 67890",
                "bearing": 118,
                "north": "magnetic",
                "distance_m": 2500,
                "date": "2026-11-25",
            },
        ),
        Example(
            "grid_in_mils",
            "A grid bearing in mils",
            {
                "from": "33V VK 12345 67890",
                "bearing": 2100,
                "unit": "mil",
                "north": "grid",
                "distance_m": 800,
                "working": True,
            },
        ),
    ),
)
