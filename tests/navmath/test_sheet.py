"""Map sheets and their edges. All sheets are invented."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.datum_shift import shifted_to_wgs84
from threenorths_service.navmath.errors import (
    InconsistentSheetError,
    NavigationError,
    OutOfRangeError,
    OutsideDatumAreaError,
    OutsideGridError,
)
from threenorths_service.navmath.grids.grid import from_grid
from threenorths_service.navmath.lines.geodesic import inverse
from threenorths_service.navmath.sheets.sheet import CORNER_NAMES, Corner, Sheet

QUADRANGLE = (Corner("south_west", 47.0, 8.0), Corner("north_east", 47.25, 8.25))
KILOMETRE_SHEET = (
    Corner("south_west", easting_m=400_000, northing_m=5_200_000),
    Corner("north_east", easting_m=420_000, northing_m=5_220_000),
)


def four(places: list[tuple[float, float]], on_grid: bool = False) -> list[Corner]:
    if on_grid:
        return [
            Corner(name, easting_m=place[0], northing_m=place[1])
            for name, place in zip(CORNER_NAMES, places, strict=True)
        ]
    return [Corner(name, *place) for name, place in zip(CORNER_NAMES, places, strict=True)]


def test_a_sheet_of_nothing_has_no_edges():
    sheet = Sheet()
    assert not sheet.has_edges
    assert not sheet.prints_angle
    assert not sheet.on_grid
    for ask in (
        lambda: sheet.contains(0, 0),
        lambda: sheet.outside_m(0, 0),
        sheet.middle,
        lambda: sheet.radius_m,
    ):
        with pytest.raises(InconsistentSheetError):
            ask()


def test_two_corners_tell_the_other_two_on_the_graticule():
    sheet = Sheet().with_corners(QUADRANGLE)
    assert [corner.name for corner in sheet.corners] == list(CORNER_NAMES)
    assert sheet.corner_places.tolist() == [[47, 8], [47, 8.25], [47.25, 8.25], [47.25, 8]]
    assert sheet.wgs84_corner_places.tolist() == sheet.corner_places.tolist()
    assert sheet.has_edges
    assert not sheet.on_grid
    assert sheet.corner_grid_places is None
    # On the parallel half way along the south edge, where the chord of the grid would be 17 m to the north.
    assert sheet.contains(47.0000001, 8.125)
    assert not sheet.contains(46.9999999, 8.125)


def test_two_corners_tell_the_other_two_on_the_grid():
    sheet = Sheet(grid_zone=32).with_corners(KILOMETRE_SHEET)
    assert sheet.on_grid
    assert sheet.corner_grid_places.tolist() == [
        [400_000, 5_200_000],
        [420_000, 5_200_000],
        [420_000, 5_220_000],
        [400_000, 5_220_000],
    ]
    lat, lon = from_grid(32, False, [410_000, 410_000], [5_200_001, 5_199_999])
    assert sheet.contains(lat, lon).tolist() == [True, False]
    assert sheet.outside_m(*from_grid(32, False, 410_000, 5_195_000)) == pytest.approx(
        5000 / 0.9997, rel=1e-4
    )


def test_the_order_in_which_corners_are_given_does_not_matter():
    sheet = Sheet().with_corners(QUADRANGLE)
    backwards = Sheet().with_corners(QUADRANGLE[::-1])
    assert backwards.corners == sheet.corners
    places = [(47, 8), (47, 8.25), (47.25, 8.25), (47.25, 8)]
    assert Sheet().with_corners(four(places)[::-1]).corners == sheet.corners


def test_the_middle_and_the_radius():
    sheet = Sheet().with_corners(QUADRANGLE)
    lat, lon = sheet.middle()
    assert (lat, lon) == pytest.approx((47.125, 8.125), abs=1e-4)
    assert sheet.radius_m == pytest.approx(inverse(lat, lon, 47.0, 8.0)[2], abs=20)
    assert sheet.radius_m >= max(inverse(lat, lon, *place)[2] for place in sheet.corner_places)


@pytest.mark.parametrize(
    ("south_west", "north_east", "inside", "outside"),
    [
        ((47, 8), (47.25, 8.25), (47.1, 8.1), (47.1, 8.3)),
        ((-34, -71), (-33.75, -70.75), (-33.9, -70.9), (-34.1, -70.9)),
        ((-17, 179.9), (-16.75, -179.85), (-16.9, 180), (-16.9, -179.8)),
        ((-17, 179.9), (-16.75, 180.15), (-16.9, -179.9), (-16.9, 179.8)),
        ((-0.125, -0.125), (0.125, 0.125), (0, 0), (0, 0.2)),
        ((89, 0), (90, 60), (89.5, 30), (89.5, 70)),
    ],
)
def test_sheets_in_every_corner_of_the_world(south_west, north_east, inside, outside):
    sheet = Sheet().with_corners([Corner("south_west", *south_west), Corner("north_east", *north_east)])
    assert sheet.contains(*inside)
    assert not sheet.contains(*outside)
    assert sheet.outside_m(*inside) == 0
    assert sheet.outside_m(*outside) > 0
    assert sheet.contains(*sheet.middle())


@pytest.mark.parametrize("south", [False, True])
def test_a_sheet_around_a_pole(south):
    corners = [
        Corner("south_west", easting_m=1_900_000, northing_m=1_900_000),
        Corner("north_east", easting_m=2_100_000, northing_m=2_100_000),
    ]
    sheet = Sheet(grid_zone=0, grid_south=south).with_corners(corners)
    assert sheet.contains(-90 if south else 90, 77)
    assert sheet.outside_m(-89 if south else 89, 45) == 0
    assert sheet.outside_m(-88 if south else 88, 0) > 100_000


def test_a_sheet_on_an_old_datum_lies_where_its_datum_says():
    ed50 = find_datum("ED50")
    corners = [
        Corner("south_west", easting_m=428_000, northing_m=4_461_500),
        Corner("north_east", easting_m=456_000, northing_m=4_480_000),
    ]
    old = Sheet(datum=ed50, grid_zone=30).with_corners(corners)
    lat, lon = from_grid(30, False, 428_000, 4_461_500, ellipsoid=ed50.ellipsoid)
    wgs84_lat, wgs84_lon, _shift = shifted_to_wgs84(ed50, float(lat), float(lon))
    assert old.corner_places[0].tolist() == [lat, lon]
    assert old.wgs84_corner_places[0].tolist() == [wgs84_lat, wgs84_lon]
    assert old.outline is not None
    assert (old.outline.lat_deg[0], old.outline.lon_deg[0]) == pytest.approx(
        (wgs84_lat, wgs84_lon), abs=1e-11
    )
    # The same numbers on WGS 84 are another sheet, 100 to 300 m away.
    new = Sheet(grid_zone=30).with_corners(corners)
    gap = inverse(*old.wgs84_corner_places[0], *new.wgs84_corner_places[0])[2]
    assert 100 < gap < 300


def test_a_british_sheet_is_shifted_from_its_datum_once():
    # Ordnance Survey, "A guide to coordinate systems in Great Britain", annex C, worked example: the water tower at Caister
    # is at TG 51409 13177 and at 52 39 27.2531 N, 1 43 4.5177 E on OSGB36 (published/national_grid_examples.csv).
    osgb36 = find_datum("OSGB36")
    corners = [
        Corner("south_west", easting_m=651_409.903, northing_m=313_177.270),
        Corner("north_east", easting_m=651_410.903, northing_m=313_178.270),
    ]
    sheet = Sheet(grid_zone=27700, datum=osgb36).with_corners(corners)
    published = (52 + 39 / 60 + 27.2531 / 3600, 1 + 43 / 60 + 4.5177 / 3600)
    assert sheet.corner_places[0] == pytest.approx(published, abs=2e-8)
    lat, lon, _shift = shifted_to_wgs84(osgb36, *published)
    assert sheet.outline is not None
    assert inverse(sheet.outline.lat_deg[0], sheet.outline.lon_deg[0], lat, lon)[2] < 0.005
    assert sheet.corner_grid_places[0].tolist() == [651_409.903, 313_177.270]
    # The same corners by latitude and longitude come to the same grid coordinates.
    by_angles = [Corner(corner.name, corner.lat_deg, corner.lon_deg) for corner in sheet.corners]
    again = Sheet(grid_zone=27700, datum=osgb36).with_corners(by_angles)
    assert again.corner_grid_places == pytest.approx(sheet.corner_grid_places, abs=1e-3)


@pytest.mark.parametrize("zone", [31, 27572])
def test_longitudes_of_a_datum_from_paris_are_brought_to_greenwich_once(zone):
    # NTF (Paris) counts from 2 20 14.025 east of Greenwich: EPSG dataset, prime meridian 8903. The place is invented.
    ntf, greenwich_lon = find_datum("NTF (Paris)"), 5.5
    place = (45.5, greenwich_lon - ntf.prime_meridian_deg)
    sheet = Sheet(datum=ntf, grid_zone=zone).with_corners(
        [Corner("south_west", *place), Corner("north_east", place[0] + 0.1, place[1] + 0.1)]
    )
    assert ntf.prime_meridian_deg == pytest.approx(2.337229, abs=1e-6)
    assert inverse(*sheet.wgs84_corner_places[0], 45.5, greenwich_lon)[2] < 400
    on_grid = [
        Corner(corner.name, easting_m=place[0], northing_m=place[1])
        for corner, place in zip(sheet.corners, sheet.corner_grid_places, strict=True)
    ]
    again = Sheet(datum=ntf, grid_zone=zone).with_corners(on_grid)
    assert again.corner_places == pytest.approx(sheet.corner_places, abs=1e-8)


@pytest.mark.parametrize(
    ("places", "member"),
    [
        ([(47.25, 8), (47.25, 8.25), (47, 8.25), (47, 8)], "corners/south_west"),  # south and north exchanged
        ([(47, 8.25), (47, 8), (47.25, 8), (47.25, 8.25)], "corners/south_west"),  # west and east exchanged
        ([(47, 8), (47, 8), (47.25, 8.25), (47.25, 8)], "corners/south_west"),  # two corners in one place
        ([(47, 8), (47, 8.25), (47.25, 8), (47.25, 8.25)], "corners/north_west"),  # edges that cross
        ([(47, -8), (47, 8.25), (47.25, 8.25), (47.25, 8.5)], "corners/north_west"),
        ([(47, 8), (47, 9), (47.1, 8.2), (48, 8)], "corners/north_east"),  # turned in
    ],
)
def test_corners_that_do_not_lie_as_named(places, member):
    sheet = Sheet().with_corners(four(places))
    assert not sheet.has_edges
    assert isinstance(sheet.fault, InconsistentSheetError)
    assert sheet.fault.member == member
    with pytest.raises(InconsistentSheetError):
        sheet.contains(47.1, 8.1)


def test_a_sheet_given_by_its_other_two_corners_is_refused():
    with pytest.raises(InconsistentSheetError):
        Sheet().with_corners([Corner("south_east", 47, 8), Corner("north_west", 47.25, 8)])


@pytest.mark.parametrize(
    ("sheet", "corners"),
    [
        (Sheet(), []),
        (Sheet(), QUADRANGLE[:1]),
        (Sheet(), [*QUADRANGLE, Corner("south_east", 47, 8.25)]),
        (Sheet(), [*QUADRANGLE, *QUADRANGLE]),
        (Sheet(), KILOMETRE_SHEET),  # on a grid that is not named
        (Sheet(grid_zone=32), [QUADRANGLE[0], KILOMETRE_SHEET[1]]),
        (Sheet(), [Corner("south_west", 47), Corner("north_east", 48, 9)]),
        (Sheet(grid_zone=32), [Corner("south_west"), Corner("north_east")]),
    ],
)
def test_corners_that_are_not_those_of_a_sheet(sheet, corners):
    with pytest.raises(InconsistentSheetError):
        sheet.with_corners(corners)


@pytest.mark.parametrize(
    ("sheet", "corners", "error", "member"),
    [
        (Sheet(), [(91, 8), (92, 8.25)], OutOfRangeError, "corners/south_west/lat_deg"),
        (Sheet(), [(47, 8), (47.25, 400)], OutOfRangeError, "corners/south_east/lon_deg"),
        (Sheet(), [(47, float("nan")), (47.25, 8)], OutOfRangeError, "corners/south_west/lon_deg"),
        (Sheet(grid_zone=32), [(40_000, 5_200_000), (60_000, 5_220_000)], OutsideGridError, "corners/south_west/easting_m"),
        (Sheet(grid_zone=0), [(0, 2_000_000), (10_000, 2_010_000)], OutsideGridError, "corners/south_west/easting_m"),
        (Sheet(datum=find_datum("ED50")), [(40, -80), (40.25, -79.75)], OutsideDatumAreaError, "datum"),
        (Sheet(grid_zone=27700), [(400_000, 300_000), (420_000, 320_000)], InconsistentSheetError, "datum"),
    ],
)  # fmt: skip
def test_corners_that_make_no_outline(sheet, corners, error, member):
    on_grid = corners[0][0] > 360 or corners[1][0] > 360
    given = [
        Corner(name, easting_m=place[0], northing_m=place[1]) if on_grid else Corner(name, *place)
        for name, place in zip(("south_west", "north_east"), corners, strict=True)
    ]
    found = sheet.with_corners(given)
    assert isinstance(found.fault, error)
    assert found.fault.member == member
    assert found.outline is None
    assert found.corners == tuple(given)


def test_what_is_printed():
    assert Sheet(declination_deg=0.0).prints_angle
    assert Sheet(grid_magnetic_angle_deg=0.0).prints_angle
    assert not Sheet(convergence_deg=1.0, year=2020).prints_angle


def test_a_sheet_is_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        Sheet().scale = 50_000.0


def test_a_grid_that_does_not_reach_the_sheet_gives_no_coordinates():
    sheet = Sheet(grid_zone=1).with_corners(QUADRANGLE)
    assert sheet.has_edges
    assert sheet.reaching_grid is None
    assert sheet.corner_grid_places is None


def test_grid_coordinates_of_corners_given_by_latitude_and_longitude():
    sheet = Sheet(grid_zone=32).with_corners(QUADRANGLE)
    assert sheet.reaching_grid is not None
    lat, lon = from_grid(32, False, *sheet.corner_grid_places.T)
    assert np.abs(np.column_stack((lat, lon)) - sheet.corner_places).max() < 1e-9


def test_every_fault_is_a_named_error():
    sheet = Sheet().with_corners(four([(47.25, 8), (47.25, 8.25), (47, 8.25), (47, 8)]))
    assert isinstance(sheet.fault, NavigationError)
    assert "south-west" in str(sheet.fault)
