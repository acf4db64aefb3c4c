"""Intersections and resections over HTTP. The mathematics is checked in tests/navmath."""

from __future__ import annotations

import pytest

DATE = "2026-11-25"
TOPS = ("33V VK 1200 6500", "33V VK 1710 6480", "33V VK 1460 7110")
PLACE = "33V VK 14300 67200"


@pytest.fixture
def bearing(post):
    """The magnetic bearing between two places."""
    return lambda start, end: post("lines", {"from": start, "to": end, "date": DATE})["magnetic_azimuth_deg"]


def test_the_place_seen_from_two_tops(post, bearing):
    sights = [{"from": top, "bearing": bearing(top, PLACE)} for top in TOPS[:2]]
    answer = post("intersections", {"sights": sights, "north": "magnetic", "date": DATE, "sd_deg": 1})
    assert answer["position"]["utm"]["easting_m"] == pytest.approx(414300.5, abs=0.2)
    assert answer["position"]["utm"]["northing_m"] == pytest.approx(6967200.5, abs=0.2)
    assert (answer["degrees_of_freedom"], answer["variance_factor"]) == (0, None)
    assert answer["compass_error_deg"] is None
    assert "no_check" in [c["code"] for c in answer["cautions"]]
    assert answer["sd_deg"] == [1, 1]


def test_the_observer_from_three_marks_with_a_compass_error(post, bearing):
    sights = [{"to": top, "bearing": (bearing(PLACE, top) + 4) % 360} for top in TOPS]
    body = {"sights": sights, "north": "magnetic", "date": DATE, "sd_deg": 1, "solve_compass_error": True}
    answer = post("resections", body)
    assert answer["compass_error_deg"] == pytest.approx(4, abs=1e-3)
    assert answer["position"]["utm"]["easting_m"] == pytest.approx(414300.5, abs=0.2)
    assert answer["ellipse"]["confidence"] == 0.95


def test_a_mixture_of_notations_and_deviations(post, bearing):
    first, second = (bearing(top, PLACE) for top in TOPS[:2])
    whole, minutes = divmod(first, 1)
    sights = [
        {"from": TOPS[0], "bearing": f"{whole:.0f} {minutes * 60:.6f}"},
        {"from": TOPS[1], "bearing": second, "sd_deg": 0.5},
    ]
    answer = post("intersections", {"sights": sights, "north": "magnetic", "date": DATE})
    assert answer["sd_deg"] == [1.5, 0.5]
    assert "default_sd" in [c["code"] for c in answer["cautions"]]


def test_the_named_problems(refuse, bearing):
    there = bearing(TOPS[0], PLACE)
    parallel = [{"from": TOPS[0], "bearing": 10}, {"from": TOPS[1], "bearing": 10}]
    refuse("intersections", {"sights": parallel, "north": "grid"}, "parallel_sights")
    behind = [
        {"from": TOPS[0], "bearing": (there + 180) % 360},
        {"from": TOPS[1], "bearing": bearing(TOPS[1], PLACE)},
    ]
    refuse(
        "intersections",
        {"sights": behind, "north": "magnetic", "date": DATE},
        "sights_cross_behind",
        "/sights/0",
    )
    same = [{"from": TOPS[0], "bearing": 10}, {"from": TOPS[0], "bearing": 90}]
    refuse("intersections", {"sights": same, "north": "grid"}, "coincident_points")
    refuse("intersections", {"sights": parallel[:1], "north": "grid"}, "invalid_request", "/sights")
    two = [{"to": TOPS[0], "bearing": 10}, {"to": TOPS[1], "bearing": 90}]
    refuse(
        "resections",
        {"sights": two, "north": "grid", "solve_compass_error": True},
        "too_few_sights",
        "/sights",
    )
    refuse("resections", {"sights": two, "north": "magnetic"}, "angles_missing", "/date")


def test_the_danger_circle_is_named(refuse):
    # A square of 2 km: three corners are the marks, the observer is at the fourth, on the circle through them.
    marks = ("33V VK 1200 6500", "33V VK 1400 6500", "33V VK 1400 6700")
    sights = [{"to": mark, "bearing": grid} for mark, grid in zip(marks, (180, 135, 90), strict=True)]
    body = {"sights": sights, "north": "grid", "solve_compass_error": True, "sd_deg": 1}
    refuse("resections", body, "danger_circle")


def test_an_error_in_one_sight_names_it(refuse):
    sights = [{"from": TOPS[0], "bearing": 10}, {"from": "nowhere", "bearing": 10}]
    refuse("intersections", {"sights": sights, "north": "grid"}, "unreadable_position", "/sights/1/from")
    sights[1] = {"from": TOPS[1], "bearing": "straight on"}
    refuse("intersections", {"sights": sights, "north": "grid"}, "unreadable_bearing", "/sights/1/bearing")
