"""Positions: read in any written form, on any datum, given in every form."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.datums.datum import WGS84
from ..navmath.datums.frame import Frame
from ..navmath.lines.geodesic import inverse
from ..navmath.places.local_position import LocalPosition, local_position
from ..navmath.places.place import TAKES, Place, datum_coarse
from ..navmath.places.position import Position as DescribedPosition
from ..navmath.places.position import describe
from ..navmath.places.slips import SLIPS, Slip, alternatives
from .answer_schemas import POSITION_PLACES, CautionedAnswerSchema, PositionAnswerSchema
from .fields import Azimuth, Choice, Rounded, WholeNumber
from .geojson import place_feature
from .operation import AnswerSchema, Example, Operation
from .places import POSITION_ERRORS, PlaceReader, near_distance_m, reader_of, sheet_distance_m
from .request_schemas import HEMISPHERES, PlacesRequestSchema, Position

__all__ = ["OPERATION"]

FORMS = ("mgrs", "utm", "ups", "latitude_longitude", "national_reference", "projected")


class PositionRequestSchema(PlacesRequestSchema):
    """A position to read."""

    position = Position("The position, in any form.", required=True)
    digits = WholeNumber(
        "Digits a side to write references with: 0 is 100 km, 5 is 1 m. Left out: as finely as the position is known.",
        minimum=0,
        maximum=5,
    )
    take = Choice(
        "What of a grid reference's square is taken for the position: its centre or its south-west corner. Other forms name "
        "a point already.",
        TAKES,
        load_default="centre",
    )


class DatumShiftSchema(AnswerSchema):
    """How the place came to WGS84."""

    datum = fields.Function(
        lambda shift: shift.datum.name,
        required=True,
        metadata={"description": "Datum that the position was given on.", "type": "string"},
    )
    datum_epsg = fields.Function(
        lambda shift: shift.datum.epsg,
        required=True,
        metadata={
            "description": "EPSG code of its geographic coordinate reference system.",
            "type": "integer",
        },
    )
    lat_deg = Rounded("Latitude on that datum, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude on that datum, east positive. [degree]", POSITION_PLACES, required=True)
    operation = fields.String(
        required=True, metadata={"description": "The one operation that was used, with its EPSG code."}
    )
    accuracy_m = Rounded("How far it may have put the place off. [m]", 1, required=True)
    ballpark = fields.Boolean(
        required=True,
        metadata={
            "description": "Whether no shift is known and the coordinates were taken over as they stand."
        },
    )


class LocalPositionSchema(AnswerSchema):
    """The place on the datum and the grid of the map in hand."""

    datum = fields.String(required=True, metadata={"description": "Datum of all that follows."})
    datum_epsg = fields.Integer(
        required=True, metadata={"description": "EPSG code of its geographic coordinate reference system."}
    )
    lat_deg = Rounded("Latitude on that datum, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude on that datum, east positive. [degree]", POSITION_PLACES, required=True)
    grid = fields.String(required=True, metadata={"description": "Name of the grid."})
    zone = fields.Integer(
        required=True,
        allow_none=True,
        metadata={"description": "UTM zone number, 0 for UPS; null on a national grid."},
    )
    hemisphere = fields.String(
        required=True,
        allow_none=True,
        metadata={"description": "Its hemisphere; null on a national grid.", "enum": [*HEMISPHERES, None]},
    )
    epsg = fields.Integer(
        required=True,
        allow_none=True,
        metadata={"description": "EPSG code of a national grid; null elsewhere."},
    )
    easting_m = Rounded("Easting on the grid. [m]", 4, required=True)
    northing_m = Rounded("Northing on the grid. [m]", 4, required=True)
    reference = fields.String(
        required=True,
        allow_none=True,
        metadata={"description": "Grid reference there; null on a grid that is written without letters."},
    )
    convergence_deg = Rounded(
        "Convergence of that grid, from true to grid north, east positive. [degree]", 9, required=True
    )
    point_scale_factor = Rounded("Scale of that grid at the place.", 10, required=True)
    operation = fields.String(
        required=True,
        allow_none=True,
        metadata={"description": "The operation between that datum and WGS84; null where it is WGS84."},
    )
    accuracy_m = Rounded("How good that operation is; null likewise. [m]", 1, required=True, allow_none=True)


class ExpectedSchema(AnswerSchema):
    """The place against where it was expected."""

    fits = fields.Boolean(
        required=True, metadata={"description": "Whether it is on the sheet and within reach of `near`."}
    )
    near_distance_m = Rounded("Distance from `near`; null without it. [m]", 1, required=True, allow_none=True)
    near_true_azimuth_deg = Azimuth(
        "Direction from `near`, from true north; null without it, or where the place is the same. [degree]",
        required=True,
        allow_none=True,
        places=2,
    )
    outside_sheet_m = Rounded(
        "How far outside the edges of the sheet, 0 on it; null of a sheet without edges. [m]",
        1,
        required=True,
        allow_none=True,
    )


class SlipSchema(AnswerSchema):
    """A place that a likely slip would have meant."""

    slip = fields.String(
        required=True, metadata={"description": "Stable code of the slip.", "enum": list(SLIPS)}
    )
    explanation = fields.String(required=True, metadata={"description": "The slip in a sentence."})
    read_as = fields.String(required=True, metadata={"description": "The position without the slip."})
    datum = fields.String(required=True, metadata={"description": "Datum that it is then on."})
    lat_deg = Rounded("Its latitude on WGS84, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Its longitude on WGS84, east positive. [degree]", POSITION_PLACES, required=True)
    distance_m = Rounded("How far it is from `near`, or from the sheet. [m]", 1, required=True)


class PositionsAnswerSchema(PositionAnswerSchema, CautionedAnswerSchema):
    """The position in every form, and how it was read."""

    form = fields.String(required=True, metadata={"description": "Form that was read.", "enum": list(FORMS)})
    read_as = fields.String(
        required=True,
        metadata={
            "description": "What was understood, on the datum it was read on, written so that it can be read in one way only."
        },
    )
    resolution_m = Rounded(
        "How finely the position was given: the side of the square read, or a unit of the last digit written; null for "
        "an object. [m]",
        4,
        required=True,
        allow_none=True,
    )
    shift = fields.Nested(DatumShiftSchema, required=True, allow_none=True)
    local = fields.Nested(
        LocalPositionSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": "The place on the datum and the grid of the sheet, or that it was given on; null where these are "
            "WGS84 with UTM or UPS."
        },
    )
    expected = fields.Nested(
        ExpectedSchema,
        required=True,
        allow_none=True,
        metadata={"description": "The place against `near` and the sheet's edges; null without both."},
    )
    alternatives = fields.List(
        fields.Nested(SlipSchema),
        required=True,
        metadata={
            "description": "Of a place that is not where it was expected: the places that likely slips would have meant and "
            "that are, nearest first. None of them was chosen."
        },
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a position request."""
    reader = reader_of(request)
    place = reader.read(request["position"], "position", request["take"])
    digits = request.get("digits")
    position = describe(place, digits)
    datum = reader.sheet.datum if reader.sheet is not None else place.datum
    local = local_position(place, digits, datum, allow_ballpark=reader.frame.allow_ballpark)
    cautions = [*place.cautions, *_local_cautions(place, local)]
    if digits is not None and digits > place.own_digits:
        cautions.append(caution("more_digits_than_read"))
    answer = {
        **{name: getattr(position, name) for name in position.__slots__},
        "form": place.form,
        "read_as": place.read_as,
        "resolution_m": place.resolution_m,
        "shift": place.shift,
        "local": local,
        "expected": _expected(place, reader),
        "alternatives": [_slip(slip) for slip in _alternatives(place, reader)],
        "cautions": cautions,
        "place": place,
    }
    if request["working"]:
        answer["working"] = _working(place, position, local)
    return answer


