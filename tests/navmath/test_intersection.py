"""Intersections where something is out of the ordinary; perfect sights are in test_fix_anywhere."""

import math

import numpy as np
import pytest

from threenorths_service.navmath.errors import (
    CoincidentPointsError,
    NoSolutionError,
    OutOfRangeError,
    OutsideGridError,
    ParallelSightsError,
    SightsCrossBehindError,
)
from threenorths_service.navmath.grids.grid import convergence_and_scale
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.sight import Sight

PLACE = (-33.9, 18.4)


def seen_from(polar, errors_deg=(0.0,) * 9, sd_deg=1.0, place=PLACE):
    """Sights toward the place, observed at azimuths and distances from it, each misread by its error."""
    sights = []
    for (azimuth, distance_m), error in zip(polar, errors_deg, strict=False):
        lat, lon, back = (float(value) for value in direct(*place, azimuth, distance_m))
        sights.append(Sight(lat, lon, (back + error) % 360.0, sd_deg))
    return sights


def miss_m(fix, place=PLACE):
    return float(inverse(*place, fix.lat_deg, fix.lon_deg)[2])


def codes(fix):
    return [caution.code for caution in fix.cautions]


def test_a_third_sight_shows_which_bearing_was_reversed():
    sights = seen_from([(10, 3000), (130, 4000), (250, 3500)], (0.4, 180.0, -0.5))
    with pytest.raises(SightsCrossBehindError) as caught:
        intersect(sights, "true")
    assert caught.value.member == "sights/1"
    assert caught.value.details == {"sights": [1]}


def test_all_bearings_reversed_are_all_named():
    with pytest.raises(SightsCrossBehindError) as caught:
        intersect(seen_from([(10, 3000), (100, 4000)], (180.0, 180.0)), "true")
    assert caught.value.details == {"sights": [0, 1]}


@pytest.mark.parametrize("blunder_deg", range(10, 360, 25))
@pytest.mark.parametrize("index", range(4))
def test_a_blunder_among_four_sights_never_passes_in_silence(index, blunder_deg):
    errors = [0.3, -0.4, 0.2, -0.1]
    errors[index] += blunder_deg
    sights = seen_from([(10, 3000), (80, 4000), (150, 3500), (250, 3000)], errors)
    try:
        fix = intersect(sights, "true")
    except SightsCrossBehindError as error:
        blamed = error.details["sights"]
    except NoSolutionError:
        return
    else:
        assert "large_residual" in codes(fix)
        return
    assert blamed == [index]


def test_a_crossing_put_behind_by_noise_is_called_parallel():
    # The lines cross at 3 degrees, ahead; two degrees of misreading, which standard deviations of 1 allow, put the
    # crossing behind. Nobody reversed a bearing.
    perfect = seen_from([(0.0, 40_000), (3.0, 40_000)])
    assert miss_m(intersect(perfect, "true")) < 1e-3
    with pytest.raises(ParallelSightsError):
        intersect(seen_from([(0.0, 40_000), (3.0, 40_000)], (2.5, -2.5)), "true")


def test_a_place_that_may_be_beyond_the_farthest_observer_is_not_told():
    # At 64 degrees the lines cross at just more than these standard deviations together, and by so little that one
    # standard deviation of the place is longer than the sights.
    with pytest.raises(ParallelSightsError, match="fix a place"):
        intersect(seen_from([(0.0, 3000), (64.0, 3000)], sd_deg=45.0), "true")


def test_nobody_sees_further_than_a_quarter_of_the_way_round():
    assert miss_m(intersect(seen_from([(0.0, 9_900_000), (90.0, 3_000_000)], sd_deg=0.1), "true")) < 1e-3
    with pytest.raises(NoSolutionError):
        intersect(seen_from([(0.0, 10_100_000), (90.0, 3_000_000)], sd_deg=0.1), "true")


def test_a_longitude_beyond_180_is_the_same_place():
    sights = seen_from([(80.0, 9000), (200.0, 5000)], place=(-16.5, -179.0))
    beyond = [Sight(s.lat_deg, s.lon_deg + 360.0, s.bearing_deg, s.sd_deg) for s in sights]
    fix = intersect(beyond, "true")
    assert miss_m(fix, (-16.5, -179.0)) < 1e-3
    assert fix.lon_deg < 0.0
    # A full 360 is the meridian of 0, also where the zone of its grid is looked up.
    greenwich = [Sight(51.0, 360.0, 45.0, 1.0), Sight(51.0, 0.1, 315.0, 1.0)]
    plain = [Sight(51.0, 0.0, 45.0, 1.0), greenwich[1]]
    assert intersect(greenwich, "grid").lat_deg == intersect(plain, "grid").lat_deg


