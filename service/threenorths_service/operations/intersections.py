"""Intersections: an unknown place from bearings taken at known places."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.places.place import place_from_geodetic
from ..navmath.sights.intersection import intersect
from .fields import List
from .north_angles import date_for_magnetic, magnetic_cautions
from .operation import Example, Operation
from .request_schemas import Position
from .sights import (
    FIX_ERRORS,
    MOST_SIGHTS,
    FixAnswerSchema,
    FixRequestSchema,
    SightRequestSchema,
    fix_answer,
    sights_of,
)

__all__ = ["OPERATION"]


class IntersectionSightSchema(SightRequestSchema):
    """A bearing taken at a known place."""

    place = Position("Where the bearing was taken.", data_key="from", required=True)


class IntersectionRequestSchema(FixRequestSchema):
    """Bearings toward one unknown place."""

    sights = List(
        fields.Nested(IntersectionSightSchema),
        "Bearings toward the unknown place, each with the known place it was taken at.",
        minimum=2,
        maximum=MOST_SIGHTS,
        required=True,
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer an intersection request."""
    year = date_for_magnetic(request)
    loaded = sights_of(request, "from")
    fix = intersect(
        loaded.sights,
        request["north"],
        decimal_year=year,
        zone=[place.grid_zone for place in loaded.places],
        south=[place.grid_south for place in loaded.places],
    )
    there = place_from_geodetic(fix.lat_deg, fix.lon_deg)
    magnetic_year = year if request["north"] == "magnetic" else None
    return fix_answer(request, fix, loaded, magnetic_cautions([*loaded.places, there], magnetic_year))


OPERATION = Operation(
    name="intersections",
    summary="An unknown place from bearings taken at known places",
    description=(
        "Weighted least squares on exact ellipsoidal bearings. Each magnetic or grid bearing is converted at the place where "
        "it was taken. The answer is the place that fits best, its 95 % ellipse from the standard deviations of the sights, "
        "and each sight's residual. With two sights there is nothing to check them by: take a third."
    ),
    request=IntersectionRequestSchema(),
    answer=FixAnswerSchema(),
    run=run,
    errors=FIX_ERRORS,
    examples=(
        Example(
            "smoke_from_two_tops",
            "Smoke seen from two invented hilltops",
            {
                "sights": [
                    {"from": "33V VK 1200 6500", "bearing": 52},
                    {"from": "33V VK 1710 6480", "bearing": 331, "sd_deg": 1},
                ],
                "north": "magnetic",
                "date": "2026-11-25",
                "working": True,
            },
        ),
    ),
)
