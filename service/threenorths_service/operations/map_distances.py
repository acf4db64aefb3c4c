"""Map distances: scale, map length and ground length, any two to the third, and slopes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from ..navmath.angle import FloatArray
from ..navmath.cautions import Caution, caution
from ..navmath.errors import (
    LengthsInconsistentError,
    LengthsMissingError,
    OutOfRangeError,
)
from ..navmath.estimates.map_distance import GROUND_UNITS_M, MAP_UNITS_MM, MapDistance, solve_map_distance
from ..navmath.rows import BoolArray
from .answer_schemas import CautionedAnswerSchema
from .fields import LARGEST_SCALE, Number, Rounded, Scale
from .operation import Example, Operation
from .request_schemas import OperationRequestSchema

__all__ = ["OPERATION", "STEEP_GRADIENT", "in_range", "in_units", "is_steep", "lengths_of"]

#: Steeper than this a slope is seldom walked straight (common practice, no source).
STEEP_GRADIENT = 0.6

#: Longest ground length taken: half the circumference of the earth, rounded up. [m]
LONGEST_M = 20_100_000.0
#: Shortest length taken, in any unit: below it quotients lose their meaning.
SHORTEST = 0.0001


def _ground(unit: str, name: str) -> Number:
    limit = LONGEST_M / GROUND_UNITS_M[unit]
    return Number(f"Horizontal length on the ground. [{name}]", minimum=SHORTEST, maximum=math.ceil(limit))


class MapDistanceRequestSchema(OperationRequestSchema):
    """Two of scale, map length and ground length; or a ground or slope length with a gradient or a rise."""

    scale = Scale("Scale of the map 1:N, as the number N or as text such as `1:50,000`.")
    map_mm = Number("Length on the map. [mm]", minimum=SHORTEST, maximum=100_000)
    map_cm = Number("Length on the map. [cm]", minimum=SHORTEST, maximum=10_000)
    map_in = Number("Length on the map. [inch]", minimum=SHORTEST, maximum=4_000)
    ground_m = _ground("m", "m")
    ground_km = _ground("km", "km")
    ground_ft = _ground("ft", "international foot")
    ground_yd = _ground("yd", "yard")
    ground_mi = _ground("mi", "statute mile")
    ground_nmi = _ground("nmi", "nautical mile")
    ground_paces = Number(
        "Horizontal length in the walker's paces; needs `paces_per_100_m`.", minimum=SHORTEST, maximum=1e8
    )
    paces_per_100_m = Number(
        "The walker's own count over 100 m of like ground; with it the answer gives paces too.",
        minimum=20,
        maximum=500,
    )
    slope_m = Number("Length along the slope. [m]", minimum=SHORTEST, maximum=LONGEST_M)
    rise_m = Number("Height gained along the line, loss negative. [m]", minimum=-10_000, maximum=10_000)
    gradient_percent = Number(
        "Rise over horizontal length, uphill positive. [per cent]", minimum=-1000, maximum=1000
    )
    gradient_deg = Number("Angle of the slope, uphill positive. [degree]", minimum=-84, maximum=84)


class MapDistanceAnswerSchema(CautionedAnswerSchema):
    """All that follows; null for what could not be told."""

    scale = Rounded("N of the scale 1:N.", 4, required=True, allow_none=True)
    map_mm = Rounded("Length on the map. [mm]", 4, required=True, allow_none=True)
    map_cm = Rounded("Length on the map. [cm]", 5, required=True, allow_none=True)
    map_in = Rounded("Length on the map. [inch]", 5, required=True, allow_none=True)
    ground_m = Rounded("Horizontal length on the ground. [m]", 4, required=True)
    ground_km = Rounded("Horizontal length on the ground. [km]", 7, required=True)
    ground_ft = Rounded("Horizontal length on the ground. [international foot]", 4, required=True)
    ground_yd = Rounded("Horizontal length on the ground. [yard]", 4, required=True)
    ground_mi = Rounded("Horizontal length on the ground. [statute mile]", 7, required=True)
    ground_nmi = Rounded("Horizontal length on the ground. [nautical mile]", 7, required=True)
    ground_paces = Rounded("Paces over the horizontal length.", 1, required=True, allow_none=True)
    slope_m = Rounded("Length along the slope. [m]", 4, required=True, allow_none=True)
    slope_paces = Rounded("Paces along the slope.", 1, required=True, allow_none=True)
    rise_m = Rounded("Height gained, loss negative. [m]", 4, required=True, allow_none=True)
    gradient_percent = Rounded("Rise over horizontal length. [per cent]", 6, required=True, allow_none=True)
    gradient_deg = Rounded("Angle of the slope. [degree]", 6, required=True, allow_none=True)


def _one_of(request: Mapping[str, Any], factors: Mapping[str, Any]) -> Any:
    """The one quantity that was given, in the unit whose factor is 1; given twice it is an error."""
    given = [name for name in factors if name in request]
    if len(given) > 1:
        raise LengthsInconsistentError(
            f"the same quantity is given as {' and '.join(given)}",
            member=given[1],
            value=request[given[1]],
            allowed=f"one of {', '.join(factors)}",
        )
    return None if not given else request[given[0]] * factors[given[0]]


def _gradient(request: Mapping[str, Any]) -> Any:
    if "gradient_percent" in request and "gradient_deg" in request:
        _one_of(request, {"gradient_percent": 1.0, "gradient_deg": 1.0})
    if "gradient_deg" in request:
        return np.tan(np.radians(request["gradient_deg"]))
    return _one_of(request, {"gradient_percent": 0.01})


def lengths_of(request: Mapping[str, Any]) -> dict[str, Any]:
    """What `solve_map_distance` is to be asked, in its units, for the members of a request: numbers, or arrays of rows.

    Raises
    ------
    LengthsInconsistentError, LengthsMissingError
        A quantity is given twice, or a length in paces without the count of them.
    """
    paces_per_100_m = request.get("paces_per_100_m")
    ground_factors: dict[str, Any] = {f"ground_{unit}": metres for unit, metres in GROUND_UNITS_M.items()}
    if paces_per_100_m is not None:
        ground_factors["ground_paces"] = 100.0 / paces_per_100_m
    elif "ground_paces" in request:
        raise LengthsMissingError(
            "a length in paces needs the walker's count",
            member="paces_per_100_m",
            allowed="paces counted over 100 m",
        )
    return {
        "scale": request.get("scale"),
        "map_mm": _one_of(request, {f"map_{unit}": factor for unit, factor in MAP_UNITS_MM.items()}),
        "ground_m": _one_of(request, ground_factors),
        "slope_m": request.get("slope_m"),
        "rise_m": request.get("rise_m"),
        "gradient": _gradient(request),
    }


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a map-distance request."""
    paces_per_100_m = request.get("paces_per_100_m")
    solved = solve_map_distance(**lengths_of(request))
    _check_results(solved)
    answer = in_units(solved, paces_per_100_m)
    answer["cautions"] = _cautions(solved, paces_per_100_m)
    if request["working"]:
        answer["working"] = _working(answer)
    return answer


