"""Where the angles between the norths come from: a place and a date, the angles themselves, or a map sheet."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

from .places import PositionInput
from .to_json import DateInput, given, position_json

__all__ = ["Sheet", "angle_members"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The angles between the norths as the margin of a map sheet prints them, east positive. [degree]

    ``year`` is the one that the angle is printed for, 1 January 2015 being 2015.0, and ``annual_change_deg`` what the
    sheet says it changes by in a year, eastward positive.
    """

    grid_magnetic_angle_deg: float | None = None
    declination_deg: float | None = None
    convergence_deg: float | None = None
    year: float | None = None
    annual_change_deg: float | None = None


def angle_members(
    position: PositionInput | None,
    date: DateInput | None,
    height_m: float | None,
    declination_deg: float | None,
    convergence_deg: float | None,
    grid_magnetic_angle_deg: float | None,
    sheet: Sheet | None,
) -> dict[str, Any]:
    """The members of a request that say where its angles come from."""
    return given(
        position=None if position is None else position_json(position, "position"),
        date=date,
        height_m=height_m,
        declination_deg=declination_deg,
        convergence_deg=convergence_deg,
        grid_magnetic_angle_deg=grid_magnetic_angle_deg,
        sheet=None if sheet is None else given(**dataclasses.asdict(sheet)),
    )
