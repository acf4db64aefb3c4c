"""Likely slips in texts that are refused. All places are invented."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.frame import WGS84_FRAME, Frame
from threenorths_service.navmath.errors import NavigationError, NothingInReachError
from threenorths_service.navmath.places.expected import NOTHING_EXPECTED, Expected
from threenorths_service.navmath.places.refused_slips import alternatives_of_refused
from threenorths_service.navmath.references.mgrs import write_mgrs
from threenorths_service.navmath.sheets.sheet import Corner, Sheet
from threenorths_service.navmath.texts.position_text import read_position_text

NEAR = Expected(47.5, 8.5)
AUSTRAL = Expected(-33.9, 151.3)


def place_of(text):
    reading = read_position_text(text)
    return Expected(reading.lat_deg, reading.lon_deg)


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
        ("151.2093, -33.8688", AUSTRAL, "latitude_and_longitude_swapped", "-33.8688, 151.2093"),
        ("151.2093 -33.8688", AUSTRAL, "latitude_and_longitude_swapped", "-33.8688, 151.2093"),
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
    ("text", "slip", "meant"),
    [
        ("803 124", "easting_and_northing_swapped", "33VVK124803"),
        ("803124", "easting_and_northing_swapped", "33VVK124803"),
        ("803, 124", "easting_and_northing_swapped", "33VVK124803"),
        ("eight zero three, one two four", "easting_and_northing_swapped", "33VVK124803"),
        ("421 080", "digits_transposed", "33VVK421800"),
        ("VK 1234 0812", "digits_transposed", "33VVK12348012"),
        ("VL 1234 8012", "wrong_letters", "33VVK12348012"),
        ("31V 123 801", "wrong_zone", "33VVK123801"),
        ("33U 123 801", "wrong_band", "33VVK123801"),
        ("32 412340 6980120", "wrong_zone", "UTM 33 north 412340 6980120"),
        ("6980120 N 142340 E", "digits_transposed", "UTM 33 north 412340 6980120"),
    ],
)
def test_a_slip_in_a_short_reference_is_named_and_undone(text, slip, meant):
    hut = place_of("33VVK12348012")
    with pytest.raises(NothingInReachError):
        read_position_text(text, expected=hut)
    found = alternatives_of_refused(text, WGS84_FRAME, hut)
    assert (slip, read_position_text(meant)) in [(one.slip, one.reading) for one in found]
    assert [one.distance_m for one in found] == sorted(one.distance_m for one in found)


def test_a_slip_in_a_short_reference_is_undone_on_national_grids_and_on_sheets():
    (swapped, *_others) = alternatives_of_refused(
        "SK 345 123", WGS84_FRAME, place_of("British grid SK 123 345")
    )
    assert (swapped.slip, swapped.reading.read_as) == (
        "easting_and_northing_swapped",
        "British grid SK 123 345",
    )
    found = alternatives_of_refused("Irish grid 346 159", WGS84_FRAME, Expected(53.35, -6.26, 5_000.0))
    assert [(one.slip, one.reading.read_as) for one in found] == [
        ("easting_and_northing_swapped", "Irish grid O 159 346")
    ]
    corners = (Corner("south_west", 62.9, 13.2), Corner("north_east", 63.0, 13.4))
    (swapped,) = alternatives_of_refused(
        "803 124", WGS84_FRAME, Expected(sheet=Sheet().with_corners(corners))
    )
    assert (swapped.slip, swapped.reading.read_as) == ("easting_and_northing_swapped", "MGRS 33VVK124803")


def test_a_slip_of_a_text_on_wgs84_is_read_on_it():
    ed50 = Frame(find_datum("ED50"))
    (found,) = alternatives_of_refused("33TMT6262 WGS84", ed50, NEAR)
    assert found.reading.read_as == "MGRS 32TMT6262 WGS 84"
    assert (found.reading.shift, found.frame) == (None, WGS84_FRAME)
    assert read_position_text(found.reading.read_as, ed50) == found.reading


def test_a_number_behind_its_letter_is_no_slip_of_a_zone():
    assert alternatives_of_refused("V33 VK 1234 8012", WGS84_FRAME, place_of("33VVK12348012")) == []


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
