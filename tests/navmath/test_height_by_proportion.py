import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.estimate import EstimateStatus
from threenorths_service.navmath.estimates.height_by_proportion import height_by_shadow, height_by_stick
from threenorths_service.navmath.estimates.object_height import LONGEST_M, SHORTEST_M

lengths = st.floats(1, 100)


@given(lengths, st.floats(0.5, 3), st.floats(5, 80))
def test_the_sun_s_own_height_drops_out(height, stick, sun_deg):
    per_metre = 1 / np.tan(np.radians(sun_deg))
    found = height_by_shadow(height * per_metre, stick, stick * per_metre)
    assert found.height_m == pytest.approx(height, rel=1e-12)


@given(lengths, st.floats(1.7, 3), st.floats(0, 1.6), st.floats(0.5, 20))
def test_the_line_over_the_stick_meets_the_top(height, stick, eye, stick_distance):
    distance = stick_distance * (height - eye) / (stick - eye)
    assume(SHORTEST_M <= distance <= LONGEST_M)
    found = height_by_stick(distance, stick, stick_distance, eye_height_m=eye)
    assert found.height_m == pytest.approx(height, rel=1e-9)


def test_the_spread_is_that_of_many_trials():
    rng = np.random.default_rng(7)
    size = 200_000
    shadows = height_by_shadow(
        rng.normal(30, 0.5, size), rng.normal(2, 0.02, size), rng.normal(3, 0.02, size)
    )
    told = height_by_shadow(30, 2, 3, shadow_sd_m=0.5, stick_sd_m=0.02)
    # 200,000 trials tell a spread to 0.16 %; the rest is second order.
    assert told.height_sd_m == pytest.approx(np.std(shadows.height_m), rel=0.01)


def test_a_line_that_falls_to_the_ground_before_the_object_is_told():
    assert height_by_stick(100, 1.0, 2.0, eye_height_m=1.6).status == EstimateStatus.NO_HEIGHT


@pytest.mark.parametrize("member", ["shadow_m", "stick_m", "stick_shadow_m"])
def test_a_length_of_nothing_is_named(member):
    with pytest.raises(OutOfRangeError) as caught:
        height_by_shadow(**{"shadow_m": 10, "stick_m": 2, "stick_shadow_m": 3} | {member: 0})
    assert caught.value.member == member


def test_a_negative_spread_is_named():
    with pytest.raises(OutOfRangeError) as caught:
        height_by_stick(10, 2, 3, stick_sd_m=-0.1)
    assert caught.value.member == "stick_sd_m"


@pytest.mark.parametrize("formula", [height_by_shadow, height_by_stick])
def test_a_spread_as_large_as_the_length_that_is_divided_by_is_named(formula):
    with pytest.raises(OutOfRangeError) as caught:
        formula(10, 2, 1, stick_sd_m=1)
    assert caught.value.member == "stick_sd_m"


def test_rows_go_through_together():
    np.testing.assert_allclose(height_by_shadow([30, 60], 2, 3).height_m, [20, 40])
