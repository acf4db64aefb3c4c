"""Search areas against closed formulas, against sums done another way, and against people walked at random."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
import shapely

from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.searches.area_limits import AreaLimits
from threenorths_service.navmath.searches.direction_distribution import (
    ANY_DIRECTION,
    DirectionDistribution,
    about_direction,
)
from threenorths_service.navmath.searches.distance_distribution import (
    DistanceDistribution,
    between_bounds,
    from_quantiles,
)
from threenorths_service.navmath.searches.search_area import SearchArea, search_areas
from threenorths_service.navmath.searches.start_region import (
    StartRegion,
    known_by_covariance,
    known_to_radius,
)
from threenorths_service.navmath.sights.ellipse import ellipse_of

SHARES = (0.25, 0.5, 0.75, 0.95)
HERE = known_to_radius(47.0, 11.0)
NORMAL = NormalDist()
#: Areas are drawn within a twentieth of a cell, of which 146 span the farthest distance: of a circle half as wide, 1 in 700.
AREA_TOLERANCE = 0.005


def areas_km2(
    distances: DistanceDistribution,
    directions: DirectionDistribution = ANY_DIRECTION,
    start: StartRegion = HERE,
) -> list[float]:
    return [
        area.ground.area_m2 / 1e6 for area in search_areas(start, distances, directions, shares=SHARES).areas
    ]


@pytest.mark.parametrize("reach_km", [0.2, 12.0, 180.0])
@pytest.mark.parametrize("radius_km", [0.0, 0.05, 5.0])
def test_the_outer_bound_of_a_circle_is_a_circle_and_no_less(reach_km: float, radius_km: float) -> None:
    start = known_to_radius(47.0, 11.0, radius_km * 1000)
    bound = search_areas(start, between_bounds(0, reach_km * 1000)).outer_bound
    assert bound is not None
    radius_m = (reach_km + radius_km) * 1000
    # The circle of the ellipsoid by 3600 of its points, and its true radius in every direction.
    edge = direct(47.0, 11.0, np.arange(0, 360, 0.1), radius_m)
    circle = shapely.Polygon(np.column_stack((edge[1], edge[0])))
    (exterior, holes), *others = bound.ground.polygons
    assert not holes
    assert not others
    away_m = inverse(47.0, 11.0, exterior[:, 1], exterior[:, 0])[2]
    # The library leaves out bends of a ten-millionth of the distance, and lines in longitude and latitude up to 0.5 m.
    assert away_m.min() >= radius_m * (1 - 2e-7)
    assert away_m.max() <= radius_m * 1.0001
    assert shapely.Polygon(exterior).buffer(0.5 / 111_000).contains(circle)
    assert bound.ground.area_m2 == pytest.approx(math.pi * radius_m**2, rel=1e-3)
    assert bound.ground.perimeter_m == pytest.approx(2 * math.pi * radius_m, rel=1e-3)
    assert len(bound.reaches) == 16
    assert all(reach.nearest_m == 0 for reach in bound.reaches)
    assert all(reach.farthest_m == pytest.approx(radius_m, rel=1e-4) for reach in bound.reaches)


def test_distances_as_likely_between_bounds_make_circles() -> None:
    # Likelihood over area falls with distance, so the smallest area is a circle; its radius is the share of the distance.
    expected = [math.pi * (12 * share) ** 2 for share in SHARES]
    assert areas_km2(between_bounds(0, 12_000)) == pytest.approx(expected, rel=AREA_TOLERANCE)


def test_a_least_distance_makes_rings() -> None:
    expected = [math.pi * ((4 + 8 * share) ** 2 - 16) for share in SHARES]
    found = search_areas(HERE, between_bounds(4000, 12_000), shares=SHARES)
    assert [area.ground.area_m2 / 1e6 for area in found.areas] == pytest.approx(expected, rel=AREA_TOLERANCE)
    for area, share in zip(found.areas, SHARES, strict=True):
        (_exterior, holes), *others = area.ground.polygons
        assert len(holes) == 1
        assert not others
        for reach in area.reaches:
            assert reach.nearest_m == pytest.approx(4000, abs=area.cell_m)
            assert reach.farthest_m == pytest.approx(4000 + 8000 * share, abs=area.cell_m)
        # Around the ring's two edges.
        length_km = 2 * math.pi * (4 + 4 + 8 * share)
        assert area.ground.perimeter_m / 1000 == pytest.approx(length_km, rel=0.01)


def test_a_likeliest_distance_makes_areas_of_the_triangular_distribution() -> None:
    # Rising from 0 the likelihood over area is even up to the likeliest distance, 3 km of 12, and falls from there.
    # So the smallest area is a circle, of the radius that holds the share: 1 - (12 - r)^2 / (12 * 9).
    shares = (0.5, 0.75, 0.95)
    expected = [math.pi * (12 - math.sqrt(12 * 9 * (1 - share))) ** 2 for share in shares]
    found = search_areas(HERE, between_bounds(0, 12_000, 3000), shares=shares)
    assert [area.ground.area_m2 / 1e6 for area in found.areas] == pytest.approx(expected, rel=AREA_TOLERANCE)


def smallest_by_sum(
    inverse_cdf: np.ndarray, pdf: np.ndarray, direction_pdf: np.ndarray, shares: tuple[float, ...]
) -> list[float]:
    """Areas [km2] by polar cells: ``inverse_cdf`` their distances [km], ``pdf`` there [1/km], and by azimuth [1/radian]."""
    turn = 2 * math.pi / len(direction_pdf)
    step = np.gradient(inverse_cdf)
    likelihood = (pdf / inverse_cdf)[:, np.newaxis] * direction_pdf
    size = (inverse_cdf * step)[:, np.newaxis] * np.full(len(direction_pdf), turn)
    order = np.argsort(-likelihood, axis=None)
    held = np.cumsum((likelihood * size).ravel()[order])
    sizes = np.cumsum(size.ravel()[order])
    return [float(np.interp(share * held[-1], held, sizes)) for share in shares]


def wrapped_normal(off: np.ndarray, sd: float, other: float) -> np.ndarray:
    near = sum(np.exp(-(((off + 2 * math.pi * turn) / sd) ** 2) / 2) for turn in range(-5, 6))
    return other / (2 * math.pi) + (1 - other) * near / (sd * math.sqrt(2 * math.pi))


@pytest.mark.parametrize("sd_deg", [5.0, 10.0, 30.0, 90.0])
@pytest.mark.parametrize("other", [0.0, 0.1])
def test_a_direction_makes_wedges_of_the_size_that_a_sum_over_polar_cells_gives(
    sd_deg: float, other: float
) -> None:
    off = (np.arange(3600) + 0.5) * 2 * math.pi / 3600 - math.pi
    distance = (np.arange(1500) + 0.5) * 12 / 1500
    expected = smallest_by_sum(
        distance, np.full(1500, 1 / 12), wrapped_normal(off, math.radians(sd_deg), other), SHARES
    )
    found = areas_km2(between_bounds(0, 12_000), about_direction(70.0, sd_deg, other))
    # A standard deviation of 5 degrees is 6 cells at half the distance: they blur the edge.
    assert found == pytest.approx(expected, rel=0.015 if sd_deg == 5.0 else AREA_TOLERANCE)


@pytest.mark.parametrize("quantiles", [[(0.25, 700.0), (0.95, 12_000.0)], [(0.5, 1000.0), (0.95, 18_000.0)]])
@pytest.mark.parametrize("sd_deg", [None, 30.0])
def test_quantiles_make_the_areas_of_the_log_normal_distribution(
    quantiles: list[tuple[float, float]], sd_deg: float | None
) -> None:
    (low, near), (high, far) = quantiles
    sigma = math.log(far / near) / (NORMAL.inv_cdf(high) - NORMAL.inv_cdf(low))
    mu = math.log(near / 1000) - sigma * NORMAL.inv_cdf(low)
    scores = np.linspace(-6, NORMAL.inv_cdf(0.99), 4000)
    distance = np.exp(mu + sigma * scores)
    pdf = np.exp(-(scores**2) / 2) / (math.sqrt(2 * math.pi) * sigma * distance)
    off = (np.arange(720) + 0.5) * 2 * math.pi / 720 - math.pi
    even = np.full(720, 1 / (2 * math.pi))
    by_azimuth = even if sd_deg is None else wrapped_normal(off, math.radians(sd_deg), 0.1)
    # The last hundredth of the distances is in no area, and counts as outside.
    expected = smallest_by_sum(distance, pdf, by_azimuth, tuple(share / 0.99 for share in SHARES))
    directions = ANY_DIRECTION if sd_deg is None else about_direction(70.0, sd_deg, 0.1)
    # So far out, with so long a tail, a thousandth more of the likelihood is 2 % more of the area.
    assert areas_km2(from_quantiles(quantiles), directions) == pytest.approx(expected, rel=0.025)


def test_somebody_who_did_not_move_is_in_the_ellipse_of_the_fix() -> None:
    covariance = np.array([[90_000.0, 40_000.0], [40_000.0, 50_000.0]])
    start = known_by_covariance(47.0, 11.0, covariance)
    found = areas_km2(between_bounds(0, 1), start=start)
    # The normal distribution is cut off where 99 % of it is inside.
    ellipses = [ellipse_of(covariance, 0.99 * share) for share in SHARES]
    expected = [math.pi * float(e.semi_major_m * e.semi_minor_m) / 1e6 for e in ellipses]
    assert found == pytest.approx(expected, rel=AREA_TOLERANCE)
    bound = search_areas(start, between_bounds(0, 1)).outer_bound
    assert bound is not None
    widest = ellipse_of(covariance, 0.99)
    ahead = [reach for reach in bound.reaches if reach.true_azimuth_deg == 0.0]
    # The ellipse's reach to the north, along its own radius there.
    squared = 1 / np.linalg.inv(covariance)[0, 0] * -2 * math.log(0.01)
    assert ahead[0].farthest_m == pytest.approx(math.sqrt(squared) + 1, abs=1)
    assert max(reach.farthest_m for reach in bound.reaches) <= float(widest.semi_major_m) + 2


def test_places_as_likely_as_each_other_make_one_area_about_the_place() -> None:
    # Nearly all of the region is as likely: a quarter of it is a circle of half its radius, alike all around.
    found = search_areas(known_to_radius(47.0, 11.0, 5000.0), between_bounds(0, 100), shares=[0.25])
    (area,) = found.areas
    (_exterior, holes), *others = area.ground.polygons
    assert not holes
    assert not others
    assert area.ground.area_m2 / 1e6 == pytest.approx(math.pi * 2.5**2, rel=0.01)
    assert area.cell_m is not None
    assert [reach.farthest_m for reach in area.reaches] == pytest.approx([2500] * 16, abs=area.cell_m)


def inside(area: SearchArea, lat: np.ndarray, lon: np.ndarray) -> np.ndarray:
    polygons = shapely.MultiPolygon(
        [shapely.Polygon(exterior, holes) for exterior, holes in area.ground.polygons]
    )
    shapely.prepare(polygons)
    return shapely.contains_xy(polygons, lon, lat)


PEOPLE = 40_000
#: The share of people found inside is good to 0.25 % (one standard deviation, at a half); 1 % is what is promised.
CONTENT_TOLERANCE = 0.01


def walked(
    start: StartRegion, starts: np.ndarray, distance_m: np.ndarray, azimuth: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Ends on the ellipsoid of walks from points off the place last known, by geodesics."""
    lat, lon = start.plane.lat_deg, start.plane.lon_deg
    towards = np.degrees(np.arctan2(starts[:, 0], starts[:, 1]))
    from_lat, from_lon, back = direct(lat, lon, towards, np.hypot(*starts.T))
    # A direction is that of the place last known: carried along, or near a pole it would turn with the meridian.
    turned = np.where(np.hypot(*starts.T) > 0, back - 180 - towards, 0)
    end_lat, end_lon, _back = direct(from_lat, from_lon, azimuth + turned, distance_m)
    return end_lat, end_lon


