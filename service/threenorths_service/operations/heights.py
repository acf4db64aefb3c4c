"""Heights: how tall a tower, tree or cliff is, by angles of elevation or by proportion."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.errors import (
    LinesDoNotMeetError,
    MembersConflictError,
    MembersMissingError,
    OutOfRangeError,
    WeakBaseError,
)
from ..navmath.estimates.estimate import (
    CLINOMETER_SD_DEG,
    EYE_HEIGHT_M,
    EYE_HEIGHT_SD_M,
    PACED_SD_RATIO,
    TAPED_SD_M,
    EstimateStatus,
    estimate_error,
)
from ..navmath.estimates.height_by_angles import (
    height_by_top,
    height_by_top_and_base,
    height_from_two_stations,
    height_from_two_stations_seeing_the_base,
)
from ..navmath.estimates.height_by_proportion import height_by_shadow, height_by_stick
from ..navmath.estimates.object_height import LONGEST_M, SHORTEST_M, STEEPEST_DEG, ObjectHeight
from .answer_schemas import CautionedAnswerSchema
from .estimates import (
    Members,
    check_members,
    default_sd_cautions,
    in_metres,
    naming,
    paced_names,
    paces_member,
    paces_per_100_m_member,
    weak_cautions,
)
from .fields import Choice, Flag, Number, Rounded
from .height_working import height_working
from .operation import Example, Operation
from .request_schemas import OperationRequestSchema

__all__ = ["OPERATION"]

#: The standard deviations of each method are the last of what it takes.
METHODS = {
    "top": Members(
        ("distance_m", "top_deg"),
        ("eye_height_m", "base_rise_m", "distance_sd_m", "angle_sd_deg", "eye_height_sd_m", "base_rise_sd_m"),
    ),
    "top_and_base": Members(
        ("distance_m", "top_deg", "base_deg"),
        ("distance_along_ground", "eye_height_m", "distance_sd_m", "angle_sd_deg", "eye_height_sd_m"),
    ),
    "two_stations": Members(
        ("apart_m", "near_top_deg", "far_top_deg"),
        (
            "eye_height_m", "near_above_far_m",
            "apart_sd_m", "angle_sd_deg", "eye_height_sd_m", "near_above_far_sd_m",
        ),
    ),
    "two_stations_and_base": Members(
        ("apart_m", "near_top_deg", "near_base_deg", "far_top_deg", "far_base_deg"),
        ("apart_sd_m", "angle_sd_deg"),
    ),
    "shadow": Members(("shadow_m", "stick_m", "stick_shadow_m"), ("shadow_sd_m", "stick_sd_m")),
    "stick": Members(
        ("distance_m", "stick_m", "stick_distance_m"), ("eye_height_m", "distance_sd_m", "stick_sd_m")
    ),
}  # fmt: skip
SOLVERS: dict[str, Callable[..., ObjectHeight]] = {
    "top": height_by_top,
    "top_and_base": height_by_top_and_base,
    "two_stations": height_from_two_stations,
    "two_stations_and_base": height_from_two_stations_seeing_the_base,
    "shadow": height_by_shadow,
    "stick": height_by_stick,
}
PACED = f"{100 * PACED_SD_RATIO:g} per cent of"
DEFAULT_SDS = {
    "distance_sd_m": f"{PACED} the distance, as paced",
    "apart_sd_m": f"{PACED} the distance between the stations, as paced",
    "shadow_sd_m": f"{PACED} the shadow, as paced",
    "angle_sd_deg": f"{CLINOMETER_SD_DEG:g} degree for each angle",
    "eye_height_sd_m": f"{EYE_HEIGHT_SD_M:g} m for the height of the eye",
    "stick_sd_m": f"{TAPED_SD_M:g} m for each length at the stick",
}


def _length(what: str) -> Number:
    return Number(f"{what}. [m]", minimum=SHORTEST_M, maximum=LONGEST_M)


def _angle(what: str) -> Number:
    return Number(
        f"Angle of elevation of the {what}, up positive. [degree]",
        minimum=-STEEPEST_DEG,
        maximum=STEEPEST_DEG,
    )


def _sd(what: str, default: str) -> Number:
    return Number(f"Standard deviation of {what}; left out {default}. [m]", minimum=0, maximum=1000)


class HeightsRequestSchema(OperationRequestSchema):
    """What was measured from one place, or from two in line with the object."""

    method = Choice(
        "`top`: the angle of the top alone. `top_and_base`: the angles of both, on any slope. `two_stations`: the angle of "
        "the top from two places in line with it, its base out of reach. `two_stations_and_base`: the angles of both from "
        "there. `shadow`: its shadow beside an upright stick's. `stick`: its top sighted over an upright stick.",
        tuple(METHODS),
        required=True,
    )
    distance_m = _length("Horizontal distance to the object")
    distance_paces = paces_member("Horizontal distance to the object")
    distance_along_ground = Flag(
        "Whether the distance was measured along the sloping ground, from the feet to the base; left out it was not."
    )
    top_deg = _angle("top")
    base_deg = _angle("base")
    eye_height_m = Number(
        "Height of the eye above the observer's feet; of `two_stations`, of the nearer eye above the object's base. Of "
        f"`top_and_base` it enters with `distance_along_ground` only. Left out {EYE_HEIGHT_M:g}, of `stick` 0, the eye on "
        "the ground. [m]",
        minimum=-1000,
        maximum=1000,
    )
    base_rise_m = Number(
        "How far the object's base lies above the observer's feet, below negative; left out 0. [m]",
        minimum=-1000,
        maximum=1000,
    )
    apart_m = _length("Horizontal distance between the two stations")
    apart_paces = paces_member("Horizontal distance between the two stations")
    near_top_deg = _angle("top from the nearer station")
    near_base_deg = _angle("base from the nearer station")
    far_top_deg = _angle("top from the farther station")
    far_base_deg = _angle("base from the farther station")
    near_above_far_m = Number(
        "How far the nearer eye is above the farther one, below negative; left out 0. [m]",
        minimum=-1000,
        maximum=1000,
    )
    shadow_m = _length("Length of the object's shadow on level ground, from under its top")
    shadow_paces = paces_member("Length of the object's shadow")
    stick_m = _length("Height of the upright stick")
    stick_shadow_m = _length("Length of the stick's shadow at the same time")
    stick_distance_m = _length("Distance of the stick from the eye")
    paces_per_100_m = paces_per_100_m_member()
    distance_sd_m = _sd("the distance", f"{PACED} it")
    apart_sd_m = _sd("the distance between the stations", f"{PACED} it")
    shadow_sd_m = _sd("the shadow", f"{PACED} it")
    stick_sd_m = _sd("each length at the stick", f"{TAPED_SD_M:g}")
    eye_height_sd_m = _sd("the height of the eye", f"{EYE_HEIGHT_SD_M:g}")
    base_rise_sd_m = _sd("the base's rise", "0")
    near_above_far_sd_m = _sd("the stations' difference in height", "0")
    angle_sd_deg = Number(
        f"Standard deviation of each angle; left out {CLINOMETER_SD_DEG:g}. [degree]", minimum=0, maximum=45
    )


class HeightsAnswerSchema(CautionedAnswerSchema):
    """The height and the distance, with one standard deviation each."""

    method = fields.String(required=True, metadata={"description": "Method used.", "enum": list(METHODS)})
    height_m = Rounded("Height of the object from its base to its top. [m]", 3, required=True)
    height_sd_m = Rounded("Its standard deviation. [m]", 3, required=True)
    distance_m = Rounded(
        "Horizontal distance to the object, from the nearer station; of `shadow` the shadow. [m]",
        3,
        required=True,
    )
    distance_sd_m = Rounded("Its standard deviation. [m]", 3, required=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a height request."""
    check_members(request, METHODS)
    method = request["method"]
    metric = in_metres(request, "distance", "apart", "shadow")
    used = (*METHODS[method].needs, *METHODS[method].takes)
    given = {name: metric[name] for name in used if name in metric}
    with naming(paced_names(request)):
        found = SOLVERS[method](**given)
    if found.status != EstimateStatus.OK:
        raise estimate_error(int(found.status))
    height_m, height_sd_m = float(found.height_m), float(found.height_sd_m)
    answer = {
        "method": method,
        "height_m": height_m,
        "height_sd_m": height_sd_m,
        "distance_m": found.distance_m,
        "distance_sd_m": found.distance_sd_m,
        "cautions": [*_cautions(request), *weak_cautions("height", height_m, height_sd_m, "m")],
    }
    if request["working"]:
        answer["working"] = height_working(method, given, found)
    return answer