def test_a_place_put_behind_a_near_observer_by_noise_is_not_blamed_on_the_bearing():
    # The third observer is 100 m from the place, which the others fix to some 700 m: two degrees there are enough.
    polar = [(0.0, 30_000), (90.0, 30_000), (45.0, 100)]
    for error in (1.5, -1.5):
        try:
            fix = intersect(seen_from(polar, (error, -error, 0.0)), "true")
        except ParallelSightsError:
            continue
        assert "weak_geometry" in codes(fix)


def test_three_narrow_sights_whose_lines_cross_best_behind_are_fixed_ahead():
    # Simulated as in the test of coverage: with lines so flat the best crossing of lines that run both ways is often
    # behind. Where another that all look at fits as well, that is the fix.
    rng, ahead, behind = np.random.default_rng(12), 0, 0
    for _ in range(300):
        polar = list(zip(rng.uniform(0, 10, 4), 10 ** rng.uniform(2.3, 4.5, 4), strict=True))
        try:
            fix = intersect(seen_from(polar, rng.normal(0.0, 1.5, 4), sd_deg=1.5), "true")
        except SightsCrossBehindError:
            behind += 1
        except (CoincidentPointsError, NoSolutionError, ParallelSightsError):
            continue
        else:
            ahead += 1
            assert np.abs(fix.residuals_deg).max() < 90.0
    # Without the second try 233 are fixed and 8 are called reversed, though no bearing was.
    assert ahead >= 240
    assert behind <= 5


def test_observers_that_look_at_each_other_are_in_one_line():
    (lat1, lon1), (lat2, lon2) = PLACE, (-33.85, 18.43)
    there, back, _ = (float(value) for value in inverse(lat1, lon1, lat2, lon2))
    with pytest.raises(ParallelSightsError):
        intersect([Sight(lat1, lon1, there, 0.01), Sight(lat2, lon2, back, 0.01)], "true")


@pytest.mark.parametrize("looks_deg", [20.0, 100.0, 200.0, 270.0])
@pytest.mark.parametrize("distance_m", [30.0, 3_000.0, 30_000.0])
def test_a_place_sighted_that_is_another_observer_s_own_is_named(looks_deg, distance_m):
    first = seen_from([(10, distance_m)])[0]
    with pytest.raises(CoincidentPointsError) as caught:
        intersect([first, Sight(*PLACE, looks_deg, 1.0)], "true")
    assert caught.value.details == {"sights": [1]}


def test_two_readings_at_one_place_are_averaged():
    sights = seen_from([(10, 3000), (10, 3000), (100, 4000)], (1.0, -1.0, 0.0))
    fix = intersect(sights, "true")
    # The two residuals are of opposite signs; a degree's tangent is not quite a degree, 0.02 % off.
    assert fix.residuals_deg == pytest.approx([1.0, -1.0, 0.0], abs=2e-3)
    assert miss_m(fix) < 1.0
    # A blunder in the third would move the fix along the first line, and show nowhere.
    assert "no_check" in codes(fix)
    assert any("sights/2" in c.message for c in fix.cautions)


def test_two_readings_at_one_place_do_not_cross_each_other():
    # Two degrees apart at one place, and each within a degree of the third sight, from elsewhere.
    lat, lon, _ = (float(value) for value in direct(*PLACE, 100.0, 2000.0))
    sights = [Sight(*PLACE, 10.0, 1.0), Sight(*PLACE, 12.0, 1.0), Sight(lat, lon, 11.0, 1.0)]
    with pytest.raises(ParallelSightsError, match="degrees at best"):
        intersect(sights, "true")


def test_three_observers_at_one_place_have_no_crossing():
    sights = [Sight(*PLACE, bearing, 1.0) for bearing in (10.0, 60.0, 140.0)]
    with pytest.raises(CoincidentPointsError) as caught:
        intersect(sights, "true")
    assert caught.value.details == {"sights": [0, 1]}


def test_the_best_crossing_is_told_with_its_pair():
    fix = intersect(seen_from([(10, 3000), (25, 4000), (105, 3500)]), "true")
    assert fix.crossing_angle_deg == pytest.approx(95.0, abs=1e-6)
    assert fix.crossing_sights == (0, 2)
    assert "flat_crossing" not in codes(fix)


def test_a_better_sight_draws_the_fix_to_its_line():
    polar = [(0, 3000), (90, 3000), (225, 3000)]
    sights = seen_from(polar, (0.0, 0.0, 3.0))
    coarse = [*sights[:2], Sight(sights[2].lat_deg, sights[2].lon_deg, sights[2].bearing_deg, 10.0)]
    assert miss_m(intersect(coarse, "true")) < 0.1 * miss_m(intersect(sights, "true"))


def test_an_outline_that_curves_is_cautioned_though_the_ellipse_is_short():
    # At its far ends, 0.4 of the sights' length away, a metre across a line of sight is 1.7 times or 0.7 of the angle
    # that it is at the fix; their squares are what the outline should hold even.
    fix = intersect(seen_from([(0.0, 3000), (35.0, 3000)], sd_deg=4.0), "true")
    assert fix.ellipse.semi_major_m < 0.5 * min(fix.distances_m)
    assert "weak_geometry" in codes(fix)


