"""Travel times: distance, time and speed on the flat, any two to the third, and the paces that go with them."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.errors import MembersConflictError, MembersMissingError, OutOfRangeError, TwoOfThreeError
from ..navmath.estimates.estimate import DEFAULT_SD_SHARE, PACED_SD_RATIO, default_sd
from ..navmath.estimates.travel_time import (
    SPEED_SD_RATIO,
    TIME_SD_MIN,
    TravelTime,
    pace_speed_km_per_h,
    solve_travel,
)
from .answer_schemas import CautionedAnswerSchema
from .estimates import (
    as_given,
    default_sd_cautions,
    in_metres,
    naming,
    paced_names,
    paces_member,
    paces_per_100_m_member,
    sds_of_given,
    weak_cautions,
    worked,
)
from .fields import Number, Rounded
from .operation import Example, Operation
from .request_schemas import OperationRequestSchema

__all__ = ["OPERATION"]

#: The three quantities with the names of their standard deviations.
QUANTITIES = {
    "distance_m": "distance_sd_m",
    "time_min": "time_sd_min",
    "speed_km_per_h": "speed_sd_km_per_h",
}
WORDS = {"distance_m": ("distance", "m"), "time_min": ("time", "min"), "speed_km_per_h": ("speed", "km/h")}


class TravelTimesRequestSchema(OperationRequestSchema):
    """Just two of distance, time and speed."""

    distance_m = Number("Level distance. [m]", minimum=0.1, maximum=20_000_000)
    distance_paces = paces_member("Level distance", 1_000_000)
    time_min = Number("Time. [minute]", minimum=0.001, maximum=1_000_000)
    speed_km_per_h = Number("Speed. [km/h]", minimum=0.01, maximum=1000)
    paces_per_min = Number(
        "Paces a minute, in place of the speed; needs `paces_per_100_m`.", minimum=1, maximum=400
    )
    paces_per_100_m = paces_per_100_m_member()
    distance_sd_m = Number(
        f"Standard deviation of the distance; left out {100 * PACED_SD_RATIO:g} per cent of it, as paced. [m]",
        minimum=0,
        maximum=20_000_000,
    )
    time_sd_min = Number(
        f"Standard deviation of the time; left out {TIME_SD_MIN:g}, but at most {100 * DEFAULT_SD_SHARE:g} per cent of it. "
        "[minute]",
        minimum=0,
        maximum=1_000_000,
    )
    speed_sd_km_per_h = Number(
        f"Standard deviation of the speed; left out {100 * SPEED_SD_RATIO:g} per cent of it. [km/h]",
        minimum=0,
        maximum=1000,
    )


class TravelTimesAnswerSchema(CautionedAnswerSchema):
    """The three with one standard deviation each, and the paces where a count was given."""

    found = fields.String(
        required=True, metadata={"description": "The one that was found.", "enum": list(QUANTITIES)}
    )
    distance_m = Rounded("Level distance. [m]", 2, required=True)
    distance_sd_m = Rounded("Its standard deviation. [m]", 2, required=True)
    time_min = Rounded("Time. [minute]", 3, required=True)
    time_sd_min = Rounded("Its standard deviation. [minute]", 3, required=True)
    speed_km_per_h = Rounded("Speed. [km/h]", 4, required=True)
    speed_sd_km_per_h = Rounded("Its standard deviation. [km/h]", 4, required=True)
    paces = Rounded("Paces over the distance; null without a count.", 0, required=True, allow_none=True)
    paces_per_min = Rounded("Paces a minute; null without a count.", 1, required=True, allow_none=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a travel-time request."""
    count = request.get("paces_per_100_m")
    given = _given(request)
    sds = sds_of_given(request, QUANTITIES, {name: _default_sd(name, value) for name, value in given.items()})
    with naming(paced_names(request)):
        solved = solve_travel(**given, **sds)
    answer = {
        "found": solved.found,
        **{name: getattr(solved, name) for name in QUANTITIES},
        **sds,
        QUANTITIES[solved.found]: solved.sd,
        "paces": None if count is None else solved.distance_m * count / 100.0,
        "paces_per_min": None if count is None else solved.distance_m * count / 100.0 / solved.time_min,
        "cautions": _cautions(request, solved),
    }
    if request["working"]:
        answer["working"] = _working(request, solved, answer["paces"])
    return answer


