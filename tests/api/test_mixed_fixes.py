"""Fixes from mixed observations. All places invented, laid out by arithmetic on a grid beside its central meridian."""

from __future__ import annotations

import pytest


def at(east, north):
    return {
        "zone": 33,
        "hemisphere": "north",
        "easting_m": 500_000 + east,
        "northing_m": 6_500_000 + north,
    }


# Marks seen from the place at 0, 0: triangles of 3-4-5 and 5-12-13.
NORTH_EAST, NORTH_WEST, SOUTH = at(3000, 4000), at(-5000, 12000), at(0, -2000)
BEARING_NORTH_EAST, BEARING_NORTH_WEST = 36.869898, 337.380135


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def place_of(fixed):
    utm = fixed["position"]["utm"]
    return utm["easting_m"] - 500_000, utm["northing_m"] - 6_500_000


def bearing(to, bearing_deg, **more):
    return {"kind": "bearing_to", "to": to, "bearing": bearing_deg, **more}


def distance(to, distance_m, sd_m=5):
    return {"kind": "distance", "to": to, "distance_m": distance_m, "sd_m": sd_m}


@pytest.mark.parametrize(
    "observations",
    [
        [bearing(NORTH_EAST, BEARING_NORTH_EAST), bearing(NORTH_WEST, BEARING_NORTH_WEST)],
        [bearing(NORTH_EAST, BEARING_NORTH_EAST), distance(NORTH_EAST, 5002)],
        [
            {"kind": "bearing_from", "from": SOUTH, "bearing": 0},
            {"kind": "bearing_from", "from": at(-3000, 0), "bearing": 90},
        ],
        [bearing(NORTH_EAST, BEARING_NORTH_EAST), {"kind": "line", "line": [at(-500, 0), at(500, 0)]}],
        [
            {"kind": "angle", "left": NORTH_WEST, "right": NORTH_EAST, "angle": 59.489763},
            {"kind": "angle", "left": NORTH_EAST, "right": SOUTH, "angle": 180 - BEARING_NORTH_EAST},
        ],
        [distance(NORTH_EAST, 5002), distance(SOUTH, 2000.8), distance(NORTH_WEST, 13005.2)],
    ],
    ids=["two bearings", "bearing and distance", "from known places", "bearing and line", "angles", "distances"],
)  # fmt: skip
def test_a_place_is_fixed_by_any_mixture(post, observations):
    answer = post("fixes", {"observations": observations, "north": "grid", "sd_deg": 0.1})
    # Ground is drawn at 0.9996 there, and sights are tangents: metres, not kilometres.
    assert place_of(answer["places"][0]) == pytest.approx((0, 0), abs=3)
    assert len(answer["places"][0]["observations"]) == len(observations)


def test_two_distances_give_both_crossings(post):
    body = {"observations": [distance(at(-1000, 0), 2000), distance(at(1000, 0), 2000)]}
    places = [place_of(place) for place in post("fixes", body)["places"]]
    assert len(places) == 2
    assert {round(north / abs(north)) for _east, north in places} == {1, -1}
    assert all(east == pytest.approx(0, abs=1) for east, _north in places)


def test_a_line_tells_how_well_the_place_is_known_along_it(post):
    line = {"type": "LineString", "coordinates": [[14.9, 58.64], [15.1, 58.64]]}
    body = {
        "observations": [bearing(NORTH_EAST, 30), {"kind": "line", "line": line}],
        "north": "true",
        "sd_deg": 1,
    }
    answer = post("fixes", body)
    (along_m,) = answer["places"][0]["along_line_sd_m"]
    assert along_m > 10
    assert [each["residual_m"] is None for each in answer["places"][0]["observations"]] == [True, False]


