import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from threenorths_service.navmath.angle import normalise_signed
from threenorths_service.navmath.errors import DateMissingError, DateOutsideModelError, OutOfRangeError
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.lines.line import line_between
from threenorths_service.navmath.lines.ray import ray_from
from threenorths_service.navmath.magnetism.magnetic import declination_at

YEAR = 2027.25

#: The library's accuracy on WGS 84 is 15 nm (Karney 2013, abstract); a longitude's rounding at 360 degrees, 3 nm, twice.
PLACE_NOISE_M = 2.1e-8
#: A grid ray's end is turned to within 0.1 um; grid coordinates are rounded to 1 nm at 10,000 km, and ours are good to 5.
GRID_NOISE_M = 1e-7 + 1e-8 + PLACE_NOISE_M
#: A few roundings of numbers under 360.
ROUNDING_DEG = 2e-13

azimuths = st.floats(0.0, 360.0, exclude_max=True)
distances = st.floats(0.0, 5.0).map(lambda power: 10.0**power)
edges_of_longitude = st.builds(
    lambda edge, side: (edge + side + 180.0) % 360.0 - 180.0,
    st.integers(-30, 30).map(lambda zone: 6.0 * zone),
    st.floats(-0.1, 0.1),
)
edges_of_latitude = st.builds(
    lambda edge, side: max(-90.0, min(90.0, edge + side)),
    st.sampled_from([-90.0, -80.0, 0.0, 56.0, 72.0, 84.0, 90.0]),
    st.floats(-0.1, 0.1),
)
starts = st.tuples(
    st.one_of(st.floats(-90.0, 90.0), edges_of_latitude),
    st.one_of(st.floats(-180.0, 360.0, exclude_max=True), edges_of_longitude),
)


def off_deg(one_deg, other_deg):
    return np.abs(normalise_signed(np.subtract(one_deg, other_deg)))


@given(starts, azimuths, distances)
@example((90.0, 20.0), 30.0, 100.0)
@example((-90.0, 200.0), 30.0, 100.0)
@example((89.9999, 0.0), 0.0, 100_000.0)
@example((-17.0, 179.9999), 90.0, 100_000.0)
def test_a_line_gives_back_the_true_ray(start, azimuth_deg, distance_m):
    ray = ray_from(*start, azimuth_deg, "true", distance_m)
    line = line_between(*start, ray.lat_deg, ray.lon_deg)
    assert ray.grid_reached
    assert ray.true_azimuth_deg == azimuth_deg
    assert line.distance_m == pytest.approx(distance_m, abs=PLACE_NOISE_M, rel=0)
    tolerance_deg = math.degrees(PLACE_NOISE_M / distance_m) + ROUNDING_DEG
    assert off_deg(line.true_azimuth_deg, azimuth_deg) < tolerance_deg
    # At the end the north itself turns with the place, the faster the nearer the pole.
    to_pole_m = max(111_000.0 * (90.0 - abs(ray.lat_deg)), PLACE_NOISE_M)
    turned_deg = math.degrees(PLACE_NOISE_M / to_pole_m)
    assert off_deg(line.true_back_azimuth_deg, ray.true_back_azimuth_deg) < tolerance_deg + turned_deg
    assert -180.0 <= ray.lon_deg < 180.0


@given(starts, azimuths, distances)
@example((90.0, 20.0), 30.0, 100.0)
@example((-85.0, 100.0), 359.0, 100_000.0)
def test_a_line_gives_back_the_magnetic_ray(start, azimuth_deg, distance_m):
    ray = ray_from(*start, azimuth_deg, "magnetic", distance_m, YEAR)
    line = line_between(*start, ray.lat_deg, ray.lon_deg, YEAR)
    assert line.distance_m == pytest.approx(distance_m, abs=PLACE_NOISE_M, rel=0)
    tolerance_deg = math.degrees(PLACE_NOISE_M / distance_m) + 2 * ROUNDING_DEG
    assert off_deg(line.magnetic_azimuth_deg, azimuth_deg) < tolerance_deg
    assert off_deg(ray.true_azimuth_deg, azimuth_deg + declination_at(*start, YEAR)) < ROUNDING_DEG


