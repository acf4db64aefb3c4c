"""The steps of a line of sight as an instructor writes them on a board."""

from __future__ import annotations

from typing import Any

from ..navmath.angle import FloatArray
from ..navmath.estimates.terrain_profile import curvature_and_refraction_m
from .estimates import as_given, worked

__all__ = ["sight_line_working"]


def sight_line_working(
    distance_m: FloatArray, height_m: FloatArray, request: dict[str, Any], answer: dict[str, Any]
) -> list[str]:
    """The steps from the profile, as the request gives it, to the clearance at the obstruction of the answer."""
    eye_m, target_m = (
        float(height_m[end]) + request[name]
        for end, name in ((0, "observer_height_m"), (-1, "target_height_m"))
    )
    length_m, place_m, ground_m = (
        float(value)
        for value in (distance_m[-1], answer["obstruction_distance_m"], answer["obstruction_height_m"])
    )
    bend = {"refraction_k": request["refraction_k"], "radius_m": answer["radius_m"]}
    end_m, there_m = (float(curvature_and_refraction_m(value, **bend)) for value in (length_m, place_m))
    low_target_m, low_ground_m = target_m - end_m, ground_m - there_m
    line_m = eye_m + (low_target_m - eye_m) * place_m / length_m
    return [
        f"eye at {as_given(float(height_m[0]))} + {as_given(request['observer_height_m'])} = {as_given(eye_m)} m; target at "
        f"{as_given(float(height_m[-1]))} + {as_given(request['target_height_m'])} = {as_given(target_m)} m",
        f"curvature less refraction, (1 - {as_given(request['refraction_k'])}) d^2 / (2 x {answer['radius_m']:.0f}), "
        f"lowers the target by {worked(end_m)} m to {worked(low_target_m)}, the ground at {as_given(place_m)} m by "
        f"{worked(there_m)} m to {worked(low_ground_m)}",
        f"the line there: {as_given(eye_m)} + ({worked(low_target_m)} - {as_given(eye_m)}) x {as_given(place_m)} / "
        f"{as_given(length_m)} = {worked(line_m)} m",
        f"clearance: {worked(line_m)} - {worked(low_ground_m)} = {worked(line_m - low_ground_m)} m, give or take "
        f"{worked(float(answer['clearance_sd_m']))} m, one standard deviation",
    ]
