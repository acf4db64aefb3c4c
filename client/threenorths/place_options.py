"""What every call that takes positions can be told of how to read them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from .errors import ArgumentError
from .places import PositionInput
from .sheet_given import Sheet, sheet_json
from .to_json import given, position_json

__all__ = ["PlaceOptions", "place_members"]


class PlaceOptions(TypedDict, total=False):
    """Keyword arguments of every call that takes positions."""

    #: Datum of every position that names none, by name or EPSG code; left out, the sheet's, or WGS 84.
    datum: str | None
    #: A place that the positions must be near to: it tells what a reference without its zone or square means.
    near: PositionInput | None
    #: How far from there a position may be. [metre]
    reach_m: float | None
    #: The map sheet in hand, as a `Sheet` or as the object of a request.
    sheet: Sheet | Mapping[str, Any] | None
    #: Whether a datum from which no shift is known may be taken over as it stands.
    allow_ballpark: bool | None


def place_members(options: PlaceOptions) -> dict[str, Any]:
    """The members of a request that say how its positions are read.

    Raises `ArgumentError` where an option is unknown, or is none of what it should be.
    """
    unknown = options.keys() - PlaceOptions.__annotations__.keys()
    if unknown:
        raise ArgumentError(
            f"there is no option {sorted(unknown)[0]}; use {', '.join(PlaceOptions.__annotations__)}"
        )
    near, sheet = options.get("near"), options.get("sheet")
    return given(
        datum=options.get("datum"),
        near=None if near is None else position_json(near, "near"),
        reach_m=options.get("reach_m"),
        sheet=None if sheet is None else sheet_json(sheet),
        allow_ballpark=options.get("allow_ballpark"),
    )
