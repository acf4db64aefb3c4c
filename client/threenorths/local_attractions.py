"""Local attractions: iron at a station, found from forward and back bearings along a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from .answers import Caution, Unit
from .caller import Operations
from .errors import ArgumentError
from .to_json import given

__all__ = ["CorrectedLeg", "LocalAttraction", "LocalAttractionOperations", "Station"]


@dataclass(frozen=True, slots=True)
class Station:
    """A station: what is read there less the correct bearing, to be subtracted. [degree]

    ``free`` is whether it is taken for free of attraction, ``affected`` whether attraction is found there. ``angle_deg`` is
    clockwise from the station before to the one after, ``None`` at the ends of an open line.
    """

    attraction_deg: float
    attraction_sd_deg: float
    free: bool
    affected: bool
    angle_deg: float | None


@dataclass(frozen=True, slots=True)
class CorrectedLeg:
    """A leg: forward less back bearing less 180, and the forward bearing freed of attraction. [degree]"""

    difference_deg: float
    agrees: bool
    corrected_deg: float
    residual_deg: float


@dataclass(frozen=True, slots=True)
class LocalAttraction:
    """What is found along a line or traverse; ``misclosure_deg`` is ``None`` of an open one. [degree]

    ``basis`` is what the corrections are carried from: ``free_stations``, ``largest_group`` or ``least_difference``.
    """

    stations: tuple[Station, ...]
    legs: tuple[CorrectedLeg, ...]
    misclosure_deg: float | None
    basis: str
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class LocalAttractionOperations(Operations):
    """``client.local_attractions``"""

    def find(
        self,
        legs: Sequence[tuple[float | str, float | str]],
        closed: bool | None = None,
        unit: Unit | None = None,
        *,
        sd_deg: float | None = None,
        working: bool | None = None,
    ) -> LocalAttraction:
        """The attraction at each station from the forward and back bearing of each leg, all from one north.

        ``closed`` says that the last leg ends where the first began.

        Raises `NoAnswerError`: ``too_few_readings``, ``unreadable_bearing`` or ``out_of_range``.
        """
        members = given(
            legs=[_leg_json(leg, index) for index, leg in enumerate(legs)],
            closed=closed,
            unit=unit,
            sd_deg=sd_deg,
            working=working,
        )
        return self._ask(LocalAttraction, "local-attractions", members)


def _leg_json(leg: tuple[float | str, float | str], index: int) -> dict[str, float | str]:
    try:
        forward, back = leg
    except (TypeError, ValueError):
        raise ArgumentError(f"legs[{index}] is no pair of forward and back but {leg!r:.100}") from None
    return {"forward": forward, "back": back}
