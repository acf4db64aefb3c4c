import math
import os

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.angle import normalise_signed
from threenorths_service.navmath.errors import (
    DateMissingError,
    DateOutsideModelError,
    LengthsInconsistentError,
    LengthsMissingError,
    MagneticUselessError,
    NavigationError,
    NoLegsError,
    OutOfRangeError,
    OutsideGridError,
)
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.lines.leg import Leg, leg_of
from threenorths_service.navmath.lines.line import line_between
from threenorths_service.navmath.lines.ray import ray_from
from threenorths_service.navmath.lines.reckoning import reckon
from threenorths_service.navmath.lines.reckoning_errors import ReckoningErrors
from threenorths_service.navmath.lines.traverse import close

YEAR = 2027.25
START = (60.2, 9.1)
NORTHS = ("true", "grid", "magnetic")
HANDBOOK = {row["id"]: row for row in rows("handbook_examples")}

#: The library's accuracy is 15 nm; a grid ray is turned to within 0.1 um.
LEG_NOISE_M = 2e-7

azimuths = st.floats(0.0, 360.0, exclude_max=True)
lengths = st.one_of(st.just(0.0), st.floats(0.0, 4.0).map(lambda power: 10.0**power))
plain_starts = st.tuples(st.floats(-70.0, 70.0), st.floats(-180.0, 180.0, exclude_max=True))
starts = st.tuples(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0, exclude_max=True))


def apart_m(one, other):
    return float(inverse(*one, *other)[2])


def places(reckoning):
    return list(zip(reckoning.walk.lat_deg.tolist(), reckoning.walk.lon_deg.tolist(), strict=True))


@given(plain_starts, azimuths, st.sampled_from(NORTHS), lengths)
def test_a_walk_of_one_leg_is_a_ray(start, azimuth_deg, north, length_m):
    reckoning = reckon(*start, [Leg(azimuth_deg, length_m, north)], decimal_year=YEAR)
    ray = ray_from(*start, azimuth_deg, north, length_m, YEAR)
    assert apart_m(places(reckoning)[1], (ray.lat_deg, ray.lon_deg)) < LEG_NOISE_M
    assert reckoning.walk.azimuth_deg[0] == ray.true_azimuth_deg


@given(starts, st.lists(st.tuples(azimuths, lengths), min_size=1, max_size=6))
def test_a_walk_and_its_reverse_return(start, steps):
    there = reckon(*start, [Leg(*step) for step in steps])
    back = [
        Leg(float(azimuth_deg), step[1])
        for azimuth_deg, step in zip(there.walk.back_azimuth_deg[::-1], steps[::-1], strict=True)
    ]
    # At a pole an azimuth is counted from the longitude that came with it, which the places keep.
    returned = reckon(*places(there)[-1], back)
    near_pole_m = 111_000.0 * min(90.0 - abs(lat) for lat, _lon in places(there))
    noise_m = 2 * len(steps) * LEG_NOISE_M * (1.0 + sum(step[1] for step in steps) / max(near_pole_m, 1e-3))
    assert apart_m(places(returned)[-1], start) < noise_m


@given(plain_starts, st.permutations(range(5)), st.lists(azimuths, min_size=5, max_size=5))
def test_the_order_of_legs_changes_the_end_by_the_second_order_only(start, order, bearings):
    legs = [Leg(bearing, 300.0 * (index + 1)) for index, bearing in enumerate(bearings)]
    one = reckon(*start, legs)
    other = reckon(*start, [legs[index] for index in order])
    walked_m = one.walked_m[-1]
    # A leg begun elsewhere has a true north turned by its way east times tan(lat) over the Earth's radius.
    second_order_m = walked_m**2 * (math.tan(math.radians(72.0)) + 1.0) / 6.35e6
    assert apart_m(places(one)[-1], places(other)[-1]) < second_order_m


@given(plain_starts, azimuths, st.sampled_from(NORTHS), st.floats(1.0, 4.0).map(lambda power: 10.0**power))
def test_a_back_bearing_is_that_of_the_line_seen_from_its_end(start, azimuth_deg, north, length_m):
    ray = ray_from(*start, azimuth_deg, north, length_m, YEAR)
    line = line_between(*start, ray.lat_deg, ray.lon_deg, YEAR)
    seen_deg = float(getattr(line, f"{north}_back_azimuth_deg"))
    reckoning = reckon(*start, [Leg(seen_deg, length_m, north, back=True)], decimal_year=YEAR)
    assert apart_m(places(reckoning)[1], (ray.lat_deg, ray.lon_deg)) < 1e-6


