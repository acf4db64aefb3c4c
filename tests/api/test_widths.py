from __future__ import annotations

import pytest

# civinnovate.com, worked solutions of surveying (published/estimate_examples.csv, width-75): printed to 0.01 m.
RIVER = {
    "method": "two_bearings",
    "base_m": 75,
    "base_azimuth": 90,
    "start_bearing": 38,
    "end_bearing": 338,
}
# The same, offset-40.
OFFSET = {"method": "offset", "base_m": 40, "base_azimuth": 38.75, "end_bearing": 278.75}
WALKED = {"method": "walked_angle", "base_m": 30, "walked_angle": "63_26"}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_published_rivers(post):
    assert post("widths", RIVER)["from_start_m"] == pytest.approx(80.30, abs=0.005)
    assert post("widths", OFFSET)["width_m"] == pytest.approx(69.28, abs=0.005)


def test_the_working_is_the_board_s(post):
    assert post("widths", {**RIVER, "working": True})["working"] == [
        "angle at the start, from the base 90 to the mark 38: 52 degrees",
        "angle at the end, from the base back 270 to the mark 338: 68 degrees",
        "angle at the mark: 180 - 52 - 68 = 60 degrees",
        "from the start: 75 x sin 68 / sin 60 = 80.3 m",
        "from the end: 75 x sin 52 / sin 60 = 68.2 m",
        "square to the river: 80.3 x sin 52 = 63.3 m",
        "give or take 3.4 m, one standard deviation",
    ]
    steps = post("widths", {**WALKED, "set_back_m": 4, "working": True})["working"]
    assert steps[:2] == [
        "at 63 degrees 26 minutes the width is 2 times the base: 30 x 2 = 60.0 m",
        "60.0 - 4 set back = 56.0 m wide",
    ]


@pytest.mark.parametrize(
    "directions",
    [
        {"base_azimuth": 1600, "start_bearing": 38 / 0.05625, "end_bearing": 338 / 0.05625, "unit": "mil"},
        {"base_azimuth": "90", "start_bearing": "N 38 E", "end_bearing": "N 22 W"},
        {"base_azimuth": 103.5, "start_bearing": 51.5, "end_bearing": 351.5},
        {"base_azimuth": 352, "start_bearing": 300, "end_bearing": 240},
    ],
    ids=["in-mils", "as-texts", "from-another-north", "turned-over-north"],
)
def test_only_differences_of_the_directions_count_in_any_notation(post, directions):
    assert post("widths", {**RIVER, **directions})["width_m"] == pytest.approx(63.274, abs=0.002)


def test_a_base_across_the_bank_takes_the_bank_s_direction(post):
    # The river runs east; the base goes 30 m east and 40 m inland; the mark is 100 m across from the start, 20 m on.
    answer = post(
        "widths",
        {
            "method": "two_bearings",
            "base_m": 50,
            "base_azimuth": 143.130102,
            "start_bearing": 11.309932,
            "end_bearing": 355.914383,
            "river_azimuth": 270,
            "bearing_sd_deg": 0.1,
            "working": True,
        },
    )
    assert answer["width_m"] == pytest.approx(100, abs=0.001)
    assert answer["working"][-2].endswith("x sin 78.69 = 100.0 m")


def test_a_base_in_paces(post):
    body = {"method": "walked_angle", "base_paces": 31, "paces_per_100_m": 62, "walked_angle": "45"}
    answer = post("widths", body)
    assert (answer["base_m"], answer["width_m"]) == (50, 50)
    assert codes(answer) == ["default_sd", "paces_vary"]


def test_spreads_that_are_given_are_used_and_not_spoken_of(post):
    answer = post("widths", {**WALKED, "base_sd_m": 1, "bearing_sd_deg": 0})
    assert answer["width_sd_m"] == pytest.approx(2, abs=1e-3)
    assert answer["cautions"] == []
    (told,) = [c for c in post("widths", WALKED)["cautions"] if c["code"] == "default_sd"]
    assert told["message"].endswith("3 per cent of the base, as paced; 1.5 degrees for each direction.")


def test_a_weak_width_is_told(post):
    answer = post("widths", {**RIVER, "start_bearing": 3, "end_bearing": 356})
    assert answer["width_sd_m"] > answer["width_m"] / 5
    assert "weak_estimate" in codes(answer)


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({"method": "walked_angle", "walked_angle": "45"}, "members_missing", "/base_m"),
        ({"method": "offset", "base_m": 40, "base_azimuth": 3}, "members_missing", "/end_bearing"),
        ({**WALKED, "end_bearing": 3}, "members_conflict", "/end_bearing"),
        ({**RIVER, "base_paces": 3, "paces_per_100_m": 60}, "members_conflict", "/base_paces"),
        ({**RIVER, "paces_per_100_m": 60}, "members_conflict", "/paces_per_100_m"),
        ({**OFFSET, "start_bearing": 38}, "members_conflict", "/start_bearing"),
        (
            {"method": "walked_angle", "base_paces": 3, "walked_angle": "45"},
            "members_missing",
            "/paces_per_100_m",
        ),
        ({**RIVER, "start_bearing": 142, "end_bearing": 22}, "lines_do_not_meet", None),
        ({**RIVER, "end_bearing": 38}, "weak_base", None),
        ({**WALKED, "set_back_m": 60}, "out_of_range", "/set_back_m"),
        ({**RIVER, "start_bearing": 361}, "out_of_range", "/start_bearing"),
        ({**RIVER, "start_bearing": "north a bit"}, "unreadable_bearing", "/start_bearing"),
        (
            {"method": "walked_angle", "base_paces": 45000, "paces_per_100_m": 60, "walked_angle": "45"},
            "out_of_range",
            "/base_paces",
        ),
        ({**RIVER, "base_m": 0}, "invalid_request", "/base_m"),
        ({**RIVER, "bearing_sd_deg": 46}, "invalid_request", "/bearing_sd_deg"),
        ({**WALKED, "walked_angle": 45}, "invalid_request", "/walked_angle"),
        ({"method": "by_eye"}, "invalid_request", "/method"),
        ({}, "invalid_request", "/method"),
    ],
)
def test_what_has_no_answer_is_refused(refuse, body, code, pointer):
    refuse("widths", body, code, pointer)


def test_a_member_of_another_method_is_named_with_what_is_allowed(refuse):
    error = refuse("widths", {**WALKED, "river_azimuth": 90}, "members_conflict")["errors"][0]
    assert error["value"] == 90
    assert "walked_angle" in error["allowed"]
