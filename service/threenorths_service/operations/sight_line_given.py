"""What a line of sight rests on besides its profile: how well the heights are known, and the earth's radius."""

from __future__ import annotations

from typing import Any

from ..navmath.cautions import Caution
from ..navmath.errors import MembersConflictError, MembersMissingError
from ..navmath.estimates.gradient import height_sd_from_contours
from ..navmath.estimates.terrain_profile import MEAN_RADIUS_M, radius_along_m
from .places import reader_of

__all__ = ["height_sd_m_of", "radius_m_of"]


def height_sd_m_of(request: dict[str, Any]) -> float:
    """Standard deviation of the heights, as it is said or from the contour interval. [metre]

    Raises `MembersConflictError` or `MembersMissingError`.
    """
    if "contour_interval_m" in request and "height_sd_m" in request:
        raise MembersConflictError(
            "how well the heights are known is said twice",
            member="height_sd_m",
            value=request["height_sd_m"],
            allowed="one of contour_interval_m and height_sd_m",
        )
    if "contour_interval_m" in request:
        return float(height_sd_from_contours(request["contour_interval_m"]))
    if "height_sd_m" not in request:
        raise MembersMissingError(
            "how well the heights are known is not said",
            member="contour_interval_m",
            allowed="contour_interval_m or height_sd_m, 0 to take the heights as true",
        )
    return float(request["height_sd_m"])


def radius_m_of(request: dict[str, Any]) -> tuple[float, list[Caution]]:
    """The earth's radius along the line, and what is to be said of the place that it was taken at. [metre]

    Raises `MembersConflictError`, `MembersMissingError`, or what reading a position does.
    """
    at_place = [name for name in ("position", "azimuth_deg") if name in request]
    if "radius_m" in request and at_place:
        raise MembersConflictError(
            "the radius is said twice",
            member=at_place[0],
            value=request[at_place[0]],
            allowed="a radius, or a position and an azimuth",
        )
    if not at_place:
        return float(request.get("radius_m", MEAN_RADIUS_M)), []
    for name in ("position", "azimuth_deg"):
        if name not in request:
            raise MembersMissingError(f"{at_place[0]} needs {name}", member=name, allowed=name)
    place = reader_of(request).read(request["position"], "position")
    return float(radius_along_m(place.lat_deg, request["azimuth_deg"])), list(place.cautions)
