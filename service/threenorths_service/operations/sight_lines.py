"""Sight lines: whether one place sees another over a profile of the ground, and what ground it does not see."""

from __future__ import annotations

from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.angle import FloatArray
from ..navmath.cautions import Caution, caution
from ..navmath.errors import MembersConflictError, MembersMissingError
from ..navmath.estimates.dead_ground import dead_ground
from ..navmath.estimates.estimate import EYE_HEIGHT_M
from ..navmath.estimates.sight_line import (
    BLOCKED_SD,
    CLEAR_SD,
    HEIGHT_CORRELATION_M,
    SightLine,
    Verdict,
    sight_line,
)
from ..navmath.estimates.terrain_profile import (
    LONGEST_PROFILE_M,
    MEAN_RADIUS_M,
    REFRACTION_K,
    REFRACTION_K_SD,
)
from .answer_schemas import CautionedAnswerSchema
from .estimates import naming, worked
from .fields import List, Number, Rounded
from .operation import AnswerSchema, Example, Operation, RequestSchema
from .places import POSITION_ERRORS
from .request_schemas import PlacesRequestSchema, Position
from .sight_line_given import height_sd_m_of, radius_m_of
from .sight_line_working import sight_line_working

__all__ = ["OPERATION"]

#: Tallest eye or target that is taken. [metre]
TALLEST_M = 1000.0

#: Members of the answer that are the mathematics' own.
SIGHT_LINE_MEMBERS = (
    "clearance_m",
    "clearance_sd_m",
    "obstruction_distance_m",
    "obstruction_height_m",
    "least_target_height_m",
    "least_observer_height_m",
)


class ProfilePointSchema(RequestSchema):
    """A point of the ground along the line."""

    distance_m = Number(
        "Distance from the observer. [m]", minimum=0, maximum=LONGEST_PROFILE_M, required=True
    )
    height_m = Number(
        "Height of the ground above sea level; with the trees, where they hide. [m]",
        minimum=-1000,
        maximum=10_000,
        required=True,
    )


class SightLinesRequestSchema(PlacesRequestSchema):
    """A profile from the observer to the target, and how well its heights are known."""

    profile = List(
        fields.Nested(ProfilePointSchema),
        "The ground from the observer, at distance 0, to the target, each point a millimetre or more beyond the last.",
        minimum=2,
        maximum=2000,
        required=True,
    )
    contour_interval_m = Number(
        "Contour interval that the heights were read from; it says how well they are known. [m]",
        minimum=0.1,
        maximum=1000,
    )
    height_sd_m = Number(
        "In place of it: standard deviation of the heights; 0 takes them as true. [m]",
        minimum=0,
        maximum=1000,
    )
    observer_height_m = Number(
        "Height of the eye above the ground. [m]", minimum=0, maximum=TALLEST_M, load_default=EYE_HEIGHT_M
    )
    target_height_m = Number(
        "Height of the target above the ground. [m]", minimum=0, maximum=TALLEST_M, load_default=EYE_HEIGHT_M
    )
    refraction_k = Number(
        "Coefficient of refraction: how much less a ray bends than the earth. The default is a mean by day; over hot or cold "
        "ground it strays far.",
        minimum=-5,
        maximum=0.9,
        load_default=REFRACTION_K,
    )
    refraction_k_sd = Number("Its standard deviation.", minimum=0, maximum=5, load_default=REFRACTION_K_SD)
    height_correlation_m = Number(
        "Distance over which errors of the heights are alike. [m]",
        minimum=1,
        maximum=1_000_000,
        load_default=HEIGHT_CORRELATION_M,
    )
    radius_m = Number(
        f"Radius of the earth along the line; left out {MEAN_RADIUS_M:.0f}, a mean. [m]",
        minimum=6_300_000,
        maximum=6_500_000,
    )
    position = Position("In place of the radius: the observer's place, with `azimuth_deg`.")
    azimuth_deg = Number(
        "Direction of the line there from true north; the radius differs by 0.6 per cent at most, so a rough one will do. "
        "[degree]",
        minimum=0,
        maximum=360,
    )


class StretchSchema(AnswerSchema):
    """A stretch of the line."""

    from_m = Rounded("Where it begins, from the observer. [m]", 2, required=True)
    to_m = Rounded("Where it ends. [m]", 2, required=True)


