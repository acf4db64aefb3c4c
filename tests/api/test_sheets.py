"""Sheets: what a margin says, checked against itself, its grid and the magnetic model. All sheets invented."""

from __future__ import annotations

import pytest

SHEET = {
    "name": "Invented Fells",
    "number": "17-4",
    "scale": "1:50000",
    "grid": {"zone": 33, "hemisphere": "north"},
    "corners": {
        "south_west": {"lat_deg": 60.75, "lon_deg": 13.0},
        "north_east": {"lat_deg": 61.0, "lon_deg": 13.5},
    },
    "contour_interval_m": 20,
}

EXCHANGED = {"south_west": "61 N 13.5 E", "north_east": "60.75 N 13 E"}
FAR_EAST = {"south_west": "60.75 N 150 E", "north_east": "61 N 150.5 E"}


def found(answer):
    return [finding["code"] for finding in answer["findings"]]


def test_a_sheet_in_order_has_no_findings(post):
    answer = post("sheets", {"sheet": SHEET, "date": "2026-11-25"})
    assert answer["findings"] == answer["cautions"] == []
    assert (answer["name"], answer["number"], answer["contour_interval_m"]) == ("Invented Fells", "17-4", 20)
    assert answer["squares"] == ["33VUH", "33VVH"]
    assert answer["zones"] == [33]
    assert [corner["name"] for corner in answer["corners"]] == [
        "south_west", "south_east", "north_east", "north_west"
    ]  # fmt: skip
    # Lengths of arcs on the ellipsoid: Snyder, USGS Professional Paper 1395, table 40 has 111,412 m for a degree of
    # latitude and 55,800 m for one of longitude at 60 degrees; here a quarter and a half degree at some 61.
    west = next(side for side in answer["sides"] if side["name"] == "west")
    assert west["ground_m"] == pytest.approx(0.25 * 111_420, abs=20)
    assert west["paper_mm"] == pytest.approx(west["grid_m"] / 50, abs=0.1)
    assert answer["area_km2"] == pytest.approx(27.855 * 27.08, rel=0.01)
    middle = post(
        "norths",
        {"position": {**answer["middle"]}, "date": "2026-11-25", "sheet": {"grid": SHEET["grid"]}},
    )
    today = answer["today"]
    assert today["grid_magnetic_angle_deg"] == pytest.approx(middle["grid_magnetic_angle_deg"], abs=1e-4)
    assert today["least_deg"] <= today["grid_magnetic_angle_deg"] <= today["greatest_deg"]


@pytest.mark.parametrize(
    ("change", "code", "member"),
    [
        ({"corners": EXCHANGED}, "corners_out_of_order", "corners/south_west"),
        ({"scale": 1000}, "too_large_on_paper", "scale"),
        ({"scale": 1_000_000}, "too_small_on_paper", "scale"),
        ({"grid": {"zone": 32, "hemisphere": "north"}}, "other_grid_zone", "grid"),
        ({"grid": {"zone": 33, "hemisphere": "south"}}, "other_hemisphere", "grid"),
        ({"squares": ["ZZ"]}, "square_not_touched", "squares/0"),
        ({"convergence_deg": 3}, "convergence_disagrees", "convergence_deg"),
        ({"declination_deg": 12, "year": 2025.5}, "angle_disagrees", "declination_deg"),
        ({"declination_deg": -6.2, "year": 2025.5}, "sign_slip", "declination_deg"),
        ({"declination_deg": 1.0, "year": 1988}, "angle_stale", "declination_deg"),
        ({"declination_deg": 3.0}, "angle_not_compared", "year"),
        ({"datum": "ED50", "corners": FAR_EAST}, "outside_datum_area", None),
    ],
)  # fmt: skip
def test_what_is_wrong_is_found_and_named(post, change, code, member):
    answer = post("sheets", {"sheet": {**SHEET, **change}, "date": "2026-11-25"})
    assert code in found(answer)
    finding = next(finding for finding in answer["findings"] if finding["code"] == code)
    if member is not None:
        assert finding["member"] == member
    assert finding["message"]


