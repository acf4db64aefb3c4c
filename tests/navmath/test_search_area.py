"""Search areas: what they mean, how they nest, and what contradictions are called."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from threenorths_service.navmath.cautions import CAUTIONS
from threenorths_service.navmath.errors import BoundsReversedError, OutOfRangeError, ReachTooLargeError
from threenorths_service.navmath.searches.direction_distribution import (
    ANY_DIRECTION,
    about_direction,
    sd_of_half_angle_deg,
)
from threenorths_service.navmath.searches.distance_distribution import (
    DistanceDistribution,
    between_bounds,
    from_quantiles,
    reach_m,
)
from threenorths_service.navmath.searches.search_area import (
    DEFAULT_SHARES,
    SearchArea,
    SearchAreas,
    search_areas,
)
from threenorths_service.navmath.searches.start_region import known_by_covariance, known_to_radius

HERE = known_to_radius(47.0, 11.0, 200.0)
QUANTILES = [(0.25, 700.0), (0.5, 1800.0), (0.75, 3900.0), (0.95, 12_000.0)]

latitudes = st.one_of(st.floats(-90, 90), st.sampled_from([-90.0, 0.0, 89.99, 90.0]))
longitudes = st.one_of(st.floats(-180, 359.99), st.sampled_from([-180.0, 0.0, 179.999, 180.0]))
GEOD = Geod(ellps="WGS84")
#: Sizes of polygons are good to this (C. F. F. Karney, GeographicLib, notes on polygon areas, from memory).
SIZE_TOLERANCE_M2 = 0.1
FEW = settings(max_examples=40, deadline=None)


def polygons_of(area: SearchArea) -> shapely.MultiPolygon:
    return shapely.MultiPolygon(
        [shapely.Polygon(exterior, holes) for exterior, holes in area.ground.polygons]
    )


def all_areas(found: SearchAreas) -> list[SearchArea]:
    return [*found.areas, *([] if found.outer_bound is None else [found.outer_bound])]


def codes(found: SearchAreas) -> list[str]:
    return [caution.code for caution in found.cautions]


def check_rings(area: SearchArea) -> None:
    """RFC 7946, sections 3.1.6, 3.1.9 and 5: closed, exteriors counter-clockwise, in range, not across 180 degrees."""
    assert area.ground.polygons
    for exterior, holes in area.ground.polygons:
        for ring in (exterior, *holes):
            assert len(ring) >= 4
            assert ring[0].tolist() == ring[-1].tolist()
            assert np.all(np.abs(ring) <= [180, 90])
        assert shapely.LinearRing(exterior).is_ccw
        assert not any(shapely.LinearRing(hole).is_ccw for hole in holes)
        assert shapely.Polygon(exterior, holes).is_valid
    west, south, east, north = area.ground.bbox
    points = np.concatenate([exterior for exterior, _holes in area.ground.polygons])
    assert points[:, 1].min() == south
    assert points[:, 1].max() == north
    if east - west < 360.0:
        # East of the western edge, a rounding before it included, up to the eastern edge.
        east_of_west = np.mod(points[:, 0] - west + 1e-9, 360.0)
        assert east_of_west.min() == pytest.approx(0, abs=1e-8)
        assert east_of_west.max() == pytest.approx((east - west) % 360.0, abs=1e-8)


def check_nested(found: SearchAreas) -> None:
    areas = all_areas(found)
    for inner, outer in pairwise(areas):
        assert inner.ground.area_m2 <= outer.ground.area_m2 * (1 + 1e-9) + SIZE_TOLERANCE_M2
        # In longitude and latitude the lines between points are others than in the plane, by half a metre at most.
        outside = polygons_of(inner).difference(polygons_of(outer))
        sizes = [GEOD.geometry_area_perimeter(part) for part in shapely.get_parts(outside)]
        assert sum(abs(size) for size, _length in sizes) <= 0.5 * inner.ground.perimeter_m


def test_the_answer_says_what_it_means_and_what_it_is_not() -> None:
    found = search_areas(HERE, between_bounds(0, 12_000), about_direction(40.0, 30.0))
    assert [area.share for area in found.areas] == list(DEFAULT_SHARES)
    assert codes(found) == ["supports_search_manager"]
    assert "never replace" in CAUTIONS["supports_search_manager"]
    for area, percent in zip(found.areas, ("50 %", "75 %", "95 %"), strict=True):
        assert percent in area.meaning
        assert area.cell_m is not None
    assert found.outer_bound is not None
    assert found.outer_bound.share is None
    assert found.outer_bound.cell_m is None
    assert "nothing of how likely" in found.outer_bound.meaning
    assert "12 km" in found.outer_bound.meaning
    said = " ".join(found.assumptions)
    for words in ("within 200 m", "0 to 12 km", "40.0 degrees from true north", "30.0 degrees", "other 10 %"):
        assert words in said
    assert found.left_out_share == 0.0
    check_nested(found)


def test_the_area_reaches_farther_the_way_that_the_person_went() -> None:
    found = search_areas(
        known_to_radius(47.0, 11.0), between_bounds(0, 12_000), about_direction(90.0, 30.0, 0.1)
    )
    for area in found.areas:
        farthest = {reach.true_azimuth_deg: reach.farthest_m for reach in area.reaches}
        # The largest area comes to the greatest distance in several directions.
        assert farthest[90.0] == pytest.approx(max(farthest.values()), rel=1e-4)
        # The area is alike to either side of the direction.
        assert farthest[67.5] == pytest.approx(farthest[112.5], rel=0.01)
        assert farthest[270.0] < farthest[90.0] / 3


@FEW
@given(
    latitudes, longitudes, st.floats(0, 20_000), st.floats(0, 0.9), st.floats(1, 200_000), st.floats(5, 180)
)
def test_areas_nest_anywhere_on_earth(
    lat: float, lon: float, radius_m: float, least: float, reach: float, sd_deg: float
) -> None:
    distances = between_bounds(least * reach, reach)
    found = search_areas(known_to_radius(lat, lon, radius_m), distances, about_direction(lat + 90, sd_deg))
    check_nested(found)
    for area in all_areas(found):
        check_rings(area)
        assert 0 < area.ground.area_m2 < 2e11
    assert ("at_pole" in codes(found)) == (abs(lat) == 90)


@FEW
@given(latitudes, longitudes, st.floats(0, 5000), st.floats(1, 100_000), st.floats(1, 100_000))
def test_more_time_never_shrinks_the_outer_bound(
    lat: float, lon: float, radius_m: float, reach: float, more: float
) -> None:
    start = known_to_radius(lat, lon, radius_m)
    less_bound = search_areas(start, between_bounds(0, reach), shares=[0.5]).outer_bound
    more_bound = search_areas(start, between_bounds(0, reach + more), shares=[0.5]).outer_bound
    assert less_bound is not None
    assert more_bound is not None
    assert less_bound.ground.area_m2 < more_bound.ground.area_m2
    outside = polygons_of(less_bound).difference(polygons_of(more_bound))
    assert outside.area <= 1e-9 * polygons_of(less_bound).area


@pytest.mark.parametrize(
    ("lat", "lon"), [(20.0, 179.99), (20.0, -179.99), (-70.0, 180.0), (89.9, 0.0), (-90.0, 0.0)]
)
def test_areas_are_as_large_across_the_antimeridian_and_at_a_pole(lat: float, lon: float) -> None:
    distances, directions = between_bounds(3000, 20_000), about_direction(0.0, 60.0)
    found = search_areas(known_to_radius(lat, lon, 500.0), distances, directions)
    there = search_areas(
        known_to_radius(math.copysign(min(abs(lat), 75.0), lat), 10.0, 500.0), distances, directions
    )
    for area, other in zip(all_areas(found), all_areas(there), strict=True):
        check_rings(area)
        assert area.ground.area_m2 == pytest.approx(other.ground.area_m2, rel=1e-5)
        assert area.ground.perimeter_m == pytest.approx(other.ground.perimeter_m, rel=1e-5)
    west, south, east, north = found.outer_bound.ground.bbox if found.outer_bound else (0, 0, 0, 0)
    if abs(lat) > 89:
        assert (west, east) == (-180.0, 180.0)
        assert max(abs(south), abs(north)) == 90.0
    else:
        assert west > east


def test_a_ring_about_a_pole_has_its_hole_there() -> None:
    found = search_areas(known_to_radius(90.0, 0.0), between_bounds(10_000, 20_000), shares=[0.5])
    (area,) = found.areas
    check_rings(area)
    points = shapely.points([[0.0, 90.0], [0.0, 89.95], [0.0, 89.88], [120.0, 89.88], [0.0, 89.8]])
    # A degree of latitude at the pole is 111.69 km: the ring is from 0.0895 to about 0.134 degrees off it.
    assert shapely.contains(polygons_of(area), points).tolist() == [False, False, True, True, False]


def test_quantiles_with_no_bound_have_no_outer_bound_and_say_so() -> None:
    found = search_areas(HERE, from_quantiles(QUANTILES))
    assert found.outer_bound is None
    said = " ".join(found.assumptions)
    assert "no outer bound" in said
    assert "1 % of the likelihood" in said
    assert "25 % within 0.7 km, 50 % within 1.8 km" in said
    check_nested(found)


def test_a_bound_that_contradicts_the_quantiles_is_a_caution() -> None:
    assert "quantiles_beyond_bound" in codes(search_areas(HERE, from_quantiles(QUANTILES, 8000.0)))
    assert "quantiles_beyond_bound" not in codes(search_areas(HERE, from_quantiles(QUANTILES, 20_000.0)))


def test_a_least_distance_is_a_caution() -> None:
    assert "near_part_left_out" in codes(search_areas(HERE, between_bounds(1000, 8000)))


def test_a_stated_quantile_is_given_back() -> None:
    distances = from_quantiles(QUANTILES)
    shares = distances.cumulative(np.array([distance for _share, distance in QUANTILES])) * (
        1 - distances.tail
    )
    assert shares == pytest.approx([share for share, _distance in QUANTILES], abs=1e-4)
    assert distances.tail == pytest.approx(0.01, abs=1e-9)


def test_speed_and_time_make_a_distance() -> None:
    assert reach_m(2.5, 4.0) == 10_000.0


def test_a_half_angle_is_turned_into_a_standard_deviation() -> None:
    # The normal distribution holds 68.27 % within 1 and 95.45 % within 2 standard deviations: JCGM 100:2008, table G.1,
    # to its two decimals of a per cent.
    assert sd_of_half_angle_deg(30.0, 0.6827) == pytest.approx(30.0, rel=1e-4)
    assert sd_of_half_angle_deg(30.0, 0.9545) == pytest.approx(15.0, rel=1e-4)


@pytest.mark.parametrize("half_angle", [180.0, 179.0])
def test_a_spread_all_around_is_no_direction(half_angle: float) -> None:
    sd = sd_of_half_angle_deg(half_angle, 0.5)
    assert about_direction(45.0, sd) == ANY_DIRECTION
    assert about_direction(45.0, 30.0, 1.0) == ANY_DIRECTION
    found = search_areas(HERE, between_bounds(0, 5000), about_direction(45.0, sd))
    assert "Every direction" in " ".join(found.assumptions)


@pytest.mark.parametrize("azimuth", [0.0, 360.0])
def test_north_is_north_either_way(azimuth: float) -> None:
    found = search_areas(HERE, between_bounds(0, 5000), about_direction(azimuth, 20.0), shares=[0.5])
    (area,) = found.areas
    assert max(area.reaches, key=lambda reach: reach.farthest_m).true_azimuth_deg == 0.0


@pytest.mark.parametrize(
    ("make", "error", "member"),
    [
        (lambda: reach_m(0.0, 4.0), OutOfRangeError, "hours_since"),
        (lambda: reach_m(math.nan, 4.0), OutOfRangeError, "hours_since"),
        (lambda: reach_m(1.0, 31.0), OutOfRangeError, "speed_km_per_h"),
        (lambda: between_bounds(0, 0), OutOfRangeError, "greatest_m"),
        (lambda: between_bounds(0, 200_001), ReachTooLargeError, None),
        (lambda: between_bounds(-1, 5), OutOfRangeError, "least_m"),
        (lambda: between_bounds(9000, 5000), BoundsReversedError, None),
        (lambda: between_bounds(5000, 5000), BoundsReversedError, None),
        (lambda: between_bounds(2000, 5000, 1000), BoundsReversedError, None),
        (lambda: between_bounds(2000, 5000, 6000), BoundsReversedError, None),
        (lambda: from_quantiles([(0.5, 1000)]), OutOfRangeError, "distance_quantiles"),
        (lambda: from_quantiles([]), OutOfRangeError, "distance_quantiles"),
        (lambda: from_quantiles([(0.5, 1000), (1.0, 2000)]), OutOfRangeError, "distance_quantiles"),
        (lambda: from_quantiles([(0.5, 0), (0.9, 2000)]), OutOfRangeError, "distance_quantiles"),
        (lambda: from_quantiles([(0.5, 1000), (0.5, 2000)]), BoundsReversedError, "distance_quantiles"),
        (lambda: from_quantiles([(0.5, 2000), (0.9, 1000)]), BoundsReversedError, "distance_quantiles"),
        (lambda: from_quantiles([(0.5, 2000), (0.9, 9000)], 1500), BoundsReversedError, None),
        (lambda: from_quantiles([(0.5, 10_000), (0.9, 190_000)]), ReachTooLargeError, None),
        (lambda: about_direction(361.0, 20.0), OutOfRangeError, "direction"),
        (lambda: about_direction(0.0, 4.0), OutOfRangeError, "direction_sd_deg"),
        (lambda: about_direction(0.0, 20.0, 1.1), OutOfRangeError, "other_directions_share"),
        (lambda: sd_of_half_angle_deg(181.0, 0.68), OutOfRangeError, "direction_spread_deg"),
        (lambda: sd_of_half_angle_deg(30.0, 1.0), OutOfRangeError, "direction_confidence"),
        (lambda: known_to_radius(91.0, 0.0), OutOfRangeError, "lat_deg"),
        (lambda: known_to_radius(0.0, 360.0), OutOfRangeError, "lon_deg"),
        (lambda: known_to_radius(0.0, math.nan), OutOfRangeError, "lon_deg"),
        (lambda: known_to_radius(0.0, 0.0, 20_001.0), OutOfRangeError, "radius_m"),
        (lambda: known_by_covariance(0, 0, [[1, 0], [0, -1]]), OutOfRangeError, "covariance_m2"),
        (lambda: known_by_covariance(0, 0, [[1, 2], [0, 1]]), OutOfRangeError, "covariance_m2"),
        (lambda: known_by_covariance(0, 0, [[1, 2], [2, 1]]), OutOfRangeError, "covariance_m2"),
        (lambda: known_by_covariance(0, 0, [[math.nan, 0], [0, 1]]), OutOfRangeError, "covariance_m2"),
        (lambda: known_by_covariance(0, 0, [[1e8, 0], [0, 1]]), OutOfRangeError, "covariance_m2"),
        (lambda: search_areas(HERE, between_bounds(0, 5), shares=[]), OutOfRangeError, "shares"),
        (lambda: search_areas(HERE, between_bounds(0, 5), shares=[0.96]), OutOfRangeError, "shares"),
        (lambda: search_areas(HERE, between_bounds(0, 5), shares=[0.5, 0.5]), BoundsReversedError, "shares"),
    ],
)
def test_what_cannot_be_is_named(make: object, error: type[Exception], member: str | None) -> None:
    with pytest.raises(error) as raised:
        make()  # type: ignore[operator]
    assert raised.value.member == member  # type: ignore[attr-defined]


def test_a_fix_with_no_error_in_one_direction_is_a_place_too() -> None:
    start = known_by_covariance(47.0, 11.0, [[0.0, 0.0], [0.0, 250_000.0]])
    bound = search_areas(start, between_bounds(0, 1000)).outer_bound
    assert bound is not None
    farthest = {reach.true_azimuth_deg: reach.farthest_m for reach in bound.reaches}
    assert farthest[0.0] == pytest.approx(1000, abs=1)
    assert farthest[90.0] == pytest.approx(1000 + 500 * math.sqrt(-2 * math.log(0.01)), abs=1)


@pytest.mark.parametrize(
    "distances",
    [
        between_bounds(0, 1),
        between_bounds(199_999, 200_000),
        from_quantiles([(0.01, 1.0), (0.99, 199_000.0)]),
    ],
)
@pytest.mark.parametrize("radius_m", [0.0, 20_000.0])
def test_extremes_have_answers(distances: DistanceDistribution, radius_m: float) -> None:
    found = search_areas(known_to_radius(0.0, 0.0, radius_m), distances, about_direction(0.0, 5.0, 0.0))
    check_nested(found)
    for area in all_areas(found):
        check_rings(area)
