"""Grids of the EPSG dataset: published coordinates, the library's own way round, and what is refused."""

import math
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pyproj
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj.database import query_crs_info
from pyproj.enums import PJType

from published import rows
from threenorths_service.navmath.angle import normalise_longitude, normalise_signed
from threenorths_service.navmath.errors import (
    OutOfRangeError,
    OutsideGridError,
    UnknownGridError,
)
from threenorths_service.navmath.grids.projected_grid import AREA_MARGIN_DEG, projected_grid
from threenorths_service.navmath.grids.transverse_mercator import convergence_and_unit_scale

# The library leaves out a part of the method of this one: see the test of it.
MISTAKEN = "IOGP-LCC2-Belgium"
EXAMPLES = [row for row in rows("national_grid_examples") if row["id"] != MISTAKEN]
BRITISH_SCALE = 0.9996012717

# Each with the projection method it stands for.
GRIDS = {
    "British, transverse Mercator": 27700,
    "Irish, transverse Mercator": 29903,
    "ED50 UTM": 23030,
    "Gauss-Krueger, northing first": 31467,
    "Polish, northing first": 2180,
    "New York in US survey feet": 2263,
    "Texas in US survey feet, Lambert": 32040,
    "Utah in feet": 2921,
    "Swiss, oblique Mercator": 2056,
    "Dutch, oblique stereographic": 28992,
    "French from Paris in grads, Lambert": 27572,
    "Czech, Krovak": 5514,
    "Hungarian, oblique Mercator": 23700,
    "New Zealand Map Grid": 27200,
    "NZTM, northing first": 2193,
    "Malaysian, oblique Mercator": 29873,
    "Trinidad in Clarke's links, Cassini": 30200,
    "Fiji, over the antimeridian": 3460,
    "Australian": 28354,
    "Japanese, northing first": 2451,
    "Brazil, polyconic": 29101,
    "Antarctic, polar stereographic": 3031,
    "UPS North": 5041,
    "Europe, equal area": 3035,
    "the web's Mercator": 3857,
}


def degrees(text):
    whole, minutes, seconds = text.split()
    value = abs(float(whole)) + float(minutes) / 60.0 + float(seconds) / 3600.0
    return -value if whole.startswith("-") else value


def half_digit(printed):
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def places_in(grid, count=200):
    """Random places inside the box round the grid's area, longitudes from the datum's own meridian."""
    random = np.random.default_rng(grid.epsg)
    lat_deg = random.uniform(grid.area.south_deg, grid.area.north_deg, count)
    lon_deg = grid.area.west_deg + random.uniform(0.0, grid.area.width_deg, count)
    return lat_deg, normalise_longitude(lon_deg - grid.datum.prime_meridian_deg)


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["id"])
def test_published_coordinates(row):
    grid = projected_grid(int(row["epsg"]))
    assert grid.unit_name == row["unit"]
    lat_deg, lon_deg = degrees(row["lat"]), degrees(row["lon"])
    # Half the last digit, where the source states no other; and a hundredth of it for the rounding of the half.
    tolerance_m = float(row["tolerance_m"] or 1.01 * half_digit(row["easting"]) * grid.unit_m)
    expected_m = float(row["easting"]) * grid.unit_m, float(row["northing"]) * grid.unit_m
    assert grid.to_grid(lat_deg, lon_deg) == pytest.approx(expected_m, abs=tolerance_m)
    back_lat_deg, back_lon_deg = grid.from_grid(*expected_m)
    # No shorter than 110 km to the degree of latitude, and the cosine of it to that of longitude; scales under 1.3.
    tolerance_deg = 1.5 * tolerance_m / 110_000.0
    assert back_lat_deg == pytest.approx(lat_deg, abs=tolerance_deg)
    assert back_lon_deg == pytest.approx(lon_deg, abs=tolerance_deg / math.cos(math.radians(lat_deg)))


def test_the_one_method_that_the_library_mistakes_is_refused():
    """When this fails because the library has come right, take the method off the list in `epsg_projection`."""
    row = next(row for row in rows("national_grid_examples") if row["id"] == MISTAKEN)
    with pytest.raises(UnknownGridError, match="cannot be computed"):
        projected_grid(int(row["epsg"]))
    library = pyproj.Transformer.from_crs(4313, int(row["epsg"]), always_xy=True)
    easting_m, _ = library.transform(degrees(row["lon"]), degrees(row["lat"]))
    assert abs(easting_m - float(row["easting"])) > 700.0


