import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.sights.ellipse import CONFIDENCE, ellipse_of

#: The confidence of the ellipse whose semi-axes are the standard deviations themselves: 1 - exp(-1/2).
ONE_SIGMA = -math.expm1(-0.5)


def covariance(var_north_m2, var_east_m2, cov_m2):
    return np.array([[var_north_m2, cov_m2], [cov_m2, var_east_m2]])


def published(row):
    """The covariance, the two semi-axes and the azimuth of a row, and the factor for 95 %."""
    given_m2 = [
        float(number) for number in re.findall(r"var N (\S+), var E (\S+), cov NE (\S+)", row["inputs"])[0]
    ]
    expected = re.findall(r"a = (\S+) m, b = (\S+) m, .* axis (\S+) deg .* by (\S+)$", row["expected"])[0]
    return covariance(*given_m2), *map(float, expected)


@pytest.mark.parametrize(
    "row",
    [row for row in rows("survey_examples") if row["id"].startswith("ellipse-")],
    ids=lambda row: row["id"],
)
def test_published_ellipses(row):
    covariance_m2, major_m, minor_m, azimuth_deg, factor = published(row)
    half_digit = 0.5e-6
    one_sigma = ellipse_of(covariance_m2, ONE_SIGMA)
    assert one_sigma.semi_major_m == pytest.approx(major_m, abs=half_digit)
    assert one_sigma.semi_minor_m == pytest.approx(minor_m, abs=half_digit)
    assert one_sigma.major_axis_azimuth_deg == pytest.approx(azimuth_deg, abs=half_digit)
    usual = ellipse_of(covariance_m2)
    assert usual.semi_major_m == pytest.approx(factor * major_m, abs=half_digit * (factor + major_m))
    assert usual.semi_minor_m == pytest.approx(factor * minor_m, abs=half_digit * (factor + minor_m))
    assert usual.major_axis_azimuth_deg == one_sigma.major_axis_azimuth_deg


def test_the_usual_ellipse_holds_95_percent():
    usual = ellipse_of(np.eye(2))
    assert usual.confidence == CONFIDENCE == 0.95
    # The chi-square quantile of two degrees of freedom at 95 % is 5.991: any table of it, from memory.
    assert usual.semi_major_m**2 == pytest.approx(5.991, abs=0.0005)


def test_the_share_of_errors_inside_is_the_confidence():
    covariance_m2 = covariance(9.0, 4.0, -3.0)
    errors_m = np.random.default_rng(7).multivariate_normal([0.0, 0.0], covariance_m2, 200_000)
    for confidence in (0.5, 0.95):
        ellipse = ellipse_of(covariance_m2, confidence)
        azimuth = math.radians(ellipse.major_axis_azimuth_deg)
        along_m = errors_m @ [math.cos(azimuth), math.sin(azimuth)]
        across_m = errors_m @ [-math.sin(azimuth), math.cos(azimuth)]
        inside = (along_m / ellipse.semi_major_m) ** 2 + (across_m / ellipse.semi_minor_m) ** 2 < 1.0
        # Five standard deviations of a share of 200,000 draws.
        spread = math.sqrt(confidence * (1.0 - confidence) / 200_000)
        assert inside.mean() == pytest.approx(confidence, abs=5 * spread)


def test_an_error_to_the_north_or_east_points_there():
    assert ellipse_of(covariance(4.0, 1.0, 0.0)).major_axis_azimuth_deg == 0.0
    assert ellipse_of(covariance(1.0, 4.0, 0.0)).major_axis_azimuth_deg == 90.0


def test_an_axis_just_west_of_north_does_not_come_out_as_180():
    azimuth_deg = ellipse_of(covariance(4.0, 1.0, -1e-300)).major_axis_azimuth_deg
    assert azimuth_deg == 0.0
    assert not np.signbit(azimuth_deg)


def test_a_circle_has_equal_axes_and_its_azimuth_is_nought():
    circle = ellipse_of(4.0 * np.eye(2), ONE_SIGMA)
    assert (circle.major_axis_azimuth_deg, circle.semi_major_m, circle.semi_minor_m) == (
        0.0,
        pytest.approx(2.0),
        pytest.approx(2.0),
    )


def test_errors_along_one_line_have_no_width():
    line = ellipse_of(covariance(1.0, 1.0, 1.0), ONE_SIGMA)
    assert line.semi_major_m == pytest.approx(math.sqrt(2.0))
    assert line.semi_minor_m == 0.0
    assert line.major_axis_azimuth_deg == 45.0


@given(st.floats(1e-3, 1e3), st.floats(0.0, 180.0))
def test_no_rounding_makes_a_width_of_nan(length_m, azimuth_deg):
    azimuth = math.radians(azimuth_deg)
    axis_m = length_m * np.array([math.cos(azimuth), math.sin(azimuth)])
    ellipse = ellipse_of(np.outer(axis_m, axis_m), ONE_SIGMA)
    # The width's square is a difference of rounded squares, of three roundings or so.
    assert 0.0 <= ellipse.semi_minor_m <= 3e-8 * length_m
    assert ellipse.semi_major_m == pytest.approx(length_m)


def test_no_error_at_all_is_a_point():
    point = ellipse_of(np.zeros((2, 2)))
    assert (point.semi_major_m, point.semi_minor_m, point.major_axis_azimuth_deg) == (0.0, 0.0, 0.0)


@given(st.floats(0.1, 100.0), st.floats(0.0, 0.99), st.floats(0.0, 360.0))
def test_turning_the_errors_turns_the_ellipse(major_m, flatness, azimuth_deg):
    minor_m = major_m * flatness
    azimuth = math.radians(azimuth_deg)
    turn = np.array([[math.cos(azimuth), -math.sin(azimuth)], [math.sin(azimuth), math.cos(azimuth)]])
    ellipse = ellipse_of(turn @ np.diag([major_m**2, minor_m**2]) @ turn.T, ONE_SIGMA)
    assert ellipse.semi_major_m == pytest.approx(major_m, rel=1e-12)
    assert ellipse.semi_minor_m == pytest.approx(minor_m, abs=3e-8 * major_m)
    assert 0.0 <= ellipse.major_axis_azimuth_deg < 180.0
    off_deg = (ellipse.major_axis_azimuth_deg - azimuth_deg + 90.0) % 180.0 - 90.0
    # A few roundings of the covariance, over the difference of the axes' squares, which is at least 2 % of them.
    assert off_deg == pytest.approx(0.0, abs=math.degrees(4 * 2.2e-16 / 0.0199) + 1e-13 * 4)


def test_stacks_of_covariances():
    stack = np.array([[covariance(2.5, 1.5, 0.8)], [covariance(9.0, 4.0, -3.0)]])
    ellipses = ellipse_of(stack)
    assert ellipses.semi_major_m.shape == (2, 1)
    for index in range(2):
        alone = ellipse_of(stack[index, 0])
        assert ellipses.semi_major_m[index, 0] == alone.semi_major_m
        assert ellipses.semi_minor_m[index, 0] == alone.semi_minor_m
        assert ellipses.major_axis_azimuth_deg[index, 0] == alone.major_axis_azimuth_deg
