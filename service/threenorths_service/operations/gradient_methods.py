"""How a gradient request is answered, method by method, with its working."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ..navmath.cautions import Caution, caution
from ..navmath.errors import MembersConflictError, MembersMissingError
from ..navmath.estimates.estimate import PACED_SD_RATIO
from ..navmath.estimates.gradient import (
    FLATTEST_GRADIENT,
    MAP_READING_SD_MM,
    STEEPEST_GRADIENT,
    Gradient,
    SteepestPlace,
    contour_spacing,
    gradient_between,
    gradient_from_spacing,
    rise_from_contours,
    steepest_place,
)
from .estimates import Members, as_given, check_members, default_sd_cautions, naming, weak_cautions, worked

__all__ = ["METHODS", "run"]

METHODS = {
    "rise": Members(
        (),
        (
            "rise_m", "contours", "contour_interval_m", "ground_m", "map_mm", "scale",
            "rise_sd_m", "ground_sd_m", "map_sd_mm",
        ),
    ),
    "spacing": Members(("contour_interval_m", "spacing_mm", "scale"), ("map_sd_mm",)),
    "crossings": Members(("crossings", "scale"), ("map_sd_mm",)),
}  # fmt: skip

READING = f"{MAP_READING_SD_MM:g} mm for each reading on the map"


@dataclass(frozen=True, slots=True)
class Found:
    """A gradient, what its standard deviation does not know, and what is to be said of it."""

    gradient: Gradient
    sd_known: bool = True
    steepest: SteepestPlace | None = None
    #: Contours that the gradient was taken from, which hide what lies between them. [metre]
    hidden_m: float | None = None
    default_sds: dict[str, str] = field(default_factory=dict)
    steps: list[str] = field(default_factory=list)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a gradient request."""
    check_members(request, METHODS)
    with naming(_request_names(request)):
        found = _FINDERS[request["method"]](request)
    gradient = found.gradient
    percent, deg = float(gradient.gradient_percent), float(gradient.gradient_deg)
    spacing_m, spacing_mm = _spacing(request, float(gradient.gradient))
    answer = {
        "method": request["method"],
        "rise_m": gradient.rise_m,
        "ground_m": gradient.ground_m,
        "slope_m": gradient.slope_m,
        "gradient_percent": percent,
        "gradient_sd_percent": 100.0 * gradient.gradient_sd if found.sd_known else None,
        "gradient_deg": deg,
        "gradient_sd_deg": gradient.gradient_deg_sd if found.sd_known else None,
        "gradient_mil": gradient.gradient_mil,
        "run_per_rise": None if gradient.level else gradient.run_per_rise,
        "spacing_m": spacing_m,
        "spacing_mm": spacing_mm,
        "steepest": None if found.steepest is None else _steepest(found.steepest),
        "cautions": _cautions(request, found),
    }
    if request["working"]:
        answer["working"] = [*found.steps, *_working(answer)]
    return answer


def _request_names(request: dict[str, Any]) -> dict[str, str]:
    """For `naming`: what the request calls the quantities of the mathematics."""
    lengths = ("ground_m", "map_mm", "spacing_mm", "crossings")
    rises = ("rise_m", "contours", "contour_interval_m", "crossings")
    return {
        "crossing_mm": "crossings",
        "crossing_sd_mm": "map_sd_mm",
        "ground_m": next((name for name in lengths if name in request), "ground_m"),
        "ground_sd_m": "ground_sd_m" if "ground_sd_m" in request else "map_sd_mm",
        "interval_m": "contour_interval_m",
        "rise_m": next((name for name in rises if name in request), "rise_m"),
        "spacing_sd_mm": "map_sd_mm",
    }


