"""Positions: read in any written form, given in every form."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import caution
from ..navmath.position import TAKES, Place, describe
from ..navmath.position import Position as DescribedPosition
from .fields import Choice, Rounded, WholeNumber
from .operation import Example, Operation
from .places import POSITION_ERRORS, place_of
from .schemas import CautionedAnswerSchema, OperationRequestSchema, Position, PositionAnswerSchema

__all__ = ["OPERATION"]


class PositionRequestSchema(OperationRequestSchema):
    """A position to read."""

    position = Position("The position, in any form.", required=True)
    digits = WholeNumber(
        "Digits a side to write `mgrs` with: 0 is 100 km, 5 is 1 m. Left out: as finely as the position was given.",
        minimum=0,
        maximum=5,
    )
    take = Choice(
        "What of a grid reference's square is taken for the position: its centre or its south-west corner. Other forms name "
        "a point already.",
        TAKES,
        load_default="centre",
    )


class PositionsAnswerSchema(PositionAnswerSchema, CautionedAnswerSchema):
    """The position in every form, and how it was read."""

    form = fields.String(
        required=True,
        metadata={"description": "Form that was read.", "enum": ["mgrs", "utm", "ups", "latitude_longitude"]},
    )
    read_as = fields.String(
        required=True,
        metadata={"description": "What was understood, written so that it can be read in one way only."},
    )
    resolution_m = Rounded(
        "How finely the position was given: the side of the square read, or a unit of the last digit written; null for "
        "an object. [m]",
        4,
        required=True,
        allow_none=True,
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a position request."""
    place = place_of(request["position"], "position", request["take"])
    digits = request.get("digits")
    position = describe(place, digits)
    cautions = list(place.cautions)
    if digits is not None and digits > place.own_digits:
        cautions.append(caution("more_digits_than_read"))
    answer = {
        **{name: getattr(position, name) for name in position.__slots__},
        "form": place.form,
        "read_as": place.read_as,
        "resolution_m": place.resolution_m,
        "cautions": cautions,
    }
    if request["working"]:
        answer["working"] = _working(place, position)
    return answer


def _working(place: Place, position: DescribedPosition) -> list[str]:
    steps = [f"read as {place.read_as}"]
    east_m = position.east_of_central_meridian_m
    if east_m is not None:
        side = "east" if east_m >= 0 else "west"
        steps.append(
            f"central meridian of zone {place.zone}: 6 x {place.zone} - 183 = {position.central_meridian_deg:.0f}"
        )
        steps.append(
            f"easting {place.easting_m:,.0f} - 500,000 = {east_m:+,.0f} m: {abs(east_m):,.0f} m {side} of it"
        )
    steps.append(
        f"truncated to squares of {position.square_m:,.0f} m: easting {place.easting_m:,.1f} and northing "
        f"{place.northing_m:,.1f} give {position.mgrs_spaced}"
    )
    return steps


OPERATION = Operation(
    name="positions",
    summary="A written position, read and given in every form",
    description=(
        "Reads a grid reference (MGRS or USNG, 0 to 5 digits a side, spaced or not), UTM or UPS coordinates, or "
        "latitude and longitude in degrees, degrees and minutes, or degrees minutes seconds, and gives the place in "
        "every form with its zone, band, convergence, point scale factor, and the square that its grid reference "
        "names. Without letters or words, latitude comes first (ISO 6709). A text with two readings at different "
        "places is refused with both; none is ever guessed. A reference is read as its square's centre, so the place "
        "is known only to within the square."
    ),
    request=PositionRequestSchema(),
    answer=PositionsAnswerSchema(),
    run=run,
    errors=POSITION_ERRORS,
    examples=(
        Example("grid_reference", "Six figures in a square, invented", {"position": "33V VK 123 678"}),
        Example(
            "degrees_minutes_seconds",
            "A cemetery on a published training map (FM 3-25.26, fig. 4-4)",
            {"position": "32 19 06 N, 84 47 32 W", "digits": 4, "working": True},
        ),
        Example(
            "utm_object",
            "UTM coordinates as an object",
            {"position": {"zone": 33, "hemisphere": "south", "easting_m": 500000, "northing_m": 6500000}},
        ),
        Example("polar", "Near the south pole", {"position": {"lat_deg": -89.5, "lon_deg": 45}}),
        Example(
            "corner", "The south-west corner of a square", {"position": "33V VK 123 678", "take": "corner"}
        ),
    ),
)
