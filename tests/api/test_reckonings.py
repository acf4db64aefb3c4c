"""Reckonings: walks of legs, and how they close. All places invented."""

from __future__ import annotations

import math

import pytest

HUT = {"zone": 33, "hemisphere": "north", "easting_m": 500_000, "northing_m": 6_500_000}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def at(east, north):
    return {**HUT, "easting_m": 500_000 + east, "northing_m": 6_500_000 + north}


def test_one_leg_is_a_ray(post):
    leg = {"bearing": 118, "distance_m": 2500}
    body = {"start": HUT, "legs": [leg], "north": "magnetic", "date": "2026-11-25"}
    answer = post("reckonings", body)
    ray = post("rays", {"from": HUT, **leg, "north": "magnetic", "date": "2026-11-25"})
    assert answer["legs"][0]["lat_deg"] == pytest.approx(ray["position"]["lat_deg"], abs=1e-10)
    assert answer["legs"][0]["lon_deg"] == pytest.approx(ray["position"]["lon_deg"], abs=1e-10)
    assert answer["position"]["lat_deg"] == answer["legs"][0]["lat_deg"]
    assert answer["closure"] is None
    assert "reckoned_only" in codes(answer)


def test_lengths_are_told_by_distance_paces_or_time(post):
    legs = [
        {"bearing": 90, "distance_m": 500},
        {"bearing": 90, "paces": 320},
        {"bearing": 90, "time_min": 6, "speed_km_per_h": 5},
        {"bearing": 90, "time_min": 7.5},
        {"bearing": 90, "distance_m": 500, "gradient_percent": 75},
    ]
    answer = post(
        "reckonings",
        {"start": HUT, "legs": legs, "north": "grid", "paces_per_100_m": 64, "speed_km_per_h": 4},
    )
    # 500 along a slope of 3 in 4 is 400 level: a triangle of 3, 4 and 5.
    assert [leg["length_m"] for leg in answer["legs"]] == [500, 500, 500, 500, 400]
    assert answer["walked_m"] == 2400


@pytest.mark.parametrize(
    ("leg", "code", "pointer"),
    [
        ({"bearing": 90}, "lengths_missing", "/legs/0"),
        ({"bearing": 90, "paces": 100}, "lengths_missing", "/paces_per_100_m"),
        ({"bearing": 90, "time_min": 10}, "lengths_missing", "/legs/0/speed_km_per_h"),
        ({"bearing": 90, "distance_m": 100_001}, "invalid_request", "/legs/0/distance_m"),
        ({"bearing": 90, "time_min": 1501, "speed_km_per_h": 4}, "out_of_range", "/legs/0/time_min"),
        ({"bearing": 90, "distance_m": 1, "paces": 1}, "lengths_conflict", "/legs/0"),
        ({"bearing": "east by south", "distance_m": 1}, "unreadable_bearing", "/legs/0/bearing"),
    ],
)
def test_a_leg_that_is_none_is_named(refuse, leg, code, pointer):
    refuse("reckonings", {"start": HUT, "legs": [leg], "north": "true"}, code, pointer)


def test_a_leg_is_as_long_as_is_described_and_no_longer(post, refuse):
    body = {"start": HUT, "north": "true", "paces_per_100_m": 50, "speed_km_per_h": 4}
    for told in ({"distance_m": 100_000}, {"paces": 50_000}, {"time_min": 1500}):
        assert post("reckonings", {**body, "legs": [{"bearing": 90, **told}]})["walked_m"] == 100_000
    refuse(
        "reckonings", {**body, "legs": [{"bearing": 90, "paces": 50_001}]}, "out_of_range", "/legs/0/paces"
    )


def test_what_a_pole_refuses_is_named_as_the_request_has_it(refuse):
    back = {"bearing": 10, "distance_m": 3000, "back": True}
    body = {"start": {"lat_deg": 89.99, "lon_deg": 0}, "legs": [back], "north": "true"}
    refuse("reckonings", body, "out_of_range", "/legs/0/bearing")
    magnetic = {"start": {"lat_deg": 85.8, "lon_deg": 139}, "legs": [{"bearing": 0, "distance_m": 1000}]}
    refuse(
        "reckonings", {**magnetic, "north": "magnetic", "date": "2027-01-01"}, "magnetic_useless", "/north"
    )


PACED, MEASURED, TIMED = (
    {"bearing": 90, **told} for told in ({"paces": 640}, {"distance_m": 1000}, {"time_min": 60})
)
HEADING, COMPASS = "3 degrees for the direction of each leg", "2 degrees for the compass"
LENGTH, COUNT, SHARED = "3% for each length", "5% for the count", "5% for what all lengths share"
WATCH, SPEED = "5% for each length by the watch", "10% for the speed"


