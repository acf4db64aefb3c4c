"""Sheets: whether a map sheet makes sense, what it covers, and what its angle is today."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.directions.printed_angle import CarriedAngle, carried_cautions
from ..navmath.errors import DateOutsideModelError
from ..navmath.magnetism.decimal_year import decimal_year
from ..navmath.magnetism.magnetic import check_date, model_at
from ..navmath.sheets.sheet import Sheet
from ..navmath.sheets.sheet_carried import carried_angle
from ..navmath.sheets.sheet_check import SheetReport, check_sheet
from ..navmath.sheets.sheet_findings import FINDINGS
from .answer_schemas import POSITION_PLACES, CautionedAnswerSchema
from .fields import DateText, Flag, Rounded
from .geojson import sheet_feature
from .north_angles import carried_steps
from .operation import AnswerSchema, Example, Operation
from .places import POSITION_ERRORS
from .request_schemas import OperationRequestSchema, SheetRequestSchema
from .sheet_given import sheet_of

__all__ = ["OPERATION"]

#: Findings that are worth a caution wherever the sheet's angle may be used.
CAUTIONS_OF_FINDINGS = {
    "angle_disagrees": "sheet_angle_disagrees",
    "sign_slip": "sheet_angle_disagrees",
    "angle_stale": "sheet_angle_stale",
}


class SheetsRequestSchema(OperationRequestSchema):
    """A sheet to check."""

    sheet = fields.Nested(
        SheetRequestSchema, required=True, metadata={"description": "The sheet as its margin describes it."}
    )
    date = DateText(
        "Date of the angle of today: ISO 8601, 1900-01-01 to 2029-12-31, or `today` (UTC), which is echoed. Left out: "
        "no such angle is given."
    )
    allow_ballpark = Flag(
        "Whether a datum from which no shift to WGS84 is known is taken over as it stands.",
        load_default=False,
    )


class FindingSchema(AnswerSchema):
    """Something that cannot be right, or is right no more."""

    code = fields.String(required=True, metadata={"description": "Stable code.", "enum": list(FINDINGS)})
    message = fields.String(required=True, metadata={"description": "What it is here, in a sentence."})
    member = fields.String(
        required=True,
        allow_none=True,
        metadata={"description": "The member of the sheet that it is about; null where it is of several."},
    )


class PlaceOnSheetSchema(AnswerSchema):
    """A place on WGS84."""

    lat_deg = Rounded("Latitude, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude, east positive. [degree]", POSITION_PLACES, required=True)


class SheetCornerAnswerSchema(AnswerSchema):
    """A corner of the neatline."""

    name = fields.String(
        required=True, metadata={"description": "`south_west`, `south_east`, `north_east` or `north_west`."}
    )
    lat_deg = Rounded("Latitude on WGS84, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude on WGS84, east positive. [degree]", POSITION_PLACES, required=True)
    datum_lat_deg = Rounded("Latitude on the sheet's own datum. [degree]", POSITION_PLACES, required=True)
    datum_lon_deg = Rounded("Longitude on the sheet's own datum. [degree]", POSITION_PLACES, required=True)


class SideSchema(AnswerSchema):
    """One side of the neatline, from corner to corner."""

    name = fields.String(required=True, metadata={"description": "`south`, `east`, `north` or `west`."})
    ground_m = Rounded("Length on the ellipsoid. [m]", 2, required=True)
    grid_m = Rounded(
        "Length by grid coordinates; null where no grid is known. [m]", 2, required=True, allow_none=True
    )
    paper_mm = Rounded(
        "Length on the printed sheet; null without a scale. [mm]", 1, required=True, allow_none=True
    )


class ConvergenceOverSchema(AnswerSchema):
    """Convergence over the sheet, from true to grid north, east positive: of the sheet's grid, or where it names none, or
    one that does not reach it, of the UTM zone of its middle.
    """

    zone = fields.Function(
        lambda over: over.grid.zone,
        required=True,
        metadata={
            "description": "The grid: a UTM zone, 0 for UPS, or the EPSG code of a national grid.",
            "type": "integer",
        },
    )

    corners_deg = fields.List(
        Rounded("At a corner. [degree]", 6),
        required=True,
        metadata={"description": "At the corners, in their order. [degree]"},
    )
    middle_deg = Rounded("At the middle. [degree]", 6, required=True)
    least_deg = Rounded(
        "The least over the sheet; null around a pole. [degree]", 6, required=True, allow_none=True
    )
    greatest_deg = Rounded(
        "The greatest over the sheet; null around a pole. [degree]", 6, required=True, allow_none=True
    )


class AngleTodaySchema(AnswerSchema):
    """The angles at the sheet's middle on the date, by the model, east positive."""

    declination_deg = Rounded("Declination, from true to magnetic north. [degree]", 4, required=True)
    declination_sd_deg = Rounded(
        "Its standard deviation, and that of the grid-magnetic angle. [degree]", 3, required=True
    )
    grid_magnetic_angle_deg = Rounded(
        "Grid-magnetic angle, from grid to magnetic north: what to use on the sheet. [degree]",
        4,
        required=True,
    )
    annual_change_deg = Rounded(
        "How both change in a year, eastward positive. [degree/year]", 4, required=True
    )
    least_deg = Rounded("The least grid-magnetic angle over the sheet. [degree]", 4, required=True)
    greatest_deg = Rounded("The greatest grid-magnetic angle over the sheet. [degree]", 4, required=True)


