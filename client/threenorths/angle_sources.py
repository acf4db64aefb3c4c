"""Where the angles between the norths come from: a place and a date, the angles themselves, or a map sheet."""

from __future__ import annotations

from typing import Any, Literal

from .answers import MagneticModel
from .place_options import PlaceOptions, place_members
from .places import PositionInput
from .to_json import DateInput, given, position_json

__all__ = ["AnglesFrom", "angle_members"]

#: Which angles are used where there is a position as well as a sheet that prints an angle.
AnglesFrom = Literal["model", "sheet"]


def angle_members(
    position: PositionInput | None,
    date: DateInput | None,
    height_m: float | None,
    model: MagneticModel | None,
    declination_deg: float | None,
    convergence_deg: float | None,
    grid_magnetic_angle_deg: float | None,
    angles_from: AnglesFrom | None,
    options: PlaceOptions,
) -> dict[str, Any]:
    """The members of a request that say where its angles come from."""
    return given(
        position=None if position is None else position_json(position, "position"),
        date=date,
        height_m=height_m,
        model=model,
        declination_deg=declination_deg,
        convergence_deg=convergence_deg,
        grid_magnetic_angle_deg=grid_magnetic_angle_deg,
        angles_from=angles_from,
        **place_members(options),
    )
