import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.angle import normalise_signed
from threenorths_service.navmath.grids.ellipsoid import SEMI_MAJOR_AXIS_M
from threenorths_service.navmath.lines.geodesic import direct, inverse

# Vincenty's five lines of 1975 are on other ellipsoids: the service stands on WGS 84 alone, so they are not in the table.
# Karney's 20 and the rows of his test set come from other implementations, or from more digits than a float has.
EXAMPLES = [{"id": f"GeodTest-{index:02}", **row} for index, row in enumerate(rows("geodtest"))]
EXAMPLES += rows("geodesic_examples")

#: The library's accuracy on WGS 84 is 15 nm: Karney 2013, abstract. The rest is a longitude's rounding at 180 degrees.
LIBRARY_M = 15e-9 + 3.2e-9
#: Three roundings of numbers under 360. [degree]
ROUNDING_DEG = 3 * 2.9e-14
METRES_PER_DEGREE = 111_700.0

each_example = pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["id"])
latitudes = st.floats(-90.0, 90.0)
longitudes = st.floats(-180.0, 360.0, exclude_max=True)


def half_digit(printed):
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def numbers(row, *names):
    return [float(row[name]) for name in names]


def place_noise_m(row):
    """How far off the second place may be as it is printed; Karney's 20 are given to five decimals exactly."""
    exact = row["id"].startswith("GL-")
    printed = 0.0 if exact else half_digit(row["lat2_deg"]) + half_digit(row["lon2_deg"])
    return LIBRARY_M + printed * METRES_PER_DEGREE


def distance_noise_m(row):
    """Half the last digit of the distance; those of whole metres, and those of the test set, are exact."""
    exact = row["id"].startswith("GeodTest-") or "." not in row["s12_m"]
    return 0.0 if exact else half_digit(row["s12_m"])


def lever_m(row):
    """How far the second place moves for a radian at the first: the reduced length, or that of a sphere."""
    if row["m12_m"]:
        return abs(float(row["m12_m"]))
    return SEMI_MAJOR_AXIS_M * math.sin(float(row["s12_m"]) / SEMI_MAJOR_AXIS_M)


def off_deg(one_deg, other_deg):
    return abs(normalise_signed(one_deg - other_deg))


@each_example
def test_published_distances_and_azimuths(row):
    azimuth_deg, back_azimuth_deg, distance_m = inverse(
        *numbers(row, "lat1_deg", "lon1_deg", "lat2_deg", "lon2_deg")
    )
    assert distance_m == pytest.approx(
        float(row["s12_m"]), abs=place_noise_m(row) + distance_noise_m(row), rel=0
    )
    # The meridians close in toward the poles, so a place's noise turns the azimuth by more there.
    turned = math.degrees(place_noise_m(row) / lever_m(row)) / math.cos(math.radians(float(row["lat1_deg"])))
    turned_back = math.degrees(place_noise_m(row) / lever_m(row)) / math.cos(
        math.radians(float(row["lat2_deg"]))
    )
    azimuth_digit_deg = half_digit(row["azi2_deg"])
    assert off_deg(azimuth_deg, float(row["azi1_deg"])) < turned + azimuth_digit_deg + ROUNDING_DEG
    # The published second azimuth is that of travelling on; ours looks back.
    assert off_deg(back_azimuth_deg, float(row["azi2_deg"]) + 180.0) < (
        turned_back + azimuth_digit_deg + ROUNDING_DEG
    )
    assert 0.0 <= azimuth_deg < 360.0
    assert 0.0 <= back_azimuth_deg < 360.0


@each_example
def test_published_places_at_the_end_of_a_line(row):
    lat_deg, lon_deg, back_azimuth_deg = direct(*numbers(row, "lat1_deg", "lon1_deg", "azi1_deg", "s12_m"))
    # An azimuth of 1e-13 degrees, at the far side of the Earth, is 11 nm.
    start_noise_m = math.radians(half_digit(row["azi2_deg"]) + ROUNDING_DEG) * lever_m(row)
    noise_m = place_noise_m(row) + start_noise_m + distance_noise_m(row)
    per_parallel = math.cos(math.radians(float(row["lat2_deg"])))
    noise_deg = noise_m / 110_500.0
    assert lat_deg == pytest.approx(float(row["lat2_deg"]), abs=noise_deg, rel=0)
    assert off_deg(lon_deg, float(row["lon2_deg"])) < noise_deg / per_parallel + ROUNDING_DEG
    assert -180.0 <= lon_deg < 180.0
    assert off_deg(back_azimuth_deg, float(row["azi2_deg"]) + 180.0) < (
        noise_deg / per_parallel + half_digit(row["azi2_deg"]) + ROUNDING_DEG
    )
    assert 0.0 <= back_azimuth_deg < 360.0