@given(starts, azimuths, distances)
@example((90.0, 20.0), 30.0, 100.0)
@example((-90.0, 200.0), 30.0, 100_000.0)
@example((89.99, 0.0), 180.0, 50_000.0)
@example((83.999, 5.999), 45.0, 100_000.0)
@example((0.0001, -179.9999), 225.0, 100_000.0)
@example((78.0, 8.9999), 100.0, 100_000.0)
def test_a_line_gives_back_the_grid_ray(start, azimuth_deg, distance_m):
    ray = ray_from(*start, azimuth_deg, "grid", distance_m)
    line = line_between(*start, ray.lat_deg, ray.lon_deg)
    assert ray.grid_reached
    assert line.distance_m == pytest.approx(distance_m, abs=PLACE_NOISE_M, rel=0)
    tolerance_deg = math.degrees(GRID_NOISE_M / distance_m) + 2 * ROUNDING_DEG
    assert off_deg(line.grid_azimuth_deg, azimuth_deg) < tolerance_deg
    assert off_deg(line.true_azimuth_deg, ray.true_azimuth_deg) < tolerance_deg
    assert 0.0 <= ray.true_azimuth_deg < 360.0


@given(st.floats(-79.0, 83.0), st.floats(-10.0, 10.0), azimuths, distances)
def test_a_line_on_a_grid_that_is_named_gives_back_the_ray(lat_deg, lon_deg, azimuth_deg, distance_m):
    ray = ray_from(lat_deg, lon_deg + 147.0, azimuth_deg, "grid", distance_m, zone=55, south=True)
    line = line_between(lat_deg, lon_deg + 147.0, ray.lat_deg, ray.lon_deg, zone=55, south=True)
    assert line.distance_m == pytest.approx(distance_m, abs=PLACE_NOISE_M, rel=0)
    tolerance_deg = math.degrees(GRID_NOISE_M / distance_m) + 2 * ROUNDING_DEG
    assert off_deg(line.grid_azimuth_deg, azimuth_deg) < tolerance_deg


@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
@pytest.mark.parametrize("start", [(47.0, 8.0), (-17.0, 179.99), (90.0, 20.0), (-90.0, 0.0)])
def test_a_ray_of_no_length_ends_where_it_starts(north, start):
    ray = ray_from(*start, 30.0, north, 0.0, YEAR)
    assert ray.lat_deg == pytest.approx(start[0], abs=2e-14, rel=0)
    assert ray.lon_deg == pytest.approx(start[1], abs=3e-14, rel=0)
    assert ray.grid_reached
    assert off_deg(ray.true_back_azimuth_deg, ray.true_azimuth_deg + 180.0) < ROUNDING_DEG


@pytest.mark.parametrize(("given_deg", "azimuth_deg"), [(360.0, 0.0), (-90.0, 270.0), (725.0, 5.0)])
def test_any_number_of_turns_is_a_direction(given_deg, azimuth_deg):
    for north in ("true", "grid"):
        turned, plain = (ray_from(47.0, 8.0, angle, north, 1000.0) for angle in (given_deg, azimuth_deg))
        assert turned.lat_deg == pytest.approx(plain.lat_deg, abs=1e-12, rel=0)
        assert off_deg(turned.true_azimuth_deg, plain.true_azimuth_deg) < 1e-9
        assert 0.0 <= turned.true_azimuth_deg < 360.0


def test_the_back_azimuth_leads_back():
    for north in ("true", "grid", "magnetic"):
        ray = ray_from(69.0, 19.0, 40.0, north, 100_000.0, YEAR)
        back_lat_deg, back_lon_deg, _ = direct(ray.lat_deg, ray.lon_deg, ray.true_back_azimuth_deg, 100_000.0)
        assert inverse(69.0, 19.0, back_lat_deg, back_lon_deg)[2] < 2 * PLACE_NOISE_M


@pytest.mark.parametrize(
    ("start", "distance_m"),
    [((60.0, 3.0), 2_000_000.0), ((0.0, 3.0), 12_000_000.0), ((88.0, 10.0), 3_000_000.0)],
)
def test_a_grid_ray_that_ends_beyond_its_grid_says_so(start, distance_m):
    ray = ray_from(*start, 90.0, "grid", distance_m)
    assert not ray.grid_reached
    assert np.isnan([ray.lat_deg, ray.lon_deg, ray.true_azimuth_deg, ray.true_back_azimuth_deg]).all()
    assert np.isfinite(ray_from(*start, 90.0, "true", distance_m).lat_deg)
    assert ray_from(*start, 90.0, "true", distance_m).grid_reached


