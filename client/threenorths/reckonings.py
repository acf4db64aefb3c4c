"""Reckonings: where a walk of legs leads, and how it closes on a known end."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Unpack

from .answers import Caution, North, Unit
from .caller import Operations
from .errors import ArgumentError
from .place_options import PlaceOptions, place_members
from .places import Position, PositionInput, ReadPlace
from .sights import Covariance, Ellipse
from .to_json import DateInput, given, position_json

__all__ = ["Closure", "Leg", "Reckoning", "ReckoningOperations"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One leg: its bearing, and its length in one way, a distance, paces or a time. [metre], [minute], [km/h], [per cent]

    With ``back`` the bearing was read at the leg's end, looking back. ``gradient_percent``, uphill positive, says that the
    length is along the slope.
    """

    bearing: float | str
    distance_m: float | None = None
    paces: float | None = None
    time_min: float | None = None
    speed_km_per_h: float | None = None
    gradient_percent: float | None = None
    back: bool | None = None
    heading_sd_deg: float | None = None
    length_sd_ratio: float | None = None


@dataclass(frozen=True, slots=True)
class LegReckoned:
    """One leg, with the turning point at its end and how well that is known. [degree], [metre]"""

    lat_deg: float
    lon_deg: float
    true_azimuth_deg: float
    length_m: float
    walked_m: float
    covariance_m2: Covariance
    ellipse: Ellipse
    along_track_sd_m: float
    cross_track_sd_m: float
    drift_m_per_km: float
    to_start_m: float
    to_start_true_azimuth_deg: float | None
    to_start_magnetic_azimuth_deg: float | None


@dataclass(frozen=True, slots=True)
class Misclosure:
    """From the known end to where the legs lead; ``explained`` where the stated errors make it likely. [metre], [degree]"""

    distance_m: float
    north_m: float
    east_m: float
    true_azimuth_deg: float | None
    one_in: float | None
    chi_square: float
    explained: bool


@dataclass(frozen=True, slots=True)
class Explanation:
    """The one compass error and the one error of all lengths that would explain the whole misclosure. [degree]"""

    compass_error_deg: float
    compass_error_sd_deg: float
    compass_error_credible: bool
    length_error_ratio: float
    length_error_sd_ratio: float
    length_error_credible: bool


@dataclass(frozen=True, slots=True)
class AdjustedPlace:
    """The start or a turning point, adjusted. [degree]"""

    lat_deg: float
    lon_deg: float
    ellipse: Ellipse


@dataclass(frozen=True, slots=True)
class Closure:
    """A walk closed on its known end: ``adjusted`` by the compass rule, ``best`` by least squares. [degree], [metre]"""

    loop: bool
    misclosure: Misclosure
    explanation: Explanation | None
    adjusted: tuple[AdjustedPlace, ...]
    best: tuple[AdjustedPlace, ...]
    corrected_bearings_deg: tuple[float | None, ...]
    corrected_lengths_m: tuple[float, ...]
    variance_factor: float


@dataclass(frozen=True, slots=True)
class Reckoning:
    """Where a walk leads and how well that is known; ``closure`` is ``None`` without a known end. [metre]"""

    start: ReadPlace
    position: Position
    walked_m: float
    legs: tuple[LegReckoned, ...]
    closure: Closure | None
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class ReckoningOperations(Operations):
    """``client.reckonings``"""

    def walk(
        self,
        start: PositionInput,
        legs: Sequence[Leg],
        north: North,
        unit: Unit | None = None,
        date: DateInput | None = None,
        *,
        end: PositionInput | None = None,
        start_sd_m: float | None = None,
        end_sd_m: float | None = None,
        paces_per_100_m: float | None = None,
        speed_km_per_h: float | None = None,
        heading_sd_deg: float | None = None,
        compass_sd_deg: float | None = None,
        length_sd_ratio: float | None = None,
        scale_sd_ratio: float | None = None,
        timed_length_sd_ratio: float | None = None,
        timed_scale_sd_ratio: float | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> Reckoning:
        """Where the legs lead from the start; with a known ``end``, how the walk closes on it.

        Standard deviations are of each leg by itself (``heading_sd_deg``, ``length_sd_ratio``) and of what all legs share
        (``compass_sd_deg``, ``scale_sd_ratio``). [degree], [metre], [km/h]

        Raises `NoAnswerError`: ``no_legs``, ``lengths_missing``, ``lengths_conflict``, ``walk_unclosable``, and those of
        `RayOperations.follow`.
        """
        members = given(
            start=position_json(start, "start"),
            legs=[_leg_json(leg, index) for index, leg in enumerate(legs)],
            north=north,
            unit=unit,
            date=date,
            end=None if end is None else position_json(end, "end"),
            start_sd_m=start_sd_m,
            end_sd_m=end_sd_m,
            paces_per_100_m=paces_per_100_m,
            speed_km_per_h=speed_km_per_h,
            heading_sd_deg=heading_sd_deg,
            compass_sd_deg=compass_sd_deg,
            length_sd_ratio=length_sd_ratio,
            scale_sd_ratio=scale_sd_ratio,
            timed_length_sd_ratio=timed_length_sd_ratio,
            timed_scale_sd_ratio=timed_scale_sd_ratio,
            working=working,
            **place_members(places),
        )
        return self._ask(Reckoning, "reckonings", members)


def _leg_json(leg: Leg, index: int) -> dict[str, object]:
    if not isinstance(leg, Leg):
        raise ArgumentError(f"legs[{index}] is no Leg but {leg!r:.100}")
    return given(**asdict(leg))
