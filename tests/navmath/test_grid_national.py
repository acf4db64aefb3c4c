"""National grids by their EPSG codes, wherever a grid's zone is passed: coordinates, norths, lines, rays and fixes."""

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj.transformer import TransformerGroup

from threenorths_service.navmath.datums.datum_shift import from_wgs84
from threenorths_service.navmath.directions.north import norths_at
from threenorths_service.navmath.errors import OutOfRangeError, OutsideGridError, UnknownGridError
from threenorths_service.navmath.grids.grid import (
    convergence_and_scale,
    from_grid,
    reached_zone,
    to_grid,
    within_reach,
)
from threenorths_service.navmath.grids.projected_grid import AREA_MARGIN_DEG, projected_grid
from threenorths_service.navmath.lines.geodesic import inverse
from threenorths_service.navmath.lines.line import line_between
from threenorths_service.navmath.lines.ray import ray_from
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight

BRITISH, SWISS, NEW_ZEALAND, NEW_ZEALAND_1949, FRENCH, BELGIAN = 27700, 21781, 2193, 27200, 2154, 31370
GRIDS = [BRITISH, SWISS, NEW_ZEALAND, NEW_ZEALAND_1949, FRENCH, BELGIAN]
#: On Xian 1980, from which the EPSG dataset has no operation to WGS 84.
WITHOUT_SHIFT = 2334

#: Between true north on the datums here and that of WGS 84: up to 8 seconds of arc were measured, on OSGB36.
NORTHS_APART_DEG = 10.0 / 3600.0


def inside(code):
    """Places of WGS 84 spread over the area of a grid, as far as it is reached."""
    lat_deg, lon_deg = projected_grid(code).area.sample()
    reached = within_reach(lat_deg, lon_deg, code, False)
    assert np.count_nonzero(reached) >= 10
    return lat_deg[reached], lon_deg[reached]


# The library warns of operations that it would rather take, but has no grid for.
@pytest.mark.filterwarnings("ignore:Best transformation is not available")
@pytest.mark.parametrize("code", GRIDS)
def test_the_registered_system_by_the_operation_that_is_named(code):
    """Against the projection library's own way to WGS 84, of those that it has the one by the same operation."""
    lat_deg, lon_deg = inside(code)
    grid = to_grid(lat_deg, lon_deg, code, False)
    places = from_wgs84(projected_grid(code).datum, lat_deg, lon_deg)
    first = int(places.operation[0])
    same = places.operation == first
    name = places.operations[first].name
    (library,) = [
        way for way in TransformerGroup(code, 4326, always_xy=True).transformers if name in way.description
    ][:1]
    # The library takes this operation in the direction in which the dataset has it, and so do we, from the grid.
    expected_lon_deg, expected_lat_deg = library.transform(grid.easting_m[same], grid.northing_m[same])
    # 0.1 mm is asked: 1e-9 degree. Where a datum is the same as WGS 84 to its accuracy, the library still goes from the one
    # ellipsoid to the other, which differ by that much.
    np.testing.assert_allclose(expected_lat_deg, lat_deg[same], rtol=0, atol=1e-9)
    np.testing.assert_allclose(expected_lon_deg, lon_deg[same], rtol=0, atol=1e-9)


@pytest.mark.parametrize("code", GRIDS)
def test_what_is_put_on_the_grid_comes_back(code):
    lat_deg, lon_deg = inside(code)
    grid = to_grid(lat_deg, lon_deg, code, False)
    assert grid.zone.tolist() == [code] * len(lat_deg)
    assert not grid.south.any()
    back = from_grid(grid.zone, grid.south, grid.easting_m, grid.northing_m)
    # Rounding; but that the series of New Zealand's old map grid are turned back to a tenth of a millimetre.
    tolerance_deg = 1e-9 if code == NEW_ZEALAND_1949 else 2e-12
    np.testing.assert_allclose(back, [lat_deg, lon_deg], rtol=0, atol=tolerance_deg)


def test_a_national_grid_has_no_hemisphere():
    grid = to_grid(-41.3, 174.8, NEW_ZEALAND)
    assert (grid.zone, grid.south) == (NEW_ZEALAND, False)
    assert 5_000_000.0 < grid.northing_m < 6_000_000.0
    assert from_grid(NEW_ZEALAND, True, grid.easting_m, grid.northing_m) == pytest.approx((-41.3, 174.8))


