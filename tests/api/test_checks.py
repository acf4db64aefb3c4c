"""Checks: verdicts on reports, and what is a verdict and what an error of the request."""

from __future__ import annotations

import pytest

from threenorths_service.navmath.checks.check_summary import CHECK_SLIPS, summarise

#: An invented hut and ford, and the declination and convergence that are taken there.
HUT, FORD = "33V VK 12345 67890", "33V VK 15020 66410"
AT_HUT = {"expected": HUT, "tolerance_m": 100}
LINE = {"expected_from": HUT, "expected_to": FORD, "date": "2026-11-25", "tolerance_deg": 2}
BEARING = {"north": "magnetic", "expected_bearing": 78, "tolerance_deg": 3}
AREA = ["33V VK 10000 65000", "33V VK 16500 65000", "33V VK 16500 70000", "33V VK 10000 70000"]
SHEET = {
    "grid": {"zone": 33, "hemisphere": "north"},
    "corners": {"south_west": "33V VK 10000 60000", "north_east": "33V VK 30000 75000"},
}


def codes(answer):
    return [slip["slip"] for slip in answer["slips"]]


# positions


def test_a_right_report_is_right_and_has_no_slip(post):
    answer = post("checks", {"reported": "33V VK 1234 6789", **AT_HUT, "digits": 4})
    assert (answer["verdict"], answer["within_tolerance"], answer["precision_met"]) == ("right", True, True)
    assert (answer["slip"], answer["slips"], answer["slip_in_doubt"]) == (None, [], False)
    assert answer["distance_m"] == pytest.approx(4.53, abs=0.01)
    # Half the diagonals of squares of 10 m and 1 m on the grid, whose scale is 0.9996 at least.
    assert answer["left_open_m"] == pytest.approx(5.5 * 2**0.5 / 0.9996, abs=0.001)


def test_a_wrong_report_says_how_far_in_which_direction_and_by_which_slip(post):
    answer = post("checks", {"reported": "33V VK 1325 6789", **AT_HUT})
    assert answer["verdict"] == "wrong"
    assert answer["distance_m"] == pytest.approx(910, abs=1)
    assert answer["true_azimuth_deg"] == pytest.approx(88.2, abs=0.1)
    assert (answer["slip"], answer["slip_in_doubt"]) == ("digits_transposed", False)
    assert answer["slips"][0]["without_slip"] == "MGRS 33VVK12356789"


def test_slips_that_fit_alike_are_in_doubt(post):
    # North of the equator and east of Greenwich: a letter wrong, or the two halves exchanged with their signs.
    answer = post(
        "checks", {"reported": "45 15 N, 45 15 W", "expected": "45 15 N, 45 15 E", "tolerance_m": 2000}
    )
    assert answer["slip"] == "wrong_hemisphere"
    answer = post(
        "checks",
        {
            "reported_bearing": 100,
            "expected_bearing": 90,
            "north": "grid",
            "tolerance_deg": 1,
            "declination_deg": 10,
        },
    )
    assert answer["slip_in_doubt"]
    assert codes(answer) == ["ten_misread", "number_in_gradians"]
    assert "slip_in_doubt" in [caution["code"] for caution in answer["cautions"]]


def test_a_coarse_report_is_too_coarse_where_a_precision_is_demanded(post):
    body = {"reported": "33V VK 123 678", **AT_HUT}
    assert post("checks", body)["verdict"] == "right"
    assert post("checks", {**body, "digits": 4})["verdict"] == "too_coarse"
    assert post("checks", {**body, "resolution_m": 10})["verdict"] == "too_coarse"
    assert post("checks", {**body, "resolution_m": 100, "digits": 3})["verdict"] == "right"
    assert post("checks", {**body, "resolution_m": 1000, "digits": 4})["verdict"] == "too_coarse"
    assert post("checks", {**body, "resolution_m": 10, "digits": 2})["verdict"] == "too_coarse"
    assert post("checks", {**body, "tolerance_m": 50})["verdict"] == "undecided"


