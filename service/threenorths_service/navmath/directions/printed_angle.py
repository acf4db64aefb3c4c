"""A sheet's printed angle of magnetic north carried to a date: by the sheet's annual change, and by the magnetic model.

The sheet says how its angle changes in a year as it was known when it was printed, and takes it to stay so; the model says
what the field has done since. The answers are given side by side with how good each is, and whether the printed angle
agreed with the model in its own year. All is row-wise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_signed
from ..cautions import Caution, caution
from ..errors import DateOutsideModelError
from ..magnetism.magnetic import LARGEST_SD_DEG, SMALLEST_HORIZONTAL_NT, MagneticField, core_sd, field_at
from ..rows import BoolArray

__all__ = [
    "CHANGE_STEP_DEG",
    "MODEL_SDS",
    "NOTICED_DEG",
    "PRINTED_STEP_DEG",
    "CarriedAngle",
    "Comparison",
    "EstimatedAngle",
    "carried_cautions",
    "carry_printed_angle",
    "steady_change_sd",
]

#: Margins print angles to half a degree or finer: US Army TC 3-25.26, para 6-11, as remembered (from memory).
PRINTED_STEP_DEG = 0.5

#: Margins print the annual change to a minute or finer: common practice, no source. [degree a year]
CHANGE_STEP_DEG = 1.0 / 60.0

#: A difference of so many standard deviations is taken for a disagreement.
MODEL_SDS = 2.0

#: Less than this is not noticed on a compass, whose dial is read to half a degree: common practice, no source.
NOTICED_DEG = 0.5

#: The standard deviation of what rounding takes, in steps: that of an even spread from half a step under to half above.
ROUNDING_SD = 1.0 / math.sqrt(12.0)

#: What a change that is taken to stay as it was misses after t years: ``FIRST t (1 + t / DOUBLED) / H`` degrees, one
#: standard deviation. Ours, fitted to the IGRF-14 all over the world outside the magnetic poles; the tests hold it against
#: that. [degree nT a year], [year]
STEADY_CHANGE_DEG_NT = 850.0
STEADY_CHANGE_DOUBLED_YEARS = 100.0


@dataclass(frozen=True, slots=True)
class EstimatedAngle:
    """An angle as the one that a compass finds at the place, with one standard deviation. [degree], in (-180, 180]"""

    angle_deg: FloatArray
    sd_deg: FloatArray


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a sheet prints against what the model says, and whether they agree. [degree]

    ``difference_deg`` is the printed less the modelled, in (-180, 180]; ``allowance_deg`` is the most that it may be.
    """

    printed_deg: FloatArray
    model_deg: FloatArray
    difference_deg: FloatArray
    allowance_deg: FloatArray
    agrees: BoolArray


@dataclass(frozen=True, slots=True)
class CarriedAngle:
    """A printed angle in its own year and carried to a date; arrays of one shape, angles east positive.

    ``by_sheet`` and ``change`` are ``None`` where the sheet prints no annual change.
    """

    #: From the printed year to the date, negative for an earlier date.
    years: FloatArray
    #: The printed angle in its own year.
    in_its_year: Comparison
    #: The printed angle and as many years of the sheet's annual change.
    by_sheet: EstimatedAngle | None
    #: The printed angle and what the model changed by since.
    by_model: EstimatedAngle
    #: By the model of the date alone, whatever is printed.
    model_alone: EstimatedAngle
    #: The change since the printed year.
    change: Comparison | None


