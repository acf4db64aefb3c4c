"""A compass's own error, from readings on directions that are known: two places on the map, a survey's azimuth, the sun.

An error is the reading less the correct direction, positive where the compass reads too much, as in a fix. A book on
adjusting compasses counts deviation the other way, correct less compass, east positive: its coefficients A, B and C are
those here with the sign turned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth, normalise_signed
from ..cautions import Caution, caution
from ..errors import TooFewReadingsError
from ..estimates.estimate import checked
from .compass_chance import largest_variance_factor, normal_chance, student_chance
from .compass_deviation import Deviation, deviation_of

__all__ = ["CompassCheck", "check_compass"]

#: Directions are taken a turn to either side of the circle, so that sums need no normalising. [degree]
ANGLE_RANGE_DEG = (-360.0, 720.0)

#: Standard deviations of a reading that are taken, and the least that a known direction adds to none. [degree]
SD_RANGE_DEG = (0.001, 45.0)

#: An error is called found when it is over two of its standard deviations: 95 per cent.
FOUND_SD = 2.0

#: A reading is suspect when chance would put one of so many so far off in one case of a hundred.
SUSPECT_CHANCE = 0.01

#: A compass error beyond this is cautioned: common practice, no source. [degree]
_LARGE_ERROR_DEG = 10.0


@dataclass(frozen=True, slots=True)
class CompassCheck:
    """What n readings tell of a compass. [degree]

    ``error_deg`` is the weighted mean of the errors, in (-180, 180], and ``error_sd_deg`` its standard deviation: from those
    stated, widened where the readings disagree, and with what the known directions share. ``found`` says whether that
    differs from no error. ``errors_deg`` (n,) and ``residuals_deg`` (n,), their difference from the mean.

    ``variance_factor`` is what the residuals are over what they should be, squared, and ``agree`` whether chance explains it;
    both ``None`` of a single reading. ``suspect`` is the reading that most likely is a blunder, and ``rest`` the same check
    without it; both ``None`` where there is none. ``deviation`` is ``None`` where the readings are too few or in one part of
    the horizon.
    """

    error_deg: float
    error_sd_deg: float
    found: bool
    errors_deg: FloatArray
    residuals_deg: FloatArray
    variance_factor: float | None
    agree: bool | None
    suspect: int | None
    rest: CompassCheck | None
    deviation: Deviation | None
    cautions: tuple[Caution, ...]


def check_compass(
    reading_deg: ArrayLike,
    known_azimuth_deg: ArrayLike,
    reading_sd_deg: ArrayLike,
    known_sd_deg: ArrayLike = 0.0,
    shared_sd_deg: float = 0.0,
) -> CompassCheck:
    """The compass's error from readings on known directions, all from the north that the compass is set to.

    Parameters
    ----------
    reading_deg, known_azimuth_deg : array_like, shape (n,)
        What was read, and what should have been: of a magnetic compass a true azimuth less the declination. [degree]
    reading_sd_deg, known_sd_deg : array_like, shape (n,) or one for all
        Standard deviations of each, 0.001 to 45 and 0 to 45. [degree]
    shared_sd_deg : float
        Standard deviation of what turns all the known directions alike: that of the declination. [degree]

    Raises
    ------
    TooFewReadingsError
        There is no reading.
    OutOfRangeError
        A value is out of its range.
    """
    reading, known, reading_sd, known_sd = np.broadcast_arrays(
        normalise_azimuth(np.atleast_1d(checked("reading_deg", reading_deg, *ANGLE_RANGE_DEG))),
        normalise_azimuth(np.atleast_1d(checked("known_azimuth_deg", known_azimuth_deg, *ANGLE_RANGE_DEG))),
        checked("reading_sd_deg", reading_sd_deg, *SD_RANGE_DEG),
        checked("known_sd_deg", known_sd_deg, 0.0, SD_RANGE_DEG[1]),
    )
    shared = float(checked("shared_sd_deg", shared_sd_deg, 0.0, 180.0))
    if not reading.size:
        raise TooFewReadingsError("there is no reading", member="readings", allowed="one reading or more")
    return _check(reading, normalise_signed(reading - known), np.hypot(reading_sd, known_sd), shared)


def _check(reading: FloatArray, errors: FloatArray, sd: FloatArray, shared: float) -> CompassCheck:
    weight = sd**-2.0
    mean = _mean(errors, weight)
    residuals = normalise_signed(errors - mean)
    freedom = len(errors) - 1
    factor = float(np.sum(residuals**2 * weight)) / freedom if freedom else None
    agree = None if factor is None else factor <= largest_variance_factor(freedom)
    widened = 1.0 if factor is None or agree else factor
    error_sd = math.hypot(math.sqrt(widened / float(np.sum(weight))), shared)
    suspect = _suspect(errors, sd)
    without = np.arange(len(errors)) != suspect
    rest = None if suspect is None else _check(reading[without], errors[without], sd[without], shared)
    deviation = deviation_of(reading, residuals + mean, sd)
    return CompassCheck(
        error_deg=mean,
        error_sd_deg=error_sd,
        found=abs(mean) > FOUND_SD * error_sd,
        errors_deg=errors,
        residuals_deg=residuals,
        variance_factor=factor,
        agree=agree,
        suspect=suspect,
        rest=rest,
        deviation=deviation,
        cautions=_cautions(mean, agree, suspect, deviation),
    )


def _mean(errors: FloatArray, weight: FloatArray) -> float:
    """The weighted mean, counted from the error that lies nearest to all the others: 359 and 1 make 0."""
    apart = normalise_signed(errors[:, None] - errors)
    middle = errors[np.argmin(np.abs(apart) @ weight)]
    return float(normalise_signed(middle + normalise_signed(errors - middle) @ weight / np.sum(weight)))


def _suspect(errors: FloatArray, sd: FloatArray) -> int | None:
    """The reading that chance explains least, if less than `SUSPECT_CHANCE` in all; of two, neither can be told."""
    if len(errors) < 3:
        return None
    chances = [_chance(errors, sd, index) for index in range(len(errors))]
    worst = int(np.argmin(chances))
    return worst if chances[worst] * len(errors) < SUSPECT_CHANCE else None


def _chance(errors: FloatArray, sd: FloatArray, index: int) -> float:
    """The chance that one reading lies so far from the others.

    Where these agree it is by the normal law; where not, their own scatter is taken instead of the standard deviations
    stated, and Student's law.
    """
    others = np.arange(len(errors)) != index
    weight = sd[others] ** -2.0
    mean = _mean(errors[others], weight)
    freedom = len(errors) - 2
    factor = float(np.sum(normalise_signed(errors[others] - mean) ** 2 * weight)) / freedom
    distance = abs(float(normalise_signed(errors[index] - mean)))
    standardised = distance / math.sqrt(sd[index] ** 2 + 1.0 / float(np.sum(weight)))
    if factor <= largest_variance_factor(freedom):
        return normal_chance(standardised)
    return student_chance(standardised / math.sqrt(factor), freedom)


def _cautions(
    mean: float, agree: bool | None, suspect: int | None, deviation: Deviation | None
) -> tuple[Caution, ...]:
    found = []
    if agree is None:
        found.append(caution("single_reading"))
    if agree is False:
        found.append(caution("readings_disagree"))
    if suspect is not None:
        message = f"Reading {suspect + 1} does not go with the others: suspect a blunder in it; see the check without it."
        found.append(caution("reading_suspect", message))
    if abs(mean) > _LARGE_ERROR_DEG:
        message = (
            f"The compass error found is {mean:+.1f} degrees: look for iron, a wrong north or a wrong mark before you "
            "trust it."
        )
        found.append(caution("large_compass_error", message))
    if deviation is not None and deviation.found:
        found.append(caution("compass_deviates"))
    return tuple(found)
