"""Ellipsoids: that of WGS 84, on which every place of the service stands, and those of the old datums.

Source: NGA.STND.0036_1.0.0_WGS84, "Department of Defense World Geodetic System 1984", 2014, table 3.1: the two
defining constants. The others are derived from them by definition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = [
    "ECCENTRICITY",
    "ECCENTRICITY_SQUARED",
    "FLATTENING",
    "SEMI_MAJOR_AXIS_M",
    "THIRD_FLATTENING",
    "WGS84_ELLIPSOID",
    "Ellipsoid",
]


@dataclass(frozen=True, slots=True)
class Ellipsoid:
    """A figure of the earth, by its name in the EPSG dataset and its two defining constants."""

    name: str
    semi_major_axis_m: float
    inverse_flattening: float

    @property
    def flattening(self) -> float:
        """(a - b) / a; 0 of a sphere, whose inverse flattening is infinite."""
        return 1.0 / self.inverse_flattening

    @property
    def eccentricity_squared(self) -> float:
        """Of the meridian ellipse."""
        return self.flattening * (2.0 - self.flattening)

    @property
    def eccentricity(self) -> float:
        """Of the meridian ellipse."""
        return math.sqrt(self.eccentricity_squared)

    @property
    def third_flattening(self) -> float:
        """(a - b) / (a + b), the small number that the transverse Mercator series run in."""
        return self.flattening / (2.0 - self.flattening)


WGS84_ELLIPSOID = Ellipsoid("WGS 84", 6378137.0, 298.257223563)

SEMI_MAJOR_AXIS_M = WGS84_ELLIPSOID.semi_major_axis_m
FLATTENING = WGS84_ELLIPSOID.flattening
ECCENTRICITY_SQUARED = WGS84_ELLIPSOID.eccentricity_squared
ECCENTRICITY = WGS84_ELLIPSOID.eccentricity
#: (a - b) / (a + b), the small number that the transverse Mercator series run in.
THIRD_FLATTENING = WGS84_ELLIPSOID.third_flattening
