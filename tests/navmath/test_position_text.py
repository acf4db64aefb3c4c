"""Positions read from the ways people write them."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.frame import Frame
from threenorths_service.navmath.errors import (
    AmbiguousPositionError,
    NavigationError,
    NothingInReachError,
    OutOfRangeError,
    OutsideDatumAreaError,
    UnreadablePositionError,
)
from threenorths_service.navmath.grids.grid import to_grid
from threenorths_service.navmath.places.expected import Expected
from threenorths_service.navmath.places.short_reference import MOST_LISTED
from threenorths_service.navmath.references.mgrs import read_mgrs, write_mgrs
from threenorths_service.navmath.references.mgrs_status import MgrsStatus
from threenorths_service.navmath.sheets.sheet import Sheet
from threenorths_service.navmath.texts.position_text import read_position_text
from threenorths_service.navmath.texts.spoken_text import FIGURES, LETTERS
from threenorths_service.navmath.texts.text_noise import NOISE_WORDS
from threenorths_service.navmath.texts.text_tokens import ANGLE_WORDS


def table(name):
    with (Path(__file__).parent / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


SPELLINGS = table("spellings.csv")
NEAR = table("spellings_near.csv")

FORMS = ("latitude_longitude", "utm", "ups", "mgrs", "national_reference", "projected")
READ = [row for row in SPELLINGS if row["outcome"] in FORMS]
AMBIGUOUS = [row for row in SPELLINGS if row["outcome"] == "ambiguous_position"]
REFUSED = [row for row in SPELLINGS if row["outcome"] not in (*FORMS, "ambiguous_position")]

# Not on WGS 84; a northing that is negative; and places beyond the reach of the UPS grids.
NOT_READ = {"IOGP-7-2-TM", "GL-zone-hemi-2", "TM8358.2-3-7-ID2", "IOGP-7-2-PS-A"}
PUBLISHED = [row for row in rows("utm_examples") if row["id"] not in NOT_READ]

LATITUDES = st.floats(-90.0, 90.0)
LONGITUDES = st.floats(-180.0, 180.0, exclude_max=True)


def text_of(row):
    return row["text"]


def place_of(reading):
    """What the table has in ``first`` and ``second``."""
    if reading.form == "latitude_longitude":
        return reading.lat_deg, reading.lon_deg
    return reading.easting_m, reading.northing_m


def test_the_table_has_enough_of_each_kind():
    outcomes = {row["outcome"] for row in SPELLINGS}
    assert outcomes >= {*FORMS, "unreadable_position", "out_of_range", "outside_grid", "square_not_in_zone"}
    assert len(SPELLINGS) >= 600
    assert len(READ) >= 400
    assert len(AMBIGUOUS) >= 25
    assert len(REFUSED) >= 200
    assert len({row["text"] for row in SPELLINGS}) == len(SPELLINGS)


@pytest.mark.parametrize("row", READ, ids=text_of)
def test_a_spelling_is_read(row):
    reading = read_position_text(row["text"])
    assert reading.form == row["outcome"]
    # The table gives angles to 15 decimals or more; two doubles of such size are 3e-14 apart.
    assert place_of(reading) == pytest.approx((float(row["first"]), float(row["second"])), abs=3e-14)
    assert "-0.0" not in {str(reading.lat_deg), str(reading.lon_deg)}
    assert reading.shift is None or row["outcome"] in ("national_reference", "projected")
    if row["zone"]:
        assert f"{reading.zone} {'south' if reading.south else 'north'}" == row["zone"]
    else:
        assert (
            reading.zone is reading.south is reading.band is reading.easting_m is reading.northing_m is None
        )


@pytest.mark.parametrize("row", READ, ids=text_of)
def test_what_it_was_read_as_reads_as_the_same(row):
    reading = read_position_text(row["text"])
    assert read_position_text(reading.read_as) == reading


@pytest.mark.parametrize("row", AMBIGUOUS, ids=text_of)
def test_a_text_of_two_readings_is_not_decided(row):
    with pytest.raises(AmbiguousPositionError) as refused:
        read_position_text(row["text"])
    readings = refused.value.details["readings"]
    assert " | ".join(reading["read_as"] for reading in readings) == row["says"]
    assert len(readings) > 1
    for listed in readings:
        reading = read_position_text(listed["read_as"])
        assert listed == {
            "read_as": reading.read_as,
            "lat_deg": reading.lat_deg,
            "lon_deg": reading.lon_deg,
            "form": reading.form,
        }


@pytest.mark.parametrize("row", REFUSED, ids=text_of)
def test_a_text_that_is_no_position_is_refused_with_its_reason(row):
    with pytest.raises(NavigationError) as refused:
        read_position_text(row["text"])
    assert refused.value.code == row["outcome"]
    assert row["says"] in str(refused.value)
    assert refused.value.member is None
    assert row["text"].startswith(refused.value.value)
    assert refused.value.allowed


def expected_near(text):
    place = read_position_text(text)
    return Expected(place.lat_deg, place.lon_deg)


@pytest.mark.parametrize("row", NEAR, ids=lambda row: f"{row['text']} near {row['near']}")
def test_a_text_is_read_near_a_place(row):
    expected = expected_near(row["near"])
    if row["outcome"] in FORMS:
        reading = read_position_text(row["text"], expected=expected)
        assert (reading.form, reading.read_as) == (row["outcome"], row["reads"])
        assert read_position_text(reading.read_as, expected=expected) == reading
        return
    with pytest.raises(NavigationError) as refused:
        read_position_text(row["text"], expected=expected)
    assert refused.value.code == row["outcome"]
    assert refused.value.value == row["text"]
    assert refused.value.allowed
    readings = refused.value.details.get("readings", [])
    assert " | ".join(reading["read_as"] for reading in readings).startswith(row["reads"])
    if row["outcome"] == "ambiguous_position":
        distances = [reading["distance_m"] for reading in readings]
        assert distances == sorted(distances)


def test_bare_figures_that_may_be_degrees_too_are_not_decided_where_both_fit():
    # 32TMT 47 08 has its centre at 447500 E 5208500 N, near 47.0 N 8.3 E; the degrees, 47 N 8 E, are 24 km from there.
    with pytest.raises(AmbiguousPositionError) as refused:
        read_position_text("47 08", expected=Expected(47.0, 8.3))
    readings = refused.value.details["readings"]
    assert [reading["form"] for reading in readings] == ["mgrs", "latitude_longitude"]
    assert readings[0]["distance_m"] < 5000.0
    assert readings[1]["distance_m"] == pytest.approx(22_800.0, abs=100.0)


ED50 = Frame(find_datum("ED50"))


@pytest.mark.parametrize("text", ["47.5 N 8.5 E", "32T MT 654 123", "32T 465000 5247000"])
def test_a_text_is_on_its_datum_and_its_reading_on_wgs84(text):
    own, reading = read_position_text(text), read_position_text(text, ED50)
    lat_deg, lon_deg, shift = (
        ED50.from_grid(own.zone, own.south, own.easting_m, own.northing_m)
        if own.zone
        else (ED50.on_wgs84(own.lat_deg, own.lon_deg))
    )
    assert (reading.lat_deg, reading.lon_deg, reading.shift) == (lat_deg, lon_deg, shift)
    assert shift.datum == ED50.datum
    assert (reading.easting_m, reading.northing_m, reading.read_as) == (
        own.easting_m,
        own.northing_m,
        own.read_as,
    )
    # From WGS 84 to ED50 is some 150 m in those parts.
    assert 50.0 < 111_000.0 * math.hypot(lat_deg - own.lat_deg, 0.68 * (lon_deg - own.lon_deg)) < 250.0
    assert read_position_text(reading.read_as, ED50) == reading
    assert reading.square is None or reading.square.frame == ED50


def test_the_band_is_that_of_the_place_on_its_own_datum():
    # 48 0 1 N on ED50 is some 100 m further south on WGS 84, over the edge of the band.
    place = to_grid(48 + 1 / 3600, 9.0, 32, False, ellipsoid=ED50.datum.ellipsoid)
    reading = read_position_text(f"32U {place.easting_m:.0f} {place.northing_m:.0f}", ED50)
    assert reading.band == "U"
    assert reading.lat_deg < 48.0


@pytest.mark.parametrize(
    "text", ["47.5 N 8.5 E WGS84", "(WGS 84) 32T MT 654 123", "WGS-84: 32T 465000 5247000"]
)
def test_a_text_that_says_wgs84_is_on_it_whatever_its_frame(text):
    reading = read_position_text(text, ED50)
    assert reading.shift is None
    assert reading.read_as.endswith(" WGS 84")
    assert (reading.lat_deg, reading.lon_deg) == (
        read_position_text(text).lat_deg,
        read_position_text(text).lon_deg,
    )
    assert read_position_text(reading.read_as, ED50) == reading


IN_BRITAIN = Expected(52.9, -1.8)


@pytest.mark.parametrize("text", ["123 345", "SK 123 345", "412345 334567"])
def test_a_named_datum_leaves_out_the_national_grids_of_others(text):
    assert read_position_text(text, expected=IN_BRITAIN).zone == 27700
    own = read_position_text(text, Frame(find_datum("OSGB36")), IN_BRITAIN)
    assert (own.read_as, own.zone) == (read_position_text(text, expected=IN_BRITAIN).read_as, 27700)
    for frame, marked in ((ED50, text), (Frame(), f"{text} WGS84"), (ED50, f"{text} WGS84")):
        with pytest.raises(NothingInReachError) as refused:
            read_position_text(marked, frame, IN_BRITAIN)
        listed = refused.value.details.get("readings", [])
        assert all(reading["form"] in ("mgrs", "utm") for reading in listed)


def test_a_named_datum_leaves_its_own_readings_on_the_grids_round_the_world():
    # The centre of 30UXD123345 is some 43 km from there.
    wide = Expected(52.9, -1.8, 50_000.0)
    reading = read_position_text("123 345", ED50, wide)
    assert (reading.read_as, reading.shift.datum) == ("MGRS 30UXD123345", ED50.datum)


def test_a_national_grid_that_the_text_names_brings_its_own_datum():
    reading = read_position_text("Irish grid 159 346", ED50, Expected(53.35, -6.26))
    assert (reading.read_as, reading.shift.datum.name) == ("Irish grid O 159 346", "TM75")
    assert read_position_text("British grid SK 123 345", ED50).shift.datum.name == "OSGB36"


def test_what_a_short_reference_is_offered_as_agrees_with_the_named_datum():
    with pytest.raises(UnreadablePositionError) as refused:
        read_position_text("SK 123 345")
    assert refused.value.details["readings"]
    with pytest.raises(UnreadablePositionError) as refused:
        read_position_text("SK 123 345", ED50)
    assert refused.value.details == {}
    with pytest.raises(UnreadablePositionError) as refused:
        read_position_text("SK 123 345 WGS84")
    assert refused.value.details == {}


@pytest.mark.parametrize("reach_m", [1e6, 2e7])
@pytest.mark.parametrize(("text", "near"), [("4312", (62.94, 13.27)), ("12", (51.0, 0.0))])
def test_of_many_readings_the_nearest_are_listed_and_those_not_looked_at_are_told(text, near, reach_m):
    expected = Expected(*near, reach_m)
    with pytest.raises(AmbiguousPositionError, match=r"has at least \d{3} readings") as refused:
        read_position_text(text, expected=expected)
    distances = [reading["distance_m"] for reading in refused.value.details["readings"]]
    assert len(distances) == MOST_LISTED
    assert distances == sorted(distances)
    nearest = replace(expected, reach_m=distances[1])
    with pytest.raises(AmbiguousPositionError, match=r"has \d readings"):
        read_position_text(text, expected=nearest)


@pytest.mark.parametrize(
    ("text", "grid", "reads"),
    [
        ("412345 6980125", 33, "UTM 33 north 412345 m E 6980125 m N"),
        ("4 12 345 mE 69 80 125 mN", 33, "UTM 33 north 412345 m E 6980125 m N"),
        ("⁴12³⁴⁵ᵐE ⁶⁹80¹²⁵ᵐN", 33, "UTM 33 north 412345 m E 6980125 m N"),
        ("412345 334567", 27700, "EPSG:27700 412345 m E 334567 m N"),
        ("SK 123 345", 27700, "British grid SK 123 345"),
        ("J 338 740", 29903, "Irish grid J 338 740"),
    ],
)
def test_a_sheet_that_names_its_grid_alone_tells_what_whole_coordinates_mean(text, grid, reads):
    assert read_position_text(text, expected=Expected(sheet=Sheet(grid_zone=grid))).read_as == reads


def test_letters_that_come_again_in_the_zone_of_the_sheet_are_listed():
    with pytest.raises(AmbiguousPositionError) as refused:
        read_position_text("VK 124 803", expected=Expected(sheet=Sheet(grid_zone=33)))
    # Every 2000 km.
    assert [reading["read_as"][5:10] for reading in refused.value.details["readings"]] == [
        "33PVK", "33RVK", "33TVK", "33VVK", "33XVK"
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["47 08", "654 123"])
def test_figures_are_not_read_by_the_grid_of_a_sheet_alone(text):
    with pytest.raises(UnreadablePositionError) as alone:
        read_position_text(text)
    with pytest.raises(UnreadablePositionError) as refused:
        read_position_text(text, expected=Expected(sheet=Sheet(grid_zone=32)))
    assert str(refused.value) == str(alone.value)
    assert refused.value.details == alone.value.details


def test_figures_with_a_comma_on_a_sheet_of_squares_alone_may_be_degrees_too():
    squares = Expected(sheet=Sheet(grid_zone=33, squares=("33VVK",)))
    assert read_position_text("12 80", expected=squares).read_as == "MGRS 33VVK1280"
    with pytest.raises(AmbiguousPositionError) as refused:
        read_position_text("12, 80", expected=squares)
    assert [reading["form"] for reading in refused.value.details["readings"]] == [
        "mgrs",
        "latitude_longitude",
    ]


def test_gr_before_figures_may_be_a_square_or_a_grid_reference():
    square = read_position_text("34TGR123801")
    near_square = Expected(square.lat_deg, square.lon_deg)
    assert read_position_text("GR 123801", expected=near_square).read_as == "MGRS 34TGR123801"
    with pytest.raises(AmbiguousPositionError) as refused:
        read_position_text("GR 123801", expected=replace(near_square, reach_m=105_000.0))
    assert refused.value.details["readings"][0]["read_as"] == "MGRS 34TGR123801"
    assert "MGRS 34TGQ123801" in [reading["read_as"] for reading in refused.value.details["readings"]]


def test_a_longitude_counts_from_the_prime_meridian_of_its_datum():
    # Paris is 2 20 14.025 E of Greenwich (EPSG dataset); NTF lies some 200 m off WGS 84 there.
    reading = read_position_text("48.5 N 0 E", Frame(find_datum("NTF (Paris)")))
    assert reading.lon_deg == pytest.approx(2 + 20 / 60 + 14.025 / 3600, abs=0.003)


def test_a_place_outside_the_area_of_its_datum_is_refused_with_the_named_error():
    with pytest.raises(OutsideDatumAreaError) as refused:
        read_position_text("47.5 N 120 W", ED50)
    assert refused.value.value == "47.5 N 120 W"
    assert refused.value.allowed


def readings_of(text):
    try:
        return [read_position_text(text).read_as]
    except AmbiguousPositionError as error:
        return [reading["read_as"] for reading in error.details["readings"]]


def words_of_three_letters():
    words = FIGURES.keys() | LETTERS.keys() | NOISE_WORDS | ANGLE_WORDS | {"TEN", "RAY", "DOT", "WGS"}
    return sorted(word for word in words if len(word) == 3)


@pytest.mark.parametrize("word", words_of_three_letters())
@pytest.mark.parametrize("gap", ["", " "])
def test_no_word_stands_in_the_way_of_a_reference_with_the_same_letters(word, gap):
    squares = [f"{zone:02d}{word}84" for zone in range(1, 61)]
    found = [square for square in squares if read_mgrs([square]).status[0] == MgrsStatus.OK]
    for square in found:
        spelled = f"{square[:2]}{gap}{word}{gap}84"
        # `05LNG84` is a latitude and a longitude too, and both are listed.
        assert f"MGRS {square}" in readings_of(spelled)


def test_a_latitude_over_90_comes_with_the_exchanged_reading_where_there_is_one():
    with pytest.raises(OutOfRangeError) as refused:
        read_position_text("100.5, -45.2")
    (offered,) = refused.value.details["readings"]
    assert (offered["lat_deg"], offered["lon_deg"]) == (-45.2, 100.5)
    for text in ("100.5, 145.2", "100.5 N 45.2 E", "lat 100.5 lon 45.2"):
        with pytest.raises(OutOfRangeError) as refused:
            read_position_text(text)
        assert refused.value.details == {}


def test_the_handbook_position_is_read():
    (row,) = [row for row in rows("handbook_examples") if row["id"] == "wilkinson"]
    reading = read_position_text(row["expected"])
    # 32 19 06 N, 84 47 32 W, summed by hand.
    assert reading.lat_deg == pytest.approx(32 + 1146 / 3600, abs=1e-14)
    assert reading.lon_deg == pytest.approx(-(84 + 2852 / 3600), abs=2e-14)
    # A second of latitude is 30.7 to 31.1 m, of longitude 30.92 m times about the cosine of the latitude.
    assert reading.resolution_north_m == pytest.approx(30.9, abs=0.2)
    assert reading.resolution_east_m == pytest.approx(30.92 * math.cos(math.radians(32.318)), abs=0.1)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["id"])
def test_published_grid_coordinates_are_read(row):
    polar = row["zone_or_grid"] == "UPS"
    head = "UPS" if polar else "UTM " + row["zone_or_grid"]
    hemisphere = {"N": "north", "S": "south"}[row["hemisphere"]]
    reading = read_position_text(f"{head} {hemisphere} {row['easting_m']} {row['northing_m']}")
    # Half the last printed digit, some 1e5 m to a degree of latitude; of longitude, less by the cosine.
    tolerance_deg = 0.5 * float(row["digits"].split()[0]) / 1.1e5 * 1.01 + 1e-12
    cosine = math.cos(math.radians(float(row["lat_deg"])))
    assert reading.lat_deg == pytest.approx(float(row["lat_deg"]), abs=2 * tolerance_deg)
    assert reading.lon_deg == pytest.approx(float(row["lon_deg"]), abs=2 * tolerance_deg / cosine)


def test_the_published_square_and_its_centre_are_read():
    (row,) = [row for row in rows("mgrs_examples") if row["id"] == "GL-inverse-centre"]
    reading = read_position_text(row["expected"])
    # Half the last of five decimals, from note: "at 38n 444500 3688500; SW corner is 38n 444000 3688000".
    assert (reading.lat_deg, reading.lon_deg) == pytest.approx((33.33424, 44.40363), abs=5e-6)
    assert (reading.zone, reading.south, reading.easting_m, reading.northing_m) == (
        38,
        False,
        444500.0,
        3688500.0,
    )
    square = reading.square
    assert (square.size_m, square.digits) == (1000.0, 2)
    assert (square.corner_easting_m, square.corner_northing_m) == (444000.0, 3688000.0)
    corner = read_position_text("UTM 38 north 444000 3688000")
    assert (square.corner_lat_deg, square.corner_lon_deg) == (corner.lat_deg, corner.lon_deg)
    assert not square.cut
    assert not square.overlap


def test_a_square_cut_by_the_edge_of_its_zone_keeps_its_point_inside():
    # Its centre, 250 km west of the meridian of 9 E at 47.4 N, is at about 5.7 E; the zone begins at 6 E.
    reading = read_position_text("32TKT")
    assert reading.square.cut
    assert reading.lon_deg >= 6.0
    for low_m, value_m in (
        (reading.square.corner_easting_m, reading.easting_m),
        (reading.square.corner_northing_m, reading.northing_m),
    ):
        assert low_m <= value_m < low_m + reading.square.size_m


def test_the_point_of_a_cut_square_is_one_place_in_degrees_and_on_the_grid():
    reading = read_position_text("32TKT")
    again = read_position_text(f"UTM 32 north {reading.easting_m:.6f} {reading.northing_m:.6f}")
    # A micrometre is some 1e-11 degrees.
    assert (again.lat_deg, again.lon_deg) == pytest.approx((reading.lat_deg, reading.lon_deg), abs=1e-10)


def test_the_last_written_digit_is_the_resolution():
    reading = read_position_text("32T 465000 5247000.25")
    assert (reading.resolution_east_m, reading.resolution_north_m) == (1.0, 0.01)
    reading = read_position_text("0, 0.0000")
    # Meridian radius a (1 - e^2) and equator's radius a, by hand.
    assert reading.resolution_north_m == pytest.approx(110574.3, abs=0.05)
    assert reading.resolution_east_m == pytest.approx(11.13195, abs=5e-6)


@given(LATITUDES, LONGITUDES, st.integers(0, 17), st.integers(0, 17))
@example(-90.0, -180.0, 0, 0)
def test_decimal_degrees_are_read_to_the_last_bit(lat, lon, lat_places, lon_places):
    lat_text, lon_text = f"{lat:.{lat_places}f}", f"{lon:.{lon_places}f}"
    reading = read_position_text(f"{lat_text}, {lon_text}")
    assert reading.lat_deg == float(lat_text)
    assert reading.lon_deg == (float(lon_text) if float(lon_text) < 180.0 else -180.0)
    assert read_position_text(reading.read_as) == reading


@given(
    st.integers(1, 60),
    st.booleans(),
    st.decimals(100000, 899999, places=2),
    st.decimals(1200000, 9300000, places=1),
)
def test_utm_is_read_as_written(zone, south, easting, northing):
    reading = read_position_text(f"zone {zone} {'south' if south else 'north'} {northing} m N {easting} m E")
    assert (reading.zone, reading.south) == (zone, south)
    assert (reading.easting_m, reading.northing_m) == (float(easting), float(northing))
    assert read_position_text(reading.read_as) == reading
    # N and S after the number are the hemisphere too, so that such a band letter may leave two readings.
    if reading.band not in ("N", "S"):
        assert read_position_text(f"{zone}{reading.band} {easting} {northing}") == reading


@given(LATITUDES, LONGITUDES, st.integers(0, 5))
@example(-90.0, 0.0, 5)
@example(84.0, -180.0, 5)
def test_a_written_reference_is_read_and_read_again(lat, lon, digits):
    reference = str(write_mgrs(lat, lon, digits))
    reading = read_position_text(reference.lower())
    assert reading.read_as == f"MGRS {reference}"
    assert reading.square.digits == digits
    assert read_position_text(reading.read_as) == reading


CODES = {
    "ambiguous_position",
    "outside_datum_area",
    "outside_grid",
    "out_of_range",
    "square_not_in_zone",
    "unknown_grid",
    "unreadable_position",
}
CHARACTERS = "0123456789 .,-+:;/°'\"NSEWnsewTUMZdm ′″−"


@st.composite
def mutilated_spellings(draw):
    """Texts of the table with characters put in, left out, exchanged or doubled."""
    text = draw(st.sampled_from(SPELLINGS))["text"]
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(text)))
        kind = draw(st.sampled_from(["put", "cut", "double", "swap"]))
        if kind == "put":
            text = text[:at] + draw(st.sampled_from(CHARACTERS)) + text[at:]
        elif kind == "cut":
            text = text[:at] + text[at + 1 :]
        elif kind == "double":
            text = text[:at] + text[at : at + 1] + text[at:]
        else:
            text = text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
    return text


def outcome_of(text):
    try:
        return read_position_text(text)
    except NavigationError as error:
        return error


def check_outcome(text):
    """The text is read as something that holds, or refused by a named error with readings that hold."""
    outcome = outcome_of(text)
    if isinstance(outcome, NavigationError):
        assert outcome.code in CODES
        for listed in outcome.details.get("readings", ()):
            assert read_position_text(listed["read_as"]).read_as == listed["read_as"]
        return
    assert -90.0 <= outcome.lat_deg <= 90.0
    assert -180.0 <= outcome.lon_deg < 180.0
    assert outcome.resolution_north_m >= 0.0
    assert read_position_text(outcome.read_as) == outcome


@settings(max_examples=2000)
@given(st.text(max_size=60) | st.text(CHARACTERS, max_size=40))
def test_any_text_is_read_or_refused_by_a_named_error(text):
    check_outcome(text)


@settings(max_examples=2000)
@given(mutilated_spellings())
def test_a_mutilated_spelling_is_read_or_refused_by_a_named_error(text):
    check_outcome(text)


REPEATED = "1_|1-|1:|N_|N1_|1_N_|N_1_E_|lat_|lat_N_|'|.|1.|-_|-1|E_1_N_1_|32T_|m|A|32_N_465000_E_|1_m_E_|zone_|UTM_|+1|°"


@pytest.mark.parametrize("unit", REPEATED.replace("_", " ").split("|"))
def test_a_long_repetition_is_refused(unit):
    """A pattern that tries every way to part such a text would not come to an end here."""
    with pytest.raises(NavigationError):
        read_position_text((unit * 200)[:200])


def test_a_text_over_200_characters_is_refused_unseen():
    assert read_position_text("47.5," + " " * 192 + "8.5").lon_deg == 8.5
    with pytest.raises(UnreadablePositionError, match="200"):
        read_position_text("47.5," + " " * 193 + "8.5")
