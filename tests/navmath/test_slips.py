"""Likely slips in positions that lie far from where they are expected. All places are invented."""

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from threenorths_service.navmath.datums.datum import WGS84, find_datum
from threenorths_service.navmath.datums.frame import WGS84_FRAME, Frame
from threenorths_service.navmath.errors import NavigationError
from threenorths_service.navmath.grids.grid import band_of, to_grid
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.places import slips
from threenorths_service.navmath.places.expected import NOTHING_EXPECTED, Expected
from threenorths_service.navmath.places.slip_edits import edits
from threenorths_service.navmath.places.slips import MOST_ALTERNATIVES, SLIPS, alternatives
from threenorths_service.navmath.references.mgrs import write_mgrs, write_mgrs_from_grid
from threenorths_service.navmath.sheets.sheet import Corner, Sheet
from threenorths_service.navmath.texts.position_text import read_position_text

#: Where UTM and the lettering of its squares have no exceptions, and a place may be either side of the equator.
LATITUDES = st.floats(-55.0, 55.0)
LONGITUDES = st.floats(-179.0, 179.0)
PLACES = st.tuples(LATITUDES, LONGITUDES)
DIGITS = st.integers(2, 5)
#: From the true place to the place that it is expected near.
OFF = st.tuples(st.floats(0.0, 360.0), st.floats(0.0, 5_000.0))

# Most wrong letters and numbers give no place at all, and those examples are passed over.
round_trips = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])


def slips_of(text, expected, frame=WGS84_FRAME):
    return alternatives(read_position_text(text, frame).read_as, frame, expected)


def near(place, off):
    lat, lon, _ = direct(*place, *off)
    return Expected(float(lat), float(lon), 8_000.0)


def assert_undone(slip, written, meant, expected):
    """That ``written`` is far off, and that ``meant`` is among what it may mean, by this slip or a likelier one."""
    try:
        given_reading = read_position_text(written)
    except NavigationError:
        assume(False)
    meant_reading = read_position_text(meant)
    assume(not expected.fits_reading(given_reading))
    found = alternatives(given_reading.read_as, WGS84_FRAME, expected)
    (slip_found,) = [one.slip for one in found if is_same(one.reading, meant_reading)]
    assert list(SLIPS).index(slip_found) <= list(SLIPS).index(slip)


def is_same(one, other):
    """Whether both name one place, or one square, of which the point differs by the band that it is named in."""
    squares = [
        (square.zone, square.south, square.corner_easting_m, square.corner_northing_m, square.size_m)
        for square in (one.square, other.square)
        if square is not None
    ]
    return metres_between(one, other) < 0.001 or (len(squares) == 2 and squares[0] == squares[1])


def metres_between(one, other):
    return float(inverse(one.lat_deg, one.lon_deg, other.lat_deg, other.lon_deg)[2])


def figures_of(reference, digits):
    """A reference taken apart: what stands before the figures, easting, northing."""
    return reference[: -2 * digits], reference[-2 * digits : -digits], reference[-digits:]


def transposed(digits, at):
    assume(digits[at] != digits[at + 1])
    return digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]


def utm(place):
    """Zone, hemisphere in words, easting and northing, to the metre."""
    grid = to_grid(*place)
    hemisphere = "south" if grid.south else "north"
    return int(grid.zone), hemisphere, f"{int(grid.easting_m)}", f"{int(grid.northing_m)}"


def utm_text(zone, hemisphere, easting, northing):
    return f"UTM {zone} {hemisphere} {easting} {northing}"


NEAR = Expected(47.5, 8.5)
CAPE = Expected(-33.9, 18.5)
LONDON = Expected(51.5, -0.1)


