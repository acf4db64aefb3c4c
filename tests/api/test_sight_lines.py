from __future__ import annotations

import numpy as np
import pytest
from pyproj import Geod


def profile(*points):
    return [{"distance_m": distance, "height_m": height} for distance, height in points]


RIDGE = profile((0, 120), (1000, 90), (2000, 123), (3000, 90), (4000, 120))
SURE = {"height_sd_m": 0, "refraction_k_sd": 0}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_the_engineers_obstruction(post):
    # US Army Engineer subcourse EN0593, Surveying III, figure 2-8 (published/estimate_examples.csv, obstruction-14): the line
    # passes 288.3 - 289.7 = -1.4 m, each rounded to 0.1; k = 0.14.
    points = profile((0, 293), (800, 93), (7200, 93), (8000, 294), (8600, 93), (13400, 93), (14000, 298))
    body = {"profile": points, "refraction_k": 0.14, "observer_height_m": 0, "target_height_m": 0, **SURE}
    answer = post("sight-lines", body)
    assert answer["clearance_m"] == pytest.approx(-1.4, abs=0.1)
    assert (answer["obstruction_distance_m"], answer["obstruction_height_m"]) == (8000, 294)
    assert (answer["verdict"], answer["visible"], answer["margin_sd"]) == ("not_visible", False, None)
    assert codes(answer) == ["bare_ground"]


@pytest.mark.parametrize(
    ("ridge", "verdict", "visible"),
    [(95, "visible", True), (119, "too_close_to_tell", True), (125, "too_close_to_tell", False),
     (140, "not_visible", False)],
)  # fmt: skip
def test_the_verdict_weighs_how_well_the_heights_are_known(post, ridge, verdict, visible):
    points = profile((0, 120), (1000, 90), (2000, ridge), (3000, 90), (4000, 120))
    answer = post("sight-lines", {"profile": points, "contour_interval_m": 20})
    assert (answer["verdict"], answer["visible"]) == (verdict, visible)
    assert ("sight_too_close" in codes(answer)) == (verdict == "too_close_to_tell")
    assert answer["height_sd_m"] == pytest.approx(20 * 0.5 / 1.6449, abs=1e-3)


def test_the_least_height_is_by_the_heights_as_they_stand_and_the_sure_one_is_told_visible(post):
    body = {"profile": RIDGE, "height_sd_m": 2}
    answer = post("sight-lines", body)
    assert answer["verdict"] == "too_close_to_tell"
    assert answer["least_target_height_m"] < answer["sure_target_height_m"]
    for height, verdict in ((0.05, "visible"), (-0.05, "too_close_to_tell")):
        raised = {**body, "target_height_m": answer["sure_target_height_m"] + height}
        assert post("sight-lines", raised)["verdict"] == verdict
        raised = {**body, "observer_height_m": answer["sure_observer_height_m"] + height}
        assert post("sight-lines", raised)["verdict"] == verdict


@pytest.mark.parametrize("length_m", [100, 1000, 20_000])
@pytest.mark.parametrize("height_sd_m", [0, 0.01, 2])
@pytest.mark.parametrize("observer_height_m", [0, 0.01, 1.6])
def test_a_sure_height_is_never_under_the_least(post, length_m, height_sd_m, observer_height_m):
    flat = {"profile": profile((0, 0), (length_m, 0)), "height_sd_m": height_sd_m, "refraction_k_sd": 0}
    answer = post("sight-lines", {**flat, "observer_height_m": observer_height_m, "target_height_m": 0})
    for end in ("target", "observer"):
        assert answer[f"sure_{end}_height_m"] >= answer[f"least_{end}_height_m"]


def test_a_height_that_no_target_has_is_not_given(post):
    wall = profile((0, 100), (100, 3000), (5000, 100))
    answer = post("sight-lines", {"profile": wall, "height_sd_m": 1})
    assert answer["sure_target_height_m"] is None
    assert answer["least_target_height_m"] > 1000


