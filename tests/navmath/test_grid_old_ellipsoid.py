"""UTM and UPS on the ellipsoids of old datums, against the registry's own coordinate systems."""

import math

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.grids.ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from threenorths_service.navmath.grids.grid import convergence_and_scale, from_grid, to_grid, within_reach
from threenorths_service.navmath.grids.projections import UPS_FALSE_ORIGIN_M, UPS_SCALE


def ellipsoid_of(code):
    """The ellipsoid of a coordinate reference system of the EPSG dataset."""
    figure = pyproj.CRS(code).ellipsoid
    return Ellipsoid(figure.name, figure.semi_major_metre, figure.inverse_flattening)


# NAD27 / UTM 15N (Clarke 1866), ED50 / UTM 30N (International 1924), Tokyo / UTM 54N (Bessel 1841), Adindan / UTM 37N
# (Clarke 1880 RGS), and one of the south: Arc 1960 / UTM 36S (Clarke 1880 RGS).
SYSTEMS = {
    26715: (15, False),
    23030: (30, False),
    3095: (54, False),
    20137: (37, False),
    21036: (36, True),
}
#: Flatter than any that a datum has.
VERY_FLAT = Ellipsoid("very flat", 6_378_300.0, 280.0)
figures = st.sampled_from([*map(ellipsoid_of, SYSTEMS), VERY_FLAT])


@pytest.mark.parametrize("code", SYSTEMS)
def test_the_registered_coordinate_systems(code):
    zone, south = SYSTEMS[code]
    system = pyproj.CRS(code)
    ellipsoid = ellipsoid_of(code)
    assert ellipsoid.semi_major_axis_m != WGS84_ELLIPSOID.semi_major_axis_m
    random = np.random.default_rng(code)
    lat_deg = random.uniform(-80.0, 0.0, 2000) if south else random.uniform(0.0, 84.0, 2000)
    lon_deg = zone * 6.0 - 183.0 + random.uniform(-6.0, 6.0, 2000)
    own = pyproj.Transformer.from_crs(system.geodetic_crs, system, always_xy=True)
    easting_m, northing_m = own.transform(lon_deg, lat_deg)
    grid = to_grid(lat_deg, lon_deg, zone, south, ellipsoid=ellipsoid)
    # 0.1 mm is asked. What is left is rounding: 10,000 km has 2 nm, and Clarke's axes are given there, his flattening here.
    np.testing.assert_allclose(grid.easting_m, easting_m, rtol=0, atol=2e-8)
    np.testing.assert_allclose(grid.northing_m, northing_m, rtol=0, atol=2e-8)
    back = from_grid(zone, south, easting_m, northing_m, ellipsoid=ellipsoid)
    np.testing.assert_allclose(back, [lat_deg, lon_deg], rtol=0, atol=2e-12)
    # The grid of WGS 84 is another: metres to hundreds of metres off.
    assert np.abs(to_grid(lat_deg, lon_deg, zone, south).northing_m - northing_m).max() > 20.0


@pytest.mark.parametrize("south", [False, True])
def test_ups_on_an_old_ellipsoid(south):
    ellipsoid = ellipsoid_of(4267)
    own = pyproj.Proj(
        f"+proj=stere +lat_0={-90 if south else 90} +k={UPS_SCALE} +x_0={UPS_FALSE_ORIGIN_M} "
        f"+y_0={UPS_FALSE_ORIGIN_M} +ellps=clrk66"
    )
    lat_deg, lon_deg = np.meshgrid(np.linspace(75.0, 89.9, 50), np.linspace(-179.0, 179.0, 40))
    lat_deg = -lat_deg if south else lat_deg
    grid = to_grid(lat_deg, lon_deg, 0, south, ellipsoid=ellipsoid)
    np.testing.assert_allclose([grid.easting_m, grid.northing_m], own(lon_deg, lat_deg), rtol=0, atol=1e-7)
    _, scale = convergence_and_scale(lat_deg, lon_deg, 0, south, ellipsoid=ellipsoid)
    # The library differentiates by differences; its two scales differ by up to 3e-8 near the pole.
    factors = own.get_factors(lon_deg.ravel(), lat_deg.ravel())
    np.testing.assert_allclose(scale.ravel(), factors.meridional_scale, rtol=0, atol=2e-8)


