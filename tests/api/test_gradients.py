from __future__ import annotations

import math

import pytest

from threenorths_service.operations.gradients import OPERATION

CONTOURS = {"method": "rise", "contours": 7, "contour_interval_m": 20, "map_mm": 18, "scale": "1:50,000"}
SPACING = {"method": "spacing", "contour_interval_m": 5, "spacing_mm": 0.8, "scale": 10000}
GULLY = {
    "method": "crossings",
    "crossings": [
        {"map_mm": 0, "height_m": 840},
        {"map_mm": 2.5, "height_m": 820},
        {"map_mm": 3.6, "height_m": 800},
        {"map_mm": 6.8, "height_m": 780},
    ],
    "scale": 25000,
}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


# Army Engineer subcourse EN5622, figs 1-2 and 1-3; published/handbook_examples.csv, rows slope-calc-*.
@pytest.mark.parametrize(
    ("rise", "ground", "percent", "angle"),
    [(100, 1000, 10.0, 5.710593), (93, 3720, 2.5, 1.432096), (-90, 500, -18.0, -10.203974)],
)
def test_the_handbook_s_slopes(post, rise, ground, percent, angle):
    answer = post("gradients", {"method": "rise", "rise_m": rise, "ground_m": ground})
    assert answer["gradient_percent"] == percent
    assert answer["gradient_deg"] == pytest.approx(angle, abs=5.1e-5)
    assert answer["gradient_mil"] == pytest.approx(angle / 0.05625, abs=2e-3)
    assert answer["run_per_rise"] == pytest.approx(ground / rise, abs=1e-3)


def test_a_rise_without_contours_has_no_known_spread(post):
    answer = post("gradients", {"method": "rise", "rise_m": 20, "ground_m": 270})
    assert (answer["gradient_sd_percent"], answer["gradient_sd_deg"], answer["spacing_m"]) == (
        None,
        None,
        None,
    )
    assert answer["cautions"] == []
    known = post(
        "gradients", {"method": "rise", "rise_m": 20, "ground_m": 270, "rise_sd_m": 1, "ground_sd_m": 0}
    )
    assert known["gradient_sd_percent"] == pytest.approx(100 / 270, abs=1e-4)


def test_contours_over_a_length_on_the_map(post):
    answer = post("gradients", CONTOURS)
    assert (answer["rise_m"], answer["ground_m"]) == (140, 900)
    assert answer["gradient_percent"] == pytest.approx(140 / 9, abs=1e-4)
    # Two heights good to 0.304 of the interval each, and a quarter of a millimetre at 1:50,000.
    rise_sd, ground_sd = math.sqrt(2) * 0.30397 * 20, 12.5
    expected = 100 * math.hypot(rise_sd / 900, 140 * ground_sd / 900**2)
    assert answer["gradient_sd_percent"] == pytest.approx(expected, abs=1e-3)
    assert codes(answer) == ["default_sd", "contours_hide"]
    assert "20 m" in answer["cautions"][1]["message"]


def test_contours_lie_as_far_apart_as_the_manual_says(post):
    # J. A. Moss, "Manual of Military Training", 2nd ed., para 1867: 10 ft at 1:15,840, 2 degrees: 0.22 inch, rounded up.
    answer = post(
        "gradients",
        {
            "method": "rise",
            "rise_m": 1000 * math.tan(math.radians(2)),
            "ground_m": 1000,
            "contour_interval_m": 3.048,
            "scale": 15840,
        },
    )
    assert answer["spacing_mm"] / 25.4 == pytest.approx(0.22, abs=0.01)


def test_a_spacing_tells_the_gradient_and_itself_back(post):
    answer = post("gradients", SPACING)
    assert (answer["gradient_percent"], answer["spacing_mm"], answer["spacing_m"]) == (62.5, 0.8, 8)
    assert "weak_estimate" in codes(answer)