@pytest.mark.parametrize(
    ("lat", "lon"), [(47.0, 11.0), (-33.0, 179.97), (89.95, 20.0), (90.0, 0.0), (0.0, -180.0)]
)
def test_the_areas_hold_their_share_of_people_walked_at_random(lat: float, lon: float) -> None:
    random = np.random.default_rng(5)
    covariance = np.array([[160_000.0, -60_000.0], [-60_000.0, 90_000.0]])
    start = known_by_covariance(lat, lon, covariance)
    found = search_areas(
        start, between_bounds(0, 9000, 4000), about_direction(310.0, 40.0, 0.2), shares=SHARES
    )
    starts = random.multivariate_normal([0, 0], covariance, PEOPLE)
    squared = np.einsum("ij,jk,ik->i", starts, np.linalg.inv(covariance), starts)
    starts = starts[squared < -2 * math.log(0.01)][:, ::-1]
    count = len(starts)
    azimuth = np.where(
        random.random(count) < 0.2, random.uniform(0, 360, count), random.normal(310, 40, count)
    )
    ends = walked(start, starts, random.triangular(0, 4000, 9000, count), azimuth)
    for area, share in zip(found.areas, SHARES, strict=True):
        assert np.mean(inside(area, *ends)) == pytest.approx(share, abs=CONTENT_TOLERANCE)
    assert found.outer_bound is not None
    assert np.all(inside(found.outer_bound, *ends))


