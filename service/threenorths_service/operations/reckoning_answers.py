"""What a reckoning answers: its turning points, and how it closes on a known end."""

from __future__ import annotations

from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.lines.reckoning import Reckoning
from ..navmath.lines.traverse import AdjustedPlaces, Closure
from .answer_schemas import POSITION_PLACES, CautionedAnswerSchema, PositionAnswerSchema, ReadPlaceSchema
from .fields import Azimuth, Rounded
from .operation import AnswerSchema
from .uncertainty import CovarianceSchema, EllipseSchema, covariance_answer, ellipse_at

__all__ = ["ReckoningAnswerSchema", "closure_answer", "legs_answer"]


class LegAnswerSchema(AnswerSchema):
    """One leg, and the turning point at its end."""

    lat_deg = Rounded(
        "Latitude of the turning point, north positive. [degree]", POSITION_PLACES, required=True
    )
    lon_deg = Rounded(
        "Longitude of the turning point, east positive. [degree]", POSITION_PLACES, required=True
    )
    true_azimuth_deg = Azimuth("Direction of the leg at its start, from true north. [degree]", required=True)
    length_m = Rounded("Level length of the leg. [m]", 3, required=True)
    walked_m = Rounded("Level length walked up to the turning point. [m]", 3, required=True)
    covariance_m2 = fields.Nested(CovarianceSchema, required=True)
    ellipse = fields.Nested(EllipseSchema, required=True)
    along_track_sd_m = Rounded("Standard deviation along the leg. [m]", 2, required=True)
    cross_track_sd_m = Rounded("Standard deviation across the leg. [m]", 2, required=True)
    drift_m_per_km = Rounded(
        "Longer half-axis of the ellipse of the walk alone, over the way walked. [m/km]", 2, required=True
    )
    to_start_m = Rounded("Straight distance back to the start. [m]", 2, required=True)
    to_start_true_azimuth_deg = Azimuth(
        "Direction back to the start, from true north; null where it is the start. [degree]",
        required=True,
        allow_none=True,
    )
    to_start_magnetic_azimuth_deg = Azimuth(
        "The same from magnetic north; null without a date, or at the start. [degree]",
        required=True,
        allow_none=True,
    )


class MisclosureSchema(AnswerSchema):
    """From the known end to where the legs lead."""

    distance_m = Rounded("Distance. [m]", 3, required=True)
    north_m = Rounded("Its part to the north. [m]", 3, required=True)
    east_m = Rounded("Its part to the east. [m]", 3, required=True)
    true_azimuth_deg = Azimuth(
        "Its direction from true north; null under a millimetre. [degree]", required=True, allow_none=True
    )
    one_in = Rounded("Length of the walk over it; null likewise.", 1, required=True, allow_none=True)
    chi_square = Rounded(
        "Its square over the covariance that the stated errors lead to expect.", 3, required=True
    )
    explained = fields.Boolean(
        required=True,
        metadata={
            "description": "Whether it is within what 95 of 100 walks with the stated errors would miss by."
        },
    )


class ExplanationSchema(AnswerSchema):
    """The one compass error and the one error of all lengths that would explain the whole misclosure."""

    compass_error_deg = Rounded("Compass error: reading less correct bearing. [degree]", 3, required=True)
    compass_error_sd_deg = Rounded("Its standard deviation. [degree]", 3, required=True)
    compass_error_credible = fields.Boolean(
        required=True, metadata={"description": "Whether the stated errors make so large a one likely."}
    )
    length_error_ratio = Rounded("What all lengths have too much, over them.", 5, required=True)
    length_error_sd_ratio = Rounded("Its standard deviation.", 5, required=True)
    length_error_credible = fields.Boolean(
        required=True, metadata={"description": "Whether the stated errors make so large a one likely."}
    )


class AdjustedPlaceSchema(AnswerSchema):
    """One turning point, adjusted."""

    lat_deg = Rounded("Latitude, north positive. [degree]", POSITION_PLACES, required=True)
    lon_deg = Rounded("Longitude, east positive. [degree]", POSITION_PLACES, required=True)
    ellipse = fields.Nested(EllipseSchema, required=True)


