import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.compasses.compass_chance import (
    largest_variance_factor,
    normal_chance,
    student_chance,
)
from threenorths_service.navmath.compasses.compass_check import check_compass
from threenorths_service.navmath.compasses.compass_deviation import deviation_of, error_at
from threenorths_service.navmath.errors import OutOfRangeError, TooFewReadingsError

EIGHT = np.arange(0.0, 360.0, 45.0)

# US National Geospatial-Intelligence Agency, "Handbook of Magnetic Compass Adjustment", 2004, article 501, figure 501: the
# deviations of a compass on eight headings, east positive. By the article's rule A is their mean; by the chapter's other
# approximate rules (from memory) B is the mean of that on east and the opposite of that on west, C so of north and south.
HANDBOOK_DEVIATIONS = np.array([10.5, 20.0, 11.5, -1.2, -5.5, -8.0, -12.5, -6.8])
HANDBOOK_A, HANDBOOK_B, HANDBOOK_C = 1.0, 12.0, 8.0


def codes(check):
    return {each.code for each in check.cautions}


def test_the_handbooks_coefficients_with_the_sign_of_a_compass_error():
    check = check_compass(EIGHT, EIGHT + HANDBOOK_DEVIATIONS, 0.5)
    assert check.error_deg == pytest.approx(-HANDBOOK_A, abs=1e-9)
    assert check.deviation.constant_deg == pytest.approx(-HANDBOOK_A, abs=1e-9)
    # Least squares over eight headings against the rule of two: on a curve drawn by eye to half a degree.
    assert check.deviation.sine_deg == pytest.approx(-HANDBOOK_B, abs=0.25)
    assert check.deviation.cosine_deg == pytest.approx(-HANDBOOK_C, abs=0.25)
    assert check.deviation.found
    assert {"compass_deviates", "readings_disagree"} <= codes(check)


def test_an_error_is_the_reading_less_the_correct_direction():
    check = check_compass([92.0, 182.0, 272.0], [90.0, 180.0, 270.0], 1.0)
    assert check.error_deg == pytest.approx(2.0)
    assert check.error_sd_deg == pytest.approx(1.0 / np.sqrt(3.0))
    assert check.found
    np.testing.assert_allclose(check.residuals_deg, 0.0, atol=1e-12)


def test_readings_weigh_by_their_own_and_the_known_directions_standard_deviation():
    check = check_compass([10.0, 14.0], [10.0, 10.0], [3.0, 6.0], [4.0, 8.0])
    # Standard deviations 5 and 10: weights 4 to 1.
    assert check.error_deg == pytest.approx(0.8)
    assert check.error_sd_deg == pytest.approx(1.0 / np.sqrt(1.0 / 25.0 + 1.0 / 100.0))


def test_what_the_known_directions_share_does_not_average_out():
    check = check_compass(np.full(100, 1.0), 0.0, 1.0, shared_sd_deg=0.4)
    assert check.error_sd_deg == pytest.approx(np.hypot(0.1, 0.4))
    assert check.found
    assert not check_compass(np.full(100, 0.7), 0.0, 1.0, shared_sd_deg=0.4).found


@pytest.mark.parametrize("turn", [0.0, 90.0, 179.5, 180.0, 359.5])
def test_north_and_the_half_turn_are_no_edges(turn):
    known = np.array([0.0, 0.4, 359.7])
    check = check_compass(known + turn + 0.25, known, 1.0)
    assert check.error_deg == pytest.approx((turn + 0.25 + 180) % 360 - 180)
    np.testing.assert_allclose(check.residuals_deg, 0.0, atol=1e-9)


def test_errors_on_both_sides_of_the_half_turn_have_their_mean_there():
    check = check_compass([178.0, 181.0, 183.0], 0.0, 1.0)
    assert check.error_deg == pytest.approx(180.0 + 2.0 / 3.0 - 360.0)
    np.testing.assert_allclose(np.sum(check.residuals_deg), 0.0, atol=1e-9)


def test_a_single_reading_has_no_check():
    check = check_compass(93.0, 90.0, 2.0)
    assert (check.error_deg, check.error_sd_deg, check.found) == (3.0, 2.0, False)
    assert (check.variance_factor, check.agree, check.suspect, check.rest) == (None, None, None, None)
    assert codes(check) == {"single_reading"}


def test_a_reversed_reading_is_named_and_left_out():
    check = check_compass([1.0, 91.5, 180.5, 91.0], [0.0, 90.0, 180.0, 270.0], 1.0)
    assert check.suspect == 3
    assert check.rest.error_deg == pytest.approx(1.0)
    assert check.rest.suspect is None
    assert "reading_suspect" in codes(check)


def test_a_blunder_is_found_though_the_standard_deviations_were_too_small():
    # The others scatter by 2 degrees where 0.5 was stated: Student's law decides, 15 degrees off is a blunder, 4 is not.
    known = np.zeros(9)
    scatter = np.array([-2.0, 1.5, 2.5, -1.0, 0.5, -2.5, 2.0, -1.0])
    assert check_compass([*scatter, 15.0], known, 0.5).suspect == 8
    assert check_compass([*scatter, 4.0], known, 0.5).suspect is None
    assert check_compass(scatter, 0.0, 0.5).agree is False


