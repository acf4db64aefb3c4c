import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.angle import CIRCLE_DIVISIONS
from threenorths_service.navmath.errors import OutOfRangeError, TwoOfThreeError
from threenorths_service.navmath.estimates.mil_relation import MIL_CIRCLES, WIDTH_SD_RATIO, solve_mil_relation

units = st.sampled_from(sorted(MIL_CIRCLES))


@given(st.floats(0.5, 500), st.floats(5, 20_000), units)
def test_any_two_tell_the_third(width, distance, unit):
    angle = solve_mil_relation(width_m=width, distance_m=distance, unit=unit)
    assert angle.found == "angle"
    by_width = solve_mil_relation(distance_m=distance, angle=angle.angle, unit=unit)
    by_distance = solve_mil_relation(width_m=width, angle=angle.angle, unit=unit)
    assert by_width.width_m == pytest.approx(width, rel=1e-9)
    assert by_distance.distance_m == pytest.approx(distance, rel=1e-9)


@given(st.floats(1, 50), st.floats(100, 5000), units)
def test_the_edges_of_the_object_are_as_far_apart_as_its_angle(width, distance, unit):
    # By the dot product of the two lines of sight, with no half angle in it.
    edge = np.array([distance, width / 2])
    other = np.array([distance, -width / 2])
    between = np.arccos(edge @ other / (edge @ edge))
    found = solve_mil_relation(width_m=width, distance_m=distance, unit=unit).angle
    # The arc cosine near 0 keeps 1e-16 / angle of the angle.
    assert found * 2 * np.pi / MIL_CIRCLES[unit] == pytest.approx(between, abs=1e-15 / between)


# 1 mil in milliradians is 2000 pi over the mils of the circle. The rule of thumb takes it for 1.
@pytest.mark.parametrize("unit", sorted(MIL_CIRCLES))
def test_the_rule_of_thumb_is_high_by_the_size_of_its_mil(unit):
    high = MIL_CIRCLES[unit] / (2000 * np.pi)
    widths = solve_mil_relation(distance_m=1000, angle=1, unit=unit)
    distances = solve_mil_relation(width_m=1, angle=1, unit=unit)
    # At 1 mil the tangent is 1 + 8e-8 times its angle.
    assert 1 + widths.difference_percent / 100 == pytest.approx(high, abs=2e-7)
    assert 1 + distances.difference_percent / 100 == pytest.approx(1 / high, abs=2e-7)
    assert widths.rule_of_thumb == 1.0


def test_the_mils_are_those_of_the_compass_scales():
    assert [MIL_CIRCLES[name] for name in ("mil", "mil_6300", "mil_6000")] == [6400, 6300, 6000]
    assert all(MIL_CIRCLES[name] == CIRCLE_DIVISIONS[name] for name in ("mil", "mil_6300", "mil_6000"))


def test_wide_angles_leave_the_rule_behind():
    # 1600 mils are a right angle: twice the tangent of half of it is 2, the rule makes 1.6.
    found = solve_mil_relation(distance_m=100, angle=1600)
    assert found.width_m == pytest.approx(200, rel=1e-12)
    assert found.rule_of_thumb == pytest.approx(160, rel=1e-12)
    assert found.difference_percent == pytest.approx(-20, rel=1e-9)


def test_the_spread_is_that_of_many_trials():
    rng = np.random.default_rng(8)
    size = 200_000
    trials = solve_mil_relation(width_m=rng.normal(6, 0.1, size), angle=rng.normal(20, 0.3, size))
    told = solve_mil_relation(width_m=6, angle=20, width_sd_m=0.1, angle_sd=0.3)
    # 200,000 trials tell a spread to 0.16 %; the rest is second order.
    assert told.sd == pytest.approx(np.std(trials.distance_m), rel=0.01)
    assert told.rule_of_thumb_sd == pytest.approx(np.std(trials.rule_of_thumb), rel=0.01)


def test_a_width_by_its_kind_spreads_in_proportion():
    found = solve_mil_relation(width_m=2, angle=4, angle_sd=0)
    assert found.sd == pytest.approx(WIDTH_SD_RATIO * found.distance_m, rel=1e-9)


@pytest.mark.parametrize("given_values", [{}, {"width_m": 1}, {"width_m": 1, "distance_m": 100, "angle": 10}])
def test_other_than_two_is_refused(given_values):
    with pytest.raises(TwoOfThreeError):
        solve_mil_relation(**given_values)


@pytest.mark.parametrize(
    ("given_values", "member"),
    [
        ({"width_m": 0, "angle": 1}, "width_m"),
        ({"width_m": 1, "angle": 0}, "angle"),
        ({"distance_m": 1, "angle": 3200}, "angle"),  # half a circle: no width reaches so far
        ({"distance_m": np.nan, "angle": 1}, "distance_m"),
        ({"distance_m": 1, "angle": 1, "angle_sd": -1}, "angle_sd"),
        ({"distance_m": 1, "width_m": 1, "width_sd_m": -1}, "width_sd_m"),
        (
            {"width_m": 1, "angle": 1, "angle_sd": 1000},
            "angle_sd",
        ),  # a step of it would reach an angle of nought
    ],
)
def test_what_is_out_of_range_is_named(given_values, member):
    with pytest.raises(OutOfRangeError) as caught:
        solve_mil_relation(**given_values)
    assert caught.value.member == member


def test_rows_go_through_together():
    np.testing.assert_allclose(
        solve_mil_relation(width_m=[10, 10], angle=[10, 20]).rule_of_thumb, [1000, 500]
    )
