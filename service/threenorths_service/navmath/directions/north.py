"""The three norths at a place and date: the angles between true, grid and magnetic north, and how good they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_signed
from ..cautions import Caution, caution
from ..grids.grid import convergence_and_scale
from ..magnetism.magnetic import field_at
from ..rows import BoolArray

__all__ = ["Norths", "cautions_at", "norths_at", "norths_cautions", "norths_doubtful"]

#: Under the first horizontal field a compass is of no use, from there to the second of little: the blackout and caution
#: zones of MIL-PRF-89500B, "World Magnetic Model" (H < 2000 nT; 2000 nT <= H < 6000 nT).
BLACKOUT_BELOW_NT = 2000.0
CAUTION_BELOW_NT = 6000.0

#: Poleward of this, some hundred metres from the pole, a step changes true north: common practice, no source.
AT_POLE_LAT_DEG = 89.999


@dataclass(frozen=True, slots=True)
class Norths:
    """The angles between the norths, east positive, in (-180, 180], with the magnetic field; arrays of one shape.

    Declination D is from true to magnetic north, convergence C from true to grid north, and the grid-magnetic angle
    from grid to magnetic north: ``G = D - C``. The grid stands still, so the annual change is that of D and of G alike.
    """

    declination_deg: FloatArray
    declination_sd_deg: FloatArray
    convergence_deg: FloatArray
    grid_magnetic_angle_deg: FloatArray
    annual_change_deg: FloatArray
    inclination_deg: FloatArray
    horizontal_nt: FloatArray
    total_nt: FloatArray


def norths_at(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    decimal_year: ArrayLike,
    height_m: ArrayLike = 0.0,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
    model: str | None = None,
) -> Norths:
    """The norths at places and dates.

    Parameters
    ----------
    lat_deg, lon_deg, decimal_year, height_m : array_like
        As for `magnetic.field_at`.
    zone, south : array_like, optional
        The grid in use, as for `grid.convergence_and_scale`; by default each place's own.
    model : str, optional
        The magnetic model that is kept to, as for `magnetic.field_at`; by default each date's own.

    Raises
    ------
    DateOutsideModelError, OutOfRangeError, OutsideGridError
        Any row is outside the model or the grid.
    KeyError
        No model has that name.
    """
    grid_given = [value for value in (zone, south) if value is not None]
    shape = np.broadcast(lat_deg, lon_deg, decimal_year, height_m, *grid_given).shape
    lat = np.broadcast_to(np.asarray(lat_deg, dtype=np.float64), shape)
    field = field_at(lat, lon_deg, decimal_year, height_m, model)
    convergence, _scale = convergence_and_scale(lat, lon_deg, zone, south)
    return Norths(
        declination_deg=field.declination_deg,
        declination_sd_deg=field.declination_sd_deg,
        convergence_deg=convergence,
        grid_magnetic_angle_deg=normalise_signed(field.declination_deg - convergence),
        annual_change_deg=field.declination_change_deg,
        inclination_deg=field.inclination_deg,
        horizontal_nt=field.horizontal_nt,
        total_nt=field.total_nt,
    )


def norths_doubtful(lat_deg: ArrayLike, horizontal_nt: ArrayLike) -> BoolArray:
    """At which places `norths_cautions` has anything to say."""
    doubtful: BoolArray = (np.abs(lat_deg) > AT_POLE_LAT_DEG) | (np.asarray(horizontal_nt) < CAUTION_BELOW_NT)
    return doubtful


def norths_cautions(lat_deg: float, norths: Norths) -> list[Caution]:
    """What to beware of at one place: at a pole, or where a compass is of little or no use."""
    return cautions_at(lat_deg, float(norths.horizontal_nt), float(norths.declination_sd_deg))


def cautions_at(lat_deg: float, horizontal_nt: float, declination_sd_deg: float) -> list[Caution]:
    """The same by the numbers that it depends on."""
    cautions = []
    if abs(lat_deg) > AT_POLE_LAT_DEG:
        cautions.append(caution("at_pole"))
    horizontal, sd = horizontal_nt, declination_sd_deg
    # Cut, not rounded: 1999.7 nT must not read as "2000 nT, under 2000 nT".
    strength = f"The horizontal field is {int(horizontal)} nT"
    trust = f"declination there has a standard deviation of {sd:.1f} degrees"
    if horizontal < BLACKOUT_BELOW_NT:
        message = f"{strength}, under 2000 nT: a magnetic compass is of no use here; {trust}."
        cautions.append(caution("magnetic_blackout", message))
    elif horizontal < CAUTION_BELOW_NT:
        message = f"{strength}, from 2000 to 6000 nT: a magnetic compass may be of little use here; {trust}."
        cautions.append(caution("magnetic_caution", message))
    return cautions