def test_each_leg_begins_where_the_one_before_it_ended():
    legs = [Leg(40.0, 900.0, "magnetic"), Leg(120.0, 400.0, "grid"), Leg(310.0, 700.0)]
    reckoning = reckon(*START, legs, decimal_year=YEAR, zone=33, south=False)
    at = START
    for index, leg in enumerate(legs):
        ray = ray_from(*at, leg.bearing_deg, leg.north, leg.length_m, YEAR, 33, False)
        at = (float(ray.lat_deg), float(ray.lon_deg))
        assert apart_m(places(reckoning)[index + 1], at) < LEG_NOISE_M
    assert reckoning.walked_m.tolist() == [0.0, 900.0, 1300.0, 2000.0]


def test_the_line_back_to_the_start():
    reckoning = reckon(*START, [Leg(0.0, 3000.0), Leg(90.0, 4000.0)], decimal_year=YEAR)
    back = line_between(*places(reckoning)[2], *START, YEAR)
    assert reckoning.to_start.distance_m[2] == pytest.approx(5000.0, abs=2.0)
    for member in ("distance_m", "true_azimuth_deg", "grid_azimuth_deg", "magnetic_azimuth_deg"):
        assert getattr(reckoning.to_start, member)[2] == pytest.approx(float(getattr(back, member)), abs=1e-8)
    assert reckoning.to_start.distinct.tolist() == [False, True, True]


def test_a_grid_leg_keeps_to_the_grid_of_the_start_beyond_its_zone():
    # Zone 32 ends at 12 degrees east.
    legs = [Leg(90.0, 20_000.0, "grid"), Leg(90.0, 20_000.0, "grid")]
    reckoning = reckon(60.0, 11.9, legs)
    whole = ray_from(60.0, 11.9, 90.0, "grid", 40_000.0, None, 32, False)
    # Two chords of one line on the map, of which the geodesics are some centimetres longer or shorter.
    assert apart_m(places(reckoning)[2], (whole.lat_deg, whole.lon_deg)) < 0.05
    assert (reckoning.zone, reckoning.south) == (32, False)


def test_a_grid_leg_on_a_national_grid():
    reckoning = reckon(52.0, -1.0, [Leg(30.0, 1000.0, "grid")], zone=27700, south=False)
    ray = ray_from(52.0, -1.0, 30.0, "grid", 1000.0, None, 27700, False)
    assert apart_m(places(reckoning)[1], (ray.lat_deg, ray.lon_deg)) < LEG_NOISE_M


def test_a_walk_over_the_antimeridian_and_one_over_a_pole():
    over = reckon(-17.0, 179.99, [Leg(90.0, 5000.0), Leg(270.0, 5000.0)])
    assert over.walk.lon_deg[1] < -179.9
    # Each leg bends off its parallel by half of L^2 tan(lat) / R, both to the same side.
    off_m = 5000.0**2 * math.tan(math.radians(17.0)) / 6.378e6
    assert apart_m(places(over)[2], (-17.0, 179.99)) == pytest.approx(off_m, abs=0.01)
    pole = reckon(89.99, 20.0, [Leg(0.0, 3000.0), Leg(180.0, 1000.0)])
    assert pole.walk.lon_deg[1] == pytest.approx(-160.0, abs=1e-9)
    assert pole.walk.azimuth_deg[1] == 180.0
    # Due south beyond the pole leads on, away from the start.
    assert apart_m(places(pole)[2], (89.99, 20.0)) == pytest.approx(4000.0, abs=1e-6)
    assert abs(float(normalise_signed(pole.walk.turned_deg[1] - 180.0))) < 1e-9
    # On the plane of the walk both legs run on in one line, and so do their errors.
    assert pole.cross_track_sd_m[1] > 3.0 * pole.cross_track_sd_m[0] / 4.0


def test_the_bypass_of_the_handbook_comes_back_onto_its_course():
    # Row bypass-110: course 110, go left: legs 20, 110, 200, 110, the first and the third of 15 double paces.
    assert HANDBOOK["bypass-110"]["expected"].startswith("legs 20, 110, 200, 110 deg")
    aside, past, on = 30.0, 60.0, 200.0
    legs = [
        leg_of(bearing, paces=paces, paces_per_100_m=116.0, north="grid")
        for bearing, paces in ((20.0, aside), (110.0, past), (200.0, aside), (110.0, on))
    ]
    reckoning = reckon(*START, legs)
    assert reckoning.to_start.grid_back_azimuth_deg[-1] == pytest.approx(110.0, abs=1e-4)
    # Only the parallel legs count toward the distance on the course.
    assert reckoning.to_start.distance_m[-1] == pytest.approx((past + on) / 1.16, abs=1e-3)
    assert reckoning.walked_m[-1] == pytest.approx((2 * aside + past + on) / 1.16, abs=1e-9)