def _local_cautions(place: Place, local: LocalPosition | None) -> list[Caution]:
    """What is to be said of a place that was brought from WGS84 to the sheet's datum."""
    if place.shift is not None or local is None or local.operation is None or local.accuracy_m is None:
        return []
    if local.accuracy_m <= (place.resolution_m or 1.0):
        return []
    return [datum_coarse(local.datum, local.operation, local.accuracy_m)]


def _expected(place: Place, reader: PlaceReader) -> dict[str, Any] | None:
    expected = reader.expected
    if expected is None or not (expected.has_place or (expected.sheet and expected.sheet.squares)):
        return None
    near_m = near_distance_m(place, expected)
    azimuth_deg = None
    if expected.near is not None and near_m:
        azimuth_deg = inverse(*expected.near, place.lat_deg, place.lon_deg)[0]
    return {
        "fits": reader.fits(place),
        "near_distance_m": near_m,
        "near_true_azimuth_deg": azimuth_deg,
        "outside_sheet_m": sheet_distance_m(place, expected),
    }


def _alternatives(place: Place, reader: PlaceReader) -> list[Slip]:
    if reader.expected is None or not reader.expected.has_place or reader.fits(place):
        return []
    return alternatives(place.read_as, Frame(place.datum, reader.frame.allow_ballpark), reader.expected)