@pytest.mark.parametrize("code", GRIDS.values(), ids=GRIDS.keys())
def test_the_library_s_own_transformation_in_the_order_and_units_of_the_dataset(code):
    grid = projected_grid(code)
    system = pyproj.CRS.from_epsg(code)
    lat_deg, lon_deg = places_in(grid)
    angle_unit_deg = math.degrees(system.geodetic_crs.axis_info[0].unit_conversion_factor)
    # By the dataset, latitude comes before longitude in all of these.
    library = pyproj.Transformer.from_crs(system.geodetic_crs, system)
    first, second = library.transform(lat_deg / angle_unit_deg, lon_deg / angle_unit_deg)
    northing_first = system.axis_info[0].direction == "north" and system.axis_info[1].direction == "east"
    easting, northing = (second, first) if northing_first else (first, second)
    easting_m, northing_m = grid.to_grid(lat_deg, lon_deg)
    assert grid.northing_first == northing_first
    np.testing.assert_allclose(
        easting_m, easting * system.axis_info[0].unit_conversion_factor, rtol=0, atol=1e-8
    )
    np.testing.assert_allclose(
        northing_m, northing * system.axis_info[0].unit_conversion_factor, rtol=0, atol=1e-8
    )


@pytest.mark.parametrize("code", GRIDS.values(), ids=GRIDS.keys())
def test_a_place_comes_back_from_the_grid(code):
    grid = projected_grid(code)
    lat_deg, lon_deg = places_in(grid)
    back_lat_deg, back_lon_deg = grid.from_grid(*grid.to_grid(lat_deg, lon_deg))
    assert grid.contains(lat_deg, lon_deg).all()
    assert ((back_lon_deg >= -180.0) & (back_lon_deg < 180.0)).all()
    # The library's inverses end their iteration at 1e-10 radian or better, some 0.6 mm; twice that for both coordinates.
    np.testing.assert_allclose(back_lat_deg, lat_deg, rtol=0, atol=2e-8)
    turn_deg = (back_lon_deg - lon_deg + 180.0) % 360.0 - 180.0
    np.testing.assert_allclose(turn_deg * np.cos(np.radians(lat_deg)), 0.0, rtol=0, atol=2e-8)


def test_every_grid_of_the_dataset_is_read_or_refused_by_name():
    """A twentieth of them, evenly: each gives back the places of its area, and points east and north."""
    codes = [int(info.code) for info in query_crs_info("EPSG", PJType.PROJECTED_CRS, allow_deprecated=True)]
    read = 0
    for code in codes[::20]:
        try:
            grid = projected_grid(code)
        except UnknownGridError:
            continue
        lat_deg, lon_deg = places_in(grid, 5)
        easting_m, northing_m = grid.to_grid(lat_deg, lon_deg)
        back_lat_deg, _ = grid.from_grid(easting_m, northing_m)
        # A tenth of a metre, for the one whose inverse the library approximates; but for maps of the whole world.
        if grid.area.width_deg < 350.0:
            np.testing.assert_allclose(back_lat_deg, lat_deg, rtol=0, atol=1e-6)
        east_m, _ = grid.to_grid(lat_deg, lon_deg + 1e-5)
        _, north_m = grid.to_grid(lat_deg - 1e-5 * np.sign(lat_deg), lon_deg)
        convergence_deg, _ = grid.convergence_and_scale(lat_deg, lon_deg)
        upright = (np.abs(convergence_deg) < 45.0) & (np.abs(lat_deg) < 80.0)
        assert (east_m > easting_m)[upright].all(), code
        assert ((north_m - northing_m) * -np.sign(lat_deg) > 0.0)[upright].all(), code
        read += 1
    assert read > 0.9 * len(codes[::20])


