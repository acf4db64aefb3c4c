from __future__ import annotations

import pytest


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_the_handbook_s_rate_of_march(post):
    # Army task 071-329-1006 (published/handbook_examples.csv, pace-rate): 3,000 m in an hour.
    answer = post("travel-times", {"distance_m": 3000, "time_min": 60})
    assert (answer["found"], answer["speed_km_per_h"]) == ("speed_km_per_h", 3)
    assert (answer["paces"], answer["paces_per_min"]) == (None, None)


@pytest.mark.parametrize("found", ["distance_m", "time_min", "speed_km_per_h"])
def test_any_two_tell_the_third(post, found):
    whole = {"distance_m": 2400, "time_min": 36, "speed_km_per_h": 4}
    answer = post("travel-times", {name: value for name, value in whole.items() if name != found})
    assert answer["found"] == found
    assert {name: answer[name] for name in whole} == whole


def test_a_cadence_stands_for_the_speed(post):
    # War Office, "Infantry Training", 1905: quick time, 120 paces of 30 inches a minute, is 3 miles 720 yards an hour.
    body = {"time_min": 60, "paces_per_min": 120, "paces_per_100_m": 100 / (30 * 0.0254)}
    answer = post("travel-times", body)
    assert answer["distance_m"] == pytest.approx(3 * 1609.344 + 720 * 0.9144, abs=0.01)
    assert (answer["paces"], answer["paces_per_min"]) == (7200, 120)
    assert "paces_vary" in codes(answer)


def test_a_distance_in_paces(post):
    answer = post("travel-times", {"distance_paces": 1280, "paces_per_100_m": 64, "speed_km_per_h": 5})
    assert (answer["distance_m"], answer["time_min"], answer["paces"]) == (2000, 24, 1280)


def test_it_is_always_said_that_the_walk_is_level(post):
    body = {"distance_m": 2400, "speed_km_per_h": 4, "distance_sd_m": 10, "speed_sd_km_per_h": 0.1}
    answer = post("travel-times", body)
    assert codes(answer) == ["level_walk"]
    assert answer["time_sd_min"] == pytest.approx(36 * ((10 / 2400) ** 2 + (0.1 / 4) ** 2) ** 0.5, abs=1e-3)


def test_the_working_is_the_board_s(post):
    body = {"time_min": 25, "paces_per_min": 52, "paces_per_100_m": 64, "working": True}
    assert post("travel-times", body)["working"] == [
        "52 paces a minute / 64 paces x 100 m x 60 / 1000 = 4.9 km/h",
        "4.875 km/h x 1000 / 60 x 25 min = 2,031.3 m",
        "give or take 207.1 m, one standard deviation",
        "2,031.3 m x 64 / 100 = 1,300 paces",
    ]
    steps = post("travel-times", {"distance_m": 2400, "speed_km_per_h": 4, "working": True})["working"]
    assert steps[0] == "2,400 m / (4 km/h x 1000 / 60) = 36.0 min"


@pytest.mark.parametrize(("time_min", "sd_min"), [(0.4, 0.1), (1, 0.25), (2, 0.5), (60, 0.5)])
def test_a_short_time_has_a_share_of_itself_for_its_spread(post, time_min, sd_min):
    answer = post("travel-times", {"distance_m": 40, "distance_sd_m": 1, "time_min": time_min})
    assert answer["time_sd_min"] == sd_min
    (told,) = [c["message"] for c in answer["cautions"] if c["code"] == "default_sd"]
    assert told.endswith(f"taken as {sd_min} minute for the time.")


def test_a_weak_speed_is_told(post):
    assert "weak_estimate" in codes(post("travel-times", {"distance_m": 100, "time_min": 1}))


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({}, "two_of_three", None),
        ({"distance_m": 2400}, "two_of_three", None),
        ({"distance_m": 2400, "time_min": 36, "speed_km_per_h": 4}, "two_of_three", None),
        ({"distance_m": 1, "distance_paces": 1, "paces_per_100_m": 60, "time_min": 3}, "members_conflict",
         "/distance_paces"),
        ({"time_min": 3, "speed_km_per_h": 4, "paces_per_min": 50, "paces_per_100_m": 60}, "members_conflict",
         "/paces_per_min"),
        ({"time_min": 3, "paces_per_min": 50}, "members_missing", "/paces_per_100_m"),
        ({"time_min": 3, "distance_paces": 50}, "members_missing", "/paces_per_100_m"),
        ({"distance_m": 2400, "time_min": 36, "speed_sd_km_per_h": 1}, "members_conflict", "/speed_sd_km_per_h"),
        ({"distance_m": 2400, "time_min": 36, "time_sd_min": 36}, "out_of_range", "/time_sd_min"),
        ({"distance_m": 2400, "time_min": 0}, "invalid_request", "/time_min"),
    ],
)  # fmt: skip
def test_what_has_no_answer_is_refused(refuse, body, code, pointer):
    refuse("travel-times", body, code, pointer)
