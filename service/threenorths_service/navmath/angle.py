"""Angles: normalising, and the divisions of the circle that compasses and maps are marked in."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "CIRCLE_DIVISIONS",
    "FloatArray",
    "from_degrees",
    "normalise_azimuth",
    "normalise_longitude",
    "normalise_signed",
    "to_degrees",
]

FloatArray = NDArray[np.float64]

#: Parts of a full circle, by unit name. 6400 mils: US Army TC 3-25.26, para 6-1; 400 gradians: the same. The 6300 and
#: 6000 divisions, of Swedish and of older Soviet-pattern compasses: common practice, no source.
CIRCLE_DIVISIONS = MappingProxyType(
    {"deg": 360.0, "mil": 6400.0, "mil_6300": 6300.0, "mil_6000": 6000.0, "grad": 400.0}
)


def normalise_azimuth(azimuth: ArrayLike, circle: float = 360.0) -> FloatArray:
    """A direction brought into [0, circle): never the full circle, never -0.0.

    A plain remainder is not enough: ``-1e-17 % 360.0`` is 360.0.
    """
    wrapped = np.mod(np.asarray(azimuth, dtype=np.float64), circle)
    return np.where(wrapped >= circle, 0.0, wrapped) + 0.0


def normalise_signed(angle_deg: ArrayLike) -> FloatArray:
    """An angle brought into (-180, 180] degrees, without -0.0."""
    return np.negative(normalise_azimuth(np.subtract(180.0, angle_deg)) - 180.0) + 0.0


def normalise_longitude(lon_deg: ArrayLike) -> FloatArray:
    """A longitude brought into [-180, 180) degrees; one already there is not changed by so much as a rounding."""
    lon = np.asarray(lon_deg, dtype=np.float64)
    inside = (lon >= -180.0) & (lon < 180.0)
    return np.where(inside, lon, normalise_azimuth(lon + 180.0) - 180.0) + 0.0


def to_degrees(value: ArrayLike, unit: str) -> FloatArray:
    """Degrees from an angle in ``unit``, a key of `CIRCLE_DIVISIONS`."""
    return np.asarray(value, dtype=np.float64) * (360.0 / CIRCLE_DIVISIONS[unit])


def from_degrees(angle_deg: ArrayLike, unit: str) -> FloatArray:
    """An angle in ``unit``, a key of `CIRCLE_DIVISIONS`, from degrees."""
    return np.asarray(angle_deg, dtype=np.float64) * (CIRCLE_DIVISIONS[unit] / 360.0)