def in_range(solved: MapDistance) -> BoolArray:
    """Which rows come to numbers that a map can have."""
    fits: BoolArray = np.asarray(True)
    for _what, value, least, most in _limits(solved):
        if value is not None:
            fits = fits & (value >= least) & (value <= most)
    return fits


def _limits(solved: MapDistance) -> tuple[tuple[str, FloatArray | None, float, float], ...]:
    return (
        ("the ground length in metres", solved.ground_m, SHORTEST, LONGEST_M),
        ("the map length in millimetres", solved.map_mm, SHORTEST, math.inf),
        ("N of the scale 1:N", solved.scale, 1.0, LARGEST_SCALE),
    )


def _check_results(solved: MapDistance) -> None:
    """Refuse what follows only by numbers that no map has."""
    for what, value, least, most in _limits(solved):
        if value is not None and not least <= value <= most:
            raise OutOfRangeError(
                f"{what} comes to {float(value):g}", allowed=f"{what} from {least:g} to {most:,.0f}"
            )


def in_units(solved: MapDistance, paces_per_100_m: Any) -> dict[str, Any]:
    """All that follows, in every unit, by the answer's members; of numbers, or of arrays of rows."""

    def paces(length_m: Any) -> Any:
        return None if paces_per_100_m is None or length_m is None else length_m * paces_per_100_m / 100.0

    gradient = solved.gradient
    return {
        "scale": solved.scale,
        **{
            f"map_{unit}": None if solved.map_mm is None else solved.map_mm / factor
            for unit, factor in MAP_UNITS_MM.items()
        },
        **{f"ground_{unit}": solved.ground_m / metres for unit, metres in GROUND_UNITS_M.items()},
        "ground_paces": paces(solved.ground_m),
        "slope_m": solved.slope_m,
        "slope_paces": paces(solved.slope_m),
        "rise_m": solved.rise_m,
        "gradient_percent": None if gradient is None else gradient * 100.0,
        "gradient_deg": None if gradient is None else np.degrees(np.arctan(gradient)),
    }


