from __future__ import annotations

import datetime

import pytest


def test_the_three_norths_hang_together(post):
    answer = post("norths", {"position": "33V VK 12345 80123", "date": "2026-11-25"})
    assert answer["grid_magnetic_angle_deg"] == pytest.approx(
        answer["declination_deg"] - answer["convergence_deg"], abs=2e-6
    )
    assert (answer["model"], answer["date"]) == ("WMM2025", "2026-11-25")
    assert answer["cautions"] == []


def test_a_published_place(post):
    # Printed by the MagneticField utility of GeographicLib (published/wmm2025_examples.csv, perth), to 0.01 degree.
    answer = post("norths", {"position": {"lat_deg": -31.9398, "lon_deg": 115.9665}, "date": "2025-08-16"})
    assert answer["declination_deg"] == pytest.approx(-1.48, abs=0.005)
    assert answer["inclination_deg"] == pytest.approx(-65.83, abs=0.005)


def test_today_is_echoed(post):
    answer = post("norths", {"position": "33V VK 12345 80123", "date": "today"})
    assert answer["date"] == datetime.datetime.now(datetime.UTC).date().isoformat()


@pytest.mark.parametrize("date", ["1899-12-31", "2030-01-02", "2031-06-01"])
def test_a_date_outside_the_model_is_refused(refuse, date):
    problem = refuse(
        "norths", {"position": "33V VK 12345 80123", "date": date}, "date_outside_model", "/date"
    )
    assert problem["errors"][0]["value"] == date
    assert "2029-12-31" in problem["errors"][0]["allowed"]


@pytest.mark.parametrize(
    ("date", "model"), [("1950-06-01", "IGRF-14"), ("2024-12-31", "IGRF-14"), ("2025-01-01", "WMM2025")]
)
def test_the_model_follows_from_the_date(post, date, model):
    answer = post("norths", {"position": "33V VK 12345 80123", "date": date})
    assert answer["model"] == model


def test_a_model_that_is_named_is_kept_to(post, refuse):
    body = {"position": "33V VK 12345 80123", "date": "2026-11-25"}
    named = post("norths", {**body, "model": "IGRF-14"})
    assert named["model"] == "IGRF-14"
    apart = abs(named["declination_deg"] - post("norths", body)["declination_deg"])
    assert 0 < apart < named["declination_sd_deg"]
    bearing = {**body, "bearing": 0, "north": "true", "model": "IGRF-14"}
    assert post("bearings", bearing)["angles"]["declination_deg"] == named["declination_deg"]
    refuse("norths", {**body, "date": "2024-06-01", "model": "WMM2025"}, "date_outside_model", "/date")


@pytest.mark.parametrize(
    "date", ["2026-02-30", "20261125", "25/11/2026", "2026-W48-3", "Today", 2026, "2026-11-25T00:00Z"]
)
def test_what_is_no_date_is_refused(refuse, date):
    refuse("norths", {"position": "33V VK 12345 80123", "date": date}, "invalid_request", "/date")


def test_a_missing_date_is_an_error(refuse):
    refuse("norths", {"position": "33V VK 12345 80123"}, "invalid_request", "/date")


def test_near_the_magnetic_pole_the_answer_cautions(post):
    # WMM2025 puts the north magnetic dip pole near 85.8 N, 139 E in 2026 (from memory): H is below 2000 nT around it.
    answer = post("norths", {"position": {"lat_deg": 85.8, "lon_deg": 139}, "date": "2026-06-01"})
    assert answer["horizontal_nt"] < 2000
    assert [c["code"] for c in answer["cautions"]] == ["magnetic_blackout"]
    assert answer["declination_sd_deg"] > 2.7


def test_at_the_pole_the_answer_says_so(post):
    answer = post("norths", {"position": {"lat_deg": 90, "lon_deg": 45}, "date": "2026-01-01"})
    assert "at_pole" in [c["code"] for c in answer["cautions"]]


def test_a_place_given_on_a_grid_has_that_zone_s_convergence(post):
    # The same place east of the central meridian of zone 32 and west of that of zone 33.
    own = post("norths", {"position": {"lat_deg": 60, "lon_deg": 12.1}, "date": "2026-01-01"})
    utm = post("positions", {"position": {"lat_deg": 60, "lon_deg": 11.9}})["utm"]
    forced = {name: utm[name] for name in ("zone", "hemisphere", "northing_m")} | {
        "easting_m": utm["easting_m"] + 11150
    }
    other = post("norths", {"position": forced, "date": "2026-01-01"})
    assert own["convergence_deg"] < 0 < other["convergence_deg"]
