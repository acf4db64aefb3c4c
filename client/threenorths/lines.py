"""Lines: direction and distance between two places."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Unpack

from .answers import Caution
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import PositionInput, ReadPlace
from .to_json import DateInput, given, position_json

__all__ = ["Line", "LineOperations"]


@dataclass(frozen=True, slots=True)
class Line:
    """The line between two places, from each north at both ends. [metre], [degree]

    Back azimuths are from the north at the far end. The grid members are those of the straight line on the map, in
    the grid zone of the beginning, and ``None`` beyond its reach; the magnetic ones are ``None`` without a date.
    """

    distance_m: float
    true_azimuth_deg: float
    true_back_azimuth_deg: float
    grid_azimuth_deg: float | None
    grid_back_azimuth_deg: float | None
    grid_distance_m: float | None
    mean_scale_factor: float | None
    magnetic_azimuth_deg: float | None
    magnetic_back_azimuth_deg: float | None
    date: datetime.date | None
    from_: ReadPlace
    to: ReadPlace
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class LineOperations(Operations):
    """``client.lines``"""

    def between(
        self,
        from_: PositionInput,
        to: PositionInput,
        date: DateInput | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Line:
        """Direction and distance from one place to another; magnetic directions with a ``date``.

        Distances are level, not along the ground's ups and downs.

        Raises `NoAnswerError`: ``coincident_points``, ``date_outside_model``, or any that `PositionOperations.read` has
        for a position.
        """
        members = given(
            from_=position_json(from_, "from_"),
            to=position_json(to, "to"),
            date=date,
            working=working,
            **place_members(places),
        )
        return self._ask(Line, "lines", members)