@pytest.mark.parametrize("short_name", ["clrk66", "bessel", "intl", "clrk80"])
def test_the_projection_library_s_factors(short_name):
    library = pyproj.Proj(f"+proj=tmerc +lon_0=15 +k=0.9996 +ellps={short_name}")
    figure = pyproj.CRS(f"+proj=longlat +ellps={short_name} +type=crs").ellipsoid
    ellipsoid = Ellipsoid(short_name, figure.semi_major_metre, figure.inverse_flattening)
    random = np.random.default_rng(7)
    lat_deg, lon_deg = random.uniform(-80.5, 84.5, 5000), random.uniform(8.5, 21.5, 5000)
    factors = library.get_factors(lon_deg, lat_deg)
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg, 33, False, ellipsoid=ellipsoid)
    # The library's differences: test_transverse_mercator.py tells where the tolerances come from.
    np.testing.assert_allclose(convergence_deg, factors.meridian_convergence, rtol=0, atol=6e-9)
    np.testing.assert_allclose(scale, factors.meridional_scale, rtol=0, atol=1e-9)
    # From one figure to the next the convergence moves by far more than that: the test sees which was used.
    others_deg, _ = convergence_and_scale(lat_deg, lon_deg, 33, False)
    assert np.abs(others_deg - convergence_deg).max() > 1e-7


@given(figures, st.floats(-90.0, 90.0), st.floats(-180.0, 180.0))
def test_what_is_put_on_any_grid_comes_back(ellipsoid, lat_deg, lon_deg):
    grid = to_grid(lat_deg, lon_deg, ellipsoid=ellipsoid)
    place = grid.zone, grid.south, grid.easting_m, grid.northing_m
    back_lat_deg, back_lon_deg = from_grid(*place, ellipsoid=ellipsoid)
    distance_m = pyproj.Geod(ellps="WGS84").inv(lon_deg, lat_deg, back_lon_deg, back_lat_deg)[2]
    # 0.1 um is where the library's inverse of UPS ends its iteration.
    assert distance_m < 2e-7
    assert np.isfinite(convergence_and_scale(lat_deg, lon_deg, ellipsoid=ellipsoid)).all()


@given(figures, st.floats(-79.0, 83.0), st.floats(-180.0, 179.0))
def test_grid_north_is_where_the_convergence_says(ellipsoid, lat_deg, lon_deg):
    grid = to_grid(lat_deg, lon_deg, ellipsoid=ellipsoid)
    convergence_deg, scale = convergence_and_scale(lat_deg, lon_deg, ellipsoid=ellipsoid)
    start, end = (
        from_grid(grid.zone, grid.south, grid.easting_m, grid.northing_m + step_m, ellipsoid=ellipsoid)
        for step_m in (-50.0, 50.0)
    )
    flattening = ellipsoid.flattening
    geod = pyproj.Geod(a=ellipsoid.semi_major_axis_m, f=flattening)
    azimuth_deg, _, distance_m = geod.inv(start[1], start[0], end[1], end[0])
    assert distance_m * scale == pytest.approx(100.0, abs=1e-4)
    # At the start of 100 m; halfway the meridian has turned by up to 50 m times the tangent of the latitude, 83.
    turn_deg = math.degrees(50.0 / 6.35e6) * math.tan(math.radians(83.0))
    assert (azimuth_deg - convergence_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=turn_deg + 1e-6)


def test_the_zone_and_the_reach_are_by_degrees_on_any_figure():
    lat_deg, lon_deg = np.array([60.0, 60.0, 75.0, 85.0, -81.0]), np.array([2.9, 3.1, 10.0, 10.0, 10.0])
    on_wgs84, on_old = to_grid(lat_deg, lon_deg), to_grid(lat_deg, lon_deg, ellipsoid=ellipsoid_of(4267))
    assert on_old.zone.tolist() == on_wgs84.zone.tolist() == [31, 32, 33, 0, 0]
    assert on_old.south.tolist() == on_wgs84.south.tolist()
    assert within_reach(60.0, 2.9, on_old.zone[0], False)