def test_an_answer_known_to_100_m_makes_no_report_wrong_by_50_m(post):
    body = {"reported": "33V VK 12399 67801", "expected": "33V VK 123 678", "tolerance_m": 10}
    assert post("checks", body)["verdict"] == "undecided"


@pytest.mark.parametrize("text", ["123 678", "VK 1234 6789", "1234 6789"])
def test_a_short_reference_is_looked_for_near_the_place_expected(post, text):
    answer = post("checks", {"reported": text, **AT_HUT})
    assert answer["verdict"] == "right"
    assert [caution["code"] for caution in answer["cautions"]] == ["short_reference"]


def test_a_short_reference_is_read_near_the_place_that_is_said(post):
    far = {"lat_deg": 50, "lon_deg": 9}
    assert post("checks", {"reported": "VK 1234 6789", **AT_HUT, "near": far})["verdict"] != "right"


@pytest.mark.parametrize(
    ("text", "fault", "slip"),
    [
        ("beyond the second gate", "unreadable_position", None),
        ("33V VK 1234 678", "unreadable_position", None),
        ("32V VK 1235 6789", "square_not_in_zone", "wrong_zone"),
        ("95 N, 13 E", "out_of_range", None),
        ("6789 1234", "unreadable_position", "easting_and_northing_swapped"),
    ],
)
def test_what_cannot_be_read_is_a_verdict(post, text, fault, slip):
    answer = post("checks", {"reported": text, **AT_HUT})
    assert (answer["verdict"], answer["fault"], answer["slip"]) == ("unreadable", fault, slip)
    assert answer["reason"].endswith(".")
    assert answer["reported"] is None
    assert answer["expected"]["read_as"] == "MGRS 33VVK1234567890"


def test_coordinates_beyond_their_grid_are_a_verdict_too(post):
    utm = {"zone": 33, "hemisphere": "north", "easting_m": 0, "northing_m": 6_967_890}
    answer = post("checks", {"reported": utm, **AT_HUT})
    assert (answer["verdict"], answer["fault"]) == ("unreadable", "outside_grid")


def test_a_place_expected_that_cannot_be_read_is_an_error(refuse):
    refuse(
        "checks",
        {"reported": HUT, "expected": "nowhere", "tolerance_m": 5},
        "unreadable_position",
        "/expected",
    )
    refuse("checks", {"reported": HUT, "area": [*AREA[:2], "nowhere"]}, "unreadable_position", "/area/2")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"reported": 5, **AT_HUT}, "/reported"),
        ({"reported": {"lat_deg": 95, "lon_deg": 0}, **AT_HUT}, "/reported/lat_deg"),
        ({"reported": HUT, "expected": HUT, "tolerance_m": -1}, "/tolerance_m"),
        ({"reported": HUT, "digits": 6}, "/digits"),
        ({"reported_bearing": -1, **BEARING}, "/reported_bearing"),
    ],
)
def test_malformed_members_are_errors(refuse, body, pointer):
    refuse("checks", body, "invalid_request", pointer)


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({}, "members_missing", "/reported"),
        ({"reported": HUT}, "members_missing", "/expected"),
        ({"reported": HUT, "sheet": {"name": "Invented"}}, "members_missing", "/expected"),
        ({"reported": HUT, "expected": HUT}, "members_missing", "/tolerance_m"),
        ({"reported": HUT, "reported_bearing": 5, **AT_HUT}, "members_conflict", "/reported_bearing"),
        ({"reported": HUT, **AT_HUT, "expected_bearing": 5}, "members_conflict", "/expected_bearing"),
        ({"reported_bearing": 5, **BEARING, "area": AREA}, "members_conflict", "/area"),
        ({"reported_bearing": 5, **BEARING, "expected_from": HUT}, "members_conflict", "/expected_bearing"),
        (
            {"reported_bearing": 5, "north": "grid", "tolerance_deg": 1},
            "members_missing",
            "/expected_bearing",
        ),
        ({"reported_bearing": 5, "expected_bearing": 5, "tolerance_deg": 1}, "members_missing", "/north"),
        (
            {"reported_bearing": 5, "expected_bearing": 5, "north": "grid"},
            "members_missing",
            "/tolerance_deg",
        ),
        (
            {"reported_bearing": 5, "north": "grid", "tolerance_deg": 1, "expected_from": HUT},
            "members_missing",
            "/expected_to",
        ),
        ({"reported": HUT, "area": [HUT, HUT, HUT]}, "unusable_shape", "/area"),
    ],
)
def test_what_a_check_needs_is_said(refuse, body, code, pointer):
    refuse("checks", body, code, pointer)


