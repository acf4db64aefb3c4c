import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.estimate import EYE_HEIGHT_M, EstimateStatus
from threenorths_service.navmath.estimates.height_by_angles import (
    height_by_top,
    height_by_top_and_base,
    height_from_two_stations,
    height_from_two_stations_seeing_the_base,
)

SHARP = {"angle_sd_deg": 1e-9}
tall = st.floats(2, 200)
far = st.floats(5, 500)
eyes = st.floats(0, 3)
slopes = st.floats(-40, 40)


def elevation(rise, level):
    return np.degrees(np.arctan2(rise, level))


@given(tall, far, eyes, st.floats(-50, 50))
def test_a_height_of_known_distance_comes_back_from_its_top(height, level, eye, base_rise):
    found = height_by_top(
        level, elevation(base_rise + height - eye, level), eye_height_m=eye, base_rise_m=base_rise
    )
    assert found.height_m == pytest.approx(height, rel=1e-9)


@given(tall, far, eyes, slopes)
def test_a_height_on_a_slope_comes_back_from_its_top_and_base(height, level, eye, slope_deg):
    base = level * np.tan(np.radians(slope_deg))
    angles = elevation(base + height - eye, level), elevation(base - eye, level)
    flat = height_by_top_and_base(level, *angles)
    along = height_by_top_and_base(
        np.hypot(level, base), *angles, eye_height_m=eye, distance_along_ground=True
    )
    assert flat.height_m == pytest.approx(height, rel=1e-9)
    assert along.height_m == pytest.approx(height, rel=1e-9)
    assert along.distance_m == pytest.approx(level, rel=1e-9)


@given(tall, st.floats(10, 300), st.floats(5, 300), eyes, st.floats(-0.3, 0.3))
def test_a_height_out_of_reach_comes_back_from_two_stations(height, near, apart, eye, fall):
    # The ground is level from the object to the near station, and falls from there on.
    near_above_far = fall * apart
    top = height + 3 - eye
    found = height_from_two_stations(
        apart,
        elevation(top, near),
        elevation(top + near_above_far, near + apart),
        eye_height_m=eye,
        near_above_far_m=near_above_far,
        **SHARP,
    )
    if found.status == EstimateStatus.OK:
        assert found.height_m == pytest.approx(height + 3, rel=1e-6)
        assert found.distance_m == pytest.approx(near, rel=1e-6)
    else:
        # Standing much lower at the far station, one sees the top no flatter than at the near one.
        assert (top + near_above_far) / (near + apart) >= top / near - 1e-6


@given(tall, st.floats(10, 300), st.floats(5, 300), st.floats(-30, 30), st.floats(-30, 30))
def test_a_height_out_of_reach_on_rough_ground_comes_back(height, near, apart, near_up, far_up):
    found = height_from_two_stations_seeing_the_base(
        apart,
        elevation(height - near_up, near),
        elevation(-near_up, near),
        elevation(height - far_up, near + apart),
        elevation(-far_up, near + apart),
        **SHARP,
    )
    assert found.height_m == pytest.approx(height, rel=1e-6)
    assert found.distance_m == pytest.approx(near, rel=1e-6)


@pytest.mark.parametrize("along", [False, True])
def test_the_spread_of_one_station_is_that_of_many_trials(along):
    rng = np.random.default_rng(5)
    size = 200_000
    trials = height_by_top_and_base(
        rng.normal(60, 1.0, size),
        rng.normal(25, 0.5, size),
        rng.normal(4, 0.5, size),
        eye_height_m=np.maximum(rng.normal(1.6, 0.05, size), 0),
        distance_along_ground=along,
    )
    told = height_by_top_and_base(60, 25, 4, distance_along_ground=along, distance_sd_m=1.0, angle_sd_deg=0.5)
    # 200,000 trials tell a spread to 0.16 %; the rest is second order.
    assert told.height_sd_m == pytest.approx(np.std(trials.height_m), rel=0.01)
    assert told.distance_sd_m == pytest.approx(np.std(trials.distance_m), rel=0.01)