def test_the_steepest_place_of_a_line(post):
    answer = post("gradients", GULLY)
    assert answer["gradient_percent"] == pytest.approx(-60 / 170 * 100, abs=1e-4)
    steepest = answer["steepest"]
    assert (steepest["from_mm"], steepest["to_mm"]) == (2.5, 3.6)
    assert steepest["gradient_percent"] == pytest.approx(-20 / 27.5 * 100, abs=1e-4)
    assert steepest["gradient_deg"] == pytest.approx(-math.degrees(math.atan(20 / 27.5)), abs=1e-4)
    # Both ends of a line are read, each to a quarter of a millimetre.
    line_sd = 60 / 170 * math.sqrt(2) * 0.25 * 25 / 170
    assert answer["gradient_sd_percent"] == pytest.approx(100 * line_sd, abs=1e-4)
    assert "weak_estimate" in codes(answer)
    assert "steepest" in answer["cautions"][-1]["message"]


def test_level_ground_has_no_contours_side_by_side(post):
    answer = post("gradients", {**CONTOURS, "contours": 0, "working": True})
    assert (answer["gradient_percent"], answer["run_per_rise"], answer["spacing_mm"]) == (0, None, None)
    assert "-0" not in " ".join(answer["working"])
    # JSON would write null for a number that is none, too.
    assert OPERATION.answer_to({**CONTOURS, "contours": 0})["run_per_rise"] is None
    one_contour = [{"map_mm": mm, "height_m": 100} for mm in (0, 5)]
    answer = post("gradients", {"method": "crossings", "crossings": one_contour, "scale": 25000})
    assert (answer["gradient_percent"], answer["steepest"]["gradient_percent"]) == (0, 0)


def test_the_working_is_the_board_s(post):
    assert post("gradients", {**CONTOURS, "working": True})["working"] == [
        "7 contours x 20 m = 140 m of rise",
        "18 mm x 50,000 / 1000 = 900.0 m on the ground",
        "140 m / 900.0 m x 100 = 15.6 per cent, 8.8 degrees",
        "100 / 15.6 = 1 in 6.4",
        "contours for it lie 128.6 m apart, 2.6 mm on the map",
        "give or take 0.979 per cent, one standard deviation",
    ]
    steps = post("gradients", {**GULLY, "working": True})["working"]
    assert steps[0] == "steepest from 2.5 to 3.6 mm: -20 m / 27.5 m x 100 = -72.7 per cent"
    assert "100 / 35.3 = 1 in 2.8, falling" in steps


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({"method": "rise", "rise_m": 3}, "members_missing", "/ground_m"),
        ({"method": "rise", "ground_m": 3}, "members_missing", "/rise_m"),
        ({"method": "rise", "contours": 3, "ground_m": 3}, "members_missing", "/contour_interval_m"),
        ({"method": "rise", "rise_m": 3, "map_mm": 3}, "members_missing", "/scale"),
        ({**CONTOURS, "rise_m": 3}, "members_conflict", "/contours"),
        ({**CONTOURS, "ground_m": 3}, "members_conflict", "/map_mm"),
        ({**CONTOURS, "ground_sd_m": 3}, "members_conflict", "/ground_sd_m"),
        ({"method": "rise", "rise_m": 3, "ground_m": 9, "map_sd_mm": 1}, "members_conflict", "/map_sd_mm"),
        ({**SPACING, "contours": 3}, "members_conflict", "/contours"),
        ({"method": "spacing", "contour_interval_m": 5, "scale": 10000}, "members_missing", "/spacing_mm"),
        ({"method": "crossings", "scale": 10000}, "members_missing", "/crossings"),
        ({**GULLY, "crossings": GULLY["crossings"][::-1]}, "out_of_range", "/crossings"),
        ({**GULLY, "crossings": GULLY["crossings"][:1]}, "invalid_request", "/crossings"),
        (
            {**GULLY, "crossings": [*GULLY["crossings"], {"map_mm": 9}]},
            "invalid_request",
            "/crossings/4/height_m",
        ),
        ({**SPACING, "scale": 1e9}, "out_of_range", "/scale"),
        ({"method": "rise", "rise_m": 3, "map_mm": 0.01, "scale": 1}, "out_of_range", "/map_mm"),
        ({**SPACING, "contour_interval_m": 0}, "invalid_request", "/contour_interval_m"),
    ],
)
def test_what_has_no_answer_is_refused(refuse, body, code, pointer):
    refuse("gradients", body, code, pointer)
