"""The WGS 84 ellipsoid, on which every position of the service stands.

Source: NGA.STND.0036_1.0.0_WGS84, "Department of Defense World Geodetic System 1984", 2014, table 3.1: the two
defining constants. The others are derived from them by definition.
"""

from __future__ import annotations

import math

__all__ = ["ECCENTRICITY", "ECCENTRICITY_SQUARED", "FLATTENING", "SEMI_MAJOR_AXIS_M", "THIRD_FLATTENING"]

SEMI_MAJOR_AXIS_M = 6378137.0
FLATTENING = 1.0 / 298.257223563

ECCENTRICITY_SQUARED = FLATTENING * (2.0 - FLATTENING)
ECCENTRICITY = math.sqrt(ECCENTRICITY_SQUARED)
#: (a - b) / (a + b), the small number that the transverse Mercator series run in.
THIRD_FLATTENING = FLATTENING / (2.0 - FLATTENING)