def test_of_two_readings_neither_is_suspected():
    check = check_compass([0.0, 40.0], 0.0, 1.0)
    assert check.suspect is None
    assert check.agree is False
    assert "readings_disagree" in codes(check)
    assert check.error_sd_deg == pytest.approx(20.0)


def test_a_deviation_needs_five_readings_around_the_horizon():
    def fit(directions):
        directions = np.asarray(directions, dtype=float)
        return deviation_of(directions, np.ones(len(directions)), np.ones(len(directions)))

    assert fit([0, 90, 180, 270]) is None
    assert fit([0, 90, 180, 200, 230]) is None
    assert fit([0, 30, 60, 90, 120]) is None
    assert fit([0, 0, 120, 120, 240]) is not None
    assert fit([10, 80, 150, 220, 290]) is not None


@given(
    st.floats(-20, 20),
    st.floats(-10, 10),
    st.floats(-10, 10),
    st.integers(5, 24),
    st.floats(0, 359),
)
def test_a_deviation_without_noise_is_found_again(constant, sine, cosine, count, start):
    reading = (start + np.arange(count) * 360.0 / count) % 360.0
    turn = np.radians(reading)
    error = constant + sine * np.sin(turn) + cosine * np.cos(turn)
    deviation = deviation_of(reading, error, np.full(count, 0.5))
    assert (deviation.constant_deg, deviation.sine_deg, deviation.cosine_deg) == pytest.approx(
        (constant, sine, cosine), abs=1e-8
    )
    found, sd = error_at(deviation, reading)
    np.testing.assert_allclose(found, error, atol=1e-8)
    # Three coefficients from so many readings: the mean variance of the fit is 3 / n of theirs.
    assert np.mean(sd**2) == pytest.approx(0.25 * 3 / count)


@given(
    st.lists(st.tuples(st.floats(0, 359.9), st.floats(-180, 180)), min_size=1, max_size=8),
    st.floats(0.01, 10),
)
def test_every_check_is_finite(readings, sd):
    known, error = np.array(readings).T
    check = check_compass(known + error, known, sd)
    assert -180 < check.error_deg <= 180
    assert np.isfinite(check.error_sd_deg)
    assert np.all(np.isfinite(check.residuals_deg))


def test_errors_scatter_as_their_standard_deviations_say():
    random = np.random.default_rng(7)
    inside = suspected = deviating = 0
    trials = 2000
    for _ in range(trials):
        known = random.uniform(0, 360, 8)
        sd = random.uniform(0.5, 2.0, 8)
        check = check_compass(known + 1.7 + random.normal(0, sd), known, sd)
        inside += abs(check.error_deg - 1.7) < 1.96 * check.error_sd_deg
        suspected += check.suspect is not None
        deviating += check.deviation is not None and check.deviation.found
    # 95 per cent of trials, give or take three standard deviations of the count.
    assert abs(inside / trials - 0.95) < 3 * np.sqrt(0.95 * 0.05 / trials)
    # One in a hundred is what both tests allow themselves, with the same margin.
    assert suspected / trials < 0.01 + 3 * np.sqrt(0.01 / trials)
    assert deviating / trials < 0.01 + 3 * np.sqrt(0.01 / trials)


def test_the_tails_are_those_of_the_printed_tables():
    # Two-sided 5 per cent points of Student's law, in every book of statistics (from memory), printed to 0.001.
    for freedom, t in ((1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (10, 2.228), (30, 2.042)):
        assert student_chance(t, freedom) == pytest.approx(0.05, abs=6e-5)
    assert student_chance(1.96, 10_001) == pytest.approx(normal_chance(1.96), abs=1e-4)
    assert normal_chance(1.959964) == pytest.approx(0.05, abs=1e-7)
    # The 99 per cent points of chi-square, over the degrees of freedom (the same); the approximation is good to 3 per cent.
    for freedom, point in ((1, 6.635), (2, 9.210), (5, 15.086), (10, 23.209), (30, 50.892)):
        assert largest_variance_factor(freedom) == pytest.approx(point / freedom, rel=0.03)


def test_what_cannot_be_checked_is_a_named_error():
    with pytest.raises(TooFewReadingsError):
        check_compass([], [], 1.0)
    for kwargs in (
        {"reading_sd_deg": 0.0},
        {"reading_sd_deg": np.nan},
        {"reading_sd_deg": 1.0, "known_sd_deg": -1.0},
        {"reading_sd_deg": 1.0, "shared_sd_deg": np.inf},
    ):
        with pytest.raises(OutOfRangeError):
            check_compass([1.0], [0.0], **kwargs)
    with pytest.raises(OutOfRangeError):
        check_compass([np.nan], [0.0], 1.0)
