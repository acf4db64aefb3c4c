"""Reading a request's position into a place."""

from __future__ import annotations

from typing import Any

from ..navmath.errors import (
    AmbiguousPositionError,
    NavigationError,
    OutOfRangeError,
    OutsideGridError,
    SquareNotInZoneError,
    UnreadablePositionError,
)
from ..navmath.position import Place, place_from_geodetic, place_from_text, place_from_ups, place_from_utm

__all__ = ["POSITION_ERRORS", "place_of"]

#: Errors of reading a position, for every operation that takes one.
POSITION_ERRORS = (
    AmbiguousPositionError,
    OutOfRangeError,
    OutsideGridError,
    SquareNotInZoneError,
    UnreadablePositionError,
)


def place_of(position: str | dict[str, Any], member: str, take: str = "centre") -> Place:
    """The place that a loaded `schemas.Position` names; errors name their place under ``member``."""
    try:
        if isinstance(position, str):
            return place_from_text(position, take)
        if "lat_deg" in position:
            return place_from_geodetic(position["lat_deg"], position["lon_deg"])
        south = position["hemisphere"] == "south"
        if position.get("grid") == "ups":
            return place_from_ups(south, position["easting_m"], position["northing_m"])
        return place_from_utm(position["zone"], south, position["easting_m"], position["northing_m"])
    except NavigationError as error:
        raise error.within(member) from None