@pytest.mark.parametrize(
    ("written", "expected", "slip", "meant"),
    [
        ("32TMT1062", Expected(47.03, 8.5), "easting_and_northing_swapped", "32TMT6210"),
        ("32TMT6226", Expected(47.5, 8.5, 10_000.0), "digits_transposed", "32TMT6262"),
        ("32TLT6262", NEAR, "neighbouring_square", "32TMT6262"),
        ("32TNS6262", NEAR, "neighbouring_square", "32TMT6262"),
        ("38TMT6262", NEAR, "wrong_zone", "32TMT6262"),
        ("32RMT6262", NEAR, "wrong_band", "32TMT6262"),
        ("UTM 33 north 462000 5262000", NEAR, "wrong_zone", "UTM 32 north 462000 5262000"),
        ("UTM 32 south 462000 5262000", NEAR, "wrong_hemisphere", "UTM 32 north 462000 5262000"),
        ("UTM 32 north 562000 5262000", NEAR, "neighbouring_square", "UTM 32 north 462000 5262000"),
        ("UTM 32 north 462000 5226000", NEAR, "digits_transposed", "UTM 32 north 462000 5262000"),
        ("UTM 32 north 300000 600000", Expected(2.71, 9.9), "easting_and_northing_swapped", "UTM 32 N 600000 300000"),
        ("UPS south 2100000 1900000", Expected(89.0, 45.0, 90e3), "wrong_hemisphere", "UPS north 2100000 1900000"),
        ("UPS north 2300000 2100000", Expected(87.2, 160.0), "easting_and_northing_swapped", "UPS N 2100000 2300000"),
        ("UTM 32 north 462000 0526200", Expected(45.4, 8.5), "digits_transposed", "UTM 32 north 462000 5026200"),
        ("47 N 08 E", Expected(47.0, 80.0), "digits_transposed", "47 N 80 E"),
        ("47 N 013 E", Expected(47.0, 103.0), "digits_transposed", "47 N 103 E"),
        ("8.5, 47.5", NEAR, "latitude_and_longitude_swapped", "47.5, 8.5"),
        ("18.5, -33.9", CAPE, "latitude_and_longitude_swapped", "-33.9, 18.5"),
        ("18.5 S 33.9 E", CAPE, "latitude_and_longitude_swapped", "33.9 S 18.5 E"),
        ("33.9, 18.5", CAPE, "wrong_hemisphere", "-33.9, 18.5"),
        ("33.9 S 18.5 W", CAPE, "wrong_hemisphere", "33.9 S 18.5 E"),
        ("33.9 N 18.5 W", CAPE, "wrong_hemisphere", "33.9 S 18.5 E"),
        ("74.5 N 8.5 E", NEAR, "digits_transposed", "47.5 N 8.5 E"),
        ("47 03 N 8 30 E", NEAR, "digits_transposed", "47 30 N 8 30 E"),
        ("47.05 N 8.30 E", Expected(47.08, 8.5, 5_000.0), "minutes_as_decimals", "47 05 N 8 30 E"),
        ("47.5 N 8.5 E", Expected(47.0833, 8.0833, 5_000.0), "minutes_as_decimals", "47 5 N 8 5 E"),
        ("47.3015 N 8.3020 E", Expected(47.504, 8.506, 1_000.0), "minutes_as_decimals", "47 30 15 N 8 30 20 E"),
        ("47.3015 N 8.3020 E", Expected(47.5025, 8.5033, 50.0), "minutes_as_decimals", "47 30.15 N 8 30.20 E"),
        ("47 30.15 N 8 30.20 E", Expected(47.504, 8.5055, 50.0), "minutes_as_decimals", "47 30 15 N 8 30 20 E"),
        ("47 30 N 8 45 E", Expected(47.3, 8.45, 5_000.0), "minutes_as_decimals", "47.30 N 8.45 E"),
        ("47 30 15 N 8 45 5 E", Expected(47.50025, 8.7508, 300.0), "minutes_as_decimals", "47 30.15 N 8 45.05 E"),
        ("47 30 15 N 8 45 5 E", Expected(47.3015, 8.4505, 300.0), "minutes_as_decimals", "47.3015 N 8.4505 E"),
        ("British grid TQ 802 305", LONDON, "easting_and_northing_swapped", "British grid TQ 305 802"),
        ("British grid TQ 305 082", LONDON, "digits_transposed", "British grid TQ 305 802"),
        ("British grid SU 305 802", LONDON, "neighbouring_square", "British grid TQ 305 802"),
        ("EPSG:27700 180200 530500", LONDON, "easting_and_northing_swapped", "EPSG:27700 530500 180200"),
        ("EPSG:27700 503500 180200", Expected(51.5, -0.1, 5_000.0), "digits_transposed", "EPSG:27700 530500 180200"),
        ("EPSG:27700 430500 180200", LONDON, "neighbouring_square", "EPSG:27700 530500 180200"),
    ],
)  # fmt: skip
def test_a_slip_is_named_and_undone(written, expected, slip, meant):
    assert not expected.fits_reading(read_position_text(written))
    found = slips_of(written, expected)
    meant_reading = read_position_text(meant)
    assert (slip, 0.0) in [(one.slip, round(metres_between(one.reading, meant_reading), 3)) for one in found]


