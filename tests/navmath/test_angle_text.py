"""Directions read from text and written as text."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import AnglesUnreadableError, NavigationError, OutOfRangeError
from threenorths_service.navmath.texts.angle_text import read_angle, write_dms, write_quadrant

AZIMUTHS = st.floats(0.0, 360.0, exclude_max=True)
PLACES = st.integers(0, 3)

# Sums by hand: 30' is half a degree, 15" is 1/240.
READ = {
    "0": 0.0,
    "045": 45.0,
    "45.5": 45.5,
    "+45.5": 45.5,
    "45.5°": 45.5,
    "45.5 degrees": 45.5,
    "45 30": 45.5,
    "45°30'": 45.5,
    "45 30.5": 45 + 30.5 / 60,
    "45 30 15": 45.5 + 1 / 240,
    "45°30'15\"": 45.5 + 1 / 240,
    "45° 30′ 15″": 45.5 + 1 / 240,
    "45-30-15": 45.5 + 1 / 240,
    "45:30:15": 45.5 + 1 / 240,
    "45d30m15s": 45.5 + 1 / 240,
    "45°.5": 45.5,
    "45°30'.5": 45 + 30.5 / 60,
    "45°30'15\".5": 45 + 30 / 60 + 15.5 / 3600,
    "N 45°.5 E": 45.5,
    "45 30 15.5": 45 + 30 / 60 + 15.5 / 3600,
    "359 59 59.9": 360 - 0.1 / 3600,
    "360": 0.0,
    "360 00 00": 0.0,
    "-0": 0.0,
    "N 45 E": 45.0,
    "n45e": 45.0,
    "north 45 east": 45.0,
    "S 45 E": 135.0,
    "S45°30'W": 225.5,
    "S 45-30 W": 225.5,
    "S45d30m15sW": 225.5 + 1 / 240,
    "N 45 W": 315.0,
    "N 90 W": 270.0,
    "S 90 W": 270.0,
    "N 90 E": 90.0,
    "N 0 E": 0.0,
    "N 0 W": 0.0,
    "S 0 E": 180.0,
    "S 0 W": 180.0,
}


@pytest.mark.parametrize(("text", "azimuth_deg"), READ.items(), ids=READ)
def test_a_direction_is_read(text, azimuth_deg):
    # The same sum in another order may differ in the last bits of a number under 360: 6e-14.
    assert read_angle(text) == pytest.approx(azimuth_deg, abs=6e-14)
    assert math.copysign(1.0, read_angle(text)) == 1.0


NO_DIRECTIONS = (
    "| |x|nan|inf|1e2|45.5 30|45- 30|45 30 15 10|45-30:15|45,5|E 45 N|45 N|N|N E|N 45|NE|45°30\"|45'|N -45 E|45 deg 30 deg"
    "|٤٥|47.5.3|N 45 30 15 10 E"
)


@pytest.mark.parametrize("text", [*NO_DIRECTIONS.split("|"), "4" * 201])
def test_what_is_no_direction_is_refused(text):
    with pytest.raises(AnglesUnreadableError) as refused:
        read_angle(text)
    assert refused.value.member is None
    assert refused.value.allowed is not None
    assert text.startswith(refused.value.value)


@pytest.mark.parametrize(
    "text",
    [
        "360.1",
        "361",
        "360 00 00.1",
        "-1",
        "-0 30",
        "45 60",
        "45 30 60",
        "45 75",
        "N 91 E",
        "N 90 00 01 E",
        "S 100 W",
        "N 45 60 E",
    ],
)
def test_a_direction_that_cannot_be_is_out_of_range(text):
    with pytest.raises(OutOfRangeError) as refused:
        read_angle(text)
    assert refused.value.member is None
    assert refused.value.value == text
    assert refused.value.allowed is not None


@given(st.text(max_size=30) | st.text("NSEWnsew0123456789.-+°'\" :dms", max_size=30))
def test_any_text_is_read_or_refused_by_a_named_error(text):
    try:
        azimuth_deg = read_angle(text)
    except NavigationError:
        return
    assert 0.0 <= azimuth_deg < 360.0


def test_a_direction_is_written():
    assert write_dms(45.5 + 1 / 240) == "45°30'15\""
    assert write_dms(225.50416, 2) == "225°30'14.98\""
    assert write_quadrant(150.5, 1) == "S 29.5° E"
    assert write_quadrant(-45.0) == "N 45° W"


# 59.9996 seconds is 60.000 at three places and 59.9996 at four.
@pytest.mark.parametrize(
    ("azimuth_deg", "dms", "quadrant"),
    [
        (0.0, "0°00'00\"", "N 0.00° E"),
        (-1e-17, "0°00'00\"", "N 0.00° E"),
        (359.9999999, "0°00'00\"", "N 0.00° E"),
        (29.99999, "30°00'00\"", "N 30.00° E"),
        (89.99999, "90°00'00\"", "N 90.00° E"),
        (90.00001, "90°00'00\"", "N 90.00° E"),
        (179.99999, "180°00'00\"", "S 0.00° E"),
        (180.00001, "180°00'00\"", "S 0.00° E"),
        (269.99999, "270°00'00\"", "N 90.00° W"),
        (360.0, "0°00'00\"", "N 0.00° E"),
    ],
)
def test_sixty_is_carried_and_the_full_circle_is_nought(azimuth_deg, dms, quadrant):
    assert write_dms(azimuth_deg) == dms
    assert write_quadrant(azimuth_deg, 2) == quadrant


@given(AZIMUTHS, PLACES)
@example(359.99999999, 0)
@example(59.999999999 / 3600, 3)
def test_what_is_written_reads_as_the_same_direction(azimuth_deg, places):
    for write, per_degree in ((write_dms, 3600), (write_quadrant, 1)):
        off_deg = (read_angle(write(azimuth_deg, places)) - azimuth_deg + 180.0) % 360.0 - 180.0
        # Half the last digit, and 1e-12 for the sums with numbers up to 360.
        assert abs(off_deg) <= 0.5 / per_degree / 10**places + 1e-12


@pytest.mark.parametrize("write", [write_dms, write_quadrant])
def test_what_is_no_number_is_not_written(write):
    for azimuth_deg in (math.nan, math.inf, -math.inf):
        with pytest.raises(OutOfRangeError):
            write(azimuth_deg)
    with pytest.raises(OutOfRangeError):
        write(45.0, -1)
