from __future__ import annotations

import pytest


def test_any_two_tell_the_third_in_every_unit(post):
    # TC 3-25.26, para 5-5: 2200 m at 1:50,000 are 4.4 cm.
    answer = post("map-distances", {"scale": "1:50,000", "ground_km": 2.2})
    assert (answer["scale"], answer["map_mm"], answer["map_cm"]) == (50000, 44, 4.4)
    assert answer["map_in"] == pytest.approx(1.73228, abs=5e-6)
    assert answer["ground_mi"] == pytest.approx(1.3670166, abs=5e-8)
    assert answer["ground_nmi"] == pytest.approx(1.187905, abs=5e-7)
    assert answer["ground_paces"] is None


@pytest.mark.parametrize(
    "scale", [50000, 50000.0, "1:50000", "1:50,000", "1/50 000", "1 : 50.000", "1:50'000"]
)
def test_a_scale_in_its_usual_spellings(post, scale):
    assert post("map-distances", {"scale": scale, "map_cm": 2})["ground_m"] == 1000


@pytest.mark.parametrize(
    "scale", ["2:50000", "50000", "1:", "1:x", "1:-5", 0, -1, "1:0", "1:2.5", "1:50,00", True, "1:50000:2"]
)
def test_what_is_no_scale_is_refused(refuse, scale):
    refuse("map-distances", {"scale": scale, "map_cm": 2}, "invalid_request", "/scale")


def test_an_inch_at_1_100_000_is_100_000_inches(post):
    # A representative fraction holds in any unit: common practice, no source.
    assert post("map-distances", {"scale": 100000, "map_in": 1})["ground_m"] == 2540


def test_the_walker_s_own_paces(post):
    # Army task 071-329-1006: 116 paces to 100 m on the level.
    answer = post("map-distances", {"scale": 25000, "map_mm": 20, "paces_per_100_m": 116})
    assert answer["ground_paces"] == 580
    assert [c["code"] for c in answer["cautions"]] == ["paces_vary"]
    back = post("map-distances", {"scale": 25000, "ground_paces": 580, "paces_per_100_m": 116})
    assert back["map_mm"] == 20


def test_paces_need_a_count(refuse):
    refuse("map-distances", {"scale": 25000, "ground_paces": 580}, "lengths_missing", "/paces_per_100_m")


def test_a_slope_lengthens_the_ground(post):
    answer = post("map-distances", {"ground_m": 500, "gradient_percent": 18})
    # Army Engineer subcourse EN5622: 90 m over 500 m is 18 %; published/handbook_examples.csv, slope-calc-90-500.
    assert answer["rise_m"] == 90
    assert answer["slope_m"] == pytest.approx(508.0354, abs=5e-5)
    assert answer["gradient_deg"] == pytest.approx(10.203974, abs=5e-7)


def test_a_slope_length_and_an_angle_tell_the_ground_length(post):
    assert post("map-distances", {"slope_m": 100, "gradient_deg": 60})["ground_m"] == pytest.approx(
        50, abs=1e-3
    )


def test_a_slope_counts_its_own_paces(post):
    answer = post("map-distances", {"ground_m": 400, "rise_m": 300, "paces_per_100_m": 100})
    assert (answer["ground_paces"], answer["slope_paces"]) == (400, 500)
    assert "steep_gradient" in [c["code"] for c in answer["cautions"]]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"scale": 1000, "map_mm": 1, "map_in": 1}, "/map_in"),
        ({"scale": 1000, "ground_m": 1, "ground_km": 1}, "/ground_km"),
        ({"ground_m": 1, "gradient_percent": 1, "gradient_deg": 1}, "/gradient_deg"),
        ({"scale": 1000, "map_mm": 1, "ground_m": 1}, ""),
    ],
)
def test_the_same_thing_twice_is_refused(refuse, body, pointer):
    refuse("map-distances", body, "lengths_conflict", pointer)


@pytest.mark.parametrize("body", [{}, {"scale": 1000}, {"map_mm": 3}, {"ground_m": 3}, {"gradient_deg": 3}])
def test_too_little_is_refused(refuse, body):
    refuse("map-distances", body, "lengths_missing")


@pytest.mark.parametrize(
    "body",
    [
        {"scale": 1e9, "map_mm": 100000},
        {"map_mm": 100000, "ground_m": 0.0001},
        {"scale": 1e9, "ground_m": 0.0001},
    ],
    ids=["beyond-the-earth", "larger-than-life", "too-small-to-draw"],
)
def test_lengths_that_no_map_has_are_refused(refuse, body):
    refuse("map-distances", body, "out_of_range")