def test_intersections_and_resections_agree_with_it(post):
    sights = [(NORTH_EAST, BEARING_NORTH_EAST + 0.3), (NORTH_WEST, BEARING_NORTH_WEST - 0.2), (SOUTH, 180.1)]
    mixed = post(
        "fixes", {"observations": [bearing(*sight) for sight in sights], "north": "grid", "sd_deg": 1}
    )
    plain = post(
        "resections",
        {"sights": [{"to": to, "bearing": deg} for to, deg in sights], "north": "grid", "sd_deg": 1},
    )
    assert mixed["places"][0]["position"]["lat_deg"] == pytest.approx(plain["position"]["lat_deg"], abs=1e-8)
    assert mixed["places"][0]["position"]["lon_deg"] == pytest.approx(plain["position"]["lon_deg"], abs=1e-8)
    assert mixed["variance_factor"] == pytest.approx(plain["variance_factor"], rel=1e-3)


@pytest.mark.parametrize(
    ("read", "slip"),
    [
        (BEARING_NORTH_EAST + 180, "reversed"),
        (BEARING_NORTH_WEST, "other_mark"),
    ],
)
def test_a_blunder_is_named_and_explained(post, read, slip):
    observations = [
        bearing(NORTH_EAST, read),
        bearing(NORTH_WEST, BEARING_NORTH_WEST),
        bearing(SOUTH, 180),
        bearing(at(2000, 0), 90),
        bearing(at(-2000, -1000), 243.43),
    ]
    answer = post("fixes", {"observations": observations, "north": "grid", "sd_deg": 0.5})
    (suspect,) = answer["suspects"]
    assert suspect["observation"] == 0
    assert slip in {each["slip"] for each in suspect["explanations"]}
    assert place_of(answer["without_suspects"]) == pytest.approx((0, 0), abs=15)
    assert "blunder_suspected" in codes(answer) or answer["places"] == []


def test_regions_are_given_where_asked_for(post):
    observations = [bearing(NORTH_EAST, BEARING_NORTH_EAST), bearing(NORTH_WEST, BEARING_NORTH_WEST)]
    body = {"observations": observations, "north": "grid", "sd_deg": 1}
    assert post("fixes", body)["regions"] == []
    regions = post("fixes", {**body, "regions": True})["regions"]
    assert [region["confidence"] for region in regions] == [0.5, 0.95, 0.99]
    sizes = [region["area_m2"] for region in regions]
    assert sizes == sorted(sizes)
    for region in regions:
        assert region["rings"][0][0] == region["rings"][0][-1]


@pytest.mark.parametrize(
    ("observations", "code", "pointer"),
    [
        ([bearing(NORTH_EAST, 1), {"kind": "guess"}], "invalid_request", "/observations/1"),
        ([bearing(NORTH_EAST, 1), {"kind": "distance", "to": SOUTH}], "invalid_request", "/observations/1/distance_m"),
        ([bearing("nowhere", 1), bearing(SOUTH, 2)], "unreadable_position", "/observations/0/to"),
        ([bearing(SOUTH, 180), bearing(at(0, 2000), 0)], "parallel_sights", None),
        ([distance(at(0, 0), 100), distance(at(1000, 0), 100)], "observations_do_not_meet", None),
    ],
)  # fmt: skip
def test_what_makes_no_fix_is_named(refuse, observations, code, pointer):
    refuse("fixes", {"observations": observations, "north": "grid"}, code, pointer)


def test_a_bearing_says_its_north(refuse, post):
    observations = [bearing(NORTH_EAST, 37), bearing(NORTH_WEST, 337)]
    refuse("fixes", {"observations": observations}, "angles_missing", "/observations/0/north")
    magnetic = [bearing(NORTH_EAST, 30, north="magnetic"), bearing(NORTH_WEST, 337, north="grid")]
    refuse("fixes", {"observations": magnetic}, "date_missing", "/date")
    answer = post("fixes", {"observations": magnetic, "date": "2026-11-25", "working": True})
    assert "default_sd" in codes(answer)
    assert len(answer["working"]) >= 3