def test_a_position_is_held_against_an_area(post):
    answer = post("checks", {"reported": "33V VK 1234 6789", "area": AREA})
    assert (answer["verdict"], answer["within_area"], answer["outside_area_m"]) == ("right", True, 0)
    assert answer["distance_m"] is None
    answer = post("checks", {"reported": "33V VK 2234 6789", "area": AREA})
    assert (answer["verdict"], answer["within_area"]) == ("wrong", False)
    assert answer["outside_area_m"] == pytest.approx(5845, rel=2e-3)
    answer = post("checks", {"reported": "33V VK 16 68", "area": AREA})
    assert (answer["verdict"], answer["within_area"]) == ("undecided", None)


def test_an_area_may_be_geojson(post):
    polygon = {
        "type": "Polygon",
        "coordinates": [[[13.2, 62.8], [13.4, 62.8], [13.4, 62.9], [13.2, 62.9], [13.2, 62.8]]],
    }
    assert post("checks", {"reported": HUT, "area": polygon})["within_area"] is True


def test_a_slip_may_have_put_a_report_out_of_its_area(post):
    answer = post("checks", {"reported": "33V VK 51 68", "area": AREA})
    assert (answer["verdict"], answer["slip"]) == ("wrong", "digits_transposed")


def test_a_slip_that_leads_beside_a_long_area_explains_nothing(post):
    area = ["33V VK 10000 67000", "33V VK 30000 67000", "33V VK 30000 68000", "33V VK 10000 68000"]
    # Exchanged, 96 makes 69: near the middle of the area, and not in it.
    answer = post("checks", {"reported": "33V VK 12 96", "area": area})
    assert (answer["verdict"], answer["slips"]) == ("wrong", [])
    assert post("checks", {"reported": "33V VK 12 76", "area": area})["slip"] == "digits_transposed"


def test_a_text_that_can_be_read_in_two_ways_is_not_decided_by_what_is_expected(post):
    answer = post("checks", {"reported": "10 20", "expected": "10 N, 20 E", "tolerance_m": 1000})
    assert (answer["verdict"], answer["fault"] is None) == ("unreadable", False)


def test_right_by_its_place_and_wrong_by_its_area_is_wrong(post):
    body = {
        "reported": "33V VK 22340 67890",
        "expected": "33V VK 22345 67890",
        "tolerance_m": 50,
        "area": AREA,
    }
    answer = post("checks", body)
    assert (answer["verdict"], answer["within_tolerance"], answer["slips"]) == ("wrong", True, [])


def test_a_position_is_held_against_the_edges_of_a_sheet(post):
    answer = post("checks", {"reported": HUT, "sheet": SHEET})
    assert (answer["verdict"], answer["on_sheet"], answer["outside_sheet_m"]) == ("right", True, 0)
    answer = post("checks", {"reported": "33V VK 31000 67890", "sheet": SHEET})
    assert (answer["verdict"], answer["on_sheet"]) == ("wrong", False)
    assert answer["outside_sheet_m"] == pytest.approx(1000, rel=2e-3)


def test_a_square_against_the_edge_of_a_sheet_is_on_it(post):
    assert post("checks", {"reported": "33V VK 299 747", "sheet": SHEET})["verdict"] == "right"
    assert post("checks", {"reported": "33V VK 300 747", "sheet": SHEET})["verdict"] == "wrong"


