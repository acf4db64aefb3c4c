import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError, TwoOfThreeError
from threenorths_service.navmath.estimates.travel_time import (
    SPEED_SD_RATIO,
    pace_speed_km_per_h,
    solve_travel,
)


@given(st.floats(10, 1e5), st.floats(1, 5000))
def test_any_two_tell_the_third(distance, time):
    speed = solve_travel(distance_m=distance, time_min=time).speed_km_per_h
    if 0.01 <= speed <= 1000:
        assert solve_travel(distance_m=distance, speed_km_per_h=speed).time_min == pytest.approx(
            time, rel=1e-12
        )
        assert solve_travel(time_min=time, speed_km_per_h=speed).distance_m == pytest.approx(
            distance, rel=1e-12
        )


def test_the_units_are_metres_minutes_and_kilometres_an_hour():
    found = solve_travel(distance_m=4500, speed_km_per_h=4.5)
    assert found.found == "time_min"
    assert found.time_min == pytest.approx(60, rel=1e-12)


def test_a_walker_s_paces_tell_the_speed():
    # 110 paces a minute at 66 double paces to 100 m: 166.67 m a minute (invented figures).
    assert pace_speed_km_per_h(110, 66) == pytest.approx(10.0, rel=1e-12)


def test_the_spread_of_a_quotient_is_the_textbook_s():
    # Relative spreads of a quotient add in squares (JCGM 100:2008, section 5.1.6).
    found = solve_travel(distance_m=5000, speed_km_per_h=5, distance_sd_m=150)
    assert found.sd == pytest.approx(60 * np.hypot(0.03, SPEED_SD_RATIO), rel=1e-5)
    assert solve_travel(distance_m=5000, speed_km_per_h=5).sd == pytest.approx(found.sd)


def test_the_watch_alone_spreads_the_speed():
    found = solve_travel(distance_m=1000, time_min=12, distance_sd_m=0, time_sd_min=0.6)
    assert found.sd == pytest.approx(5.0 * 0.05, rel=1e-5)


@pytest.mark.parametrize(
    "given_values", [{}, {"time_min": 1}, {"time_min": 1, "distance_m": 100, "speed_km_per_h": 6}]
)
def test_other_than_two_is_refused(given_values):
    with pytest.raises(TwoOfThreeError):
        solve_travel(**given_values)


@pytest.mark.parametrize(
    ("given_values", "member"),
    [
        ({"time_min": 0, "distance_m": 1}, "time_min"),
        ({"time_min": 1, "distance_m": -1}, "distance_m"),
        ({"time_min": 1, "speed_km_per_h": np.nan}, "speed_km_per_h"),
        ({"time_min": 1, "speed_km_per_h": 5, "speed_sd_km_per_h": -1}, "speed_sd_km_per_h"),
        ({"time_min": 1, "speed_km_per_h": 5, "time_sd_min": -1}, "time_sd_min"),
        ({"time_min": 1, "distance_m": 100, "time_sd_min": 1}, "time_sd_min"),
    ],
)
def test_what_is_out_of_range_is_named(given_values, member):
    with pytest.raises(OutOfRangeError) as caught:
        solve_travel(**given_values)
    assert caught.value.member == member


def test_no_paces_a_minute_are_refused():
    with pytest.raises(OutOfRangeError) as caught:
        pace_speed_km_per_h(0, 66)
    assert caught.value.member == "paces_per_min"


def test_rows_go_through_together():
    np.testing.assert_allclose(
        solve_travel(distance_m=[1000, 2000], time_min=[12, 24]).speed_km_per_h, [5, 5]
    )
