import math

import numpy as np
import pytest

from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.lines.leg import Leg
from threenorths_service.navmath.lines.ray import ray_from
from threenorths_service.navmath.lines.reckoning import reckon
from threenorths_service.navmath.lines.reckoning_errors import ReckoningErrors
from threenorths_service.navmath.magnetism.magnetic import field_at

YEAR = 2026.9
DEFAULTS = ReckoningErrors()
START = (60.2, 9.1)
START_M2 = np.array([[400.0, 150.0], [150.0, 900.0]])

#: One number of the walk's errors alone, for what each does: the others as small as they may be.
NEXT_TO_NOTHING = {
    "heading_sd_deg": 0.0001,
    "compass_sd_deg": 0.0,
    "length_sd_ratio": 1e-6,
    "scale_sd_ratio": 0.0,
    "timed_length_sd_ratio": 1e-6,
    "timed_scale_sd_ratio": 0.0,
}


def only(**errors):
    return ReckoningErrors(**NEXT_TO_NOTHING | errors)


def sds(covariance_m2, azimuth_deg):
    """Standard deviations along and across a direction. [metre]"""
    angle = math.radians(azimuth_deg)
    along, across = (
        np.array([math.cos(angle), math.sin(angle)]),
        np.array([-math.sin(angle), math.cos(angle)]),
    )
    return tuple(math.sqrt(axis @ covariance_m2 @ axis) for axis in (along, across))


STRAIGHT = [Leg(40.0, 1000.0, "magnetic")] * 8
ZIGZAG = [
    Leg(bearing, 700.0, north, measured_by=measure)
    for bearing, north, measure in zip(
        (40.0, 100.0, 20.0, 90.0, 350.0, 60.0),
        ("magnetic", "grid", "true") * 2,
        ("paces", "time") * 3,
        strict=True,
    )
]
LOOP = [Leg(bearing, 800.0, "grid") for bearing in (0.0, 60.0, 120.0, 180.0, 240.0, 300.0)]
LONG = [
    Leg(bearing, 60_000.0, north)
    for bearing, north in zip((20.0, 60.0, 10.0, 350.0), ("true", "magnetic") * 2, strict=True)
]

#: Legs, start and errors of walks whose ellipses are held against walks that were drawn.
WALKS = {
    "straight on": (STRAIGHT, (47.0, 8.0), DEFAULTS),
    "one leg": (STRAIGHT[:1], (-33.0, 151.0), DEFAULTS),
    "zigzag of all kinds": (ZIGZAG, (78.0, 15.9), DEFAULTS),
    "loop on the grid, over the antimeridian": (LOOP, (-17.0, 179.99), DEFAULTS),
    "60 km a leg": (LONG, (68.0, 20.0), DEFAULTS),
    "a compass that may be far off": (ZIGZAG, (47.0, 8.0), ReckoningErrors(3.0, 10.0)),
    "legs that wander": (STRAIGHT, (47.0, 8.0), ReckoningErrors(10.0, 2.0)),
    "35 km from the pole": ([Leg(90.0, 700.0)] * 6, (89.685, 20.0), DEFAULTS),
    "on the grid at the pole": ([Leg(90.0, 700.0, "grid")] * 6, (89.99, 20.0), DEFAULTS),
}


def drawn_walks(rng, reckoning, errors, count):
    """Where walkers with these errors really are after each leg: latitudes and longitudes of shape (count,)."""
    off = rng.multivariate_normal([0.0, 0.0], reckoning.growth.start_m2, count)
    azimuth_deg = np.degrees(np.arctan2(off[:, 1], off[:, 0]))
    lat, lon, _ = direct(reckoning.walk.lat_deg[0], reckoning.walk.lon_deg[0], azimuth_deg, np.hypot(*off.T))
    compass, scale, timed_scale, declination = (
        rng.normal(0.0, sd, count)
        for sd in (errors.compass_sd_deg, errors.scale_sd_ratio, errors.timed_scale_sd_ratio, 1.0)
    )
    for index, leg in enumerate(reckoning.legs):
        timed = leg.measured_by == "time"
        bearing = leg.bearing_deg + compass + rng.normal(0.0, errors.heading_sd_deg, count)
        if leg.north == "magnetic":
            at = (reckoning.walk.lat_deg[index], reckoning.walk.lon_deg[index])
            bearing = bearing + declination * float(field_at(*at, YEAR).declination_sd_deg)
        own = rng.normal(0.0, errors.timed_length_sd_ratio if timed else errors.length_sd_ratio, count)
        length = leg.length_m * np.maximum(1.0 + own + (timed_scale if timed else scale), 0.0)
        ray = ray_from(lat, lon, bearing, leg.north, length, YEAR, reckoning.zone, reckoning.south)
        lat, lon = ray.lat_deg, ray.lon_deg
        yield lat, lon