def test_an_old_angle_is_carried_by_the_sheet_and_by_the_model(post):
    sheet = {**SHEET, "declination_deg": 0.8, "year": 1988, "annual_change_deg": 0.05}
    answer = post("sheets", {"sheet": sheet, "date": "2026-11-25", "working": True})
    carried = answer["carried"]
    assert carried["years"] == pytest.approx(38.9, abs=0.01)
    assert carried["by_sheet"]["angle_deg"] == pytest.approx(0.8 + 0.05 * 38.9, abs=0.01)
    then = post("norths", {"position": answer["middle"], "date": "1988-01-01"})["declination_deg"]
    now = post("norths", {"position": answer["middle"], "date": "2026-11-25"})["declination_deg"]
    assert carried["model_alone"]["angle_deg"] == pytest.approx(now, abs=1e-3)
    assert carried["by_model"]["angle_deg"] == pytest.approx(0.8 + now - then, abs=1e-3)
    assert carried["by_sheet"]["sd_deg"] > carried["by_model"]["sd_deg"] > carried["model_alone"]["sd_deg"]
    assert "sheet_change_disagrees" in {caution["code"] for caution in answer["cautions"]}
    assert any("give or take" in step for step in answer["working"])
    body = {"bearing": 100, "north": "magnetic", "sheet": sheet, "date": "2026-11-25", "working": True}
    bearing = post("bearings", body)
    assert "sheet_change_disagrees" in {caution["code"] for caution in bearing["cautions"]}
    assert any("the model of the date alone" in step for step in bearing["working"])


def test_corners_are_read_in_any_form_and_name_the_grid(post):
    corners = {
        "south_west": "33V VE 10 60",
        "north_east": {"zone": 33, "hemisphere": "north", "easting_m": 430000, "northing_m": 6480000},
    }
    answer = post("sheets", {"sheet": {"scale": 25000, "corners": corners}})
    assert answer["findings"] == []
    assert {round(side["grid_m"]) for side in answer["sides"]} == {20000}
    assert {side["paper_mm"] for side in answer["sides"]} == {800}
    assert answer["squares"] == ["33VVE"]


def test_a_sheet_on_an_old_datum_lies_elsewhere_on_wgs84(post):
    answer = post("sheets", {"sheet": {**SHEET, "datum": "ED50"}})
    corner = answer["corners"][0]
    assert (corner["datum_lat_deg"], corner["datum_lon_deg"]) == (60.75, 13)
    assert 5e-5 < abs(corner["lat_deg"] - 60.75) < 2e-3


@pytest.mark.parametrize(
    ("south_west", "north_east", "code", "member"),
    [
        ("33V VE 10 60", "58.5 N 13.7 E", "inconsistent_sheet", ""),
        ("33V VE 10 60", "34V CK 10 60", "inconsistent_sheet", ""),
        ("nowhere", "58.5 N 13.7 E", "unreadable_position", "/south_west"),
        ({"lat_deg": 58, "lon_deg": 13, "datum": "ED50"}, "58.5 N 13.7 E", "inconsistent_sheet", "/south_west/datum"),
    ],
)  # fmt: skip
def test_a_sheet_that_cannot_be_understood_is_refused(refuse, south_west, north_east, code, member):
    corners = {"south_west": south_west, "north_east": north_east}
    refuse("sheets", {"sheet": {"corners": corners}}, code, f"/sheet/corners{member}")


def test_a_corner_marked_as_on_wgs84_is_not_on_an_old_sheet(refuse):
    corners = {"south_west": "60.75 N 13 E WGS84", "north_east": "61 N 13.5 E"}
    sheet = {"datum": "ED50", "corners": corners}
    refuse("sheets", {"sheet": sheet}, "inconsistent_sheet", "/sheet/corners/south_west")


def test_an_empty_sheet_is_answered_as_far_as_it_goes(post):
    answer = post("sheets", {"sheet": {}, "date": "today"})
    assert answer["findings"] == answer["corners"] == answer["sides"] == []
    assert answer["middle"] is answer["today"] is answer["printed"] is answer["carried"] is None


@pytest.mark.parametrize("square", [" ", "0", "33", "?", "33V V1", "\u00c5K"])
def test_a_square_without_letters_is_named(refuse, square):
    body = {"position": "123 678", "near": "33V VK 1450 6620", "sheet": {"squares": ["VK", square]}}
    refuse("positions", body, "unreadable_position", "/sheet/squares/1")