def test_a_position_is_held_against_the_squares_of_a_sheet(post):
    squares = {"grid": SHEET["grid"], "squares": ["VK"]}
    assert post("checks", {"reported": HUT, "sheet": squares})["on_sheet"] is True
    answer = post("checks", {"reported": "33V WK 12345 67890", "sheet": squares})
    assert (answer["verdict"], answer["on_sheet"], answer["outside_sheet_m"]) == ("wrong", False, None)


def test_a_datum_not_applied_is_told(post):
    body = {"reported": "62.83064, 13.27930", "expected": HUT, "tolerance_m": 30, "datum": "ED50"}
    # The place expected is on ED50 by the request; what was reported came from a satellite receiver.
    answer = post("checks", {**body, "expected": {"lat_deg": 62.83064, "lon_deg": 13.2793, "datum": "WGS84"}})
    assert (answer["verdict"], answer["slip"]) == ("wrong", "datum_not_applied")


# bearings


@pytest.mark.parametrize(
    ("bearing", "difference", "verdict", "slip"),
    [
        (78, 0, "right", None),
        (81, 3, "right", None),
        (258, 180, "wrong", "back_bearing"),
        (88, 10, "wrong", "ten_misread"),
        ("N 50 E", -28, "wrong", None),
    ],
)
def test_a_bearing_is_held_against_another(post, bearing, difference, verdict, slip):
    answer = post("checks", {"reported_bearing": bearing, **BEARING})
    assert (answer["verdict"], answer["difference_deg"], answer["slip"]) == (verdict, difference, slip)
    assert answer["distance_m"] is None


def test_the_difference_is_signed_across_north(post):
    body = {"north": "grid", "expected_bearing": 1, "tolerance_deg": 1}
    assert post("checks", {"reported_bearing": 359, **body})["difference_deg"] == -2


@pytest.mark.parametrize(
    ("times", "slip"),
    [(0, None), (1, "declination_forgotten"), (2, "declination_reversed"), (-1, "declination_twice")],
)
def test_a_declination_applied_otherwise_is_told(post, times, slip):
    right = post("lines", {"from": HUT, "to": FORD, "date": "2026-11-25"})
    declination = right["true_azimuth_deg"] - right["magnetic_azimuth_deg"]
    reported = right["magnetic_azimuth_deg"] + times * declination
    answer = post("checks", {"reported_bearing": reported, "north": "magnetic", **LINE})
    assert answer["expected_azimuth_deg"] == pytest.approx(right["magnetic_azimuth_deg"], abs=1e-5)
    assert answer["angles"]["source"] == "model"
    assert (slip in codes(answer)) if slip else (answer["verdict"], answer["slips"]) == ("right", [])


def test_the_bearing_between_two_places_is_from_every_north_that_of_the_line(post):
    right = post("lines", {"from": HUT, "to": FORD})
    for north in ("true", "grid"):
        body = {
            "reported_bearing": 0,
            "north": north,
            "expected_from": HUT,
            "expected_to": FORD,
            "tolerance_deg": 1,
        }
        answer = post("checks", body)
        assert answer["expected_azimuth_deg"] == pytest.approx(right[f"{north}_azimuth_deg"], abs=1e-6)
        assert answer["angles"]["source"] == "none"


def test_magnetic_north_needs_a_date_or_an_angle(post, refuse):
    body = {"reported_bearing": 0, "north": "magnetic", **LINE}
    del body["date"]
    refuse("checks", body, "angles_missing", "/date")
    sheet = {"grid_magnetic_angle_deg": 8.0}
    answer = post("checks", {**body, "sheet": sheet})
    grid = post("lines", {"from": HUT, "to": FORD})["grid_azimuth_deg"]
    assert answer["expected_azimuth_deg"] == pytest.approx(grid - 8.0, abs=1e-5)


def test_coarse_places_decide_no_bearing(post):
    body = {
        "north": "true",
        "expected_from": "33V VK 123 678",
        "expected_to": "33V VK 133 678",
        "tolerance_deg": 2,
    }
    answer = post("checks", {"reported_bearing": 95, **body})
    assert answer["verdict"] == "undecided"
    # Two squares of 100 m, half a diagonal each, over 1000 m.
    assert answer["left_open_deg"] == pytest.approx(8.13, abs=0.01)


