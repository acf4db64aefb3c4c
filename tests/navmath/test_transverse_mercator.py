import numpy as np
import pyproj
import pytest

from published import rows
from threenorths_service.navmath.grids.transverse_mercator import convergence_and_unit_scale

UTM_SCALE = 0.9996

# Rows of the published test set within 3900 km of the central meridian, where the paper claims 5 nm for the series.
# Degrees and factors have 18 digits and more there; what is left is rounding: some units of the last place of an angle up
# to 90 degrees, and of the two factors. (The first term left out, of order n^7, is under 1e-14 of a radian there.)
CONVERGENCE_TOLERANCE_DEG = 3e-13
SCALE_TOLERANCE = 5e-15


def column(name):
    return np.array([float(row[name]) for row in rows("tmcoords")])


def test_the_published_test_set():
    convergence_deg, unit_scale = convergence_and_unit_scale(column("lat_deg"), column("lon_deg_from_CM"))
    np.testing.assert_allclose(
        convergence_deg, column("convergence_deg"), rtol=0, atol=CONVERGENCE_TOLERANCE_DEG
    )
    np.testing.assert_allclose(UTM_SCALE * unit_scale, column("scale"), rtol=0, atol=SCALE_TOLERANCE)


@pytest.mark.parametrize(("north", "east"), [(-1, 1), (1, -1), (-1, -1)])
def test_the_published_test_set_in_the_other_quadrants(north, east):
    convergence_deg, unit_scale = convergence_and_unit_scale(
        north * column("lat_deg"), east * column("lon_deg_from_CM")
    )
    expected_deg = north * east * column("convergence_deg")
    np.testing.assert_allclose(convergence_deg, expected_deg, rtol=0, atol=CONVERGENCE_TOLERANCE_DEG)
    np.testing.assert_allclose(UTM_SCALE * unit_scale, column("scale"), rtol=0, atol=SCALE_TOLERANCE)


def test_the_projection_library_s_factors():
    random = np.random.default_rng(7)
    lat_deg = random.uniform(-80.5, 84.5, 20_000)
    lon_difference_deg = random.uniform(-6.5, 6.5, 20_000)
    factors = pyproj.Proj("+proj=tmerc +lon_0=0 +k=0.9996 +ellps=WGS84").get_factors(
        lon_difference_deg, lat_deg
    )
    convergence_deg, unit_scale = convergence_and_unit_scale(lat_deg, lon_difference_deg)
    # The library differentiates by differences over 1e-5 radian, whose error is of the square of that times the third
    # derivatives of the projection: 1e-10 of a radian, or 6e-9 degree, and 1e-10 of the scale, of the order of 1 each.
    np.testing.assert_allclose(convergence_deg, factors.meridian_convergence, rtol=0, atol=6e-9)
    np.testing.assert_allclose(UTM_SCALE * unit_scale, factors.meridional_scale, rtol=0, atol=1e-9)
    np.testing.assert_allclose(UTM_SCALE * unit_scale, factors.parallel_scale, rtol=0, atol=1e-9)


@pytest.mark.parametrize("lat_deg", [-89.9, -60.0, 0.0, 60.0, 89.9])
def test_the_central_meridian_is_straight_and_true(lat_deg):
    convergence_deg, unit_scale = convergence_and_unit_scale(lat_deg, 0.0)
    assert convergence_deg == 0.0
    assert unit_scale == pytest.approx(1.0, abs=1e-15)


def test_at_the_poles_the_convergence_is_the_longitude_difference():
    convergence_deg, unit_scale = convergence_and_unit_scale([90.0, 90.0, -90.0], [3.0, -3.0, 3.0])
    np.testing.assert_allclose(convergence_deg, [3.0, -3.0, -3.0], rtol=0, atol=1e-14)
    np.testing.assert_allclose(unit_scale, 1.0, rtol=0, atol=1e-15)


def test_scalars_and_arrays_broadcast():
    convergence_deg, unit_scale = convergence_and_unit_scale(45.0, [[1.0], [2.0]])
    assert convergence_deg.shape == unit_scale.shape == (2, 1)
    assert np.ndim(convergence_and_unit_scale(45.0, 1.0)[0]) == 0
