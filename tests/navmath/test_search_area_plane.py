"""The plane that search areas are worked on, and what shapes become on the ground."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from pyproj import Geod, Proj

from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.searches.ground_area import ground_area
from threenorths_service.navmath.searches.local_plane import LocalPlane, drawn_line
from threenorths_service.navmath.searches.plane_shape import PlaneShape

CENTRES = [(47.0, 11.0), (-33.0, 179.99), (0.0, -180.0), (89.95, 20.0), (90.0, 0.0), (-90.0, 30.0)]


@pytest.mark.parametrize(("lat", "lon"), CENTRES)
def test_the_plane_is_the_azimuthal_equidistant_projection_of_the_library(lat: float, lon: float) -> None:
    random = np.random.default_rng(1)
    lats, lons, _back = direct(lat, lon, random.uniform(0, 360, 500), random.uniform(0, 220_000, 500))
    points = LocalPlane(lat, lon).from_geodetic(lats, lons)
    library = Proj(proj="aeqd", lat_0=lat, lon_0=lon, ellps="WGS84")
    # Both by geodesics: what is between them is rounding, and at a pole the library's series for meridians.
    assert points == pytest.approx(np.column_stack(library(lons, lats)), abs=1e-3)
    back_lat, back_lon = LocalPlane(lat, lon).to_geodetic(points)
    assert inverse(lats, lons, back_lat, back_lon)[2].max() < 1e-6


def test_lengths_across_are_too_long_by_the_stated_share() -> None:
    plane = LocalPlane(47.0, 11.0)
    for distance in (50_000.0, 200_000.0):
        ends = direct(47.0, 11.0, np.array([90.0, 90.5]), distance)
        in_plane = np.hypot(*np.diff(plane.from_geodetic(ends[0], ends[1]), axis=0)[0])
        on_ground = inverse(ends[0][0], ends[1][0], ends[0][1], ends[1][1])[2]
        assert in_plane / on_ground - 1 == pytest.approx((distance / 6_371_000) ** 2 / 6, rel=0.05)


def test_a_line_is_drawn_the_shorter_way_and_by_near_points() -> None:
    lat, lon = drawn_line([10.0, 10.0, 10.1], [179.95, -179.95, -179.95])
    assert lon[0] == 179.95
    assert lon[-1] == pytest.approx(180.05)
    assert lat[-1] == 10.1
    assert inverse(lat[:-1], lon[:-1], lat[1:], lon[1:])[2].max() <= 500.0
    # Between its points it keeps to the parallel.
    assert np.all(lat[lon < 180.04] == 10.0)


@pytest.mark.parametrize(("lat", "lon"), CENTRES)
def test_a_square_with_a_hole_has_its_size_on_the_ground(lat: float, lon: float) -> None:
    square = PlaneShape.box((-10_000.0, -10_000.0), (10_000.0, 10_000.0))
    hole = PlaneShape.box((-2000.0, -2000.0), (2000.0, 2000.0))
    shape = square.without(hole)
    area = ground_area(LocalPlane(lat, lon), shape)
    assert area.area_m2 / 1e6 == pytest.approx(400 - 16, rel=1e-5)
    assert area.perimeter_m / 1000 == pytest.approx(80 + 16, rel=1e-5)
    # The polygons that are given have the same size, drawn with lines straight in longitude and latitude.
    sizes = []
    for exterior, holes in area.polygons:
        for ring, sign in ((exterior, 1), *((hole, -1) for hole in holes)):
            fine = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), 0.05))
            size, _length = Geod(ellps="WGS84").polygon_area_perimeter(*fine.T)
            sizes.append(sign * abs(size))
    assert sum(sizes) / 1e6 == pytest.approx(400 - 16, rel=1e-4)


def test_a_ring_that_crosses_itself_has_no_certain_inside_but_one_that_touches_itself_has() -> None:
    touching = np.array([[0.0, 0], [2, 0], [2, 2], [1, 0], [0, 2], [0, 0]])
    assert PlaneShape.plain_polygon(touching).area == pytest.approx(2)
    spiked = np.array([[0.0, 0], [2, 0], [2, 2], [2, 5], [2, 2], [0, 2], [0, 0]])
    assert PlaneShape.plain_polygon(spiked).area == pytest.approx(4)
    with pytest.raises(ValueError, match="crosses itself"):
        PlaneShape.plain_polygon(np.array([[0.0, 0], [2, 2], [2, 0], [0, 2], [0, 0]]))
    with pytest.raises(ValueError, match="crosses itself"):
        PlaneShape.plain_polygon(np.array([[0.0, 0], [4, 0], [4, 4], [3, -1], [2, 4], [0, 4], [0, 0]]))
