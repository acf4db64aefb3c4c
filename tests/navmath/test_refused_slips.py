"""Likely slips in texts that are refused. All places are invented."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from threenorths_service.navmath.errors import NavigationError
from threenorths_service.navmath.expected import NOTHING_EXPECTED, Expected
from threenorths_service.navmath.frame import WGS84_FRAME
from threenorths_service.navmath.mgrs import write_mgrs
from threenorths_service.navmath.position_text import read_position_text
from threenorths_service.navmath.refused_slips import alternatives_of_refused

NEAR = Expected(47.5, 8.5)


def refused(text):
    try:
        read_position_text(text)
    except NavigationError:
        return True
    return False


@pytest.mark.parametrize(
    ("text", "expected", "slip", "meant"),
    [
        ("33TMT6262", NEAR, "wrong_zone", "32TMT6262"),
        ("MGRS 31T MT 623 626", NEAR, "wrong_zone", "32TMT623626"),
        ("three three tango mike tango six two six two", NEAR, "wrong_zone", "32TMT6262"),
        ("32VMT6262", NEAR, "wrong_band", "32TMT6262"),
        ("UTM 32 north 5262000 462000", NEAR, "easting_and_northing_swapped", "UTM 32 north 462000 5262000"),
        ("32T 5262000.5 462000.5", NEAR, "easting_and_northing_swapped", "UTM 32 north 462000.5 5262000.5"),
        ("99TMT6262", NEAR, "wrong_zone", "32TMT6262"),
    ],
)
def test_a_slip_is_named_and_undone(text, expected, slip, meant):
    assert refused(text)
    found = alternatives_of_refused(text, WGS84_FRAME, expected)
    listed = [(one.slip, one.reading.lat_deg, one.reading.lon_deg) for one in found]
    meant_reading = read_position_text(meant)
    assert listed == [(slip, meant_reading.lat_deg, meant_reading.lon_deg)]
    assert found[0].distance_m == expected.distance_m(meant_reading.lat_deg, meant_reading.lon_deg)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "MT",
        "33",
        "nonsense",
        "32TIO6262",
        "91.5 N 8.5 E",
        "32TMT626",
        "33TMT" + "6" * 300,
        "33 T",
        ". . .",
    ],
)
def test_a_text_unlike_these_has_no_alternatives(text):
    assert refused(text)
    assert alternatives_of_refused(text, WGS84_FRAME, NEAR) == []


def test_nothing_far_off_and_nothing_without_a_place_is_an_alternative():
    far = alternatives_of_refused("33TMT6262", WGS84_FRAME, Expected(47.5, 12.0))
    # The same figures stand in some square near every place; no other slip leads there.
    assert {slip.slip for slip in far} <= {"wrong_letters"}
    for text in ("33TMT6262", "UTM 32 north 5262000 462000"):
        assert alternatives_of_refused(text, WGS84_FRAME, NOTHING_EXPECTED) == []
    assert alternatives_of_refused("UTM 32 north 5262000 462000", WGS84_FRAME, Expected(47.5, 12.0)) == []


@settings(max_examples=60, deadline=None)
@given(st.floats(-79.0, 83.0), st.floats(-180.0, 179.9), st.integers(1, 5), st.sampled_from([-1, 1]))
def test_the_zone_next_door_is_undone(lat, lon, digits, step):
    meant = str(write_mgrs(lat, lon, digits))
    written = f"{(int(meant[:2]) + step - 1) % 60 + 1:02d}{meant[2:]}"
    assume(refused(written))
    found = alternatives_of_refused(written, WGS84_FRAME, Expected(lat, lon))
    squares = [slip.reading.square for slip in found if slip.slip == "wrong_zone"]
    corners = [(square.zone, square.corner_easting_m, square.corner_northing_m) for square in squares]
    square = read_position_text(meant).square
    assert (square.zone, square.corner_easting_m, square.corner_northing_m) in corners