def test_zones_and_national_grids_go_together():
    lat_deg, lon_deg = (
        np.array([[52.0, -41.3, 47.0], [85.0, 46.8, -85.0]]),
        np.array([[-1.0, 174.8, 8.0]] * 2),
    )
    zone = np.array([[BRITISH, NEW_ZEALAND, 32], [0, SWISS, 0]])
    lon_deg[1, 1] = 8.0
    south = lat_deg < 0.0
    grid = to_grid(lat_deg, lon_deg, zone, south)
    back = from_grid(grid.zone, grid.south, grid.easting_m, grid.northing_m)
    np.testing.assert_allclose(back, [lat_deg, lon_deg], rtol=0, atol=2e-12)
    norths = convergence_and_scale(lat_deg, lon_deg, zone, south)
    reached = within_reach(lat_deg, lon_deg, zone, south)
    for index in np.ndindex(2, 3):
        place = lat_deg[index], lon_deg[index], zone[index], south[index]
        alone = to_grid(*place)
        assert (grid.easting_m[index], grid.northing_m[index]) == (alone.easting_m, alone.northing_m)
        assert (norths[0][index], norths[1][index]) == convergence_and_scale(*place)
        assert reached[index] == within_reach(*place)


@pytest.mark.parametrize("code", GRIDS)
def test_grid_north_is_where_the_convergence_says(code):
    lat_deg, lon_deg = inside(code)
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg, code, False)
    north, south = to_grid(lat_deg + 0.005, lon_deg, code), to_grid(lat_deg - 0.005, lon_deg, code)
    east_m, north_m = north.easting_m - south.easting_m, north.northing_m - south.northing_m
    np.testing.assert_allclose(
        -np.degrees(np.arctan2(east_m, north_m)), convergence_deg, rtol=0, atol=NORTHS_APART_DEG
    )
    distance_m = inverse(lat_deg - 0.005, lon_deg, lat_deg + 0.005, lon_deg)[2]
    # The metres of the datums here differ from that of WGS 84 by up to 2e-4 along the meridian, that of Clarke most.
    np.testing.assert_allclose(np.hypot(east_m, north_m) / distance_m, scale, rtol=0, atol=2e-4)


def test_the_reach_is_the_area_with_a_margin_where_there_is_a_shift():
    area = projected_grid(SWISS).area
    lat_deg = (area.south_deg + area.north_deg) / 2.0
    edge_deg = area.east_deg + np.array([-0.1, 0.1])
    assert within_reach(lat_deg, edge_deg, SWISS, False).tolist() == [True, False]
    # There is no operation to the datum of the Swiss grid out there; that of New Zealand's goes further than the grid.
    area = projected_grid(NEW_ZEALAND).area
    north_deg = area.north_deg + AREA_MARGIN_DEG + np.array([-0.01, 0.01])
    assert within_reach(north_deg, 175.0, NEW_ZEALAND, False).tolist() == [True, False]
    assert within_reach([40.0, -90.0, 90.0], [-100.0, 0.0, 0.0], BRITISH, False).tolist() == [False] * 3


@pytest.mark.parametrize("function", [to_grid, convergence_and_scale])
def test_the_first_place_beyond_reach_is_named(function):
    with pytest.raises(
        OutsideGridError, match=r"latitude 40\.0000, longitude -100\.0000 .*British"
    ) as caught:
        function([52.0, 40.0, 0.0], [-1.0, -100.0, 0.0], BRITISH, False)
    assert caught.value.value == [40.0, -100.0]


