from __future__ import annotations

import pytest

PLACE = {"position": "33V VK 12345 80123", "date": "2026-11-25"}


def test_the_handbook_s_example(post):
    # US Army "Convert azimuths" task: magnetic 190 degrees with a G-M angle of 9 degrees easterly is grid 199.
    answer = post("bearings", {"bearing": 190, "north": "magnetic", "grid_magnetic_angle_deg": 9})
    assert answer["grid"]["azimuth_deg"] == 199
    assert answer["grid"]["back_azimuth_deg"] == 19
    assert answer["magnetic"]["azimuth_deg"] == 190
    assert answer["true"] is None
    assert answer["angles"]["source"] == "given"


def test_every_notation_says_the_same(post):
    answer = post("bearings", {"bearing": 45, "north": "true", "declination_deg": 0, "convergence_deg": 0})[
        "grid"
    ]
    assert answer["azimuth_mil"] == 800
    assert answer["azimuth_mil_6300"] == 787.5
    assert answer["azimuth_mil_6000"] == 750
    assert answer["azimuth_grad"] == 50
    assert answer["azimuth_dms"].startswith("45")
    assert answer["azimuth_quadrant"].startswith("N 45")


@pytest.mark.parametrize(
    ("bearing", "unit", "expected"),
    [
        (1600, "mil", 90), (6400, "mil", 0), (1575, "mil_6300", 90), (1500, "mil_6000", 90), (100, "grad", 90),
        ("45 30 15", "deg", 45.504167), ("S 45 W", "deg", 225), ("N 10 W", "deg", 350), (360, "deg", 0), (0, "deg", 0),
    ],
)  # fmt: skip
def test_every_unit_is_read(post, bearing, unit, expected):
    body = {"bearing": bearing, "unit": unit, "north": "grid", "grid_magnetic_angle_deg": 0}
    assert post("bearings", body)["grid"]["azimuth_deg"] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("bearing", ["115", "45 30 15", "N 10 W"])
def test_a_text_in_degrees_does_not_go_with_another_unit(refuse, bearing):
    refuse(
        "bearings",
        {"bearing": bearing, "unit": "mil", "north": "grid", **PLACE},
        "unreadable_bearing",
        "/bearing",
    )


@pytest.mark.parametrize(
    ("bearing", "unit"), [(361, "deg"), (6300.5, "mil_6300"), (401, "grad"), (6001, "mil_6000")]
)
def test_more_than_the_circle_of_the_unit_is_refused(refuse, bearing, unit):
    problem = refuse(
        "bearings", {"bearing": bearing, "unit": unit, "north": "grid", **PLACE}, "out_of_range", "/bearing"
    )
    assert problem["errors"][0]["allowed"].startswith("0 to")


def test_a_negative_bearing_is_refused(refuse):
    refuse("bearings", {"bearing": -1, "north": "grid", **PLACE}, "invalid_request", "/bearing")


@pytest.mark.parametrize("bearing", ["up the hill", "45 60 00", "N 91 E"])
def test_a_bearing_that_cannot_be_read_is_refused(post, bearing):
    problem = post("bearings", {"bearing": bearing, "north": "grid", **PLACE}, 422)
    assert problem["code"] in {"unreadable_bearing", "out_of_range"}
    assert problem["errors"][0]["pointer"] == "/bearing"


@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
@pytest.mark.parametrize("bearing", [0, 0.000001, 123.456, 359.999999])
def test_a_bearing_turned_round_the_norths_returns(post, north, bearing):
    first = post("bearings", {"bearing": bearing, "north": north, **PLACE})
    for other in ("true", "grid", "magnetic"):
        back = post("bearings", {"bearing": first[other]["azimuth_deg"], "north": other, **PLACE})
        # Each answer is rounded to 1e-6 degree.
        assert abs((back[north]["azimuth_deg"] - bearing + 180) % 360 - 180) <= 1.001e-6


def test_the_sheet_s_angle_is_carried_to_the_date(post):
    sheet = {"grid_magnetic_angle_deg": 5.5, "year": 2015, "annual_change_deg": 0.2}
    answer = post("bearings", {"bearing": 100, "north": "grid", "sheet": sheet, "date": "2025-01-01"})
    assert answer["angles"]["grid_magnetic_angle_deg"] == pytest.approx(7.5, abs=1e-6)
    assert answer["magnetic"]["azimuth_deg"] == pytest.approx(92.5, abs=1e-6)
    assert (answer["angles"]["source"], answer["true"]) == ("sheet", None)


