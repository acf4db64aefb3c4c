"""Widths: how wide a river or gully is that is not crossed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .answers import Caution, Unit
from .caller import Operations
from .to_json import given

__all__ = ["WalkedAngle", "Width", "WidthMethod", "WidthOperations"]

#: How the far mark was sighted: at both ends of any base; at the end of one turned off at a right angle; or the base was
#: walked until the mark stood at a named angle.
WidthMethod = Literal["two_bearings", "offset", "walked_angle"]

#: The angle at the end of a base that was walked: 45 degrees, 63 degrees 26 minutes, 26 degrees 34 minutes.
WalkedAngle = Literal["45", "63_26", "26_34"]


@dataclass(frozen=True, slots=True)
class Width:
    """The width square to the river, from the near edge to the mark, and the distances behind it. [metre], [degree]

    ``from_start_m`` and ``from_end_m`` are the mark's distances from the ends of the base, ``crossing_angle_deg`` the
    angle between the lines at the mark. Each ``_sd_m`` is one standard deviation.
    """

    method: str
    width_m: float
    width_sd_m: float
    from_start_m: float
    from_start_sd_m: float
    from_end_m: float
    from_end_sd_m: float
    crossing_angle_deg: float
    base_m: float
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class WidthOperations(Operations):
    """``client.widths``"""

    def find(
        self,
        method: WidthMethod,
        *,
        base_m: float | None = None,
        base_paces: float | None = None,
        paces_per_100_m: float | None = None,
        base_azimuth: float | str | None = None,
        start_bearing: float | str | None = None,
        end_bearing: float | str | None = None,
        river_azimuth: float | str | None = None,
        unit: Unit | None = None,
        walked_angle: WalkedAngle | None = None,
        set_back_m: float | None = None,
        base_sd_m: float | None = None,
        bearing_sd_deg: float | None = None,
        working: bool | None = None,
    ) -> Width:
        """The width from a base along the near bank, in metres or in paces with the walker's count, and a far mark.

        Directions are numbers in ``unit`` or texts in degrees, all from any one north. ``two_bearings`` needs
        ``base_azimuth``, ``start_bearing`` and ``end_bearing``; ``offset`` the first and the last; ``walked_angle`` its
        own angle alone.

        Raises `NoAnswerError`: ``members_missing``, ``members_conflict``, ``lines_do_not_meet``, ``weak_base``,
        ``unreadable_bearing`` or ``out_of_range``.
        """
        members = given(
            method=method,
            base_m=base_m,
            base_paces=base_paces,
            paces_per_100_m=paces_per_100_m,
            base_azimuth=base_azimuth,
            start_bearing=start_bearing,
            end_bearing=end_bearing,
            river_azimuth=river_azimuth,
            unit=unit,
            walked_angle=walked_angle,
            set_back_m=set_back_m,
            base_sd_m=base_sd_m,
            bearing_sd_deg=bearing_sd_deg,
            working=working,
        )
        return self._ask(Width, "widths", members)
