"""Resections: the observer's own place from bearings to known marks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Unpack

from .answers import North, Unit
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .sights import Fix, SightTo, sight_members
from .to_json import DateInput, given

__all__ = ["ResectionOperations"]


class ResectionOperations(Operations):
    """``client.resections``"""

    def fix(
        self,
        sights: Sequence[SightTo],
        north: North,
        unit: Unit | None = None,
        date: DateInput | None = None,
        sd_deg: float | None = None,
        solve_compass_error: bool | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Fix:
        """The observer's own place from bearings to known marks; magnetic bearings need a ``date``.

        ``sd_deg`` is the standard deviation of every sight that names none. [degree] With ``solve_compass_error`` an error
        common to all the readings is found as well, which needs three sights, well spread.

        Raises `NoAnswerError`: ``danger_circle``, ``compass_error_unsolvable``, and those of
        `IntersectionOperations.fix`; its ``sights`` say which ones are at fault.
        """
        members = given(
            sights=sight_members(sights, "to"),
            north=north,
            unit=unit,
            date=date,
            sd_deg=sd_deg,
            solve_compass_error=solve_compass_error,
            working=working,
            **place_members(places),
        )
        return self._ask(Fix, "resections", members)