class ClosureSchema(AnswerSchema):
    """The walk closed on its known end."""

    loop = fields.Boolean(required=True, metadata={"description": "Whether the end is the start itself."})
    misclosure = fields.Nested(MisclosureSchema, required=True)
    explanation = fields.Nested(
        ExplanationSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": "Null of a loop, which neither error shows in, and where none is determined."
        },
    )
    adjusted = fields.List(
        fields.Nested(AdjustedPlaceSchema),
        required=True,
        metadata={"description": "The start and the turning points by the compass rule, in order."},
    )
    best = fields.List(
        fields.Nested(AdjustedPlaceSchema),
        required=True,
        metadata={"description": "The same by least squares with the stated errors."},
    )
    corrected_bearings_deg = fields.List(
        Azimuth("Bearing. [degree]", allow_none=True),
        required=True,
        metadata={
            "description": "The legs' bearings between the places adjusted by the compass rule, from the request's north; "
            "null of a halt. [degree]"
        },
    )
    corrected_lengths_m = fields.List(
        Rounded("Length. [m]", 3),
        required=True,
        metadata={"description": "The legs' lengths between the same. [m]"},
    )
    variance_factor = Rounded(
        "What the covariances of the adjusted places were multiplied by: 1 where the misclosure is explained.",
        3,
        required=True,
    )


class ReckoningAnswerSchema(CautionedAnswerSchema):
    """Where the walk leads, and how well that is known."""

    start = fields.Nested(ReadPlaceSchema, required=True)
    position = fields.Nested(
        PositionAnswerSchema,
        required=True,
        metadata={
            "description": "Where the walk leads, in every form; its `mgrs` is written no finer than the ellipse warrants. "
            "With a known end, that end is the better place."
        },
    )
    walked_m = Rounded("Level length of the whole walk. [m]", 3, required=True)
    legs = fields.List(
        fields.Nested(LegAnswerSchema),
        required=True,
        metadata={"description": "Each leg in order, with the turning point at its end."},
    )
    closure = fields.Nested(ClosureSchema, required=True, allow_none=True)
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date of magnetic bearings; null where none was given."},
    )


def legs_answer(reckoning: Reckoning) -> list[dict[str, Any]]:
    """The legs of a reckoning as `LegAnswerSchema` has them."""
    walk, back = reckoning.walk, reckoning.to_start
    magnetic = back.magnetic_azimuth_deg
    return [
        {
            "lat_deg": walk.lat_deg[end],
            "lon_deg": walk.lon_deg[end],
            "true_azimuth_deg": walk.azimuth_deg[end - 1],
            "length_m": leg.length_m,
            "walked_m": reckoning.walked_m[end],
            "covariance_m2": covariance_answer(reckoning.covariance_m2[end]),
            "ellipse": ellipse_at(reckoning.ellipse, end),
            "along_track_sd_m": reckoning.along_track_sd_m[end - 1],
            "cross_track_sd_m": reckoning.cross_track_sd_m[end - 1],
            "drift_m_per_km": reckoning.drift_m_per_km[end],
            "to_start_m": back.distance_m[end],
            "to_start_true_azimuth_deg": back.true_azimuth_deg[end] if back.distinct[end] else None,
            "to_start_magnetic_azimuth_deg": None
            if magnetic is None or not back.distinct[end]
            else magnetic[end],
        }
        for end, leg in enumerate(reckoning.legs, start=1)
    ]


def closure_answer(closure: Closure) -> dict[str, Any]:
    """How a walk closes, as `ClosureSchema` has it."""
    return {
        "loop": closure.loop,
        "misclosure": closure.misclosure,
        "explanation": closure.explanation,
        "adjusted": _places(closure.adjusted),
        "best": _places(closure.best),
        "corrected_bearings_deg": list(closure.corrected_bearing_deg),
        "corrected_lengths_m": list(np.atleast_1d(closure.legs.distance_m)),
        "variance_factor": closure.variance_factor,
    }


def _places(places: AdjustedPlaces) -> list[dict[str, Any]]:
    return [
        {"lat_deg": lat, "lon_deg": lon, "ellipse": ellipse_at(places.ellipse, row)}
        for row, (lat, lon) in enumerate(zip(places.lat_deg, places.lon_deg, strict=True))
    ]