@pytest.mark.parametrize(("row", "paces"), [("pace-level", 116.0), ("pace-xc", 148.0)])
def test_paces_by_the_counts_of_the_handbook(row, paces):
    assert f"{paces:.0f} paces" in HANDBOOK[row]["expected"]
    assert leg_of(0.0, paces=paces, paces_per_100_m=paces).length_m == pytest.approx(100.0, abs=1e-9)


def test_a_time_at_the_rate_of_the_handbook():
    # Row pace-rate: 3,000 m per hour.
    assert "3,000 m per hour" in HANDBOOK["pace-rate"]["expected"]
    assert leg_of(0.0, time_min=20.0, speed_km_per_h=3.0).length_m == pytest.approx(1000.0, abs=1e-9)


def test_a_length_along_a_slope_is_made_level():
    # Row slope-2.5pct: 93 m up over 3720 m level; row slope-calc-93-3720: 3721.1623 along the slope.
    for gradient in (93.0 / 3720.0, -93.0 / 3720.0):
        leg = leg_of(0.0, distance_m=3721.1623, gradient=gradient)
        assert leg.length_m == pytest.approx(3720.0, abs=1e-4)


def test_a_halt_changes_nothing():
    walking = [Leg(40.0, 900.0), Leg(120.0, 400.0)]
    with_halt = [walking[0], leg_of(0.0, distance_m=0.0), walking[1]]
    plain, halted = reckon(*START, walking), reckon(*START, with_halt)
    assert apart_m(places(plain)[-1], places(halted)[-1]) < LEG_NOISE_M
    assert halted.covariance_m2[-1] == pytest.approx(plain.covariance_m2[-1], rel=1e-9)
    nowhere = reckon(*START, [leg_of(0.0, time_min=0.0, speed_km_per_h=3.0)])
    assert nowhere.ellipse.semi_major_m.tolist() == [0.0, 0.0]
    assert nowhere.drift_m_per_km.tolist() == [0.0, 0.0]


