"""Directions in the sky as they are seen from a place: azimuth, altitude, and the air's refraction."""

from __future__ import annotations

from dataclasses import dataclass

import erfa
import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth
from .sky_time import J2000_DAY

__all__ = ["Horizontal", "Observers", "horizontal", "refracted_altitude", "semidiameter"]

#: Below this true altitude a body is out of sight, and the formula of refraction no longer holds. [degree]
_LOWEST_REFRACTED_DEG = -1.0
_WGS84 = 1


@dataclass(frozen=True, slots=True)
class Observers:
    """Places and when one stands there: arrays of shape (n,).

    ``universal_days`` of universal time since `sky_time.J2000_DAY`; the places WGS 84. At a pole azimuths are counted from
    the meridian of the longitude given.
    """

    universal_days: FloatArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    height_m: FloatArray


@dataclass(frozen=True, slots=True)
class Horizontal:
    """Where bodies stand for places and moments: arrays of shape (n,).

    ``true_azimuth_deg`` in [0, 360) and ``true_altitude_deg`` of the centre, without refraction [degree];
    ``distance_m`` from the place [metre]. In the zenith the azimuth means nothing.
    """

    true_azimuth_deg: FloatArray
    true_altitude_deg: FloatArray
    distance_m: FloatArray


def horizontal(vectors: FloatArray, observers: Observers) -> Horizontal:
    """The bodies as seen from the places, not from the earth's centre: for the moon that is up to a degree.

    ``vectors`` are those of `sky_body.to_intermediate`, shape (n, 3). [metre]
    """
    turned = erfa.era00(J2000_DAY, observers.universal_days) + np.radians(observers.lon_deg)
    lat = np.radians(observers.lat_deg)
    # In the frame of the place's own meridian, the place has no part along the east.
    place = erfa.gd2gc(_WGS84, 0.0, lat, observers.height_m)
    outward = vectors[:, 0] * np.cos(turned) + vectors[:, 1] * np.sin(turned) - place[..., 0]
    east = vectors[:, 1] * np.cos(turned) - vectors[:, 0] * np.sin(turned)
    polar = vectors[:, 2] - place[..., 2]
    up = outward * np.cos(lat) + polar * np.sin(lat)
    north = polar * np.cos(lat) - outward * np.sin(lat)
    level = np.hypot(north, east)
    return Horizontal(
        true_azimuth_deg=normalise_azimuth(np.degrees(np.arctan2(east, north))),
        true_altitude_deg=np.degrees(np.arctan2(up, level)),
        distance_m=np.hypot(up, level),
    )


def refracted_altitude(true_altitude_deg: ArrayLike) -> FloatArray:
    """The altitude that a body seems to stand at, raised by the air at 1010 hPa and 10 degrees Celsius. [degree]

    T. Saemundsson's formula, Sky and Telescope 72, 1986, p. 70, as in J. Meeus, "Astronomical Algorithms", eq. 16.4:
    within 0.1 arc minute in such air. Near the horizon air that is colder or warmer makes several arc minutes. A body
    over a degree below the horizon, out of sight, is raised as one that stands there.
    """
    altitude = np.asarray(true_altitude_deg, dtype=np.float64)
    seen = np.maximum(altitude, _LOWEST_REFRACTED_DEG)
    minutes = 1.02 / np.tan(np.radians(seen + 10.3 / (seen + 5.11)))
    return altitude + np.maximum(minutes, 0.0) / 60.0  # in the zenith the formula gives -0.002


def semidiameter(radius_m: float, distance_m: FloatArray) -> FloatArray:
    """Half the angle that a disk spans. [degree]"""
    return np.degrees(np.arcsin(radius_m / distance_m))
