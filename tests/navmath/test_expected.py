"""Where a place is expected: near another, or on a sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.places.expected import NOTHING_EXPECTED, Expected, tolerance_m
from threenorths_service.navmath.sheets.sheet import Corner, Sheet
from threenorths_service.navmath.texts.position_text import read_position_text

LATITUDES = st.floats(-90.0, 90.0)
LONGITUDES = st.floats(-180.0, 180.0, exclude_max=True)


def sheet_of(south, west, north, east, **members):
    corners = (Corner("south_west", south, west), Corner("north_east", north, east))
    return Sheet(**members).with_corners(corners)


# Invented.
SHEET = sheet_of(47.0, 8.0, 47.25, 8.5)
NEAR = Expected(47.1, 8.2, reach_m=10_000.0)


def test_everything_fits_where_nothing_is_expected():
    assert NOTHING_EXPECTED.fits([90.0, -12.0], [0.0, 33.0]).tolist() == [True, True]
    assert NOTHING_EXPECTED.distance_m([90.0, -12.0], [0.0, 33.0]).tolist() == [0.0, 0.0]
    assert not NOTHING_EXPECTED.has_place
    assert NOTHING_EXPECTED.middle is None


def test_a_sheet_without_edges_tells_no_place():
    expected = Expected(sheet=Sheet(grid_zone=32, squares=("MT",)))
    assert not expected.has_place
    assert expected.fits(-33.0, 18.0)


@given(LATITUDES, LONGITUDES, st.floats(0.0, 360.0), st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_a_place_fits_exactly_within_reach(lat, lon, azimuth, distance, reach):
    there_lat, there_lon, _ = direct(lat, lon, azimuth, distance)
    expected = Expected(lat, lon, reach)
    # The geodesics are good to nanometres; a place on the rim may fall either way.
    assert expected.distance_m(there_lat, there_lon) == pytest.approx(distance, abs=1e-6)
    if abs(distance - reach) > 1e-6:
        assert expected.fits(there_lat, there_lon) == (distance < reach)


def test_distance_is_from_the_place_near_by_even_with_a_sheet():
    both = Expected(47.1, 8.2, sheet=SHEET)
    assert both.distance_m(47.2, 8.2) == inverse(47.1, 8.2, 47.2, 8.2)[2]


def test_distance_without_a_place_near_by_is_from_the_edge_of_the_sheet():
    expected = Expected(sheet=SHEET)
    assert expected.distance_m(47.1, 8.2) == 0.0
    # Due south of the sheet, the edge being a parallel; `Outline.outside_m` is good to 0.1 m.
    assert expected.distance_m(46.9, 8.25) == pytest.approx(inverse(46.9, 8.25, 47.0, 8.25)[2], abs=0.1)


@pytest.mark.parametrize(
    ("lat", "lon", "fits"),
    [(47.1, 8.2, True), (47.1, 8.49, False), (47.1, 7.95, False), (46.95, 8.2, False)],
    ids=["near and on the sheet", "on the sheet alone", "near alone", "near alone, south"],
)
def test_with_a_place_near_by_and_a_sheet_both_must_hold(lat, lon, fits):
    expected = Expected(47.1, 8.05, reach_m=20_000.0, sheet=SHEET)
    assert expected.fits(lat, lon) == fits


def test_the_tolerance_widens_the_reach_and_the_sheet():
    lat, lon, _ = direct(47.1, 8.2, 90.0, 10_050.0)
    assert NEAR.fits(lat, lon, [0.0, 49.0, 51.0]).tolist() == [False, False, True]
    lat, lon, _ = direct(47.0, 8.25, 180.0, 50.0)
    assert Expected(sheet=SHEET).fits(lat, lon, [0.0, 49.0, 51.0]).tolist() == [False, False, True]


def test_what_surrounds_the_places_that_fit():
    assert NEAR.middle == (47.1, 8.2)
    assert NEAR.radius_m == 10_000.0
    on_sheet = Expected(sheet=SHEET)
    assert on_sheet.middle == SHEET.middle()
    assert on_sheet.radius_m == SHEET.radius_m


def test_arrays_keep_their_shape():
    lat = np.array([[47.1], [46.0]])
    lon = np.array([[8.2, 8.3, 8.4]])
    for expected in (NOTHING_EXPECTED, NEAR, Expected(sheet=SHEET), Expected(47.1, 8.2, sheet=SHEET)):
        assert expected.distance_m(lat, lon).shape == (2, 3)
        assert expected.fits(lat, lon).shape == (2, 3)
        assert expected.fits(lat, lon, np.zeros((4, 2, 3))).shape == (4, 2, 3)


@pytest.mark.parametrize(
    ("text", "tolerance"),
    [
        ("32TMT66", 5000.0 * 2**0.5),
        ("32TMT6543212345", 0.5 * 2**0.5),
        ("UTM 32 north 465000 m E 5247000.5 m N", (1.0**2 + 0.1**2) ** 0.5 / 2.0),
    ],
)
def test_the_tolerance_is_half_the_diagonal_of_the_last_digit(text, tolerance):
    assert tolerance_m(read_position_text(text)) == pytest.approx(tolerance, rel=1e-12)


def test_the_tolerance_of_a_square_cut_by_its_zone_is_the_whole_diagonal():
    # Invented: the square's centre lies east of 12 degrees, the edge of zone 32.
    reading = read_position_text("32TQT")
    assert reading.square.cut
    assert tolerance_m(reading) == pytest.approx(100_000.0 * 2**0.5, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "tolerance"),
    [
        # Half the diagonal of a tenth of a degree of latitude, 11.1 km, is more than is allowed.
        ("53 N 1.7 W", 1000.0),
        ("53.0 N 1.7 W", 1000.0),
        # A minute is 1.855 km north and 1.12 km east there; a hundredth of a degree is 1.11 km and 0.67 km.
        ("53 00 N 1 42 W", 1000.0),
        ("53.00 N 1.70 W", 650.0),
        ("53.0000 N 1.7000 W", 6.5),
    ],
)
def test_the_tolerance_of_a_latitude_and_longitude_is_never_over_a_kilometre(text, tolerance):
    assert tolerance_m(read_position_text(text)) == pytest.approx(tolerance, rel=0.01)


def test_whole_degrees_do_not_fit_a_sheet_that_is_kilometres_away():
    reading = read_position_text("47 N 8 E")
    assert not Expected(sheet=sheet_of(47.04, 8.0, 47.25, 8.5)).fits_reading(reading)
    assert Expected(sheet=sheet_of(47.008, 8.0, 47.25, 8.5)).fits_reading(reading)


def test_a_reading_fits_where_part_of_its_square_does():
    # Invented: the centre of the square is 6.6 km from the place near by, its nearest corner 3.1 km.
    reading = read_position_text("32TMT66")
    lat, lon, _ = direct(reading.lat_deg, reading.lon_deg, 90.0, 6_600.0)
    assert Expected(lat, lon, reach_m=3_000.0).fits_reading(reading)
    assert not Expected(lat, lon, reach_m=0.0).fits(reading.lat_deg, reading.lon_deg)
    far_lat, far_lon, _ = direct(reading.lat_deg, reading.lon_deg, 90.0, 10_100.0)
    assert not Expected(far_lat, far_lon, reach_m=3_000.0).fits_reading(reading)