class SightLinesAnswerSchema(CautionedAnswerSchema):
    """The verdict and what it rests on; the obstruction is where the ground comes nearest to the line of sight."""

    verdict = fields.String(
        required=True,
        metadata={
            "description": "Whether the target is seen, as far as the heights tell.",
            "enum": [verdict.name.lower() for verdict in Verdict],
        },
    )
    visible = fields.Boolean(
        required=True, metadata={"description": "What the heights say as they stand, were they true."}
    )
    margin_sd = Rounded(
        f"Least clearance in its own standard deviations: visible from {CLEAR_SD:g}, not visible to {-BLOCKED_SD:g}; null "
        "where nothing is uncertain.",
        2,
        required=True,
        allow_none=True,
    )
    clearance_m = Rounded(
        "How far the line passes over the obstruction, under it negative. [m]", 2, required=True
    )
    clearance_sd_m = Rounded("Its standard deviation. [m]", 2, required=True)
    obstruction_distance_m = Rounded("Distance of the obstruction. [m]", 2, required=True)
    obstruction_height_m = Rounded("Height of the ground there. [m]", 2, required=True)
    least_target_height_m = Rounded(
        "Height above the ground from which on a target is just seen, by the heights as they stand. [m]",
        2,
        required=True,
    )
    sure_target_height_m = Rounded(
        "Height above the ground from which on a target would be told visible; null over 1000. [m]",
        2,
        required=True,
        allow_none=True,
    )
    least_observer_height_m = Rounded(
        "Height of the eye above the ground from which on the target is just seen, likewise. [m]",
        2,
        required=True,
    )
    sure_observer_height_m = Rounded(
        "Height of the eye from which on the target would be told visible; null over 1000. [m]",
        2,
        required=True,
        allow_none=True,
    )
    dead_ground = fields.List(
        fields.Nested(StretchSchema),
        required=True,
        metadata={"description": "Stretches whose ground itself is not seen, by the heights as they stand."},
    )
    target_hidden = fields.List(
        fields.Nested(StretchSchema),
        required=True,
        metadata={"description": "Stretches where a target of the target's height is not seen, likewise."},
    )
    height_sd_m = Rounded("Standard deviation of the heights that was used. [m]", 3, required=True)
    radius_m = Rounded("Radius of the earth that was used. [m]", 0, required=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a sight-line request."""
    distance_m, height_m = (
        np.array([point[name] for point in request["profile"]]) for name in ("distance_m", "height_m")
    )
    height_sd_m = height_sd_m_of(request)
    radius_m, cautions = radius_m_of(request)
    eye_m, target_m, refraction_k = (
        request[name] for name in ("observer_height_m", "target_height_m", "refraction_k")
    )
    rays = {"refraction_k": refraction_k, "radius_m": radius_m}
    with naming({"distance_m": "profile", "height_m": "profile"}):
        found = sight_line(
            distance_m, height_m,
            height_sd_m=height_sd_m, observer_height_m=eye_m, target_height_m=target_m,
            refraction_k_sd=request["refraction_k_sd"], height_correlation_m=request["height_correlation_m"], **rays,
        )  # fmt: skip
    answer = {
        "verdict": Verdict(int(found.verdict)).name.lower(),
        "visible": bool(found.visible),
        "margin_sd": float(found.margin_sd) if np.isfinite(found.margin_sd) else None,
        **{name: getattr(found, name) for name in SIGHT_LINE_MEMBERS},
        "sure_target_height_m": _within_tallest(found.sure_target_height_m),
        "sure_observer_height_m": _within_tallest(found.sure_observer_height_m),
        "dead_ground": dead_ground(
            distance_m, height_m, observer_height_m=eye_m, target_height_m=0.0, **rays
        ),
        "target_hidden": dead_ground(
            distance_m, height_m, observer_height_m=eye_m, target_height_m=target_m, **rays
        ),
        "height_sd_m": height_sd_m,
        "radius_m": radius_m,
        "cautions": [*cautions, *_cautions(found)],
    }
    if request["working"]:
        answer["working"] = sight_line_working(distance_m, height_m, request, answer)
    return answer


def _within_tallest(height_m: FloatArray) -> float | None:
    return float(height_m) if height_m <= TALLEST_M else None


def _cautions(found: SightLine) -> list[Caution]:
    cautions = [caution("bare_ground")]
    if found.verdict == Verdict.TOO_CLOSE_TO_TELL:
        side = "over" if found.clearance_m >= 0.0 else "under"
        message = (
            f"The line of sight passes {worked(abs(float(found.clearance_m)))} m {side} the ground, give or take "
            f"{worked(float(found.clearance_sd_m))}: the heights do not tell whether it is clear. Go and look."
        )
        cautions.append(caution("sight_too_close", message))
    return cautions


OPERATION = Operation(
    name="sight-lines",
    summary="Whether one place sees another over the ground between",
    description=(
        "Looks along a profile of the ground from its first point to its last, with the earth's curvature and refraction, "
        "and weighs the clearance by how well the heights are known: between visible and not visible lies too close to tell. "
        "It gives the place that stands in the way, how high the target or the eye would have to be, and the stretches not "
        "seen. "
        "Only the ground is in the profile: forest and buildings hide more, unless they are in its heights. A line that is "
        "clear by the map still has to be looked along."
    ),
    request=SightLinesRequestSchema(),
    answer=SightLinesAnswerSchema(),
    run=run,
    errors=(*POSITION_ERRORS, MembersConflictError, MembersMissingError),
    examples=(
        Example(
            "over_a_ridge",
            "An invented valley with a ridge in it, its heights from contours of 10 m",
            {
                "profile": [
                    {"distance_m": 0, "height_m": 612},
                    {"distance_m": 900, "height_m": 480},
                    {"distance_m": 2100, "height_m": 571},
                    {"distance_m": 2600, "height_m": 520},
                    {"distance_m": 4300, "height_m": 540},
                ],
                "contour_interval_m": 10,
                "target_height_m": 3,
                "working": True,
            },
        ),
        Example(
            "radio_masts",
            "Two invented masts 31 km apart over a lake, heights taken as true",
            {
                "profile": [
                    {"distance_m": 0, "height_m": 95},
                    {"distance_m": 800, "height_m": 42},
                    {"distance_m": 30500, "height_m": 42},
                    {"distance_m": 31000, "height_m": 60},
                ],
                "height_sd_m": 0,
                "observer_height_m": 20,
                "target_height_m": 20,
                "position": "33V VK 12345 67890",
                "azimuth_deg": 70,
            },
        ),
    ),
)