def _by_rise(request: dict[str, Any]) -> Found:
    rise_m, rise_sd_m, rise_step = _rise(request)
    ground_m, ground_sd_m, ground_step = _ground(request)
    gradient = gradient_between(
        rise_m, ground_m, rise_sd_m=0.0 if rise_sd_m is None else rise_sd_m, ground_sd_m=ground_sd_m
    )
    defaults = (
        {"map_sd_mm": READING}
        if "map_mm" in request
        else {"ground_sd_m": f"{100 * PACED_SD_RATIO:g} per cent of the length, as paced"}
    )
    if rise_sd_m is not None:
        defaults["rise_sd_m"] = f"{worked(rise_sd_m)} m for the rise, by the contour interval"
    hidden_m = request["contour_interval_m"] if "contours" in request else None
    return Found(
        gradient,
        sd_known=rise_sd_m is not None,
        hidden_m=hidden_m,
        default_sds={} if rise_sd_m is None else defaults,
        steps=[*rise_step, *ground_step],
    )


def _rise(request: dict[str, Any]) -> tuple[float, float | None, list[str]]:
    """The rise, its standard deviation where it is known, and the step to it. [metre]"""
    _just_one(request, "rise_m", "contours")
    interval_m = request.get("contour_interval_m")
    by_interval_sd_m = None if interval_m is None else float(rise_from_contours(0.0, interval_m)[1])
    sd_m = request.get("rise_sd_m", by_interval_sd_m)
    if "rise_m" in request:
        return request["rise_m"], sd_m, []
    if interval_m is None:
        raise _missing("contours are counted", "contour_interval_m")
    rise_m = float(rise_from_contours(request["contours"], interval_m)[0])
    step = (
        f"{as_given(request['contours'])} contours x {as_given(interval_m)} m = {as_given(rise_m)} m of rise"
    )
    return rise_m, sd_m, [step]


def _ground(request: dict[str, Any]) -> tuple[float, float, list[str]]:
    """The horizontal length, its standard deviation, and the step to it. [metre]"""
    _just_one(request, "ground_m", "map_mm")
    own, other = ("ground_sd_m", "map_sd_mm") if "ground_m" in request else ("map_sd_mm", "ground_sd_m")
    if other in request:
        raise MembersConflictError(
            f"{other} is of a length that is not given", member=other, value=request[other], allowed=own
        )
    if "ground_m" in request:
        ground_m = request["ground_m"]
        return ground_m, request.get("ground_sd_m", PACED_SD_RATIO * ground_m), []
    if "scale" not in request:
        raise _missing("a length on the map is given", "scale")
    metres_per_mm = request["scale"] / 1000.0
    ground_m = request["map_mm"] * metres_per_mm
    step = f"{as_given(request['map_mm'])} mm x {as_given(request['scale'])} / 1000 = {worked(ground_m)} m on the ground"
    return ground_m, request.get("map_sd_mm", MAP_READING_SD_MM) * metres_per_mm, [step]


def _by_spacing(request: dict[str, Any]) -> Found:
    interval_m, spacing_mm, scale = request["contour_interval_m"], request["spacing_mm"], request["scale"]
    gradient = gradient_from_spacing(
        interval_m, spacing_mm, scale, spacing_sd_mm=request.get("map_sd_mm", MAP_READING_SD_MM)
    )
    step = f"{as_given(spacing_mm)} mm x {as_given(scale)} / 1000 = {worked(float(gradient.ground_m))} m on the ground"
    return Found(gradient, hidden_m=interval_m, default_sds={"map_sd_mm": READING}, steps=[step])


def _by_crossings(request: dict[str, Any]) -> Found:
    map_mm, height_m = (
        np.array([crossing[name] for crossing in request["crossings"]]) for name in ("map_mm", "height_m")
    )
    scale, sd_mm = request["scale"], request.get("map_sd_mm", MAP_READING_SD_MM)
    place = steepest_place(map_mm, height_m, scale, crossing_sd_mm=sd_mm)
    ground_m = (map_mm[-1] - map_mm[0]) * scale / 1000.0
    gradient = gradient_between(
        height_m[-1] - height_m[0],
        ground_m,
        rise_sd_m=0.0,
        ground_sd_m=math.sqrt(2.0) * sd_mm * scale / 1000.0,
    )
    rise_m = float(np.diff(height_m)[place.stretch])
    length_m = (place.to_mm - place.from_mm) * scale / 1000.0
    step = (
        f"steepest from {as_given(float(place.from_mm))} to {as_given(float(place.to_mm))} mm: {as_given(rise_m)} m / "
        f"{worked(float(length_m))} m x 100 = {worked(100.0 * float(place.gradient))} per cent"
    )
    hidden_m = float(np.max(np.abs(np.diff(height_m)))) or None
    return Found(
        gradient, steepest=place, hidden_m=hidden_m, default_sds={"map_sd_mm": READING}, steps=[step]
    )


