"""Resections: the observer's own place from bearings to known marks."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.errors import CompassErrorUnsolvableError, DangerCircleError
from ..navmath.places.place import place_from_geodetic
from ..navmath.sights.resection import resect
from .fields import Flag, List
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


class ResectionSightSchema(SightRequestSchema):
    """A bearing to a known mark."""

    place = Position("The mark that the bearing was taken to.", data_key="to", required=True)


class ResectionRequestSchema(FixRequestSchema):
    """Bearings from one unknown place."""

    sights = List(
        fields.Nested(ResectionSightSchema),
        "Bearings from the unknown place, each to a known mark.",
        minimum=2,
        maximum=MOST_SIGHTS,
        required=True,
    )
    solve_compass_error = Flag(
        "Whether one unknown error, common to all the readings, is solved for as well. It needs three sights, well spread.",
        load_default=False,
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a resection request."""
    year = date_for_magnetic(request)
    loaded = sights_of(request, "to")
    # Marks given on one grid are on one sheet, and so is the observer; otherwise the observer's own zone is found.
    grids = {(place.grid_zone, place.grid_south) if place.grid_named else None for place in loaded.places}
    zone, south = (grids.pop() if len(grids) == 1 else None) or (None, None)
    fix = resect(
        loaded.sights,
        request["north"],
        decimal_year=year,
        zone=zone,
        south=south,
        solve_compass_error=request["solve_compass_error"],
    )
    here = place_from_geodetic(fix.lat_deg, fix.lon_deg)
    return fix_answer(
        request, fix, loaded, magnetic_cautions([here], year if request["north"] == "magnetic" else None)
    )


OPERATION = Operation(
    name="resections",
    summary="The observer's own place from bearings to known marks",
    description=(
        "Weighted least squares on exact ellipsoidal bearings; declination and convergence are taken at the observer's own "
        "place, which is found along with them. With three sights or more, `solve_compass_error` finds an error common to "
        "all the readings too; then the place rests on the angles between the marks alone, and a mark on the circle through "
        "the others and the observer (the danger circle) tells nothing."
    ),
    request=ResectionRequestSchema(),
    answer=FixAnswerSchema(),
    run=run,
    errors=(*FIX_ERRORS, CompassErrorUnsolvableError, DangerCircleError),
    examples=(
        Example(
            "three_marks",
            "Three invented marks, with the compass's own error",
            {
                "sights": [
                    {"to": "33V VK 1200 6500", "bearing": 227},
                    {"to": "33V VK 1710 6480", "bearing": 128},
                    {"to": "33V VK 1460 7110", "bearing": 354},
                ],
                "north": "magnetic",
                "date": "2026-11-25",
                "sd_deg": 1,
                "solve_compass_error": True,
            },
        ),
    ),
)