class PrintedAngleSchema(AnswerSchema):
    """The printed angle against the model at the sheet's middle; null where it cannot be told."""

    member = fields.String(required=True, metadata={"description": "The member of the sheet compared."})
    printed_deg = Rounded("As printed. [degree]", 6, required=True)
    year = Rounded("Year that it is printed for.", 4, required=True, allow_none=True)
    model_deg = Rounded(
        "The same angle by the model for that year. [degree]", 4, required=True, allow_none=True
    )
    difference_deg = Rounded("Printed less modelled. [degree]", 4, required=True, allow_none=True)
    allowance_deg = Rounded("How far off a right one may be. [degree]", 4, required=True, allow_none=True)
    today_deg = Rounded("The same angle by the model today. [degree]", 4, required=True, allow_none=True)
    stale_deg = Rounded("Printed less today's. [degree]", 4, required=True, allow_none=True)
    carried_deg = Rounded(
        "The printed angle carried to today by the sheet's annual change. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    carried_difference_deg = Rounded(
        "The carried angle less today's. [degree]", 4, required=True, allow_none=True
    )
    carried_allowance_deg = Rounded(
        "How far off a right one may be by then. [degree]", 4, required=True, allow_none=True
    )
    off_line_m_per_km = Rounded(
        "How far the carried angle, or without one the printed, leads off the line in a kilometre. [m/km]",
        1,
        required=True,
        allow_none=True,
    )


class EstimatedAngleSchema(AnswerSchema):
    """An angle as a compass would find it at the sheet's middle."""

    angle_deg = Rounded("The angle, east positive. [degree]", 4, required=True)
    sd_deg = Rounded("Its standard deviation. [degree]", 3, required=True)


class CarriedAngleSchema(AnswerSchema):
    """The printed angle carried to the date in three ways; the model alone is the surest."""

    years = Rounded("Years since it was printed. [year]", 2, required=True)
    by_sheet = fields.Nested(
        EstimatedAngleSchema,
        required=True,
        allow_none=True,
        metadata={"description": "By the sheet's own annual change; null where it prints none."},
    )
    by_model = fields.Nested(
        EstimatedAngleSchema,
        required=True,
        metadata={"description": "The printed angle and what the model has changed by since."},
    )
    model_alone = fields.Nested(
        EstimatedAngleSchema,
        required=True,
        metadata={"description": "The model of the date, whatever is printed."},
    )