@pytest.mark.parametrize(
    ("legs", "given", "taken"),
    [
        ([PACED], {}, [HEADING, COMPASS, LENGTH, COUNT]),
        ([MEASURED], {}, [HEADING, COMPASS, LENGTH, SHARED]),
        ([TIMED], {}, [HEADING, COMPASS, WATCH, SPEED]),
        ([TIMED, PACED], {}, [HEADING, COMPASS, LENGTH, COUNT, WATCH, SPEED]),
        ([PACED], {"heading_sd_deg": 2}, [COMPASS, LENGTH, COUNT]),
        ([{**TIMED, "heading_sd_deg": 2, "length_sd_ratio": 0.1}], {}, [COMPASS, SPEED]),
        ([{**PACED, "length_sd_ratio": 0.1}, PACED], {"compass_sd_deg": 1}, [HEADING, LENGTH, COUNT]),
        ([TIMED], {"heading_sd_deg": 2, "compass_sd_deg": 1, "timed_length_sd_ratio": 0.1,
                   "timed_scale_sd_ratio": 0.1}, []),
    ],
)  # fmt: skip
def test_the_defaults_that_were_used_are_told(post, legs, given, taken):
    body = {"start": HUT, "legs": legs, "north": "true", "paces_per_100_m": 64, "speed_km_per_h": 4, **given}
    told = [c["message"] for c in post("reckonings", body)["cautions"] if c["code"] == "default_sd"]
    words = f"Standard deviations that were not given were taken as {'; '.join(taken)}."
    assert told == ([words] if taken else [])


def test_a_walk_from_a_pole_by_true_north_is_cautioned(post):
    legs = [{"bearing": 0, "distance_m": 1000}]
    for lat in (90, -90):
        body = {"start": {"lat_deg": lat, "lon_deg": 0}, "legs": legs, "start_sd_m": 0}
        assert "at_pole" in codes(post("reckonings", {**body, "north": "true"}))
        assert "at_pole" not in codes(post("reckonings", {**body, "north": "grid"}))


def test_a_magnetic_leg_needs_a_date(refuse):
    body = {"start": HUT, "legs": [{"bearing": 1, "distance_m": 1}], "north": "magnetic"}
    refuse("reckonings", body, "date_missing", "/date")


def test_errors_grow_with_the_way(post):
    legs = [{"bearing": 0, "distance_m": 1000}] * 4
    answer = post("reckonings", {"start": HUT, "legs": legs, "north": "true"})
    axes = [leg["ellipse"]["semi_major_m"] for leg in answer["legs"]]
    assert axes == sorted(axes)
    # The compass's own error and the pace count's are shared: across, 2 degrees of 4 km and 3 of each kilometre by itself.
    across_m = math.hypot(4000 * math.radians(2), 2 * 1000 * math.radians(3))
    assert answer["legs"][3]["cross_track_sd_m"] == pytest.approx(across_m, rel=0.01)


def test_a_walk_that_closes_is_adjusted_by_the_compass_rule(post):
    # 3-4-5 on the grid; the far point is then missed by 10 m, and each turn is moved in proportion to the way.
    legs = [{"bearing": 90, "distance_m": 300}, {"bearing": 0, "distance_m": 400}]
    body = {"start": HUT, "legs": legs, "north": "grid", "end": at(300, 410)}
    answer = post("reckonings", body)
    closure = answer["closure"]
    # Ground lengths on the central meridian are drawn at 0.9996.
    assert closure["misclosure"]["north_m"] == pytest.approx(-10, abs=0.3)
    assert closure["misclosure"]["explained"]
    assert closure["misclosure"]["one_in"] == pytest.approx(70, abs=2)
    turn = post(
        "positions", {"position": {key: closure["adjusted"][1][key] for key in ("lat_deg", "lon_deg")}}
    )
    assert turn["utm"]["northing_m"] - 6_500_000 == pytest.approx(10 * 300 / 700, abs=0.2)
    end = closure["adjusted"][2]
    known = post("positions", {"position": at(300, 410)})
    assert (end["lat_deg"], end["lon_deg"]) == pytest.approx((known["lat_deg"], known["lon_deg"]), abs=1e-9)


def test_a_loop_ends_at_its_start(post):
    legs = [{"bearing": bearing, "distance_m": 500} for bearing in (0, 90, 180, 270)]
    answer = post("reckonings", {"start": HUT, "legs": legs, "north": "grid", "end": HUT})
    assert answer["closure"]["loop"]
    assert answer["closure"]["misclosure"]["distance_m"] < 0.5
    assert answer["closure"]["explanation"] is None


def test_a_reversed_leg_is_not_explained(post):
    legs = [{"bearing": 0, "distance_m": 2000}, {"bearing": 270, "distance_m": 500}]
    answer = post("reckonings", {"start": HUT, "legs": legs, "north": "grid", "end": at(500, 2000)})
    assert not answer["closure"]["misclosure"]["explained"]
    assert "misclosure_unexplained" in codes(answer)


def test_the_working_names_each_leg(post):
    legs = [{"bearing": 0, "distance_m": 200}, {"bearing": 90, "distance_m": 500}]
    body = {"start": HUT, "legs": legs, "north": "grid", "end": at(500, 200), "working": True}
    working = post("reckonings", body)["working"]
    assert [step.split(":")[0] for step in working[:2]] == ["leg 1", "leg 2"]
    assert "compass rule" in working[-1]
