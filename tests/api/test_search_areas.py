"""Search areas: what the request says of a person, to areas with their meaning. All places and people invented."""

from __future__ import annotations

import math

import pytest

SEEN = {"lat_deg": 62.93, "lon_deg": 13.32}
RIVER = {"type": "LineString", "coordinates": [[13.36, 62.7], [13.37, 62.93], [13.36, 63.2]]}

QUANTILES = [{"share": 0.5, "distance_m": 1000}, {"share": 0.9, "distance_m": 5000}]
POINT = {"type": "Point", "coordinates": [1, 2]}
OFF_THE_EARTH = {"type": "LineString", "coordinates": [[1, 91], [2, 3]]}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_a_circle_is_a_circle(post):
    answer = post("search-areas", {"last_known": SEEN, "radius_m": 0, "greatest_m": 5000})
    assert answer["outer_bound"]["area_km2"] == pytest.approx(math.pi * 25, rel=0.005)
    # Every distance as likely: half of them within half the radius.
    half = answer["areas"][0]
    assert half["share"] == 0.5
    assert half["area_km2"] == pytest.approx(math.pi * 6.25, rel=0.02)
    assert len(half["reaches"]) == 16
    assert "supports_search_manager" in codes(answer)


def test_time_and_speeds_are_distances(post):
    by_speed = post(
        "search-areas",
        {"last_known": SEEN, "hours_since": 2, "likely_speed_km_per_h": 1, "greatest_speed_km_per_h": 3},
    )
    by_distance = post("search-areas", {"last_known": SEEN, "likely_m": 2000, "greatest_m": 6000})
    assert by_speed["areas"] == by_distance["areas"]
    assert by_speed["outer_bound"] == by_distance["outer_bound"]


def test_areas_are_nested_and_grow(post):
    body = {"last_known": SEEN, "greatest_m": 8000, "direction": 90, "direction_sd_deg": 30}
    answer = post("search-areas", {**body, "shares": [0.2, 0.5, 0.9]})
    sizes = [area["area_km2"] for area in answer["areas"]]
    assert sizes == sorted(sizes)
    assert sizes[-1] < answer["outer_bound"]["area_km2"]
    east = next(reach for reach in answer["areas"][0]["reaches"] if reach["true_azimuth_deg"] == 90)
    assert east["farthest_m"] == max(reach["farthest_m"] for reach in answer["areas"][0]["reaches"])


def test_a_magnetic_direction_is_turned(post, refuse):
    body = {"last_known": SEEN, "greatest_m": 8000, "direction": 90, "direction_sd_deg": 30}
    refuse("search-areas", {**body, "north": "magnetic"}, "date_missing", "/date")
    answer = post("search-areas", {**body, "north": "magnetic", "date": "2026-11-25"})
    norths = post("norths", {"position": SEEN, "date": "2026-11-25"})
    azimuth = f"{90 + norths['declination_deg']:.1f} degrees from true north"
    assert any(azimuth in sentence for sentence in answer["assumptions"])


def test_a_line_not_crossed_stops_the_way(post):
    free = post("search-areas", {"last_known": SEEN, "greatest_m": 8000})
    held = post("search-areas", {"last_known": SEEN, "greatest_m": 8000, "not_crossed": [RIVER]})
    assert held["outer_bound"]["area_km2"] < free["outer_bound"]["area_km2"]
    assert held["outer_bound"]["bbox"][2] < 13.372
    assert held["left_out_share"] > 0.1
    by_positions = [{"lat_deg": lat, "lon_deg": lon} for lon, lat in RIVER["coordinates"]]
    again = post("search-areas", {"last_known": SEEN, "greatest_m": 8000, "not_crossed": [by_positions]})
    assert again["outer_bound"] == held["outer_bound"]


def test_sides_and_areas_are_kept_to(post):
    ring = [[13.25, 62.92], [13.28, 62.92], [13.28, 62.94], [13.25, 62.94], [13.25, 62.92]]
    lake = {"type": "Polygon", "coordinates": [ring]}
    body = {"last_known": SEEN, "greatest_m": 6000}
    side = {"line": RIVER, "place": SEEN}
    answer = post("search-areas", {**body, "sides": [side], "excluded": [lake]})
    assert answer["outer_bound"]["bbox"][2] < 13.372
    assert any(len(polygon) > 1 for polygon in answer["outer_bound"]["polygons"])


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({}, "search_incomplete", None),
        ({"hours_since": 3}, "search_incomplete", None),
        ({"greatest_speed_km_per_h": 3}, "search_incomplete", "/hours_since"),
        ({"greatest_m": 5000, "direction": 90}, "search_incomplete", "/direction_sd_deg"),
        ({"greatest_m": 5000, "radius_m": 5, "sd_m": 5}, "search_incomplete", "/sd_m"),
        ({"greatest_m": 5000, "hours_since": 3}, "search_incomplete", "/hours_since"),
        ({"greatest_m": 5000, "direction_sd_deg": 20}, "search_incomplete", "/direction_sd_deg"),
        ({"greatest_m": 5000, "direction_spread_deg": 20}, "search_incomplete", "/direction_spread_deg"),
        ({"greatest_m": 5000, "other_directions_share": 0.2}, "search_incomplete", "/other_directions_share"),
        ({"greatest_m": 5000, "direction": 10, "direction_sd_deg": 10, "direction_spread_deg": 90},
         "search_incomplete", "/direction_spread_deg"),
        ({"distance_quantiles": QUANTILES, "likely_m": 7000}, "search_incomplete", "/likely_m"),
        ({"distance_quantiles": QUANTILES, "least_m": 100}, "search_incomplete", "/least_m"),
        ({"distance_quantiles": QUANTILES, "hours_since": 2, "greatest_speed_km_per_h": 3, "likely_speed_km_per_h": 1},
         "search_incomplete", "/likely_speed_km_per_h"),
        ({"greatest_m": 5000, "least_m": 6000}, "bounds_reversed", None),
        ({"greatest_m": 500_000}, "reach_too_large", None),
        ({"greatest_m": 5000, "not_crossed": [["nowhere", "62 N 13 E"]]}, "unreadable_position", "/not_crossed/0/0"),
        ({"greatest_m": 5000, "not_crossed": [POINT]}, "invalid_request", "/not_crossed/0"),
        ({"greatest_m": 5000, "not_crossed": [OFF_THE_EARTH]}, "invalid_request", "/not_crossed/0"),
        ({"greatest_m": 5000, "within": [[{"lat_deg": 1}, "a", "b"]]}, "invalid_request", "/within/0/0/lon_deg"),
    ],
)  # fmt: skip
def test_a_search_that_is_not_told_whole_is_named(refuse, body, code, pointer):
    refuse("search-areas", {"last_known": SEEN, **body}, code, pointer)


def test_the_areas_are_features(app):
    answer = app.test_client().post(
        "/v1/search-areas",
        json={"last_known": SEEN, "greatest_m": 5000},
        headers={"Accept": "application/geo+json"},
    )
    assert answer.content_type == "application/geo+json"
    collection = answer.get_json(force=True)
    assert collection["type"] == "FeatureCollection"
    assert [feature["properties"]["share"] for feature in collection["features"]] == [0.5, 0.75, 0.95, None]
    for feature in collection["features"]:
        assert feature["geometry"]["type"] == "Polygon"
        assert feature["properties"]["meaning"]