def redfearn_convergence_deg(lat_deg, lon_difference_deg, ellipsoid):
    """J. C. B. Redfearn, "Transverse Mercator formulae", Empire Survey Review 9 (69), 1948, pp. 318-322, to the fifth power
    of the longitude difference, as the Ordnance Survey prints it (C = XIII, XIV and XV; from memory).
    """
    sine, cosine, tangent = (f(np.radians(lat_deg)) for f in (np.sin, np.cos, np.tan))
    curvature = (1.0 - ellipsoid.eccentricity_squared * sine**2) / (1.0 - ellipsoid.eccentricity_squared)
    eta2 = curvature - 1.0
    p = np.radians(lon_difference_deg)
    third = sine * cosine**2 / 3.0 * (1.0 + 3.0 * eta2 + 2.0 * eta2**2)
    fifth = sine * cosine**4 / 15.0 * (2.0 - tangent**2)
    return np.degrees(sine * p + third * p**3 + fifth * p**5)


@pytest.mark.parametrize(
    ("code", "meridian_deg", "unit_scale"), [(27700, -2.0, BRITISH_SCALE), (29903, -8.0, 1.000035)]
)
def test_convergence_and_scale_of_the_british_and_irish_grids(code, meridian_deg, unit_scale):
    grid = projected_grid(code)
    lat_deg, lon_deg = places_in(grid, 2000)
    convergence_deg, scale = grid.convergence_and_scale(lat_deg, lon_deg)
    # Krueger's series holds to 1e-9 degree and 1e-11. A step of 0.005 degree is 560 m, whose rounding of some 2 nm is
    # 4e-12 of it: 2e-10 degree, and 4e-12 of the scale.
    series_deg, series_scale = convergence_and_unit_scale(
        lat_deg, lon_deg - meridian_deg, grid.datum.ellipsoid
    )
    np.testing.assert_allclose(convergence_deg, series_deg, rtol=0, atol=2e-9)
    np.testing.assert_allclose(scale, series_scale * unit_scale, rtol=0, atol=3e-11)
    near = np.abs(lon_deg - meridian_deg) < 3.0
    # The printed formula leaves out the seventh power: (3 degrees)^7 is 1e-9, and its factor is under 0.1.
    printed_deg = redfearn_convergence_deg(lat_deg, lon_deg - meridian_deg, grid.datum.ellipsoid)
    np.testing.assert_allclose(convergence_deg[near], printed_deg[near], rtol=0, atol=1e-6)


def test_convergence_is_positive_where_grid_north_is_east_of_true_north():
    convergence_deg, _ = projected_grid(27700).convergence_and_scale(55.0, [-4.0, -2.0, 1.0])
    assert convergence_deg[0] < -1.0
    assert abs(convergence_deg[1]) < 1e-9
    assert convergence_deg[2] > 2.0


@pytest.mark.parametrize("code", GRIDS.values(), ids=GRIDS.keys())
def test_convergence_is_what_a_line_due_north_shows_on_the_grid(code):
    grid = projected_grid(code)
    lat_deg, lon_deg = (values[:50] for values in places_in(grid))
    ellipsoid = grid.datum.ellipsoid
    geod = pyproj.Geod(a=ellipsoid.semi_major_axis_m, rf=ellipsoid.inverse_flattening)
    ends = [geod.fwd(lon_deg, lat_deg, np.full(50, azimuth), np.full(50, 20.0)) for azimuth in (0.0, 180.0)]
    (north_e, north_n), (south_e, south_n) = (grid.to_grid(end[1], end[0]) for end in ends)
    bearing_deg = np.degrees(np.arctan2(north_e - south_e, north_n - south_n))
    convergence_deg, scale = grid.convergence_and_scale(lat_deg, lon_deg)
    # Over 40 m, the rounding of the place, 2e-14 degree or 2 nm, and of the coordinates: 5e-9 radian at the most. Lambert's
    # azimuthal and the polyconic projection are rounded worse in the library, by their arc sines.
    atol = 3e-5 if code in (3035, 29101) else 3e-7
    np.testing.assert_allclose(normalise_signed(convergence_deg + bearing_deg), 0.0, rtol=0, atol=atol)
    np.testing.assert_allclose(np.hypot(north_e - south_e, north_n - south_n) / 40.0, scale, rtol=1e-8)


@given(lat_deg=st.floats(49.8, 61.0), lon_deg=st.floats(-9.0, 2.0))
@settings(max_examples=200)
def test_any_british_place_comes_back_to_a_tenth_of_a_micrometre(lat_deg, lon_deg):
    grid = projected_grid(27700)
    easting_m, northing_m = grid.to_grid(lat_deg, lon_deg)
    assert grid.to_grid(*grid.from_grid(easting_m, northing_m)) == pytest.approx(
        (easting_m, northing_m), abs=1e-7
    )


