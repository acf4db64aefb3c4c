"""The bearing of the sun, the moon or Polaris at a place and moment, to check a compass by without a map.

**Never look at the sun, and never sight it through a lens or a mirror: it blinds.** Take the shadow of a plumb line, which
falls opposite to the sun. Refraction raises a body and does not turn it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_azimuth, normalise_signed
from ..estimates.estimate import checked
from ..rows import IntArray, as_rows, in_shape
from .sky_body import BODIES, RADIUS_M, geocentric_vectors, to_intermediate
from .sky_horizon import Horizontal, Observers, horizontal, refracted_altitude, semidiameter
from .sky_time import moments, terrestrial_days, universal_days

__all__ = [
    "BODIES",
    "SIGHTED_PARTS",
    "WATCH_SD_S",
    "SkyBearing",
    "SkyStatus",
    "sighted_azimuth",
    "sighted_azimuth_sd",
    "sky_bearing",
]

#: What of a body is sighted: its middle, the edge on the left or right hand, or the shadow that it casts; and where that is
#: from the middle, in offsets of the limb and in degrees.
_PARTS = {"centre": (0.0, 0.0), "left_limb": (-1.0, 0.0), "right_limb": (1.0, 0.0), "shadow": (0.0, 180.0)}
SIGHTED_PARTS = tuple(_PARTS)

#: Higher than this a sight that leans by one degree is off by four: common practice, no source. [degree]
HIGHEST_SIGHTED_DEG = 75.0

#: Polaris is seen with the bare eye once the sun is so far down, the end of civil twilight: common practice. [degree]
STARS_BELOW_SUN_DEG = -6.0

#: So near to the sun the moon is too thin to see, and who looks for it looks at the sun: common practice. [degree]
MOON_FROM_SUN_DEG = 10.0

#: With a margin the greatest difference from the library skyfield 1.55 with the ephemeris DE421, across the line of sight,
#: over 3,000 places and moments of 1900 to 2049: 0.0001, 0.0033 and 0.0001. [degree]
POSITION_ERROR_DEG = {"sun": 0.001, "moon": 0.005, "polaris": 0.001}

#: UTC differs from the earth's own time by up to this until 2035, when the rule is to be changed
#: (27th General Conference on Weights and Measures, 2022, resolution 4; from memory). [second]
UNIVERSAL_TIME_ERROR_S = 0.9

#: Standard deviation of the moment of a sight by a watch that was set to the second: common practice, no source. [second]
WATCH_SD_S = 5.0

#: Turns of the earth against the stars in a day, and of the bodies among the stars the same way, by their mean.
_EARTH_TURNS_PER_DAY = 1.002738
_OWN_TURNS_PER_DAY = {"sun": 1.0 / 365.25, "moon": 1.0 / 27.32, "polaris": 0.0}

_HALF_MINUTE_DAYS = 0.5 / 1440.0
_LARGEST_ERROR_DEG = 180.0

#: Divisors are not let under this cosine of the altitude, so that the zenith itself has finite answers.
_LEAST_LEVEL_PART = 1e-9


class SkyStatus(IntEnum):
    """Whether a bearing can be taken of the body: 0 if so, the others say why not. The values are given all the same."""

    IN_SIGHT = 0
    BELOW_HORIZON = 1
    TOO_HIGH = 2
    LOST_IN_DAYLIGHT = 3
    TOO_NEAR_SUN = 4


@dataclass(frozen=True, slots=True)
class SkyBearing:
    """Bodies as seen from places at moments: arrays of one shape, or numpy scalars. [degree]

    ``true_azimuth_deg`` of the centre, in [0, 360), and ``greatest_error_deg``, which it is off by at most;
    ``altitude_deg`` of the centre as it is seen, refraction and all; ``change_deg_per_min``, by how much the azimuth grows
    in a minute, so that a watch can be answered for; ``semidiameter_deg`` of the disk, and ``limb_offset_deg``, the turn
    from the centre to its edge on the right hand; ``status``, of `SkyStatus`.
    """

    true_azimuth_deg: FloatArray
    greatest_error_deg: FloatArray
    altitude_deg: FloatArray
    change_deg_per_min: FloatArray
    semidiameter_deg: FloatArray
    limb_offset_deg: FloatArray
    status: IntArray


def sky_bearing(
    body: str, lat_deg: ArrayLike, lon_deg: ArrayLike, moment: ArrayLike, height_m: ArrayLike = 0.0
) -> SkyBearing:
    """The bearing of one body at places and moments, which broadcast.

    Parameters
    ----------
    body : str
        One of `BODIES`.
    lat_deg, lon_deg : array_like
        The places, WGS 84. At a pole azimuths are counted from the meridian of the longitude given. [degree]
    moment : array_like of datetime64
        UTC, from 1900 to 2049.
    height_m : array_like
        Above the ellipsoid; the horizon is taken level all the same. [metre]

    Raises
    ------
    OutOfRangeError
        A moment is outside those years, or a place is none.
    """
    given = moments(moment)
    checked("lat_deg", lat_deg, -90.0, 90.0)
    checked("lon_deg", lon_deg, -180.0, 360.0)
    shape = np.broadcast(lat_deg, lon_deg, given, height_m).shape
    universal = universal_days(np.broadcast_to(given, shape).reshape(-1))
    (lat, lon, height, _), _shape = as_rows(lat_deg, lon_deg, height_m, np.empty(shape))
    observers = Observers(universal, lat, lon, height)
    vectors = _vectors(body, universal)
    seen = horizontal(vectors, observers)
    change = _change_deg_per_min(body, vectors, observers)
    half_disk = semidiameter(RADIUS_M[body], seen.distance_m)
    level_part = np.maximum(np.cos(np.radians(seen.true_altitude_deg)), _LEAST_LEVEL_PART)
    found = SkyBearing(
        true_azimuth_deg=seen.true_azimuth_deg,
        greatest_error_deg=_greatest_error_deg(body, level_part, change),
        altitude_deg=refracted_altitude(seen.true_altitude_deg),
        change_deg_per_min=change,
        semidiameter_deg=half_disk,
        limb_offset_deg=_limb_offset_deg(half_disk, level_part),
        status=_status(body, seen, half_disk, observers),
    )
    return SkyBearing(*(in_shape(getattr(found, name), shape) for name in SkyBearing.__slots__))


def sighted_azimuth(sky: SkyBearing, part: str) -> FloatArray:
    """True azimuth of the part of a body that is sighted, one of `SIGHTED_PARTS`: what a true reading would be. [degree]"""
    limb_share, half_turn_deg = _PARTS[part]
    return normalise_azimuth(sky.true_azimuth_deg + limb_share * sky.limb_offset_deg + half_turn_deg)


def sighted_azimuth_sd(sky: SkyBearing, watch_sd_s: ArrayLike = WATCH_SD_S) -> FloatArray:
    """Standard deviation of the azimuth that was sighted: of the theory and of the watch. [degree]

    The greatest error stands for a spread that is even, over the root of three (JCGM 100:2008, 4.3.7). The place is taken
    for known: a kilometre turns the sun by a hundredth of a degree or so, as long as it is not high.
    """
    by_watch = sky.change_deg_per_min * np.asarray(watch_sd_s, dtype=np.float64) / 60.0
    return np.asarray(np.hypot(sky.greatest_error_deg / np.sqrt(3.0), by_watch))[()]


def _vectors(body: str, universal: FloatArray) -> FloatArray:
    terrestrial = terrestrial_days(universal)
    return to_intermediate(geocentric_vectors(body, terrestrial), terrestrial)


def _change_deg_per_min(body: str, vectors: FloatArray, observers: Observers) -> FloatArray:
    """The azimuth's change in a minute, by the earth's turning less the body's own way among the stars."""
    share = 1.0 - _OWN_TURNS_PER_DAY[body] / _EARTH_TURNS_PER_DAY
    before, after = (
        replace(observers, universal_days=observers.universal_days + way * share * _HALF_MINUTE_DAYS)
        for way in (-1.0, 1.0)
    )
    turned = horizontal(vectors, after).true_azimuth_deg - horizontal(vectors, before).true_azimuth_deg
    return normalise_signed(turned)