def test_a_slip_is_given_with_its_place_and_distance():
    (slip,) = slips_of("8.5, 47.5", NEAR)
    assert slip.explanation == SLIPS[slip.slip]
    assert slip.distance_m == pytest.approx(0.0, abs=1e-6)
    details = slip.as_details()
    assert (details["lat_deg"], details["lon_deg"]) == (47.5, 8.5)
    assert details.keys() >= {"slip", "explanation", "read_as", "distance_m"}


def test_of_two_slips_to_one_place_the_likelier_gives_its_name():
    # As well both hemispheres wrong.
    (slip,) = slips_of("20.5 N 20.5 W", Expected(-20.5, 20.5))
    assert slip.slip == "latitude_and_longitude_swapped"


def test_a_text_on_another_datum_is_told():
    # ED50 lies some 130 m to the north-east of WGS 84 in central Europe.
    ed50 = Frame(find_datum("ED50"))
    meant = read_position_text("32TMT6543212345", ed50)
    expected = Expected(meant.lat_deg, meant.lon_deg, 50.0, sheet=Sheet(datum=ed50.datum))
    assert [slip.slip for slip in slips_of("32TMT6543212345", expected)] == ["datum_not_applied"]
    (slip,) = slips_of("32TMT6543212345", expected)
    assert slip.frame == ed50
    assert metres_between(slip.reading, meant) < 0.001


def test_a_satellite_position_read_on_the_datum_of_the_sheet_is_told():
    ed50 = Frame(find_datum("ED50"))
    expected = Expected(47.5, 8.5, 50.0, sheet=Sheet(datum=ed50.datum))
    (slip,) = slips_of("47.5 N 8.5 E", expected, ed50)
    assert (slip.slip, slip.frame.datum) == ("datum_not_applied", WGS84)


def test_a_text_that_says_its_datum_is_undone_on_that():
    ed50 = Frame(find_datum("ED50"))
    given_reading = read_position_text("32TMT1062 WGS 84", ed50)
    (slip,) = alternatives(given_reading.read_as, ed50, Expected(47.03, 8.5))
    assert slip.reading == read_position_text("32TMT6210")
    assert slip.frame.datum == WGS84


def test_a_square_in_two_bands_is_told_once_with_the_band_of_its_centre():
    # The letters come again 2000 km to the south.
    for written, meant in (("32RNU0116", "MGRS 32UNU0116"), ("32RNU5016", "MGRS 32TNU5016")):
        found = slips_of(written, Expected(48.0, 9.3, 40_000.0))
        assert [slip.reading.read_as for slip in found if slip.slip == "wrong_band"] == [meant]


def test_no_number_of_utm_is_made_negative():
    # A minus could be taken for a dash.
    reading = read_position_text("UTM 32 north 150000 50000")
    texts = [edit.text for edit in edits(reading, WGS84_FRAME, Expected(0.5, 6.0))]
    assert texts
    assert not any("-" in text for text in texts)


