"""Fixes from mixed observations: all places that fit, and a name for every geometry that has none."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixed_observations import codes, line_through, off_m, perfect, seen
from threenorths_service.navmath.errors import (
    CoincidentPointsError,
    DangerCircleError,
    DateMissingError,
    ObservationsDoNotMeetError,
    ObservationsTouchError,
    OutOfRangeError,
    OutsideGridError,
    ParallelSightsError,
    SightsCrossBehindError,
    TooFewObservationsError,
)
from threenorths_service.navmath.fixes.mixed_fix import fix_from, problem_of
from threenorths_service.navmath.fixes.mixed_start import starts_by_pairs
from threenorths_service.navmath.fixes.observation import (
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    LineStoodOn,
)
from threenorths_service.navmath.fixes.observed_north import norths_around
from threenorths_service.navmath.grids.grid import convergence_and_scale
from threenorths_service.navmath.grids.zones import zone_of
from threenorths_service.navmath.lines.geodesic import inverse
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight, angle_from_true_north

PLACE = (62.9, 13.3)
YEAR = 2026.9


@pytest.mark.parametrize("first", ["to", "from", "distance", "angle", "line"])
@pytest.mark.parametrize("second", ["to", "from", "distance", "angle", "line"])
def test_any_two_observations_give_the_place_among_those_they_fit(first, second):
    fix = fix_from([perfect(first, PLACE, 20.0, 3000.0), perfect(second, PLACE, 100.0, 4000.0)])
    assert min(off_m(place, PLACE) for place in fix.places) < 1e-3
    assert all(np.abs(place.residuals / place.sd).max() < 1e-3 for place in fix.places)
    assert fix.degrees_of_freedom == 0
    assert "no_check" in codes(fix)


@settings(max_examples=150, deadline=None)
@given(
    lat=st.floats(-89.0, 89.0),
    lon=st.floats(-180.0, 179.99),
    azimuth=st.floats(0.0, 359.9),
    distance_m=st.floats(200.0, 60_000.0),
    kinds=st.lists(st.sampled_from(["to", "from", "distance", "angle"]), min_size=3, max_size=5),
)
def test_perfect_observations_give_the_place_back_anywhere(lat, lon, azimuth, distance_m, kinds):
    # Rays of 0, 70, 140 ... degrees: the place has no mirror image, and no circle goes through it and all the marks.
    observations = [
        perfect(kind, (lat, lon), azimuth + 70.0 * index, distance_m * (1.0 + 0.21 * index))
        for index, kind in enumerate(kinds)
    ]
    fix = fix_from(observations)
    assert min(off_m(place, (lat, lon)) for place in fix.places) < 2e-3


def test_a_bearing_and_a_distance_from_one_place_are_the_end_of_the_ray():
    lat, lon, back = seen(PLACE, 40.0, 5000.0)
    for bearing in (BearingFrom(lat, lon, back, 1.0), BearingTo(lat, lon, 40.0, 1.0)):
        fix = fix_from([bearing, DistanceTo(lat, lon, 5000.0, 50.0)])
        assert len(fix.places) == 1
        assert off_m(fix.best, PLACE) < 1e-4
        # Across by the bearing, along by the distance.
        assert fix.ellipse.semi_major_m == pytest.approx(2.4477 * 5000.0 * math.radians(1.0), rel=2e-3)
        assert fix.ellipse.semi_minor_m == pytest.approx(2.4477 * 50.0, rel=1e-3)


def test_two_distances_give_both_crossings():
    lat, lon, _ = seen(PLACE, 0.0, 3000.0)
    other = seen(PLACE, 90.0, 4000.0)
    fix = fix_from([DistanceTo(lat, lon, 3000.0, 10.0), DistanceTo(*other[:2], 4000.0, 10.0)])
    assert len(fix.places) == 2
    assert sorted(off_m(place, PLACE) for place in fix.places) == pytest.approx([0.0, 4800.0], abs=0.01)
    assert "several_places" in codes(fix)


def zigzag(place, turns=6, step_m=400.0):
    """A road that winds across the line north of the place, east and west of it by turns."""
    points = [seen(seen(place, 0.0, 500.0 * n)[:2], 90.0, step_m * (-1) ** n) for n in range(turns)]
    return LineStoodOn(tuple(p[0] for p in points), tuple(p[1] for p in points), 10.0)


def test_a_bearing_and_a_winding_road_give_every_crossing_with_its_deviation_along():
    fix = fix_from([BearingFrom(*PLACE, 0.0, 1.0), zigzag(PLACE)])
    assert len(fix.places) == 5
    distances = sorted(off_m(place, PLACE) for place in fix.places)
    assert distances == pytest.approx([250.0, 750.0, 1250.0, 1750.0, 2250.0], abs=0.5)
    slant = math.atan2(800.0, 500.0)  # of the road from the line of sight
    for place in fix.places:
        across = off_m(place, PLACE) * math.radians(1.0)
        # The sight's strip, cut slantwise, and a share of the road's own width.
        expected = math.hypot(across / math.sin(slant), 10.0 / math.tan(slant))
        assert place.along_line_sd_m[0] == pytest.approx(expected, rel=2e-3)


def test_crossings_behind_the_observer_are_none():
    behind = fix_from([BearingFrom(*seen(PLACE, 0.0, 1000.0)[:2], 0.0, 1.0), zigzag(PLACE)])
    assert len(behind.places) == 3
    with pytest.raises(SightsCrossBehindError) as caught:
        fix_from([BearingFrom(*PLACE, 180.0, 1.0), zigzag(PLACE)])
    assert caught.value.details == {"observations": [0]}


def test_a_distance_and_a_road_give_both_crossings():
    lat, lon, _ = seen(PLACE, 90.0, 3000.0)
    road = line_through(PLACE, 0.0, before_m=9000.0, beyond_m=9000.0)
    fix = fix_from([DistanceTo(lat, lon, 5000.0, 20.0), road])
    assert sorted(off_m(place, PLACE) for place in fix.places) == pytest.approx([4000.0, 4000.0], abs=1.0)


@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
@pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
@pytest.mark.parametrize("place_sd_m", [0.0, 30.0])
def test_bearings_alone_are_answered_as_intersections_and_resections_are(operation, north, place_sd_m):
    rng, zone = np.random.default_rng(11), int(zone_of(*PLACE)) if north == "grid" else None
    kind = BearingFrom if operation is intersect else BearingTo
    for count in (2, 3, 5):
        sights, observations = [], []
        for index in range(count):
            azimuth, distance = 80.0 * index + rng.uniform(0.0, 40.0), rng.uniform(500.0, 9000.0)
            lat, lon, back = seen(PLACE, azimuth, distance)
            at, true = ((lat, lon), back) if operation is intersect else (PLACE, azimuth)
            turn = float(angle_from_true_north(north, *at, YEAR, zone, None if zone is None else False))
            bearing = (true - turn + rng.normal()) % 360.0
            sights.append(Sight(lat, lon, bearing, 1.0, place_sd_m))
            observations.append(kind(lat, lon, bearing, 1.0, north, zone, None, place_sd_m))
        old = operation(sights, north, decimal_year=YEAR, zone=zone)
        new = fix_from(observations, YEAR)
        # Both stop within 1e-4 of a standard deviation, of up to 160 m here.
        assert off_m(new.best, (old.lat_deg, old.lon_deg)) < 0.01
        assert new.ellipse.semi_major_m == pytest.approx(old.ellipse.semi_major_m, rel=1e-4)
        assert new.best.residuals == pytest.approx(old.residuals_deg, abs=1e-4)
        if count > 2:
            assert new.variance_factor == pytest.approx(old.variance_factor, rel=1e-3)


def test_a_compass_error_is_found_as_resections_find_it():
    sights, observations = [], []
    for azimuth, distance, error in [(10, 3000, 0.4), (130, 4000, -0.3), (250, 3500, 0.2), (80, 5000, -0.5)]:
        lat, lon, _ = seen(PLACE, azimuth, distance)
        sights.append(Sight(lat, lon, azimuth + error + 6.0, 1.0))
        observations.append(BearingTo(lat, lon, azimuth + error + 6.0, 1.0))
    old = resect(sights, "true", solve_compass_error=True)
    new = fix_from(observations, solve_compass_error=True)
    assert off_m(new.best, (old.lat_deg, old.lon_deg)) < 0.01
    assert new.best.compass_error_deg == pytest.approx(old.compass_error_deg, abs=1e-5)
    assert new.best.compass_error_sd_deg == pytest.approx(old.compass_error_sd_deg, rel=1e-4)


def test_angles_need_no_compass():
    observations = [
        AngleBetween(*seen(PLACE, a, 3000.0)[:2], *seen(PLACE, b, 4000.0)[:2], (b - a) % 360.0, 0.5)
        for a, b in ((10.0, 100.0), (100.0, 230.0))
    ]
    fix = fix_from(observations)
    assert off_m(fix.best, PLACE) < 1e-3
    # Taken the other way round it is the rest of the circle.
    first = observations[0]
    turned = AngleBetween(
        first.right_lat_deg,
        first.right_lon_deg,
        first.left_lat_deg,
        first.left_lon_deg,
        360.0 - first.angle_deg,
        0.5,
    )
    assert off_m(fix_from([turned, observations[1]]).best, PLACE) < 1e-3


def test_a_grid_that_is_not_named_is_that_of_the_place_s_own_zone():
    place = (52.0, 12.01)  # the marks are in zone 32
    bearings = []
    for azimuth, distance in ((250.0, 6000.0), (300.0, 5000.0)):
        lat, lon, _ = seen(place, azimuth, distance)
        turn = float(convergence_and_scale(*place, 33)[0])
        assert lon < 12.0
        bearings.append(BearingTo(lat, lon, azimuth - turn, 1.0, "grid"))
    assert off_m(fix_from(bearings).best, place) < 1e-2


def test_a_known_place_s_square_widens_the_ellipse_once_however_often_it_is_used():
    lat, lon, back = seen(PLACE, 40.0, 3000.0)
    sharp = [BearingFrom(lat, lon, back, 0.1), DistanceTo(lat, lon, 3000.0, 1.0)]
    coarse = [BearingFrom(lat, lon, back, 0.1, place_sd_m=50.0)] * 4
    coarse += [DistanceTo(lat, lon, 3000.0, 1.0, place_sd_m=50.0)] * 4
    assert fix_from(sharp).ellipse.semi_major_m < 15.0
    fix = fix_from(coarse)
    # The place's own 50 m in every direction, which eight observations do not average out.
    assert fix.ellipse.semi_minor_m == pytest.approx(2.4477 * 50.0, rel=0.01)


def touching():
    """Two circles that touch between their middles."""
    one, other = seen(PLACE, 90.0, 2000.0), seen(PLACE, 270.0, 3000.0)
    return [DistanceTo(*one[:2], 2000.0, 10.0), DistanceTo(*other[:2], 3000.0, 10.0)]


def test_circles_that_touch_are_named():
    with pytest.raises(ObservationsTouchError):
        fix_from(touching())


@pytest.mark.parametrize(
    ("first_m", "second_m", "gap_m"), [(1000.0, 3000.0, 1000.0), (9000.0, 3000.0, 1000.0)]
)
def test_circles_that_do_not_meet_say_by_how_much(first_m, second_m, gap_m):
    one, other = touching()
    with pytest.raises(ObservationsDoNotMeetError) as caught:
        fix_from(
            [
                DistanceTo(one.lat_deg, one.lon_deg, first_m, 10.0),
                DistanceTo(other.lat_deg, other.lon_deg, second_m, 10.0),
            ]
        )
    assert caught.value.value == pytest.approx(gap_m, abs=0.1)


def test_a_sight_that_passes_a_circle_or_a_road_by_is_named():
    one, _other = touching()
    lat, lon, _ = seen((one.lat_deg, one.lon_deg), 0.0, 5000.0)
    with pytest.raises(ObservationsDoNotMeetError):
        fix_from([one, BearingFrom(lat, lon, 90.0, 1.0)])
    with pytest.raises(ObservationsDoNotMeetError):
        fix_from([line_through(PLACE, 90.0), BearingFrom(*seen(PLACE, 0.0, 5000.0)[:2], 90.0, 1.0)])


@pytest.mark.parametrize("azimuth", range(0, 360, 30))
def test_neither_of_two_close_places_is_missed_where_the_curves_nearly_touch(azimuth):
    # So far north, meridians converge by a degree in 17 km: on the plane of the search the sight may pass the circle by.
    place = (75.0, 40.0)
    made = [
        perfect("to", place, azimuth, 30_000.0, sd=0.1),
        perfect("distance", place, azimuth + 87.0, 20_000.0, sd=0.1),
    ]
    fix = fix_from(made)
    assert len(fix.places) == 2
    assert min(off_m(each, place) for each in fix.places) < 0.1


@pytest.mark.parametrize("azimuth", range(10, 360, 50))
def test_starts_allow_for_meridians_that_converge(azimuth):
    place = (75.0, 40.0)
    made = [perfect("to", place, azimuth, 30_000.0), perfect("to", place, azimuth + 80.0, 25_000.0)]
    problem = problem_of(made, None, False)
    plane = problem.table.plane
    north = norths_around(problem.table, np.array([plane.lat_deg]), np.array([plane.lon_deg]), None)
    starts = starts_by_pairs(problem.table, north, problem.table.sd)
    # Drawn with one north the crossing is 2 to 3 % of the way off, some 600 m; drawn again, the square of that.
    assert float(inverse(*place, starts.lat_deg[0], starts.lon_deg[0])[2]) < 60.0


def test_a_sight_along_the_road_is_named():
    lat, lon, back = seen(PLACE, 90.0, 8000.0)
    with pytest.raises(ObservationsTouchError):
        fix_from([line_through(PLACE, 90.0), BearingFrom(lat, lon, back, 1.0)])


def test_parallel_sights_and_a_sight_back_along_the_first_are_named():
    with pytest.raises(ParallelSightsError):
        fix_from([perfect("to", PLACE, 20.0, 3000.0), perfect("from", PLACE, 200.0, 3000.0)])


def test_angles_on_one_circle_are_named():
    # The place and the three marks on a circle of 3 km, as in row danger-circle of the published examples.
    centre = seen(PLACE, 0.0, 3000.0)[:2]
    marks = [seen(centre, azimuth, 3000.0)[:2] for azimuth in (270.0, 0.0, 90.0)]
    azimuths = [float(inverse(*PLACE, *mark)[0]) for mark in marks]
    angles = [
        AngleBetween(*marks[i], *marks[i + 1], (azimuths[i + 1] - azimuths[i]) % 360.0, 0.5) for i in (0, 1)
    ]
    with pytest.raises(DangerCircleError):
        fix_from(angles)


def test_too_few_are_counted_by_kind():
    with pytest.raises(TooFewObservationsError) as caught:
        fix_from([perfect("to", PLACE, 20.0, 3000.0)] * 2, solve_compass_error=True)
    assert caught.value.details == {"counted": {"bearing_to": 2}}
    with pytest.raises(TooFewObservationsError):
        fix_from([])
    with pytest.raises(TooFewObservationsError):
        # Enough, but none that the compass error could be told from.
        fix_from(
            [perfect("from", PLACE, azimuth, 3000.0) for azimuth in (0, 90, 200)], solve_compass_error=True
        )


def test_observations_of_one_kind_and_one_place_are_named():
    lat, lon, _ = seen(PLACE, 20.0, 3000.0)
    for pair in (
        [DistanceTo(lat, lon, 3000.0, 10.0), DistanceTo(lat, lon, 3010.0, 10.0)],
        [BearingTo(lat, lon, 20.0), BearingFrom(lat, lon, 190.0)],
    ):
        with pytest.raises(CoincidentPointsError):
            fix_from(pair)


def test_a_place_that_is_a_mark_itself_is_named():
    lat, lon, back = seen(PLACE, 30.0, 4000.0)
    with pytest.raises(CoincidentPointsError) as caught:
        fix_from([BearingFrom(lat, lon, back, 1.0), BearingTo(*PLACE, 70.0, 1.0)])
    assert caught.value.details == {"observations": [1]}


def test_what_is_out_of_range_is_named():
    with pytest.raises(OutOfRangeError) as caught:
        fix_from([perfect("to", PLACE, 20.0, 3000.0), DistanceTo(60.0, 10.0, math.nan, 5.0)])
    assert caught.value.member == "observations/1/distance_m"
    with pytest.raises(DateMissingError):
        fix_from([BearingTo(63.0, 13.0, 20.0, north="magnetic"), BearingTo(63.0, 13.5, 80.0)])
    with pytest.raises(OutsideGridError):
        fix_from([BearingFrom(63.0, 13.0, 20.0, north="grid", zone=10), BearingTo(63.0, 13.5, 80.0)])
    with pytest.raises(CoincidentPointsError):
        fix_from([LineStoodOn((63.0, 63.0), (13.0, 13.0)), BearingTo(63.0, 13.5, 80.0)])
    with pytest.raises(CoincidentPointsError):
        fix_from([AngleBetween(63.0, 13.0, 63.0, 13.0, 20.0), BearingTo(63.0, 13.5, 80.0)])


def test_an_observation_that_adds_nothing_is_named():
    near = [perfect("distance", PLACE, azimuth, 500.0) for azimuth in (0.0, 80.0, 200.0)]
    fix = fix_from([*near, perfect("to", PLACE, 140.0, 90_000.0, sd=5.0)])
    assert any(c.code == "says_nothing" and "observations/3" in c.message for c in fix.cautions)


def test_the_spread_had_from_residuals_is_wider_by_the_f_distribution():
    observations = [
        perfect("distance", PLACE, 90.0 * index, 3000.0, error)
        for index, error in enumerate((1.0, 1.0, 1.0, 1.0))
    ]
    fix = fix_from(observations)
    # The quantile of F(2, 2) at 95 % is 19.00 (common tables): the ellipse's factor squared is twice that, for 5.991.
    expected = math.sqrt(fix.variance_factor * 2.0 * 19.0 / 5.9915)
    assert fix.posterior_ellipse.semi_major_m / fix.best.ellipse.semi_major_m == pytest.approx(
        expected, rel=1e-3
    )


def test_bearings_on_a_national_grid_are_answered_as_resections_are_and_refused_beyond_it():
    place, zone = (54.0, -2.5), 27700
    turn = float(convergence_and_scale(*place, zone)[0])
    marks = [(azimuth, *seen(place, azimuth, 4000.0)[:2]) for azimuth in (20.0, 110.0)]
    fix = fix_from([BearingTo(lat, lon, azimuth - turn, 1.0, "grid", zone) for azimuth, lat, lon in marks])
    # The true north of the national datum parts from that of WGS 84 by a few seconds of arc, over 4 km some centimetres.
    assert off_m(fix.best, place) < 0.5
    sights = [Sight(lat, lon, azimuth - turn, 1.0) for azimuth, lat, lon in marks]
    old = resect(sights, "grid", zone=zone)
    assert off_m(fix.best, (old.lat_deg, old.lon_deg)) < 1e-3
    far = [
        BearingTo(*seen((54.0, 15.0), azimuth, 4000.0)[:2], azimuth, 1.0, "grid", zone)
        for azimuth in (20.0, 110.0)
    ]
    with pytest.raises(OutsideGridError):
        fix_from(far)
