"""Bearings: one direction from true, grid and magnetic north, in every division of the circle."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Unpack

from .angle_sources import AnglesFrom, angle_members
from .answers import AnglesUsed, Azimuth, Caution, MagneticModel, North, Unit
from .caller import Operations
from .place_options import PlaceOptions
from .places import PositionInput
from .to_json import DateInput, given

__all__ = ["Bearing", "BearingOperations"]


@dataclass(frozen=True, slots=True)
class Bearing:
    """One direction from each north; ``None`` from a north that the angles known do not reach.

    ``declination_sd_deg`` is ``None`` where no model was used, and ``date`` where none was given. [degree]
    """

    true: Azimuth | None
    grid: Azimuth | None
    magnetic: Azimuth | None
    angles: AnglesUsed
    declination_sd_deg: float | None
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class BearingOperations(Operations):
    """``client.bearings``"""

    def convert(
        self,
        bearing: float | str,
        north: North,
        unit: Unit | None = None,
        *,
        position: PositionInput | None = None,
        date: DateInput | None = None,
        height_m: float | None = None,
        model: MagneticModel | None = None,
        declination_deg: float | None = None,
        convergence_deg: float | None = None,
        grid_magnetic_angle_deg: float | None = None,
        angles_from: AnglesFrom | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Bearing:
        """Turn a bearing between the norths and into every notation.

        ``bearing`` is a number in ``unit`` (by the service's default degrees), clockwise from ``north``, or a text such
        as ``"45 30 15"`` or ``"N 45 E"``, always in degrees. The angles between the norths, east positive, come from just
        one source: ``position`` with ``date``, the angles themselves, or a ``sheet``, whose printed angle is
        carried to ``date``; ``angles_from`` decides between a position and a sheet. How the position is read is said as to
        `PositionOperations.read`.

        Raises `NoAnswerError`: ``angles_missing``, ``inconsistent_angles``, ``unreadable_bearing``,
        ``date_outside_model``, or any that `PositionOperations.read` has for the position.
        """
        angles = angle_members(
            position,
            date,
            height_m,
            model,
            declination_deg,
            convergence_deg,
            grid_magnetic_angle_deg,
            angles_from,
            places,
        )
        members = given(bearing=bearing, north=north, unit=unit, working=working, **angles)
        return self._ask(Bearing, "bearings", members)
