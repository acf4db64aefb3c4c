"""Reading and writing MGRS where the edges of the grid zones cut the squares."""

import dataclasses

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.grids.grid import band_of, from_grid, to_grid, zone_of
from threenorths_service.navmath.grids.zones import ALPHABET, EDGES, LETTERS_PER_ZONE
from threenorths_service.navmath.places.place import place_from_geodetic
from threenorths_service.navmath.places.position import describe
from threenorths_service.navmath.references.mgrs import (
    MgrsStatus,
    read_mgrs,
    read_mgrs_text,
    write_mgrs,
    write_mgrs_from_grid,
)
from threenorths_service.navmath.references.mgrs_letters import COLUMN_LETTERS, ROW_LETTERS
from threenorths_service.navmath.references.square_in_zone import Squares, nearest_in_zone

digits_a_side = st.integers(0, 5)
all_latitudes = st.floats(-90.0, 90.0)
all_longitudes = st.floats(-180.0, 180.0)

#: Edges of bands and of zones; the offsets, in degrees, reach from a rounding to some kilometres.
edge_latitudes = st.sampled_from([*range(-80, 73, 8), 84, -90, 90]).map(float)
edge_longitudes = st.sampled_from([*range(-180, 181, 6), 3, 9, 21, 33]).map(float)
offsets = st.sampled_from([0.0, 1e-14, 1e-12, 1e-9, 1e-7, 1e-5, 1e-3, 0.03]).flatmap(
    lambda size: st.sampled_from([-size, size])
)


def near(edges, low, high):
    return st.builds(lambda edge, offset: min(max(edge + offset, low), high), edges, offsets)


latitudes = all_latitudes | near(edge_latitudes, -90.0, 90.0)
longitudes = all_longitudes | near(edge_longitudes, -180.0, 180.0)


def assert_comes_back(written, digits):
    """What was written is read as good squares, with points in them and in their zones, and written again."""
    squares = read_mgrs(written)
    np.testing.assert_array_equal(squares.status, 0)
    np.testing.assert_array_equal(squares.overlap, False)
    np.testing.assert_array_equal(zone_of(squares.lat_deg, squares.lon_deg), squares.zone)
    np.testing.assert_array_equal(band_of(squares.lat_deg, squares.lon_deg), squares.band)
    np.testing.assert_array_equal(write_mgrs(squares.lat_deg, squares.lon_deg, digits), written)
    half_m = squares.size_m / 2.0
    centre = squares.easting_m + half_m, squares.northing_m + half_m
    np.testing.assert_array_equal(write_mgrs_from_grid(squares.zone, squares.band, *centre, digits), written)
    return squares


@given(latitudes, longitudes, digits_a_side)
def test_what_is_written_comes_back(lat_deg, lon_deg, digits):
    assert_comes_back(write_mgrs(lat_deg, lon_deg, digits), digits)


@given(latitudes, longitudes, digits_a_side)
def test_the_place_is_in_the_square_that_is_written(lat_deg, lon_deg, digits):
    square = read_mgrs(write_mgrs(lat_deg, lon_deg, digits))
    grid = to_grid(lat_deg, lon_deg)
    # 1e-8 m for a place on the very edge, which the rounding of its coordinates would put over it.
    assert -1e-8 <= grid.easting_m - square.easting_m < square.size_m + 1e-8
    assert -1e-8 <= grid.northing_m - square.northing_m < square.size_m + 1e-8


@given(latitudes, longitudes, digits_a_side)
def test_fewer_digits_are_the_beginning_of_more(lat_deg, lon_deg, digits):
    longer, shorter = read_mgrs(write_mgrs(lat_deg, lon_deg)), read_mgrs(write_mgrs(lat_deg, lon_deg, digits))
    assert 0.0 <= longer.easting_m - shorter.easting_m < shorter.size_m
    assert 0.0 <= longer.northing_m - shorter.northing_m < shorter.size_m