def _given(request: dict[str, Any]) -> dict[str, float]:
    """Those of the three that were given, paces brought to metres and a cadence to a speed."""
    metric = dict(request) if "distance_paces" not in request else in_metres(request, "distance")
    given = {name: metric[name] for name in QUANTITIES if name in metric}
    if "paces_per_min" in request:
        if "speed_km_per_h" in request:
            raise MembersConflictError(
                "the speed is given twice",
                member="paces_per_min",
                value=request["paces_per_min"],
                allowed="one of speed_km_per_h and paces_per_min",
            )
        if "paces_per_100_m" not in request:
            raise MembersMissingError(
                "paces a minute need the walker's count", member="paces_per_100_m", allowed="paces over 100 m"
            )
        cadence, count = request["paces_per_min"], request["paces_per_100_m"]
        given["speed_km_per_h"] = float(pace_speed_km_per_h(cadence, count))
    return given


def _default_sd(name: str, value: float) -> float:
    return {
        "distance_m": PACED_SD_RATIO * value,
        "time_min": float(default_sd(value, TIME_SD_MIN)),
        "speed_km_per_h": SPEED_SD_RATIO * value,
    }[name]


def _cautions(request: dict[str, Any], solved: TravelTime) -> list[Caution]:
    own = QUANTITIES[solved.found]
    defaults = {
        "distance_sd_m": f"{100 * PACED_SD_RATIO:g} per cent of the distance, as paced",
        "time_sd_min": f"{_default_sd('time_min', float(solved.time_min)):.3g} minute for the time",
        "speed_sd_km_per_h": f"{100 * SPEED_SD_RATIO:g} per cent of the speed",
    }
    del defaults[own]
    cautions = [caution("level_walk"), *default_sd_cautions(request, defaults)]
    if "paces_per_100_m" in request:
        cautions.append(caution("paces_vary"))
    what, unit = WORDS[solved.found]
    return [*cautions, *weak_cautions(what, float(getattr(solved, solved.found)), float(solved.sd), unit)]


def _working(request: dict[str, Any], solved: TravelTime, paces: float | None) -> list[str]:
    distance, time, speed = (float(getattr(solved, name)) for name in QUANTITIES)
    steps = []
    if "paces_per_min" in request:
        steps.append(
            f"{as_given(request['paces_per_min'])} paces a minute / {as_given(request['paces_per_100_m'])} paces x 100 m x "
            f"60 / 1000 = {worked(speed)} km/h"
        )
    steps.append(
        {
            "distance_m": f"{as_given(speed)} km/h x 1000 / 60 x {as_given(time)} min = {worked(distance)} m",
            "time_min": f"{as_given(distance)} m / ({as_given(speed)} km/h x 1000 / 60) = {worked(time)} min",
            "speed_km_per_h": f"{as_given(distance)} m / {as_given(time)} min x 60 / 1000 = {worked(speed)} km/h",
        }[solved.found]
    )
    steps.append(f"give or take {worked(float(solved.sd))} {WORDS[solved.found][1]}, one standard deviation")
    if paces is not None:
        count = as_given(request["paces_per_100_m"])
        steps.append(f"{worked(distance)} m x {count} / 100 = {paces:,.0f} paces")
    return steps


OPERATION = Operation(
    name="travel-times",
    summary="Distance, time and speed on the flat",
    description=(
        "Any two of distance, time and speed give the third, with its standard deviation. A speed may be given as paces a "
        "minute with the walker's own count, a distance in paces likewise. It is a steady walk on level ground: what slope, "
        "going, load, darkness and rests add to a time is not in it, and on a hill that is often more than the time itself."
    ),
    request=TravelTimesRequestSchema(),
    answer=TravelTimesAnswerSchema(),
    run=run,
    errors=(MembersConflictError, MembersMissingError, OutOfRangeError, TwoOfThreeError),
    examples=(
        Example(
            "time",
            "An invented leg of 2.4 km at 4 km/h",
            {"distance_m": 2400, "speed_km_per_h": 4, "working": True},
        ),
        Example(
            "distance_by_cadence",
            "25 minutes at this walker's cadence",
            {"time_min": 25, "paces_per_min": 52, "paces_per_100_m": 64, "speed_sd_km_per_h": 0.3},
        ),
    ),
)
