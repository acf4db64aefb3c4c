"""Latitude and longitude written as text."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.texts.position_text import read_position_text
from threenorths_service.navmath.texts.position_written import (
    write_decimal_degrees,
    write_degrees_minutes,
    write_degrees_minutes_seconds,
)

WRITERS = {write_decimal_degrees: 1, write_degrees_minutes: 60, write_degrees_minutes_seconds: 3600}


def test_a_position_is_written():
    assert write_decimal_degrees(47.5, -8.25) == "47.500000° N, 8.250000° W"
    assert write_degrees_minutes(47.5, -8.25) == "47°30.0000' N, 8°15.0000' W"
    # FM 3-25.26 figs 4-4 and 4-5: 32 19 06 N, 84 47 32 W.
    assert (
        write_degrees_minutes_seconds(32 + 1146 / 3600, -(84 + 2852 / 3600), 0)
        == "32°19'06\" N, 84°47'32\" W"
    )


@pytest.mark.parametrize(
    ("lat", "lon", "text"),
    [
        (-0.0, -0.0, "0°00'00\" N, 0°00'00\" E"),
        (-1e-9, -1e-9, "0°00'00\" N, 0°00'00\" E"),
        (29.9999999, 59.9999999, "30°00'00\" N, 60°00'00\" E"),
        (89.9999999, 179.9999999, "90°00'00\" N, 180°00'00\" W"),
        (-90.0, -180.0, "90°00'00\" S, 180°00'00\" W"),
        (0.0, 180.0, "0°00'00\" N, 180°00'00\" W"),
        (0.0, 359.0, "0°00'00\" N, 1°00'00\" W"),
    ],
)
def test_sixty_is_carried_and_nought_has_no_sign(lat, lon, text):
    assert write_degrees_minutes_seconds(lat, lon, 0) == text


@given(st.floats(-90.0, 90.0), st.floats(-180.0, 360.0, exclude_max=True), st.integers(0, 6))
@example(59.99999999 / 3600, -59.99999999 / 3600, 2)
@example(-89.99999999, 179.99999999, 2)
def test_what_is_written_reads_as_the_same_place(lat, lon, places):
    for write, per_degree in WRITERS.items():
        text = write(lat, lon, places)
        reading = read_position_text(text)
        # Half the last digit, and 1e-12 for the sums with numbers up to 360.
        tolerance_deg = 0.5 / per_degree / 10**places + 1e-12
        assert abs(reading.lat_deg - lat) <= tolerance_deg
        assert abs((reading.lon_deg - lon + 180.0) % 360.0 - 180.0) <= tolerance_deg
        assert read_position_text(write(reading.lat_deg, reading.lon_deg, places)) == reading


@pytest.mark.parametrize("write", WRITERS)
def test_what_is_no_position_is_not_written(write):
    for lat, lon in (
        (90.1, 0.0),
        (math.nan, 0.0),
        (0.0, 360.0),
        (0.0, -180.1),
        (0.0, math.nan),
        (math.inf, 0.0),
    ):
        with pytest.raises(OutOfRangeError) as refused:
            write(lat, lon)
        assert refused.value.member == ("lat_deg" if lon == 0.0 else "lon_deg")
    with pytest.raises(OutOfRangeError):
        write(0.0, 0.0, 13)