WRONG = {
    "no legs": ((), {}, NoLegsError, "legs"),
    "negative length": ((Leg(0.0, -1.0),), {}, OutOfRangeError, "legs/0/length_m"),
    "wildly long leg": ((Leg(0.0, 10.0), Leg(0.0, 2e5)), {}, OutOfRangeError, "legs/1/length_m"),
    "wildly long walk": ((Leg(0.0, 9e4),) * 12, {}, OutOfRangeError, "legs"),
    "bearing": ((Leg(math.nan, 10.0),), {}, OutOfRangeError, "legs/0/bearing_deg"),
    "leg's heading": ((Leg(0.0, 10.0, heading_sd_deg=0.0),), {}, OutOfRangeError, "legs/0/heading_sd_deg"),
    "leg's length": ((Leg(0.0, 10.0, length_sd_ratio=2.0),), {}, OutOfRangeError, "legs/0/length_sd_ratio"),
    "no date": ((Leg(0.0, 10.0, "magnetic"),), {"decimal_year": None}, DateMissingError, "date"),
    "date": ((Leg(0.0, 10.0, "magnetic"),), {"decimal_year": 2035.0}, DateOutsideModelError, "decimal_year"),
    "grid": ((Leg(0.0, 10.0), Leg(0.0, 10.0, "grid")), {"zone": 50}, OutsideGridError, "legs/1"),
    "errors": (
        (Leg(0.0, 10.0),),
        {"errors": ReckoningErrors(30.0)},
        OutOfRangeError,
        "errors/heading_sd_deg",
    ),
    "covariance": (
        (Leg(0.0, 10.0),),
        {"start_covariance_m2": [[1.0, 2.0], [2.0, 1.0]]},
        OutOfRangeError,
        "start_covariance_m2",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_is_no_walk_is_a_named_error(case):
    legs, given_, error, member = WRONG[case]
    with pytest.raises(error) as raised:
        reckon(*START, legs, **{"decimal_year": YEAR} | given_)
    assert raised.value.member == member


@pytest.mark.parametrize("start", [(91.0, 0.0), (math.nan, 0.0), (0.0, 361.0), (0.0, math.nan)])
def test_no_place_of_this_world_is_no_start(start):
    with pytest.raises(OutOfRangeError):
        reckon(*start, [Leg(0.0, 10.0)])


def test_no_length_and_two_lengths_are_named_errors():
    with pytest.raises(LengthsMissingError):
        leg_of(0.0, paces=100.0)
    with pytest.raises(LengthsMissingError):
        leg_of(0.0, time_min=10.0)
    with pytest.raises(LengthsInconsistentError):
        leg_of(0.0, distance_m=10.0, time_min=10.0, speed_km_per_h=3.0)
    with pytest.raises(OutOfRangeError):
        leg_of(0.0, distance_m=10.0, gradient=math.inf)


def test_at_the_magnetic_pole_a_magnetic_walk_is_refused():
    # The north magnetic pole of 2027 lies near 85.8 N, 139 E: NOAA, Wandering of the Geomagnetic Poles, from memory.
    with pytest.raises(MagneticUselessError) as raised:
        reckon(85.8, 139.0, [Leg(0.0, 1000.0, "magnetic")], decimal_year=YEAR)
    assert raised.value.member == "legs/0/north"
    weak = reckon(75.0, -90.0, [Leg(0.0, 1000.0, "magnetic")], decimal_year=YEAR)
    assert "magnetic_caution" in [caution.code for caution in weak.cautions]


def test_a_back_bearing_that_nothing_fits_near_a_pole_is_a_named_error():
    # Seen from anywhere around the pole, within a metre of it, and a kilometre off: no leg settles on it.
    with pytest.raises(OutOfRangeError) as raised:
        reckon(89.99, 0.0, [Leg(10.0, 3000.0, back=True)])
    assert raised.value.member == "legs/0/bearing_deg"


def random_walk(rng):
    lat = rng.choice([rng.uniform(-90, 90), rng.choice([-90, 90, 0, 84, -80, 89.999]) + 0.0])
    lon = rng.choice([rng.uniform(-180, 180), 180.0, -180.0, 179.9999])
    legs = [
        Leg(
            bearing_deg=float(rng.choice([rng.uniform(-360, 360), 0.0, 90.0, 360.0])),
            length_m=float(rng.choice([0.0, 10.0 ** rng.uniform(-4, 5), rng.uniform(0, 3000)])),
            north=str(rng.choice(NORTHS, p=[0.5, 0.1, 0.4])),
            back=bool(rng.random() < 0.2),
            measured_by=str(rng.choice(["distance", "paces", "time"])),
        )
        for _ in range(rng.integers(1, 5))
    ]
    return (float(lat), float(lon)), legs


def test_no_random_walk_fails_without_a_name():
    """THREENORTHS_FUZZ_WALKS says how many; 1000 where it is not set."""
    rng, refused, unclosed, closed = np.random.default_rng(11), [], [], 0
    walks = int(os.environ.get("THREENORTHS_FUZZ_WALKS", "1000"))
    for trial in range(walks):
        start, legs = random_walk(rng)
        sd_m = float(rng.choice([0.0, 1.0, 300.0]))
        try:
            walk = reckon(
                *start,
                legs,
                start_covariance_m2=sd_m**2 * np.eye(2),
                decimal_year=YEAR,
                zone=33 if trial % 10 == 0 else None,
            )
        except NavigationError as error:
            refused.append(error.code)
            continue
        for values in (walk.covariance_m2, walk.drift_m_per_km, walk.cross_track_sd_m, walk.walk.lat_deg):
            assert np.isfinite(values).all()
        ends = [
            start,
            (float(walk.walk.lat_deg[-1]), float(walk.walk.lon_deg[-1])),
            (rng.uniform(-90, 90), 0.0),
        ]
        near = [float(value) for value in direct(*ends[1], rng.uniform(0, 360), 0.05 * walk.walked_m[-1])[:2]]
        try:
            closure = close(walk, *[*ends, near][trial % 4], rng.choice([0.0, 100.0]) * np.eye(2))
        except NavigationError as error:
            unclosed.append(error.code)
            continue
        closed += 1
        for adjusted in (closure.adjusted, closure.best):
            assert np.isfinite(adjusted.covariance_m2).all()
            assert np.isfinite(adjusted.ellipse.semi_major_m).all()
            assert np.isfinite(adjusted.lat_deg).all()
        assert np.isfinite(closure.misclosure.chi_square)
    assert set(refused) == {"outside_grid", "magnetic_useless", "out_of_range"}
    assert set(unclosed) == {"no_legs", "walk_unclosable"}
    assert len(refused) < 0.4 * walks
    assert closed > 0.3 * walks
