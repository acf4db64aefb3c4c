from __future__ import annotations

import pytest


def test_a_bearing_is_preset_in_whole_clicks(post):
    # FM 3-25.26, para 9-2: 51 degrees is 17 clicks of 3 degrees.
    answer = post("compass-settings", {"bearing": 51, "north": "magnetic"})
    assert (answer["purpose"], answer["clicks"], answer["turn"]) == ("follow_bearing", 17, "counterclockwise")
    assert (answer["set_deg"], answer["residual_deg"], answer["off_line_m_per_km"]) == (51, 0, 0)
    assert answer["plain_compass_deg"] == 51
    assert answer["map_oriented_dial_deg"] is None


def test_a_grid_bearing_is_turned_first(post):
    answer = post("compass-settings", {"bearing": 60, "north": "grid", "grid_magnetic_angle_deg": 8})
    assert (answer["plain_compass_deg"], answer["adjusted_compass_deg"]) == (52, 60)
    assert (answer["clicks"], answer["set_deg"], answer["residual_deg"]) == (17, 51, -1)
    assert answer["off_line_m_per_km"] == pytest.approx(-17.46)
    assert (answer["other_setting"]["clicks"], answer["other_setting"]["residual_deg"]) == (18, 2)
    assert (answer["declination_scale_deg"], answer["map_oriented_dial_deg"]) == (8, 352)


@pytest.mark.parametrize(
    ("angle", "turn"), [(14, "clockwise"), (-14, "counterclockwise"), (0, "none"), (1, "none")]
)
def test_the_grid_magnetic_angle_is_set_off(post, angle, turn):
    # 14 degrees easterly is 5 clicks clockwise: common practice, no source.
    answer = post("compass-settings", {"grid_magnetic_angle_deg": angle})
    assert (answer["purpose"], answer["turn"]) == ("set_off_grid_magnetic_angle", turn)
    assert answer["clicks"] == (5 if abs(angle) == 14 else 0)
    assert answer["map_oriented_dial_deg"] == (360 - angle) % 360
    assert answer["plain_compass_deg"] is None


def test_a_tie_gives_both(post):
    answer = post("compass-settings", {"bearing": 52.5, "north": "magnetic"})
    assert answer["tie"] is True
    assert {answer["clicks"], answer["other_setting"]["clicks"]} == {17, 18}
    assert [c["code"] for c in answer["cautions"]] == ["click_tie"]


def test_the_short_way_round(post):
    answer = post("compass-settings", {"bearing": 357, "north": "magnetic"})
    assert (answer["clicks"], answer["turn"]) == (119, "counterclockwise")
    assert answer["short_way"] == {"clicks": 1, "turn": "clockwise"}


def test_clicks_that_do_not_divide_the_circle_have_no_short_way(post):
    answer = post("compass-settings", {"bearing": 300, "north": "magnetic", "click_deg": 7})
    assert (answer["clicks"], answer["set_deg"], answer["short_way"]) == (43, 301, None)


def test_a_bearing_without_its_north_is_refused(refuse):
    refuse("compass-settings", {"bearing": 3, "grid_magnetic_angle_deg": 1}, "angles_missing", "/north")


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"declination_deg": 3},
        {"bearing": 3, "north": "true", "convergence_deg": 1},
        {"bearing": 3, "north": "grid", "convergence_deg": 1},
    ],
)
def test_what_does_not_reach_the_compass_is_refused(refuse, body):
    refuse("compass-settings", body, "angles_missing")


@pytest.mark.parametrize("click", [0, -3, 0.05, 46])
def test_a_click_out_of_range_is_refused(refuse, click):
    refuse(
        "compass-settings",
        {"bearing": 3, "north": "magnetic", "click_deg": click},
        "invalid_request",
        "/click_deg",
    )


@pytest.mark.parametrize(("angle", "turn"), [(14, "clockwise"), (-14, "counterclockwise")])
def test_the_working_of_an_angle_set_off_is_the_sum_of_that_angle(post, angle, turn):
    steps = post("compass-settings", {"grid_magnetic_angle_deg": angle, "working": True})["working"]
    assert "14.000 degrees / 3 degrees a click = 4.67 clicks" in steps
    assert any(step.startswith(f"nearest: 5 clicks {turn}") for step in steps)


def test_an_angle_of_half_a_turn_keeps_its_range(post):
    assert post("compass-settings", {"grid_magnetic_angle_deg": -180})["declination_scale_deg"] == 180