def test_without_a_place_nothing_is_an_alternative():
    for expected in (NOTHING_EXPECTED, Expected(sheet=Sheet(grid_zone=32))):
        assert slips_of("8.5, 47.5", expected) == []


def test_the_sheet_alone_tells_which_places_fit():
    corners = (Corner("south_west", 47.4, 8.25), Corner("north_east", 47.6, 8.75))
    expected = Expected(sheet=Sheet(grid_zone=32).with_corners(corners))
    found = slips_of("32TMT6226", expected)
    assert [slip.reading.read_as for slip in found] == ["MGRS 32TMT6262"]
    assert found[0].distance_m == 0.0


@round_trips
@given(PLACES, OFF, DIGITS)
def test_an_exchanged_easting_and_northing_is_undone(place, off, digits):
    meant = str(write_mgrs(*place, digits))
    head, easting, northing = figures_of(meant, digits)
    assert_undone("easting_and_northing_swapped", f"{head}{northing}{easting}", meant, near(place, off))


@round_trips
@given(PLACES, OFF, DIGITS, st.integers(0, 3), st.booleans())
def test_transposed_digits_of_a_reference_are_undone(place, off, digits, at, in_easting):
    meant = str(write_mgrs(*place, digits))
    head, easting, northing = figures_of(meant, digits)
    at = min(at, digits - 2)
    halves = (transposed(easting, at), northing) if in_easting else (easting, transposed(northing, at))
    assert_undone("digits_transposed", head + "".join(halves), meant, near(place, off))


@round_trips
@given(PLACES, OFF, st.integers(0, 5), st.booleans())
def test_transposed_digits_of_utm_coordinates_are_undone(place, off, at, in_easting):
    zone, hemisphere, easting, northing = utm(place)
    if in_easting:
        numbers = (transposed(easting, min(at, len(easting) - 2)), northing)
    else:
        numbers = (easting, transposed(northing, min(at, len(northing) - 2)))
    meant = utm_text(zone, hemisphere, easting, northing)
    assert_undone("digits_transposed", utm_text(zone, hemisphere, *numbers), meant, near(place, off))


@round_trips
@given(PLACES, OFF, DIGITS, st.sampled_from([-1, 0, 1]), st.sampled_from([-1, 0, 1]))
def test_a_neighbouring_square_is_undone(place, off, digits, east, north):
    grid, band = to_grid(*place), str(band_of(*place))
    meant = str(write_mgrs(*place, digits))
    try:
        easting_m, northing_m = grid.easting_m + east * 100_000, grid.northing_m + north * 100_000
        written = str(write_mgrs_from_grid(grid.zone, band, easting_m, northing_m, digits))
    except NavigationError:
        assume(False)
    assert_undone("neighbouring_square", written, meant, near(place, off))
    zone, hemisphere, easting, northing = utm(place)
    numbers = (str(int(easting) + east * 100_000), str(int(northing) + north * 100_000))
    meant = utm_text(zone, hemisphere, easting, northing)
    assert_undone("neighbouring_square", utm_text(zone, hemisphere, *numbers), meant, near(place, off))


@round_trips
@given(PLACES, OFF, DIGITS, st.integers(1, 60))
@example((47.5, 8.5), (0.0, 0.0), 5, 31)
def test_a_wrong_zone_is_undone(place, off, digits, wrong):
    zone, hemisphere, easting, northing = utm(place)
    meant = utm_text(zone, hemisphere, easting, northing)
    assert_undone("wrong_zone", utm_text(wrong, hemisphere, easting, northing), meant, near(place, off))
    meant = str(write_mgrs(*place, digits))
    # The letters of the columns come round every third zone.
    wrong = (zone + 3 * wrong - 1) % 60 + 1
    assert_undone("wrong_zone", f"{wrong:02d}{meant[2:]}", meant, near(place, off))


