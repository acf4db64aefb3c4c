"""Moments of requests and answers: ISO 8601 with an offset, and nothing that merely looks like it."""

from __future__ import annotations

import datetime
import time

import numpy as np
import pytest

from threenorths_service.operations.moments import at_offset_of, read_moment, universal

PLACE = {"lat_deg": 47.5, "lon_deg": 11.1}


def twilights(start):
    return {"position": PLACE, "start": start, "hours": 1}


@pytest.mark.parametrize(
    ("text", "utc", "echoed"),
    [
        ("2026-11-25T16:30Z", "2026-11-25T16:30", "2026-11-25T16:30:00Z"),
        ("2026-11-25T17:30:15+01:00", "2026-11-25T16:30:15", "2026-11-25T17:30:15+01:00"),
        ("2026-11-25T00:15-03:30", "2026-11-25T03:45", "2026-11-25T00:15:00-03:30"),
        ("2024-02-29T23:59:59.5+05:45", "2024-02-29T18:14:59.500", "2024-02-29T23:59:59.500000+05:45"),
    ],
)
def test_a_moment_is_read_by_its_offset_and_echoed_by_its_clock(post, text, utc, echoed):
    assert universal(read_moment(text, "moment")) == np.datetime64(utc)
    assert post("twilights", twilights(text))["start"] == echoed


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25T16:30",
        "2026-11-25",
        "2026-11-25 16:30Z",
        "20261125T1630Z",
        "2026-W48-3T16:30Z",
        "2026-11-25T16:30z",
        "2026-11-25T16:30+01",
        "2026-11-25T16:30Z\n",
        "\u0662026-11-25T16:30Z",
        "today",
        "",
        1764088200,
        None,
    ],
)
def test_what_is_no_moment_with_an_offset_is_refused(refuse, text):
    refuse("twilights", twilights(text), "invalid_request", "/start")


@pytest.mark.parametrize(
    "text",
    [
        "2026-02-29T12:00Z",
        "2026-13-01T12:00Z",
        "2026-11-25T24:00Z",
        "2026-11-25T12:00:60Z",
        "2026-11-25T12:00+24:00",
        "0000-01-01T00:00Z",
        "0001-01-01T00:00+14:00",
        "9999-12-31T23:59-14:00",
        "1899-12-31T23:59Z",
        "2050-01-01T00:00+00:00",
        "1900-01-01T00:00+01:00",
    ],
)
def test_a_moment_that_there_is_not_or_that_is_out_of_the_years_is_named(refuse, text):
    refuse("twilights", twilights(text), "out_of_range", "/start")


def test_a_span_that_ends_after_the_years_names_its_start(refuse):
    refuse("twilights", twilights("2049-12-31T23:30Z"), "out_of_range", "/start")


def test_now_is_the_services_clock_and_is_echoed(post):
    before = int(time.time())
    said = datetime.datetime.fromisoformat(post("twilights", twilights("now"))["start"])
    assert before <= said.timestamp() <= time.time()
    assert said.utcoffset() == datetime.timedelta(0)


def test_a_moment_is_given_to_the_nearest_second_by_the_clock_of_the_one_given():
    given = read_moment("2026-11-25T17:30-03:30", "moment")
    assert (
        at_offset_of(given, np.datetime64("2026-11-25T23:59:59.600")).isoformat()
        == "2026-11-25T20:30:00-03:30"
    )
    assert (
        at_offset_of(given, np.datetime64("1931-01-01T00:00:00.400")).isoformat()
        == "1930-12-31T20:30:00-03:30"
    )