def _cautions(request: dict[str, Any]) -> list[Caution]:
    takes = METHODS[request["method"]].takes
    defaults = {member: words for member, words in DEFAULT_SDS.items() if member in takes}
    if request["method"] == "top_and_base" and not request.get("distance_along_ground", False):
        del defaults["eye_height_sd_m"]  # the eye's height does not enter
    cautions = default_sd_cautions(request, defaults)
    if any(name.endswith("_paces") for name in request):
        cautions.append(caution("paces_vary"))
    return cautions


OPERATION = Operation(
    name="heights",
    summary="Height of a tower, tree or cliff",
    description=(
        "The height of an object from its base to its top, which are taken to stand one above the other, by one of six "
        "methods: angles of elevation from one place or from two in line with the object, its shadow, or a stick. Angles are "
        "from the horizontal, up positive. What a method does not use is refused. Standard deviations are carried to the "
        "height to first order; stations too near to each other for their angles are a named error."
    ),
    request=HeightsRequestSchema(),
    answer=HeightsAnswerSchema(),
    run=run,
    errors=(LinesDoNotMeetError, MembersConflictError, MembersMissingError, OutOfRangeError, WeakBaseError),
    examples=(
        Example(
            "top_and_base",
            "An invented mast, 60 m off on rising ground",
            {"method": "top_and_base", "distance_m": 60, "top_deg": 25, "base_deg": 4, "working": True},
        ),
        Example(
            "two_stations",
            "An invented cliff beyond a river, from two places 40 paces apart",
            {
                "method": "two_stations",
                "apart_paces": 40,
                "paces_per_100_m": 62,
                "near_top_deg": 38,
                "far_top_deg": 19,
                "working": True,
            },
        ),
        Example(
            "shadow",
            "An invented spruce's shadow beside that of a 1.5 m stick",
            {"method": "shadow", "shadow_m": 21, "stick_m": 1.5, "stick_shadow_m": 1.8, "shadow_sd_m": 0.3},
        ),
    ),
)
