"""Compass checks: a compass's own error from readings on known directions."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Unpack

from .angle_sources import AnglesFrom, angle_members
from .answers import AnglesUsed, Caution, MagneticModel, North, Unit
from .caller import Operations
from .errors import ArgumentError
from .place_options import PlaceOptions
from .places import PositionInput
from .sky_bearings import SkyBody, SkyPart
from .to_json import DateInput, MomentInput, given, moment_json, position_json

__all__ = [
    "CheckedReading",
    "CompassCheck",
    "CompassCheckOperations",
    "CompassError",
    "Deviation",
    "KnownReading",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownReading:
    """What a compass read, and the direction that it should have been, told in one of three ways. [degree]

    ``known_azimuth`` is the direction itself, ``to`` a mark whose place is known, ``body`` the sun, the moon or Polaris at
    ``moment``, by its ``part``. Never look at the sun: take the ``"shadow"`` of a plumb line.
    """

    reading: float | str
    known_azimuth: float | str | None = None
    to: PositionInput | None = None
    body: SkyBody | None = None
    moment: MomentInput | None = None
    part: SkyPart | None = None
    reading_sd_deg: float | None = None
    known_sd_deg: float | None = None


@dataclass(frozen=True, slots=True)
class CompassError:
    """The error that readings have in common, as in `CompassCheck`. [degree]"""

    error_deg: float
    error_sd_deg: float
    found: bool
    variance_factor: float | None
    agree: bool | None


@dataclass(frozen=True, slots=True)
class CheckedReading:
    """One reading from the compass's north, what it should have been, and its error less that of all. [degree]"""

    reading_deg: float
    known_azimuth_deg: float
    sd_deg: float
    error_deg: float
    residual_deg: float


@dataclass(frozen=True, slots=True)
class DeviationRow:
    """The compass's error at a reading: subtract it from the reading. [degree]"""

    reading_deg: float
    error_deg: float
    error_sd_deg: float


@dataclass(frozen=True, slots=True)
class Deviation:
    """The error by the direction: constant + sine x sin(reading) + cosine x cos(reading). [degree]

    ``found`` says whether it changes with the direction by more than chance; ``table`` has it at eight readings.
    """

    constant_deg: float
    sine_deg: float
    cosine_deg: float
    constant_sd_deg: float
    sine_sd_deg: float
    cosine_sd_deg: float
    found: bool
    table: tuple[DeviationRow, ...]


@dataclass(frozen=True, slots=True)
class CompassCheck:
    """What readings tell of a compass. [degree]

    ``error_deg`` is reading less correct direction: subtract it from a reading. ``found`` says whether that differs from no
    error, ``agree`` whether chance explains the residuals. ``suspect`` is the index of the reading that most likely is a
    blunder, and ``without_suspect`` the error without it. ``deviation`` is ``None`` where the readings are too few or in one
    part of the horizon.
    """

    error_deg: float
    error_sd_deg: float
    found: bool
    variance_factor: float | None
    agree: bool | None
    readings: tuple[CheckedReading, ...]
    suspect: int | None
    without_suspect: CompassError | None
    deviation: Deviation | None
    angles: AnglesUsed
    shared_sd_deg: float
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class CompassCheckOperations(Operations):
    """``client.compass_checks``"""

    def find(
        self,
        readings: Sequence[KnownReading],
        north: North,
        unit: Unit | None = None,
        *,
        known_north: North | None = None,
        position: PositionInput | None = None,
        date: DateInput | None = None,
        height_m: float | None = None,
        model: MagneticModel | None = None,
        declination_deg: float | None = None,
        convergence_deg: float | None = None,
        grid_magnetic_angle_deg: float | None = None,
        angles_from: AnglesFrom | None = None,
        reading_sd_deg: float | None = None,
        shared_sd_deg: float | None = None,
        watch_sd_s: float | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> CompassCheck:
        """The compass's error from readings from ``north``, on directions known from ``known_north`` or by ``position``.

        Marks and bodies are sighted from ``position``. The angles between the norths come from the same sources as those of
        `BearingOperations.convert`; with a body no ``date`` is needed. [degree], [second]

        Raises `NoAnswerError`: ``members_missing``, ``members_conflict``, ``coincident_points``, ``out_of_range``, and those
        of `BearingOperations.convert`.
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
            readings=[_reading_json(reading, index) for index, reading in enumerate(readings)],
            north=north,
            unit=unit,
            known_north=known_north,
            reading_sd_deg=reading_sd_deg,
            shared_sd_deg=shared_sd_deg,
            watch_sd_s=watch_sd_s,
            working=working,
            **angles,
        )
        return self._ask(CompassCheck, "compass-checks", members)


def _reading_json(reading: KnownReading, index: int) -> dict[str, Any]:
    where = f"readings[{index}]"
    if not isinstance(reading, KnownReading):
        raise ArgumentError(f"{where} is no KnownReading but {reading!r:.100}")
    return given(
        reading=reading.reading,
        known_azimuth=reading.known_azimuth,
        to=None if reading.to is None else position_json(reading.to, f"{where}.to"),
        body=reading.body,
        moment=None if reading.moment is None else moment_json(reading.moment, f"{where}.moment"),
        part=reading.part,
        reading_sd_deg=reading.reading_sd_deg,
        known_sd_deg=reading.known_sd_deg,
    )