def _greatest_error_deg(body: str, level_part: FloatArray, change: FloatArray) -> FloatArray:
    by_time = np.abs(change) * (UNIVERSAL_TIME_ERROR_S / 60.0)
    return np.minimum(POSITION_ERROR_DEG[body] / level_part + by_time, _LARGEST_ERROR_DEG)


def _limb_offset_deg(half_disk: FloatArray, level_part: FloatArray) -> FloatArray:
    """A disk that holds the zenith has no edge on the right: then a quarter turn stands for it."""
    return np.degrees(np.arcsin(np.minimum(np.sin(np.radians(half_disk)) / level_part, 1.0)))


def _status(body: str, seen: Horizontal, half_disk: FloatArray, observers: Observers) -> IntArray:
    altitude = refracted_altitude(seen.true_altitude_deg)
    below: NDArray[np.bool_] = refracted_altitude(seen.true_altitude_deg + half_disk) < 0.0
    status = np.where(altitude > HIGHEST_SIGHTED_DEG, SkyStatus.TOO_HIGH, SkyStatus.IN_SIGHT)
    if body != "sun":
        sun = horizontal(_vectors("sun", observers.universal_days), observers)
        if body == "polaris":
            hidden = sun.true_altitude_deg > STARS_BELOW_SUN_DEG
            status = np.where(hidden, SkyStatus.LOST_IN_DAYLIGHT, status)
        else:
            status = np.where(_apart_deg(seen, sun) < MOON_FROM_SUN_DEG, SkyStatus.TOO_NEAR_SUN, status)
    return np.asarray(np.where(below, SkyStatus.BELOW_HORIZON, status), dtype=np.int64)


def _apart_deg(one: Horizontal, other: Horizontal) -> FloatArray:
    """The angle between two bodies, by the haversine, which holds for small ones."""
    alt1, alt2 = np.radians(one.true_altitude_deg), np.radians(other.true_altitude_deg)
    turn = np.radians(one.true_azimuth_deg - other.true_azimuth_deg)
    half = np.sin((alt1 - alt2) / 2.0) ** 2 + np.cos(alt1) * np.cos(alt2) * np.sin(turn / 2.0) ** 2
    return np.asarray(np.degrees(2.0 * np.arcsin(np.sqrt(np.minimum(half, 1.0)))))
