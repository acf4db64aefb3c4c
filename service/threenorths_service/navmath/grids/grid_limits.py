"""Checks of grid coordinates that people give: whether the named grid reaches so far.

The limits are those of what sheets print. DMA TM 8358.1, sections 2-6.3.1 and 2-6.3.2 (as quoted by M. Rittri, PROJ
mailing list, 2011-06-21): the UTM grid extends to 80 30 S and 84 30 N, the UPS grids to 79 30 S and 83 30 N. Within them,
only where the 100 km squares have letters: the eight columns of UTM, and to 700 km from the pole in UPS North. The
parallels are drawn on WGS 84; on the ellipsoids of old datums they lie about 1 km from there at most, at the far end of
an overlap of half a degree, which is 56 km.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import NavigationError, OutOfRangeError, OutsideGridError
from .projections import (
    UPS_FALSE_ORIGIN_M,
    UTM_SOUTH_FALSE_NORTHING_M,
    stereographic_forward,
    transverse_mercator_forward,
)

__all__ = ["EASTING_FROM_M", "EASTING_UNDER_M", "check_ups", "check_utm", "within_utm"]

EASTING_FROM_M = 100_000.0
EASTING_UNDER_M = 900_000.0


def _northing_on_the_central_meridian_m(lat_deg: float) -> float:
    """Where a parallel is nearest to the equator: beyond the zone's middle its northing only grows, by under 6 km."""
    return float(transverse_mercator_forward(np.array([lat_deg]), np.array([0.0]))[1][0])


def _distance_from_the_pole_m(lat_deg: float, south: bool) -> float:
    northing_m = stereographic_forward(np.array([lat_deg]), np.array([0.0]), south)[1][0]
    return abs(float(northing_m) - UPS_FALSE_ORIGIN_M)


_NORTHERN_NORTHING_TO_M = _northing_on_the_central_meridian_m(84.5)
_SOUTHERN_NORTHING_FROM_M = UTM_SOUTH_FALSE_NORTHING_M + _northing_on_the_central_meridian_m(-80.5)
_UPS_LETTERS_M = {False: 700_000.0, True: 1_200_000.0}
_UPS_REACH_M = {False: _distance_from_the_pole_m(83.5, False), True: _distance_from_the_pole_m(-79.5, True)}


def check_utm(zone: int, south: bool, easting_m: float, northing_m: float) -> None:
    """Raise unless UTM coordinates are within the reach of their zone's grid.

    Raises
    ------
    OutOfRangeError
        The zone is not 1 to 60 (member ``zone``).
    OutsideGridError
        The easting is outside 100,000 to under 900,000 m (member ``easting_m``), or the northing is outside 0 m to the
        parallel 84 30 N, or that of 80 30 S to 10,000,000 m in the south (member ``northing_m``).
    """
    if not 1 <= zone <= 60:
        raise OutOfRangeError(f"there is no UTM zone {zone}", member="zone", value=zone, allowed="1 to 60")
    if not EASTING_FROM_M <= easting_m < EASTING_UNDER_M:
        raise _outside("easting_m", easting_m, "100000 to under 900000")
    low_m, high_m = (
        (_SOUTHERN_NORTHING_FROM_M, UTM_SOUTH_FALSE_NORTHING_M) if south else (0.0, _NORTHERN_NORTHING_TO_M)
    )
    if not low_m <= northing_m <= high_m:
        hemisphere = "southern" if south else "northern"
        allowed = f"{low_m:.0f} to {high_m:.0f} in the {hemisphere} hemisphere"
        raise _outside("northing_m", northing_m, allowed)


def within_utm(south: ArrayLike, easting_m: ArrayLike, northing_m: ArrayLike) -> NDArray[np.bool_]:
    """Whether `check_utm` takes each easting and northing of the hemisphere; of the broadcast shape."""
    easting, northing = np.asarray(easting_m), np.asarray(northing_m)
    low_m = np.where(south, _SOUTHERN_NORTHING_FROM_M, 0.0)
    high_m = np.where(south, UTM_SOUTH_FALSE_NORTHING_M, _NORTHERN_NORTHING_TO_M)
    within: NDArray[np.bool_] = (easting >= EASTING_FROM_M) & (easting < EASTING_UNDER_M)
    return within & (northing >= low_m) & (northing <= high_m)


def check_ups(south: bool, easting_m: float, northing_m: float) -> None:
    """Raise unless UPS coordinates are within the reach of their grid: from the pole to 83 30 N or 79 30 S.

    Raises
    ------
    OutsideGridError
        The easting or the northing by itself is too far from the pole's 2,000,000 m (member ``easting_m`` or
        ``northing_m``), or both together are (no member).
    """
    reach_m = _UPS_REACH_M[south]
    aside_m = min(reach_m, _UPS_LETTERS_M[south])
    allowed = f"{UPS_FALSE_ORIGIN_M - aside_m:.0f} to under {UPS_FALSE_ORIGIN_M + aside_m:.0f}"
    for member, value in (("easting_m", easting_m), ("northing_m", northing_m)):
        if not -aside_m <= value - UPS_FALSE_ORIGIN_M < aside_m:
            raise _outside(member, value, allowed)
    distance_m = math.hypot(easting_m - UPS_FALSE_ORIGIN_M, northing_m - UPS_FALSE_ORIGIN_M)
    if distance_m > reach_m:
        raise OutsideGridError(
            f"the place is {distance_m:.0f} m from the pole, beyond the reach of the UPS grid",
            value=[easting_m, northing_m],
            allowed=f"up to {reach_m:.0f} m from the pole, which is at 2000000, 2000000",
        )


def _outside(member: str, value: float, allowed: str) -> NavigationError:
    name = member.removesuffix("_m")
    return OutsideGridError(
        f"the {name} {value} m is outside the grid", member=member, value=value, allowed=allowed
    )
