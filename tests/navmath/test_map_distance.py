import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import LengthsInconsistentError, LengthsMissingError, OutOfRangeError
from threenorths_service.navmath.estimates.map_distance import (
    GROUND_UNITS_M,
    MAP_UNITS_MM,
    solve_map_distance,
)

length = st.floats(0.1, 1e6)
gradients = st.floats(-5, 5).filter(lambda gradient: abs(gradient) > 1e-3)


def test_the_handbook_s_ground_length():
    # FM 3-25.26, para 5-1a: at 1:50,000, 5 units on the map are 250,000 on the ground.
    assert solve_map_distance(scale=50_000, map_mm=5).ground_m == 250


def test_the_handbook_s_map_length():
    # TC 3-25.26, para 5-5: 2200 m at 1:50,000 are 4.4 cm.
    assert solve_map_distance(scale=50_000, ground_m=2200).map_mm == 44


def test_the_handbook_s_scale():
    # FM 21-26, para 5-1c: 4.32 cm on the map; the ground length of 2.16 km is from memory.
    assert solve_map_distance(map_mm=43.2, ground_m=2160).scale == pytest.approx(50_000, rel=1e-12)


# Army Engineer subcourse EN5622, figs 1-2 and 1-3; published/handbook_examples.csv, rows slope-*: slope lengths and
# angles to the digits printed there.
@pytest.mark.parametrize(
    ("rise", "ground", "percent", "angle", "slope"),
    [
        (100, 1000, 10.0, 5.710593, 1004.9876),
        (93, 3720, 2.5, 1.432096, 3721.1623),
        (90, 500, 18.0, 10.203974, 508.0354),
        (50, 100, 50.0, 26.565051, 111.8034),
        (100, 100, 100.0, 45.0, 141.4214),
    ],
)
def test_the_handbook_s_slopes(rise, ground, percent, angle, slope):
    solved = solve_map_distance(ground_m=ground, rise_m=rise)
    assert solved.gradient * 100 == pytest.approx(percent, abs=5e-5)
    assert math.degrees(math.atan(solved.gradient)) == pytest.approx(angle, abs=5e-7)
    assert solved.slope_m == pytest.approx(slope, abs=5e-5)


@given(length, st.floats(100, 1e7))
def test_any_two_of_scale_map_and_ground_tell_the_third(ground, scale):
    map_mm = solve_map_distance(scale=scale, ground_m=ground).map_mm
    assert solve_map_distance(scale=scale, map_mm=map_mm).ground_m == pytest.approx(ground, rel=1e-12)
    assert solve_map_distance(map_mm=map_mm, ground_m=ground).scale == pytest.approx(scale, rel=1e-12)


@given(length, gradients)
def test_a_slope_turns_back_into_its_ground_length(ground, gradient):
    there = solve_map_distance(ground_m=ground, gradient=gradient)
    by_gradient = solve_map_distance(slope_m=there.slope_m, gradient=gradient)
    by_rise = solve_map_distance(slope_m=there.slope_m, rise_m=there.rise_m)
    by_both = solve_map_distance(rise_m=there.rise_m, gradient=gradient)
    # Under a steep slope the ground length is a difference of near numbers: it loses 1 + gradient^2 in precision.
    for back in (by_gradient, by_rise, by_both):
        assert back.ground_m == pytest.approx(ground, rel=1e-13 * (1 + gradient**2))
    uphill = solve_map_distance(ground_m=ground, slope_m=there.slope_m)
    assert uphill.rise_m == pytest.approx(abs(there.rise_m), rel=1e-9)


def test_the_scale_and_the_slope_combine():
    solved = solve_map_distance(scale=25_000, map_mm=40, gradient=-0.75)
    assert (solved.ground_m, solved.rise_m, solved.slope_m) == (1000, -750, 1250)


def test_a_slope_and_a_gradient_with_a_scale_tell_the_map_length():
    assert solve_map_distance(scale=25_000, slope_m=1250, gradient=0.75).map_mm == pytest.approx(40)


@pytest.mark.parametrize(
    "given_lengths",
    [
        {},
        {"scale": 1e4},
        {"map_mm": 1},
        {"ground_m": 1},
        {"slope_m": 1},
        {"gradient": 0.1},
        {"scale": 1e4, "slope_m": 5},
    ],
)
def test_too_little_is_refused(given_lengths):
    with pytest.raises(LengthsMissingError):
        solve_map_distance(**given_lengths)


@pytest.mark.parametrize(
    "given_lengths",
    [
        {"scale": 1e4, "map_mm": 1, "ground_m": 10},
        {"ground_m": 10, "slope_m": 11, "gradient": 0.1},
        {"slope_m": 11, "rise_m": 1, "gradient": 0.1},
        {"scale": 1e4, "map_mm": 1, "slope_m": 11, "gradient": 0.1},
    ],
)
def test_what_could_contradict_itself_is_refused(given_lengths):
    with pytest.raises(LengthsInconsistentError):
        solve_map_distance(**given_lengths)


@pytest.mark.parametrize(
    ("given_lengths", "member"),
    [
        ({"ground_m": 10, "slope_m": 9}, "slope_m"),
        ({"slope_m": 9, "rise_m": -9}, "slope_m"),
        ({"rise_m": 9, "gradient": -0.1}, "rise_m"),
        ({"rise_m": 0, "gradient": 0.1}, "rise_m"),
    ],
)
def test_a_slope_shorter_than_its_parts_is_refused(given_lengths, member):
    with pytest.raises(OutOfRangeError) as caught:
        solve_map_distance(**given_lengths)
    assert caught.value.member == member


def test_the_units_are_the_defined_ones():
    assert MAP_UNITS_MM["in"] == 25.4
    assert GROUND_UNITS_M["mi"] == pytest.approx(5280 * GROUND_UNITS_M["ft"], rel=1e-15)
    assert GROUND_UNITS_M["yd"] == pytest.approx(3 * GROUND_UNITS_M["ft"], rel=1e-15)


def test_rows_go_through_together():
    np.testing.assert_array_equal(solve_map_distance(scale=[1e4, 25e3], map_mm=[10, 4]).ground_m, [100, 100])
