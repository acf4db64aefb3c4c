"""Checks: a reported position or bearing against what was expected, and which common slip explains a miss."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any, Unpack

from .angle_sources import AnglesFrom, angle_members
from .answers import AnglesUsed, Caution, MagneticModel, North, Unit
from .caller import Operations
from .place_options import PlaceOptions
from .places import PositionInput, ReadPlace
from .search_areas import LineInput, line_json
from .to_json import DateInput, given, position_json

__all__ = ["CheckOperations", "CheckSlip", "CheckedReport"]


@dataclass(frozen=True, slots=True)
class CheckSlip:
    """A common slip that would explain a report: ``slip`` is its code, ``without_slip`` what it would have been without.

    ``distance_m`` is what a position would then miss by and ``None`` of a bearing, ``difference_deg`` the other way round.
    """

    slip: str
    explanation: str
    without_slip: str
    distance_m: float | None
    difference_deg: float | None


@dataclass(frozen=True, slots=True)
class CheckedReport:
    """The verdict on a report: ``right``, ``wrong``, ``undecided``, ``too_coarse`` or ``unreadable``. [metre], [degree]

    ``reason`` says it in words, and ``fault`` is the code of what cannot be read. ``true_azimuth_deg`` leads from the place
    expected to the one reported; ``difference_deg`` is the bearing reported less the one expected. ``left_open_m`` and
    ``left_open_deg`` say how far these may be off. ``within_tolerance``, ``within_area`` and ``on_sheet`` are ``None`` where
    that is undecided; all that was not demanded is ``None``. Of the ``slips`` that explain a wrong report ``slip`` is the
    likeliest, and none was corrected. ``slip_chance`` is how likely some slip fits a bearing that is any at all.
    """

    verdict: str
    reason: str
    fault: str | None
    distance_m: float | None
    true_azimuth_deg: float | None
    left_open_m: float | None
    within_tolerance: bool | None
    within_area: bool | None
    outside_area_m: float | None
    on_sheet: bool | None
    outside_sheet_m: float | None
    precision_met: bool | None
    difference_deg: float | None
    expected_azimuth_deg: float | None
    left_open_deg: float | None
    slip: str | None
    slip_in_doubt: bool
    slip_chance: float | None
    slips: tuple[CheckSlip, ...]
    reported: ReadPlace | None
    expected: ReadPlace | None
    angles: AnglesUsed | None
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class CheckOperations(Operations):
    """``client.checks``"""

    def check(
        self,
        reported: PositionInput | None = None,
        expected: PositionInput | None = None,
        tolerance_m: float | None = None,
        *,
        area: LineInput | None = None,
        digits: int | None = None,
        resolution_m: float | None = None,
        reported_bearing: float | str | None = None,
        expected_bearing: float | str | None = None,
        expected_from: PositionInput | None = None,
        expected_to: PositionInput | None = None,
        tolerance_deg: float | None = None,
        north: North | None = None,
        unit: Unit | None = None,
        expected_north: North | None = None,
        expected_unit: Unit | None = None,
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
    ) -> CheckedReport:
        """Hold a report against what was expected of it.

        A position, ``reported``, is held against any of these: ``expected`` within ``tolerance_m``; an ``area``, positions
        around it or a GeoJSON Polygon; the edges of the ``sheet``; and the precision demanded, ``digits`` a side of a grid
        reference or ``resolution_m`` at most. A ``reported_bearing`` from ``north`` is held against ``expected_bearing``, or
        the bearing from ``expected_from`` to ``expected_to``, within ``tolerance_deg``; the angles between the norths come
        from the sources of `BearingOperations.convert`. A report that cannot be read has a verdict and raises nothing.

        Raises `NoAnswerError`: ``members_missing``, ``members_conflict``, ``coincident_points``, ``unusable_shape``, those of
        `BearingOperations.convert`, or any that `PositionOperations.read` has for the place expected.
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
        members = given(
            reported=_position(reported, "reported"),
            expected=_position(expected, "expected"),
            tolerance_m=tolerance_m,
            area=None if area is None else line_json(area, "area"),
            digits=digits,
            resolution_m=resolution_m,
            reported_bearing=reported_bearing,
            expected_bearing=expected_bearing,
            expected_from=_position(expected_from, "expected_from"),
            expected_to=_position(expected_to, "expected_to"),
            tolerance_deg=tolerance_deg,
            north=north,
            unit=unit,
            expected_north=expected_north,
            expected_unit=expected_unit,
            working=working,
            **angles,
        )
        return self._ask(CheckedReport, "checks", members)


def _position(position: PositionInput | None, member: str) -> str | dict[str, Any] | None:
    return None if position is None else position_json(position, member)
