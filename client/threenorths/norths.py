"""Norths: declination, convergence and the grid-magnetic angle at a place and date."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Unpack

from .answers import Caution, MagneticModel
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import PositionInput, ReadPlace
from .to_json import DateInput, given, position_json

__all__ = ["NorthOperations", "Norths"]


@dataclass(frozen=True, slots=True)
class Norths:
    """The three norths at a place. Angles east positive. [degree], [nanotesla], [metre]

    ``declination_deg`` is from true to magnetic north, with its standard deviation by the model's own report and its
    ``annual_change_deg`` a year; ``convergence_deg`` from true to grid north; ``grid_magnetic_angle_deg`` from grid to
    magnetic north. ``inclination_deg`` is the dip below the horizontal.
    """

    declination_deg: float
    declination_sd_deg: float
    convergence_deg: float
    grid_magnetic_angle_deg: float
    annual_change_deg: float
    inclination_deg: float
    horizontal_nt: float
    total_nt: float
    model: str
    date: datetime.date
    decimal_year: float
    height_m: float
    position: ReadPlace
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class NorthOperations(Operations):
    """``client.norths``"""

    def at(
        self,
        position: PositionInput,
        date: DateInput,
        height_m: float | None = None,
        model: MagneticModel | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Norths:
        """The three norths at a place on a date, ``height_m`` above the WGS 84 ellipsoid.

        Without a ``model``, WMM2025 answers for the dates that it holds for, and IGRF-14 back to 1900.

        Raises `NoAnswerError`: ``date_outside_model``, or any that `PositionOperations.read` has for the position.
        """
        members = given(
            position=position_json(position, "position"),
            date=date,
            height_m=height_m,
            model=model,
            working=working,
            **place_members(places),
        )
        return self._ask(Norths, "norths", members)
