"""Rays: the place at the end of a bearing and a distance."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Unpack

from .answers import Caution, North, Unit
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import Position, PositionInput, ReadPlace
from .to_json import DateInput, given, position_json

__all__ = ["Ray", "RayOperations"]


@dataclass(frozen=True, slots=True)
class Ray:
    """The place at the end of a ray, and the ray's true azimuths at both ends. [degree], [metre]"""

    position: Position
    from_: ReadPlace
    true_azimuth_deg: float
    true_back_azimuth_deg: float
    distance_m: float
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class RayOperations(Operations):
    """``client.rays``"""

    def follow(
        self,
        from_: PositionInput,
        bearing: float | str,
        north: North,
        distance_m: float,
        unit: Unit | None = None,
        date: DateInput | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Ray:
        """Follow a bearing from a place for a level distance; a magnetic bearing needs a ``date``.

        ``bearing`` is as in `BearingOperations.convert`. A grid bearing is that of the straight line on the map.

        Raises `NoAnswerError`: ``angles_missing``, ``unreadable_bearing``, ``date_outside_model``, or any that
        `PositionOperations.read` has for the position.
        """
        members = given(
            from_=position_json(from_, "from_"),
            bearing=bearing,
            north=north,
            distance_m=distance_m,
            unit=unit,
            date=date,
            working=working,
            **place_members(places),
        )
        return self._ask(Ray, "rays", members)