_FINDERS: dict[str, Callable[[dict[str, Any]], Found]] = {
    "rise": _by_rise,
    "spacing": _by_spacing,
    "crossings": _by_crossings,
}


def _just_one(request: dict[str, Any], first: str, second: str) -> None:
    if first in request and second in request:
        raise MembersConflictError(
            f"the same is given as {first} and {second}",
            member=second,
            value=request[second],
            allowed="one of the two",
        )
    if first not in request and second not in request:
        raise _missing(f"no {second} is given", first)


def _missing(where: str, member: str) -> MembersMissingError:
    return MembersMissingError(f"where {where}, {member} is needed", member=member, allowed=member)


def _spacing(request: dict[str, Any], gradient: float) -> tuple[float | None, float | None]:
    """How far apart contours lie for the gradient, on the ground [metre] and on the map [millimetre]."""
    interval_m, scale = request.get("contour_interval_m"), request.get("scale")
    if interval_m is None or not FLATTEST_GRADIENT <= abs(gradient) <= STEEPEST_GRADIENT:
        return None, None
    spacing = contour_spacing(interval_m, gradient, 1.0 if scale is None else scale)
    return float(spacing.ground_m), None if scale is None else float(spacing.map_mm)


def _steepest(place: SteepestPlace) -> dict[str, Any]:
    return {
        "from_mm": place.from_mm,
        "to_mm": place.to_mm,
        "gradient_percent": 100.0 * place.gradient,
        "gradient_sd_percent": 100.0 * place.gradient_sd,
        "gradient_deg": np.degrees(np.arctan(place.gradient)),
    }


def _cautions(request: dict[str, Any], found: Found) -> list[Caution]:
    cautions = default_sd_cautions(request, found.default_sds)
    if found.hidden_m is not None:
        message = (
            f"Between contours {as_given(found.hidden_m)} m apart in height a drop or a bluff need not show: the slope can "
            "be steeper in between."
        )
        cautions.append(caution("contours_hide", message))
    return [*cautions, *_weak(found)]


def _weak(found: Found) -> list[Caution]:
    """What is to be said of the gradient, or else of the steepest place, where it is not known well."""
    weak: list[Caution] = []
    for what, part in (("gradient", found.gradient), ("gradient of the steepest place", found.steepest)):
        if part is not None and found.sd_known and not weak:
            percent, sd = 100.0 * float(part.gradient), 100.0 * float(part.gradient_sd)
            weak = weak_cautions(what, percent, sd, "per cent")
    return weak


def _working(answer: dict[str, Any]) -> list[str]:
    percent, deg = worked(answer["gradient_percent"]), worked(answer["gradient_deg"])
    steps = [
        f"{as_given(float(answer['rise_m']))} m / {worked(float(answer['ground_m']))} m x 100 = {percent} per cent, "
        f"{deg} degrees"
    ]
    if answer["run_per_rise"] is not None:
        level = float(answer["run_per_rise"])
        falling = ", falling" if level < 0.0 else ""
        steps.append(f"100 / {percent.removeprefix('-')} = 1 in {worked(abs(level))}{falling}")
    if answer["spacing_mm"] is not None:
        steps.append(
            f"contours for it lie {worked(answer['spacing_m'])} m apart, {worked(answer['spacing_mm'])} mm on the map"
        )
    if answer["gradient_sd_percent"] is not None:
        steps.append(
            f"give or take {worked(float(answer['gradient_sd_percent']))} per cent, one standard deviation"
        )
    return steps
