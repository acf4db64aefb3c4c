from __future__ import annotations

import datetime

import pytest

from published import rows
from threenorths_service.navmath.magnetism.decimal_year import decimal_year

DATED_EXAMPLES = {row["id"]: row for row in rows("wmm2025_examples") if row["calendar_date"]}


@pytest.mark.parametrize(
    ("date", "year"),
    [
        ("2025-01-01", 2025.0),
        ("2025-12-31", 2025 + 364 / 365),
        ("2028-02-28", 2028 + 58 / 366),
        ("2028-02-29", 2028 + 59 / 366),
        ("2028-03-01", 2028 + 60 / 366),
        ("2028-12-31", 2028 + 365 / 366),
        ("2029-12-31", 2029 + 364 / 365),
        ("1900-12-31", 1900 + 364 / 365),  # a century that is no leap year
        ("2000-12-31", 2000 + 365 / 366),  # one that is
    ],
)
def test_a_date_is_its_year_and_the_days_gone_by_over_the_days_it_has(date, year):
    assert decimal_year(datetime.date.fromisoformat(date)) == year


@pytest.mark.parametrize("example", DATED_EXAMPLES.values(), ids=DATED_EXAMPLES.keys())
def test_dates_of_the_published_examples(example):
    # Listed to 9 decimals.
    date = datetime.date.fromisoformat(example["calendar_date"])
    assert decimal_year(date) == pytest.approx(float(example["decimal_year"]), abs=0.5e-9)


def test_every_day_of_the_model_is_later_than_the_day_before_and_within_its_year():
    days = [datetime.date(2025, 1, 1) + datetime.timedelta(days=n) for n in range(5 * 365 + 1)]
    years = [decimal_year(day) for day in days]
    assert days[-1] == datetime.date(2029, 12, 31)
    assert years == sorted(set(years))
    assert [int(year) for year in years] == [day.year for day in days]
