"""Outlines: against the area and the edges worked out otherwise, and the rules of RFC 7946 for rings."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from pyproj import Geod

from published import rows
from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.datum_shift import shifted_to_wgs84
from threenorths_service.navmath.datums.frame import Frame
from threenorths_service.navmath.errors import OutsideDatumAreaError
from threenorths_service.navmath.grids.grid import from_grid, to_grid
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.sheets.edge_tracing import EDGE_TOLERANCE_M
from threenorths_service.navmath.sheets.lonlat_ring import cut_at_antimeridian
from threenorths_service.navmath.sheets.outline import Outline, along_graticule, along_grid, square_outline

WGS84_AREA_M2 = (
    510_065_621_724_078.9  # F. Karney, GeographicLib documentation, from memory: area of the ellipsoid
)

zones = st.integers(1, 60)
hemispheres = st.booleans()
eastings = st.floats(170_000, 800_000)
sizes = st.floats(1, 90_000)


def box(west: float, south: float, east: float, north: float) -> Outline:
    return along_graticule([(south, west), (south, east), (north, east), (north, west)])


def grid_box(zone: int, south: bool, easting: float, northing: float, width: float, height: float) -> Outline:
    right, top = easting + width, northing + height
    return along_grid(zone, south, [(easting, northing), (right, northing), (right, top), (easting, top)])


def signed_area(ring: np.ndarray) -> float:
    lon, lat = ring.T
    return float(np.sum(lon[:-1] * lat[1:] - lon[1:] * lat[:-1]) / 2)


def ring_area_m2(ring: np.ndarray) -> float:
    """The ring's area on the ellipsoid, its lines straight in longitude and latitude, by another way: many points."""
    share = np.linspace(0, 1, max(4000 // len(ring), 8), endpoint=False)[:, np.newaxis]
    points = np.concatenate([start + share * (end - start) for start, end in itertools.pairwise(ring)])
    return abs(Geod(ellps="WGS84").polygon_area_perimeter(*points.T)[0])


def check_rings(outline: Outline) -> None:
    """RFC 7946, sections 3.1.6 and 3.1.9: closed, four positions at least, counter-clockwise, not across 180 degrees."""
    rings = outline.rings()
    assert rings
    for ring in rings:
        assert len(ring) >= 4
        assert ring[0].tolist() == ring[-1].tolist()
        assert np.all(np.abs(ring) <= [180, 90])
        assert signed_area(ring) > 0
        assert np.all(np.any(np.diff(ring, axis=0) != 0, axis=1))
    west, south, east, north = outline.bbox()
    assert min(ring[:, 1].min() for ring in rings) == south
    assert max(ring[:, 1].max() for ring in rings) == north
    if west <= east:
        assert min(ring[:, 0].min() for ring in rings) == west
        assert max(ring[:, 0].max() for ring in rings) == east


# RFC 7946, section 3.1.9: "A rectangle extending from 40 degrees N, 170 degrees E across the antimeridian to 50 degrees N,
# 170 degrees W", its two rings.
RFC_RINGS = [
    [[180, 40], [180, 50], [170, 50], [170, 40], [180, 40]],
    [[-170, 40], [-170, 50], [-180, 50], [-180, 40], [-170, 40]],
]


def turned_to(ring: list[list[float]], first: list[float]) -> list[list[float]]:
    start = ring.index(first)
    return [*ring[start:-1], *ring[: start + 1]]


def test_the_rfc_s_rectangle_across_the_antimeridian():
    outline = box(170, 40, -170, 50)
    rings = [ring.tolist() for ring in outline.rings()]
    assert [
        turned_to(ring, ring_there[0]) for ring, ring_there in zip(rings, RFC_RINGS, strict=True)
    ] == RFC_RINGS


def test_the_rfc_s_bbox_across_the_antimeridian():
    # RFC 7946, section 5.2: "bbox": [177.0, -20.0, -178.0, -16.0], covering five degrees at Fiji.
    assert box(177, -20, -178, -16).bbox() == (177, -20, -178, -16)


@pytest.mark.parametrize("row", rows("quadrangle_examples"), ids=lambda row: row["id"])
def test_published_sizes_of_quadrangles(row):
    lat, value, tolerance = float(row["lat_deg"]), float(row["value"]), float(row["tolerance"])
    unit = {"square mile": 1609.344**2, "square kilometre": 1e6, "km": 1e3}[row["unit"]]
    if row["quantity"] == "area_7.5_minutes":
        measured = box(-100, lat, -99.875, lat + 0.125).area_m2
    elif row["quantity"] == "parallel_degree":
        measured = inverse(lat, -100, lat, -99)[2]
    else:
        # A degree of the meridian, as the perimeter of a sliver runs up and down it.
        measured = box(-100, lat - 0.5, -100 + 1e-9, lat + 0.5).perimeter_m / 2
    assert measured / unit == pytest.approx(value, abs=tolerance)


@pytest.mark.parametrize(
    ("outline", "parts"),
    [
        (box(179.5, -20, 180, -16), 1),  # ends at the antimeridian
        (box(-180, -20, -179.5, -16), 1),  # begins there
        (box(180, -20, -179.5, -16), 1),  # the same, written as 180
        (box(179.99, 10, 180.01, 11), 2),
        (box(170, 60, 190, 90), 2),  # to the pole, but not around it
        (box(-10, -90, 10, -80), 1),
        (grid_box(1, False, 200_000, 5_300_000, 100_000, 100_000), 2),
        (grid_box(60, True, 730_000, 5_300_000, 50_000, 50_000), 2),
        (grid_box(0, False, 1_900_000, 1_900_000, 200_000, 200_000), 1),
        (grid_box(0, True, 1_900_000, 1_900_000, 200_000, 200_000), 1),
        (grid_box(0, False, 1_990_000, 1_200_000, 20_000, 200_000), 1),
        (grid_box(0, False, 1_990_000, 2_200_000, 20_000, 200_000), 2),
        (grid_box(0, True, 1_990_000, 1_200_000, 20_000, 200_000), 2),
        (grid_box(32, False, 465_430, 5_223_450, 1, 1), 1),
    ],
)
def test_rings_by_the_rules(outline, parts):
    check_rings(outline)
    assert len(outline.rings()) == parts
    assert sum(ring_area_m2(ring) for ring in outline.rings()) == pytest.approx(
        outline.area_m2, rel=1e-5, abs=1e-3
    )


@given(zones, hemispheres, eastings, st.floats(100_000, 9_000_000), sizes, sizes)
def test_rings_of_any_grid_sheet(zone, south, easting, northing, width, height):
    outline = grid_box(zone, south, easting, northing + 900_000 * south, width, height)
    check_rings(outline)
    # The area of the parts, by another way, is that of the whole: one part is lost or doubled, or none.
    total = sum(ring_area_m2(ring) for ring in outline.rings())
    assert total == pytest.approx(outline.area_m2, rel=2e-3, abs=1.0)


@given(st.floats(-180, 180), st.floats(-89, 88), st.floats(0.01, 170), st.floats(0.01, 60))
@example(math.nextafter(180.0, 0.0), 0.0, 6.0, 6.0)
@example(180.0 - 1e-10, 0.0, 6.0, 6.0)
@example(math.nextafter(170.0, 180.0), 0.0, 10.0, 6.0)
@example(170.0, 0.0, 10.0 + 1e-10, 6.0)
def test_rings_of_any_graticule_sheet(west, south, width, height):
    north = min(south + height, 90.0)
    outline = box(west, south, west + width - 360 * (west + width >= 360), north)
    check_rings(outline)
    assert outline.contains((south + north) / 2, west + width / 2)
    bbox_west, _south, bbox_east, _north = outline.bbox()
    assert (bbox_east - bbox_west) % 360 == pytest.approx(width, abs=1e-9)


@given(zones, hemispheres, eastings, st.floats(200_000, 8_500_000), sizes, st.data())
def test_what_a_grid_sheet_contains_is_told_by_its_coordinates(zone, south, easting, northing, size, data):
    northing = northing + 1_200_000 * south
    outline = grid_box(zone, south, easting, northing, size, size)
    share = st.floats(-0.5, 1.5)
    east, north = data.draw(share) * size, data.draw(share) * size
    margin = min(east, north, size - east, size - north)
    assume(abs(margin) > EDGE_TOLERANCE_M)
    lat, lon = from_grid(zone, south, easting + east, northing + north)
    assert outline.contains(lat, lon) == (margin > 0)


@given(hemispheres, st.floats(1_700_000, 2_300_000), st.floats(1_700_000, 2_300_000), st.data())
def test_what_a_sheet_about_a_pole_contains_is_told_by_its_coordinates(south, east_edge, north_edge, data):
    outline = grid_box(0, south, 1_700_000, 1_700_000, east_edge - 1_699_000, north_edge - 1_699_000)
    east, north = data.draw(st.floats(1_600_000, 2_400_000)), data.draw(st.floats(1_600_000, 2_400_000))
    margin = min(east - 1_700_000, north - 1_700_000, east_edge + 1000 - east, north_edge + 1000 - north)
    assume(abs(margin) > EDGE_TOLERANCE_M)
    lat, lon = from_grid(0, south, east, north)
    assert outline.contains(lat, lon) == (margin > 0)
    assert outline.contains(-lat, lon) is np.False_


@pytest.mark.parametrize("south", [False, True])
def test_a_sheet_around_a_pole(south):
    outline = grid_box(0, south, 1_900_000, 1_900_000, 200_000, 200_000)
    pole = -90.0 if south else 90.0
    assert outline.holds_pole
    assert outline.contains([pole, pole, -pole], [0, 123, 0]).tolist() == [True, True, False]
    assert outline.bbox()[::2] == (-180, 180)
    assert pole in outline.bbox()
    # A square of 200 km on the grid, whose scale is 0.994 at the pole (NGA.SIG.0012, 2014) and grows by less than a
    # ten-thousandth over 141 km.
    assert outline.area_m2 == pytest.approx((200_000 / 0.994) ** 2, rel=2e-4)
    assert outline.middle()[0] == pytest.approx(pole, abs=1e-6)
    assert outline.radius_m == pytest.approx(np.hypot(100_000, 100_000) / 0.994, rel=1e-4)


def test_a_cap_and_what_is_left_of_the_earth():
    cap = along_graticule([(80, -135), (80, -45), (80, 45), (80, 135)])
    ring = np.linspace(-180, 180, 4001)
    assert cap.holds_pole
    assert cap.area_m2 == pytest.approx(
        abs(Geod(ellps="WGS84").polygon_area_perimeter(ring[:-1], np.full(4000, 80.0))[0]), rel=1e-5
    )
    assert cap.area_m2 < WGS84_AREA_M2 / 100
    check_rings(cap)


@pytest.mark.parametrize("lon", [-180, 180, 540, 179.9, -180.1])
def test_a_longitude_may_be_written_in_any_turn(lon):
    assert box(179, 10, -179, 11).contains(10.5, lon)


def test_edges_and_corners_are_inside():
    outline = box(8, 47, 8.25, 47.25)
    assert outline.contains([47, 47.25, 47.25, 47, 47.1, 47.25, 47], [8, 8.25, 8, 8.25, 8.25, 8.1, 8.1]).all()
    assert not outline.contains([47 - 1e-7, 47.25 + 1e-7, 47.1], [8.1, 8.1, 8.25 + 1e-7]).any()


def test_shapes_of_answers():
    outline = box(8, 47, 8.25, 47.25)
    lat = np.array([[47.1], [48.0]])
    lon = np.array([8.1, 8.2, 9.0])
    assert outline.contains(lat, lon).tolist() == [[True, True, False], [False, False, False]]
    assert outline.outside_m(lat, lon).shape == (2, 3)
    assert outline.outside_m(47.1, 8.1) == 0
    assert outline.contains(47.1, 8.1) is np.True_
    assert outline.outside_m(np.empty(0), np.empty(0)).shape == (0,)


def test_no_more_places_than_fit_in_a_table_at_a_time_change_nothing():
    outline = grid_box(32, False, 400_000, 5_200_000, 80_000, 80_000)
    generator = np.random.default_rng(3)
    lat, lon = generator.uniform(46, 48, 40_000), generator.uniform(7, 9, 40_000)
    together, few = outline.outside_m(lat, lon), slice(17_000, 17_050)
    assert together[few].tolist() == outline.outside_m(lat[few], lon[few]).tolist()
    assert outline.contains(lat, lon)[few].tolist() == outline.contains(lat[few], lon[few]).tolist()


@given(zones, hemispheres, eastings, st.floats(1_000_000, 8_500_000), st.floats(100, 90_000), st.data())
def test_the_distance_from_a_grid_sheet_is_that_to_its_nearest_edge(
    zone, south, easting, northing, size, data
):
    """On the grid the nearest place is a clip away; over 100 km grid and ground part by the scale, under a thousandth."""
    outline = grid_box(zone, south, easting, northing, size, size)
    east, north = data.draw(st.floats(-60_000, 60_000 + size)), data.draw(st.floats(-60_000, 60_000 + size))
    off = np.hypot(east - np.clip(east, 0, size), north - np.clip(north, 0, size))
    lat, lon = from_grid(zone, south, easting + east, northing + north)
    assert outline.outside_m(lat, lon) == pytest.approx(off, rel=2.5e-3, abs=1.0)


@given(
    st.floats(-179, 179), st.floats(-80, 79), st.floats(0.1, 4), st.floats(-85, 85), st.floats(-180, 179.9)
)
def test_the_distance_is_the_least_to_many_points_of_the_edge(west, south, size, lat, lon):
    outline = box(west, south, west + size, south + size)
    assume(not outline.contains(lat, lon))
    share = np.linspace(0, size, 4001)
    side = np.full(4001, 0.0)
    edge_lat = south + np.concatenate((side, share, side + size, share))
    edge_lon = west + np.concatenate((share, side + size, share, side))
    nearest = inverse(lat, lon, edge_lat, edge_lon)[2].min()
    distance = outline.outside_m(lat, lon)
    step_m = size / 4000 * 112_000
    # The points of the row are themselves further off than the edge.
    assert distance <= nearest + (0.1 if nearest < 100_000 else 1e-5 * nearest)
    assert distance == pytest.approx(nearest, rel=1e-3, abs=step_m)


@given(st.floats(0, 360), st.floats(0.01, 50_000))
def test_a_place_off_a_straight_edge_is_as_far_as_it_was_put(along, distance):
    outline = box(8, 0, 9, 1)
    lat, lon, _back = direct(along / 360, 9, 90, distance)
    assert outline.outside_m(lat, lon) == pytest.approx(distance, rel=1e-6, abs=1e-3)


def test_edges_keep_within_the_tolerance_of_the_grid_lines():
    zone, south, easting, northing, size = 33, False, 200_000, 7_900_000, 100_000
    outline = grid_box(zone, south, easting, northing, size, size)
    share = np.linspace(0, 1, 11)[:-1, np.newaxis]
    lat = (outline.lat_deg[:-1] + share * np.diff(outline.lat_deg)).ravel()
    lon = (outline.lon_deg[:-1] + share * np.diff(outline.lon_deg)).ravel()
    grid = to_grid(lat, lon, zone, south)
    east, north = grid.easting_m - easting, grid.northing_m - northing
    misses = np.min([abs(east), abs(north), abs(east - size), abs(north - size)], axis=0)
    assert 0.01 < misses.max() < EDGE_TOLERANCE_M


def test_a_meridian_and_a_parallel_need_no_points_between():
    assert len(box(8, 47, 20, 57).lat_deg) == 5


def test_a_small_square_has_its_corners_and_no_more():
    ring = square_outline(32, False, 465_430, 5_223_450, 10).rings()[0]
    assert len(ring) == 5
    assert square_outline(32, False, 465_430, 5_223_450, 10).area_m2 == pytest.approx(
        100 / 0.9996**2, rel=1e-4
    )


def test_a_square_on_an_old_datum_lies_on_that_datum():
    ed50 = find_datum("ED50")
    old = square_outline(30, False, 440_000, 4_474_000, 1000, Frame(ed50))
    lat, lon = from_grid(30, False, 440_000, 4_474_000, ellipsoid=ed50.ellipsoid)
    wgs84_lat, wgs84_lon, _shift = shifted_to_wgs84(ed50, float(lat), float(lon))
    assert (old.lat_deg[0], old.lon_deg[0]) == pytest.approx((wgs84_lat, wgs84_lon), abs=1e-12)
    new = square_outline(30, False, 440_000, 4_474_000, 1000)
    # ED50 and WGS 84 part by 100 to 250 m in Spain (common practice, no source).
    assert 100 < inverse(old.lat_deg[0], old.lon_deg[0], new.lat_deg[0], new.lon_deg[0])[2] < 300


def test_edges_outside_the_area_of_their_datum_are_refused():
    with pytest.raises(OutsideDatumAreaError):
        along_graticule([(40, -80), (40, -79), (41, -79), (41, -80)], Frame(find_datum("ED50")))


def test_a_ring_that_crosses_the_antimeridian_four_times_is_cut_into_three():
    # A bracket open to the west, invented: its two arms reach over the antimeridian.
    ring = np.array(
        [(178, 0), (182, 0), (182, 5), (178, 5), (178, 4), (181, 4), (181, 1), (178, 1), (178, 0)],
        dtype=float,
    )
    parts = cut_at_antimeridian(ring)
    assert sorted(len(part) for part in parts) == [5, 5, 9]
    assert sum(signed_area(part) for part in parts) == pytest.approx(signed_area(ring))
    assert all(np.abs(part[:, 0]).max() == 180 for part in parts)


def test_a_comb_across_the_antimeridian_has_one_part_with_its_back_and_one_for_each_tooth():
    # Invented: its back at 178 degrees, and three teeth that end at 182.
    ring = np.array(
        [(178, 0), (182, 0), (182, 1), (179, 1), (179, 2), (182, 2), (182, 3), (179, 3), (179, 4), (182, 4), (182, 5),
         (178, 5), (178, 0)],
        dtype=float,
    )  # fmt: skip
    parts = cut_at_antimeridian(ring)
    assert sorted(len(part) for part in parts) == [5, 5, 5, 13]
    assert [signed_area(part) for part in sorted(parts, key=len)] == pytest.approx([2, 2, 2, 8])
    back = max(parts, key=len)[:-1].tolist()
    start = back.index([178, 0])
    assert [*back[start:], *back[:start]] == [
        [178, 0], [180, 0], [180, 1], [179, 1], [179, 2], [180, 2], [180, 3], [179, 3], [179, 4], [180, 4], [180, 5], [178, 5]
    ]  # fmt: skip


def test_a_corner_that_only_touches_the_antimeridian_makes_no_part():
    # Invented: it crosses at the south, and touches with one corner further north.
    ring = np.array([(178, 0), (182, 0), (182, 1), (179, 1), (180, 2), (178, 3), (178, 0)], dtype=float)
    parts = cut_at_antimeridian(ring)
    assert len(parts) == 2
    assert sum(signed_area(part) for part in parts) == pytest.approx(signed_area(ring))
    assert all(signed_area(part) > 0 for part in parts)