def test_a_sheet_s_declination_and_convergence_tell_the_angle_and_only_the_one_moves(post):
    sheet = {"declination_deg": 4, "convergence_deg": -1.5, "year": 2020, "annual_change_deg": 0.1}
    answer = post("bearings", {"bearing": 0, "north": "grid", "sheet": sheet, "date": "2025-01-01"})
    assert answer["angles"]["convergence_deg"] == -1.5
    assert answer["angles"]["declination_deg"] == pytest.approx(4.5, abs=1e-6)
    assert answer["angles"]["grid_magnetic_angle_deg"] == pytest.approx(6, abs=1e-6)


def test_an_old_sheet_is_cautioned(post):
    # TC 3-25.26, para 6-11: a declination diagram older than 20 years may be unreliable.
    sheet = {"grid_magnetic_angle_deg": 5.5, "year": 1998, "annual_change_deg": 0.2}
    codes = [
        c["code"]
        for c in post("bearings", {"bearing": 1, "north": "grid", "sheet": sheet, "date": "2026-11-25"})[
            "cautions"
        ]
    ]
    assert codes == ["old_sheet"]


@pytest.mark.parametrize("extra", [{"year": 2015}, {"annual_change_deg": 0.2}])
def test_a_sheet_s_angle_that_is_not_carried_is_cautioned(post, extra):
    body = {"bearing": 1, "north": "grid", "sheet": {"grid_magnetic_angle_deg": 5.5, **extra}}
    assert [c["code"] for c in post("bearings", body)["cautions"]] == ["sheet_angle_not_carried"]


@pytest.mark.parametrize(
    "sources",
    [{**PLACE, "declination_deg": 3}, {**PLACE, "sheet": {"grid_magnetic_angle_deg": 3}}],
    ids=["place-and-angle", "place-and-sheet"],
)
def test_the_angles_have_just_one_source(refuse, sources):
    refuse("bearings", {"bearing": 1, "north": "true", **sources}, "angles_conflict")


def test_an_angle_that_does_not_reach_is_refused(refuse):
    refuse("bearings", {"bearing": 1, "north": "true", "grid_magnetic_angle_deg": 3}, "angles_missing")


def test_without_any_angle_a_bearing_is_written_in_every_notation_of_its_own_north(post):
    answer = post("bearings", {"bearing": 1600, "unit": "mil", "north": "grid"})
    assert (answer["grid"]["azimuth_deg"], answer["grid"]["back_azimuth_mil"]) == (90, 4800)
    assert answer["true"] is answer["magnetic"] is None
    assert answer["angles"]["source"] == "none"
    assert [c["code"] for c in answer["cautions"]] == ["own_north_only"]


def test_a_place_without_a_date_is_refused(refuse):
    refuse(
        "bearings", {"bearing": 1, "north": "true", "position": PLACE["position"]}, "date_missing", "/date"
    )


def test_contradicting_angles_are_refused(refuse):
    body = {
        "bearing": 1,
        "north": "true",
        "declination_deg": 3,
        "convergence_deg": 1,
        "grid_magnetic_angle_deg": 4,
    }
    refuse("bearings", body, "inconsistent_angles", "/grid_magnetic_angle_deg")


def test_a_sheet_that_contradicts_itself_is_refused(refuse):
    sheet = {"declination_deg": 3, "convergence_deg": 1, "grid_magnetic_angle_deg": 4}
    refuse(
        "bearings",
        {"bearing": 1, "north": "true", "sheet": sheet},
        "inconsistent_angles",
        "/sheet/grid_magnetic_angle_deg",
    )


def test_the_working_writes_the_sum(post):
    steps = post(
        "bearings", {"bearing": 190, "north": "magnetic", "grid_magnetic_angle_deg": 9, "working": True}
    )["working"]
    assert any("grid = magnetic + G = 199.000" in step for step in steps)


@pytest.mark.parametrize(
    ("year", "date"), [(1900, "2026-11-25"), (2100, "2026-11-25"), (2000, "9999-12-31"), (2000, "0001-01-01")]
)
def test_a_sheet_s_angle_is_not_carried_for_a_lifetime(refuse, year, date):
    sheet = {"grid_magnetic_angle_deg": 5.5, "year": year, "annual_change_deg": 0.2}
    refuse("bearings", {"bearing": 1, "north": "grid", "sheet": sheet, "date": date}, "out_of_range", "/date")


def test_a_sheet_of_the_far_future_is_cautioned_too(post):
    sheet = {"grid_magnetic_angle_deg": 5.5, "year": 2050, "annual_change_deg": 0.2}
    body = {"bearing": 1, "north": "grid", "sheet": sheet, "date": "2026-11-25"}
    assert [c["code"] for c in post("bearings", body)["cautions"]] == ["old_sheet"]