@pytest.mark.parametrize("walk", WALKS)
def test_ellipses_of_95_per_cent_hold_93_to_97_of_5000_walks(walk):
    legs, start, errors = WALKS[walk]
    reckoning = reckon(*start, legs, errors=errors, start_covariance_m2=START_M2, decimal_year=YEAR)
    drawn = drawn_walks(np.random.default_rng(4), reckoning, errors, 5000)
    for index, (lat, lon) in enumerate(drawn, start=1):
        azimuth_deg, _, distance_m = inverse(
            reckoning.walk.lat_deg[index], reckoning.walk.lon_deg[index], lat, lon
        )
        off = distance_m * np.stack([np.cos(np.radians(azimuth_deg)), np.sin(np.radians(azimuth_deg))])
        squares = np.sum(off * np.linalg.solve(reckoning.covariance_m2[index], off), axis=0)
        assert 0.93 <= np.mean(squares <= -2.0 * math.log(0.05)) <= 0.97


def test_a_turn_leads_aside_and_a_length_leads_on():
    # One leg of 1000 m: 3 and 2 degrees turn its end aside, 3 and 5 per cent lead it on or leave it short.
    reckoning = reckon(*START, [Leg(40.0, 1000.0)])
    across_m = 1000.0 * math.radians(math.hypot(3.0, 2.0))
    assert reckoning.cross_track_sd_m[0] == pytest.approx(across_m, rel=1e-6)
    # A turn also bends the end back, by its square: 0.24 per cent of the length beside 5.8.
    assert reckoning.along_track_sd_m[0] == pytest.approx(1000.0 * math.hypot(0.03, 0.05), rel=2e-3)
    along_m, across_m = sds(reckoning.covariance_m2[1], 40.0)
    assert (along_m, across_m) == pytest.approx(
        (reckoning.along_track_sd_m[0], reckoning.cross_track_sd_m[0]), rel=1e-4
    )


@pytest.mark.parametrize("error", ["heading_sd_deg", "compass_sd_deg"])
def test_a_turn_leaves_a_leg_short(error):
    reckoning = reckon(*START, [Leg(40.0, 1000.0)], errors=only(**{error: 8.0}))
    turns = np.radians(np.random.default_rng(2).normal(0.0, 8.0, 200_000))
    short_m = 1000.0 * np.sqrt(np.mean((1.0 - np.cos(turns)) ** 2))
    # Of the cosine only the square is kept; its fourth power is 2 per cent of that here.
    assert reckoning.along_track_sd_m[0] == pytest.approx(short_m, rel=0.04)


@pytest.mark.parametrize(
    ("errors", "growth"),
    [
        ({"heading_sd_deg": 3.0}, 4.0),
        ({"compass_sd_deg": 3.0}, 16.0),
        ({"length_sd_ratio": 0.05}, 4.0),
        ({"scale_sd_ratio": 0.05}, 16.0),
    ],
)
def test_own_errors_grow_with_the_root_of_the_legs_and_shared_ones_with_their_number(errors, growth):
    reckoning = reckon(*START, [Leg(40.0, 500.0)] * 16, errors=only(**errors))
    major_m = reckoning.ellipse.semi_major_m
    assert major_m[16] / major_m[1] == pytest.approx(growth, rel=1e-3)
    assert reckoning.drift_m_per_km[16] == pytest.approx(major_m[16] / 8.0, rel=1e-9)


def test_shared_errors_close_with_a_loop_and_own_ones_do_not():
    shared = reckon(*START, LOOP, errors=only(compass_sd_deg=5.0, scale_sd_ratio=0.1), decimal_year=YEAR)
    own = reckon(*START, LOOP, errors=only(heading_sd_deg=5.0, length_sd_ratio=0.1), decimal_year=YEAR)
    assert shared.ellipse.semi_major_m[3] > 300.0
    assert shared.ellipse.semi_major_m[6] < 0.1
    assert own.ellipse.semi_major_m[6] > own.ellipse.semi_major_m[3] > 300.0


