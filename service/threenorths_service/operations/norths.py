"""Norths: declination, convergence and the grid-magnetic angle at a place and date."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.directions.north import norths_at, norths_cautions
from ..navmath.errors import DateOutsideModelError
from ..navmath.magnetism.decimal_year import decimal_year
from ..navmath.magnetism.magnetic import MAXIMUM_HEIGHT_M, MINIMUM_HEIGHT_M, MODELS, check_date, model_at
from .answer_schemas import CautionedAnswerSchema, ReadPlaceSchema
from .fields import DateText, Number, Rounded
from .operation import Example, Operation
from .places import POSITION_ERRORS, reader_of
from .request_schemas import PlacesRequestSchema, Position, date_member, model_member

__all__ = ["OPERATION"]


class NorthsRequestSchema(PlacesRequestSchema):
    """A place and a date."""

    position = Position("The place. Given on a grid, its convergence is that grid zone's.", required=True)
    date: DateText = date_member("Date of the declination.", required=True)
    model = model_member()
    height_m = Number(
        "Height above the WGS 84 ellipsoid. [m]",
        minimum=MINIMUM_HEIGHT_M,
        maximum=MAXIMUM_HEIGHT_M,
        load_default=0.0,
    )


class NorthsAnswerSchema(CautionedAnswerSchema):
    """The three norths at the place."""

    declination_deg = Rounded(
        "Declination: true to magnetic north, east positive. [degree]", 6, required=True
    )
    declination_sd_deg = Rounded(
        "Its standard deviation, as the model's publishers estimate it. [degree]", 3, required=True
    )
    convergence_deg = Rounded("Convergence: true to grid north, east positive. [degree]", 9, required=True)
    grid_magnetic_angle_deg = Rounded("Grid to magnetic north, east positive. [degree]", 6, required=True)
    annual_change_deg = Rounded(
        "Annual change of the declination, eastward positive. [degree/year]", 6, required=True
    )
    inclination_deg = Rounded("Dip of the field below the horizontal. [degree]", 6, required=True)
    horizontal_nt = Rounded("Horizontal intensity of the field. [nT]", 1, required=True)
    total_nt = Rounded("Total intensity of the field. [nT]", 1, required=True)
    model = fields.String(required=True, metadata={"description": "Magnetic model.", "enum": list(MODELS)})
    date = fields.Date(required=True, metadata={"description": "Date that the answer is for."})
    decimal_year = Rounded("The same as a decimal year.", 6, required=True)
    height_m = Rounded("Height above the WGS 84 ellipsoid. [m]", 3, required=True)
    position = fields.Nested(ReadPlaceSchema, required=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a norths request."""
    check_date(request["date"], request.get("model"))
    place = reader_of(request).read(request["position"], "position")
    year = decimal_year(request["date"])
    height_m = request["height_m"]
    model = request.get("model") or str(model_at(year))
    norths = norths_at(
        place.lat_deg,
        place.lon_deg,
        year,
        height_m,
        zone=place.grid_zone,
        south=place.grid_south,
        model=model,
    )
    declination, convergence = float(norths.declination_deg), float(norths.convergence_deg)
    answer = {
        **{name: getattr(norths, name) for name in NORTH_MEMBERS},
        "model": model,
        "date": request["date"],
        "decimal_year": year,
        "height_m": height_m,
        "position": place,
        "cautions": [*place.cautions, *norths_cautions(place.lat_deg, norths)],
    }
    if request["working"]:
        answer["working"] = [
            f"{request['date'].isoformat()} is the decimal year {year:.4f}",
            f"{model} at {place.lat_deg:.5f}, {place.lon_deg:.5f}: declination D = {declination:+.3f} degrees, "
            f"give or take {float(norths.declination_sd_deg):.2f}",
            f"convergence C = {convergence:+.3f} degrees in the grid zone",
            f"grid-magnetic angle G = D - C = {declination:+.3f} - ({convergence:+.3f}) "
            f"= {float(norths.grid_magnetic_angle_deg):+.3f} degrees, east positive",
        ]
    return answer


NORTH_MEMBERS = (
    "declination_deg",
    "declination_sd_deg",
    "convergence_deg",
    "grid_magnetic_angle_deg",
    "annual_change_deg",
    "inclination_deg",
    "horizontal_nt",
    "total_nt",
)

OPERATION = Operation(
    name="norths",
    summary="The three norths at a place and date",
    description=(
        "Declination with its standard deviation, its annual change, dip and strength of the field, and convergence and "
        "grid-magnetic angle of the grid. Dates from 2025 on are answered by the World Magnetic Model 2025, older ones, back "
        "to 1900 for old sheets and old reports, by the IGRF-14, unless a `model` is named; a model's dates are enforced. "
        "The standard deviation covers what the model leaves out, and grows back in time; iron, rock and power lines nearby "
        "can turn a needle much further."
    ),
    request=NorthsRequestSchema(),
    answer=NorthsAnswerSchema(),
    run=run,
    errors=(*POSITION_ERRORS, DateOutsideModelError),
    examples=(
        Example(
            "at_a_place", "An invented trailhead", {"position": "33V VK 12345 67890", "date": "2026-11-25"}
        ),
        Example(
            "of_an_old_sheet",
            "What the declination was when an invented sheet was printed",
            {"position": "33V VK 12345 67890", "date": "1962-07-01"},
        ),
        Example(
            "near_the_magnetic_pole",
            "Where a compass is of little use",
            {"position": {"lat_deg": 81.5, "lon_deg": -75}, "date": "2026-11-25", "working": True},
        ),
    ),
)