def test_two_places_that_are_one_have_no_bearing(refuse):
    body = {
        "reported_bearing": 0,
        "north": "true",
        "expected_from": HUT,
        "expected_to": HUT,
        "tolerance_deg": 1,
    }
    refuse("checks", body, "coincident_points", "/expected_to")


def test_a_line_beyond_its_grid_has_no_grid_bearing(refuse):
    body = {
        "reported_bearing": 0,
        "north": "grid",
        "expected_from": HUT,
        "expected_to": "0 N, 70 E",
        "tolerance_deg": 1,
    }
    refuse("checks", body, "outside_grid", "/expected_to")


def test_a_bearing_expected_from_another_north_and_in_another_unit(post, refuse):
    body = {
        "reported_bearing": 1600,
        "unit": "mil",
        "north": "magnetic",
        "expected_bearing": 99,
        "expected_unit": "deg",
        "expected_north": "grid",
        "tolerance_deg": 0.5,
    }
    refuse("checks", body, "angles_missing")
    assert post("checks", {**body, "grid_magnetic_angle_deg": 9})["verdict"] == "right"


def test_the_declination_is_known_as_well_as_its_model(post):
    body = {"north": "magnetic", "expected_bearing": 90, "expected_north": "true", "tolerance_deg": 1}
    place = {"position": HUT, "date": "2026-11-25"}
    answer = post("checks", {"reported_bearing": 0, **body, **place})
    assert answer["left_open_deg"] == pytest.approx(post("norths", place)["declination_sd_deg"], abs=0.006)
    beside = answer["expected_azimuth_deg"] + 1 + answer["left_open_deg"] / 2
    assert post("checks", {"reported_bearing": beside, **body, **place})["verdict"] == "undecided"


@pytest.mark.parametrize(
    ("bearing", "fault", "slip"),
    [
        ("up the hill", "unreadable_bearing", None),
        (1387, "out_of_range", "number_in_mils"),
        ("N 95 E", "out_of_range", None),
    ],
)
def test_a_bearing_that_cannot_be_read_is_a_verdict(post, bearing, fault, slip):
    answer = post("checks", {"reported_bearing": bearing, **BEARING})
    assert (answer["verdict"], answer["fault"], answer["slip"]) == ("unreadable", fault, slip)
    assert answer["difference_deg"] is answer["within_tolerance"] is None


def test_a_sheet_that_prints_no_angle_is_no_error_beside_a_bearing(post):
    assert post("checks", {"reported_bearing": 78, **BEARING, "sheet": SHEET})["verdict"] == "right"


# for a batch


def test_answers_can_be_summed_up(post):
    bodies = [
        {"reported": HUT, **AT_HUT},
        {"reported": "33V VK 1325 6789", **AT_HUT},
        {"reported": "nowhere", **AT_HUT},
        {"reported_bearing": 258, **BEARING},
    ]
    answers = [post("checks", body) for body in bodies]

    def column(name):
        return [float("nan") if answer[name] is None else answer[name] for answer in answers]

    summary = summarise(
        [answer["verdict"] for answer in answers],
        [answer["slip"] for answer in answers],
        column("distance_m"),
        column("difference_deg"),
    ).as_details()
    assert summary["verdicts"] == {"right": 1, "wrong": 2, "undecided": 0, "too_coarse": 0, "unreadable": 1}
    assert summary["slips"] == {"digits_transposed": 1, "back_bearing": 1}
    assert (summary["distance_m"]["count"], summary["difference_deg"]["largest"]) == (2, 180.0)


def test_every_slip_has_a_sentence():
    assert all(text[0].isupper() and text.endswith(".") for text in CHECK_SLIPS.values())


def test_the_working_says_the_sum(post):
    steps = post("checks", {"reported": "33V VK 1325 6789", **AT_HUT, "working": True})["working"]
    assert any("902.0 to 917.6 m" in step for step in steps)
    steps = post("checks", {"reported_bearing": 258, **BEARING, "working": True})["working"]
    assert any("back_bearing" in step for step in steps)
