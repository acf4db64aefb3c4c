"""The Earth's magnetic field at places and dates from 1900 on: declination first of all, and how good it is.

Two models answer: the World Magnetic Model 2025 for its own five years, the International Geomagnetic Reference Field,
14th generation, for the years before; or the one that is named. Both are of the core's field alone: rock and magnetic
storms add to it, on average by the standard deviation stated, and iron near the compass by any amount.
"""

from __future__ import annotations

import datetime
import sys
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..errors import DateOutsideModelError, NavigationError, OutOfRangeError
from .magnetic_choice import MODELS, ModelChoice, choice_of
from .magnetic_synthesis import local_vectors

__all__ = [
    "LARGEST_SD_DEG",
    "MAXIMUM_HEIGHT_M",
    "MINIMUM_HEIGHT_M",
    "MODELS",
    "SMALLEST_HORIZONTAL_NT",
    "MagneticField",
    "check_date",
    "core_sd",
    "declination_and_horizontal_at",
    "declination_at",
    "declination_sd",
    "field_at",
    "in_model",
    "model_at",
]

#: "WMM2025 is valid between -1km and 850km, as outlined in the World Magnetic Model 2025 Technical Report":
#: MathWorks, Aerospace Blockset documentation, World Magnetic Model block, Limitations. Kept to for both models.
MINIMUM_HEIGHT_M = -1_000.0
MAXIMUM_HEIGHT_M = 850_000.0

#: Declination's standard deviation is the root of this squared plus (the model's field error across the needle / H)
#: squared: error model of the WMM2025 technical report, as two libraries give it (pygeomag 1.1.0 and the crate
#: world_magnetic_model 0.2.0). Taken for the IGRF as well, whose own error was found from quiet days alone. [degree]
SD_FLOOR_DEG = 0.26

#: Nothing is known of a direction that may be anything: no standard deviation is stated beyond this.
LARGEST_SD_DEG = 180.0

#: Divisors are not let under this horizontal field, so that the magnetic pole itself has finite answers. [nT]
SMALLEST_HORIZONTAL_NT = 1e-6

#: What each row is given as, and what it may be whatever the model. Any number of turns is a longitude.
_PLACE_LIMITS = {
    "lat_deg": (-90.0, 90.0),
    "lon_deg": (-sys.float_info.max, sys.float_info.max),
    "height_m": (MINIMUM_HEIGHT_M, MAXIMUM_HEIGHT_M),
}
_INPUTS = ("lat_deg", "lon_deg", "decimal_year", "height_m")
_YEAR_ROW = _INPUTS.index("decimal_year")


@dataclass(frozen=True, slots=True)
class MagneticField:
    """The field at places and dates, arrays of one shape (or numpy scalars), and its changes in a year.

    North, east and down are local and geodetic. Declination, from true north to magnetic north, is east positive in
    (-180, 180]; inclination is positive downward. Where the horizontal field vanishes, at the magnetic poles, the
    declination says nothing and its standard deviation is `LARGEST_SD_DEG`.
    """

    north_nt: FloatArray
    east_nt: FloatArray
    down_nt: FloatArray
    horizontal_nt: FloatArray
    total_nt: FloatArray
    declination_deg: FloatArray
    inclination_deg: FloatArray
    north_change_nt: FloatArray
    east_change_nt: FloatArray
    down_change_nt: FloatArray
    horizontal_change_nt: FloatArray
    total_change_nt: FloatArray
    declination_change_deg: FloatArray
    inclination_change_deg: FloatArray
    declination_sd_deg: FloatArray


def field_at(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    decimal_year: ArrayLike,
    height_m: ArrayLike = 0.0,
    model: str | None = None,
) -> MagneticField:
    """The magnetic field and its annual change.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Geodetic, WGS 84. Any longitude is taken. [degree]
    decimal_year : array_like
        Years as `decimal_year` gives them, from 1900.0 to 2030.0. Each row has its own.
    height_m : array_like
        Above the ellipsoid. [metre]
    model : str, optional
        A name of `MODELS`, which is then kept to. Without one each row is of the model that `model_at` names. The annual
        change of the IGRF is that of the five years that the date lies in: it leaps from one five to the next.

    Raises
    ------
    DateOutsideModelError, OutOfRangeError
        Any row is outside the model's dates or heights, or is no place. Mask such rows first, with `in_model`.
    KeyError
        No model has that name.
    """
    choice = choice_of(model)
    vectors, years = _local_vectors(lat_deg, lon_deg, decimal_year, height_m, choice, wanted=2)
    (north, east, down), (north_change, east_change, down_change) = vectors
    horizontal = _length(north, east)
    total = _length(horizontal, down)
    divisor = np.maximum(horizontal, SMALLEST_HORIZONTAL_NT)
    horizontal_change = (north * north_change + east * east_change) / divisor
    return MagneticField(
        north_nt=north,
        east_nt=east,
        down_nt=down,
        horizontal_nt=horizontal,
        total_nt=total,
        declination_deg=_declination(north, east),
        inclination_deg=np.degrees(np.arctan2(down, horizontal)),
        north_change_nt=north_change,
        east_change_nt=east_change,
        down_change_nt=down_change,
        horizontal_change_nt=horizontal_change,
        total_change_nt=(horizontal * horizontal_change + down * down_change) / total,
        declination_change_deg=np.degrees((north * east_change - east * north_change) / (divisor * divisor)),
        inclination_change_deg=np.degrees(
            (horizontal * down_change - down * horizontal_change) / (total * total)
        ),
        declination_sd_deg=_declination_sd(horizontal, *choice.error_deg_nt(years)),
    )


