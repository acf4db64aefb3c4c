"""What a degree measures on the ground."""

import pytest
from pyproj import Geod

from threenorths_service.navmath.texts.position_reading import metres_per_degree

WGS84 = Geod(ellps="WGS84")


@pytest.mark.parametrize("lat", [-89.9, -47.5, 0.0, 30.0, 60.0, 84.0])
def test_a_degree_is_as_long_as_the_geodesics_say(lat):
    # A thousandth of a degree: the geodesic differs from the parallel by less than 1e-7 of it at these latitudes.
    north_m = WGS84.inv(10.0, lat - 5e-4, 10.0, lat + 5e-4)[2] * 1000.0
    east_m = WGS84.inv(10.0, lat, 10.001, lat)[2] * 1000.0
    assert metres_per_degree(lat) == (pytest.approx(north_m, abs=0.01), pytest.approx(east_m, abs=0.01))


def test_at_a_pole_a_degree_of_longitude_is_nothing():
    assert metres_per_degree(90.0)[1] == pytest.approx(0.0, abs=1e-9)
