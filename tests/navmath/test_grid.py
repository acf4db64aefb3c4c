import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.errors import OutOfRangeError, OutsideGridError
from threenorths_service.navmath.grids.grid import (
    band_of,
    central_meridian_deg,
    check_ups,
    check_utm,
    convergence_and_scale,
    from_grid,
    to_grid,
    within_reach,
    zone_of,
)

latitudes = st.floats(-90.0, 90.0)
longitudes = st.floats(-180.0, 360.0, exclude_max=True)

# On another ellipsoid: the service stands on WGS 84 alone.
NOT_WGS84 = {"IOGP-7-2-TM"}
EXAMPLES = [row for row in rows("utm_examples") if row["id"] not in NOT_WGS84]


def half_digit(printed):
    """Half the last digit of a number as it was printed."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["id"])
def test_published_grid_coordinates(row):
    assert row["ellipsoid"] == "WGS84"
    zone = 0 if row["zone_or_grid"] == "UPS" else int(row["zone_or_grid"])
    grid = to_grid(float(row["lat_deg"]), float(row["lon_deg"]), zone, row["hemisphere"] == "S")
    # Half the last digit, and the rounding of 10,000 km. Latitudes and longitudes are printed to 12 decimals.
    tolerance_m = 0.5 * float(row["digits"].split()[0]) + 1e-8
    assert grid.easting_m == pytest.approx(float(row["easting_m"]), abs=tolerance_m)
    assert grid.northing_m == pytest.approx(float(row["northing_m"]), abs=tolerance_m)


@pytest.mark.parametrize(
    "row", [row for row in EXAMPLES if row["convergence_deg"]], ids=lambda row: row["id"]
)
def test_published_convergence_and_scale(row):
    convergence_deg, scale = convergence_and_scale(
        float(row["lat_deg"]),
        float(row["lon_deg"]),
        0 if row["zone_or_grid"] == "UPS" else int(row["zone_or_grid"]),
        row["hemisphere"] == "S",
    )
    # The zeros at the end of UPS convergences are not printed; the published figures have 8 decimals or more.
    tolerance_deg = max(half_digit(row["convergence_deg"].ljust(12, "0")), 5e-9)
    assert convergence_deg == pytest.approx(float(row["convergence_deg"]), abs=tolerance_deg * 1.01)
    assert scale == pytest.approx(float(row["scale"]), abs=half_digit(row["scale"]) * 1.01)


# EPSG's own definitions, through the coordinate systems of the projection library.
SYSTEMS = [(zone, False, 32600 + zone) for zone in (1, 31, 32, 60)]
SYSTEMS += [(zone, True, 32700 + zone) for zone in (1, 19, 60)]
SYSTEMS += [(0, False, 5041), (0, True, 5042)]


@pytest.mark.parametrize(("zone", "south", "code"), SYSTEMS)
def test_the_registered_coordinate_systems(zone, south, code):
    random = np.random.default_rng(code)
    lat_deg = random.uniform(70.0, 90.0, 2000) if zone == 0 else random.uniform(0.0, 84.5, 2000)
    lon_deg = random.uniform(-180.0, 180.0, 2000)
    if zone:
        lon_deg = (central_meridian_deg(zone) + random.uniform(-9.0, 9.0, 2000) + 180.0) % 360.0 - 180.0
    lat_deg = -lat_deg if south else lat_deg
    system = pyproj.Transformer.from_crs(4326, code, always_xy=True)
    easting_m, northing_m = system.transform(lon_deg, lat_deg)
    grid = to_grid(lat_deg, lon_deg, zone, south)
    # Rounding only: the longitude at 180 degrees has 3e-14 degree, or 3 nm; the northing 2 nm.
    np.testing.assert_allclose(grid.easting_m, easting_m, rtol=0, atol=2e-8)
    np.testing.assert_allclose(grid.northing_m, northing_m, rtol=0, atol=2e-8)
    back_lat_deg, back_lon_deg = from_grid(zone, south, easting_m, northing_m)
    # The library's inverse of UPS ends its iteration at 0.1 um, or 1e-12 degree; near the pole no longitude holds.
    np.testing.assert_allclose(back_lat_deg, lat_deg, rtol=0, atol=2e-12)
    away = np.abs(lat_deg) < 89.0
    turn_deg = (back_lon_deg - lon_deg + 180.0) % 360.0 - 180.0
    np.testing.assert_allclose(turn_deg[away], 0.0, rtol=0, atol=1e-11)


# The edges of the zones: DMA TM 8358.1, section 2-6; the zones of Norway and Svalbard as in published/mgrs_examples.csv.
ZONES = {
    "equator-is-north": (0.0, 0.0, 31, "N"),
    "just-south-of-the-equator": (-1e-300, 0.0, 31, "M"),
    "just-west-of-a-zone": (0.0, np.nextafter(6.0, 0.0), 31, "N"),
    "western-edge": (0.0, 6.0, 32, "N"),
    "just-west-of-greenwich": (0.0, -1e-300, 30, "N"),
    "180-east": (0.0, 180.0, 1, "N"),
    "180-west": (0.0, -180.0, 1, "N"),
    "just-west-of-180": (0.0, np.nextafter(180.0, 0.0), 60, "N"),
    "over-180": (0.0, 190.0, 2, "N"),
    "just-under-360": (0.0, np.nextafter(360.0, 0.0), 30, "N"),
    "80-south": (-80.0, 0.0, 31, "C"),
    "beyond-80-south": (np.nextafter(-80.0, -90.0), 0.0, 0, "B"),
    "84-north": (84.0, 0.0, 0, "Z"),
    "under-84-north": (np.nextafter(84.0, 0.0), 0.0, 31, "X"),
    "band-x-is-twelve-degrees": (80.0, 50.0, 39, "X"),
    "band-edge": (8.0, 0.0, 31, "P"),
    "norway-west-edge": (56.0, 3.0, 32, "V"),
    "norway-just-west": (56.0, np.nextafter(3.0, 0.0), 31, "V"),
    "norway-just-south": (np.nextafter(56.0, 0.0), 3.0, 31, "U"),
    "norway-north-edge": (64.0, 3.0, 31, "W"),
    "svalbard-31": (72.0, np.nextafter(9.0, 0.0), 31, "X"),
    "svalbard-33-west": (72.0, 9.0, 33, "X"),
    "svalbard-33-east": (83.9, np.nextafter(21.0, 0.0), 33, "X"),
    "svalbard-35-west": (72.0, 21.0, 35, "X"),
    "svalbard-37-west": (72.0, 33.0, 37, "X"),
    "svalbard-37-east": (72.0, np.nextafter(42.0, 0.0), 37, "X"),
    "svalbard-38": (72.0, 42.0, 38, "X"),
    "svalbard-just-south": (np.nextafter(72.0, 0.0), 9.0, 32, "W"),
    "north-pole": (90.0, -45.0, 0, "Z"),
    "south-pole": (-90.0, -45.0, 0, "B"),
    "west-half-north": (85.0, -1e-9, 0, "Y"),
    "east-half-north": (85.0, 0.0, 0, "Z"),
    "180-west-is-on-the-east-half": (85.0, -180.0, 0, "Z"),
    "180-east-is-the-same-place": (85.0, 180.0, 0, "Z"),
    "just-east-of-180": (85.0, np.nextafter(-180.0, 0.0), 0, "Y"),
    "west-half-south": (-85.0, -90.0, 0, "A"),
    "west-half-written-over-180": (-85.0, 270.0, 0, "A"),
}


@pytest.mark.parametrize("place", ZONES.values(), ids=ZONES.keys())
def test_zone_and_band_at_every_kind_of_edge(place):
    lat_deg, lon_deg, zone, band = place
    assert zone_of(lat_deg, lon_deg) == zone
    assert band_of(lat_deg, lon_deg) == band


def test_zones_of_arrays_broadcast():
    assert zone_of([[45.0], [-85.0]], [0.0, 6.0, 12.0]).tolist() == [[31, 32, 33], [0, 0, 0]]
    assert band_of([[45.0], [-85.0]], [0.0, 6.0]).tolist() == [["T", "T"], ["B", "B"]]


@given(latitudes, longitudes)
def test_what_is_put_on_the_grid_comes_back(lat_deg, lon_deg):
    grid = to_grid(lat_deg, lon_deg)
    back_lat_deg, back_lon_deg = from_grid(grid.zone, grid.south, grid.easting_m, grid.northing_m)
    assert -180.0 <= back_lon_deg < 180.0
    distance_m = pyproj.Geod(ellps="WGS84").inv(lon_deg, lat_deg, back_lon_deg, back_lat_deg)[2]
    # 0.1 um is where the library's inverse of UPS ends its iteration.
    assert distance_m < 2e-7


@given(latitudes, longitudes)
def test_no_place_gives_nan(lat_deg, lon_deg):
    grid = to_grid(lat_deg, lon_deg)
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg)
    assert np.isfinite([grid.easting_m, grid.northing_m, convergence_deg, scale]).all()
    assert -180.0 < convergence_deg <= 180.0


@given(latitudes, longitudes)
def test_grid_north_is_where_the_convergence_says(lat_deg, lon_deg):
    grid = to_grid(lat_deg, lon_deg)
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg)
    start = from_grid(grid.zone, grid.south, grid.easting_m, grid.northing_m - 50.0)
    end = from_grid(grid.zone, grid.south, grid.easting_m, grid.northing_m + 50.0)
    geod = pyproj.Geod(ellps="WGS84")
    _, _, distance_m = geod.inv(start[1], start[0], end[1], end[0])
    assert distance_m * scale == pytest.approx(100.0, abs=1e-4)
    if abs(lat_deg) < 89.9:
        to_start, _, _ = geod.inv(lon_deg, lat_deg, start[1], start[0])
        to_end, _, _ = geod.inv(lon_deg, lat_deg, end[1], end[0])
        # The grid line's bend over 50 m is the same to both sides, so that their mean is its direction; what is left is
        # the rounding of the places, 0.1 um in 50 m.
        turned = (to_end + to_start + 180.0) / 2.0 - convergence_deg
        assert (turned + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=1e-6)


def test_the_scale_at_the_poles_and_on_central_meridians():
    _, scale = convergence_and_scale([90.0, -90.0, 45.0, -45.0], [10.0, 10.0, 9.0, 9.0])
    np.testing.assert_allclose(scale, [0.994, 0.994, 0.9996, 0.9996], rtol=0, atol=1e-15)


def test_ups_scale_agrees_with_the_projection_library():
    lat_deg = np.linspace(80.0, 89.9, 100)
    factors = pyproj.Proj(5041).get_factors(np.full(100, 20.0), lat_deg)
    _, scale = convergence_and_scale(lat_deg, 20.0, 0, False)
    # The library differentiates by differences; its two scales differ by up to 3e-8 near the pole.
    np.testing.assert_allclose(scale, factors.meridional_scale, rtol=0, atol=1e-8)
    _, scale = convergence_and_scale(-lat_deg, 20.0, 0, True)
    np.testing.assert_allclose(scale, factors.meridional_scale, rtol=0, atol=1e-8)


def test_ups_convergence_is_the_longitude_and_its_opposite_in_the_south():
    convergence_deg, _ = convergence_and_scale([85.0, -85.0, 90.0, -90.0], [200.0, 200.0, -180.0, -180.0])
    np.testing.assert_allclose(convergence_deg, [-160.0, 160.0, 180.0, 180.0], rtol=0, atol=1e-12)


def test_a_line_over_the_antimeridian_stays_on_one_grid():
    west = to_grid(10.0, 179.99, 60)
    east = to_grid(10.0, -179.99, 60)
    _, _, distance_m = pyproj.Geod(ellps="WGS84").inv(179.99, 10.0, -179.99, 10.0)
    assert east.easting_m - west.easting_m == pytest.approx(
        distance_m, rel=1.1e-3
    )  # the scale at the zone's edge
    assert (to_grid(10.0, 180.01, 60).easting_m, to_grid(10.0, 180.0, 1)) == (
        pytest.approx(east.easting_m, abs=1e-8),
        to_grid(10.0, -180.0, 1),
    )


def test_the_meridian_of_180_degrees_comes_back_as_minus_180():
    assert from_grid(0, False, 2_000_000.0, 2_500_000.0)[1] == -180.0
    assert from_grid(0, True, 2_000_000.0, 1_500_000.0)[1] == -180.0


def test_a_line_over_the_equator_stays_on_one_grid():
    assert to_grid(-0.001, 9.0, 32, False).northing_m == pytest.approx(-110.53, abs=0.01)
    assert to_grid(0.001, 9.0, 32, True).northing_m == pytest.approx(10_000_110.53, abs=0.01)


def test_a_longitude_over_180_is_the_same_place():
    assert to_grid(45.0, 350.0) == to_grid(45.0, -10.0)


def test_scalars_give_scalars_and_mixed_zones_go_together():
    grid = to_grid(45.0, 9.0)
    assert np.ndim(grid.zone) == np.ndim(grid.easting_m) == 0
    mixed = to_grid([[45.0, 89.0], [-45.0, -89.0]], [[9.0, 9.0], [170.0, 170.0]])
    assert mixed.zone.tolist() == [[32, 0], [59, 0]]
    assert mixed.south.tolist() == [[False, False], [True, True]]
    for index in np.ndindex(2, 2):
        alone = to_grid([45.0, 89.0, -45.0, -89.0][2 * index[0] + index[1]], [9.0, 170.0][index[0]])
        assert (mixed.easting_m[index], mixed.northing_m[index]) == (alone.easting_m, alone.northing_m)


def test_no_rows_give_no_rows():
    assert (
        to_grid([], []).zone.shape == zone_of([], []).shape == convergence_and_scale([], [])[0].shape == (0,)
    )


@pytest.mark.parametrize("lat_deg", [90.0000001, -91.0, np.nan, np.inf])
@pytest.mark.parametrize("function", [to_grid, zone_of, band_of, convergence_and_scale])
def test_a_latitude_out_of_range_is_named(function, lat_deg):
    with pytest.raises(OutOfRangeError) as caught:
        function([0.0, lat_deg], 0.0)
    assert caught.value.member == "lat_deg"
    assert caught.value.allowed == "-90 to 90"


@pytest.mark.parametrize("lon_deg", [360.0, -180.0000001, np.nan, np.inf])
def test_a_longitude_out_of_range_is_named(lon_deg):
    with pytest.raises(OutOfRangeError) as caught:
        to_grid(0.0, [0.0, lon_deg])
    assert caught.value.member == "lon_deg"


def test_the_reach_of_a_zone():
    assert within_reach(60.0, [29.0, 29.1, -11.0, 189.0], 32, False).tolist() == [True, False, True, False]
    assert within_reach(10.0, [-175.0, 163.0], 60, False).tolist() == [True, True]
    assert within_reach([70.0, 69.9, -85.0], 200.0, 0, False).tolist() == [True, False, False]
    assert within_reach([-70.0, -69.9, 85.0], 200.0, 0, True).tolist() == [True, False, False]


# Zone, south, easting, northing and the member at fault. The limits: 84 30 N is northing 9,383,913 m on the central
# meridian and 80 30 S is 1,062,606 m; 83 30 N is 722,398 m from the pole and 79 30 S is 1,168,892 m.
GOOD_UTM = [
    (1, False, 100_000.0, 0.0),
    (60, False, 899_999.999, 9_383_912.0),
    (31, True, 500_000.0, 10_000_000.0),
    (31, True, 500_000.0, 1_062_606.0),
]
BAD_UTM = {
    "zone-0": (0, False, 500_000.0, 0.0, OutOfRangeError, "zone"),
    "zone-61": (61, False, 500_000.0, 0.0, OutOfRangeError, "zone"),
    "far-west": (31, False, 99_999.999, 0.0, OutsideGridError, "easting_m"),
    "far-east": (31, False, 900_000.0, 0.0, OutsideGridError, "easting_m"),
    "easting-nan": (31, False, np.nan, 0.0, OutsideGridError, "easting_m"),
    "south-of-the-equator": (31, False, 500_000.0, -0.001, OutsideGridError, "northing_m"),
    "beyond-84-30": (31, False, 500_000.0, 9_383_914.0, OutsideGridError, "northing_m"),
    "beyond-80-30": (31, True, 500_000.0, 1_062_605.0, OutsideGridError, "northing_m"),
    "north-of-the-equator": (31, True, 500_000.0, 10_000_000.001, OutsideGridError, "northing_m"),
    "northing-infinite": (31, True, 500_000.0, np.inf, OutsideGridError, "northing_m"),
}


@pytest.mark.parametrize("coordinates", GOOD_UTM)
def test_utm_coordinates_within_reach_pass(coordinates):
    check_utm(*coordinates)
    assert np.isfinite(from_grid(*coordinates)).all()


@pytest.mark.parametrize("case", BAD_UTM.values(), ids=BAD_UTM.keys())
def test_utm_coordinates_beyond_reach_are_named(case):
    *coordinates, error, member = case
    with pytest.raises(error) as caught:
        check_utm(*coordinates)
    assert caught.value.member == member
    assert caught.value.allowed


def test_the_whole_of_every_utm_zone_is_within_reach():
    lat_deg, lon_deg = np.meshgrid(np.append(np.arange(-80.0, 84.0), 83.999999), np.arange(-180.0, 180.0))
    grid = to_grid(lat_deg, lon_deg)
    for row in zip(
        *(column.ravel() for column in (grid.zone, grid.south, grid.easting_m, grid.northing_m)), strict=True
    ):
        check_utm(*row)


def test_ups_coordinates_within_reach_pass():
    for south, lat_deg in ((False, 84.0), (False, 90.0), (True, -80.0), (True, -90.0)):
        for lon_deg in range(-180, 180, 15):
            grid = to_grid(lat_deg, lon_deg, 0, south)
            check_ups(south, grid.easting_m, grid.northing_m)


BAD_UPS = {
    "easting": (False, 1_299_999.0, 2_000_000.0, "easting_m"),
    "northing": (False, 2_000_000.0, 2_700_000.0, "northing_m"),
    "both-together": (False, 2_600_000.0, 2_600_000.0, None),
    "south": (True, 831_107.0, 2_000_000.0, "easting_m"),
    "nan": (True, 2_000_000.0, np.nan, "northing_m"),
}


@pytest.mark.parametrize("case", BAD_UPS.values(), ids=BAD_UPS.keys())
def test_ups_coordinates_beyond_reach_are_named(case):
    *coordinates, member = case
    with pytest.raises(OutsideGridError) as caught:
        check_ups(*coordinates)
    assert caught.value.member == member