# Of a cone the convergence is the sine of its parallel times the longitude: Snyder 1987, eq. (15-4).
def test_convergence_of_a_cone_about_a_pole_and_of_mercator():
    lon_deg = np.array([-79.0, -77.0, -76.0])
    jamaica, _ = projected_grid(24200).convergence_and_scale(18.0, lon_deg)
    np.testing.assert_allclose(jamaica, math.sin(math.radians(18.0)) * (lon_deg + 77.0), rtol=0, atol=1e-8)
    around = np.array([-180.0, -90.0, 0.0, 44.0, 179.0])
    np.testing.assert_allclose(
        projected_grid(5041).convergence_and_scale(85.0, around)[0], [180.0, *around[1:]], atol=1e-8
    )
    south = projected_grid(5042).convergence_and_scale(-85.0, around)[0]
    np.testing.assert_allclose(south, normalise_signed(-around), atol=1e-8)
    np.testing.assert_allclose(projected_grid(3857).convergence_and_scale(40.0, around)[0], 0.0, atol=1e-9)


def test_at_a_pole_the_convergence_is_that_of_the_longitude_and_the_scale_that_of_the_grid():
    convergence_deg, scale = projected_grid(5041).convergence_and_scale(90.0, [-30.0, 0.0, 150.0])
    np.testing.assert_allclose(convergence_deg, [-30.0, 0.0, 150.0], rtol=0, atol=1e-8)
    # Both are those of the place a step or two from the pole, 1.1 km, where the scale is greater by (1.1 / 12750)^2.
    np.testing.assert_allclose(scale, 0.994, rtol=0, atol=1e-8)


def test_how_well_a_grid_keeps_angles():
    # Snyder 1987, eq. (4-9) with the radii of curvature of the ellipsoid: at the equator they are as 1 - e^2 to 1.
    ratio = 1.0 / (1.0 - projected_grid(3857).datum.ellipsoid.eccentricity_squared)
    at_the_equator_deg = 2.0 * math.degrees(math.asin((ratio - 1.0) / (ratio + 1.0)))
    assert projected_grid(3857).largest_angle_error_deg() == pytest.approx(at_the_equator_deg, abs=1e-6)
    for code in (27700, 29903, 2056, 5514, 28992, 2193, 27572):
        assert projected_grid(code).largest_angle_error_deg() < 1e-7
    assert projected_grid(3035).largest_angle_error_deg() > 1.0


REFUSED = {
    4326: "no grid of easting and northing",
    7405: "no grid of easting and northing",
    9895: "heights",
    2046: "west and south",
    2065: "south and west",
    22300: "cannot be computed",
    2036: "withdrawn",
    31461: "no bounds",
    0: "no coordinate reference system",
    -27700: "no coordinate reference system",
    32600: "cannot be computed",
    10**30: "no coordinate reference system",
}


@pytest.mark.parametrize(("code", "says"), REFUSED.items())
def test_what_is_no_grid_is_refused_with_the_reason(code, says):
    with pytest.raises(UnknownGridError, match=says) as caught:
        projected_grid(code)
    assert caught.value.member == "epsg"
    assert caught.value.value == code


def test_a_deprecated_code_is_read():
    old, new = projected_grid(29900), projected_grid(29902)
    assert "Irish National Grid" in old.name
    assert old.to_grid(53.0, -7.0) == pytest.approx(new.to_grid(53.0, -7.0), abs=1e-6)


def test_longitudes_count_from_the_meridian_of_the_grid_s_own_datum():
    paris = projected_grid(27572)
    assert paris.datum.prime_meridian_deg == pytest.approx(2.33722917, abs=1e-12)
    # The origin of zone II lies on it: 52 grads north, by the dataset.
    assert paris.to_grid(46.8, 0.0) == pytest.approx((600_000.0, 2_200_000.0), abs=1e-6)
    assert paris.contains(46.8, 0.0)
    # The area's box ends at 4.87 W of Greenwich.
    west_deg = paris.area.west_deg - paris.datum.prime_meridian_deg
    assert paris.contains(46.8, west_deg - AREA_MARGIN_DEG + 0.001)
    assert not paris.contains(46.8, west_deg - AREA_MARGIN_DEG - 0.001)