class SheetsAnswerSchema(CautionedAnswerSchema):
    """What a sheet comes to. What its edges, its scale or the date do not tell is null or empty."""

    name = fields.String(required=True, allow_none=True, metadata={"description": "Name as given."})
    number = fields.String(required=True, allow_none=True, metadata={"description": "Number as given."})
    datum = fields.String(required=True, metadata={"description": "Datum of the sheet."})
    datum_epsg = fields.Integer(required=True, metadata={"description": "Its EPSG code."})
    findings = fields.List(
        fields.Nested(FindingSchema),
        required=True,
        metadata={"description": "What cannot be right, or is right no more; empty of a sheet in order."},
    )
    corners = fields.List(
        fields.Nested(SheetCornerAnswerSchema),
        required=True,
        metadata={"description": "The corners, counterclockwise from the south-west one."},
    )
    middle = fields.Nested(PlaceOnSheetSchema, required=True, allow_none=True)
    sides = fields.List(fields.Nested(SideSchema), required=True, metadata={"description": "The four sides."})
    diagonals_m = fields.List(
        Rounded("Length. [m]", 2),
        required=True,
        metadata={"description": "The diagonals from the south-west and from the south-east corner. [m]"},
    )
    area_km2 = Rounded("Area on the ellipsoid. [km2]", 4, required=True, allow_none=True)
    contour_interval_m = Rounded("Contour interval as given. [m]", 4, required=True, allow_none=True)
    zones = fields.List(
        fields.Integer(),
        required=True,
        metadata={"description": "UTM zones that the sheet touches, 0 for UPS."},
    )
    squares = fields.List(
        fields.String(),
        required=True,
        metadata={"description": "Squares of 100 km that the sheet touches, by their references."},
    )
    convergence = fields.Nested(ConvergenceOverSchema, required=True, allow_none=True)
    today = fields.Nested(AngleTodaySchema, required=True, allow_none=True)
    printed = fields.Nested(PrintedAngleSchema, required=True, allow_none=True)
    carried = fields.Nested(CarriedAngleSchema, required=True, allow_none=True)
    date = fields.Date(
        required=True, allow_none=True, metadata={"description": "Date of today's angle; null without one."}
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a sheet request."""
    date = request.get("date")
    if date is not None:
        check_date(date)
    sheet = sheet_of(request["sheet"], request["allow_ballpark"])
    report = check_sheet(sheet, None if date is None else decimal_year(date))
    carried = None if date is None else carried_angle(sheet, decimal_year(date))
    answer = {
        "name": sheet.name,
        "number": sheet.number,
        "datum": sheet.datum.name,
        "datum_epsg": sheet.datum.epsg,
        "findings": report.findings,
        "corners": _corners(sheet) if sheet.has_edges else [],
        "middle": None
        if report.middle is None
        else dict(zip(("lat_deg", "lon_deg"), report.middle, strict=True)),
        "sides": report.sides,
        "diagonals_m": report.diagonals_m or [],
        "area_km2": report.area_km2,
        "contour_interval_m": sheet.contour_interval_m,
        "zones": report.zones,
        "squares": report.squares,
        "convergence": report.convergence,
        "today": report.today,
        "printed": report.printed,
        "carried": carried,
        "date": date,
        "cautions": _cautions(report, carried),
        "sheet": sheet,
    }
    if request["working"]:
        answer["working"] = _working(report, carried)
    return answer


def _corners(sheet: Sheet) -> list[dict[str, Any]]:
    return [
        {
            "name": corner.name,
            "lat_deg": corner.wgs84_lat_deg,
            "lon_deg": corner.wgs84_lon_deg,
            "datum_lat_deg": corner.lat_deg,
            "datum_lon_deg": corner.lon_deg,
        }
        for corner in sheet.corners
    ]


def _cautions(report: SheetReport, carried: CarriedAngle | None) -> list[Caution]:
    cautions = [] if carried is None else carried_cautions(carried)
    cautions += [
        caution(CAUTIONS_OF_FINDINGS[found.code], f"{found.message[:1].upper()}{found.message[1:]}.")
        for found in report.findings
        if found.code in CAUTIONS_OF_FINDINGS
    ]
    return list({each.code: each for each in reversed(cautions)}.values())[::-1]


def _working(report: SheetReport, carried: CarriedAngle | None) -> list[str]:
    steps = []
    for side in report.sides:
        on_paper = "" if side.paper_mm is None else f", {side.paper_mm:.1f} mm on the sheet"
        on_grid = "" if side.grid_m is None else f", {side.grid_m:,.1f} m on the grid"
        steps.append(f"{side.name} side: {side.ground_m:,.1f} m on the ground{on_grid}{on_paper}")
    if report.convergence is not None:
        steps.append(
            f"convergence at the middle C = {report.convergence.middle_deg:+.3f} degrees, east positive"
        )
    if report.today is not None and report.convergence is not None:
        steps.append(
            f"by {model_at(report.today.decimal_year)} at the middle D = {report.today.declination_deg:+.3f} degrees, "
            f"so G = D - C = {report.today.grid_magnetic_angle_deg:+.3f} degrees, give or take "
            f"{report.today.declination_sd_deg:.2f}"
        )
    if carried is not None:
        steps.extend(carried_steps(carried))
    return steps


OPERATION = Operation(
    name="sheets",
    summary="A map sheet checked for sense, with its angle of today",
    description=(
        "Checks what the margin of a map sheet says against itself, its grid, its datum and the magnetic model: corners in "
        "order, sides that fit the scale and the meridians, the grid zone and the squares of 100 km, the printed angles "
        "against each other, against the model for their year and against today. It gives the sides on the ground, on the "
        "grid and on the paper, the convergence over the sheet, and the grid-magnetic angle to use today. What is wrong is "
        "under `findings`; a sheet with findings is still answered as far as it goes.\n\n"
        "The same `sheet` object goes with every operation that takes positions. With `Accept: application/geo+json` the "
        "answer is a feature (RFC 7946) with the sheet's outline."
    ),
    request=SheetsRequestSchema(),
    answer=SheetsAnswerSchema(),
    run=run,
    errors=(*POSITION_ERRORS, DateOutsideModelError),
    feature=sheet_feature,
    examples=(
        Example(
            "in_order",
            "An invented sheet, in order but for its age",
            {
                "sheet": {
                    "name": "Invented Fells",
                    "number": "17-4",
                    "scale": "1:50000",
                    "grid": {"zone": 33, "hemisphere": "north"},
                    "corners": {
                        "south_west": {"lat_deg": 60.75, "lon_deg": 13.0},
                        "north_east": {"lat_deg": 61.0, "lon_deg": 13.5},
                    },
                    "contour_interval_m": 20,
                    "grid_magnetic_angle_deg": 4.9,
                    "year": 2016,
                    "annual_change_deg": 0.15,
                },
                "date": "2026-11-25",
                "working": True,
            },
        ),
        Example(
            "with_a_slip",
            "The corners of an invented sheet on an old datum, two of them exchanged",
            {
                "sheet": {
                    "datum": "ED50",
                    "scale": 25000,
                    "corners": {"south_west": "46 15 N 8 30 E", "north_east": "46 07 30 N 8 15 E"},
                }
            },
        ),
    ),
)
