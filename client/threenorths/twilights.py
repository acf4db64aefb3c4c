"""Twilights: how light a day or a night is."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Unpack

from .answers import Caution
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import PositionInput, ReadPlace
from .to_json import MomentInput, given, moment_json, position_json

__all__ = ["LightStep", "SkyEvent", "TwilightOperations", "Twilights"]


@dataclass(frozen=True, slots=True)
class SkyEvent:
    """What happens and when: ``sunrise``, ``civil_dusk``, ``moonset`` and so on."""

    event: str
    moment: datetime.datetime


@dataclass(frozen=True, slots=True)
class LightStep:
    """The light at a moment; ``moonlight``, from ``none`` to ``bright``, is ``None`` by day. [degree]"""

    moment: datetime.datetime
    sunlight: str
    sun_altitude_deg: float
    moon_altitude_deg: float
    moon_true_azimuth_deg: float
    moonlight: str | None


@dataclass(frozen=True, slots=True)
class Twilights:
    """The light over a span of hours at a place.

    A status is ``rises_or_sets``, ``up_throughout`` or ``down_throughout``; ``lightest`` and ``darkest`` go from ``daylight``
    by the twilights to ``night``. ``illuminated_fraction`` and ``moon_phase`` are of the middle of the span.
    """

    position: ReadPlace
    start: datetime.datetime
    hours: float
    sun_status: str
    moon_status: str
    lightest: str
    darkest: str
    illuminated_fraction: float
    moon_phase: str
    events: tuple[SkyEvent, ...]
    steps: tuple[LightStep, ...]
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class TwilightOperations(Operations):
    """``client.twilights``"""

    def over(
        self,
        position: PositionInput,
        start: MomentInput,
        hours: float | None = None,
        step_min: float | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Twilights:
        """The light from ``start`` on; the moments of the answer have the same offset from UTC. [hour], [minute]

        For a night exercise take noon. Raises `NoAnswerError`: ``out_of_range``, or any that `PositionOperations.read` has
        for the position.
        """
        members = given(
            position=position_json(position, "position"),
            start=moment_json(start, "start"),
            hours=hours,
            step_min=step_min,
            working=working,
            **place_members(places),
        )
        return self._ask(Twilights, "twilights", members)
