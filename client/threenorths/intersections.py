"""Intersections: an unknown place from bearings taken at known places."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Unpack

from .answers import North, Unit
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .sights import Fix, SightFrom, sight_members
from .to_json import DateInput, given

__all__ = ["IntersectionOperations"]


class IntersectionOperations(Operations):
    """``client.intersections``"""

    def fix(
        self,
        sights: Sequence[SightFrom],
        north: North,
        unit: Unit | None = None,
        date: DateInput | None = None,
        sd_deg: float | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Fix:
        """The place that bearings from known places cross at; magnetic bearings need a ``date``.

        ``sd_deg`` is the standard deviation of every sight that names none. [degree]

        Raises `NoAnswerError`: ``parallel_sights``, ``sights_cross_behind``, ``coincident_points``, ``no_solution``,
        ``too_few_sights``, and those of `RayOperations.follow`; its ``sights`` say which ones are at fault.
        """
        members = given(
            sights=sight_members(sights, "from"),
            north=north,
            unit=unit,
            date=date,
            sd_deg=sd_deg,
            working=working,
            **place_members(places),
        )
        return self._ask(Fix, "intersections", members)
