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


def there(lat_deg, lon_deg):
    return {"lat_deg": lat_deg, "lon_deg": lon_deg}


ONE_AT_RANDOM = [
    bearing(there(46.50635, 8.02478), 165.6),
    bearing(there(46.52989, 7.98605), 341.9),
    bearing(there(46.5039, 7.99136), 303.7),
    bearing(there(46.47942, 8.00154), 177),
    bearing(there(46.48226, 8.03365), 128.2),
    bearing(there(46.50343, 7.97379), 282.1),
]


def test_a_fix_of_the_others_alone_has_its_cautions_and_its_regions(post):
    body = {"north": "true", "sd_deg": 0.5}
    answer = post("fixes", {**body, "observations": ONE_AT_RANDOM, "regions": True})
    others = post("fixes", {**body, "observations": ONE_AT_RANDOM[1:], "regions": True})
    assert (answer["places"], [each["observation"] for each in answer["suspects"]]) == ([], [0])
    assert set(codes(answer)) == {"blunder_suspected", *codes(others)}
    assert answer["regions"] == others["regions"] != []


def test_a_caution_of_the_others_alone_names_observations_as_the_request_does(post):
    # The last mark is in line with the third: it is the first that is left out, and the third that nothing checks.
    answer = post(
        "fixes",
        {
            "observations": [
                bearing("33V VK 1635 8041", 193.1),
                bearing("33V VK 1463 7632", 185.7),
                bearing("33V VK 1489 7842", 184.0),
                bearing("33V VK 1544 8307", 8.2),
                bearing("33V VK 1895 7680", 129.0),
            ],
            "north": "grid",
            "sd_deg": 1,
        },
    )
    assert answer["places"] == []
    said = [each["message"] for each in answer["cautions"] if each["code"] == "no_check"]
    assert len(said) == 1
    assert "observation 5 (observations/4):" in said[0]


def test_the_ellipse_of_a_place_is_widened_as_much_as_the_observations_disagree(post):
    sights = [bearing(NORTH_EAST, BEARING_NORTH_EAST), bearing(NORTH_WEST, BEARING_NORTH_WEST)]
    sights += [bearing(SOUTH, 180), distance(at(-5000, 0), 5400)]
    answer = post("fixes", {"observations": sights, "north": "grid", "sd_deg": 1})
    assert answer["variance_factor"] > answer["variance_factor_limit"]
    assert answer["places"][0]["ellipse"] == answer["ellipse"]
    assert (
        answer["ellipse"]["semi_major_m"]
        > 2 * 2.4477 * answer["places"][0]["covariance_m2"]["north_north"] ** 0.5
    )


WINDING = [
    (46.50061, 8.00092),
    (46.53541, 8.10068),
    (46.49983, 7.99999),
    (46.5102, 7.9946),
    (46.49941, 8.00054),
]


@pytest.mark.parametrize(
    ("line", "others"),
    [
        (WINDING, [bearing(there(46.50181, 8.00507), 164.23), distance(there(46.497, 8.00031), 657.65, 30)]),
        ([(8.3, 179.9), (-90, -67)], [bearing(there(46.5, 8), 0)]),
    ],
)  # fmt: skip
def test_a_line_with_no_place_to_try_near_it_is_no_fault_of_the_service(app, line, others):
    stood = {"kind": "line", "line": [there(*place) for place in line]}
    answer = app.test_client().post(
        "/v1/fixes", json={"observations": [stood, *others], "north": "true", "regions": True}
    )
    assert answer.status_code in (200, 422)
    if answer.status_code == 200:
        assert all(region["area_m2"] > 0 for region in answer.get_json()["regions"])


SHEET_ON_ED50 = {"datum": "ED50", "grid": {"zone": 33, "hemisphere": "north"}}
MARKS = (("33V VK 1210 8310", 327.2), ("33V VK 1745 8065", 46.7))


@pytest.mark.parametrize("given", [{"sheet": SHEET_ON_ED50}, {"datum": "ED50"}])
@pytest.mark.parametrize(
    ("operation", "body", "on_sheet"),
    [
        ("rays", {"from": "33V VK 1210 8310", "bearing": 90, "distance_m": 1000}, "33V VK 1310 8310"),
        (
            "reckonings",
            {"start": "33V VK 1210 8310", "legs": [{"bearing": 90, "distance_m": 1000}]},
            "33V VK 1310 8310",
        ),
        ("search-areas", {"last_known": "33V VK 1210 8310", "greatest_m": 3000}, "33V VK 1210 8310"),
        ("resections", {"sights": [{"to": to, "bearing": b} for to, b in MARKS]}, "33V VK 151 784"),
        (
            "intersections",
            {"sights": [{"from": at, "bearing": (b + 180) % 360} for at, b in MARKS]},
            "33V VK 151 784",
        ),
        ("fixes", {"observations": [bearing(to, b) for to, b in MARKS]}, "33V VK 151 784"),
    ],
)
def test_a_place_answered_on_wgs_84_says_what_it_is_on_the_sheet_in_use(
    post, operation, body, on_sheet, given
):
    # One datum shift for marks and answer: a kilometre east on the sheet is a kilometre east of the mark's own figures.
    answer = post(operation, {"north": "grid", **body, **given})
    said = [each["message"] for each in answer["cautions"] if each["code"] == "sheet_on_other_datum"]
    assert len(said) == 1
    assert f"as {on_sheet} (ED50" in said[0]
    plain = post(operation, {"north": "grid", **body})
    assert "sheet_on_other_datum" not in codes(plain)


def test_what_is_called_a_blunder_is_not_called_unchecked(post):
    sights = [
        bearing("33V VK 1210 8310", 320),
        bearing("33V VK 1745 8065", 39),
        bearing("33V VK 1660 7655", 132),
        bearing("33V VK 1600 7200", 223),
    ]
    answer = post("fixes", {"observations": sights, "north": "magnetic", "date": "2026-11-25", "sd_deg": 1})
    suspects = {each["observation"] for each in answer["suspects"]}
    assert suspects
    for each in answer["cautions"]:
        if each["code"] == "no_check":
            assert not any(f"observations/{row})" in each["message"] for row in suspects)
