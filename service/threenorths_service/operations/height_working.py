"""The steps of a height as an instructor writes them on a board."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..navmath.estimates.estimate import EYE_HEIGHT_M
from ..navmath.estimates.object_height import ObjectHeight
from .estimates import as_given, worked

__all__ = ["height_working"]


def height_working(method: str, given: dict[str, Any], found: ObjectHeight) -> list[str]:
    """The steps from what was given, named as in the request and in metres, to the height found."""
    height_m, distance_m = worked(float(found.height_m)), worked(float(found.distance_m))
    spread = f"give or take {worked(float(found.height_sd_m))} m, one standard deviation"
    return [*_STEPS[method](given, height_m, distance_m), spread]


def _top(given: dict[str, Any], height_m: str, _distance_m: str) -> list[str]:
    distance, top = as_given(given["distance_m"]), _signed(given["top_deg"])
    eye, rise = given.get("eye_height_m", EYE_HEIGHT_M), given.get("base_rise_m", 0.0)
    less = "" if rise == 0.0 else f" - {_signed(rise)} m that the base lies higher"
    return [f"{distance} x tan {top} + {as_given(eye)} m to the eye{less} = {height_m} m"]


def _top_and_base(given: dict[str, Any], height_m: str, distance_m: str) -> list[str]:
    top, base = _signed(given["top_deg"]), _signed(given["base_deg"])
    if not given.get("distance_along_ground", False):
        return [f"{as_given(given['distance_m'])} x (tan {top} - tan {base}) = {height_m} m"]
    eye = as_given(given.get("eye_height_m", EYE_HEIGHT_M))
    return [
        f"{as_given(given['distance_m'])} m along the ground to a base seen at {base} degrees from {eye} m above the feet: "
        f"{distance_m} m level",
        f"{distance_m} x (tan {top} - tan {base}) = {height_m} m",
    ]


def _two_stations(given: dict[str, Any], height_m: str, distance_m: str) -> list[str]:
    near, far = _signed(given["near_top_deg"]), _signed(given["far_top_deg"])
    eye, rise = as_given(given.get("eye_height_m", EYE_HEIGHT_M)), given.get("near_above_far_m", 0.0)
    apart = as_given(given["apart_m"])
    part = f"{apart} x tan {far}" if rise == 0.0 else f"({apart} x tan {far} - {_signed(rise)})"
    return [
        f"from the nearer station: {part} / (tan {near} - tan {far}) = {distance_m} m",
        f"{distance_m} x tan {near} + {eye} m to the eye = {height_m} m",
    ]


def _two_stations_and_base(given: dict[str, Any], height_m: str, distance_m: str) -> list[str]:
    near, far = (
        f"tan {_signed(given[f'{station}_top_deg'])} - tan {_signed(given[f'{station}_base_deg'])}"
        for station in ("near", "far")
    )
    return [
        f"n = {near}, f = {far}",
        f"from the nearer station: {as_given(given['apart_m'])} x f / (n - f) = {distance_m} m",
        f"{distance_m} x n = {height_m} m",
    ]


def _shadow(given: dict[str, Any], height_m: str, _distance_m: str) -> list[str]:
    shadow, stick, own = (as_given(given[name]) for name in ("shadow_m", "stick_m", "stick_shadow_m"))
    return [f"shadow {shadow} x stick {stick} / its shadow {own} = {height_m} m"]


def _stick(given: dict[str, Any], height_m: str, _distance_m: str) -> list[str]:
    distance, stick, near = (as_given(given[name]) for name in ("distance_m", "stick_m", "stick_distance_m"))
    eye = given.get("eye_height_m", 0.0)
    if eye == 0.0:
        return [f"stick {stick} x {distance} / {near} = {height_m} m"]
    eye_m = as_given(eye)
    return [f"{eye_m} + ({stick} - {eye_m}) x {distance} / {near} = {height_m} m"]


def _signed(value: float) -> str:
    """A number within a sum: below nought in brackets."""
    return f"({as_given(value)})" if value < 0.0 else as_given(value)


_STEPS: dict[str, Callable[[dict[str, Any], str, str], list[str]]] = {
    "top": _top,
    "top_and_base": _top_and_base,
    "two_stations": _two_stations,
    "two_stations_and_base": _two_stations_and_base,
    "shadow": _shadow,
    "stick": _stick,
}
