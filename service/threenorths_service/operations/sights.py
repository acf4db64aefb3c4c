"""What intersections and resections share: sights, the fix, and its ellipse."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.errors import (
    AnglesUnreadableError,
    CoincidentPointsError,
    DateMissingError,
    DateOutsideModelError,
    MagneticUselessError,
    NavigationError,
    NoSolutionError,
    ParallelSightsError,
    SightsCrossBehindError,
    TooFewSightsError,
)
from ..navmath.places.place import Place, digits_for, place_from_geodetic
from ..navmath.places.position import describe
from ..navmath.sights.fix import Fix
from ..navmath.sights.sight import DEFAULT_SD_DEG, SD_RANGE_DEG, Sight
from .answer_schemas import CautionedAnswerSchema, PositionAnswerSchema
from .fields import Bearing, Number, Rounded
from .north_angles import bearing_in_degrees
from .operation import RequestSchema
from .places import POSITION_ERRORS, on_sheet_cautions, reader_of
from .request_schemas import PlacesRequestSchema, date_member, north_member, unit_member
from .uncertainty import CovarianceSchema, EllipseSchema, covariance_answer

__all__ = [
    "DEFAULT_SD",
    "FIX_ERRORS",
    "MOST_SIGHTS",
    "FixAnswerSchema",
    "FixRequestSchema",
    "SightRequestSchema",
    "fix_answer",
    "sights_of",
]

#: More sights than anybody takes by hand; it bounds the work of one request.
MOST_SIGHTS = 50

#: What is said where a sight's standard deviation was taken for want of one.
DEFAULT_SD = caution(
    "default_sd", f"No standard deviation was given for a sight: {DEFAULT_SD_DEG:g} degrees was taken."
)

#: Errors of every fix.
FIX_ERRORS: tuple[type[NavigationError], ...] = (
    *POSITION_ERRORS,
    DateMissingError,
    AnglesUnreadableError,
    CoincidentPointsError,
    DateOutsideModelError,
    MagneticUselessError,
    NoSolutionError,
    ParallelSightsError,
    SightsCrossBehindError,
    TooFewSightsError,
)


class SightRequestSchema(RequestSchema):
    """A bearing and how well it was taken."""

    bearing = Bearing("The bearing as read, in `unit` from `north`.", required=True)
    sd_deg = Number(
        "Standard deviation of the bearing. Left out: the request's `sd_deg`. [degree]",
        minimum=SD_RANGE_DEG[0],
        maximum=SD_RANGE_DEG[1],
    )


class FixRequestSchema(PlacesRequestSchema):
    """What the sights have in common."""

    unit = unit_member()
    north = north_member(required=True)
    date = date_member("Date of magnetic bearings; required for them.")
    sd_deg = Number(
        f"Standard deviation of every sight that names none. Left out: {DEFAULT_SD_DEG:g}, for a hand-held sighting compass "
        "read to the nearest degree in an unsteady hand. The declination's own uncertainty is added to it. [degree]",
        minimum=SD_RANGE_DEG[0],
        maximum=SD_RANGE_DEG[1],
    )


class FixAnswerSchema(CautionedAnswerSchema):
    """The place that fits the sights best, and how well it is known."""

    position = fields.Nested(
        PositionAnswerSchema,
        required=True,
        metadata={
            "description": "The place in every form. Its `mgrs` is written no finer than the ellipse warrants: its square "
            "is at most half the longer half-axis, or a metre."
        },
    )
    covariance_m2 = fields.Nested(CovarianceSchema, required=True)
    ellipse = fields.Nested(EllipseSchema, required=True)
    crossing_angle_deg = Rounded(
        "Angle at which the lines cross at the fix; of more than two sights, the pair's nearest to a right angle. [degree]",
        4,
        required=True,
    )
    residuals_deg = fields.List(
        Rounded("Bearing read less bearing of the fix. [degree]", 6),
        required=True,
        metadata={
            "description": "For each sight in order: bearing read less the bearing that the fix would have. [degree]"
        },
    )
    distances_m = fields.List(
        Rounded("Distance. [m]", 2),
        required=True,
        metadata={
            "description": "For each sight in order: distance on the ellipsoid between the fix and its place. [m]"
        },
    )
    sd_deg = fields.List(
        Rounded("Standard deviation. [degree]", 4),
        required=True,
        metadata={
            "description": "For each sight in order: the standard deviation used, with that of its known place. [degree]"
        },
    )
    degrees_of_freedom = fields.Integer(
        required=True,
        metadata={"description": "Sights more than the unknowns need; at 0 a blunder cannot show."},
    )
    variance_factor = Rounded(
        "How the residuals compare with the standard deviations: near 1 where they agree; null with no sight to spare.",
        4,
        required=True,
        allow_none=True,
    )
    compass_error_deg = Rounded(
        "Compass error found: reading less correct bearing; null where it was not solved for. [degree]",
        4,
        required=True,
        allow_none=True,
    )
    compass_error_sd_deg = Rounded(
        "Its standard deviation; null likewise. [degree]", 4, required=True, allow_none=True
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date of magnetic bearings; null where none was given."},
    )


@dataclass(frozen=True, slots=True)
class LoadedSights:
    """A request's sights in degrees, the known place of each, and what is to be said of them."""

    sights: list[Sight]
    places: list[Place]
    cautions: list[Caution]


