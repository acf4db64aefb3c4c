"""Resections where something is out of the ordinary; perfect sights are in test_fix_anywhere."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.errors import (
    CoincidentPointsError,
    CompassErrorUnsolvableError,
    DangerCircleError,
    NavigationError,
    NoSolutionError,
    OutsideGridError,
    ParallelSightsError,
    SightsCrossBehindError,
)
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight, angle_from_true_north

YEAR = 2026.9
PLACE = (62.9, 13.3)
RESECTIONS = {row["id"]: row for row in rows("resection_examples")}


def marks_at(polar, errors_deg=(0.0,) * 9, sd_deg=1.0, place=PLACE, north="true", zone=None):
    """Sights from the place to marks at azimuths and distances, each misread by its error."""
    turn = float(angle_from_true_north(north, *place, YEAR, zone, place[0] < 0.0))
    sights = []
    for (azimuth, distance_m), error in zip(polar, errors_deg, strict=False):
        lat, lon, _ = (float(value) for value in direct(*place, azimuth, distance_m))
        sights.append(Sight(lat, lon, (azimuth - turn + error) % 360.0, sd_deg))
    return sights


def miss_m(fix, place=PLACE):
    return float(inverse(*place, fix.lat_deg, fix.lon_deg)[2])


def codes(fix):
    return [caution.code for caution in fix.cautions]


def inside(fix, place=PLACE):
    azimuth, _, distance = (float(value) for value in inverse(fix.lat_deg, fix.lon_deg, *place))
    off = distance * np.array([math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))])
    return off @ np.linalg.solve(fix.covariance_m2, off) <= -2 * math.log(0.05)


def test_the_distances_of_a_published_resection_from_two_angles():
    # Row snellius-1: sides BC 320, CA 435, AB 598; angles APC 30 and BPC 15; PA, PB, PC to 1e-6.
    row = RESECTIONS["snellius-1"]
    assert "a=BC=320, b=CA=435, c=AB=598" in row["control"]
    assert row["expected"] == "PA, PB, PC = 844.880591, 571.107418, 835.462796"
    corner = math.degrees(math.acos((320**2 + 435**2 - 598**2) / (2 * 320 * 435)))
    vertex = PLACE
    a_lat, a_lon, _ = (float(value) for value in direct(*vertex, 80.0, 435.0))
    b_lat, b_lon, _ = (float(value) for value in direct(*vertex, 80.0 - corner, 320.0))
    # From A over C, 30 degrees on, to B, another 15 on; only the differences of the readings count.
    sights = [
        Sight(a_lat, a_lon, 100.0, 0.001),
        Sight(*vertex, 130.0, 0.001),
        Sight(b_lat, b_lon, 145.0, 0.001),
    ]
    fix = resect(sights, "true", solve_compass_error=True)
    # Half the last digit; and on the ellipsoid angles over 600 m are off a plane's by the spherical excess, 1e-8 of
    # a radian, which moves P by 2e-5 at most, for it sees the marks under 45 degrees.
    assert fix.distances_m == pytest.approx([844.880591, 835.462796, 571.107418], abs=2e-5 + 5e-7)


@pytest.mark.parametrize("error_deg", [-170.0, -12.0, 3.0, 90.0, 180.0])
def test_the_compass_error_is_reading_less_correct(error_deg):
    fix = resect(
        marks_at([(10, 1000), (130, 1500), (250, 1200)], [error_deg] * 3), "true", solve_compass_error=True
    )
    assert math.cos(math.radians(fix.compass_error_deg - error_deg)) == pytest.approx(1.0, abs=1e-12)
    assert -180.0 < fix.compass_error_deg <= 180.0
    assert fix.residuals_deg == pytest.approx([0.0] * 3, abs=1e-5)
    assert ("large_compass_error" in codes(fix)) == (abs(error_deg) > 10.0)


def test_the_standard_deviation_of_the_compass_error_is_what_it_scatters_by():
    # In the middle of three marks at equal angles the error is the mean of three readings, whatever the place.
    polar = [(10, 2000), (130, 2000), (250, 2000)]
    fix = resect(marks_at(polar, sd_deg=0.6), "true", solve_compass_error=True)
    assert fix.compass_error_sd_deg == pytest.approx(0.6 / math.sqrt(3), rel=1e-3)


@pytest.mark.parametrize("solve", [False, True], ids=["azimuths", "angles"])
@pytest.mark.parametrize("index", range(4))
def test_a_reversed_bearing_is_named_among_four(index, solve):
    errors = [0.2, -0.3, 0.1, -0.2]
    errors[index] += 180.0
    sights = marks_at([(10, 3000), (110, 4000), (200, 3500), (290, 3000)], errors)
    with pytest.raises(SightsCrossBehindError) as caught:
        resect(sights, "true", solve_compass_error=solve)
    assert caught.value.details == {"sights": [index]}


@pytest.mark.parametrize("blunder_deg", range(10, 360, 25))
@pytest.mark.parametrize("index", range(4))
def test_a_blunder_among_four_sights_never_passes_in_silence(index, blunder_deg):
    errors = [0.3, -0.4, 0.2, -0.1]
    errors[index] += blunder_deg
    sights = marks_at([(10, 3000), (80, 4000), (150, 3500), (250, 3000)], errors)
    try:
        fix = resect(sights, "true")
    except SightsCrossBehindError as error:
        blamed = error.details["sights"]
    except NoSolutionError:
        return
    else:
        assert "large_residual" in codes(fix)
        return
    assert blamed == [index]


def test_a_mark_that_is_the_observer_s_own_place_is_named():
    sights = marks_at([(10, 3000), (100, 4000)])
    here = Sight(*PLACE, 40.0, 1.0)
    for others in (sights[:1], sights):
        with pytest.raises(CoincidentPointsError) as caught:
            resect([*others, here], "true")
        assert caught.value.details == {"sights": [len(others)]}


def test_one_mark_read_twice_beside_another_is_averaged():
    fix = resect(marks_at([(10, 3000), (10, 3000), (100, 4000)], (1.0, -1.0, 0.0)), "true")
    assert miss_m(fix) < 1e-3
    assert fix.residuals_deg == pytest.approx([1.0, -1.0, 0.0], abs=1e-5)


def test_two_marks_among_three_sights_do_not_tell_the_compass_error():
    sights = marks_at([(10, 3000), (10, 3000), (100, 4000)])
    with pytest.raises(CoincidentPointsError) as caught:
        resect(sights, "true", solve_compass_error=True)
    assert caught.value.details == {"sights": [0, 1]}


def test_marks_in_a_line_with_the_observer():
    sights = marks_at([(90.0, 2000), (270.0, 4000), (90.4, 6000)])
    with pytest.raises(ParallelSightsError):
        resect(sights, "true")
    with pytest.raises(CompassErrorUnsolvableError):
        resect(sights, "true", solve_compass_error=True)


def on_circle(azimuths, radius_m=1000.0):
    """Marks on a circle that passes through the observer and whose centre is due north of them."""
    return [(azimuth, 2.0 * radius_m * math.cos(math.radians(azimuth))) for azimuth in azimuths]


@pytest.mark.parametrize("sd_deg", [1.5, 0.1, 0.005])
@pytest.mark.parametrize("azimuths", [(-50, 20, 60), (-70, -40, 75), (-60, -20, 15, 50)])
def test_on_the_danger_circle_noise_does_not_hide_it(azimuths, sd_deg):
    rng, unnoticed = np.random.default_rng(6), 0
    for _ in range(60):
        sights = marks_at(on_circle(azimuths), rng.normal(0.0, sd_deg, len(azimuths)), sd_deg)
        try:
            fix = resect(sights, "true", solve_compass_error=True)
        except DangerCircleError:
            continue
        unnoticed += 1
        assert {"near_danger_circle", "weak_geometry"} & set(codes(fix))
    # The bound lets one in a hundred through.
    assert unnoticed <= 3


@pytest.mark.parametrize("off", [0.05, 0.2, 0.5])
def test_near_the_danger_circle_only_cautioned_places_are_worse_than_stated(off):
    rng, trials, covered = np.random.default_rng(8), 0, 0
    for _ in range(150):
        azimuths = np.sort(rng.uniform(-80, 80, 3))
        if np.min(np.diff(azimuths)) < 15.0:
            continue
        place = tuple(float(value) for value in direct(*PLACE, rng.choice([0.0, 180.0]), off * 1000.0)[:2])
        sights = []
        for sight in marks_at(on_circle(azimuths)):
            azimuth = float(inverse(*place, sight.lat_deg, sight.lon_deg)[0])
            sights.append(Sight(sight.lat_deg, sight.lon_deg, (azimuth + rng.normal(0.0, 0.2)) % 360.0, 0.2))
        try:
            fix = resect(sights, "true", solve_compass_error=True)
        except DangerCircleError:
            continue
        if {"near_danger_circle", "weak_geometry"} & set(codes(fix)):
            continue
        trials += 1
        covered += inside(fix, place)
    # 95 %, less four standard deviations of so few.
    assert covered >= 0.95 * trials - 4.0 * math.sqrt(trials * 0.95 * 0.05)


def test_the_whole_compass_error_is_told_from_the_danger_circle_by_a_mark_off_it():
    sights = marks_at([*on_circle((-50, 20, 60)), (180.0, 1500.0)], [7.0] * 4, 0.5)
    fix = resect(sights, "true", solve_compass_error=True)
    assert miss_m(fix) < 1e-3
    assert fix.compass_error_deg == pytest.approx(7.0, abs=1e-5)
    assert "near_danger_circle" not in codes(fix)


@settings(max_examples=80, deadline=None)
@given(
    lat=st.sampled_from([45.0, 57.0, -38.0, 83.9, 71.9]),
    off_m=st.one_of(st.sampled_from([0.0, -0.01, 300.0]), st.floats(-3000, 3000)),
    first=st.floats(0, 359.9),
    crossing=st.floats(40, 140),
)
def test_at_the_edge_of_a_zone_the_own_grid_is_found_or_said_to_be_in_doubt(lat, off_m, first, crossing):
    lat, lon, _ = (float(value) for value in direct(lat, 12.0, 90.0, off_m))
    polar = [(first, 4000.0), ((first + crossing) % 360.0, 6000.0)]
    fix = resect(marks_at(polar, place=(lat, lon), north="grid"), "grid")
    assert miss_m(fix, (lat, lon)) < 1e-3 or "zone_in_doubt" in codes(fix)
    if abs(off_m) > 2500.0:
        # The norths of the two grids part by up to six degrees, which moves the fix by a tenth of the distance of the
        # marks or so, and the ellipse is a few hundred metres long.
        assert miss_m(fix, (lat, lon)) < 1e-3


@pytest.mark.parametrize("azimuth", [90.0, 270.0])
def test_well_inside_a_zone_marks_over_its_edge_leave_no_doubt(azimuth):
    lat, lon, _ = (float(value) for value in direct(57.0, 12.0, azimuth, 3000.0))
    polar = [(70.0, 5000.0), (310.0, 6000.0), (200.0, 4000.0)]
    sights = marks_at(polar, place=(lat, lon), north="grid")
    assert min(s.lon_deg for s in sights) < 12.0 < max(s.lon_deg for s in sights)
    fix = resect(sights, "grid")
    assert miss_m(fix, (lat, lon)) < 1e-3
    assert fix.grid_zone == (33 if azimuth == 90.0 else 32)
    assert "zone_in_doubt" not in codes(fix)


def test_a_zone_that_is_named_settles_the_doubt():
    lat, lon, _ = (float(value) for value in direct(57.0, 12.0, 270.0, 50.0))
    polar = [(60.0, 4000.0), (150.0, 6000.0)]
    for zone in (32, 33):
        fix = resect(marks_at(polar, place=(lat, lon), north="grid", zone=zone), "grid", zone=zone)
        assert miss_m(fix, (lat, lon)) < 1e-3
        assert "zone_in_doubt" not in codes(fix)


def test_a_grid_that_does_not_reach_the_marks_is_refused():
    with pytest.raises(OutsideGridError):
        resect(marks_at([(10, 3000), (100, 4000)]), "grid", zone=10)


@pytest.mark.parametrize("lat", [89.9, 89.99999, -89.95])
def test_on_the_polar_grid_the_pole_is_a_place_like_any_other(lat):
    place = (lat, 33.0)
    polar = [(10, 3000), (120, 4000), (250, 5000)]
    sights = marks_at(polar, place=place, north="grid")
    assert miss_m(resect(sights[:2], "grid"), place) < 1e-3
    assert miss_m(resect(sights, "grid", solve_compass_error=True), place) < 1e-3


@pytest.mark.parametrize("lat", [89.0, -89.0])
def test_from_true_north_the_bearings_turn_with_the_place_near_a_pole(lat):
    place = (lat, -100.0)
    assert miss_m(resect(marks_at([(10, 30_000), (100, 50_000)], place=place), "true"), place) < 1e-3


@pytest.mark.parametrize("first", [60.0, 210.0])
def test_with_marks_beyond_the_pole_the_place_is_looked_for_all_around(first):
    # 3.4 km from the pole, whose meridians turn right round within the sights, back bearings cannot be carried.
    place = (89.97, 40.0)
    polar = [(first, 20_000), ((first + 80.0) % 360.0, 40_000)]
    assert miss_m(resect(marks_at(polar, place=place), "true"), place) < 1e-3


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    north=st.sampled_from(["grid", "magnetic"]),
    centre=st.sampled_from(
        [(90.0, 0.0), (-90.0, 10.0), (84.0, 180.0), (-80.0, -180.0), (60.0, 3.0), (0.0, 6.0)]
    ),
    solve=st.booleans(),
)
def test_any_sights_at_the_edges_have_a_fix_or_a_named_problem(seed, north, centre, solve):
    rng = np.random.default_rng(seed)
    count = rng.integers(2, 6)
    lat, lon, _ = direct(*centre, rng.uniform(0, 360, count), 10 ** rng.uniform(0, 5, count))
    bearings = rng.choice([0.0, 45.0, 90.0, 180.0, 300.0], count) + rng.choice([0.0, rng.uniform(0, 360)])
    sights = [
        Sight(float(a), float(b), float(c) % 360.0, 1.0) for a, b, c in zip(lat, lon, bearings, strict=True)
    ]
    try:
        fix = resect(sights, north, decimal_year=YEAR, solve_compass_error=solve)
    except NavigationError:
        return
    assert np.isfinite([fix.lat_deg, fix.lon_deg, *fix.residuals_deg, *fix.covariance_m2.ravel()]).all()
    assert np.abs(fix.residuals_deg).max() <= 90.0
    assert -180.0 <= fix.lon_deg < 180.0
