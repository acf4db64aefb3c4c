"""Calendar dates as decimal years, the time scale of the magnetic model."""

from __future__ import annotations

import calendar
import datetime

__all__ = ["decimal_year"]


def decimal_year(date: datetime.date) -> float:
    """The year plus the days since its 1 January over the days it has, so that a leap year is divided by 366.

    >>> decimal_year(datetime.date(2028, 7, 2))
    2028.5
    """
    days_in_year = 366 if calendar.isleap(date.year) else 365
    return date.year + (date.timetuple().tm_yday - 1) / days_in_year