def is_steep(gradient: FloatArray) -> BoolArray:
    """Which slopes are seldom walked straight."""
    steep: BoolArray = np.abs(gradient) > STEEP_GRADIENT
    return steep


def _cautions(solved: MapDistance, paces_per_100_m: float | None) -> list[Caution]:
    cautions = []
    if solved.gradient is not None and is_steep(solved.gradient):
        cautions.append(caution("steep_gradient"))
    if paces_per_100_m is not None:
        cautions.append(caution("paces_vary"))
    return cautions


def _working(answer: dict[str, Any]) -> list[str]:
    steps = []
    if answer["scale"] is not None:
        steps.append(
            f"map {answer['map_mm']:.2f} mm x scale {answer['scale']:,.0f} = "
            f"{answer['map_mm'] * answer['scale']:,.0f} mm on the ground"
        )
        steps.append(
            f"{answer['map_mm'] * answer['scale']:,.0f} mm / 1000 = {answer['ground_m']:,.1f} m on the ground"
        )
    if answer["slope_m"] is not None:
        steps.append(
            f"rise {answer['rise_m']:.1f} m / ground {answer['ground_m']:.1f} m x 100 = "
            f"gradient {answer['gradient_percent']:.2f} per cent = {answer['gradient_deg']:.2f} degrees"
        )
        steps.append(
            f"square root of ({answer['ground_m']:.1f}^2 + {answer['rise_m']:.1f}^2) = "
            f"{answer['slope_m']:.1f} m along the slope"
        )
    if answer["ground_paces"] is not None:
        along = answer["slope_paces"] if answer["slope_paces"] is not None else answer["ground_paces"]
        steps.append(f"at the walker's count: {along:.0f} paces")
    return steps


OPERATION = Operation(
    name="map-distances",
    summary="Scale, map length and ground length, and slopes",
    description=(
        "Give any two of the scale, one map length and one ground length, and the third follows. With a gradient, a rise "
        "or a slope length beside a ground length, the length along the slope follows too; from a slope length and a "
        "gradient or a rise, the ground length. A ground length is horizontal, as the map shows it. A rise taken from a "
        "slope length and a ground length alone is given as uphill: lengths do not tell up from down."
    ),
    request=MapDistanceRequestSchema(),
    answer=MapDistanceAnswerSchema(),
    run=run,
    errors=(LengthsInconsistentError, LengthsMissingError, OutOfRangeError),
    examples=(
        Example("ground_from_map", "87 mm on a 1:25,000 sheet", {"scale": "1:25,000", "map_mm": 87}),
        Example(
            "scale_from_ground",
            "A road known to be 2.16 km measures 43.2 mm",
            {"map_mm": 43.2, "ground_km": 2.16},
        ),
        Example(
            "up_a_slope",
            "1.2 km on the map, climbing at 18 per cent, in this walker's paces",
            {"ground_km": 1.2, "gradient_percent": 18, "paces_per_100_m": 66, "working": True},
        ),
    ),
)