def test_coordinates_beyond_reach_are_named():
    with pytest.raises(OutsideGridError):
        from_grid(BRITISH, False, [400_000.0, 2_000_000.0], 300_000.0)
    with pytest.raises(OutsideGridError):
        from_grid(BRITISH, False, 4e8, 3e8)
    # The shift to the datum of New Zealand's grid goes further than the grid does.
    edge_deg = projected_grid(NEW_ZEALAND).area.north_deg + AREA_MARGIN_DEG
    within, beyond = (projected_grid(NEW_ZEALAND).to_grid(edge_deg + off, 175.0) for off in (-0.01, 0.01))
    assert from_grid(NEW_ZEALAND, False, *within) == pytest.approx((edge_deg - 0.01, 175.0))
    with pytest.raises(OutsideGridError, match="New Zealand"):
        from_grid(NEW_ZEALAND, False, *beyond)
    with pytest.raises(OutOfRangeError):
        from_grid(BRITISH, False, np.nan, 300_000.0)


@pytest.mark.parametrize("code", [1024, 4326, 999_999])
def test_a_code_of_no_grid_is_named(code):
    for ask in (
        lambda: to_grid(52.0, -1.0, code, False),
        lambda: from_grid(code, False, 0.0, 0.0),
        lambda: convergence_and_scale(52.0, -1.0, code, False),
        lambda: within_reach(52.0, -1.0, code, False),
    ):
        with pytest.raises(UnknownGridError):
            ask()


def test_a_grid_without_a_shift_has_a_north_and_no_reach():
    lat_deg, lon_deg = (float(degrees[12]) for degrees in projected_grid(WITHOUT_SHIFT).area.sample())
    assert not within_reach(lat_deg, lon_deg, WITHOUT_SHIFT, False)
    with pytest.raises(OutsideGridError):
        to_grid(lat_deg, lon_deg, WITHOUT_SHIFT, False)
    expected = projected_grid(WITHOUT_SHIFT).convergence_and_scale(lat_deg, lon_deg)
    assert convergence_and_scale(lat_deg, lon_deg, WITHOUT_SHIFT, False) == expected


def test_beyond_its_area_a_grid_lends_a_search_the_north_of_its_edge():
    lat_deg, lon_deg = np.array([52.0, 70.0, 20.0, 52.0, 52.0]), np.array([-1.0, -1.0, -1.0, 60.0, 170.0])
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg, BRITISH, False, nearby=True)
    expected_deg, _ = convergence_and_scale(52.0, -1.0, BRITISH, False)
    assert convergence_deg[0] == pytest.approx(expected_deg, abs=1e-11)
    area = projected_grid(BRITISH).area
    edges = projected_grid(BRITISH).convergence_and_scale(
        [area.north_deg + AREA_MARGIN_DEG, area.south_deg - AREA_MARGIN_DEG, 52.0, 52.0],
        [-1.0, -1.0, area.east_deg + AREA_MARGIN_DEG, area.east_deg + AREA_MARGIN_DEG],
    )
    np.testing.assert_allclose([convergence_deg[1:], scale[1:]], edges, rtol=0, atol=1e-12)


def on_british_grid(easting_m, northing_m):
    return from_grid(BRITISH, False, easting_m, northing_m)


# By coordinates, from Pythagoras: 3, 4, 5 and the angle whose tangent is 3/4.
def test_a_line_on_the_british_grid_is_by_coordinates():
    lat_deg, lon_deg = on_british_grid([430_000.0, 433_000.0], [320_000.0, 324_000.0])
    line = line_between(lat_deg[0], lon_deg[0], lat_deg[1], lon_deg[1], zone=BRITISH, south=False)
    # 1e-6 m of rounding in the coordinates, over 5 km.
    assert line.grid_distance_m == pytest.approx(5000.0, abs=1e-6)
    assert line.grid_azimuth_deg == pytest.approx(np.degrees(np.arctan2(3.0, 4.0)), abs=2e-8)
    assert line.grid_back_azimuth_deg == pytest.approx(180.0 + np.degrees(np.arctan2(3.0, 4.0)), abs=2e-8)
    convergence_deg, scale = convergence_and_scale(lat_deg[0], lon_deg[0], BRITISH, False)
    assert line.true_azimuth_deg - convergence_deg == pytest.approx(line.line_of_sight_grid_azimuth_deg)
    # The bend of the line of sight on the map is under a second of arc over 5 km so near the central meridian.
    assert line.line_of_sight_grid_azimuth_deg == pytest.approx(line.grid_azimuth_deg, abs=NORTHS_APART_DEG)
    assert line.mean_scale_factor == pytest.approx(scale, abs=2e-4)
    # On the UTM grid the same line has another azimuth.
    assert abs(line_between(lat_deg[0], lon_deg[0], lat_deg[1], lon_deg[1]).grid_azimuth_deg - 36.8699) > 0.5