def carry_printed_angle(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    printed_deg: ArrayLike,
    printed_year: ArrayLike,
    annual_change_deg: ArrayLike | None,
    decimal_year: ArrayLike,
    *,
    convergence_deg: ArrayLike = 0.0,
    height_m: ArrayLike = 0.0,
    printed_step_deg: ArrayLike = PRINTED_STEP_DEG,
    change_step_deg: ArrayLike = CHANGE_STEP_DEG,
) -> CarriedAngle:
    """A printed angle carried to a later or an earlier date, by the sheet and by the model of each date.

    Parameters
    ----------
    lat_deg, lon_deg, height_m : array_like
        The place that the angle is for, such as the sheet's middle; as for `magnetic.field_at`.
    printed_deg : array_like
        A declination, or with ``convergence_deg`` a grid-magnetic angle, east positive. [degree]
    printed_year, decimal_year : array_like
        Of the printed angle, and to carry it to.
    annual_change_deg : array_like or None
        As the sheet prints it, eastward positive. [degree a year]
    convergence_deg : array_like
        Of the grid that the angle is printed from, east positive; 0 for a declination. [degree]
    printed_step_deg, change_step_deg : array_like
        What the angle and its change are rounded to in print.

    Raises
    ------
    DateOutsideModelError, OutOfRangeError
        Any row is outside the dates or heights of the models, or is no place.
    """
    given = (lat_deg, lon_deg, height_m, printed_deg, printed_year, decimal_year, convergence_deg)
    change_given = 0.0 if annual_change_deg is None else annual_change_deg
    columns = (*given, printed_step_deg, change_step_deg, change_given)
    lat, lon, height, printed, printed_year, decimal_year, convergence, step, change_step, annual_change = (
        np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in columns))
    )
    then = _field_in(printed_year, "printed_year", lat, lon, height)
    now = _field_in(decimal_year, "decimal_year", lat, lon, height)
    years = decimal_year - printed_year
    model_then, model_now = (normalise_signed(field.declination_deg - convergence) for field in (then, now))
    model_change = normalise_signed(model_now - model_then)
    # What a sheet prints was taken from a field that was known no better than the model of its year is. And nothing is
    # taken off for the rock that the models of both years leave out alike: what the sheet holds of it is not known.
    printed_sd = _root_of_squares(step * ROUNDING_SD, then.declination_sd_deg)
    by_sheet = change = None
    if annual_change_deg is not None:
        sheet_change, rounding = annual_change * years, change_step * np.abs(years)
        steady = steady_change_sd(years, np.minimum(then.horizontal_nt, now.horizontal_nt))
        by_sheet = EstimatedAngle(
            normalise_signed(printed + sheet_change),
            _root_of_squares(printed_sd, rounding * ROUNDING_SD, steady),
        )
        core = np.hypot(core_sd(then.horizontal_nt, printed_year), core_sd(now.horizontal_nt, decimal_year))
        change = _compared(
            sheet_change, model_change, np.maximum(NOTICED_DEG, rounding / 2.0 + MODEL_SDS * core)
        )
    return CarriedAngle(
        years=years,
        in_its_year=_compared(printed, model_then, step / 2.0 + MODEL_SDS * then.declination_sd_deg),
        by_sheet=by_sheet,
        by_model=EstimatedAngle(
            normalise_signed(printed + model_change), _root_of_squares(printed_sd, now.declination_sd_deg)
        ),
        model_alone=EstimatedAngle(model_now, now.declination_sd_deg),
        change=change,
    )


def steady_change_sd(years: ArrayLike, horizontal_nt: ArrayLike) -> FloatArray:
    """What an annual change misses by after ``years``, since it does not stay what it was: one sd. [degree]"""
    elapsed = np.abs(years)
    missed_deg_nt = STEADY_CHANGE_DEG_NT * elapsed * (1.0 + elapsed / STEADY_CHANGE_DOUBLED_YEARS)
    return np.minimum(missed_deg_nt / np.maximum(horizontal_nt, SMALLEST_HORIZONTAL_NT), LARGEST_SD_DEG)


def carried_cautions(carried: CarriedAngle) -> list[Caution]:
    """What to beware of in one printed angle that was carried: against the model of its year, and by its change since."""
    found = []
    own, change = carried.in_its_year, carried.change
    if not own.agrees:
        message = (
            f"The printed angle is {float(own.printed_deg):+.2f} degrees, by the model of its year it was "
            f"{float(own.model_deg):+.2f}: {_apart(own)}. A sign, a place or a year is wrong."
        )
        found.append(caution("sheet_angle_disagrees", message))
    if change is not None and not change.agrees:
        message = (
            f"Over {abs(float(carried.years)):.1f} years the angle changes by {float(change.printed_deg):+.2f} degrees as "
            f"the sheet says, by {float(change.model_deg):+.2f} by the model: {_apart(change)}. Use that by "
            f"the model: it is now {float(carried.model_alone.angle_deg):+.2f} degrees."
        )
        found.append(caution("sheet_change_disagrees", message))
    return found


def _apart(compared: Comparison) -> str:
    apart, allowed = abs(float(compared.difference_deg)), float(compared.allowance_deg)
    return f"{apart:.2f} degrees apart, where {allowed:.2f} can be explained"


def _compared(printed: FloatArray, model: FloatArray, allowance: FloatArray) -> Comparison:
    difference = normalise_signed(printed - model)
    return Comparison(printed, model, difference, allowance, np.abs(difference) <= allowance)


def _field_in(
    year: FloatArray, member: str, lat_deg: FloatArray, lon_deg: FloatArray, height_m: FloatArray
) -> MagneticField:
    """The field in the year that the caller's ``member`` gives, which an error then names."""
    try:
        return field_at(lat_deg, lon_deg, year, height_m)
    except DateOutsideModelError as error:
        error.member = member
        raise


def _root_of_squares(*sds_deg: FloatArray) -> FloatArray:
    return np.minimum(np.sqrt(sum(np.square(sd) for sd in sds_deg)), LARGEST_SD_DEG)
