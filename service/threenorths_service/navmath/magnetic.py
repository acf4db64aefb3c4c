"""The Earth's magnetic field from the World Magnetic Model 2025: declination first of all, and how good it is.

The series is summed in Cartesian coordinates (`solid_harmonics`), so the poles are places like any other; only the
last turn to local north, east and down uses the longitude given. At a pole, north and east are those of that
meridian. The model is of the core's field alone: rock and magnetic storms add to it, on average by the standard
deviation stated, and iron near the compass by any amount.
"""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .angle import FloatArray
from .ellipsoid import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M
from .errors import DateOutsideModelError, NavigationError, OutOfRangeError
from .magnetic_model import load_model
from .solid_harmonics import gradient_matrix, solid_harmonics

__all__ = [
    "MAXIMUM_HEIGHT_M",
    "MINIMUM_HEIGHT_M",
    "MODEL_FIRST_DATE",
    "MODEL_LAST_DATE",
    "MODEL_NAME",
    "MagneticField",
    "check_date",
    "declination_at",
    "declination_sd",
    "field_at",
    "in_model",
]

_MODEL = load_model()
MODEL_NAME = _MODEL.name
MODEL_FIRST_DATE = _MODEL.first_date
MODEL_LAST_DATE = _MODEL.last_date

#: The model's first and last instant as decimal years. The last is the end of 31 December.
FIRST_YEAR = float(MODEL_FIRST_DATE.year)
LAST_YEAR = float(MODEL_LAST_DATE.year + 1)

#: "WMM2025 is valid between -1km and 850km, as outlined in the World Magnetic Model 2025 Technical Report":
#: MathWorks, Aerospace Blockset documentation, World Magnetic Model block, Limitations.
MINIMUM_HEIGHT_M = -1_000.0
MAXIMUM_HEIGHT_M = 850_000.0

#: The sphere that the coefficients refer to, the geomagnetic reference radius: WMM2025 technical report.
REFERENCE_RADIUS_M = 6_371_200.0

#: Declination's standard deviation is the root of the first squared plus (the second / H) squared: error model of the
#: WMM2025 technical report, as two libraries give it (pygeomag 1.1.0 and the crate world_magnetic_model 0.2.0).
SD_FLOOR_DEG = 0.26
SD_BY_FIELD_DEG_NT = 5417.0

#: Nothing is known of a direction that may be anything: no standard deviation is stated beyond this.
LARGEST_SD_DEG = 180.0

#: Divisors are not let under this horizontal field, so that the magnetic pole itself has finite answers. [nT]
SMALLEST_HORIZONTAL_NT = 1e-6

#: Rows worked on at a time: measured. Fewer pay more for calls, more fall out of the processor's cache; and from 794
#: rows on OpenBLAS shares the product out over threads, which then wait for each other on a busy machine.
CHUNK_ROWS = 768

#: Elements that numpy may buffer. With fewer than a chunk's it does not copy an array that is broadcast over orders,
#: which takes an eighth off the whole.
BUFFER_ELEMENTS = 512

#: Main field above its annual change, along x, y and z; the field is the gradient's negative.
_FIELD_MATRIX = -np.concatenate((gradient_matrix(_MODEL.main), gradient_matrix(_MODEL.change)))
_HARMONIC_DEGREE = _MODEL.main.shape[0]

#: What each row is given as, what it may be, and the error if it is not. Any number of turns is a longitude.
_INPUTS: list[tuple[str, float, float, type[NavigationError]]] = [
    ("lat_deg", -90.0, 90.0, OutOfRangeError),
    ("lon_deg", -sys.float_info.max, sys.float_info.max, OutOfRangeError),
    ("decimal_year", FIRST_YEAR, LAST_YEAR, DateOutsideModelError),
    ("height_m", MINIMUM_HEIGHT_M, MAXIMUM_HEIGHT_M, OutOfRangeError),
]
_LOWEST = np.array([[lowest] for _member, lowest, _highest, _error in _INPUTS])
_HIGHEST = np.array([[highest] for _member, _lowest, highest, _error in _INPUTS])


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
    lat_deg: ArrayLike, lon_deg: ArrayLike, decimal_year: ArrayLike, height_m: ArrayLike = 0.0
) -> MagneticField:
    """The magnetic field and its annual change.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Geodetic, WGS 84. Any longitude is taken. [degree]
    decimal_year : array_like
        Years as `decimal_year` gives them, from 2025.0 to 2030.0.
    height_m : array_like
        Above the ellipsoid. [metre]

    Raises
    ------
    DateOutsideModelError, OutOfRangeError
        Any row is outside the model's dates or heights, or is no place. Mask such rows first, with `in_model`.
    """
    vectors = _local_vectors(lat_deg, lon_deg, decimal_year, height_m, wanted=2)
    (north, east, down), (north_change, east_change, down_change) = vectors
    horizontal = np.hypot(north, east)
    total = np.hypot(horizontal, down)
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
        declination_change_deg=np.degrees((north * east_change - east * north_change) / divisor**2),
        inclination_change_deg=np.degrees((horizontal * down_change - down * horizontal_change) / total**2),
        declination_sd_deg=declination_sd(horizontal),
    )


