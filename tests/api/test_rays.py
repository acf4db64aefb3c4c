from __future__ import annotations

import pytest

HUT = "33V VK 12345 80123"


@pytest.mark.parametrize(
    ("lat", "lon", "azimuth", "distance_m", "end_lat", "end_lon"),
    [
        # geographiclib 2.1, Direct: published/geodesic_examples.csv, rows leg-1, leg-3 and leg-4, 1e-12 degree.
        (51.5, -1.25, 45, 1000, 51.506355122952, -1.239815669894),
        (-33.9, 18.4, 270, 10000, -33.899952558065, 18.291883636263),
        (69.0, 19.0, 10, 2500, 69.022070794369, 19.010861126220),
    ],
)
def test_the_published_legs(post, lat, lon, azimuth, distance_m, end_lat, end_lon):
    body = {
        "from": {"lat_deg": lat, "lon_deg": lon},
        "bearing": azimuth,
        "north": "true",
        "distance_m": distance_m,
    }
    answer = post("rays", body)
    assert answer["position"]["lat_deg"] == pytest.approx(end_lat, abs=1e-9)
    assert answer["position"]["lon_deg"] == pytest.approx(end_lon, abs=1e-9)


def test_a_magnetic_bearing_is_turned_by_the_declination_there(post):
    norths = post("norths", {"position": HUT, "date": "2026-11-25"})
    answer = post(
        "rays", {"from": HUT, "bearing": 100, "north": "magnetic", "distance_m": 900, "date": "2026-11-25"}
    )
    assert answer["true_azimuth_deg"] == pytest.approx(100 + norths["declination_deg"], abs=1e-5)


def test_a_magnetic_bearing_needs_a_date(refuse):
    refuse(
        "rays",
        {"from": HUT, "bearing": 100, "north": "magnetic", "distance_m": 900},
        "date_missing",
        "/date",
    )


def test_no_distance_is_the_place_itself(post):
    for north in ("true", "grid"):
        answer = post("rays", {"from": HUT, "bearing": 100, "north": north, "distance_m": 0})
        assert answer["position"]["mgrs_spaced"] == HUT


def test_a_grid_bearing_leads_along_the_map(post):
    answer = post("rays", {"from": HUT, "bearing": 90, "north": "grid", "distance_m": 5000})
    start, end = post("positions", {"position": HUT})["utm"], answer["position"]["utm"]
    assert end["northing_m"] == pytest.approx(start["northing_m"], abs=1e-3)
    assert end["easting_m"] == pytest.approx(start["easting_m"] + 5000 * 0.9997, abs=1)


def test_a_grid_bearing_beyond_the_grid_is_refused(refuse):
    refuse("rays", {"from": HUT, "bearing": 90, "north": "grid", "distance_m": 9_000_000}, "outside_grid")


def test_the_north_is_never_guessed(refuse):
    refuse("rays", {"from": HUT, "bearing": 90, "distance_m": 1}, "invalid_request", "/north")


def test_a_ray_from_a_coarse_reference_ends_no_finer(post):
    answer = post("rays", {"from": "33V VK 1 8", "bearing": 90, "north": "grid", "distance_m": 30_000})
    assert answer["position"]["mgrs_spaced"] == "33V VK 4 8"
    assert [c["code"] for c in answer["cautions"]] == ["coarse_reference"]


def test_a_magnetic_ray_near_the_magnetic_pole_is_cautioned(post):
    start = {"lat_deg": 86.2, "lon_deg": 140}
    body = {"from": start, "bearing": 90, "north": "magnetic", "distance_m": 100, "date": "2026-11-25"}
    assert [c["code"] for c in post("rays", body)["cautions"]] == ["magnetic_blackout"]