def test_metres_are_given_whatever_the_unit_of_the_dataset():
    long_island = projected_grid(2263)
    assert long_island.unit_name == "US survey foot"
    # Its false easting is 300,000 m, at 74 W; published in the dataset as 984,250 US survey feet.
    easting_m, _ = long_island.to_grid(40.5, -74.0)
    assert easting_m == pytest.approx(300_000.0, abs=1e-6)


def test_the_area_may_lie_across_the_antimeridian():
    fiji = projected_grid(3460)
    assert fiji.area.west_deg > fiji.area.east_deg
    assert fiji.contains(-17.0, [177.0, 179.99, 180.0, -180.0, -179.9, 181.0]).all()
    assert not fiji.contains(-17.0, [170.0, 0.0, -170.0]).any()


def test_the_area_has_a_margin_and_no_more():
    grid = projected_grid(27700)
    assert grid.contains([49.26, 61.50], 0.0).all()
    assert not grid.contains([49.24, 61.52, np.nan, np.inf], 0.0).any()
    assert not grid.contains(55.0, [100.0, -10.0, 3.0, np.nan]).any()
    assert projected_grid(3857).contains(0.0, [-180.0, 0.0, 179.9, 359.0]).all()
    assert projected_grid(5041).contains(90.0, [-180.0, 0.0, 200.0]).all()


def test_coordinates_that_come_round_the_earth_again_are_outside():
    grid = projected_grid(3857)
    around_m = 2.0 * math.pi * 6_378_137.0
    grid.from_grid(1_000_000.0, 6_000_000.0)
    with pytest.raises(OutsideGridError, match="outside all that"):
        grid.from_grid(1_000_000.0 + around_m, 6_000_000.0)
    with pytest.raises(OutsideGridError):
        projected_grid(27700).from_grid([4e5, 1e9], [3e5, 1e9])
    with pytest.raises(OutsideGridError):
        projected_grid(27700).from_grid(1e300, 0.0)


@pytest.mark.parametrize("coordinates", [(np.nan, 0.0), (0.0, np.inf), ([1.0, -np.inf], 0.0)])
def test_what_is_no_number_is_no_coordinate(coordinates):
    with pytest.raises(OutOfRangeError):
        projected_grid(27700).from_grid(*coordinates)


@pytest.mark.parametrize(
    "place", [(90.1, 0.0), (-95.0, 0.0), (np.nan, 0.0), (50.0, 360.0), (50.0, np.nan), (50.0, -181.0)]
)
def test_what_is_no_place_is_refused(place):
    grid = projected_grid(27700)
    for function in (grid.to_grid, grid.convergence_and_scale):
        with pytest.raises(OutOfRangeError):
            function(*place)


def test_a_place_without_an_image_is_outside():
    """The cone of Texas has no image of the south pole."""
    grid = projected_grid(32040)
    for function in (grid.to_grid, grid.convergence_and_scale):
        with pytest.raises(OutsideGridError, match="Texas"):
            function([28.0, -90.0], -96.0)


def test_shapes():
    grid = projected_grid(27700)
    easting_m, northing_m = grid.to_grid(52.0, 1.0)
    assert np.ndim(easting_m) == np.ndim(northing_m) == 0
    for function in (grid.to_grid, grid.convergence_and_scale, grid.from_grid):
        assert [value.shape for value in function([52.0], [1.0])] == [(1,), (1,)]
        assert [value.shape for value in function([], [])] == [(0,), (0,)]
        assert [value.shape for value in function([[52.0], [53.0]], [1.0, 0.0, 0.5])] == [(2, 3), (2, 3)]
    assert grid.contains([[52.0], [53.0]], [1.0, 100.0]).shape == (2, 2)
    one, many = grid.to_grid(53.0, 0.5), grid.to_grid([[52.0], [53.0]], [1.0, 0.5])
    assert (one[0], one[1]) == (many[0][1, 1], many[1][1, 1])


def test_threads_share_one_grid():
    def work(index):
        grid = projected_grid(27700)
        return grid, grid.to_grid(50.0 + index / 100.0, -3.0)

    expected = [work(index)[1] for index in range(400)]
    with ThreadPoolExecutor(8) as pool:
        results = list(pool.map(work, range(400)))
    assert [result[1] for result in results] == expected
    assert {id(result[0]) for result in results} == {id(projected_grid(27700))}
