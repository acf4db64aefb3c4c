"""Intersections and resections over HTTP. The mathematics is checked in tests/navmath."""

from __future__ import annotations

import pytest

from threenorths_service.navmath.grids.grid import to_grid
from threenorths_service.navmath.places.place import digits_for

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


@pytest.mark.parametrize(
    ("semi_major_m", "digits"),
    [(0.3, 5), (19, 5), (20, 4), (199, 4), (200, 3), (2000, 2), (250_000, 0), (9e6, 0)],
)
def test_a_fix_is_written_no_finer_than_it_is_known(semi_major_m, digits):
    assert digits_for(semi_major_m / 2) == digits


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
    refuse("resections", {"sights": two, "north": "magnetic"}, "date_missing", "/date")


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


def grid_bearing(post, start, end):
    """The grid bearing of the line of sight from a place given on a grid: true azimuth less convergence there."""
    convergence = post("positions", {"position": start})["convergence_deg"]
    return (post("lines", {"from": start, "to": end})["true_azimuth_deg"] - convergence) % 360


def in_zone(post, zone, lat_deg, lon_deg):
    """A place near a zone's edge by its coordinates on the grid next door, as a sheet with an overlap prints them."""
    grid = to_grid(lat_deg, lon_deg, zone, False)
    return {
        "zone": zone,
        "hemisphere": "north",
        "easting_m": float(grid.easting_m),
        "northing_m": float(grid.northing_m),
    }


def test_each_observer_s_grid_bearing_is_from_the_grid_that_its_place_was_given_on(post):
    # Both observers stand in zone 33, 12 E being the edge; one works on the sheet next door. Its north is 5 degrees off.
    there = {"lat_deg": 60.05, "lon_deg": 12.1}
    observers = [{"lat_deg": 60.0, "lon_deg": 12.05}, in_zone(post, 32, 60.0, 12.15)]
    sights = [{"from": place, "bearing": grid_bearing(post, place, there)} for place in observers]
    assert abs(sights[1]["bearing"] - grid_bearing(post, {"lat_deg": 60.0, "lon_deg": 12.15}, there)) > 4
    position = post("intersections", {"sights": sights, "north": "grid"})["position"]
    assert position["lat_deg"] == pytest.approx(there["lat_deg"], abs=1e-6)
    assert position["lon_deg"] == pytest.approx(there["lon_deg"], abs=1e-6)


def test_marks_on_one_sheet_put_the_observer_on_that_sheet(post):
    # The observer stands in zone 33 with the sheet of zone 32, on which all the marks were read.
    here = in_zone(post, 32, 60.05, 12.1)
    marks = [in_zone(post, 32, lat, lon) for lat, lon in ((60.1, 12.05), (60.09, 12.2), (60.0, 12.15))]
    sights = [{"to": mark, "bearing": grid_bearing(post, here, mark)} for mark in marks]
    position = post("resections", {"sights": sights, "north": "grid"})["position"]
    assert position["lat_deg"] == pytest.approx(60.05, abs=1e-6)
    assert position["lon_deg"] == pytest.approx(12.1, abs=1e-6)


def test_marks_given_by_latitude_and_longitude_are_on_no_sheet(post):
    # The observer stands in zone 33 and reads its grid; the marks all lie over the edge, in zone 32.
    here = {"lat_deg": 63.0, "lon_deg": 12.02}
    marks = [
        post("rays", {"from": here, "bearing": bearing, "north": "true", "distance_m": distance_m})[
            "position"
        ]
        for bearing, distance_m in ((240, 8000), (300, 7000), (270, 15000))
    ]
    marks = [{"lat_deg": mark["lat_deg"], "lon_deg": mark["lon_deg"]} for mark in marks]
    sights = [{"to": mark, "bearing": grid_bearing(post, here, mark)} for mark in marks]
    position = post("resections", {"sights": sights, "north": "grid", "sd_deg": 1})["position"]
    assert position["lat_deg"] == pytest.approx(63.0, abs=1e-6)
    assert position["lon_deg"] == pytest.approx(12.02, abs=1e-6)


def magnetic_sights(post, member, here, tops):
    for top in tops:
        ends = {"from": top, "to": here} if member == "from" else {"from": here, "to": top}
        yield {member: top, "bearing": post("lines", {**ends, "date": DATE})["magnetic_azimuth_deg"]}


@pytest.mark.parametrize(("operation", "member"), [("intersections", "from"), ("resections", "to")])
def test_a_magnetic_fix_near_the_magnetic_pole_is_cautioned(post, operation, member):
    # H is some 1500 nT here: a blackout zone, with a standard deviation of the declination of 3.6 degrees.
    here, tops = (
        {"lat_deg": 84.0, "lon_deg": 170},
        [{"lat_deg": 84.05, "lon_deg": 170}, {"lat_deg": 84.0, "lon_deg": 170.5}],
    )
    sights = list(magnetic_sights(post, member, here, tops))
    answer = post(operation, {"sights": sights, "north": "magnetic", "date": DATE, "sd_deg": 1})
    assert "magnetic_blackout" in [c["code"] for c in answer["cautions"]]
    norths = post("norths", {"position": here, "date": DATE})
    assert 2.7 < norths["declination_sd_deg"] < 5
    # The nearer mark is 5.5 km off: the declination's error alone moves the fix by that much of a turn about the marks.
    assert answer["ellipse"]["semi_major_m"] > 2.4 * 5000 * norths["declination_sd_deg"] / 57.3


@pytest.mark.parametrize(("operation", "member"), [("intersections", "from"), ("resections", "to")])
def test_by_the_magnetic_pole_no_fix_is_made_of_magnetic_sights(post, refuse, operation, member):
    here, tops = (
        {"lat_deg": 86.2, "lon_deg": 140},
        [{"lat_deg": 86.25, "lon_deg": 140}, {"lat_deg": 86.2, "lon_deg": 141}],
    )
    sights = list(magnetic_sights(post, member, here, tops))
    refuse(operation, {"sights": sights, "north": "magnetic", "date": DATE}, "magnetic_useless", "/north")


def test_coarse_marks_are_in_the_standard_deviations(post, bearing):
    sights = [
        {"to": mark, "bearing": bearing(PLACE, mark)}
        for mark in ("33V VK 12 65", "33V VK 17 64", "33V VK 14 71")
    ]
    answer = post("resections", {"sights": sights, "north": "magnetic", "date": DATE, "sd_deg": 1})
    assert min(answer["sd_deg"]) > 3
    assert "coarse_reference" in [c["code"] for c in answer["cautions"]]
    assert answer["position"]["square_m"] >= 100