@given(latitudes, longitudes, st.floats(0.0, 360.0), st.floats(1.0, 1e7))
def test_a_line_leads_back_by_its_back_azimuth(lat_deg, lon_deg, azimuth_deg, distance_m):
    end_lat_deg, end_lon_deg, back_azimuth_deg = direct(lat_deg, lon_deg, azimuth_deg, distance_m)
    again_lat_deg, again_lon_deg, _ = direct(end_lat_deg, end_lon_deg, back_azimuth_deg, distance_m)
    _, _, missed_m = inverse(lat_deg, lon_deg, again_lat_deg, again_lon_deg)
    # There and back, with an azimuth of 360 rounded between: 3e-14 degrees at up to 6400 km.
    assert missed_m < 2 * LIBRARY_M + math.radians(ROUNDING_DEG) * SEMI_MAJOR_AXIS_M


@pytest.mark.parametrize("shape", [(), (1,), (1, 1), (3,), (2, 3)], ids=str)
def test_answers_have_the_shape_of_what_is_given(shape):
    lat_deg = np.full(shape, 51.5)
    for answer in (*inverse(lat_deg, -1.25, 51.6, -1.3), *direct(lat_deg, -1.25, 30.0, 1000.0)):
        assert answer.shape == shape
        assert answer.dtype == np.float64


def test_rows_broadcast_and_are_what_each_would_be_alone():
    lat2_deg, lon2_deg = np.array([[10.0], [-80.0]]), np.array([0.0, 179.9, 300.0])
    together = inverse(1.0, -179.9, lat2_deg, lon2_deg)
    end = direct(1.0, -179.9, lon2_deg, lat2_deg + 100.0)
    for row in range(2):
        for column in range(3):
            alone = inverse(1.0, -179.9, lat2_deg[row, 0], lon2_deg[column])
            assert [values[row, column] for values in together] == list(alone)
            alone = direct(1.0, -179.9, lon2_deg[column], lat2_deg[row, 0] + 100.0)
            assert [values[row, column] for values in end] == list(alone)


def test_a_place_given_over_180_is_the_same_place():
    # 238 degrees and -122 have other roundings; 45 m of arc to the ulp of 238 degrees: 3e-9 m.
    np.testing.assert_allclose(
        inverse(40.0, 238.0, 41.0, 239.0), inverse(40.0, -122.0, 41.0, -121.0), rtol=0, atol=1e-8
    )


def test_over_the_antimeridian_the_short_way():
    azimuth_deg, back_azimuth_deg, distance_m = inverse(0.0, 179.5, 0.0, -179.5)
    # One degree of the equator: a circle of the semi-major axis.
    assert distance_m == pytest.approx(math.radians(1.0) * SEMI_MAJOR_AXIS_M, abs=LIBRARY_M)
    assert (azimuth_deg, back_azimuth_deg) == (90.0, 270.0)
    end_lat_deg, end_lon_deg, _ = direct(0.0, 179.5, 90.0, distance_m)
    assert end_lat_deg == 0.0
    assert end_lon_deg == pytest.approx(-179.5, abs=1e-12)


@pytest.mark.parametrize("pole_deg", [90.0, -90.0])
@pytest.mark.parametrize("lon_deg", [0.0, 30.0, -179.0])
def test_at_a_pole_directions_are_from_the_meridian_given(pole_deg, lon_deg):
    azimuth_deg, back_azimuth_deg, _ = inverse(
        pole_deg, lon_deg, math.copysign(89.0, pole_deg), lon_deg + 40.0
    )
    expected_deg = 140.0 if pole_deg > 0.0 else 40.0
    assert azimuth_deg == pytest.approx(expected_deg, abs=1e-12)
    assert back_azimuth_deg == (0.0 if pole_deg > 0.0 else 180.0)


def test_a_line_due_north_is_nought_not_a_full_circle():
    assert inverse(0.0, 10.0, 1.0, 10.0)[:2] == (0.0, 180.0)
    assert inverse(1.0, 10.0, 0.0, 10.0)[:2] == (180.0, 0.0)
    assert not np.signbit(inverse(0.0, 10.0, 1.0, 10.0)[0])


def test_half_round_the_world_is_over_a_pole():
    # The quarter meridian of WGS 84 is 10,001,965.729 m: Karney 2013, section 8, printed to a millimetre, from memory.
    azimuth_deg, _, distance_m = inverse(0.0, 0.0, 0.0, 180.0)
    assert distance_m == pytest.approx(2 * 10_001_965.729, abs=1e-3)
    assert azimuth_deg in (0.0, 180.0)
