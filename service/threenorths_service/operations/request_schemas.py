"""Request schemas that several operations share: positions, sheets, the angles between the norths."""

from __future__ import annotations

from typing import Any, ClassVar

from marshmallow import ValidationError, fields

from ..navmath.angle import CIRCLE_DIVISIONS
from ..navmath.directions.bearing import NORTHS
from ..navmath.magnetism.magnetic import MAXIMUM_HEIGHT_M, MINIMUM_HEIGHT_M
from ..navmath.magnetism.magnetic_choice import MODELS
from ..navmath.places.expected import DEFAULT_REACH_M
from .fields import Choice, DateText, Flag, List, Member, Number, Scale, Text, WholeNumber
from .operation import RequestSchema

__all__ = [
    "HEMISPHERES",
    "AnglesRequestSchema",
    "Grid",
    "OneOf",
    "OperationRequestSchema",
    "PlacesRequestSchema",
    "Position",
    "SheetRequestSchema",
    "date_member",
    "model_member",
    "north_member",
    "unit_member",
]

HEMISPHERES = ("north", "south")

#: The dates that the magnetic models hold for.
MODEL_DATES = "1900-01-01 to 2029-12-31"


def datum_member(description: str) -> Text:
    """A datum by its name or code."""
    return Text(
        f"{description} The usual name or the EPSG code of its geographic coordinate reference system, such as `ED50`, "
        "`NAD27`, `EPSG:4230`.",
        allowed="the name or the EPSG code of a datum",
    )


def hemisphere_member() -> Choice:
    """The hemisphere of a grid position."""
    return Choice("Hemisphere whose northings or polar grid is used.", HEMISPHERES, required=True)


def epsg_member(**options: Any) -> WholeNumber:
    """The code of a projected coordinate reference system."""
    return WholeNumber(
        "EPSG code of the projected coordinate reference system, such as 27700 for the British National Grid.",
        minimum=1024,
        maximum=32767,
        **options,
    )


class GeodeticPositionSchema(RequestSchema):
    """A geodetic position in decimal degrees."""

    lat_deg = Number("Geodetic latitude, north positive. [degree]", minimum=-90, maximum=90, required=True)
    lon_deg = Number("Longitude, east positive. [degree]", minimum=-180, below=360, required=True)
    datum = datum_member("Datum of these coordinates. Left out: the request's, or its sheet's, or WGS84.")


class UtmPositionSchema(RequestSchema):
    """A position in a Universal Transverse Mercator zone."""

    grid = Choice("The grid; may be left out for UTM.", ("utm",))
    zone = WholeNumber("UTM zone number.", minimum=1, maximum=60, required=True)
    hemisphere = hemisphere_member()
    easting_m = Number(
        "Easting, 500,000 at the central meridian. [m]", minimum=0, maximum=1_000_000, required=True
    )
    northing_m = Number("Northing. [m]", minimum=0, maximum=10_000_000, required=True)
    datum = datum_member("Datum of these coordinates. Left out: the request's, or its sheet's, or WGS84.")


class UpsPositionSchema(RequestSchema):
    """A position in the Universal Polar Stereographic grid, poleward of 84 north or 80 south."""

    grid = Choice("The grid: it must be named for UPS.", ("ups",), required=True)
    hemisphere = hemisphere_member()
    easting_m = Number("Easting, 2,000,000 at the pole. [m]", minimum=0, maximum=4_000_000, required=True)
    northing_m = Number("Northing, 2,000,000 at the pole. [m]", minimum=0, maximum=4_000_000, required=True)
    datum = datum_member("Datum of these coordinates. Left out: the request's, or its sheet's, or WGS84.")


class ProjectedPositionSchema(RequestSchema):
    """A position on a national grid: a projected coordinate reference system of the EPSG dataset, with its own datum."""

    epsg = epsg_member(required=True)
    easting_m = Number(
        "Easting, in metres even where the grid is in feet. [m]", minimum=-1e8, maximum=1e8, required=True
    )
    northing_m = Number("Northing, likewise. [m]", minimum=-1e8, maximum=1e8, required=True)