def test_the_spread_of_two_stations_is_that_of_many_trials():
    rng = np.random.default_rng(6)
    size = 200_000
    trials = height_from_two_stations(
        rng.normal(80, 1.0, size), rng.normal(40, 0.3, size), rng.normal(18, 0.3, size), angle_sd_deg=0.0
    )
    told = height_from_two_stations(80, 40, 18, apart_sd_m=1.0, angle_sd_deg=0.3, eye_height_sd_m=0.0)
    assert told.height_sd_m == pytest.approx(np.std(trials.height_m), rel=0.01)
    assert told.distance_sd_m == pytest.approx(np.std(trials.distance_m), rel=0.01)


def test_the_angle_s_spread_of_a_degree_is_what_the_formula_says():
    # d(D tan a) = D / cos^2 a da.
    found = height_by_top(100, 30, distance_sd_m=0, eye_height_sd_m=0, angle_sd_deg=1)
    assert found.height_sd_m == pytest.approx(100 / np.cos(np.radians(30)) ** 2 * np.radians(1), rel=1e-6)
    assert found.height_m == pytest.approx(100 * np.tan(np.radians(30)) + EYE_HEIGHT_M, rel=1e-12)


@pytest.mark.parametrize(
    ("near", "far", "status"),
    [
        (20, 20, EstimateStatus.WEAK_BASE),
        (20, 19, EstimateStatus.WEAK_BASE),  # a degree apart, each good to a degree
        (10, 20, EstimateStatus.LINES_DO_NOT_MEET),  # the stations exchanged
        (40, 20, EstimateStatus.OK),
        (-5, -30, EstimateStatus.NO_HEIGHT),  # looked down on: behind both
    ],
)
def test_stations_that_tell_no_height_are_told(near, far, status):
    found = height_from_two_stations(50, near, far)
    assert found.status == status
    assert np.isfinite(found.height_m) == (status == EstimateStatus.OK)


def test_a_top_under_its_base_is_told():
    assert height_by_top_and_base([50, 50], [10, 5], [5, 10]).status.tolist() == [0, EstimateStatus.NO_HEIGHT]
    assert height_by_top(50, -10).status == EstimateStatus.NO_HEIGHT


@pytest.mark.parametrize(
    ("given_values", "member"),
    [
        ({"distance_m": 0}, "distance_m"),
        ({"top_deg": 90}, "top_deg"),
        ({"base_deg": np.nan}, "base_deg"),
        ({"eye_height_m": -1}, "eye_height_m"),
        ({"angle_sd_deg": -1}, "angle_sd_deg"),
        ({"distance_sd_m": np.nan}, "distance_sd_m"),
        ({"distance_m": 1.0, "distance_along_ground": True}, "distance_m"),  # nearer than the eye is high
    ],
)
def test_what_is_out_of_range_is_named(given_values, member):
    with pytest.raises(OutOfRangeError) as caught:
        height_by_top_and_base(**{"distance_m": 50, "top_deg": 20, "base_deg": 0} | given_values)
    assert caught.value.member == member


def test_rows_go_through_together():
    found = height_from_two_stations([50, 100], 40, [20, 20])
    assert found.height_m[0] == height_from_two_stations(50, 40, 20).height_m
    assert found.height_m.shape == (2,)


@given(st.floats(0.01, 1e4), *[st.floats(-89, 89)] * 4, st.floats(0, 45))
def test_no_angles_make_an_unhandled_number(length, a, b, c, d, sd):
    for found in (
        height_by_top(length, a, angle_sd_deg=sd),
        height_by_top_and_base(length, a, b, angle_sd_deg=sd),
        height_from_two_stations(length, a, b, angle_sd_deg=sd),
        height_from_two_stations_seeing_the_base(length, a, b, c, d, angle_sd_deg=sd),
    ):
        values = [found.height_m, found.height_sd_m, found.distance_m, found.distance_sd_m]
        assert np.all(np.isfinite(values)) == (found.status == EstimateStatus.OK)
