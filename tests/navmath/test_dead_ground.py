import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.dead_ground import Stretch, dead_ground
from threenorths_service.navmath.estimates.sight_line import sight_line
from threenorths_service.navmath.estimates.terrain_profile import MEAN_RADIUS_M, REFRACTION_K

BEND = (1 - REFRACTION_K) / (2 * MEAN_RADIUS_M)

profiles = st.lists(st.floats(0, 100), min_size=2, max_size=9)


@given(profiles, st.floats(0.5, 30), st.floats(0, 20))
def test_every_place_is_hidden_or_seen_as_its_own_line_of_sight_has_it(heights, observer, target):
    distance = np.linspace(0, 8000, len(heights))
    stretches = dead_ground(distance, heights, observer_height_m=observer, target_height_m=target)
    places = np.linspace(0, 8000, 4001)[1:]
    ground = np.interp(places, distance, heights) - BEND * places**2
    slope = (ground - heights[0] - observer) / places
    # Depth under the skyline of all that lies before: a place is hidden where it is positive.
    depth = np.maximum.accumulate(slope) * places + heights[0] + observer - ground - target
    hidden = np.any(
        [(places > s.from_m) & (places <= s.to_m) for s in stretches] or [np.zeros(4000, bool)], axis=0
    )
    # The sampled skyline is lower than the true one by what the ground does in 2 m, at most 100 m in 1000 m.
    assert np.all(hidden[depth > 1e-6])
    assert np.all(depth[hidden] > -0.3)


@given(profiles, st.floats(0.5, 30), st.floats(0, 20))
def test_the_far_end_is_hidden_just_when_the_line_of_sight_is_blocked(heights, observer, target):
    distance = np.linspace(0, 8000, len(heights))
    given_heights = {"observer_height_m": observer, "target_height_m": target}
    found = sight_line(distance, heights, height_sd_m=0, refraction_k_sd=0, **given_heights)
    stretches = dead_ground(distance, heights, **given_heights)
    if abs(found.least_target_height_m - target) > 1e-3:
        hidden = bool(stretches) and stretches[-1].to_m == 8000
        assert hidden == (not found.visible)


def test_behind_a_ridge_lies_dead_ground_to_where_the_sight_comes_down_again():
    # The eye 2 m over 100 m, a ridge of 150 m at 1 km, then level ground at 120 m, then a hill.
    (behind,) = dead_ground([0, 1000, 1200, 2000, 3000], [100, 150, 120, 120, 320])
    slope = (150 - 101.6) / 1000
    assert behind.from_m == pytest.approx(1000, abs=1e-6)
    # On a plane the sight meets the hill where 101.6 + slope d = 120 + 0.2 (d - 2000); the bend shifts it by under 2 m.
    assert behind.to_m == pytest.approx((101.6 - 120 + 400) / (0.2 - slope), abs=3)


def test_a_tall_target_shows_over_the_ridge():
    profile = [0, 1000, 1200, 2000, 3000], [100, 150, 120, 120, 320]
    (low,), (tall,) = dead_ground(*profile), dead_ground(*profile, target_height_m=20)
    assert low.from_m < tall.from_m < tall.to_m < low.to_m
    assert dead_ground(*profile, target_height_m=500) == []


def test_beyond_the_horizon_the_sea_is_dead_ground():
    (beyond,) = dead_ground([0, 20_000], [0, 0], observer_height_m=2)
    assert beyond == Stretch(pytest.approx(np.sqrt(2 / BEND), rel=1e-9), 20_000)
    # A mast is seen as far as the two horizons reach together.
    (mast,) = dead_ground([0, 40_000], [0, 0], observer_height_m=2, target_height_m=30)
    assert mast.from_m == pytest.approx(np.sqrt(2 / BEND) + np.sqrt(30 / BEND), rel=1e-9)


def test_even_ground_before_one_s_eyes_hides_nothing():
    assert dead_ground([0, 500, 1000], [100, 100, 200]) == []


def test_an_eye_on_level_ground_sees_none_of_it():
    (all_of_it,) = dead_ground([0, 500, 1000], [100, 100, 100], observer_height_m=0)
    assert all_of_it == Stretch(0, 1000)


@pytest.mark.parametrize("member", ["observer_height_m", "target_height_m"])
def test_a_negative_height_is_named(member):
    with pytest.raises(OutOfRangeError) as caught:
        dead_ground([0, 1000], [10, 10], **{member: -1})
    assert caught.value.member == member
