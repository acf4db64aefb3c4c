"""Limits of search areas: what each leaves out, what it leaves in, and what contradicts itself.

The shapes are invented.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from threenorths_service.navmath.errors import (
    LineDoesNotPartError,
    NavigationError,
    NothingLeftError,
    OutOfRangeError,
    StartExcludedError,
    UnusableShapeError,
)
from threenorths_service.navmath.lines.geodesic import direct
from threenorths_service.navmath.searches.area_limits import AreaLimits, Side
from threenorths_service.navmath.searches.direction_distribution import about_direction
from threenorths_service.navmath.searches.distance_distribution import between_bounds
from threenorths_service.navmath.searches.search_area import SearchArea, SearchAreas, search_areas
from threenorths_service.navmath.searches.start_region import known_to_radius

GEOD = Geod(ellps="WGS84")
LAT, LON = 47.0, 11.0
REACH_M = 10_000.0
DISTANCES = between_bounds(0, REACH_M)

Points = Sequence[tuple[float, float]]


def places(points_km: Points, lat: float = LAT, lon: float = LON) -> np.ndarray:
    """Latitudes and longitudes of points east and north of the place last known. [kilometre]"""
    east, north = np.array(points_km, dtype=float).T
    azimuth = np.degrees(np.arctan2(east, north))
    end_lat, end_lon, _back = direct(lat, lon, azimuth, 1000 * np.hypot(east, north))
    return np.column_stack((end_lat, end_lon))


def found_within(
    limits: AreaLimits, radius_m: float = 0.0, lat: float = LAT, lon: float = LON
) -> SearchAreas:
    return search_areas(known_to_radius(lat, lon, radius_m), DISTANCES, limits=limits)


def holds(area: SearchArea, points_km: Points, lat: float = LAT, lon: float = LON) -> list[bool]:
    polygons = shapely.MultiPolygon(
        [shapely.Polygon(exterior, holes) for exterior, holes in area.ground.polygons]
    )
    at = places(points_km, lat, lon)
    inside: list[bool] = shapely.contains_xy(polygons, at[:, 1], at[:, 0]).tolist()
    return inside


def bound_of(found: SearchAreas) -> SearchArea:
    assert found.outer_bound is not None
    return found.outer_bound


def codes(found: SearchAreas) -> list[str]:
    return [caution.code for caution in found.cautions]


def check_sizes_rise(found: SearchAreas) -> None:
    """Each area is no larger than the next, to the tenth of a square metre that sizes of polygons are good to."""
    sizes = [area.ground.area_m2 for area in (*found.areas, bound_of(found))]
    assert all(size <= larger + 0.1 for size, larger in pairwise(sizes))


def segment_km2(away_km: float) -> float:
    """The part of the circle of the reach beyond a straight line so far from its middle."""
    radius = REACH_M / 1000
    return radius**2 * math.acos(away_km / radius) - away_km * math.sqrt(radius**2 - away_km**2)


RIVER = places([(3, -20), (3, 0), (3, 20)])
LAKE = places([(-4, 2), (-2, 2), (-2, 5), (-4, 5)])


@pytest.mark.parametrize(("lat", "lon"), [(47.0, 11.0), (-30.0, 179.98), (89.95, 0.0)])
def test_what_lies_beyond_a_line_not_crossed_is_left_out(lat: float, lon: float) -> None:
    # A long line is straight in longitude and latitude between its points, so it has many.
    river = places([(3, north) for north in np.linspace(-20, 20, 401)], lat, lon)
    found = found_within(AreaLimits(not_crossed=[river]), lat=lat, lon=lon)
    circle_km2 = math.pi * (REACH_M / 1000) ** 2
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(circle_km2 - segment_km2(3), rel=1e-3)
    assert holds(bound_of(found), [(2.9, 0), (3.1, 0), (2.9, 9), (3.1, 9), (-9.9, 0)], lat, lon) == [
        True,
        False,
        True,
        False,
        True,
    ]
    for area in found.areas:
        assert not any(holds(area, [(3.1, north) for north in range(-9, 10)], lat, lon))
    assert "limits_leave_out" in codes(found)
    assert "line_ends_in_reach" not in codes(found)


def test_the_likelihood_left_out_is_that_beyond_the_line() -> None:
    found = found_within(AreaLimits(not_crossed=[RIVER]))
    # Every distance to 10 km is as likely: in the direction t off the line's square what is beyond 3 km / cos t.
    off = np.linspace(-math.acos(0.3), math.acos(0.3), 20_001)
    beyond = np.trapezoid(1 - 0.3 / np.cos(off), off) / (2 * math.pi)
    # A cell is in or out by its middle: half a cell along the line is up to 0.2 % of the likelihood.
    assert found.left_out_share == pytest.approx(beyond, abs=2e-3)
    assert f"{100 * found.left_out_share:.3g} %" in next(
        c.message for c in found.cautions if c.code == "limits_leave_out"
    )


def test_a_line_that_ends_in_reach_leaves_in_what_is_behind_it() -> None:
    found = found_within(AreaLimits(not_crossed=[places([(3, -20), (3, 5)])]))
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(100 * math.pi, rel=1e-3)
    assert "line_ends_in_reach" in codes(found)
    assert found.left_out_share == pytest.approx(0, abs=1e-9)


def test_lines_close_off_together() -> None:
    corner = [places([(3, -20), (3, 4.5)]), places([(2, 4), (20, 4)])]
    found = found_within(AreaLimits(not_crossed=corner))
    assert holds(bound_of(found), [(2, 0), (5, 0), (5, 3.9), (5, 4.1), (2, 8)]) == [
        True,
        False,
        False,
        True,
        True,
    ]
    # The ends stick out over the corner, into what is left.
    assert "line_ends_in_reach" in codes(found)


def test_a_closed_line_around_the_place_keeps_everything_in() -> None:
    fence = places([(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)])
    found = found_within(AreaLimits(not_crossed=[fence]))
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(4, rel=1e-3)
    assert "line_ends_in_reach" not in codes(found)


def test_a_closed_line_elsewhere_keeps_what_is_in_it_out() -> None:
    fence = places([(2, -1), (4, -1), (4, 1), (2, 1), (2, -1)])
    found = found_within(AreaLimits(not_crossed=[fence]))
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(100 * math.pi - 4, rel=1e-3)
    assert holds(bound_of(found), [(3, 0), (5, 0)]) == [False, True]


def test_an_excluded_area_is_a_hole() -> None:
    found = found_within(AreaLimits(excluded=[LAKE]))
    (_exterior, holes), *others = bound_of(found).ground.polygons
    assert not others
    assert len(holes) == 1
    assert abs(GEOD.polygon_area_perimeter(*holes[0].T)[0]) == pytest.approx(6e6, rel=1e-3)
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(100 * math.pi - 6, rel=1e-3)
    assert not any(holds(area, [(-3, 3)])[0] for area in found.areas)


def test_a_river_through_a_lake_closes_off() -> None:
    river = [places([(3, -20), (3, -2)]), places([(3, 2), (3, 20)])]
    lake = places([(2.5, -2.5), (4.5, -2.5), (4.5, 2.5), (2.5, 2.5)])
    found = found_within(AreaLimits(not_crossed=river, excluded=[lake]))
    assert holds(bound_of(found), [(2, 0), (3.5, 0), (6, 0), (6, 9)]) == [True, False, False, False]
    assert "line_ends_in_reach" not in codes(found)


def test_an_island_in_an_excluded_area_cannot_be_come_to() -> None:
    ring = [(6, 4), (-6, 4), (-6, 2), (5, 2), (5, -2), (-6, -2), (-6, -4), (6, -4)]
    bay = AreaLimits(excluded=[places(ring)])
    assert holds(bound_of(found_within(bay)), [(0, 0), (8, 0), (5.5, 0)]) == [True, True, False]
    island = AreaLimits(excluded=[places([*ring, (6, -4)]), places([(-6, 3), (-5, 3), (-5, -3), (-6, -3)])])
    found = found_within(island)
    assert holds(bound_of(found), [(0, 0), (8, 0)]) == [True, False]
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(10 * 4, rel=1e-3)


def test_areas_that_the_person_is_in_are_kept_wherever_they_are() -> None:
    valleys = [places([(2, 2), (6, 2), (6, 6), (2, 6)]), places([(-6, -1), (-5, -1), (-5, 1), (-6, 1)])]
    found = found_within(AreaLimits(within=valleys))
    assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(16 + 2, rel=1e-3)
    assert holds(bound_of(found), [(4, 4), (-5.5, 0), (0, 0)]) == [True, True, False]


def test_a_side_of_a_line_is_kept_even_if_it_is_the_other_one() -> None:
    for east, kept in ((5.0, [False, True]), (-5.0, [True, False])):
        lat, lon = places([(east, 0)])[0]
        found = found_within(AreaLimits(sides=[Side(RIVER, lat, lon)]))
        assert holds(bound_of(found), [(0, 0), (5, 0)]) == kept
        beyond = segment_km2(3)
        expected = beyond if east > 0 else 100 * math.pi - beyond
        assert bound_of(found).ground.area_m2 / 1e6 == pytest.approx(expected, rel=2e-3)


def test_a_start_on_two_sides_of_a_line_is_on_that_of_the_place() -> None:
    found = found_within(AreaLimits(not_crossed=[places([(0.1, -20), (0.1, 20)])]), radius_m=500.0)
    assert "start_side_in_doubt" in codes(found)
    # Nobody set out from the far side, where the region of the start is wider than the place's own side.
    farthest = {reach.true_azimuth_deg: reach.farthest_m for reach in bound_of(found).reaches}
    assert farthest[90.0] == pytest.approx(100, abs=1)
    assert farthest[270.0] == pytest.approx(REACH_M + 500, rel=1e-3)
    assert "start_side_in_doubt" not in codes(found_within(AreaLimits(not_crossed=[RIVER]), radius_m=500.0))


def test_nobody_set_out_from_within_a_limit() -> None:
    # Half of the region of the start is lake: beyond it nobody is farther than the greatest distance from its near shore.
    lake = places([(0.1, -8), (6, -8), (6, 8), (0.1, 8)])
    found = found_within(AreaLimits(excluded=[lake]), radius_m=5000.0)
    farthest = {reach.true_azimuth_deg: reach.farthest_m for reach in bound_of(found).reaches}
    assert farthest[90.0] == pytest.approx(REACH_M + 100, abs=1)
    assert farthest[270.0] == pytest.approx(REACH_M + 5000, abs=2)


def test_the_shares_are_those_of_what_is_left() -> None:
    # Half of a circle: the areas are half circles of the same radii.
    whole = search_areas(known_to_radius(LAT, LON), DISTANCES)
    half = found_within(AreaLimits(not_crossed=[places([(0.001, -20), (0.001, 20)])]))
    for area, other in zip(half.areas, whole.areas, strict=True):
        assert area.ground.area_m2 == pytest.approx(other.ground.area_m2 / 2, rel=0.01)


def test_a_line_is_followed_as_it_was_drawn() -> None:
    # A parallel far north, by its two ends: straight in longitude and latitude, 2 km off the great circle in the middle.
    river = np.array([[80.02, -5.0], [80.02, 5.0]])
    found = search_areas(known_to_radius(80.0, 0.0), DISTANCES, limits=AreaLimits(not_crossed=[river]))
    assert bound_of(found).ground.bbox[3] == pytest.approx(80.02, abs=1e-6)


def test_a_limit_far_away_changes_nothing() -> None:
    far = AreaLimits(
        not_crossed=[places([(30, -20), (30, 20)])], excluded=[places([(40, 0), (41, 0), (41, 1)])]
    )
    found, plain = found_within(far), search_areas(known_to_radius(LAT, LON), DISTANCES)
    for area, other in zip(found.areas, plain.areas, strict=True):
        assert area.ground.area_m2 == pytest.approx(other.ground.area_m2, rel=1e-9)
    assert codes(found) == codes(plain) == ["supports_search_manager"]


BOW_TIE = places([(2, 2), (4, 4), (4, 2), (2, 4)])
AROUND = places([(-1, -1), (1, -1), (1, 1), (-1, 1)])
IN_REACH = tuple(places([(5, 0)])[0])
FAR_AWAY = tuple(places([(50, 0)])[0])


@pytest.mark.parametrize(
    ("limits", "error", "member"),
    [
        (AreaLimits(excluded=[AROUND]), StartExcludedError, "excluded"),
        (AreaLimits(not_crossed=[[[47.0, 10.0], [47.0, 12.0]]]), StartExcludedError, "not_crossed"),
        (AreaLimits(not_crossed=[[[46.0, 11.0], [47.0, 11.0]]]), StartExcludedError, "not_crossed"),
        (AreaLimits(within=[places([(30, 0), (31, 0), (31, 1)])]), NothingLeftError, None),
        (AreaLimits(not_crossed=[RIVER], within=[places([(4, 0), (6, 0), (6, 2)])]), NothingLeftError, None),
        (AreaLimits(excluded=[LAKE, BOW_TIE]), UnusableShapeError, "excluded/1"),
        (AreaLimits(within=[RIVER[:2]]), UnusableShapeError, "within/0"),
        (AreaLimits(within=[places([(2, 2), (3, 3), (2, 2)])]), UnusableShapeError, "within/0"),
        (AreaLimits(not_crossed=[RIVER, RIVER[:1]]), UnusableShapeError, "not_crossed/1"),
        (AreaLimits(not_crossed=[[]]), UnusableShapeError, "not_crossed/0"),
        (AreaLimits(not_crossed=[[[46.0, 11.0], [46.0, 11.0]]]), UnusableShapeError, "not_crossed/0"),
        (AreaLimits(not_crossed=[[[46.0, 11.0], [-30.0, 150.0]]]), UnusableShapeError, "not_crossed/0"),
        (AreaLimits(not_crossed=[[[46.0, 11.0], [91.0, 11.0]]]), OutOfRangeError, "not_crossed/0/lat_deg"),
        (
            AreaLimits(not_crossed=[[[46.0, 11.0], [47.0, math.nan]]]),
            OutOfRangeError,
            "not_crossed/0/lon_deg",
        ),
        (AreaLimits(sides=[Side(places([(3, -5), (3, 5)]), *IN_REACH)]), LineDoesNotPartError, "sides/0"),
        (AreaLimits(sides=[Side(RIVER, *FAR_AWAY)]), LineDoesNotPartError, "sides/0"),
        (AreaLimits(sides=[Side(RIVER, RIVER[1, 0], RIVER[1, 1])]), LineDoesNotPartError, "sides/0"),
    ],
)
def test_limits_that_contradict_or_cannot_be_used_are_named(
    limits: AreaLimits, error: type[NavigationError], member: str | None
) -> None:
    with pytest.raises(error) as raised:
        found_within(limits)
    assert raised.value.member == member


def scribble(seed: int, count: int) -> np.ndarray:
    return places(np.random.default_rng(seed).uniform(-9, 9, (count, 2)).tolist())


@pytest.mark.parametrize(
    "limits",
    [
        AreaLimits(not_crossed=[scribble(1, 5000)]),
        AreaLimits(excluded=[scribble(2, 5000)]),
        AreaLimits(excluded=[scribble(3, 30)]),
        AreaLimits(within=[scribble(4, 5000)]),
        AreaLimits(not_crossed=[scribble(5, 2501), scribble(6, 2500)]),
        AreaLimits(sides=[Side(scribble(7, 5000), *IN_REACH)]),
    ],
    ids=["line", "excluded", "small", "within", "too many", "side"],
)
def test_scribbles_are_refused_at_once(limits: AreaLimits) -> None:
    began = time.process_time()
    with pytest.raises(UnusableShapeError):
        found_within(limits)
    # Worked out, a ring of 500 places at random takes minutes.
    assert time.process_time() - began < 2.0


def test_a_long_winding_river_has_an_answer() -> None:
    east = 3 + np.cumsum(np.random.default_rng(8).normal(0, 0.005, 5000))
    river = places(np.column_stack((east, np.linspace(-12, 12, 5000))).tolist())
    assert holds(bound_of(found_within(AreaLimits(not_crossed=[river]))), [(1, 0), (8, 0)]) == [True, False]


def test_limits_that_leave_only_what_nothing_makes_likely_are_a_contradiction() -> None:
    north = AreaLimits(within=[places([(-1, 8), (1, 8), (1, 9), (-1, 9)])])
    with pytest.raises(NothingLeftError):
        search_areas(known_to_radius(LAT, LON), DISTANCES, about_direction(180.0, 20.0, 0.0), limits=north)


def test_a_place_smaller_than_a_cell_is_all_that_is_left() -> None:
    hut = places([(5, 0), (5.02, 0), (5.02, 0.02), (5, 0.02)])
    found = found_within(AreaLimits(within=[hut]))
    assert "areas_not_told_apart" in codes(found)
    for area in (*found.areas, bound_of(found)):
        assert area.ground.area_m2 == pytest.approx(400, rel=1e-3)
    assert found.left_out_share == pytest.approx(1, abs=1e-4)


def test_a_sliver_between_limits_has_an_answer_or_a_name() -> None:
    for width_km in (1e-6, 1e-3, 0.05, 0.5):
        lines = [places([(east, -20), (east, 20)]) for east in (-width_km, width_km)]
        try:
            found = found_within(AreaLimits(not_crossed=lines))
        except NothingLeftError:
            assert width_km < 0.05
            continue
        check_sizes_rise(found)


points = st.tuples(st.floats(-15, 15), st.floats(-15, 15))
lines = st.lists(points, min_size=2, max_size=6)


@settings(max_examples=120, deadline=None)
@given(
    lat=st.sampled_from([-90.0, -45.0, 0.0, 60.0, 89.97]),
    radius_m=st.sampled_from([0.0, 300.0, 8000.0]),
    not_crossed=st.lists(lines, max_size=3),
    excluded=st.lists(st.lists(points, min_size=3, max_size=5), max_size=2),
    within=st.lists(st.lists(points, min_size=3, max_size=4), max_size=1),
    side=st.none() | st.tuples(lines, points),
)
def test_any_limits_have_an_answer_or_a_name(
    lat: float,
    radius_m: float,
    not_crossed: list[Points],
    excluded: list[Points],
    within: list[Points],
    side: tuple[Points, tuple[float, float]] | None,
) -> None:
    lon = 179.95
    sides = [] if side is None else [Side(places(side[0], lat, lon), *places([side[1]], lat, lon)[0])]
    limits = AreaLimits(
        [places(line, lat, lon) for line in not_crossed],
        [places(ring, lat, lon) for ring in excluded],
        [places(ring, lat, lon) for ring in within],
        sides,
    )
    try:
        found = found_within(limits, radius_m, lat, lon)
    except NavigationError:
        return
    check_sizes_rise(found)
    assert bound_of(found).ground.area_m2 <= math.pi * (REACH_M + radius_m) ** 2 * 1.001
    assert 0 <= found.left_out_share <= 1