class OneOf(Member):
    """An object of one of several schemas, chosen by the members it has; only the shape is checked."""

    FORMS: ClassVar[tuple[RequestSchema, ...]] = ()
    #: Whether a text is taken in the place of an object.
    TEXT: ClassVar[bool] = False

    def load_form(self, schema: RequestSchema, value: dict[str, Any]) -> dict[str, Any]:
        """The object as ``schema`` loads it, whose complaints keep their pointers."""
        try:
            loaded: dict[str, Any] = schema.load(value)
        except ValidationError as error:
            raise ValidationError(error.messages) from None
        return loaded


class Position(OneOf):
    """A position wherever one is taken: a text in any written form, or one of four objects; `places.place_of` reads it."""

    TEXT = True
    FORMS = (GeodeticPositionSchema(), UtmPositionSchema(), UpsPositionSchema(), ProjectedPositionSchema())

    def __init__(self, description: str, **options: Any) -> None:
        allowed = "a written position, or an object with lat_deg and lon_deg, or with zone, hemisphere, easting_m, northing_m"
        super().__init__(description, allowed=allowed, **options)
        self._text = Text(description, allowed=allowed)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str | dict[str, Any]:
        if isinstance(value, str):
            text: str = self._text.deserialize(value)
            return text
        if not isinstance(value, dict):
            raise self.refuse("This is no position.", "wrong_type")
        geodetic, utm, ups, projected = self.FORMS
        if "lat_deg" in value or "lon_deg" in value:
            return self.load_form(geodetic, value)
        if "epsg" in value:
            return self.load_form(projected, value)
        return self.load_form(ups if value.get("grid") == "ups" else utm, value)


class UtmGridSchema(RequestSchema):
    """A grid of the Universal Transverse Mercator system."""

    grid = Choice("The grid; may be left out for UTM.", ("utm",))
    zone = WholeNumber("UTM zone number.", minimum=1, maximum=60, required=True)
    hemisphere = hemisphere_member()


class UpsGridSchema(RequestSchema):
    """A grid of the Universal Polar Stereographic system."""

    grid = Choice("The grid: it must be named for UPS.", ("ups",), required=True)
    hemisphere = hemisphere_member()


class ProjectedGridSchema(RequestSchema):
    """A national grid."""

    epsg = epsg_member(required=True)