def declination_at(
    lat_deg: ArrayLike, lon_deg: ArrayLike, decimal_year: ArrayLike, height_m: ArrayLike = 0.0
) -> FloatArray:
    """The declination alone, as `field_at` gives it, for less work. [degree], east positive in (-180, 180]"""
    ((north, east, _down),) = _local_vectors(lat_deg, lon_deg, decimal_year, height_m, wanted=1)
    return _declination(north, east)


def declination_sd(horizontal_nt: ArrayLike) -> FloatArray:
    """The standard deviation of the declination where the horizontal field is ``horizontal_nt``. [degree]

    It covers the model's own error, its ageing and the rock and currents it leaves out, on average over the world;
    it does not cover iron near the compass. At the magnetic pole it is `LARGEST_SD_DEG`.
    """
    divisor = np.maximum(horizontal_nt, SMALLEST_HORIZONTAL_NT)
    return np.minimum(np.hypot(SD_FLOOR_DEG, SD_BY_FIELD_DEG_NT / divisor), LARGEST_SD_DEG)


def in_model(decimal_year: ArrayLike) -> NDArray[np.bool_]:
    """Which of the dates the model holds for."""
    year = np.asarray(decimal_year, dtype=np.float64)
    return (year >= FIRST_YEAR) & (year <= LAST_YEAR)


def check_date(date: datetime.date) -> None:
    """Raise `DateOutsideModelError` for a date that the model does not hold for."""
    if not MODEL_FIRST_DATE <= date <= MODEL_LAST_DATE:
        raise DateOutsideModelError(
            f"{MODEL_NAME} does not hold for {date}",
            member="date",
            value=date.isoformat(),
            allowed=f"{MODEL_FIRST_DATE} to {MODEL_LAST_DATE}",
        )


def _local_vectors(
    lat_deg: ArrayLike, lon_deg: ArrayLike, decimal_year: ArrayLike, height_m: ArrayLike, wanted: int
) -> FloatArray:
    """The field, and its annual change if two vectors are wanted, along local north, east and down.

    Shape (wanted, 3, *broadcast); [nT], [nT a year].
    """
    given = [np.asarray(value, dtype=np.float64) for value in (lat_deg, lon_deg, decimal_year, height_m)]
    shape = np.broadcast(*given).shape
    rows = np.empty((4, *shape))
    for index, value in enumerate(given):
        rows[index, ...] = value
    rows = rows.reshape(4, -1)
    _check_rows(rows)
    vectors = np.empty((wanted, 3, rows.shape[1]))
    with _buffer_of(BUFFER_ELEMENTS):
        for start in range(0, rows.shape[1], CHUNK_ROWS):
            chunk = slice(start, start + CHUNK_ROWS)
            vectors[:, :, chunk] = _chunk_vectors(rows[:, chunk], wanted)
    return vectors.reshape(wanted, 3, *shape)


@contextmanager
def _buffer_of(elements: int) -> Iterator[None]:
    usual = np.setbufsize(elements)
    try:
        yield
    finally:
        np.setbufsize(usual)


def _chunk_vectors(rows: FloatArray, wanted: int) -> FloatArray:
    """`_local_vectors` of so few rows that all stays in the processor's cache; shape (wanted, 3, rows)."""
    lat_deg, lon_deg, decimal_year, height_m = rows
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    sin_lat, cos_lat, sin_lon, cos_lon = np.sin(lat), np.cos(lat), np.sin(lon), np.cos(lon)
    normal = SEMI_MAJOR_AXIS_M / np.sqrt(1.0 - ECCENTRICITY_SQUARED * sin_lat * sin_lat)
    from_axis = (normal + height_m) * cos_lat / REFERENCE_RADIUS_M
    from_equator = (normal * (1.0 - ECCENTRICITY_SQUARED) + height_m) * sin_lat / REFERENCE_RADIUS_M
    harmonics = solid_harmonics(from_axis * cos_lon, from_axis * sin_lon, from_equator, _HARMONIC_DEGREE)
    field = (_FIELD_MATRIX @ harmonics).reshape(2, 3, -1)
    field[0] += (decimal_year - _MODEL.epoch) * field[1]
    along_x, along_y, along_z = field[:wanted, 0], field[:wanted, 1], field[:wanted, 2]
    outward = cos_lon * along_x + sin_lon * along_y
    north = cos_lat * along_z - sin_lat * outward
    east = cos_lon * along_y - sin_lon * along_x
    down = -cos_lat * outward - sin_lat * along_z
    return np.stack((north, east, down), axis=1)


def _declination(north: FloatArray, east: FloatArray) -> FloatArray:
    """The direction of the horizontal field, in (-180, 180], without -0.0. [degree]"""
    declination = np.degrees(np.arctan2(east, north))
    return np.where(declination <= -180.0, 180.0, declination) + 0.0


def _check_rows(rows: FloatArray) -> None:
    """Raise the error of the first of `_INPUTS` that any row is outside of; not a number always is."""
    inside = (rows >= _LOWEST) & (rows <= _HIGHEST)
    if inside.all():
        return
    index = int(np.argmin(inside.all(axis=1)))
    member, lowest, highest, error = _INPUTS[index]
    value = float(rows[index][~inside[index]][0])
    allowed = f"{lowest:g} to {highest:g}"
    raise error(f"{member} is {value:g}, not {allowed}", member=member, value=value, allowed=allowed)
