"""Widths: how wide a river or gully is that is not crossed, from a base along the near bank."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.angle import normalise_signed
from ..navmath.cautions import Caution, caution
from ..navmath.errors import (
    AnglesUnreadableError,
    LinesDoNotMeetError,
    MembersConflictError,
    MembersMissingError,
    OutOfRangeError,
    WeakBaseError,
)
from ..navmath.estimates.estimate import PACED_SD_RATIO, EstimateStatus, estimate_error
from ..navmath.estimates.offset_width import (
    LONGEST_BASE_M,
    SHORTEST_BASE_M,
    WALKED_ANGLES,
    OffsetWidth,
    width_by_offset,
    width_by_two_bearings,
    width_by_walked_angle,
)
from ..navmath.sights.sight import DEFAULT_SD_DEG
from .answer_schemas import CautionedAnswerSchema
from .estimates import (
    Members,
    as_given,
    check_members,
    default_sd_cautions,
    in_metres,
    naming,
    paced_names,
    paces_member,
    paces_per_100_m_member,
    weak_cautions,
    worked,
)
from .fields import Bearing, Choice, Number, Rounded
from .north_angles import bearing_in_degrees
from .operation import Example, Operation
from .request_schemas import OperationRequestSchema, unit_member

__all__ = ["OPERATION"]

COMMON = ("set_back_m", "base_sd_m", "bearing_sd_deg")
METHODS = {
    "two_bearings": Members(
        ("base_m", "base_azimuth", "start_bearing", "end_bearing"), ("river_azimuth", *COMMON)
    ),
    "offset": Members(("base_m", "base_azimuth", "end_bearing"), COMMON),
    "walked_angle": Members(("base_m", "walked_angle"), COMMON),
}
SOLVERS: dict[str, Callable[..., OffsetWidth]] = {
    "two_bearings": width_by_two_bearings,
    "offset": width_by_offset,
    "walked_angle": width_by_walked_angle,
}
#: Directions of a request, by what the mathematics calls them in degrees.
DIRECTIONS = {
    "base_azimuth": "base_azimuth_deg",
    "start_bearing": "start_bearing_deg",
    "end_bearing": "end_bearing_deg",
    "river_azimuth": "river_azimuth_deg",
}
DEFAULT_SDS = {
    "base_sd_m": f"{100 * PACED_SD_RATIO:g} per cent of the base, as paced",
    "bearing_sd_deg": f"{DEFAULT_SD_DEG:g} degrees for each direction",
}


class WidthsRequestSchema(OperationRequestSchema):
    """A base along the near bank, and the far mark's directions from its ends."""

    method = Choice(
        "`two_bearings`: the mark's bearings at both ends of any base. `offset`: the base was turned off at 90 degrees from "
        "the mark straight across; the bearing at its end is enough. `walked_angle`: the base was walked so until the mark "
        "stood at a named angle to it; no bearing enters.",
        tuple(METHODS),
        required=True,
    )
    base_m = Number("Horizontal length of the base. [m]", minimum=SHORTEST_BASE_M, maximum=LONGEST_BASE_M)
    base_paces = paces_member("Horizontal length of the base")
    paces_per_100_m = paces_per_100_m_member()
    base_azimuth = Bearing("Direction of the base from its start.")
    start_bearing = Bearing("Direction of the mark from the start of the base.")
    end_bearing = Bearing("Direction of the mark from the end of the base.")
    river_azimuth = Bearing("Direction of the bank, either way. Left out: the base lies along the bank.")
    unit = unit_member()
    walked_angle = Choice(
        "Angle at the end of the base, between the base walked and the mark: 45 degrees, 63 degrees 26 minutes, or 26 "
        "degrees 34 minutes.",
        tuple(WALKED_ANGLES),
    )
    set_back_m = Number(
        "How far the start of the base stands back from the near edge, square to the river; left out 0. [m]",
        minimum=0,
        maximum=LONGEST_BASE_M,
    )
    base_sd_m = Number(
        f"Standard deviation of the base; left out {100 * PACED_SD_RATIO:g} per cent of it, as paced. [m]",
        minimum=0,
        maximum=LONGEST_BASE_M,
    )
    bearing_sd_deg = Number(
        f"Standard deviation of each direction; left out {DEFAULT_SD_DEG:g}. [degree]", minimum=0, maximum=45
    )


