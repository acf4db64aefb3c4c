import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.estimate import PACED_SD_RATIO, EstimateStatus
from threenorths_service.navmath.estimates.offset_width import (
    WALKED_ANGLES,
    width_by_offset,
    width_by_two_bearings,
    width_by_walked_angle,
)

azimuth = st.floats(0, 360, exclude_max=True)


def bearing(east, north):
    return np.degrees(np.arctan2(east, north)) % 360.0


@given(st.floats(5, 500), st.floats(-400, 900), st.floats(5, 800), st.sampled_from([-1, 1]), azimuth)
def test_the_mark_s_own_coordinates_come_back(base, along, across, side, turn):
    # Along the base and across it, turned about by any angle: plane geometry with no sine rule in it.
    found = width_by_two_bearings(
        base,
        turn,
        turn + bearing(side * across, along),
        turn + bearing(side * across, along - base),
        bearing_sd_deg=1e-7,
    )
    assert found.status == EstimateStatus.OK
    # A degree of angle rounded at 1e-13 moves the distance by that over the sine of the crossing angle.
    near = {"rel": 1e-9 / np.sin(np.radians(found.crossing_angle_deg))}
    assert found.width_m == pytest.approx(across, **near)
    assert found.from_start_m == pytest.approx(np.hypot(along, across), **near)
    assert found.from_end_m == pytest.approx(np.hypot(along - base, across), **near)


def test_a_base_that_does_not_follow_the_bank_takes_the_bank_s_own_direction():
    # The river runs east. The base goes inland from the edge, 30 m east and 40 m south; the mark is 100 m across.
    found = width_by_two_bearings(
        50, bearing(30, -40), bearing(20, 100), bearing(-10, 140), river_azimuth_deg=270, bearing_sd_deg=0.1
    )
    assert found.width_m == pytest.approx(100, rel=1e-12)


def test_a_right_angle_offset_is_the_tangent():
    for base_azimuth, end in ((90, 90 - 150), (90, 90 + 150), (350, 140), (10, 220)):
        found = width_by_offset(60, base_azimuth, end)
        assert found.width_m == pytest.approx(60 * np.tan(np.radians(30)), rel=1e-12)


@pytest.mark.parametrize(("method", "width"), [("45", 60), ("63_26", 120), ("26_34", 30)])
def test_the_field_methods_are_the_same_formula(method, width):
    assert width_by_walked_angle(60, method).width_m == pytest.approx(width, rel=1e-12)
    printed_deg = {"45": 45.0, "63_26": 63 + 26 / 60, "26_34": 26 + 34 / 60}[method]
    # The name gives the angle to a minute of arc.
    assert np.degrees(np.arctan(WALKED_ANGLES[method])) == pytest.approx(printed_deg, abs=0.5 / 60)


def test_standing_back_from_the_edge_is_taken_off():
    assert width_by_walked_angle(60, "45", set_back_m=4).width_m == pytest.approx(56, rel=1e-12)
    assert width_by_walked_angle([60, 60], "45", set_back_m=[61, 59]).status.tolist() == [
        EstimateStatus.SET_BACK_TOO_FAR,
        EstimateStatus.OK,
    ]


@pytest.mark.parametrize(("start", "end"), [(0.0, 315.0), (40.0, 320.0), (10.0, 300.0)])
def test_the_spread_is_that_of_many_trials(start, end):
    rng = np.random.default_rng(4)
    size, base_sd, bearing_sd = 200_000, 2.0, 0.5
    trials = width_by_two_bearings(
        rng.normal(60.0, base_sd, size),
        rng.normal(90.0, bearing_sd, size),
        rng.normal(start, bearing_sd, size),
        rng.normal(end, bearing_sd, size),
        bearing_sd_deg=0.0,
    )
    told = width_by_two_bearings(60, 90, start, end, base_sd_m=base_sd, bearing_sd_deg=bearing_sd)
    # The spread of 200,000 trials is itself good to 1 / sqrt(400,000) = 0.16 %; the rest is second order.
    for member in ("width", "from_start", "from_end"):
        values = getattr(trials, f"{member}_m")
        assert getattr(told, f"{member}_sd_m") == pytest.approx(np.std(values), rel=0.02)