def declination_at(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    decimal_year: ArrayLike,
    height_m: ArrayLike = 0.0,
    model: str | None = None,
) -> FloatArray:
    """The declination alone, as `field_at` gives it, for less work. [degree], east positive in (-180, 180]"""
    declination_deg, _horizontal_nt = declination_and_horizontal_at(
        lat_deg, lon_deg, decimal_year, height_m, model
    )
    return declination_deg


def declination_and_horizontal_at(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    decimal_year: ArrayLike,
    height_m: ArrayLike = 0.0,
    model: str | None = None,
) -> tuple[FloatArray, FloatArray]:
    """The declination [degree] and the horizontal field [nT], which says how far to trust it: as `field_at` gives them."""
    vectors, _years = _local_vectors(lat_deg, lon_deg, decimal_year, height_m, choice_of(model), wanted=1)
    ((north, east, _down),) = vectors
    return _declination(north, east), _length(north, east)


def declination_sd(horizontal_nt: ArrayLike, decimal_year: ArrayLike, model: str | None = None) -> FloatArray:
    """The standard deviation of the declination where the horizontal field is ``horizontal_nt``. [degree]

    It covers the model's own error, its ageing and the rock and currents it leaves out, on average over the world;
    it does not cover iron near the compass. It grows back in time from 1980 to 1900. At the magnetic pole it is
    `LARGEST_SD_DEG`.
    """
    return _declination_sd(np.asarray(horizontal_nt), *choice_of(model).error_deg_nt(decimal_year))


def core_sd(horizontal_nt: ArrayLike, decimal_year: ArrayLike, model: str | None = None) -> FloatArray:
    """The part of `declination_sd` that a difference between two dates does not lose: the main field's own. [degree]"""
    _surroundings, core = choice_of(model).error_deg_nt(decimal_year)
    return np.minimum(core / np.maximum(horizontal_nt, SMALLEST_HORIZONTAL_NT), LARGEST_SD_DEG)


def in_model(decimal_year: ArrayLike, model: str | None = None) -> NDArray[np.bool_]:
    """Which of the dates the model holds for, or any model where none is named."""
    year = np.asarray(decimal_year, dtype=np.float64)
    choice = choice_of(model)
    return (year >= choice.first_year) & (year <= choice.last_year)


def model_at(decimal_year: ArrayLike) -> NDArray[np.str_]:
    """The name of the model that answers for each date: WMM2025 from 2025.0 on, before it IGRF-14.

    Raises
    ------
    DateOutsideModelError
        No model holds for a date.
    """
    choice = choice_of()
    year = np.asarray(decimal_year, dtype=np.float64)
    _check_range(
        year.min(initial=choice.first_year), year.max(initial=choice.last_year), "decimal_year", choice
    )
    names = np.array([each.name for each in choice.models])
    return names[choice.model_of(year)]


def check_date(date: datetime.date, model: str | None = None) -> None:
    """Raise `DateOutsideModelError` for a date that the model does not hold for, or no model where none is named."""
    choice_of(model).check_date(date)


def _local_vectors(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    decimal_year: ArrayLike,
    height_m: ArrayLike,
    choice: ModelChoice,
    wanted: int,
) -> tuple[FloatArray, FloatArray]:
    """`local_vectors` of the model chosen, shape (wanted, 3, *broadcast), and the years, of the broadcast shape."""
    given = [np.asarray(value, dtype=np.float64) for value in (lat_deg, lon_deg, decimal_year, height_m)]
    shape = np.broadcast(*given).shape
    rows = np.empty((4, *shape))
    for index, value in enumerate(given):
        rows[index, ...] = value
    rows = rows.reshape(4, -1)
    if rows.shape[1] == 0:
        return np.empty((wanted, 3, *shape)), rows[_YEAR_ROW].reshape(shape)
    lowest, highest = rows.min(axis=1).tolist(), rows.max(axis=1).tolist()
    for member, low, high in zip(_INPUTS, lowest, highest, strict=True):
        _check_range(low, high, member, choice)
    years = rows[_YEAR_ROW]
    stretch = choice.stretch_of(years, lowest[_YEAR_ROW], highest[_YEAR_ROW])
    vectors = local_vectors(rows, choice.stretches, stretch, wanted)
    return vectors.reshape(wanted, 3, *shape), years.reshape(shape)


def _declination(north: FloatArray, east: FloatArray) -> FloatArray:
    """The direction of the horizontal field, in (-180, 180], without -0.0. [degree]"""
    declination = np.degrees(np.arctan2(east, north))
    return np.where(declination <= -180.0, 180.0, declination) + 0.0


def _declination_sd(horizontal: FloatArray, surroundings: FloatArray, core: FloatArray) -> FloatArray:
    divisor = np.maximum(horizontal, SMALLEST_HORIZONTAL_NT)
    return np.minimum(_length(SD_FLOOR_DEG, _length(surroundings, core) / divisor), LARGEST_SD_DEG)


def _length(one: FloatArray | float, other: FloatArray | float) -> FloatArray:
    """As ``np.hypot``, in a fifth of the time: no field is so strong that its square overflows."""
    return np.asarray(np.sqrt(np.square(one) + np.square(other)))[()]


def _check_range(lowest: float, highest: float, member: str, choice: ModelChoice) -> None:
    """Raise the error of ``member`` if the lowest or the highest of its rows is outside; not a number always is."""
    error: type[NavigationError]
    if member == "decimal_year":
        least, most, error, allowed = (
            choice.first_year,
            choice.last_year,
            DateOutsideModelError,
            choice.allowed,
        )
    else:
        least, most = _PLACE_LIMITS[member]
        error, allowed = OutOfRangeError, f"{least:g} to {most:g}"
    if lowest >= least and highest <= most:
        return
    value = float(highest if lowest >= least else lowest)
    raise error(
        f"{member} is {value:g}, not {least:g} to {most:g}", member=member, value=value, allowed=allowed
    )
