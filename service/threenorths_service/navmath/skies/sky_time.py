"""Moments for the sky: UTC as numpy has it, the days that the theories count, and decimal years."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..errors import OutOfRangeError

__all__ = [
    "END_MOMENT",
    "FIRST_MOMENT",
    "J2000_DAY",
    "MomentArray",
    "decimal_years",
    "moments",
    "terrestrial_days",
    "universal_days",
]

MomentArray = NDArray[np.datetime64]

#: From the first moment to the end the sky was held against a second theory; outside it nothing is answered.
FIRST_MOMENT = np.datetime64("1900-01-01T00:00:00.000")
END_MOMENT = np.datetime64("2050-01-01T00:00:00.000")

#: The epoch that days are counted from, as a Julian date: noon of 1 January 2000.
J2000_DAY = 2451545.0
_J2000 = np.datetime64("2000-01-01T12:00:00.000")
_DAY = np.timedelta64(86_400_000, "ms")

#: Terrestrial time less universal time, every ten years from 1900. Values of F. R. Stephenson, L. V. Morrison and C. Y.
#: Hohenkerk, "Measurement of the Earth's rotation: 720 BC to AD 2015", Proceedings of the Royal Society A 472, 2016,
#: doi:10.1098/rspa.2016.0404, and of the IERS, as the library skyfield 1.55 gives them; foretold after 2020. Between
#: them a line is within 2 s, in which the moon moves by 0.0003 degree. [second]
_TERRESTRIAL_LESS_UNIVERSAL_S = (
    *(-1.98, 11.14, 21.62, 24.42, 24.42, 28.93, 33.07, 39.93),
    *(50.54, 56.86, 63.83, 66.07, 69.36, 69.08, 69.72, 71.44),
)
_TABLE_YEARS = np.arange(1900.0, 2051.0, 10.0)
_S_PER_DAY = 86_400.0
_DAYS_PER_YEAR = 365.25


def moments(moment: ArrayLike) -> MomentArray:
    """The moments, UTC, as ``datetime64[ms]``.

    Raises
    ------
    OutOfRangeError
        A moment is before `FIRST_MOMENT`, not before `END_MOMENT`, or none at all.
    """
    array: MomentArray = np.asarray(moment, dtype="datetime64[ms]")
    wrong = ~((array >= FIRST_MOMENT) & (array < END_MOMENT))  # true of "not a time" as well
    if np.any(wrong):
        value = str(array[wrong][0])
        raise OutOfRangeError(
            f"moment is {value}",
            member="moment",
            value=value,
            allowed="1900-01-01 to 2049-12-31, UTC",
        )
    return array


def universal_days(moment: MomentArray) -> FloatArray:
    """Days of universal time since `J2000_DAY`.

    UTC is taken for UT1, which it is kept within 0.9 s of since 1972: the earth turns by 0.004 degree in that.
    Before 1972 broadcast time was kept as near, or nearer.
    """
    return np.asarray((moment - _J2000) / _DAY, dtype=np.float64)


def terrestrial_days(universal: FloatArray) -> FloatArray:
    """Days of terrestrial time since `J2000_DAY`, the argument of the theories, from those of universal time."""
    years = 2000.0 + universal / _DAYS_PER_YEAR
    return universal + np.interp(years, _TABLE_YEARS, _TERRESTRIAL_LESS_UNIVERSAL_S) / _S_PER_DAY


def decimal_years(moment: MomentArray) -> FloatArray:
    """The year plus the part of it that has passed, as `decimal_year.decimal_year` counts whole days."""
    year = moment.astype("datetime64[Y]")
    start, end = year.astype("datetime64[ms]"), (year + 1).astype("datetime64[ms]")
    return np.asarray(1970.0 + year.astype(np.int64) + (moment - start) / (end - start), dtype=np.float64)
