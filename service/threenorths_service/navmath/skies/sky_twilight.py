"""The light of a day or a night at a place: sunrise and sunset, the twilights, the moon, and how dark it gets.

Times hold for a level horizon: hills hide the sun earlier and the valley is dark sooner. Several of an event may fall in a
day, or none; then the sun and the moon are said to be up or down throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..estimates.estimate import checked
from ..rows import IntArray, as_rows
from .sky_crossing import (
    SUN_RISES_DEG,
    Crossings,
    Scan,
    crossings,
    moon_height_deg,
    scan,
    sun_height_deg,
)
from .sky_horizon import Observers, refracted_altitude
from .sky_moonlight import moon_phase, moonlight
from .sky_time import MomentArray, moments, universal_days
from .sky_track import Track, track_of

__all__ = [
    "LONGEST_H",
    "LightStatus",
    "LightSteps",
    "SkyEvent",
    "SkyEvents",
    "SunLight",
    "Twilights",
    "twilights",
]

#: The longest span that is answered at a time. [hour]
LONGEST_H = 48.0

#: Altitudes of the sun's middle that part day, the three twilights and night: US Naval Observatory, "Rise, Set, and Twilight
#: Definitions". [degree]
_SUN_LEVELS_DEG = np.array([SUN_RISES_DEG, -6.0, -12.0, -18.0])
_MOON_LEVELS_DEG = np.zeros(1)


class SunLight(IntEnum):
    """How light it is by the sun alone. By the same definitions: in civil twilight one can work outdoors, in nautical
    twilight outlines are told apart and the horizon at sea is seen, and in astronomical twilight there is hardly any light.
    """

    DAYLIGHT = 0
    CIVIL_TWILIGHT = 1
    NAUTICAL_TWILIGHT = 2
    ASTRONOMICAL_TWILIGHT = 3
    NIGHT = 4


class SkyEvent(IntEnum):
    """What happens at a moment. A dawn is when that twilight begins in the morning, a dusk when it ends in the evening."""

    SUNRISE = 0
    CIVIL_DAWN = 1
    NAUTICAL_DAWN = 2
    ASTRONOMICAL_DAWN = 3
    SUNSET = 4
    CIVIL_DUSK = 5
    NAUTICAL_DUSK = 6
    ASTRONOMICAL_DUSK = 7
    MOONRISE = 8
    MOONSET = 9


class LightStatus(IntEnum):
    """Whether a body crosses the horizon in the span. For the sun up throughout is polar day, down throughout polar night."""

    RISES_OR_SETS = 0
    UP_THROUGHOUT = 1
    DOWN_THROUGHOUT = 2


@dataclass(frozen=True, slots=True)
class SkyEvents:
    """What happens over the rows, in the order of rows and then of time: arrays of shape (e,).

    ``row``; ``event``, of `SkyEvent`; ``moment``, UTC. A row has as many events as happen.
    """

    row: IntArray
    event: IntArray
    moment: MomentArray


@dataclass(frozen=True, slots=True)
class LightSteps:
    """The light of n rows at m even steps: arrays of shape (n, m).

    ``moment``, UTC; ``sunlight``, of `SunLight`; ``sun_altitude_deg``, ``moon_altitude_deg`` and ``moon_true_azimuth_deg`` as
    they are seen; ``moonlight``, of `sky_moonlight.Moonlight`, which says nothing by day.
    """

    moment: MomentArray
    sunlight: IntArray
    sun_altitude_deg: FloatArray
    moon_altitude_deg: FloatArray
    moon_true_azimuth_deg: FloatArray
    moonlight: IntArray


@dataclass(frozen=True, slots=True)
class Twilights:
    """The light over n rows: its events, its even steps, and of each row, shape (n,), what sums it up.

    ``sun_status`` and ``moon_status``, of `LightStatus`; ``lightest`` and ``darkest``, of `SunLight`;
    ``illuminated_fraction`` and ``phase``, an index of `sky_moonlight.PHASE_NAMES`, of the moon in the middle of the span.
    The fraction changes by up to 0.06 in 12 hours.
    """

    events: SkyEvents
    steps: LightSteps
    sun_status: IntArray
    moon_status: IntArray
    lightest: IntArray
    darkest: IntArray
    illuminated_fraction: FloatArray
    phase: IntArray


def twilights(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    start: ArrayLike,
    hours: float = 24.0,
    step_min: float = 60.0,
) -> Twilights:
    """The light at places over the same span of hours from the start of each.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        The places; they broadcast with the starts to n rows. [degree]
    start : array_like of datetime64
        UTC. For a night exercise noon, so that the evening and the morning after are in one answer.
    hours : float
        The span, over 0 to `LONGEST_H`. [hour]
    step_min : float
        Between the even steps, 1 to 1440. [minute]

    Raises
    ------
    OutOfRangeError
        A span, step or place is out of its range, or a moment before 1900 or after 2049.
    """
    span_days = float(checked("hours", hours, 1.0 / 60.0, LONGEST_H)) / 24.0
    step_days = float(checked("step_min", step_min, 1.0, 1440.0)) / 1440.0
    checked("lat_deg", lat_deg, -90.0, 90.0)
    checked("lon_deg", lon_deg, -180.0, 360.0)
    given = moments(start)
    shape = np.broadcast(lat_deg, lon_deg, given).shape
    (lat, lon, _), _shape = as_rows(lat_deg, lon_deg, np.empty(shape))
    begin = np.broadcast_to(given, shape).reshape(-1)
    moments(begin + _as_milliseconds(np.asarray(span_days)))
    observers = Observers(universal_days(begin), lat, lon, np.zeros(len(lat)))
    sun, moon = (track_of(body, observers, span_days) for body in ("sun", "moon"))
    by_sun, by_moon = scan(sun, sun_height_deg, span_days), scan(moon, moon_height_deg, span_days)
    sun_crossings = crossings(sun, sun_height_deg, by_sun, _SUN_LEVELS_DEG)
    moon_crossings = crossings(moon, moon_height_deg, by_moon, _MOON_LEVELS_DEG)
    middle = moon_phase(begin + _as_milliseconds(np.asarray(span_days / 2.0)))
    steps = np.arange(0.0, span_days + step_days / 1e6, step_days)
    return Twilights(
        events=_events(begin, sun_crossings, moon_crossings),
        steps=_light_steps(begin, sun, moon, steps, middle.illuminated_fraction),
        sun_status=_status(by_sun, SUN_RISES_DEG),
        moon_status=_status(by_moon, 0.0),
        lightest=_sunlight(by_sun.height_deg.max(axis=1)),
        darkest=_sunlight(by_sun.height_deg.min(axis=1)),
        illuminated_fraction=middle.illuminated_fraction,
        phase=middle.phase,
    )


def _events(begin: MomentArray, sun: Crossings, moon: Crossings) -> SkyEvents:
    """The crossings of both bodies as events, by row and then by time."""
    row = np.concatenate([sun.row, moon.row])
    kind = np.concatenate(
        [
            sun.level + np.where(sun.rising, SkyEvent.SUNRISE, SkyEvent.SUNSET),
            np.where(moon.rising, SkyEvent.MOONRISE, SkyEvent.MOONSET),
        ]
    )
    moment = begin[row] + _as_milliseconds(np.concatenate([sun.elapsed_days, moon.elapsed_days]))
    order = np.lexsort((moment, row))
    return SkyEvents(row[order], kind[order], moment[order])


def _light_steps(
    begin: MomentArray, sun: Track, moon: Track, steps: FloatArray, fraction: FloatArray
) -> LightSteps:
    by_sun, by_moon = sun.at_all(steps), moon.at_all(steps)
    shape = (len(begin), len(steps))
    moon_altitude = refracted_altitude(by_moon.true_altitude_deg).reshape(shape)
    return LightSteps(
        moment=begin[:, None] + _as_milliseconds(steps),
        sunlight=_sunlight(by_sun.true_altitude_deg).reshape(shape),
        sun_altitude_deg=refracted_altitude(by_sun.true_altitude_deg).reshape(shape),
        moon_altitude_deg=moon_altitude,
        moon_true_azimuth_deg=by_moon.true_azimuth_deg.reshape(shape),
        moonlight=moonlight(fraction[:, None], moon_altitude),
    )


def _status(found: Scan, level_deg: float) -> IntArray:
    up = found.height_deg >= level_deg
    status = np.where(up.all(axis=1), LightStatus.UP_THROUGHOUT, LightStatus.RISES_OR_SETS)
    return np.asarray(np.where(up.any(axis=1), status, LightStatus.DOWN_THROUGHOUT), dtype=np.int64)


def _sunlight(true_altitude_deg: FloatArray) -> IntArray:
    return np.asarray(np.sum(true_altitude_deg[..., None] < _SUN_LEVELS_DEG, axis=-1), dtype=np.int64)


def _as_milliseconds(days: FloatArray) -> np.ndarray[tuple[int, ...], np.dtype[np.timedelta64]]:
    return np.rint(days * 86_400_000.0).astype("timedelta64[ms]")
