"""The bearing of a body in the sky from grid and magnetic north, as a compass or a map gives it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..directions.bearing import Azimuths, NorthAngles, azimuths_from
from ..directions.north import Norths, norths_at
from .sky_time import decimal_years, moments

__all__ = ["azimuths_at"]


def azimuths_at(
    true_azimuth_deg: FloatArray,
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    moment: ArrayLike,
    height_m: ArrayLike = 0.0,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
    model: str | None = None,
) -> tuple[Azimuths, Norths]:
    """True azimuths, of `sky_bearing` at the same places and moments, from each north, and the norths there.

    What the magnetic azimuth is good for is the declination's standard deviation, far more than the sky's own.

    Raises
    ------
    DateOutsideModelError
        A moment is not of the magnetic model's years: it holds to the end of 2029, the sky to that of 2049.
    OutsideGridError, OutOfRangeError
        As of `norths_at`, whose parameters these are.
    """
    years = decimal_years(moments(moment))
    norths = norths_at(lat_deg, lon_deg, years, height_m, zone, south, model)
    angles = NorthAngles(norths.declination_deg, norths.convergence_deg, norths.grid_magnetic_angle_deg)
    return azimuths_from(np.asarray(true_azimuth_deg), "true", angles), norths
