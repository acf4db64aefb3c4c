"""Sights made to be perfect give their place back, wherever on earth it is, and what has no answer is named."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from threenorths_service.navmath.errors import (
    CoincidentPointsError,
    CompassErrorUnsolvableError,
    DangerCircleError,
    DateMissingError,
    NavigationError,
    ParallelSightsError,
    SightsCrossBehindError,
    TooFewSightsError,
)
from threenorths_service.navmath.grids.zones import zone_of
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.magnetism.magnetic import field_at
from threenorths_service.navmath.sights.fix_trust import MOST_DECLINATION_SD_DEG
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight, angle_from_true_north

YEAR = 2027.3
OPERATIONS = [intersect, resect]
NAMES = ["intersection", "resection"]


def perfect_sights(operation, lat, lon, polar, north="true", sd_deg=1.0, error_deg=0.0):
    """Sights to or from places at true azimuths and distances from the place sought."""
    sights = []
    for azimuth, distance_m in polar:
        known_lat, known_lon, back = (float(value) for value in direct(lat, lon, azimuth, distance_m))
        observed_at = (known_lat, known_lon) if operation is intersect else (lat, lon)
        true = back if operation is intersect else azimuth
        turn = float(angle_from_true_north(north, *observed_at, YEAR))
        sights.append(Sight(known_lat, known_lon, (true - turn + error_deg) % 360.0, sd_deg))
    return sights


def miss_m(fix, lat, lon):
    return float(inverse(fix.lat_deg, fix.lon_deg, lat, lon)[2])


latitudes = st.one_of(
    st.floats(-89.99, 89.99), st.sampled_from([0.0, 55.99, 63.999, 72.0, 83.99, 84.01, -79.99, -80.01])
)
longitudes = st.one_of(
    st.floats(-180, 179.99), st.sampled_from([179.999, -179.999, 0.0, 3.0, 5.999, 11.999, 12.001])
)
distances = st.floats(100, 100_000)


@pytest.mark.parametrize("operation", OPERATIONS, ids=NAMES)
@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
@settings(max_examples=60, deadline=None)
@given(
    lat=latitudes,
    lon=longitudes,
    first=st.floats(0, 359.9),
    crossing=st.one_of(st.floats(25, 155), st.floats(205, 335)),
    distance_m=distances,
    share=st.floats(0.2, 5),
)
def test_perfect_sights_give_the_place_back_anywhere(
    operation, north, lat, lon, first, crossing, distance_m, share
):
    other_m = min(max(distance_m * share, 100.0), 100_000.0)
    # On a grid, sights within reach of a pole or an edge of zones lie on several grids: each observer has its own.
    assume(north != "grid" or operation is intersect or abs(lat) < 79.0)
    # Within a sight's length of a pole, where true north turns as fast as the mark, some places cannot be told by it.
    assume(north != "true" or operation is intersect or abs(lat) < 88.5)
    polar = [(first, distance_m), ((first + crossing) % 360.0, other_m)]
    sights = perfect_sights(operation, lat, lon, polar, north)
    if north == "magnetic":  # by the magnetic poles no fix is made of magnetic sights
        lats, lons = [lat, *(sight.lat_deg for sight in sights)], [lon, *(sight.lon_deg for sight in sights)]
        assume(np.max(field_at(lats, lons, YEAR).declination_sd_deg) < MOST_DECLINATION_SD_DEG)
    if operation is resect and north == "grid":
        fix = operation(sights, north, decimal_year=YEAR, zone=int(zone_of(lat, lon)), south=lat < 0)
    else:
        fix = operation(sights, north, decimal_year=YEAR)
    # A bearing is right to 1e-12 degree or so, a place to 1e-9 m: over 100 km and a flat crossing, far below a
    # millimetre; the adjustment stops at 0.02 mm.
    assert miss_m(fix, lat, lon) < 1e-3
    assert np.abs(fix.residuals_deg).max() < 1e-4
    assert fix.degrees_of_freedom == 0


@settings(max_examples=60, deadline=None)
@given(
    lat=latitudes,
    lon=longitudes,
    first=st.floats(0, 359.9),
    error_deg=st.floats(-60, 60),
    distance_m=st.floats(500, 30_000),
)
def test_a_compass_error_is_found_anywhere(lat, lon, first, error_deg, distance_m):
    polar = [
        (first, distance_m),
        ((first + 115) % 360, distance_m * 1.3),
        ((first + 235) % 360, distance_m * 0.8),
    ]
    sights = perfect_sights(resect, lat, lon, polar, error_deg=error_deg)
    fix = resect(sights, "true", solve_compass_error=True)
    assert miss_m(fix, lat, lon) < 1e-3
    assert fix.compass_error_deg == pytest.approx(error_deg, abs=1e-5)
    if abs(abs(error_deg) - 10.0) > 1e-5:
        assert ("large_compass_error" in [c.code for c in fix.cautions]) == (abs(error_deg) > 10)


@settings(max_examples=40, deadline=None)
@given(lat=st.floats(-85, 85), lon=longitudes, by_deg=st.floats(-180, 180))
def test_turning_the_earth_turns_the_fix(lat, lon, by_deg):
    polar = [(20.0, 4000.0), (110.0, 6000.0), (250.0, 5000.0)]
    sights = [
        Sight(s.lat_deg, s.lon_deg, (s.bearing_deg + error) % 360.0, s.sd_deg)
        for s, error in zip(perfect_sights(intersect, lat, lon, polar), (0.5, -0.4, 0.3), strict=True)
    ]
    turned = [
        Sight(s.lat_deg, (s.lon_deg + by_deg + 180) % 360 - 180, s.bearing_deg, s.sd_deg) for s in sights
    ]
    here, there = intersect(sights, "true"), intersect(turned, "true")
    assert there.lat_deg == pytest.approx(here.lat_deg, abs=1e-9)
    assert math.cos(math.radians(there.lon_deg - here.lon_deg - by_deg)) == pytest.approx(1, abs=1e-12)
    assert there.ellipse.semi_major_m == pytest.approx(here.ellipse.semi_major_m, rel=1e-6)


@pytest.mark.parametrize("operation", OPERATIONS, ids=NAMES)
def test_the_ellipse_covers_as_often_as_it_says(operation):
    # 95 % of 300 are 285, with a standard deviation of 3.8: three of them either way.
    rng, covered = np.random.default_rng(11), 0
    polar = [(10.0, 3000.0), (100.0, 4000.0), (230.0, 3500.0)]
    for _ in range(300):
        sights = [
            Sight(s.lat_deg, s.lon_deg, (s.bearing_deg + rng.normal(0, 0.5)) % 360.0, 0.5)
            for s in perfect_sights(operation, 47.0, 11.0, polar)
        ]
        fix = operation(sights, "true")
        azimuth, _, off_m = (float(value) for value in inverse(fix.lat_deg, fix.lon_deg, 47.0, 11.0))
        off = off_m * np.array([math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))])
        covered += off @ np.linalg.solve(fix.covariance_m2, off) <= -2 * math.log(0.05)
    assert 274 <= covered <= 296


@pytest.mark.parametrize("operation", OPERATIONS, ids=NAMES)
class TestNamedProblems:
    PLACE = (47.0, 11.0)

    def test_one_sight(self, operation):
        with pytest.raises(TooFewSightsError):
            operation(perfect_sights(operation, *self.PLACE, [(10, 3000)]), "true")

    def test_magnetic_without_a_date(self, operation):
        with pytest.raises(DateMissingError):
            operation(perfect_sights(operation, *self.PLACE, [(10, 3000), (100, 3000)]), "magnetic")

    def test_one_known_place_twice(self, operation):
        sights = perfect_sights(operation, *self.PLACE, [(10, 3000), (10, 3000)])
        sights[1] = Sight(sights[1].lat_deg, sights[1].lon_deg, (sights[1].bearing_deg + 90) % 360, 1.0)
        with pytest.raises(CoincidentPointsError):
            operation(sights, "true")

    @pytest.mark.parametrize("apart", [0.0, 0.5, 180.0, 179.6])
    def test_lines_that_are_parallel_for_all_the_compass_can_tell(self, operation, apart):
        sights = perfect_sights(operation, *self.PLACE, [(10, 3000), ((10 + apart) % 360, 5000)])
        with pytest.raises(ParallelSightsError):
            operation(sights, "true")

    @pytest.mark.parametrize("reversed_one", [0, 1])
    def test_a_bearing_reversed(self, operation, reversed_one):
        sights = perfect_sights(operation, *self.PLACE, [(10, 3000), (100, 4000)])
        wrong = sights[reversed_one]
        sights[reversed_one] = Sight(wrong.lat_deg, wrong.lon_deg, (wrong.bearing_deg + 180) % 360, 1.0)
        with pytest.raises(SightsCrossBehindError) as caught:
            operation(sights, "true")
        assert reversed_one in caught.value.details["sights"]

    @pytest.mark.parametrize(("crossing", "flat"), [(29, True), (31, False), (149, False), (151, True)])
    def test_a_flat_crossing_is_cautioned(self, operation, crossing, flat):
        fix = operation(perfect_sights(operation, *self.PLACE, [(10, 3000), (10 + crossing, 3000)]), "true")
        assert ("flat_crossing" in [c.code for c in fix.cautions]) == flat

    def test_a_residual_beyond_three_standard_deviations_is_cautioned(self, operation):
        polar = [(azimuth, 4000.0) for azimuth in (10, 80, 150, 220, 300)]
        sights = perfect_sights(operation, *self.PLACE, polar)
        assert "large_residual" not in [c.code for c in operation(sights, "true").cautions]
        sights[2] = Sight(sights[2].lat_deg, sights[2].lon_deg, (sights[2].bearing_deg + 8) % 360, 1.0)
        assert "large_residual" in [c.code for c in operation(sights, "true").cautions]


def circle_polar(where_deg, radius_m=2000.0):
    """Marks on a circle of the radius and an observer on it too: azimuth and distance of each mark from there."""
    here = np.array([0.0, radius_m])
    for angle in where_deg:
        mark = radius_m * np.array([math.sin(math.radians(angle)), math.cos(math.radians(angle))])
        east, north = mark - here
        yield math.degrees(math.atan2(east, north)) % 360.0, math.hypot(east, north)


def test_on_the_danger_circle_the_angles_tell_nothing():
    sights = perfect_sights(resect, 47.0, 11.0, list(circle_polar((90, 180, 260))))
    with pytest.raises(DangerCircleError):
        resect(sights, "true", solve_compass_error=True)
    # With the bearings themselves there is no such circle.
    assert miss_m(resect(sights, "true"), 47.0, 11.0) < 1e-3


@pytest.mark.parametrize(("further_off", "near"), [(1.02, True), (1.2, True), (1.5, False), (2.0, False)])
def test_near_the_danger_circle_the_answer_is_cautioned(further_off, near):
    polar = list(circle_polar((90, 180, 260)))
    polar[1] = (polar[1][0], polar[1][1] * further_off)
    fix = resect(perfect_sights(resect, 47.0, 11.0, polar, sd_deg=0.5), "true", solve_compass_error=True)
    assert ("near_danger_circle" in [c.code for c in fix.cautions]) == near


def test_marks_in_one_direction_do_not_tell_the_compass_error():
    sights = perfect_sights(resect, 47.0, 11.0, [(90, 2000), (90.4, 4000), (90.2, 6000)])
    with pytest.raises((CompassErrorUnsolvableError, ParallelSightsError, DangerCircleError)):
        resect(sights, "true", solve_compass_error=True)


@settings(max_examples=400, deadline=None)
@given(
    operation=st.sampled_from(OPERATIONS),
    count=st.integers(2, 5),
    seed=st.integers(0, 2**32 - 1),
    spread_deg=st.sampled_from([1e-9, 1e-5, 0.01, 0.5, 30.0]),
    sd_deg=st.sampled_from([0.001, 1.0, 20.0]),
    solve=st.booleans(),
)
def test_any_sights_have_a_fix_or_a_named_problem(operation, count, seed, spread_deg, sd_deg, solve):
    rng = np.random.default_rng(seed)
    lat, lon = rng.uniform(-90, 90), rng.uniform(-180, 180)
    sights = [
        Sight(
            float(np.clip(lat + rng.uniform(-spread_deg, spread_deg), -90, 90)),
            float((lon + rng.uniform(-spread_deg, spread_deg) + 180) % 360 - 180),
            float(rng.uniform(0, 360)),
            sd_deg,
        )
        for _ in range(count)
    ]
    try:
        fix = (
            resect(sights, "true", solve_compass_error=solve)
            if operation is resect
            else intersect(sights, "true")
        )
    except NavigationError:
        return
    numbers = [
        fix.lat_deg,
        fix.lon_deg,
        fix.ellipse.semi_major_m,
        fix.ellipse.semi_minor_m,
        *fix.residuals_deg,
    ]
    assert np.isfinite(numbers).all()
    assert -90 <= fix.lat_deg <= 90
    assert -180 <= fix.lon_deg < 180
