"""What a compass check answers: the error, each reading, and how the error changes with the direction."""

from __future__ import annotations

from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.angle import FloatArray
from ..navmath.compasses.compass_check import CompassCheck
from ..navmath.compasses.compass_deviation import FEWEST_READINGS, WIDEST_GAP_DEG, Deviation, error_at
from .answer_schemas import CautionedAnswerSchema, GridAngleAnswerSchema
from .compass_check_given import KnownDirection
from .fields import Azimuth, Rounded
from .operation import AnswerSchema

__all__ = ["CompassCheckAnswerSchema", "deviation_answer", "error_answer", "readings_answer"]

#: The readings that a deviation table is written for: the eight principal directions. [degree]
TABLE_DEG = np.arange(0.0, 360.0, 45.0)


class ErrorSchema(AnswerSchema):
    """The error that all readings have in common."""

    error_deg = Rounded(
        "The compass's error: reading less correct direction, positive where it reads too much. Subtract it from a reading. "
        "[degree]",
        4,
        required=True,
    )
    error_sd_deg = Rounded(
        "Its standard deviation, widened where the readings disagree. [degree]", 4, required=True
    )
    found = fields.Boolean(
        required=True,
        metadata={
            "description": "Whether that differs from no error: by over two of its standard deviations."
        },
    )
    variance_factor = Rounded(
        "What the residuals are over what they should be, squared; null of a single reading.",
        4,
        required=True,
        allow_none=True,
    )
    agree = fields.Boolean(
        required=True,
        allow_none=True,
        metadata={"description": "Whether chance explains the residuals; null of a single reading."},
    )


class CheckedReadingSchema(AnswerSchema):
    """One reading, from the north of the compass."""

    reading_deg = Azimuth("What was read. [degree]", required=True)
    known_azimuth_deg = Azimuth("What it should have been. [degree]", required=True)
    sd_deg = Rounded("Standard deviation of the one less the other. [degree]", 4, required=True)
    error_deg = Rounded("Reading less known direction. [degree]", 4, required=True)
    residual_deg = Rounded("That less the error of all. [degree]", 4, required=True)


class DeviationRowSchema(AnswerSchema):
    """The error at one reading."""

    reading_deg = Azimuth("Reading. [degree]", required=True)
    error_deg = Rounded("The compass's error there: subtract it from the reading. [degree]", 3, required=True)
    error_sd_deg = Rounded("Its standard deviation. [degree]", 3, required=True)


class DeviationSchema(AnswerSchema):
    """The error as constant + sine x sin(reading) + cosine x cos(reading)."""

    constant_deg = Rounded("Constant: a turned scale, or a wrong declination. [degree]", 4, required=True)
    sine_deg = Rounded("Coefficient of the sine, greatest east and west. [degree]", 4, required=True)
    cosine_deg = Rounded("Coefficient of the cosine, greatest north and south. [degree]", 4, required=True)
    constant_sd_deg = Rounded("Standard deviation of the constant. [degree]", 4, required=True)
    sine_sd_deg = Rounded("Standard deviation of the sine's coefficient. [degree]", 4, required=True)
    cosine_sd_deg = Rounded("Standard deviation of the cosine's coefficient. [degree]", 4, required=True)
    found = fields.Boolean(
        required=True,
        metadata={
            "description": "Whether the error changes with the direction by more than chance explains in 99 of 100 cases."
        },
    )
    table = fields.List(
        fields.Nested(DeviationRowSchema),
        required=True,
        metadata={"description": "The error at eight readings around the horizon."},
    )


class CompassCheckAnswerSchema(CautionedAnswerSchema, ErrorSchema):
    """What the readings tell of the compass."""

    readings = fields.List(
        fields.Nested(CheckedReadingSchema), required=True, metadata={"description": "The readings in order."}
    )
    suspect = fields.Integer(
        required=True,
        allow_none=True,
        metadata={
            "description": "Index, from 0, of the reading that most likely is a blunder; null where none is."
        },
    )
    without_suspect = fields.Nested(ErrorSchema, required=True, allow_none=True)
    deviation = fields.Nested(
        DeviationSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": f"How the error changes with the direction; null from fewer than {FEWEST_READINGS} readings, or "
            f"where a gap of over {WIDEST_GAP_DEG:g} degrees is left around the horizon."
        },
    )
    angles = fields.Nested(GridAngleAnswerSchema, required=True)
    shared_sd_deg = Rounded(
        "Standard deviation used of what turns all known directions alike. [degree]", 3, required=True
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date that the angles are for; null where none was needed."},
    )


ERROR_MEMBERS = tuple(ErrorSchema().fields)


def error_answer(check: CompassCheck) -> dict[str, Any]:
    """The error that all readings of a check have in common."""
    return {name: getattr(check, name) for name in ERROR_MEMBERS}


def readings_answer(
    read_deg: list[float], known: list[KnownDirection], sd_deg: FloatArray, check: CompassCheck
) -> list[dict[str, Any]]:
    """Each reading, what it should have been, and how it goes with the others."""
    return [
        {
            "reading_deg": read_deg[index],
            "known_azimuth_deg": direction.azimuth_deg,
            "sd_deg": sd_deg[index],
            "error_deg": check.errors_deg[index],
            "residual_deg": check.residuals_deg[index],
        }
        for index, direction in enumerate(known)
    ]


def deviation_answer(deviation: Deviation) -> dict[str, Any]:
    """The error by the direction, with its table."""
    constant_sd, sine_sd, cosine_sd = np.sqrt(np.diag(deviation.covariance))
    error, sd = error_at(deviation, TABLE_DEG)
    return {
        **{name: getattr(deviation, name) for name in ("constant_deg", "sine_deg", "cosine_deg", "found")},
        "constant_sd_deg": constant_sd,
        "sine_sd_deg": sine_sd,
        "cosine_sd_deg": cosine_sd,
        "table": [
            {"reading_deg": reading, "error_deg": error[row], "error_sd_deg": sd[row]}
            for row, reading in enumerate(TABLE_DEG)
        ],
    }