def test_dead_ground_and_where_a_target_is_hidden(post):
    answer = post("sight-lines", {"profile": RIDGE, "target_height_m": 15, **SURE})
    (dead,), (hidden,) = answer["dead_ground"], answer["target_hidden"]
    assert dead["from_m"] == 2000
    assert dead["from_m"] < hidden["from_m"] < hidden["to_m"] < dead["to_m"] <= 4000
    level = post("sight-lines", {"profile": profile((0, 10), (500, 10)), **SURE})
    assert (level["dead_ground"], level["target_hidden"], level["verdict"]) == ([], [], "visible")


def test_the_radius_is_that_of_the_place_and_the_azimuth(post):
    body = {"profile": RIDGE, "height_sd_m": 2, "position": {"lat_deg": 45, "lon_deg": 7}, "azimuth_deg": 0}
    radius_m = post("sight-lines", body)["radius_m"]
    # The meridian at 45 degrees by a general-purpose library: a degree of it, over a degree. Half a degree each way bends
    # the radius by under 1 m.
    _, _, degree_m = Geod(ellps="WGS84").inv(7, 44.5, 7, 45.5)
    assert radius_m == pytest.approx(degree_m / np.radians(1), abs=2)
    assert post("sight-lines", {**body, "azimuth_deg": 90})["radius_m"] > radius_m + 20_000
    assert post("sight-lines", {"profile": RIDGE, "height_sd_m": 2})["radius_m"] == 6371009


def test_the_working_is_the_board_s(post):
    answer = post("sight-lines", {"profile": RIDGE, "height_sd_m": 2, "working": True})
    assert answer["working"] == [
        "eye at 120 + 1.6 = 121.6 m; target at 120 + 1.6 = 121.6 m",
        "curvature less refraction, (1 - 0.13) d^2 / (2 x 6371009), lowers the target by 1.1 m to 120.5, the ground at "
        "2,000 m by 0.273 m to 122.7",
        "the line there: 121.6 + (120.5 - 121.6) x 2,000 / 4,000 = 121.1 m",
        "clearance: 121.1 - 122.7 = -1.7 m, give or take 2.4 m, one standard deviation",
    ]


def test_two_thousand_points_go_in(post):
    points = profile(*((25.0 * number, 100 + number % 7) for number in range(2000)))
    assert post("sight-lines", {"profile": points, "contour_interval_m": 5})["dead_ground"]


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({"profile": RIDGE}, "members_missing", "/contour_interval_m"),
        ({"profile": RIDGE, "height_sd_m": 1, "contour_interval_m": 5}, "members_conflict", "/height_sd_m"),
        ({"profile": RIDGE, **SURE, "azimuth_deg": 5}, "members_missing", "/position"),
        ({"profile": RIDGE, **SURE, "position": "33V VK 1 6"}, "members_missing", "/azimuth_deg"),
        ({"profile": RIDGE, **SURE, "radius_m": 6.4e6, "azimuth_deg": 5}, "members_conflict", "/azimuth_deg"),
        (
            {"profile": RIDGE, **SURE, "position": "33Z 1 6", "azimuth_deg": 5},
            "unreadable_position",
            "/position",
        ),
        ({"profile": RIDGE[1:], **SURE}, "out_of_range", "/profile"),
        ({"profile": RIDGE[::-1], **SURE}, "out_of_range", "/profile"),
        ({"profile": RIDGE[:1], **SURE}, "invalid_request", "/profile"),
        ({"profile": [*RIDGE, {"distance_m": 9000}], **SURE}, "invalid_request", "/profile/5/height_m"),
        ({"profile": RIDGE, **SURE, "refraction_k": 0.95}, "invalid_request", "/refraction_k"),
        ({**SURE}, "invalid_request", "/profile"),
    ],
)
def test_what_has_no_answer_is_refused(refuse, body, code, pointer):
    refuse("sight-lines", body, code, pointer)