def _slip(slip: Slip) -> dict[str, Any]:
    shift = slip.reading.shift
    return {**slip.as_details(), "datum": WGS84.name if shift is None else shift.datum.name}


def _working(place: Place, position: DescribedPosition, local: LocalPosition | None) -> list[str]:
    steps = [f"read as {place.read_as}"]
    if place.shift is not None:
        shift = place.shift
        steps.append(
            f"on {shift.datum.name}: {shift.lat_deg:.6f}, {shift.lon_deg:.6f}; by {shift.operation} (good to "
            f"{shift.accuracy_m:g} m) on WGS84: {place.lat_deg:.6f}, {place.lon_deg:.6f}"
        )
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
    if local is not None:
        steps.append(
            f"on {local.grid} ({local.datum}): easting {local.easting_m:,.1f}, northing {local.northing_m:,.1f}"
            + (f", which is {local.reference}" if local.reference else "")
        )
    return steps


OPERATION = Operation(
    name="positions",
    summary="A written position, read and given in every form",
    description=(
        "Reads a position as people write or say it and gives the place in every form. Read are grid references (MGRS or "
        "USNG, and the British and Irish grids), UTM, UPS and national grid coordinates, and latitude and longitude; "
        "with signs, letters or words, decimal points or commas, and in the words of the spelling alphabet: the page "
        "`/forms` lists every form. Without letters or words, latitude comes first (ISO 6709).\n\n"
        "A text with two readings at different places is refused with both; none is ever guessed. A reference without its "
        "grid zone or its square is read where `near` or the `sheet` leaves only one place that it can mean. A place that "
        "is then out of reach, or off the sheet, comes with the `alternatives` that likely slips would have meant.\n\n"
        "A position on an old datum is brought to WGS84 by the one operation pinned for the datum and the area, which is "
        "named with its accuracy; the page `/datums` lists them. A reference is read as its square's centre, so the place "
        "is known only to within the square.\n\n"
        "With `Accept: application/geo+json` the answer is a feature (RFC 7946): the square of a reference, or else the "
        "point."
    ),
    request=PositionRequestSchema(),
    answer=PositionsAnswerSchema(),
    run=run,
    errors=POSITION_ERRORS,
    feature=place_feature,
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
        Example(
            "short_reference",
            "Six figures with no letters, near an invented trailhead",
            {"position": "123 678", "near": "33V VK 1450 6620"},
        ),
        Example(
            "spoken",
            "As heard over a radio, invented",
            {"position": "three three victor, victor kilo, one two three, six seven eight"},
        ),
        Example(
            "old_datum",
            "A reference on an invented sheet of the European Datum 1950",
            {"position": "33V VK 123 678", "datum": "ED50", "working": True},
        ),
        Example(
            "likely_slip",
            "Easting and northing exchanged: outside the reach of the place expected",
            {"position": "33V VK 678 123", "near": "33V VK 1450 6620"},
        ),
    ),
)