class WidthsAnswerSchema(CautionedAnswerSchema):
    """The width, and the distances behind it, with one standard deviation each."""

    method = fields.String(required=True, metadata={"description": "Method used.", "enum": list(METHODS)})
    width_m = Rounded("Width square to the river, from the near edge to the mark. [m]", 3, required=True)
    width_sd_m = Rounded("Its standard deviation. [m]", 3, required=True)
    from_start_m = Rounded("Distance of the mark from the start of the base. [m]", 3, required=True)
    from_start_sd_m = Rounded("Its standard deviation. [m]", 3, required=True)
    from_end_m = Rounded("Distance of the mark from the end of the base. [m]", 3, required=True)
    from_end_sd_m = Rounded("Its standard deviation. [m]", 3, required=True)
    crossing_angle_deg = Rounded("Angle between the two lines at the mark. [degree]", 4, required=True)
    base_m = Rounded("Length of the base. [m]", 3, required=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a width request."""
    check_members(request, METHODS)
    metric = in_metres(request, "base")
    given = {
        DIRECTIONS.get(name, name): _degrees(metric, name) if name in DIRECTIONS else metric[name]
        for name in (*METHODS[request["method"]].needs, *METHODS[request["method"]].takes)
        if name in metric
    }
    with naming(paced_names(request)):
        found = SOLVERS[request["method"]](**given)
    if found.status != EstimateStatus.OK:
        raise estimate_error(int(found.status))
    answer = {
        "method": request["method"],
        **{name: getattr(found, name) for name in OffsetWidth.__slots__ if name != "status"},
        "base_m": given["base_m"],
        "cautions": _cautions(request, found),
    }
    if request["working"]:
        answer["working"] = _working(request["method"], given, found)
    return answer


def _degrees(request: dict[str, Any], name: str) -> float:
    return bearing_in_degrees(request[name], request["unit"], name)


def _cautions(request: dict[str, Any], found: OffsetWidth) -> list[Caution]:
    cautions = default_sd_cautions(request, DEFAULT_SDS)
    if "base_paces" in request:
        cautions.append(caution("paces_vary"))
    return [*cautions, *weak_cautions("width", float(found.width_m), float(found.width_sd_m), "m")]


def _working(method: str, given: dict[str, Any], found: OffsetWidth) -> list[str]:
    steps, across_m = (_triangle if method == "two_bearings" else _right_angle)(given, found)
    back_m = given.get("set_back_m", 0.0)
    if back_m > 0.0:
        steps.append(f"{worked(across_m)} - {as_given(back_m)} set back = {worked(across_m - back_m)} m wide")
    return [*steps, f"give or take {worked(float(found.width_sd_m))} m, one standard deviation"]


def _triangle(given: dict[str, Any], found: OffsetWidth) -> tuple[list[str], float]:
    azimuth, start, end = (given[f"{name}_deg"] for name in ("base_azimuth", "start_bearing", "end_bearing"))
    back = (azimuth + 180.0) % 360.0
    at_start, at_end = _between(start, azimuth), _between(end, back)
    base, at_mark = as_given(given["base_m"]), as_given(180.0 - at_start - at_end)
    from_start = worked(float(found.from_start_m))
    bank = given.get("river_azimuth_deg", azimuth)
    to_bank = (
        _between(start, bank)
        if bank == azimuth
        else min(_between(start, bank), 180.0 - _between(start, bank))
    )
    across_m = float(found.from_start_m * np.sin(np.radians(to_bank)))
    return [
        f"angle at the start, from the base {as_given(azimuth)} to the mark {as_given(start)}: {as_given(at_start)} degrees",
        f"angle at the end, from the base back {as_given(back)} to the mark {as_given(end)}: {as_given(at_end)} degrees",
        f"angle at the mark: 180 - {as_given(at_start)} - {as_given(at_end)} = {at_mark} degrees",
        f"from the start: {base} x sin {as_given(at_end)} / sin {at_mark} = {from_start} m",
        f"from the end: {base} x sin {as_given(at_start)} / sin {at_mark} = {worked(float(found.from_end_m))} m",
        f"square to the river: {from_start} x sin {as_given(to_bank)} = {worked(across_m)} m",
    ], across_m


def _right_angle(given: dict[str, Any], found: OffsetWidth) -> tuple[list[str], float]:
    base, across_m = as_given(given["base_m"]), float(found.from_start_m)
    if "walked_angle" in given:
        ratio = as_given(WALKED_ANGLES[given["walked_angle"]])
        name = given["walked_angle"].replace("_", " degrees ")
        unit = "minutes" if "_" in given["walked_angle"] else "degrees"
        return [
            f"at {name} {unit} the width is {ratio} times the base: {base} x {ratio} = {worked(across_m)} m"
        ], across_m
    back = (given["base_azimuth_deg"] + 180.0) % 360.0
    at_end = as_given(_between(given["end_bearing_deg"], back))
    return [
        f"angle at the end, from the base back {as_given(back)} to the mark {as_given(given['end_bearing_deg'])}: "
        f"{at_end} degrees",
        f"straight across: {base} x tan {at_end} = {worked(across_m)} m",
    ], across_m


def _between(first_deg: float, second_deg: float) -> float:
    """The angle between two directions, 0 to 180. [degree]"""
    return float(np.abs(normalise_signed(first_deg - second_deg)))


OPERATION = Operation(
    name="widths",
    summary="Width of a river that is not crossed",
    description=(
        "Solves the triangle of a base along the near bank and a mark on the far one by the sine rule. Only differences of "
        "the directions count: take all of them from any one north, with no conversion; a steady error of the compass drops "
        "out. What a method does not use is refused. Standard deviations are carried to the answers to first order; angles "
        "that they blur into no triangle are a named error. The width is to the mark: choose one at the water's edge."
    ),
    request=WidthsRequestSchema(),
    answer=WidthsAnswerSchema(),
    run=run,
    errors=(
        AnglesUnreadableError,
        LinesDoNotMeetError,
        MembersConflictError,
        MembersMissingError,
        OutOfRangeError,
        WeakBaseError,
    ),
    examples=(
        Example(
            "two_bearings",
            "An invented river that runs east: a base of 75 m along it, and a boulder on the far side",
            {
                "method": "two_bearings",
                "base_m": 75,
                "base_azimuth": 90,
                "start_bearing": 38,
                "end_bearing": 338,
                "working": True,
            },
        ),
        Example(
            "offset_in_paces",
            "An invented gully: 40 paces turned off at a right angle, in mils",
            {
                "method": "offset",
                "base_paces": 40,
                "paces_per_100_m": 62,
                "base_azimuth": 1600,
                "end_bearing": 5700,
                "unit": "mil",
                "bearing_sd_deg": 1,
            },
        ),
        Example(
            "walked_angle",
            "Walked 30 m along an invented river, from 4 m behind its edge, until the mark stood at 45 degrees",
            {"method": "walked_angle", "base_m": 30, "walked_angle": "45", "set_back_m": 4},
        ),
    ),
)