def test_a_grid_ray_from_beyond_a_grid_that_is_named_says_so():
    # Its end would be within reach.
    assert not ray_from(47.0, 6.9, 90.0, "grid", 20_000.0, zone=35, south=False).grid_reached
    assert ray_from(47.0, 7.1, 90.0, "grid", 20_000.0, zone=35, south=False).grid_reached
    assert not ray_from(85.0, 7.0, 90.0, "grid", 20_000.0, zone=0, south=True).grid_reached


def test_a_ray_beyond_the_grid_spoils_no_other():
    rays = ray_from(60.0, 3.0, 90.0, "grid", [1_000.0, 2_000_000.0, 100_000.0])
    assert rays.grid_reached.tolist() == [True, False, True]
    for row, distance_m in ((0, 1_000.0), (2, 100_000.0)):
        alone = ray_from(60.0, 3.0, 90.0, "grid", distance_m)
        assert inverse(alone.lat_deg, alone.lon_deg, rays.lat_deg[row], rays.lon_deg[row])[2] < GRID_NOISE_M


@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
def test_arrays_are_what_each_row_would_be_alone(north):
    lat_deg, lon_deg = np.array([[47.0], [-17.0], [88.0]]), np.array([8.0, 179.999, -120.0])
    azimuth_deg, distance_m = np.array([0.0, 120.0, 359.9]), 25_000.0
    rays = ray_from(lat_deg, lon_deg, azimuth_deg, north, distance_m, YEAR)
    for member in (
        rays.lat_deg,
        rays.lon_deg,
        rays.true_azimuth_deg,
        rays.true_back_azimuth_deg,
        rays.grid_reached,
    ):
        assert member.shape == (3, 3)
    for row in range(3):
        for column in range(3):
            alone = ray_from(lat_deg[row, 0], lon_deg[column], azimuth_deg[column], north, distance_m, YEAR)
            missed_m = inverse(
                alone.lat_deg, alone.lon_deg, rays.lat_deg[row, column], rays.lon_deg[row, column]
            )[2]
            # In company a grid ray may be turned once more than alone.
            assert missed_m < (GRID_NOISE_M if north == "grid" else PLACE_NOISE_M)
            tolerance_deg = math.degrees(GRID_NOISE_M / distance_m)
            assert off_deg(rays.true_azimuth_deg[row, column], alone.true_azimuth_deg) < tolerance_deg


def test_a_magnetic_ray_needs_a_date():
    with pytest.raises(DateMissingError) as raised:
        ray_from(47.0, 8.0, 30.0, "magnetic", 1000.0)
    assert raised.value.member == "date"
    assert raised.value.code == "date_missing"
    ray_from(47.0, 8.0, 30.0, "true", 1000.0)


def test_a_date_beyond_the_magnetic_model_is_an_error():
    with pytest.raises(DateOutsideModelError):
        ray_from(47.0, 8.0, 30.0, "magnetic", 1000.0, 2031.0)


@pytest.mark.parametrize("north", ["grid", "magnetic"])
@pytest.mark.parametrize("start", [(91.0, 0.0), (-90.5, 0.0), (math.nan, 0.0)])
def test_no_place_of_this_world_is_an_error(north, start):
    with pytest.raises(OutOfRangeError):
        ray_from(*start, 30.0, north, 1000.0, YEAR)


@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
def test_a_ray_ends_at_the_very_same_place_alone_as_among_others(north):
    rng = np.random.default_rng(2)
    count = 300
    lat, lon = rng.uniform(-90.0, 90.0, count), rng.uniform(-180.0, 180.0, count)
    azimuth, distance = rng.uniform(0.0, 360.0, count), 10.0 ** rng.uniform(0.0, 6.5, count)
    together = ray_from(lat, lon, azimuth, north, distance, YEAR)
    for row in range(count):
        alone = ray_from(lat[row], lon[row], azimuth[row], north, distance[row], YEAR)
        for name in ("lat_deg", "lon_deg", "true_azimuth_deg", "true_back_azimuth_deg", "grid_reached"):
            np.testing.assert_equal(getattr(alone, name), getattr(together, name)[row], err_msg=name)
