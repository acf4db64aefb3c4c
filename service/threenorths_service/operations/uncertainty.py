"""How well a place is known, as answers give it: covariance and ellipse."""

from __future__ import annotations

from typing import Any

from ..navmath.angle import FloatArray
from ..navmath.sights.ellipse import Ellipse
from .fields import Azimuth, Rounded
from .operation import AnswerSchema

__all__ = ["CovarianceSchema", "EllipseSchema", "covariance_answer", "ellipse_at"]


class CovarianceSchema(AnswerSchema):
    """Covariance of the place's errors to the true north and east, on which the ellipse rests."""

    north_north = Rounded("Variance to the north. [m2]", 4, required=True)
    north_east = Rounded("Covariance of north and east. [m2]", 4, required=True)
    east_east = Rounded("Variance to the east. [m2]", 4, required=True)


class EllipseSchema(AnswerSchema):
    """Where the place may be, by the standard deviations of all that is known to err."""

    semi_major_m = Rounded("Longer half-axis. [m]", 2, required=True)
    semi_minor_m = Rounded("Shorter half-axis. [m]", 2, required=True)
    major_axis_azimuth_deg = Azimuth(
        "Direction of the longer axis from true north, in [0, 180). [degree]",
        circle=180,
        places=3,
        required=True,
    )
    confidence = Rounded(
        "Probability that the place lies inside, if the standard deviations are right and no sight is a blunder.",
        3,
        required=True,
    )


def covariance_answer(covariance_m2: FloatArray) -> dict[str, Any]:
    """A covariance of north and east errors, shape (2, 2), as `CovarianceSchema` has it."""
    return {
        "north_north": covariance_m2[0, 0],
        "north_east": covariance_m2[0, 1],
        "east_east": covariance_m2[1, 1],
    }


def ellipse_at(ellipses: Ellipse, row: int) -> dict[str, Any]:
    """One of a row of ellipses."""
    return {
        "semi_major_m": ellipses.semi_major_m[row],
        "semi_minor_m": ellipses.semi_minor_m[row],
        "major_axis_azimuth_deg": ellipses.major_axis_azimuth_deg[row],
        "confidence": ellipses.confidence,
    }