@given(
    st.floats(200_000.0, 600_000.0),
    st.floats(100_000.0, 900_000.0),
    st.floats(0.0, 359.999),
    st.floats(1.0, 50_000.0),
)
def test_a_ray_on_the_british_grid_inverts_the_line(easting_m, northing_m, azimuth_deg, distance_m):
    lat_deg, lon_deg = on_british_grid(easting_m, northing_m)
    ray = ray_from(lat_deg, lon_deg, azimuth_deg, "grid", distance_m, zone=BRITISH, south=False)
    assert ray.grid_reached
    line = line_between(lat_deg, lon_deg, ray.lat_deg, ray.lon_deg, zone=BRITISH, south=False)
    assert line.distance_m == pytest.approx(distance_m, abs=1e-6)
    turn_deg = (line.grid_azimuth_deg - azimuth_deg + 180.0) % 360.0 - 180.0
    # Within 1e-7 m where it settles, and the rounding of the coordinates, 1e-7 m, over the length.
    assert np.radians(abs(turn_deg)) * distance_m < 1e-6


def test_lines_and_rays_beyond_the_reach_of_a_national_grid_say_so():
    lat_deg, lon_deg = on_british_grid(400_000.0, 300_000.0)
    far_lat_deg, far_lon_deg = np.array([52.5, 40.0, -52.0]), np.array([-1.5, 10.0, 178.0])
    lines = line_between(lat_deg, lon_deg, far_lat_deg, far_lon_deg, zone=BRITISH, south=False)
    assert lines.grid_reached.tolist() == [True, False, False]
    assert np.isfinite(lines.grid_azimuth_deg).tolist() == [True, False, False]
    assert np.isfinite(lines.distance_m).all()
    back = line_between(far_lat_deg, far_lon_deg, lat_deg, lon_deg, zone=BRITISH, south=False)
    assert back.grid_reached.tolist() == [True, False, False]
    rays = ray_from(
        [lat_deg, lat_deg, 40.0],
        [lon_deg, lon_deg, 10.0],
        90.0,
        "grid",
        [1e4, 2e6, 1e4],
        zone=BRITISH,
        south=False,
    )
    assert rays.grid_reached.tolist() == [True, False, False]
    assert np.isfinite(rays.lat_deg).tolist() == [True, False, False]
    # From the sea beyond the grid back into it.
    assert not ray_from(52.0, 4.5, 270.0, "grid", 250_000.0, zone=BRITISH, south=False).grid_reached
    assert rays.lat_deg[0] == ray_from(lat_deg, lon_deg, 90.0, "grid", 1e4, zone=BRITISH, south=False).lat_deg


def test_the_zone_stands_in_only_where_the_grid_is_not_reached():
    reached = np.array([True, False])
    assert reached_zone(52.0, -1.0, BRITISH, np.True_) == BRITISH
    assert np.asarray(reached_zone(52.0, -1.0, BRITISH, reached)).tolist() == [BRITISH, 30]


def test_the_norths_are_those_of_the_national_grid():
    norths = norths_at(52.0, 1.0, 2026.0, zone=BRITISH, south=False)
    convergence_deg, _ = convergence_and_scale(52.0, 1.0, BRITISH, False)
    assert norths.convergence_deg == convergence_deg
    assert norths.grid_magnetic_angle_deg == pytest.approx(norths.declination_deg - convergence_deg)
    assert abs(norths.convergence_deg - convergence_and_scale(52.0, 1.0)[0]) > 1.0


def bearing_by_coordinates(start, end):
    return float(np.degrees(np.arctan2(end[0] - start[0], end[1] - start[1]))) % 360.0


# Invented places. The bearings are by coordinates; where the sights are 5 km long, true north on the datum turns a sight by
# up to 0.25 m and its bend on the map by a few centimetres, and the sights cross at 60 degrees and more.
TARGET = (432_500.0, 321_000.0)
KNOWN = [(429_000.0, 318_000.0), (437_000.0, 319_500.0), (432_000.0, 326_000.0)]
FIX_TOLERANCE_M = 0.5


