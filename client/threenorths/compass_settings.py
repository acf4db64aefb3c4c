"""Compass settings: clicks of a bezel, the reading to follow, and orienting the map."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Unpack

from .angle_sources import AnglesFrom, angle_members
from .answers import AnglesUsed, Caution, MagneticModel, North, Unit
from .caller import Operations
from .place_options import PlaceOptions
from .places import PositionInput
from .to_json import DateInput, given

__all__ = ["CompassSetting", "CompassSettingOperations", "Setting", "Turn"]


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn of the bezel from its index: ``clockwise``, ``counterclockwise`` or ``none``."""

    clicks: int
    turn: str


@dataclass(frozen=True, slots=True)
class Setting(Turn):
    """A setting and how far it misses: the angle set less the angle wanted, and what that does in a kilometre."""

    set_deg: float
    residual_deg: float
    #: How far the line followed lies off the line wanted after a kilometre, right positive. [m/km]
    off_line_m_per_km: float


@dataclass(frozen=True, slots=True)
class CompassSetting(Setting):
    """The nearest setting, and what to do with other compasses. [degree]

    ``purpose`` is ``follow_bearing`` or ``set_off_grid_magnetic_angle``; ``other_setting`` is the click on the other side
    of the angle wanted, just as good where ``tie``. ``plain_compass_deg`` is what to follow on a compass with no bezel,
    ``adjusted_compass_deg`` on one whose declination scale is set to ``declination_scale_deg``, and
    ``map_oriented_dial_deg`` what the dial reads, its edge along a north-south grid line, when the map lies oriented.
    """

    purpose: str
    tie: bool
    other_setting: Setting
    short_way: Turn | None
    plain_compass_deg: float | None
    declination_scale_deg: float | None
    adjusted_compass_deg: float | None
    map_oriented_dial_deg: float | None
    angles: AnglesUsed
    declination_sd_deg: float | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class CompassSettingOperations(Operations):
    """``client.compass_settings``"""

    def find(
        self,
        bearing: float | str | None = None,
        north: North | None = None,
        unit: Unit | None = None,
        click_deg: float | None = None,
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
    ) -> CompassSetting:
        """The setting of a compass that follows a bearing, or without one sets off the grid-magnetic angle.

        ``click_deg`` is what one click of the bezel turns, by the service's default 3 degrees. A magnetic bearing needs
        no angles between the norths; for all else they are given as to `BearingOperations.convert`.

        Raises `NoAnswerError` as `BearingOperations.convert` does.
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
            bearing=bearing, north=north, unit=unit, click_deg=click_deg, working=working, **angles
        )
        return self._ask(CompassSetting, "compass-settings", members)
