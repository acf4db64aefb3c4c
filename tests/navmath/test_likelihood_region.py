"""Regions of the likelihood: their shape against closed forms, and each point of them against the cost itself."""

import math

import numpy as np
import pytest

from mixed_observations import perfect, seen
from threenorths_service.navmath.fixes.likelihood import chi_square_of_two, likelihood_about
from threenorths_service.navmath.fixes.mixed_fix import fix_from
from threenorths_service.navmath.fixes.mixed_region import fix_regions
from threenorths_service.navmath.fixes.observation import BearingTo, DistanceTo

PLACE = (62.9, 13.3)


def crossing(sd=1.0):
    return [perfect("to", PLACE, 20.0, 3000.0, sd=sd), perfect("to", PLACE, 110.0, 4000.0, sd=sd)]


def arc(bearing_sd_deg=8.0, distance_sd_m=10.0):
    lat, lon, _ = seen(PLACE, 20.0, 3000.0)
    return [BearingTo(lat, lon, 20.0, bearing_sd_deg), DistanceTo(lat, lon, 3000.0, distance_sd_m)]


def two_circles():
    return [perfect("distance", PLACE, 0.0, 3000.0), perfect("distance", PLACE, 90.0, 4000.0)]


def points_of(fix, ring):
    likelihood = likelihood_about(fix.problem, fix.best)
    return likelihood, likelihood.table.plane.project(ring.lat_deg, ring.lon_deg)[0]


def signed_area(points):
    """Positive of a ring that runs counter-clockwise on the map; points are north + i east."""
    return float(np.sum(points.imag[:-1] * points.real[1:] - points.real[:-1] * points.imag[1:]) / 2.0)


def test_where_nothing_bends_the_region_is_the_ellipse():
    fix = fix_from(crossing(sd=0.1))
    found = fix_regions(fix)
    assert [region.confidence for region in found.regions] == [0.5, 0.95, 0.99]
    # The sides of the polygon leave out its bows: 0.4 % with as few points as these.
    assert found.area_ratios == pytest.approx([1.0, 1.0, 1.0], abs=0.004)
    assert not any(region.cut_off for region in found.regions)
    ellipse = math.pi * fix.ellipse.semi_major_m * fix.ellipse.semi_minor_m
    assert found.regions[1].area_m2 == pytest.approx(ellipse, rel=0.004)


def test_an_arc_has_the_area_of_its_strip():
    # Where the bearing and the distance are independent, the region is an ellipse in angle and radius: its area is
    # the integral of r over it, pi times the half-axes times the middle radius; as large as the linear ellipse's.
    found = fix_regions(fix_from(arc()), (0.95,))
    quantile = chi_square_of_two(0.95)
    assert found.regions[0].area_m2 == pytest.approx(
        math.pi * quantile * math.radians(8.0) * 3000.0 * 10.0, rel=0.01
    )


@pytest.mark.parametrize(
    "made", [crossing(5.0), arc(), two_circles()], ids=["crossing", "arc", "two circles"]
)
@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.99])
def test_rings_are_closed_and_lie_where_the_cost_says(made, confidence):
    fix = fix_from(made)
    (region,) = fix_regions(fix, (confidence,)).regions
    for ring in region.rings:
        likelihood, points = points_of(fix, ring)
        assert points[0] == points[-1]
        if signed_area(points) < 0.01 * region.area_m2:
            continue  # a splinter at the tip of the arc
        rise = likelihood.rise(points)
        assert rise == pytest.approx(chi_square_of_two(confidence), rel=0.05, abs=0.05)
    assert sum(signed_area(points_of(fix, ring)[1]) for ring in region.rings) == pytest.approx(
        region.area_m2, rel=0.02
    )


@pytest.mark.parametrize("confidence", [0.5, 0.95])
def test_a_long_thin_arc_is_one_piece_but_for_splinters_at_its_tips(confidence):
    # 20 degrees of 3 km either way and 5 m across: half as much again in height as the ellipse is wide, a hundred times.
    fix = fix_from(arc(10.0, 5.0))
    (region,) = fix_regions(fix, (confidence,)).regions
    areas = sorted(signed_area(points_of(fix, ring)[1]) for ring in region.rings)
    assert areas[-1] > 0.99 * region.area_m2
    assert len(areas) <= 3


def test_two_places_that_fit_have_a_ring_each():
    fix = fix_from(two_circles())
    found = fix_regions(fix)
    assert [len(region.rings) for region in found.regions] == [2, 2, 2]
    assert found.area_ratios[1] == pytest.approx(2.0, abs=0.05)


def test_circles_that_nearly_touch_have_one_ring_that_holds_both_places():
    fix = fix_from(
        [perfect("distance", PLACE, 90.0, 3000.0, sd=1.0), perfect("distance", PLACE, 265.0, 3000.0, sd=1.0)]
    )
    assert len(fix.places) == 2
    assert "weak_geometry" in [caution.code for caution in fix.cautions]
    half, most = fix_regions(fix, (0.5, 0.95)).regions
    assert (len(half.rings), len(most.rings)) in ((1, 1), (2, 1))


def test_a_fan_so_thin_that_the_place_may_be_anywhere_beyond_is_cut_off():
    fix = fix_from([perfect("to", PLACE, 20.0, 3000.0, sd=1.5), perfect("to", PLACE, 24.0, 5000.0, sd=1.5)])
    half, most = fix_regions(fix, (0.5, 0.95)).regions
    assert most.cut_off
    assert most.area_m2 > half.area_m2


def test_a_region_is_the_same_across_the_antimeridian_and_by_the_pole():
    areas = []
    for place in ((62.9, 13.3), (62.9, 179.9999), (-88.5, 40.0)):
        made = [perfect("from", place, 20.0, 3000.0), perfect("from", place, 110.0, 4000.0)]
        areas.append(fix_regions(fix_from(made), (0.95,)).regions[0].area_m2)
    assert areas[1:] == pytest.approx([areas[0]] * 2, rel=2e-3)


def test_a_compass_error_that_is_solved_for_is_in_the_region():
    made = [perfect("to", PLACE, azimuth, 3000.0) for azimuth in (20.0, 65.0, 120.0)]
    free = fix_regions(fix_from(made, solve_compass_error=True), (0.95,)).regions[0].area_m2
    known = fix_regions(fix_from(made), (0.95,)).regions[0].area_m2
    assert free > 1.2 * known