def test_timed_and_measured_legs_share_no_error_of_length():
    legs = [Leg(0.0, 1000.0, measured_by="paces"), Leg(0.0, 1000.0, measured_by="time")]
    apart = reckon(*START, legs, errors=only(scale_sd_ratio=0.05, timed_scale_sd_ratio=0.1))
    assert apart.along_track_sd_m[1] == pytest.approx(math.hypot(50.0, 100.0), rel=1e-4)
    alike = reckon(*START, legs[:1] * 2, errors=only(scale_sd_ratio=0.05))
    assert alike.along_track_sd_m[1] == pytest.approx(100.0, rel=1e-4)


def test_the_declination_s_error_is_in_magnetic_legs_alone():
    sd_deg = float(field_at(*START, YEAR).declination_sd_deg)
    magnetic, true = (
        reckon(*START, [Leg(40.0, 1000.0, north)], errors=only(), decimal_year=YEAR)
        for north in ("magnetic", "true")
    )
    assert magnetic.cross_track_sd_m[0] == pytest.approx(1000.0 * math.radians(sd_deg), rel=1e-4)
    assert true.cross_track_sd_m[0] < 0.01


def test_a_leg_may_have_errors_of_its_own():
    legs = [Leg(0.0, 1000.0, heading_sd_deg=1.0, length_sd_ratio=0.2), Leg(0.0, 1000.0)]
    reckoning = reckon(*START, legs, errors=only(heading_sd_deg=5.0, length_sd_ratio=0.02))
    assert reckoning.cross_track_sd_m[0] == pytest.approx(1000.0 * math.radians(1.0), rel=1e-4)
    assert reckoning.along_track_sd_m[0] == pytest.approx(200.0, rel=1e-4)
    assert reckoning.cross_track_sd_m[1] == pytest.approx(
        1000.0 * math.radians(math.hypot(1.0, 5.0)), rel=1e-4
    )


def test_the_start_s_own_error_goes_along():
    known, unsure = (
        reckon(*START, [Leg(40.0, 1000.0)], start_covariance_m2=covariance) for covariance in (None, START_M2)
    )
    assert unsure.covariance_m2[0] == pytest.approx(START_M2)
    # Over a kilometre the north turns by 0.01 degree, which turns the covariance by a ten-thousandth of itself.
    assert unsure.covariance_m2[1] - known.covariance_m2[1] == pytest.approx(START_M2, rel=2e-3)
    assert unsure.drift_m_per_km[1] == known.drift_m_per_km[1]


def test_the_ellipse_is_from_the_north_of_its_own_place():
    # Due east for 50 km at 80 N, true north turns by 50 km tan(80) / R, some 2.5 degrees.
    reckoning = reckon(80.0, 0.0, [Leg(90.0, 50_000.0)], errors=only(length_sd_ratio=0.05))
    heading_deg = float(reckoning.walk.back_azimuth_deg[0]) - 180.0
    assert heading_deg == pytest.approx(92.5, abs=0.1)
    assert reckoning.ellipse.major_axis_azimuth_deg[1] == pytest.approx(heading_deg, abs=1e-6)


def test_near_a_pole_true_north_is_cautioned_and_the_grid_is_not():
    for north, cautioned in (("true", True), ("grid", False)):
        reckoning = reckon(89.95, 20.0, [Leg(90.0, 700.0, north)] * 3)
        assert ("at_pole" in [caution.code for caution in reckoning.cautions]) is cautioned
    far = reckon(80.0, 20.0, [Leg(90.0, 700.0)] * 3)
    assert [caution.code for caution in far.cautions] == ["reckoned_only"]


def test_after_ten_legs_the_defaults_are_as_good_as_their_docstring_says():
    reckoning = reckon(*START, [Leg(40.0, 1000.0)] * 10)
    draws = np.random.default_rng(1).multivariate_normal([0.0, 0.0], reckoning.covariance_m2[10], 200_000)
    assert np.quantile(np.hypot(*draws.T), 0.68) / 10_000.0 == pytest.approx(0.07, abs=0.005)