@given(
    st.integers(0, 60),
    st.sampled_from(ALPHABET),
    st.sampled_from(ALPHABET),
    st.sampled_from(ALPHABET),
    digits_a_side.flatmap(lambda digits: st.text("0123456789", min_size=2 * digits, max_size=2 * digits)),
)
def test_any_text_that_is_read_is_written_again(zone, band, column, row, figures):
    text = (f"{zone:02}" if zone else "") + band + column + row + figures
    square = read_mgrs(text)
    if square.status == MgrsStatus.OK and not square.overlap:
        assert_comes_back(np.array([text]), len(figures) // 2)
    elif square.status == MgrsStatus.OK:
        centre = square.easting_m + square.size_m / 2.0, square.northing_m + square.size_m / 2.0
        assert write_mgrs_from_grid(square.zone, square.band, *centre, len(figures) // 2) == text


def places_on_edges(count):
    """Places on the edges and corners of all zones, half of them some micrometres to metres off."""
    random = np.random.default_rng(11)
    designation = random.choice(np.flatnonzero(~np.isnan(EDGES.west_deg)), count)
    west, east = (np.clip(edge[designation], -180.0, 180.0) for edge in (EDGES.west_deg, EDGES.east_deg))
    south, north = (np.clip(edge[designation], -90.0, 90.0) for edge in (EDGES.south_deg, EDGES.north_deg))
    lat_deg, lon_deg = random.uniform(south, north), random.uniform(west, east)
    side = random.integers(0, 5, count)
    lon_deg = np.choose(side, [west, np.nextafter(east, -200.0), lon_deg, lon_deg, west])
    lat_deg = np.choose(side, [lat_deg, lat_deg, south, np.nextafter(north, -100.0), south])
    off_deg = random.choice([0.0, 1e-11, 1e-8, 1e-5], (2, count)) * random.normal(size=(2, count))
    return np.clip(lat_deg + off_deg[0], -90.0, 90.0), np.clip(lon_deg + off_deg[1], -180.0, 180.0)


@pytest.mark.parametrize("digits", range(6))
def test_places_on_the_edges_of_all_zones_come_back(digits):
    squares = assert_comes_back(write_mgrs(*places_on_edges(30_000), digits), digits)
    assert np.count_nonzero(squares.cut) > 5000


def random_squares(count, digits):
    """Squares of all designations with their letters at random: most of them do not exist, and many are cut."""
    random = np.random.default_rng(digits)
    texts = []
    for designation in random.choice(np.flatnonzero(~np.isnan(EDGES.west_deg)), count):
        zone, letter = divmod(int(designation), LETTERS_PER_ZONE)
        column = random.choice([column for column in COLUMN_LETTERS[designation] if column])
        row = random.choice([row for row in ROW_LETTERS["AA"][designation] if row])
        figures = "".join(random.choice(list("0123456789"), 2 * digits))
        texts.append((f"{zone:02}" if zone else "") + ALPHABET[letter] + column + row + figures)
    return texts


#: Samples a side, at which a square is looked through for places in its zone.
SAMPLES = 61


def sampled(square):
    """The distances from the centre of those of the samples of a square that are in its zone and band."""
    steps = (np.arange(SAMPLES) + 0.5) / SAMPLES * square.size_m
    easting_m, northing_m = np.meshgrid(square.easting_m + steps, square.northing_m + steps)
    lat_deg, lon_deg = from_grid(square.zone, square.south, easting_m, northing_m)
    inside = (zone_of(lat_deg, lon_deg) == square.zone) & (band_of(lat_deg, lon_deg) == square.band)
    half_m = square.size_m / 2.0
    return np.hypot(easting_m - square.easting_m - half_m, northing_m - square.northing_m - half_m)[inside]


@pytest.mark.parametrize("digits", [0, 1])
def test_the_point_of_a_cut_square_is_the_nearest_in_the_zone(digits):
    squares = [read_mgrs_text(text) for text in random_squares(3000, digits) if read_mgrs(text).status == 0]
    cut = [square for square in squares if square.cut]
    assert len(cut) > 20
    for square in cut:
        grid = to_grid(square.lat_deg, square.lon_deg, square.zone, square.south)
        half_m = square.size_m / 2.0
        distance_m = np.hypot(
            grid.easting_m - square.easting_m - half_m, grid.northing_m - square.northing_m - half_m
        )
        found_m = sampled(square)
        # No sample is nearer; and the nearest sample, if any is inside, is not far from the point.
        assert found_m.size == 0 or distance_m <= found_m.min() + 1e-3
        assert distance_m < half_m * np.sqrt(2.0)
        wide = found_m.size > SAMPLES
        assert not wide or distance_m > found_m.min() - 3.0 * square.size_m / SAMPLES
    assert sum(sampled(square).size > 0 for square in cut) > 0.9 * len(cut)


@pytest.mark.parametrize("digits", [0, 1])
def test_no_part_of_an_overlapping_square_is_in_its_zone_and_some_is_near(digits):
    squares = read_mgrs(random_squares(3000, digits))
    overlapping = np.flatnonzero(squares.overlap)
    assert len(overlapping) > 50
    geod = pyproj.Geod(ellps="WGS84")
    for index in overlapping:
        square = read_mgrs_text(
            write_mgrs_from_grid(
                squares.zone[index],
                squares.band[index],
                squares.easting_m[index],
                squares.northing_m[index],
                digits,
            )
        )
        assert sampled(square).size == 0
        if square.zone > 0 and abs(square.lat_deg) < 79.0:
            designation = square.zone * LETTERS_PER_ZONE + ALPHABET.index(square.band)
            edges_deg = np.array([EDGES.west_deg[designation], EDGES.east_deg[designation]])
            steps = np.linspace(0.0, square.size_m, 11)
            easting_m, northing_m = np.meshgrid(square.easting_m + steps, square.northing_m + steps)
            lat_deg, lon_deg = (
                place.ravel() for place in from_grid(square.zone, square.south, easting_m, northing_m)
            )
            distances = [
                geod.inv(lon_deg, lat_deg, np.full_like(lon_deg, edge), lat_deg)[2].min()
                for edge in edges_deg
            ]
            assert min(distances) < 40_100.0


# A square at each kind of edge whose centre the edge cuts off, and the parallel and the meridian that do.
CUT = {
    "west": ("32TKM", None, 6.0),
    "east": ("32TQM", None, 12.0),
    "north": ("32TNU", 48.0, None),
    "north-west": ("32TKU", 48.0, 6.0),
    "southern-band": ("33HVR", -40.0, None),
    "norway": ("32VJL", None, 3.0),
    "svalbard-west": ("33XUG", None, 9.0),
    "svalbard-east": ("35XPG", None, 33.0),
    "84-north-in-utm": ("31XEP", 84.0, None),
    "84-north-in-ups": ("ZBA", 84.0, None),
    "80-south-in-ups": ("AKS", -80.0, None),
    "180-from-the-west": ("60TYM", None, 180.0),
    "180-from-the-east": ("01TBG", None, -180.0),
}


# The point is kept a micrometre inside: 1e-11 degree of latitude, 9e-11 of longitude as far north as 84.
@pytest.mark.parametrize("case", CUT.values(), ids=CUT.keys())
def test_squares_cut_at_each_kind_of_edge(case):
    text, parallel_deg, meridian_deg = case
    square = read_mgrs_text(text)
    assert (square.cut, square.overlap) == (True, False)
    if parallel_deg is not None:
        assert square.lat_deg == pytest.approx(parallel_deg, abs=3e-11)
    if meridian_deg is not None:
        assert square.lon_deg == pytest.approx(meridian_deg, abs=9e-11)
    assert write_mgrs(square.lat_deg, square.lon_deg, 0) == text


# DMA TM 8358.1, section 2-6.3.1: sheets print a zone's grid for 40 km beyond its edge. At 47 30 N the edge of 32T has
# an easting near 274,000: 30 km further west is read, 50 km further is not.
def test_forty_kilometres_beyond_the_edge_of_a_zone():
    edge = to_grid(47.5, 6.0, 32)
    near, far = (
        read_mgrs(write_mgrs_from_grid(32, "T", edge.easting_m - beyond_m, edge.northing_m))
        for beyond_m in (39_000.0, 41_000.0)
    )
    assert (near.status, near.overlap, near.cut) == (MgrsStatus.OK, True, False)
    assert far.status == MgrsStatus.SQUARE_NOT_IN_ZONE
    expected = from_grid(32, False, near.easting_m + 0.5, near.northing_m + 0.5)
    assert (near.lat_deg, near.lon_deg) == expected


def test_a_square_just_beyond_the_edge_is_not_cut_by_it():
    # The edge of 32T leans by 2 degrees, or 4 cm over a square of 1 m: of the squares next to that with the edge in it,
    # those that are at least a decimetre off.
    edge = to_grid(40.0 + 8.0 * np.arange(500) / 500.0, 6.0, 32)
    next_m = np.floor(edge.easting_m) - 1.0
    off = edge.easting_m - next_m > 1.1
    squares = read_mgrs(write_mgrs_from_grid(32, "T", next_m, edge.northing_m))
    assert np.count_nonzero(off) > 400
    assert squares.overlap[off].all()
    assert not squares.cut[off].any()


# Real edges leave so narrow a part of a square about once in ten million squares that they cut; so this edge is made up.
@pytest.mark.parametrize(("sliver_m", "expected"), [(2e-8, True), (2e-9, True), (-1e-4, False)])
def test_a_sliver_narrower_than_the_rounding_is_still_read(sliver_m, expected):
    corner_lat_deg, corner_lon_deg = from_grid(32, False, 465_433.0, 5_212_345.0)
    designation = np.array([32 * LETTERS_PER_ZONE + ALPHABET.index("T")])
    west_deg = EDGES.west_deg.copy()
    # To the east of this meridian there is only the south-eastern corner of the square.
    west_deg[designation] = corner_lon_deg - sliver_m / (111_320.0 * np.cos(np.radians(corner_lat_deg)))
    square = Squares(designation, np.array([465_432.0]), np.array([5_212_345.0]), np.array([1.0]))
    lat_deg, lon_deg, meets = nearest_in_zone(square, dataclasses.replace(EDGES, west_deg=west_deg))
    assert meets == expected
    if expected:
        assert (lat_deg[0], lon_deg[0]) == pytest.approx((corner_lat_deg, corner_lon_deg), abs=3e-11)


# The same, sections 2-6.3.1 and 2-6.3.2: half a degree where UTM and UPS meet. Other bands have no overlap.
@pytest.mark.parametrize(
    ("zone", "band", "south", "lat_deg", "status"),
    [
        (31, "X", False, 84.49, MgrsStatus.OK),
        (31, "X", False, 84.51, MgrsStatus.SQUARE_NOT_IN_ZONE),
        (31, "C", True, -80.49, MgrsStatus.OK),
        (31, "C", True, -80.51, MgrsStatus.SQUARE_NOT_IN_ZONE),
        (0, "Z", False, 83.51, MgrsStatus.OK),
        (0, "Z", False, 83.49, MgrsStatus.SQUARE_NOT_IN_ZONE),
        (0, "B", True, -79.51, MgrsStatus.OK),
        (0, "B", True, -79.49, MgrsStatus.SQUARE_NOT_IN_ZONE),
        (31, "T", False, 48.01, MgrsStatus.SQUARE_NOT_IN_ZONE),
        (31, "T", False, 39.99, MgrsStatus.SQUARE_NOT_IN_ZONE),
    ],
)
def test_half_a_degree_where_utm_and_ups_meet(zone, band, south, lat_deg, status):
    grid = to_grid(lat_deg, 45.0 if zone == 0 else 3.0, zone, south)
    square = read_mgrs(write_mgrs_from_grid(zone, band, grid.easting_m, grid.northing_m))
    assert square.status == status
    assert square.overlap == (status == MgrsStatus.OK)


@pytest.mark.parametrize("lat_deg", [89.9995, 84.5, -89.9995, -80.5])
@pytest.mark.parametrize("lon_deg", [-1e-15, -1e-14, 1e-15, 179.99999999999997, -180.0, -179.99999999999997])
def test_a_place_a_hair_from_the_meridian_that_halves_ups_is_written_from_its_own_grid(lat_deg, lon_deg):
    position = describe(place_from_geodetic(lat_deg, lon_deg), 5)
    assert position.mgrs == write_mgrs(lat_deg, lon_deg)
    assert position.ups["band"] == position.mgrs[0]


def test_the_point_of_a_cut_square_is_the_very_same_alone_as_among_others():
    rng = np.random.default_rng(4)
    east = rng.uniform(-1e-4, 1e-4, 400)
    lat, lon = rng.uniform(-79.0, 83.0, east.size), rng.integers(-29, 30, east.size) * 6.0
    places = to_grid(lat, lon + east, zone_of(lat, lon + east))
    digits = rng.integers(0, 5, east.size)
    texts = [
        str(write_mgrs_from_grid(zone, band, easting, northing, int(number)))
        for zone, band, easting, northing, number in zip(
            places.zone, band_of(lat, lon + east), places.easting_m, places.northing_m, digits, strict=True
        )
    ]
    together = read_mgrs(texts)
    assert together.cut.any()
    for row, text in enumerate(texts):
        alone = read_mgrs(text)
        assert (alone.lat_deg, alone.lon_deg) == (together.lat_deg[row], together.lon_deg[row]), text