class Grid(OneOf):
    """The grid that is printed on a sheet."""

    FORMS = (UtmGridSchema(), UpsGridSchema(), ProjectedGridSchema())

    def __init__(self, description: str, **options: Any) -> None:
        super().__init__(description, allowed="an object with zone and hemisphere, or with epsg", **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise self.refuse("This is no grid.", "wrong_type")
        utm, ups, projected = self.FORMS
        if "epsg" in value:
            return self.load_form(projected, value)
        return self.load_form(ups if value.get("grid") == "ups" else utm, value)


def unit_member() -> Choice:
    """The unit that bearings of the request are in."""
    return Choice(
        "Division of the circle that numeric bearings are in: degrees, NATO mils (6400), the 6300 and 6000 divisions, "
        "gradians. A bearing given as text in degrees or quadrant notation needs none.",
        tuple(CIRCLE_DIVISIONS),
        load_default="deg",
    )


def north_member(**options: Any) -> Choice:
    """The north that bearings of the request are measured from."""
    return Choice("The north that the bearing is measured from. It is never guessed.", NORTHS, **options)


def model_member() -> Choice:
    """The magnetic model."""
    return Choice(
        "Magnetic model that is kept to; its own dates then hold. Left out: WMM2025 where it holds, IGRF-14 before.",
        tuple(MODELS),
    )


def date_member(description: str, **options: Any) -> DateText:
    """The date that the magnetic model is taken at."""
    return DateText(f"{description} ISO 8601, {MODEL_DATES}, or `today` (UTC), which is echoed.", **options)


class OperationRequestSchema(RequestSchema):
    """Members that every operation takes."""

    working = Flag(
        "Whether the answer also carries `working`: the steps of the sum in order.", load_default=False
    )


class SheetCornersSchema(RequestSchema):
    """The corners of the neatline, the line around the map itself, on the sheet's own datum."""

    south_west = Position("The south-west corner.", required=True)
    south_east = Position("The south-east corner. Left out: it follows from the two others.")
    north_east = Position("The north-east corner.", required=True)
    north_west = Position("The north-west corner. Left out: it follows likewise.")


class SheetRequestSchema(RequestSchema):
    """A map sheet as its margin describes it. What is not printed or not needed is left out."""

    name = Text("Name of the sheet.")
    number = Text("Number of the sheet in its series.")
    scale = Scale("Scale of the map 1:N, as the number N or as text such as `1:50,000`.")
    datum = datum_member("Datum of the sheet. Left out: WGS84.")
    grid = Grid("The grid that the sheet prints. Grid north is then that grid's.")
    corners = fields.Nested(
        SheetCornersSchema,
        metadata={
            "description": "Corners of the neatline, all by latitude and longitude or all on the grid. South-west and "
            "north-east are enough: the sheet is then bounded by meridians and parallels, or by grid lines."
        },
    )
    squares = List(
        Text("Two letters."),
        "Letters of the 100 km squares that the sheet prints; they can stand in for corners.",
        minimum=1,
        maximum=100,
    )
    contour_interval_m = Number("Contour interval. [m]", above=0, maximum=1000)
    grid_magnetic_angle_deg = Number(
        "Printed grid-magnetic angle, from grid to magnetic north, east positive. [degree]",
        minimum=-180,
        maximum=180,
    )
    declination_deg = Number(
        "Printed declination, from true to magnetic north, east positive. [degree]", minimum=-180, maximum=180
    )
    convergence_deg = Number(
        "Printed convergence, from true to grid north, east positive. [degree]", minimum=-180, maximum=180
    )
    year = Number(
        "Year that the printed angle is for, 1 January 2015 being 2015.0.", minimum=1900, maximum=2100
    )
    annual_change_deg = Number(
        "Printed annual change of the magnetic angle, eastward positive. [degree/year]", minimum=-2, maximum=2
    )


class PlacesRequestSchema(OperationRequestSchema):
    """How the positions of a request are read."""

    datum = datum_member("Datum of every position that names none. Left out: the sheet's, or WGS84.")
    near = Position(
        "A place that the positions must be near to: it tells what a reference without its grid zone or square means, and "
        "shows a slip. It is read on the same datum."
    )
    reach_m = Number(
        f"How far from `near` a position may be; without `near` it has no effect. Left out: {DEFAULT_REACH_M:g}. [m]",
        minimum=100,
        maximum=1_000_000,
    )
    sheet = fields.Nested(
        SheetRequestSchema,
        metadata={
            "description": "The map sheet in hand: the datum and the grid that positions are read on, its edges, and the "
            "angles that its margin prints."
        },
    )
    allow_ballpark = Flag(
        "Whether a datum from which no shift to WGS84 is known is taken over as it stands, which can put a place hundreds of "
        "metres off.",
        load_default=False,
    )


class AnglesRequestSchema(PlacesRequestSchema):
    """Where the angles between the norths come from: a place and a date, or the angles, or a sheet."""

    position = Position("Place whose convergence and modelled declination are used; needs `date`.")
    date = DateText(
        f"Date of the declination at a position: ISO 8601, {MODEL_DATES}, or `today` (UTC), which is echoed. "
        "With a sheet, the date that its angle is carried to, within 60 years of the sheet's own. With the angles given "
        "it is only echoed."
    )
    height_m = Number(
        "Height of the position above the WGS 84 ellipsoid; without a position it has no effect. [m]",
        minimum=MINIMUM_HEIGHT_M,
        maximum=MAXIMUM_HEIGHT_M,
        load_default=0.0,
    )
    model = model_member()
    declination_deg = Number(
        "Declination, from true to magnetic north, east positive. [degree]", minimum=-180, maximum=180
    )
    convergence_deg = Number(
        "Convergence, from true to grid north, east positive. [degree]", minimum=-180, maximum=180
    )
    grid_magnetic_angle_deg = Number(
        "Grid-magnetic angle, from grid to magnetic north, east positive. [degree]", minimum=-180, maximum=180
    )
    angles_from = Choice(
        "Which angles are used where there is a position as well as a sheet that prints an angle: those of the model and the "
        "grid at the position, or those that the sheet prints.",
        ("model", "sheet"),
    )