@round_trips
@given(PLACES, OFF, DIGITS, st.sampled_from("CDEFGHJKLMNPQRSTUVWX"))
def test_a_wrong_band_is_undone(place, off, digits, wrong):
    meant = str(write_mgrs(*place, digits))
    assert_undone("wrong_band", f"{meant[:2]}{wrong}{meant[3:]}", meant, near(place, off))


@round_trips
@given(PLACES, OFF)
def test_a_wrong_hemisphere_is_undone(place, off):
    zone, hemisphere, easting, northing = utm(place)
    other = {"north": "south", "south": "north"}[hemisphere]
    meant = utm_text(zone, hemisphere, easting, northing)
    assert_undone("wrong_hemisphere", utm_text(zone, other, easting, northing), meant, near(place, off))


@round_trips
@given(PLACES, OFF, st.integers(1, 5), st.sampled_from([(1, -1), (-1, 1), (-1, -1)]))
def test_wrong_signs_are_undone(place, off, decimals, signs):
    lat, lon = place
    meant = f"{lat:+.{decimals}f} {lon:+.{decimals}f}"
    written = f"{signs[0] * lat:+.{decimals}f} {signs[1] * lon:+.{decimals}f}"
    assert_undone("wrong_hemisphere", written, meant, Expected(lat, lon, near(place, off).reach_m))


@round_trips
@given(PLACES, st.integers(1, 5), st.booleans())
def test_an_exchanged_latitude_and_longitude_is_undone(place, decimals, keep_letters):
    lat, lon = place
    numbers = f"{abs(lat):.{decimals}f}", f"{abs(lon):.{decimals}f}"
    # A nought keeps no hemisphere.
    assume(all(float(number) > 0.0 for number in numbers))
    letters = "NS"[lat < 0.0], "EW"[lon < 0.0]
    meant = f"{numbers[0]} {letters[0]} {numbers[1]} {letters[1]}"
    written = f"{numbers[1]} {letters[0]} {numbers[0]} {letters[1]}"
    if not keep_letters:
        meant = f"{lat:+.{decimals}f} {lon:+.{decimals}f}"
        written = f"{lon:+.{decimals}f} {lat:+.{decimals}f}"
    assert_undone("latitude_and_longitude_swapped", written, meant, Expected(lat, lon, 8_000.0))


@round_trips
@given(PLACES, st.integers(0, 3), st.booleans())
def test_minutes_written_as_decimals_are_undone_and_the_other_way(place, decimals, with_seconds):
    halves = []
    for value, letters in zip(place, ("NS", "EW"), strict=True):
        degrees, rest = divmod(abs(value), 1.0)
        minutes, rest = divmod(rest * 60.0, 1.0)
        seconds = f"{int(rest * 60.0):02d}" if with_seconds else ""
        further = "123"[:decimals]
        halves.append((f"{int(degrees)}", f"{int(minutes):02d}", seconds, further, letters[value < 0.0]))
    as_parts = " ".join(
        f"{degrees} {minutes}{' ' if seconds else ''}{seconds}{'.' if further else ''}{further} {letter}"
        for degrees, minutes, seconds, further, letter in halves
    )
    as_decimals = " ".join(
        f"{degrees}.{minutes}{seconds}{further} {letter}"
        for degrees, minutes, seconds, further, letter in halves
    )
    parts, decimal = read_position_text(as_parts), read_position_text(as_decimals)
    assert_undone("minutes_as_decimals", as_decimals, as_parts, Expected(parts.lat_deg, parts.lon_deg, 100.0))
    assert_undone(
        "minutes_as_decimals", as_parts, as_decimals, Expected(decimal.lat_deg, decimal.lon_deg, 100.0)
    )