def test_the_areas_hold_their_share_under_quantiles_with_a_bound_and_a_limit() -> None:
    random = np.random.default_rng(6)
    start = known_to_radius(47.0, 11.0, 300.0)
    quantiles = [(0.25, 700.0), (0.5, 1800.0), (0.75, 3900.0), (0.95, 12_000.0)]
    river = np.array([[46.0, 11.02], [48.0, 11.02]])
    found = search_areas(
        start, from_quantiles(quantiles, 15_000), limits=AreaLimits(not_crossed=[river]), shares=SHARES
    )
    count = 4 * PEOPLE
    score = np.array([NORMAL.inv_cdf(share) for share in random.random(count)])
    knots = [NORMAL.inv_cdf(share) for share, _distance in quantiles]
    logs = np.log([distance for _share, distance in quantiles])
    # Beyond the first and the last quantile the line of the two next to it goes on.
    low, high = (logs[1] - logs[0]) / (knots[1] - knots[0]), (logs[3] - logs[2]) / (knots[3] - knots[2])
    log_distance = np.interp(score, knots, logs)
    log_distance = np.where(score < knots[0], logs[0] + low * (score - knots[0]), log_distance)
    log_distance = np.where(score > knots[3], logs[3] + high * (score - knots[3]), log_distance)
    away = 300 * np.sqrt(random.random(count))
    towards = random.uniform(0, 2 * math.pi, count)
    starts = np.column_stack((away * np.sin(towards), away * np.cos(towards)))
    lat, lon = walked(start, starts, np.exp(log_distance), random.uniform(0, 360, count))
    kept = (np.exp(log_distance) <= 15_000) & (lon < 11.02)
    for area, share in zip(found.areas, SHARES, strict=True):
        assert np.mean(inside(area, lat[kept], lon[kept])) == pytest.approx(share, abs=CONTENT_TOLERANCE)
        assert not np.any(inside(area, lat[lon > 11.021], lon[lon > 11.021]))
    left_out = np.mean(lon[np.exp(log_distance) <= 15_000] >= 11.02)
    assert found.left_out_share == pytest.approx(left_out, abs=CONTENT_TOLERANCE)


def test_the_areas_hold_their_share_when_a_limit_cuts_the_start() -> None:
    random = np.random.default_rng(7)
    start = known_to_radius(47.0, 11.0, 3000.0)
    # Everything south of the parallel through the place is excluded, up to 30 m south of it.
    field = np.array([[46.0, 10.0], [46.0, 12.0], [46.99973, 12.0], [46.99973, 10.0]])
    found = search_areas(start, between_bounds(0, 4000), limits=AreaLimits(excluded=[field]), shares=SHARES)
    count = 4 * PEOPLE
    away, towards = 3000 * np.sqrt(random.random(count)), random.uniform(0, 2 * math.pi, count)
    starts = np.column_stack((away * np.sin(towards), away * np.cos(towards)))
    starts = starts[starts[:, 1] > -30]
    lat, lon = walked(
        start, starts, random.uniform(0, 4000, len(starts)), random.uniform(0, 360, len(starts))
    )
    kept = lat > 46.99973
    for area, share in zip(found.areas, SHARES, strict=True):
        assert np.mean(inside(area, lat[kept], lon[kept])) == pytest.approx(share, abs=CONTENT_TOLERANCE)
