"""Twilights through HTTP: published risings, settings and phases, and polar nights."""

from __future__ import annotations

import datetime
from itertools import pairwise

import numpy as np
import pytest

from published import rows
from threenorths_service.navmath.skies.sky_twilight import SkyEvent

ROWS = rows("sky_examples")
EVENTS = [row for row in ROWS if row["kind"] in SkyEvent.__members__]
FRACTIONS = [row for row in ROWS if row["kind"] == "illuminated_fraction"]
CAMP = {"lat_deg": 50, "lon_deg": 8}


def over(post, position=CAMP, start="2025-10-10T13:00:00+02:00", **members):
    return post("twilights", {"position": position, "start": start, **members})


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


@pytest.mark.parametrize("row", EVENTS, ids=[row["id"] for row in EVENTS])
def test_events_of_published_tables(post, row):
    printed = np.datetime64(row["moment"], "s")
    position = {"lat_deg": float(row["lat_deg"]), "lon_deg": float(row["lon_deg"])}
    answer = over(post, position, f"{printed - np.timedelta64(3, 'h')}Z", hours=6, step_min=360)
    moments = [
        np.datetime64(each["moment"].removesuffix("Z"))
        for each in answer["events"]
        if each["event"] == row["kind"].lower()
    ]
    off_s = min(abs((moment - printed) / np.timedelta64(1, "s")) for moment in moments)
    assert off_s <= float(row["tolerance"]) + 0.5  # events are given to a second


@pytest.mark.parametrize("row", FRACTIONS, ids=[row["id"] for row in FRACTIONS])
def test_the_lit_part_of_the_moon_is_the_published_one_in_the_middle(post, row):
    start = np.datetime64(row["moment"], "s") - np.timedelta64(12, "h")
    answer = over(post, start=f"{start}Z")
    assert answer["illuminated_fraction"] == pytest.approx(
        float(row["expected"]), abs=float(row["tolerance"])
    )


def test_a_night_in_its_order_by_the_clock_that_was_given(post):
    answer = over(post)
    moments = [datetime.datetime.fromisoformat(each["moment"]) for each in answer["events"]]
    assert moments == sorted(moments)
    assert {moment.utcoffset() for moment in moments} == {datetime.timedelta(hours=2)}
    assert [each["event"] for each in answer["events"] if not each["event"].startswith("moon")] == [
        *("sunset", "civil_dusk", "nautical_dusk", "astronomical_dusk"),
        *("astronomical_dawn", "nautical_dawn", "civil_dawn", "sunrise"),
    ]
    assert (answer["lightest"], answer["darkest"]) == ("daylight", "night")
    assert answer["hours"] == 24
    assert codes(answer) == ["level_horizon"]


def test_the_same_moments_by_another_clock(post):
    here, there = over(post), over(post, start="2025-10-10T11:00Z")
    for one, other in zip(here["events"], there["events"], strict=True):
        assert datetime.datetime.fromisoformat(one["moment"]) == datetime.datetime.fromisoformat(
            other["moment"]
        )


def test_the_steps_are_even_and_moonlight_is_told_in_the_dark_only(post):
    answer = over(post, hours=48, step_min=90)
    moments = [datetime.datetime.fromisoformat(each["moment"]) for each in answer["steps"]]
    assert len(moments) == 33
    assert {later - one for one, later in pairwise(moments)} == {datetime.timedelta(minutes=90)}
    for step in answer["steps"]:
        assert (step["moonlight"] is None) == (step["sunlight"] == "daylight")
        assert (step["sunlight"] == "night") == (step["sun_altitude_deg"] < -18)


@pytest.mark.parametrize(
    ("lat", "start", "status", "darkest"),
    [
        (75, "2025-06-21T12:00Z", "up_throughout", "daylight"),
        (75, "2025-12-21T12:00Z", "down_throughout", "night"),
        (-90, "2025-12-21T12:00Z", "up_throughout", "daylight"),
        (62, "2025-06-21T12:00Z", "rises_or_sets", "civil_twilight"),
    ],
)
def test_polar_days_and_nights_are_named(post, lat, start, status, darkest):
    answer = over(post, {"lat_deg": lat, "lon_deg": 10}, start)
    assert (answer["sun_status"], answer["darkest"]) == (status, darkest)


def test_the_moon_has_a_status_of_its_own(post):
    # A waxing moon far north of the equator, in polar night.
    answer = over(post, {"lat_deg": 78, "lon_deg": 23}, "2026-12-20T12:00Z")
    assert (answer["sun_status"], answer["moon_status"]) == ("down_throughout", "up_throughout")


def test_the_words_of_the_moon(post):
    # Full moon of 25 September 2018, 02:52 UTC (US Naval Observatory): see published/sky_examples.csv.
    answer = over(post, {"lat_deg": 40, "lon_deg": 0}, "2018-09-24T15:00Z", step_min=60)
    assert answer["moon_phase"] == "full_moon"
    assert "bright" in {step["moonlight"] for step in answer["steps"]}
    dark = over(post, {"lat_deg": 40, "lon_deg": 0}, "2018-09-09T12:00Z")
    assert {step["moonlight"] for step in dark["steps"]} == {None, "none"}


@pytest.mark.parametrize(
    ("member", "value"), [("hours", 0.5), ("hours", 49), ("step_min", 4), ("step_min", 1441), ("hours", "24")]
)
def test_spans_and_steps_are_bounded(refuse, member, value):
    body = {"position": CAMP, "start": "now", member: value}
    refuse("twilights", body, "invalid_request", f"/{member}")


def test_years_beyond_the_magnetic_model_have_their_twilights(post):
    assert over(post, start="2049-12-30T12:00Z")["events"]
