"""Answer schemas that several operations share: places, angles at them, cautions."""

from __future__ import annotations

from marshmallow import fields

from ..navmath.cautions import CAUTIONS
from ..navmath.datums.datum import WGS84
from .fields import Azimuth, Rounded
from .operation import AnswerSchema
from .request_schemas import HEMISPHERES

__all__ = [
    "POSITION_PLACES",
    "AzimuthSchema",
    "CautionedAnswerSchema",
    "GridAngleAnswerSchema",
    "PositionAnswerSchema",
    "ReadPlaceSchema",
]

#: A micrometre: a point of a square at the edge of its grid zone must not be rounded over that edge. [decimal places]
POSITION_PLACES = 11


class CautionSchema(AnswerSchema):
    """What the answer cannot know well."""

    code = fields.String(required=True, metadata={"description": "Stable code.", "enum": list(CAUTIONS)})
    message = fields.String(required=True, metadata={"description": "What it means here, in a sentence."})


class CautionedAnswerSchema(AnswerSchema):
    """Members of every answer."""

    cautions = fields.List(
        fields.Nested(CautionSchema),
        required=True,
        metadata={"description": "What the answer cannot know well; empty where nothing is to be said."},
    )
    working = fields.List(
        fields.String(),
        metadata={"description": "The steps of the sum in order; only where it was asked for."},
    )


class GridAngleAnswerSchema(AnswerSchema):
    """The angles between the norths that an answer used."""

    declination_deg = Rounded(
        "True to magnetic north, east positive; null where not known. [degree]",
        6,
        required=True,
        allow_none=True,
    )
    convergence_deg = Rounded(
        "True to grid north, east positive; null where not known. [degree]", 9, required=True, allow_none=True
    )
    grid_magnetic_angle_deg = Rounded(
        "Grid to magnetic north, east positive; null where not known. [degree]",
        6,
        required=True,
        allow_none=True,
    )
    source = fields.String(
        required=True,
        metadata={
            "description": "Where they come from: the magnetic model and the grid, the request, the sheet, or nowhere.",
            "enum": ["model", "given", "sheet", "none"],
        },
    )


class CornerSchema(AnswerSchema):
    """A corner of a square."""

    lat_deg = Rounded("Latitude, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude, east positive, in [-180, 180). [degree]", POSITION_PLACES, required=True)


class UtmAnswerSchema(AnswerSchema):
    """The place in its Universal Transverse Mercator zone."""

    zone = fields.Integer(required=True, metadata={"description": "Zone number, 1 to 60."})
    band = fields.String(required=True, metadata={"description": "Latitude band letter, C to X."})
    hemisphere = fields.String(
        required=True, metadata={"description": "Hemisphere.", "enum": list(HEMISPHERES)}
    )
    easting_m = Rounded("Easting. [m]", 4, required=True)
    northing_m = Rounded("Northing. [m]", 4, required=True)


class UpsAnswerSchema(AnswerSchema):
    """The place in the Universal Polar Stereographic grid."""

    band = fields.String(
        required=True, metadata={"description": "Letter: A or B in the south, Y or Z in the north."}
    )
    hemisphere = fields.String(
        required=True, metadata={"description": "Hemisphere.", "enum": list(HEMISPHERES)}
    )
    easting_m = Rounded("Easting. [m]", 4, required=True)
    northing_m = Rounded("Northing. [m]", 4, required=True)


class WrittenSchema(AnswerSchema):
    """The place written as latitude and longitude."""

    decimal_degrees = fields.String(required=True, metadata={"description": "In decimal degrees."})
    degrees_minutes = fields.String(
        required=True, metadata={"description": "In degrees and decimal minutes."}
    )
    degrees_minutes_seconds = fields.String(
        required=True, metadata={"description": "In degrees, minutes, seconds."}
    )


class PositionAnswerSchema(AnswerSchema):
    """A position in every form."""

    lat_deg = Rounded("Geodetic latitude, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude, east positive, in [-180, 180). [degree]", POSITION_PLACES, required=True)
    datum = fields.String(
        required=True, metadata={"description": "Datum of all these forms.", "enum": [WGS84.name]}
    )
    mgrs = fields.String(
        required=True, metadata={"description": "Grid reference (MGRS, as USNG writes it unspaced)."}
    )
    mgrs_spaced = fields.String(
        required=True, metadata={"description": "The same in its parts, as it is read out."}
    )
    square_m = Rounded("Side of the square that `mgrs` names. [m]", 0, required=True)
    square_corners = fields.List(
        fields.Nested(CornerSchema),
        required=True,
        metadata={
            "description": "Corners of that square, counterclockwise from its south-west one.",
            "minItems": 4,
            "maxItems": 4,
        },
    )
    utm = fields.Nested(UtmAnswerSchema, required=True, allow_none=True)
    ups = fields.Nested(UpsAnswerSchema, required=True, allow_none=True)
    central_meridian_deg = Rounded(
        "Longitude of the zone's central meridian; null in UPS. [degree]", 0, required=True, allow_none=True
    )
    east_of_central_meridian_m = Rounded(
        "Easting less 500,000: how far east (positive) or west of the central meridian on the grid; null in UPS. [m]",
        4,
        required=True,
        allow_none=True,
    )
    convergence_deg = Rounded(
        "Convergence, from true to grid north, east positive. [degree]", 9, required=True
    )
    point_scale_factor = Rounded(
        "Scale of the grid at the place: grid length over length on the ellipsoid.", 10, required=True
    )
    written = fields.Nested(WrittenSchema, required=True)


class ReadPlaceSchema(AnswerSchema):
    """A place of the request, as it was read; `/v1/positions` gives it in every form."""

    lat_deg = Rounded("Geodetic latitude, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude, east positive, in [-180, 180). [degree]", POSITION_PLACES, required=True)
    read_as = fields.String(
        required=True,
        metadata={"description": "What was understood, written so that it can be read in one way only."},
    )
    resolution_m = Rounded(
        "How finely the place was given: the side of the square read, or a unit of the last digit written; null for an "
        "object. [m]",
        4,
        required=True,
        allow_none=True,
    )
    datum = fields.Function(
        lambda place: place.datum.name,
        required=True,
        metadata={"description": "Datum that the place was given on.", "type": "string"},
    )
    accuracy_m = Rounded(
        "How far the shift from that datum to WGS84 may have put the place off; 0 where there was none. [m]",
        1,
        required=True,
    )


class AzimuthSchema(AnswerSchema):
    """One direction from one north, in every notation."""

    azimuth_deg = Azimuth("Clockwise from the north. [degree]", required=True)
    azimuth_mil = Azimuth("In NATO mils, 6400 to the circle. [mil]", circle=6400, places=4, required=True)
    azimuth_mil_6300 = Azimuth("In the 6300 division of the circle.", circle=6300, places=4, required=True)
    azimuth_mil_6000 = Azimuth("In the 6000 division of the circle.", circle=6000, places=4, required=True)
    azimuth_grad = Azimuth("In gradians, 400 to the circle. [gon]", circle=400, places=6, required=True)
    azimuth_dms = fields.String(
        required=True, metadata={"description": "In degrees, minutes and whole seconds."}
    )
    azimuth_quadrant = fields.String(
        required=True, metadata={"description": "In quadrant notation, to a tenth of a degree."}
    )
    back_azimuth_deg = Azimuth("The opposite direction, from the same north. [degree]", required=True)
    back_azimuth_mil = Azimuth(
        "The opposite direction in NATO mils. [mil]", circle=6400, places=4, required=True
    )
