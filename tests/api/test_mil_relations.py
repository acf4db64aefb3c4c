from __future__ import annotations

import math

import pytest


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_the_manual_s_range_by_the_rule_and_the_exact_one_beside_it(post):
    # US Army TM 9-1240-407-12&P, range determination: 10 m at 10 mils are 1,000 m, at 20 mils 500 m.
    for angle, rule in ((10, 1000), (20, 500)):
        answer = post("mil-relations", {"width_m": 10, "angle": angle})
        assert answer["rule_of_thumb"] == {"width_m": 10, "distance_m": rule, "angle": angle}
        # A mil of 6400 is 2 pi / 6.4 = 0.98175 milliradian.
        assert answer["distance_m"] == pytest.approx(rule / (2 * math.pi / 6.4), rel=1e-4)
        assert answer["difference_percent"] == pytest.approx(-1.825, abs=0.01)
        assert answer["found"] == "distance_m"
        assert "rule_of_thumb" in codes(answer)


@pytest.mark.parametrize("found", ["width_m", "distance_m", "angle"])
@pytest.mark.parametrize("unit", ["mil", "mil_6300", "mil_6000", "mrad"])
def test_any_two_tell_the_third_back(post, found, unit):
    whole = post("mil-relations", {"width_m": 40, "distance_m": 900, "unit": unit})
    given = {name: whole[name] for name in ("width_m", "distance_m", "angle") if name != found}
    answer = post("mil-relations", {**given, "unit": unit})
    assert (answer["found"], answer["unit"]) == (found, unit)
    assert answer[found] == pytest.approx(whole[found], rel=1e-5)


def test_a_milliradian_is_the_rule_s_own_unit(post):
    answer = post("mil-relations", {"distance_m": 1000, "angle": 1, "unit": "mrad"})
    assert answer["width_m"] == pytest.approx(1, abs=1e-4)
    assert answer["difference_percent"] == 0
    assert "rule_of_thumb" not in codes(answer)


def test_the_working_is_the_board_s(post):
    assert post("mil-relations", {"width_m": 8, "angle": 12, "working": True})["working"] == [
        "half of 12 mil is 0.338 degrees",
        "exactly: 8 / (2 x tan 0.338) = 679.1 m, give or take 44.2, one standard deviation",
        "by the rule of thumb: 8 x 1000 / 12 = 666.7 m, -1.8 per cent off",
    ]
    steps = post("mil-relations", {"width_m": 8, "distance_m": 400, "working": True})["working"]
    assert steps[0].startswith("exactly: 2 x the angle whose tangent is 8 / (2 x 400) = 20.4 mil")


def test_each_has_its_spread(post):
    answer = post("mil-relations", {"width_m": 8, "angle": 12})
    assert (answer["width_sd_m"], answer["angle_sd"]) == (0.4, 0.5)
    # Of a quotient the relative spreads add in squares: 5 per cent and 1 in 24.
    assert answer["distance_sd_m"] / answer["distance_m"] == pytest.approx(
        math.hypot(0.05, 0.5 / 12), rel=1e-3
    )
    sure = post("mil-relations", {"width_m": 8, "angle": 12, "width_sd_m": 0.1, "angle_sd": 0.2})
    assert codes(sure) == ["rule_of_thumb"]
    assert sure["distance_sd_m"] < answer["distance_sd_m"]


@pytest.mark.parametrize(("angle", "sd"), [(0.4, 0.1), (1, 0.25), (2, 0.5), (12, 0.5)])
def test_a_small_angle_has_a_share_of_itself_for_its_spread(post, angle, sd):
    answer = post("mil-relations", {"width_m": 2, "width_sd_m": 0.1, "angle": angle})
    assert answer["angle_sd"] == sd
    (told,) = [c["message"] for c in answer["cautions"] if c["code"] == "default_sd"]
    assert told.endswith(f"taken as {sd} mil for the angle.")


def test_a_small_angle_makes_a_weak_distance(post):
    assert "weak_estimate" in codes(post("mil-relations", {"width_m": 2, "angle": 2}))


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({}, "two_of_three", None),
        ({"width_m": 8}, "two_of_three", None),
        ({"width_m": 8, "angle": 12, "distance_m": 600}, "two_of_three", None),
        ({"width_m": 8, "angle": 12, "distance_sd_m": 5}, "members_conflict", "/distance_sd_m"),
        ({"width_m": 8, "angle": 12, "angle_sd": 12}, "out_of_range", "/angle_sd"),
        ({"width_m": 8, "angle": 3000, "unit": "mil_6000"}, "out_of_range", "/angle"),
        ({"width_m": 8, "angle": 0}, "invalid_request", "/angle"),
        ({"width_m": 8, "angle": 3, "unit": "deg"}, "invalid_request", "/unit"),
    ],
)
def test_what_has_no_answer_is_refused(refuse, body, code, pointer):
    refuse("mil-relations", body, code, pointer)
