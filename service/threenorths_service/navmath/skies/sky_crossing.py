"""When a body crosses an altitude: rising and setting, and the twilights between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..rows import BoolArray, IntArray
from .sky_body import RADIUS_M
from .sky_horizon import Horizontal, semidiameter
from .sky_track import Track

__all__ = ["SUN_RISES_DEG", "Crossings", "Scan", "crossings", "moon_height_deg", "scan", "sun_height_deg"]

#: Sunrise and sunset are when the middle of the sun is geometrically so far down: 34 arc minutes of refraction and 16 of the
#: disk's half. US Naval Observatory, Astronomical Applications Department, "Rise, Set, and Twilight Definitions". [degree]
SUN_RISES_DEG = -50.0 / 60.0

#: Moonrise and moonset are when its upper edge is 34 arc minutes down: the same refraction (the same source). [degree]
HORIZON_REFRACTION_DEG = 34.0 / 60.0

#: The altitude is looked at this often. A body that comes over its altitude and leaves it within the step, by under
#: 0.02 degree, can be missed: the air's refraction varies by ten times that. [day]
_STEP_DAYS = 10.0 / 1440.0

#: A step is halved so often: to 0.3 s.
_HALVINGS = 11


@dataclass(frozen=True, slots=True)
class Scan:
    """Heights at even steps over the span: ``step_days`` (m,) since the start, ``height_deg`` (n, m), one of the below."""

    step_days: FloatArray
    height_deg: FloatArray


@dataclass(frozen=True, slots=True)
class Crossings:
    """Each time that a height crossed a level: arrays of shape (c,).

    ``row`` of the track, ``level`` as an index of the levels asked for, ``elapsed_days`` since the row's start, and whether
    it was ``rising``.
    """

    row: IntArray
    level: IntArray
    elapsed_days: FloatArray
    rising: BoolArray


Height = Callable[[Horizontal], FloatArray]


def sun_height_deg(sun: Horizontal) -> FloatArray:
    """The height that the twilights and `SUN_RISES_DEG` are of: the true altitude of the middle. [degree]"""
    return sun.true_altitude_deg


def moon_height_deg(moon: Horizontal) -> FloatArray:
    """How far the moon's upper edge stands over the horizon that it is seen to rise from: it rises at 0. [degree]"""
    edge = moon.true_altitude_deg + semidiameter(RADIUS_M["moon"], moon.distance_m)
    return edge + HORIZON_REFRACTION_DEG


def scan(track: Track, height: Height, span_days: float) -> Scan:
    """The heights of every row of the track at even steps, the ends of the span with them."""
    steps = np.linspace(0.0, span_days, int(np.ceil(span_days / _STEP_DAYS)) + 1)
    return Scan(steps, height(track.at_all(steps)).reshape(-1, len(steps)))


def crossings(track: Track, height: Height, found: Scan, levels_deg: FloatArray) -> Crossings:
    """When the heights of a scan cross the levels, shape (l,), each looked for between two steps by halving."""
    above: BoolArray = found.height_deg[:, None, :] >= levels_deg[:, None]
    row, level, step = np.nonzero(above[..., 1:] != above[..., :-1])
    rising = above[row, level, step + 1]
    low, high = found.step_days[step], found.step_days[step + 1]
    for _ in range(_HALVINGS if len(row) else 0):
        middle = (low + high) / 2.0
        passed = (height(track.at(row, middle)) >= levels_deg[level]) == rising
        low, high = np.where(passed, low, middle), np.where(passed, middle, high)
    return Crossings(row, level, (low + high) / 2.0, rising)
