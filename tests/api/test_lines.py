from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

HUT, FORD = "33V VK 12345 80123", "33V VK 15020 78410"


def test_a_line_on_one_sheet(post):
    answer = post("lines", {"from": HUT, "to": FORD, "date": "2026-11-25"})
    # By coordinates: 2675 m east and 1713 m south.
    assert answer["grid_distance_m"] == pytest.approx((2675**2 + 1713**2) ** 0.5, abs=1e-3)
    assert answer["grid_azimuth_deg"] == pytest.approx(122.634, abs=1e-3)
    assert answer["grid_back_azimuth_deg"] == pytest.approx(answer["grid_azimuth_deg"] + 180, abs=1e-5)
    assert answer["mean_scale_factor"] == pytest.approx(0.9996 * (1 + 87000**2 / 2 / 6.38e6**2), abs=2e-6)
    norths = post("norths", {"position": HUT, "date": "2026-11-25"})
    assert answer["magnetic_azimuth_deg"] == pytest.approx(
        answer["true_azimuth_deg"] - norths["declination_deg"], abs=1e-5
    )


def test_the_magnetic_azimuth_back_is_from_the_north_at_the_far_end(post):
    far = {"lat_deg": 64.5, "lon_deg": 14.5}
    answer = post("lines", {"from": HUT, "to": far, "date": "2026-11-25"})
    norths = post("norths", {"position": far, "date": "2026-11-25"})
    assert answer["magnetic_back_azimuth_deg"] == pytest.approx(
        answer["true_back_azimuth_deg"] - norths["declination_deg"], abs=3e-6
    )


def test_without_a_date_magnetic_is_null(post):
    answer = post("lines", {"from": HUT, "to": FORD})
    assert answer["magnetic_azimuth_deg"] is answer["magnetic_back_azimuth_deg"] is answer["date"] is None


def test_across_the_antimeridian(post):
    answer = post(
        "lines", {"from": {"lat_deg": -16, "lon_deg": 179.99}, "to": {"lat_deg": -16, "lon_deg": -179.99}}
    )
    assert answer["distance_m"] == pytest.approx(2140, abs=5)
    assert answer["true_azimuth_deg"] == pytest.approx(90, abs=0.01)
    assert answer["grid_distance_m"] == pytest.approx(answer["distance_m"], rel=2e-3)


def test_a_line_too_long_for_the_grid_says_so(post):
    # GeographicLib, JFK to Paris: published/geodesic_examples.csv, JFK-CDG; printed to 1e-4 m and 1e-9 degree.
    answer = post("lines", {"from": "40.6, -73.8", "to": {"lat_deg": 49.016666667, "lon_deg": 2.55}})
    assert answer["distance_m"] == pytest.approx(5853226.2557, abs=2e-4)
    assert answer["true_azimuth_deg"] == pytest.approx(53.470218243, abs=1e-6)
    assert answer["grid_azimuth_deg"] is answer["mean_scale_factor"] is None
    assert [c["code"] for c in answer["cautions"]] == ["grid_not_reached"]


def test_a_line_long_enough_for_map_and_sight_to_part_says_so(post):
    answer = post(
        "lines", {"from": {"lat_deg": 0.5, "lon_deg": 0.05}, "to": {"lat_deg": 3.2, "lon_deg": 0.05}}
    )
    assert [c["code"] for c in answer["cautions"]] == ["long_line"]


def test_the_same_place_twice_has_no_direction(refuse):
    refuse("lines", {"from": HUT, "to": HUT}, "coincident_points", "/to")


def test_an_error_in_the_second_place_names_it(refuse):
    refuse("lines", {"from": HUT, "to": "nowhere"}, "unreadable_position", "/to")


@settings(max_examples=60, deadline=None)
@given(
    lat=st.floats(-89.5, 89.5),
    lon=st.floats(-180, 180),
    bearing=st.floats(0, 359.999),
    north=st.sampled_from(["true", "grid", "magnetic"]),
    distance_m=st.floats(10, 20_000),
)
def test_a_ray_followed_by_a_line_returns(app, lat, lon, bearing, north, distance_m):
    client = app.test_client()
    start = {"lat_deg": round(lat, 9), "lon_deg": round(lon, 9)}
    date = "2026-11-25"
    ray = client.post(
        "/v1/rays",
        json={"from": start, "bearing": bearing, "north": north, "distance_m": distance_m, "date": date},
    ).get_json()
    end = {name: ray["position"][name] for name in ("lat_deg", "lon_deg")}
    line = client.post("/v1/lines", json={"from": start, "to": end, "date": date}).get_json()
    # Places are rounded to 1e-9 degree, 0.11 mm: that turns a line by up to 0.16 mm over its length.
    turned = abs((line[f"{north}_azimuth_deg"] - bearing + 180) % 360 - 180)
    assert turned <= 57.3 * 1.6e-4 / distance_m + 2e-6
    assert line["distance_m"] == pytest.approx(distance_m, abs=4e-4)


def codes(answer):
    return [c["code"] for c in answer["cautions"]]


def test_near_the_magnetic_pole_a_magnetic_azimuth_is_cautioned(post):
    ends = {"from": {"lat_deg": 86.2, "lon_deg": 140}, "to": {"lat_deg": 86.3, "lon_deg": 140}}
    assert codes(post("lines", ends)) == []
    assert codes(post("lines", {**ends, "date": "2026-11-25"})) == ["magnetic_blackout"]


def test_at_the_pole_a_line_says_so(post):
    ends = {"from": {"lat_deg": 90, "lon_deg": 0}, "to": {"lat_deg": 89.9, "lon_deg": 0}}
    assert "at_pole" in codes(post("lines", {**ends, "date": "2026-11-25"}))


def test_coarse_references_limit_a_line(post):
    answer = post("lines", {"from": "33V VK 12 80", "to": "33V VK 13 81"})
    assert codes(answer) == ["coarse_reference"]
    # Squares of 1 km: 288.7 m each, 408 m together, over 1414 m: 16.1 degrees.
    assert "16.1 degrees and 408 m" in answer["cautions"][0]["message"]
    assert answer["from"]["resolution_m"] == 1000
    assert codes(post("lines", {"from": HUT, "to": FORD})) == []


def test_places_at_the_antipodes_have_a_distance(post):
    answer = post("lines", {"from": {"lat_deg": 0, "lon_deg": 0}, "to": {"lat_deg": 0, "lon_deg": 179.9}})
    assert answer["distance_m"] > 19_900_000