@settings(max_examples=80, deadline=None)
@given(PLACES, PLACES, st.sampled_from(["mgrs", "utm", "degrees"]), st.sampled_from([3e3, 3e4, 3e6, 2e7]))
@example((0.0, 9.0), (0.0, 9.0), "utm", 2e7)
@example((47.5, 8.5), (47.5, 8.5), "mgrs", 2e7)
def test_what_is_listed_fits_is_new_and_is_nearest_first(place, expected_place, form, reach):
    texts = {
        "mgrs": str(write_mgrs(*place)),
        "utm": utm_text(*utm(place)),
        "degrees": f"{place[0]:+.4f} {place[1]:+.4f}",
    }
    expected = Expected(*expected_place, reach)
    given_reading = read_position_text(texts[form])
    found = slips_of(texts[form], expected)
    assert len(found) <= MOST_ALTERNATIVES
    assert [slip.distance_m for slip in found] == sorted(slip.distance_m for slip in found)
    places = [given_reading, *(slip.reading for slip in found)]
    for count, slip in enumerate(found, start=1):
        assert slip.slip in SLIPS
        assert expected.fits_reading(slip.reading)
        assert slip.distance_m == expected.distance_m(slip.reading.lat_deg, slip.reading.lon_deg)
        assert min(metres_between(slip.reading, other) for other in places[:count]) >= 0.001
        assert read_position_text(slip.reading.read_as, slip.frame).read_as == slip.reading.read_as


@pytest.mark.parametrize(
    "text",
    ["32TMT6543212345", "ZAH1234512345", "32TMT", "UTM 32 north 465432.123 5212345.678", "UPS north 2123456 2123456",
     "47 12 34.5678 N 123 45 43.2109 E", "British grid TQ", "British grid TQ 12345 12345", "EPSG:27700 530500 180200"],
)  # fmt: skip
def test_the_work_is_bounded_whatever_the_reach(text):
    reading = read_position_text(text)
    everywhere = Expected(reading.lat_deg, reading.lon_deg, 2.1e7)
    count = sum(1 for _ in edits(reading, WGS84_FRAME, everywhere))
    # Eight squares around, a dozen zones and bands, and a transposition for each digit of either number.
    assert count <= 60


EDGES = {
    "WGS 84": [(0.0, 6.0), (72.0, 9.0), (64.0, 12.0), (84.0, 30.0), (-80.0, -120.0), (89.5, 100.0)],
    "ED50": [(48.0, 6.0), (64.0, 12.0), (40.0, 18.0)],
    "Tokyo": [(36.0, 138.0), (40.0, 140.5)],
}


@pytest.mark.parametrize("datum", EDGES)
def test_what_is_left_out_before_it_is_read_would_not_have_fitted(datum, monkeypatch):
    """At the edges of zones and bands, at the ends of UTM and near a pole too, and on the lettering of an older spheroid."""
    random = np.random.default_rng(17)
    frame = Frame(find_datum(datum), allow_ballpark=True)
    cases = []

    def undone(text, expected):
        try:
            return alternatives(text, frame, expected)
        except NavigationError:  # exchanged, it is beyond its zone
            return []

    for lat, lon in EDGES[datum] * (12 // len(EDGES[datum])):
        place = np.clip(lat + random.normal(0.0, 0.5), -90.0, 90.0), lon + random.normal(0.0, 0.5)
        digits = int(random.integers(1, 6))
        text = str(write_mgrs(*place, digits, ellipsoid=frame.datum.ellipsoid))
        head, easting, northing = figures_of(text, digits)
        for off_m in (1.0, 3_000.0, 80_000.0, 150_000.0):
            on_wgs84 = frame.from_greenwich(float(place[0]), float(place[1]))[:2]
            lat_near, lon_near, _ = direct(*on_wgs84, random.uniform(0.0, 360.0), off_m)
            reach_m = float(random.choice([5.0, 5_000.0, 200_000.0]))
            expected = Expected(float(lat_near), float(lon_near), reach_m)
            cases += [(f"MGRS {written}", expected) for written in (text, f"{head}{northing}{easting}")]
    some = [undone(*case) for case in cases]
    monkeypatch.setattr(slips, "_near", lambda texts, *_: texts)
    assert some == [undone(*case) for case in cases]
    assert sum(map(len, some)) > 100
