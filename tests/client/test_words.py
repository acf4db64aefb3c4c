"""Numbers in words."""

import datetime

import pytest

from threenorths.command_line import words
from threenorths.command_line.options import number_or_text
from threenorths.command_line.tables import aligned


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0.0"), (78.04, "78.0"), (359.94, "359.9"), (359.96, "0.0"), (None, "-")],
)
def test_an_azimuth_never_rounds_to_the_full_circle(value: float | None, text: str) -> None:
    assert words.azimuth(value) == text


def test_nor_do_mils_and_gradians() -> None:
    assert words.mils(6399.6, 6400) == "0"
    assert words.mils(6399.4, 6400) == "6399"
    assert words.mils(6299.5, 6300) == "0"
    assert words.gradians(399.96) == "0.0"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (4.23, "4.2 degrees east"),
        (-4.23, "4.2 degrees west"),
        (0.04, "0.0 degrees"),
        (-0.04, "0.0 degrees"),
        (0.06, "0.1 degrees east"),
        (None, "not known"),
    ],
)
def test_east_and_west_are_words(value: float | None, text: str) -> None:
    assert words.east_west(value) == text


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [(0.44, 1, "+0.4"), (-0.46, 1, "-0.5"), (-0.04, 1, "0.0"), (0.0, 1, "0.0"), (-0.0041, 3, "-0.004")],
)
def test_a_sign_is_never_before_nothing(value: float, places: int, text: str) -> None:
    assert words.signed(value, places) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(2500.4, "2,500 m"), (12.6, "13 m"), (9.94, "9.9 m"), (0.0123, "0.012 m"), (0.0, "0.000 m")],
)
def test_lengths(value: float, text: str) -> None:
    assert words.length_m(value) == text


@pytest.mark.parametrize(
    ("value", "text"), [(0.42, ", give or take 0.4"), (0.0042, ", give or take 0.004"), (None, "")]
)
def test_give_or_take(value: float | None, text: str) -> None:
    assert words.give_or_take(value) == text


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("78", 78.0),
        ("0800", 800.0),
        (" 4.5 ", 4.5),
        (".5", 0.5),
        ("5.", 5.0),
        ("N 45 E", "N 45 E"),
        ("45 30 15", "45 30 15"),
        ("nan", "nan"),
        ("1e3", "1e3"),
        ("1_000", "1_000"),
        ("-5", "-5"),
        ("٣", "٣"),
        ("1:25,000", "1:25,000"),
    ],
)
def test_only_a_plain_number_is_a_number(text: str, value: float | str) -> None:
    assert number_or_text(text) == value


@pytest.mark.parametrize(
    ("value", "sd", "text"),
    [
        (2400.4, 72.3, "2,400 m, give or take 72 m"),
        (63.27, 3.42, "63.3 m, give or take 3.4 m"),
        (17.5, 0.923, "17.5 m, give or take 0.9 m"),
        (0.8, 0.0412, "0.800 m, give or take 0.041 m"),
    ],
)
def test_a_length_is_as_fine_as_its_spread(value: float, sd: float, text: str) -> None:
    assert words.length_with_sd_m(value, sd) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(3.76, "3.8 min"), (36.0, "36 min"), (59.7, "1 h 0 min"), (85.2, "1 h 25 min"), (6000, "100 h 0 min")],
)
def test_times(value: float, text: str) -> None:
    assert words.minutes(value) == text


def test_columns_begin_below_each_other() -> None:
    assert aligned([("Degrees", "83.9", "78.0"), ("Mils", "1492"), ("", "x", "y")]) == [
        "Degrees  83.9  78.0",
        "Mils     1492",
        "         x     y",
    ]
    assert aligned([]) == []


def test_a_moment_is_by_its_own_clock() -> None:
    moment = datetime.datetime(2026, 11, 24, 14, 56, 9, 400_000, tzinfo=datetime.UTC)
    assert words.moment(moment) == "2026-11-24 14:56:09 UTC"
    west = datetime.timezone(-datetime.timedelta(hours=3, minutes=30))
    assert words.moment(moment.astimezone(west)) == "2026-11-24 11:26:09-03:30"