def test_the_base_alone_spreads_the_width_in_proportion():
    found = width_by_walked_angle(100, "63_26", bearing_sd_deg=0)
    assert found.width_sd_m == pytest.approx(200 * PACED_SD_RATIO, rel=1e-9)


@pytest.mark.parametrize(
    ("azimuth_deg", "start", "end", "status"),
    [
        (90, 0, 0, EstimateStatus.WEAK_BASE),  # parallel
        (90, 0, 358, EstimateStatus.WEAK_BASE),  # within what the compass can tell
        (90, 90, 300, EstimateStatus.WEAK_BASE),  # the mark in line with the base
        (90, 30, 270, EstimateStatus.WEAK_BASE),
        (90, 0, 40, EstimateStatus.LINES_DO_NOT_MEET),  # apart
        (90, 180, 300, EstimateStatus.LINES_DO_NOT_MEET),  # one on each side
        (90, 142, 202, EstimateStatus.OK),  # a mark on the other side
        (90, 38 + 180, 338 + 180, EstimateStatus.LINES_DO_NOT_MEET),  # both reversed
        (90, 38 + 180, 338, EstimateStatus.LINES_DO_NOT_MEET),  # one reversed
    ],
)
def test_bearings_that_make_no_triangle_are_told(azimuth_deg, start, end, status):
    found = width_by_two_bearings(50, azimuth_deg, start, end)
    assert found.status == status
    assert np.isfinite(found.width_m) == (status == EstimateStatus.OK)


def test_exactly_parallel_lines_of_a_perfect_compass_are_told():
    assert width_by_two_bearings(50, 90, 10, 10, bearing_sd_deg=0).status == EstimateStatus.WEAK_BASE


@pytest.mark.parametrize(
    ("given_values", "member"),
    [
        ({"base_m": 0}, "base_m"),
        ({"base_m": np.nan}, "base_m"),
        ({"end_bearing_deg": np.inf}, "end_bearing_deg"),
        ({"set_back_m": -1}, "set_back_m"),
        ({"base_sd_m": -1}, "base_sd_m"),
        ({"bearing_sd_deg": np.nan}, "bearing_sd_deg"),
        ({"river_azimuth_deg": np.nan}, "river_azimuth_deg"),
    ],
)
def test_what_is_out_of_range_is_named(given_values, member):
    good = {"base_m": 50, "base_azimuth_deg": 90, "start_bearing_deg": 10, "end_bearing_deg": 330}
    with pytest.raises(OutOfRangeError) as caught:
        width_by_two_bearings(**good | given_values)
    assert caught.value.member == member


def test_rows_go_through_together_and_a_bad_one_alone_is_lost():
    found = width_by_two_bearings([50, 50, 75], 90, [48, 0, 38], [348, 40, 338])
    assert found.status.tolist() == [0, EstimateStatus.LINES_DO_NOT_MEET, 0]
    assert found.width_m[2] == width_by_two_bearings(75, 90, 38, 338).width_m


@given(st.floats(0.1, 1e4), azimuth, azimuth, azimuth, st.floats(0, 45), st.none() | azimuth)
def test_no_bearings_make_an_unhandled_number(base, along, start, end, sd, river):
    found = width_by_two_bearings(base, along, start, end, bearing_sd_deg=sd, river_azimuth_deg=river)
    values = [
        found.width_m,
        found.width_sd_m,
        found.from_start_sd_m,
        found.from_end_sd_m,
        found.crossing_angle_deg,
    ]
    assert np.all(np.isfinite(values)) == (found.status == EstimateStatus.OK)