def known_sights(bearings_deg):
    places = [on_british_grid(*known) for known in KNOWN]
    return [
        Sight(float(lat), float(lon), bearing)
        for (lat, lon), bearing in zip(places, bearings_deg, strict=True)
    ]


def assert_at_target(fix):
    easting_m, northing_m = (
        getattr(to_grid(fix.lat_deg, fix.lon_deg, BRITISH, False), name)
        for name in ("easting_m", "northing_m")
    )
    assert np.hypot(easting_m - TARGET[0], northing_m - TARGET[1]) < FIX_TOLERANCE_M


def test_an_intersection_of_grid_bearings_on_the_british_grid():
    sights = known_sights([bearing_by_coordinates(known, TARGET) for known in KNOWN])
    assert_at_target(intersect(sights, "grid", zone=BRITISH, south=False))
    assert_at_target(intersect(sights, "grid", zone=[BRITISH] * 3, south=[False] * 3))


@pytest.mark.parametrize("solve_compass_error", [False, True])
def test_a_resection_of_grid_bearings_on_the_british_grid(solve_compass_error):
    sights = known_sights([bearing_by_coordinates(TARGET, known) for known in KNOWN])
    assert_at_target(
        resect(sights, "grid", solve_compass_error=solve_compass_error, zone=BRITISH, south=False)
    )


def test_observers_on_different_grids_each_have_their_own_north():
    bearings_deg = [bearing_by_coordinates(known, TARGET) for known in KNOWN]
    sights = known_sights(bearings_deg)
    at_utm = to_grid([sight.lat_deg for sight in sights], [sight.lon_deg for sight in sights], 30, False)
    lat_deg, lon_deg = on_british_grid(*TARGET)
    target = to_grid(lat_deg, lon_deg, 30, False)
    on_utm_deg = bearing_by_coordinates(
        (at_utm.easting_m[1], at_utm.northing_m[1]), (target.easting_m, target.northing_m)
    )
    sights[1] = Sight(sights[1].lat_deg, sights[1].lon_deg, on_utm_deg)
    assert_at_target(intersect(sights, "grid", zone=[BRITISH, 30, BRITISH], south=[False] * 3))


def test_a_known_place_beyond_a_national_grid_is_named():
    sights = [
        *known_sights([bearing_by_coordinates(known, TARGET) for known in KNOWN])[:2],
        Sight(47.0, 8.0, 300.0),
    ]
    for fix in (intersect, resect):
        with pytest.raises(OutsideGridError, match="sights/2"):
            fix(sights, "grid", zone=BRITISH, south=False)


def test_an_observer_beyond_a_national_grid_is_refused():
    """Marks in the east of Britain seen from far out at sea, beyond the grid: each bearing is believed, the fix is not."""
    marks = [on_british_grid(655_000.0, 300_000.0), on_british_grid(635_000.0, 160_000.0)]
    observer = (52.0, 4.5)
    assert not within_reach(*observer, BRITISH, False)
    convergence_deg, _ = convergence_and_scale(*observer, BRITISH, False, nearby=True)
    sights = [
        Sight(float(lat), float(lon), float(inverse(*observer, lat, lon)[0] - convergence_deg) % 360.0)
        for lat, lon in marks
    ]
    with pytest.raises(OutsideGridError, match="observer beyond the reach") as caught:
        resect(sights, "grid", zone=BRITISH, south=False)
    assert caught.value.value == BRITISH


def test_the_library_s_factors_on_the_grid_s_own_datum():
    lat_deg, lon_deg = inside(SWISS)
    convergence_deg, _ = convergence_and_scale(lat_deg, lon_deg, SWISS, False)
    places = from_wgs84(projected_grid(SWISS).datum, lat_deg, lon_deg)
    factors = pyproj.Proj(SWISS).get_factors(places.lon_deg, places.lat_deg)
    # The library's differences: test_transverse_mercator.py tells where such tolerances come from.
    np.testing.assert_allclose(convergence_deg, factors.meridian_convergence, rtol=0, atol=1e-7)