def sights_of(request: dict[str, Any], place_member: str) -> LoadedSights:
    """The request's sights, each with its known place, and what is to be said of them.

    ``place_member`` is the JSON name of the known place: ``from`` of an intersection, ``to`` of a resection.
    """
    sights: list[Sight] = []
    places: list[Place] = []
    cautions: list[Caution] = []
    reader = reader_of(request)
    for index, sight in enumerate(request["sights"]):
        where = f"sights/{index}"
        place = reader.read(sight["place"], f"{where}/{place_member}")
        cautions.extend(place.cautions)
        places.append(place)
        sights.append(
            Sight(
                lat_deg=place.lat_deg,
                lon_deg=place.lon_deg,
                bearing_deg=bearing_in_degrees(sight["bearing"], request["unit"], f"{where}/bearing"),
                sd_deg=sight.get("sd_deg", request.get("sd_deg", DEFAULT_SD_DEG)),
                place_sd_m=place.sd_m,
            )
        )
    if "sd_deg" not in request and any("sd_deg" not in sight for sight in request["sights"]):
        cautions.append(DEFAULT_SD)
    return LoadedSights(sights, places, list(dict.fromkeys(cautions)))


def fix_answer(
    request: dict[str, Any], fix: Fix, loaded: LoadedSights, more_cautions: list[Caution]
) -> dict[str, Any]:
    """A fix as `FixAnswerSchema` has it."""
    # A reference to the metre would state a fix of a few hundred metres too surely to whoever hears it read out.
    place = place_from_geodetic(fix.lat_deg, fix.lon_deg)
    digits = digits_for(float(fix.ellipse.semi_major_m) / 2.0)
    position = describe(place, digits)
    answer = {
        "position": position,
        "covariance_m2": covariance_answer(fix.covariance_m2),
        "ellipse": fix.ellipse,
        "crossing_angle_deg": fix.crossing_angle_deg,
        "residuals_deg": fix.residuals_deg,
        "distances_m": fix.distances_m,
        "sd_deg": fix.sd_deg,
        "degrees_of_freedom": fix.degrees_of_freedom,
        "variance_factor": fix.variance_factor,
        "compass_error_deg": fix.compass_error_deg,
        "compass_error_sd_deg": fix.compass_error_sd_deg,
        "date": request.get("date"),
        "cautions": [
            *loaded.cautions,
            *more_cautions,
            *fix.cautions,
            *on_sheet_cautions(request, position, digits),
        ],
    }
    if request["working"]:
        answer["working"] = _working(request["north"], fix, loaded.sights, position.mgrs_spaced)
    return answer


def _working(north: str, fix: Fix, sights: list[Sight], reference: str) -> list[str]:
    steps = [
        f"sight {number}: {north} bearing {sight.bearing_deg:.3f} degrees, give or take {sight.sd_deg:g}; "
        f"{distance / 1000:.2f} km from the fix; misses it by {round(float(residual), 2) + 0.0:+.2f} degrees"
        for number, (sight, distance, residual) in enumerate(
            zip(sights, fix.distances_m, fix.residuals_deg, strict=True), start=1
        )
    ]
    if fix.compass_error_deg is not None:
        steps.append(f"compass error (reading less correct): {fix.compass_error_deg:+.2f} degrees")
    steps.append(f"the lines cross at {fix.crossing_angle_deg:.0f} degrees, at {reference}")
    steps.append(
        f"{fix.ellipse.confidence:.0%} ellipse: {fix.ellipse.semi_major_m:.0f} m by {fix.ellipse.semi_minor_m:.0f} m "
        f"(half-axes), longer along {fix.ellipse.major_axis_azimuth_deg:.0f} degrees true"
    )
    return steps
