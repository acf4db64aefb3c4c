from __future__ import annotations

import pytest

PUBLISHED = [
    # Rows of published/estimate_examples.csv by the same names, with their tolerances; any unit of length.
    ("mound-42", {"method": "top_and_base", "distance_m": 42, "top_deg": 38, "base_deg": 7,
                  "distance_along_ground": True, "eye_height_m": 0}, 27.451, 0.0005),
    ("monument-425", {"method": "top", "distance_m": 425, "top_deg": 32, "eye_height_m": 0}, 266, 0.5),
    ("hillock-55", {"method": "two_stations", "apart_m": 55, "near_top_deg": 18.75, "far_top_deg": 12.75,
                    "eye_height_m": 2.34, "near_above_far_m": 0.68, "angle_sd_deg": 0.01}, 37.682, 0.32),
    ("tower-100", {"method": "two_stations_and_base", "apart_m": 100, "near_top_deg": 5, "near_base_deg": -0.5,
                   "far_top_deg": 3, "far_base_deg": -0.1, "angle_sd_deg": 0.01}, 12.387, 0.0005),
    ("shadow-150", {"method": "shadow", "shadow_m": 150, "stick_m": 10, "stick_shadow_m": 15}, 100, 1e-9),
    ("stick-eye", {"method": "stick", "distance_m": 150, "stick_m": 1.8, "stick_distance_m": 1,
                   "eye_height_m": 1}, 121, 1e-9),
]  # fmt: skip
BODIES = {body["method"]: body for _, body, _, _ in PUBLISHED}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


@pytest.mark.parametrize(
    ("body", "height", "tolerance"), [row[1:] for row in PUBLISHED], ids=[row[0] for row in PUBLISHED]
)
def test_a_published_height_by_each_method(post, body, height, tolerance):
    answer = post("heights", body)
    assert answer["height_m"] == pytest.approx(height, abs=tolerance)
    assert answer["height_sd_m"] > 0
    assert answer["method"] == body["method"]


@pytest.mark.parametrize(
    ("body", "steps"),
    [
        (
            {"method": "top_and_base", "distance_m": 60, "top_deg": 25, "base_deg": 4},
            ["60 x (tan 25 - tan 4) = 23.8 m"],
        ),
        (
            {"method": "top", "distance_m": 50, "top_deg": 30, "base_rise_m": -2},
            ["50 x tan 30 + 1.6 m to the eye - (-2) m that the base lies higher = 32.5 m"],
        ),
        (
            {"method": "two_stations", "apart_m": 30, "near_top_deg": 40, "far_top_deg": 20},
            [
                "from the nearer station: 30 x tan 20 / (tan 40 - tan 20) = 23.0 m",
                "23.0 x tan 40 + 1.6 m to the eye = 20.9 m",
            ],
        ),
        (BODIES["shadow"], ["shadow 150 x stick 10 / its shadow 15 = 100.0 m"]),
        (BODIES["stick"], ["1 + (1.8 - 1) x 150 / 1 = 121.0 m"]),
        (
            BODIES["two_stations_and_base"],
            [
                "n = tan 5 - tan (-0.5), f = tan 3 - tan (-0.1)",
                "from the nearer station: 100 x f / (n - f) = 128.7 m",
                "128.7 x n = 12.4 m",
            ],
        ),
        (
            BODIES["top_and_base"],
            [
                "42 m along the ground to a base seen at 7 degrees from 0 m above the feet: 41.7 m level",
                "41.7 x (tan 38 - tan 7) = 27.5 m",
            ],
        ),
    ],
    ids=lambda part: part["method"] if isinstance(part, dict) else "",
)
def test_the_working_is_the_board_s(post, body, steps):
    assert post("heights", {**body, "working": True})["working"][:-1] == steps


def test_the_eye_stands_at_a_usual_height_unless_said(post):
    body = {"method": "top", "distance_m": 50, "top_deg": 30}
    eye = post("heights", body)["height_m"] - post("heights", {**body, "eye_height_m": 0})["height_m"]
    assert eye == pytest.approx(1.6, abs=1e-3)


@pytest.mark.parametrize(
    ("method", "metres", "paces"),
    [("top", "distance_m", "distance_paces"), ("two_stations", "apart_m", "apart_paces"),
     ("shadow", "shadow_m", "shadow_paces")],
)  # fmt: skip
def test_long_lengths_may_come_in_paces(post, method, metres, paces):
    body = {name: value for name, value in BODIES[method].items() if name != metres}
    paced = post("heights", {**body, paces: BODIES[method][metres] * 0.6, "paces_per_100_m": 60})
    assert paced["height_m"] == pytest.approx(post("heights", BODIES[method])["height_m"], abs=1e-3)
    assert "paces_vary" in codes(paced)


def test_only_the_spreads_that_enter_are_spoken_of(post):
    (told,) = post("heights", BODIES["shadow"])["cautions"]
    assert told["message"].endswith(
        "3 per cent of the shadow, as paced; 0.05 m for each length at the stick."
    )
    level = {"method": "top_and_base", "distance_m": 60, "top_deg": 25, "base_deg": 4}
    assert "eye" not in post("heights", level)["cautions"][0]["message"]
    assert "eye" in post("heights", {**level, "distance_along_ground": True})["cautions"][0]["message"]
    sure = {"distance_sd_m": 1, "angle_sd_deg": 0.5}
    assert post("heights", {**level, **sure})["cautions"] == []


def test_a_weak_height_is_told(post):
    answer = post("heights", {"method": "top_and_base", "distance_m": 60, "top_deg": 5, "base_deg": 1})
    assert "weak_estimate" in codes(answer)


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({"method": "top", "distance_m": 50}, "members_missing", "/top_deg"),
        ({**BODIES["shadow"], "top_deg": 3}, "members_conflict", "/top_deg"),
        ({**BODIES["shadow"], "distance_paces": 3}, "members_conflict", "/distance_paces"),
        ({**BODIES["shadow"], "angle_sd_deg": 1}, "members_conflict", "/angle_sd_deg"),
        (
            {"method": "top_and_base", "distance_m": 60, "top_deg": 4, "base_deg": 25},
            "out_of_range",
            None,
        ),
        ({**BODIES["two_stations"], "far_top_deg": 18.75}, "weak_base", None),
        ({**BODIES["two_stations"], "far_top_deg": 25}, "lines_do_not_meet", None),
        ({**BODIES["stick"], "eye_height_m": -3}, "out_of_range", "/eye_height_m"),
        ({**BODIES["shadow"], "stick_sd_m": 20}, "out_of_range", "/stick_sd_m"),
        ({"method": "top", "distance_m": 50, "top_deg": 89.5}, "invalid_request", "/top_deg"),
        ({"method": "top", "distance_m": 0.001, "top_deg": 9}, "invalid_request", "/distance_m"),
        ({"method": "top", "distance_m": "50", "top_deg": 9}, "invalid_request", "/distance_m"),
    ],
)
def test_what_has_no_answer_is_refused(refuse, body, code, pointer):
    refuse("heights", body, code, pointer)
