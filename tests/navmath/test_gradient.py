import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.gradient import (
    HEIGHT_SD_OF_INTERVAL,
    contour_spacing,
    gradient_between,
    gradient_from_spacing,
    height_sd_from_contours,
    rise_from_contours,
    steepest_place,
)

SURE = {"rise_sd_m": 0, "ground_sd_m": 0}
intervals = st.floats(5, 50)
scales = st.sampled_from([10_000, 25_000, 50_000, 100_000])


# Army Engineer subcourse EN5622, figs 1-2 and 1-3; published/handbook_examples.csv, rows slope-calc-*.
@pytest.mark.parametrize(
    ("rise", "ground", "percent", "angle", "slope"),
    [
        (100, 1000, 10.0, 5.710593, 1004.9876),
        (93, 3720, 2.5, 1.432096, 3721.1623),
        (100, 100, 100.0, 45.0, 141.4214),
    ],
)
def test_the_handbook_s_slopes(rise, ground, percent, angle, slope):
    found = gradient_between(rise, ground, **SURE)
    assert found.gradient_percent == pytest.approx(percent, abs=5e-5)
    assert found.gradient_deg == pytest.approx(angle, abs=5e-7)
    assert found.gradient_mil == pytest.approx(angle * 6400 / 360, abs=1e-5)
    assert found.slope_m == pytest.approx(slope, abs=5e-5)
    assert found.run_per_rise == pytest.approx(ground / rise)


@given(intervals, st.floats(0.01, 2), scales)
def test_contours_of_a_gradient_tell_it_back(interval, gradient, scale):
    spacing = contour_spacing(interval, gradient, scale)
    assert spacing.ground_m == pytest.approx(interval / gradient)
    found = gradient_from_spacing(interval, spacing.map_mm, scale)
    assert found.gradient == pytest.approx(gradient, rel=1e-12)
    assert contour_spacing(interval, -gradient, scale).map_mm == spacing.map_mm


def test_contours_count_the_rise_up_and_down():
    rise, sd = rise_from_contours([7, -3], 10)
    np.testing.assert_array_equal(rise, [70, -30])
    # Two heights, each as the National Map Accuracy Standards have it: 90 per cent within 5 m, 1.6449 sd.
    np.testing.assert_allclose(sd, np.sqrt(2) * 5 / 1.6449, rtol=1e-12)


def test_nine_heights_of_ten_lie_within_half_an_interval():
    rng = np.random.default_rng(9)
    errors = rng.normal(0, height_sd_from_contours(10), 400_000)
    # 400,000 trials tell a tenth to 0.0005.
    assert np.mean(np.abs(errors) > 5) == pytest.approx(0.1, abs=0.002)
    assert pytest.approx(0.304, abs=5e-4) == HEIGHT_SD_OF_INTERVAL


def test_the_spread_is_that_of_many_trials():
    rng = np.random.default_rng(10)
    trials = gradient_between(rng.normal(80, 4, 200_000), rng.normal(400, 10, 200_000), **SURE)
    told = gradient_between(80, 400, rise_sd_m=4, ground_sd_m=10)
    # 200,000 trials tell a spread to 0.16 %; the rest is second order.
    assert told.gradient_sd == pytest.approx(np.std(trials.gradient), rel=0.01)
    assert told.gradient_deg_sd == pytest.approx(np.std(trials.gradient_deg), rel=0.01)


def test_the_reading_on_the_map_spreads_the_gradient():
    # 10 m in 2 mm at 1:25,000 is 1 in 5; a quarter of a millimetre is an eighth of the spacing.
    found = gradient_from_spacing(10, 2, 25_000)
    assert found.gradient == pytest.approx(0.2)
    assert found.gradient_sd == pytest.approx(0.2 / 8, rel=1e-4)
    assert contour_spacing(10, 0.2, 25_000, gradient_sd=0.025).map_sd_mm == pytest.approx(0.25, rel=1e-4)


def test_a_spread_far_over_the_value_is_still_a_number():
    found = gradient_between(1e-9, 0.1, rise_sd_m=10_000, ground_sd_m=2e7)
    assert found.gradient_sd == pytest.approx(1e5, rel=1e-9)
    assert np.isfinite(steepest_place([0, 0.001], [0, 10], 25_000, crossing_sd_mm=1000).gradient_sd)


def test_level_ground_is_told():
    found = gradient_between([0, 1], 100, **SURE)
    assert found.level.tolist() == [True, False]
    assert np.isnan(found.run_per_rise[0])
    assert found.run_per_rise[1] == 100
    with pytest.raises(OutOfRangeError) as caught:
        contour_spacing(10, 0, 25_000)
    assert caught.value.member == "gradient"


def test_the_steepest_place_is_where_the_contours_are_closest():
    found = steepest_place([0, 10, 12, 20], [100, 110, 120, 130], 25_000)
    assert (found.stretch, found.from_mm, found.to_mm) == (1, 10, 12)
    assert found.gradient == pytest.approx(0.2)  # 10 m in 50 m
    assert found.mean_gradient == pytest.approx(30 / 500)
    # Two crossings, each good to 0.25 mm, are 2 mm apart: a ratio of 0.25 sqrt(2) / 2.
    assert found.gradient_sd == pytest.approx(0.2 * 0.25 * np.sqrt(2) / 2, rel=1e-5)


def test_the_steepest_place_may_fall_and_the_same_contour_may_be_crossed_twice():
    found = steepest_place(
        [[0, 5, 6, 30], [0, 5, 6, 7]], [[100, 110, 110, 90], [100, 110, 90, 90]], [10_000, 10_000]
    )
    np.testing.assert_array_equal(found.stretch, [0, 1])
    np.testing.assert_allclose(found.gradient, [0.2, -2.0])


@pytest.mark.parametrize(
    ("call", "member"),
    [
        (lambda: gradient_between(1, 0, **SURE), "ground_m"),
        (lambda: gradient_between(np.nan, 1, **SURE), "rise_m"),
        (lambda: gradient_between(1, 1, rise_sd_m=-1, ground_sd_m=0), "rise_sd_m"),
        (lambda: rise_from_contours(3, 0), "interval_m"),
        (lambda: gradient_from_spacing(10, 0, 25_000), "spacing_mm"),
        (lambda: contour_spacing(10, 0.1, 0), "scale"),
        (lambda: steepest_place([0], [100], 25_000), "crossing_mm"),
        (lambda: steepest_place(0, 100, 25_000), "crossing_mm"),
        (lambda: steepest_place([0, 5, 5], [100, 110, 120], 25_000), "crossing_mm"),
        (lambda: steepest_place([0, 1e-320], [100, 110], 25_000), "crossing_mm"),
    ],
)
def test_what_is_out_of_range_is_named(call, member):
    with pytest.raises(OutOfRangeError) as caught:
        call()
    assert caught.value.member == member
