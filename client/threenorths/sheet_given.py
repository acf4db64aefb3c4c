"""Map sheets, as they are handed in to any call."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from .errors import ArgumentError
from .places import Hemisphere, PositionInput
from .to_json import given, position_json

__all__ = ["Sheet", "SheetCorners", "SheetGrid", "sheet_json"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetGrid:
    """The grid that a sheet prints: a UTM ``zone`` with its ``hemisphere``; ``grid="ups"`` with one; or an ``epsg`` code."""

    zone: int | None = None
    hemisphere: Hemisphere | None = None
    epsg: int | None = None
    grid: Literal["utm", "ups"] | None = None


@dataclass(frozen=True, slots=True)
class SheetCorners:
    """The corners of the neatline, on the sheet's own datum; two are enough, south-west and north-east."""

    south_west: PositionInput
    north_east: PositionInput
    south_east: PositionInput | None = None
    north_west: PositionInput | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A map sheet as its margin describes it; what is not printed or not needed is left out.

    ``squares`` are the letters of the 100 km squares that it prints. The printed angles are east positive; ``year`` is the
    one that they are for, 1 January 2015 being 2015.0, and ``annual_change_deg`` what the sheet says they change by in a
    year, eastward positive. [degree], [metre]
    """

    name: str | None = None
    number: str | None = None
    scale: float | str | None = None
    datum: str | None = None
    grid: SheetGrid | None = None
    corners: SheetCorners | None = None
    squares: Sequence[str] | None = None
    contour_interval_m: float | None = None
    grid_magnetic_angle_deg: float | None = None
    declination_deg: float | None = None
    convergence_deg: float | None = None
    year: float | None = None
    annual_change_deg: float | None = None


def sheet_json(sheet: Sheet | Mapping[str, Any]) -> dict[str, Any]:
    """A sheet as a request has it. Raises `ArgumentError` where it is none, or a corner is no position."""
    if isinstance(sheet, Mapping):
        return dict(sheet)
    if not isinstance(sheet, Sheet):
        raise ArgumentError(f"the sheet is no Sheet but {sheet!r:.100}")
    members = {field.name: getattr(sheet, field.name) for field in dataclasses.fields(sheet)}
    if sheet.grid is not None:
        members["grid"] = given(**dataclasses.asdict(sheet.grid))
    if sheet.corners is not None:
        corners = {
            field.name: getattr(sheet.corners, field.name) for field in dataclasses.fields(sheet.corners)
        }
        members["corners"] = {
            name: position_json(corner, f"sheet.corners.{name}")
            for name, corner in corners.items()
            if corner is not None
        }
    if sheet.squares is not None:
        members["squares"] = list(sheet.squares)
    return given(**members)