def test_an_ellipse_that_reaches_half_way_to_an_observer_is_cautioned():
    # At a right angle, where the lines of sight hardly turn along the ellipse.
    polar = [(0.0, 3000), (90.0, 3000)]
    assert "weak_geometry" not in codes(intersect(seen_from(polar, sd_deg=11.0), "true"))
    assert "weak_geometry" in codes(intersect(seen_from(polar, sd_deg=12.0), "true"))


def test_no_check_is_said_of_two_sights_only():
    polar = [(10, 3000), (130, 3000), (250, 3000)]
    assert codes(intersect(seen_from(polar), "true")) == []
    assert codes(intersect(seen_from(polar[:2]), "true")) == ["no_check"]


@pytest.mark.parametrize("pole", [90.0, -90.0])
def test_an_observer_at_a_pole_counts_from_the_meridian_given(pole):
    lat, lon = math.copysign(89.95, pole), 75.0
    at_pole = 180.0 if pole > 0 else 0.0
    side_lat, side_lon, back = (float(value) for value in direct(lat, lon, 100.0, 4000.0))
    sights = [Sight(pole, lon, at_pole, 1.0), Sight(side_lat, side_lon, back, 1.0)]
    assert miss_m(intersect(sights, "true"), (lat, lon)) < 1e-3
    # From the meridian of 0 the same direction has another number.
    turned = (at_pole - lon if pole > 0 else at_pole + lon) % 360.0
    assert miss_m(intersect([Sight(pole, 0.0, turned, 1.0), sights[1]], "true"), (lat, lon)) < 1e-3


def test_observers_across_the_antimeridian():
    place = (-16.5, 179.999)
    sights = seen_from([(80.0, 9000), (200.0, 5000)], place=place)
    assert sights[0].lon_deg < 0.0 < sights[1].lon_deg
    assert miss_m(intersect(sights, "true"), place) < 1e-3


def test_each_grid_bearing_is_of_its_observer_s_own_zone_unless_one_is_named():
    place = (52.0, 11.99)
    sights = seen_from([(260.0, 5000), (20.0, 9000), (100.0, 6000)], place=place)
    assert sights[2].lon_deg > 12.0 > sights[0].lon_deg
    for zone in (None, 32, 33):
        turns = [float(convergence_and_scale(s.lat_deg, s.lon_deg, zone)[0]) for s in sights]
        grid = [
            Sight(s.lat_deg, s.lon_deg, (s.bearing_deg - turn) % 360.0, 1.0)
            for s, turn in zip(sights, turns, strict=True)
        ]
        assert miss_m(intersect(grid, "grid", zone=zone), place) < 1e-3


def test_a_grid_that_does_not_reach_an_observer_is_refused():
    with pytest.raises(OutsideGridError):
        intersect(seen_from([(10, 3000), (100, 4000)]), "grid", zone=10)


@pytest.mark.parametrize(
    ("change", "member"),
    [
        ({"sd_deg": 0.0}, "sights/1/sd_deg"),
        ({"sd_deg": 46.0}, "sights/1/sd_deg"),
        ({"lat_deg": 90.1}, "sights/1/lat_deg"),
        ({"lon_deg": math.nan}, "sights/1/lon_deg"),
        ({"bearing_deg": math.inf}, "sights/1/bearing_deg"),
    ],
)
def test_a_number_out_of_range_is_named(change, member):
    sights = seen_from([(10, 3000), (100, 4000)])
    values = {"lat_deg": -33.8, "lon_deg": 18.5, "bearing_deg": 10.0, "sd_deg": 1.0} | change
    with pytest.raises(OutOfRangeError) as caught:
        intersect([sights[0], Sight(**values)], "true")
    assert caught.value.member == member


def test_fixes_without_a_caution_of_their_geometry_are_covered_as_often_as_the_ellipse_says():
    rng, inside, trials = np.random.default_rng(4), 0, 0
    for _ in range(500):
        polar = list(zip(rng.uniform(0, 360, 3), 10 ** rng.uniform(2.5, 4, 3), strict=True))
        sights = seen_from(polar, rng.normal(0.0, 1.5, 3), sd_deg=1.5)
        try:
            fix = intersect(sights, "true")
        except (ParallelSightsError, SightsCrossBehindError):
            continue
        if "weak_geometry" in codes(fix):
            continue
        azimuth, _, distance = (float(value) for value in inverse(fix.lat_deg, fix.lon_deg, *PLACE))
        off = distance * np.array([math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))])
        trials += 1
        inside += off @ np.linalg.solve(fix.covariance_m2, off) <= -2 * math.log(0.05)
    # 95 % with a standard deviation of 1 % of some 400: three of them, and one per cent for curved lines.
    assert trials > 350
    assert 0.91 <= inside / trials <= 0.98
