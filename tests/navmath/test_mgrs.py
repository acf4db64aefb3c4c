import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.errors import (
    OutOfRangeError,
    OutsideGridError,
    SquareNotInZoneError,
    UnreadablePositionError,
    all_errors,
)
from threenorths_service.navmath.grids.grid import from_grid, to_grid
from threenorths_service.navmath.references.mgrs import (
    MgrsStatus,
    mgrs_error,
    read_mgrs,
    read_mgrs_text,
    spaced_mgrs,
    square_corners,
    write_mgrs,
    write_mgrs_from_grid,
)

EXAMPLES = rows("mgrs_examples")

# The library that computed this row adds half a millimetre before it truncates, which carries a place 0.1 mm south of
# the equator over it; by truncation it is in the last square before it, 31MAV6602199999.
ROUNDED_OVER_THE_EQUATOR = "31MAA6602100000"


def of_kind(kind):
    return [row for row in EXAMPLES if row["kind"] == kind and row["expected"] != ROUNDED_OVER_THE_EQUATOR]


def digits_a_side(reference):
    return len(reference.lstrip("0123456789")[3:]) // 2


def to_one_metre(reference):
    """A published reference to a millimetre or less, cut to the five digits a side that are written here."""
    digits = digits_a_side(reference)
    head = reference[: len(reference) - 2 * digits]
    return head + reference[len(head) :][:digits][:5] + reference[len(head) + digits :][:5]


@pytest.mark.parametrize("row", of_kind("geodetic"), ids=lambda row: f"{row['id']}-{row['lon_deg']}")
def test_published_references_of_places(row):
    written = write_mgrs(float(row["lat_deg"]), float(row["lon_deg"]), digits_a_side(row["expected"]))
    assert written == row["expected"]


@pytest.mark.parametrize("row", of_kind("grid"), ids=lambda row: row["id"])
def test_published_references_of_grid_coordinates(row):
    expected = to_one_metre(row["expected"])
    place = int(row["zone"]), row["band"], float(row["easting_m"]), float(row["northing_m"])
    # The row of a grid zone alone, without a square, shows its letter.
    assert write_mgrs_from_grid(*place, digits_a_side(expected))[: len(expected)] == expected


@pytest.mark.parametrize("row", of_kind("centre"), ids=lambda row: row["id"])
def test_a_published_centre(row):
    square = read_mgrs(row["expected"])
    assert (square.easting_m, square.northing_m, square.size_m) == (444_000.0, 3_688_000.0, 1000.0)
    assert square.lat_deg == pytest.approx(float(row["lat_deg"]), abs=0.5e-5)
    assert square.lon_deg == pytest.approx(float(row["lon_deg"]), abs=0.5e-5)


@pytest.mark.parametrize("row", of_kind("shortened"), ids=lambda row: row["id"])
def test_a_published_shortening_truncates(row):
    longer = row["note"].split()[0]
    square = read_mgrs(longer)
    assert write_mgrs(square.lat_deg, square.lon_deg, digits_a_side(row["expected"])) == row["expected"]


@pytest.mark.parametrize("row", of_kind("overlap"), ids=lambda row: row["id"])
def test_a_published_reference_on_the_neighbouring_grid(row):
    lat_deg, lon_deg = float(row["lat_deg"]), float(row["lon_deg"])
    grid = to_grid(lat_deg, lon_deg, int(row["zone"]), True)
    assert write_mgrs_from_grid(grid.zone, row["band"], grid.easting_m, grid.northing_m) == row["expected"]
    square = read_mgrs(row["expected"])
    assert (square.status, square.overlap, square.cut) == (MgrsStatus.OK, True, False)
    assert (square.lat_deg, square.lon_deg) == pytest.approx((lat_deg, lon_deg), abs=1e-4)


# Rows lettering-*: the first row north of the equator and the columns from 100 km; those of the lettering AL are in
# test_mgrs_lettering.py.
def test_published_lettering():
    lettering = {row["id"]: row["expected"] for row in of_kind("lettering")}
    assert write_mgrs_from_grid(31, "N", 500_000.0, 0.0, 0)[-1] == lettering["lettering-AA-odd"]
    assert write_mgrs_from_grid(32, "N", 500_000.0, 0.0, 0)[-1] == lettering["lettering-AA-even"]
    for zone, row in ((31, "lettering-cols-1"), (32, "lettering-cols-2")):
        first, last = lettering[row].split("-")
        columns = write_mgrs_from_grid(zone, "N", np.arange(100_000.0, 900_000.0, 100_000.0), 0.0, 0)
        assert (columns[0][3], columns[-1][3]) == (first, last)
        assert not {"I", "O"} & set("".join(columns))


# Rows ups-band-*: west of easting 2,000,000 is Y (north) and A (south).
def test_published_halves_of_ups():
    for row, lon_deg in (("ups-band-west", -10.0), ("ups-band-east", 10.0)):
        (expected,) = [other["expected"] for other in of_kind("lettering") if other["id"] == row]
        north, south = (write_mgrs(lat_deg, lon_deg, 0)[0] for lat_deg in (88.0, -88.0))
        assert f"{north} (north) / {south} (south)" == expected


def test_the_place_that_rounding_would_carry_over_the_equator():
    assert ROUNDED_OVER_THE_EQUATOR in {row["expected"] for row in EXAMPLES}
    assert write_mgrs(-1e-9, 0.0) == "31MAV6602199999"


FORMS = {
    "plain": "32TMT6543212345",
    "lower-case": "32tmt6543212345",
    "spaced": "32T MT 65432 12345",
    "all-parts-spaced": " 32 T M T 65432 12345 ",
    "tabs-and-no-break-spaces": "32T\tMT\u00a065432\n12345",
    "figures-in-groups": "32TMT 65 432 12 345",
    "only-the-middle": "32TMT65432 12345",
}


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS.keys())
def test_every_way_of_writing_one_reference(text):
    square = read_mgrs_text(text)
    assert (square.zone, square.band, square.south, square.digits) == (32, "T", False, 5)
    assert (square.easting_m, square.northing_m, square.size_m) == (465_432.0, 5_212_345.0, 1.0)
    assert (square.cut, square.overlap) == (False, False)
    lat_deg, lon_deg = from_grid(32, False, 465_432.5, 5_212_345.5)
    assert (square.lat_deg, square.lon_deg) == (lat_deg, lon_deg)


def test_one_digit_of_the_zone_number_is_enough():
    assert read_mgrs("5QKB1212") == read_mgrs("05QKB1212")


def test_a_reference_of_the_polar_grid():
    square = read_mgrs("ZAH1234567890")
    assert (square.zone, square.band, square.south) == (0, "Z", False)
    assert (square.easting_m, square.northing_m) == (2_012_345.0, 2_067_890.0)


def test_the_size_goes_with_the_digits():
    squares = read_mgrs(["32TMT", "32TMT11", "32TMT1111", "32TMT111111", "32TMT11111111", "32TMT1111111111"])
    assert squares.digits.tolist() == [0, 1, 2, 3, 4, 5]
    assert squares.size_m.tolist() == [1e5, 1e4, 1e3, 1e2, 1e1, 1.0]
    assert squares.easting_m.tolist() == [4e5, 4.1e5, 4.11e5, 4.111e5, 4.1111e5, 411_111.0]


# What is wrong, the error for it, and words that its message must have.
WRONG = {
    "": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "   ": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "47.5 8.5": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "321TMT": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "3 2TMT": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32TMT12X4": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32TMT12-34": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32T1MT": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32TMT65432\x0012345": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32TMT\u0661\u0662": (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32TMT" + " " * 40: (MgrsStatus.NOT_MGRS, UnreadablePositionError, "not made up"),
    "32T": (MgrsStatus.INCOMPLETE, UnreadablePositionError, "32T is named"),
    "32TM": (MgrsStatus.INCOMPLETE, UnreadablePositionError, "32T is named"),
    "Z": (MgrsStatus.INCOMPLETE, UnreadablePositionError, "Z is named"),
    "61TMT": (MgrsStatus.ZONE_NUMBER, OutOfRangeError, "no grid zone 61"),
    "00TMT": (MgrsStatus.ZONE_NUMBER, OutOfRangeError, "no grid zone 0"),
    "00ZAH": (MgrsStatus.ZONE_NUMBER, OutOfRangeError, "no grid zone 0"),
    "32IMT": (MgrsStatus.BAND_LETTER, UnreadablePositionError, "I is not a band letter"),
    "32ZMT": (MgrsStatus.BAND_LETTER, UnreadablePositionError, "Z is not a band letter"),
    "TMT1212": (MgrsStatus.ZONE_MISSING, UnreadablePositionError, "zone number is missing before T"),
    "32XMT": (MgrsStatus.NO_SUCH_ZONE, SquareNotInZoneError, "no grid zone 32X"),
    "34XMT": (MgrsStatus.NO_SUCH_ZONE, SquareNotInZoneError, "no grid zone 34X"),
    "36XMT": (MgrsStatus.NO_SUCH_ZONE, SquareNotInZoneError, "no grid zone 36X"),
    "32T MT 654 4712": (
        MgrsStatus.UNEQUAL_HALVES,
        UnreadablePositionError,
        "the easting has 3 figures and the northing 4",
    ),
    "32T MT 65 4712": (
        MgrsStatus.UNEQUAL_HALVES,
        UnreadablePositionError,
        "the easting has 2 figures and the northing 4",
    ),
    "32T MT 6 5471 2": (
        MgrsStatus.UNEQUAL_HALVES,
        UnreadablePositionError,
        "do not part the figures in the middle",
    ),
    "32TMT6544712": (MgrsStatus.ODD_DIGITS, UnreadablePositionError, "7 figures cannot be halved"),
    "32TMT123456123456": (MgrsStatus.TOO_MANY_DIGITS, UnreadablePositionError, "12 figures are too many"),
    "32TMI1212": (MgrsStatus.SQUARE_LETTER, UnreadablePositionError, "I or O, as MI is"),
    "32TOT1212": (MgrsStatus.SQUARE_LETTER, UnreadablePositionError, "I or O, as OT is"),
    "32TAT1212": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "32T holds no square AT"),
    "32TMW1212": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "32T holds no square MW"),
    "32TMA1212": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "32T holds no square MA 1212"),
    "31MEA": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "31M holds no square EA"),
    "ZDH": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "Z holds no square DH"),
    "YAH": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "Y holds no square AH"),
    "ZJA": (MgrsStatus.SQUARE_NOT_IN_ZONE, SquareNotInZoneError, "Z holds no square JA"),
}


@pytest.mark.parametrize("text", WRONG, ids=lambda text: repr(text)[:30])
def test_what_is_wrong_is_named(text):
    status, error, words = WRONG[text]
    assert read_mgrs(text).status == status
    with pytest.raises(error, match=words) as caught:
        read_mgrs_text(text)
    assert type(caught.value) in all_errors()
    assert caught.value.member is None
    assert caught.value.value is not None


def test_every_status_has_an_error_and_a_test():
    assert {status for status, _, _ in WRONG.values()} | {MgrsStatus.OK} == set(MgrsStatus)
    with pytest.raises(ValueError, match="no error"):
        mgrs_error(MgrsStatus.OK, "32TMT")


def test_one_bad_text_leaves_the_others_be():
    good = write_mgrs(np.linspace(-89.0, 89.0, 50), np.linspace(-180.0, 179.0, 50))
    mixed = np.empty(50 + len(WRONG), dtype=object)
    at_good = np.sort(np.random.default_rng(3).permutation(len(mixed))[:50])
    mixed[at_good] = good
    mixed[np.setdiff1d(np.arange(len(mixed)), at_good)] = list(WRONG)
    squares, alone = read_mgrs(mixed.tolist()), read_mgrs(good)
    bad = np.setdiff1d(np.arange(len(mixed)), at_good)
    assert squares.status[bad].tolist() == [status for status, _, _ in WRONG.values()]
    for field in dataclasses.fields(squares):
        column = getattr(squares, field.name)
        np.testing.assert_array_equal(column[at_good], getattr(alone, field.name))
        if field.name in ("easting_m", "northing_m", "size_m", "lat_deg", "lon_deg"):
            assert np.isnan(column[bad]).all()
        elif field.name != "status":
            assert not np.any(column[bad].astype(bool))


likely_texts = st.text("0123456789 ABCIJKMNOTVXYZ\t\0", max_size=20)


@given(st.lists(st.text(max_size=50) | likely_texts, max_size=5))
def test_no_text_breaks_the_reading(texts):
    squares = read_mgrs(texts)
    assert squares.status.shape == (len(texts),)
    assert np.isfinite(squares.lat_deg[squares.status == 0]).all()
    for text, status in zip(texts, squares.status.tolist(), strict=True):
        assert status == MgrsStatus.OK or type(mgrs_error(status, text)) in all_errors()


def test_shapes_follow_the_texts():
    assert read_mgrs([]).zone.shape == (0,)
    assert read_mgrs(np.array([["32TMT", "x"], ["ZAH", "y"]])).status.shape == (2, 2)
    assert np.ndim(read_mgrs("32TMT").lat_deg) == 0
    assert write_mgrs([], []).shape == (0,)
    assert write_mgrs([[1.0], [2.0]], [3.0, 4.0, 5.0]).shape == (2, 3)
    assert isinstance(write_mgrs(1.0, 2.0), str)


def test_a_very_long_text_is_refused_and_the_next_is_read():
    assert read_mgrs(["32TMT" + "1" * 10_000_000, "32TMT"]).status.tolist() == [MgrsStatus.NOT_MGRS, 0]


# The 84th parallel in UPS: 666,727.6 m from the pole, by row PYGEOD-84,84 of published/utm_examples.csv. The others are
# what the `mgrs` library computes too, save for two that it takes to be over the edge: it writes the place just south of
# the equator as the equator and the place just west of 3 degrees east as 32V.
EXACT = {
    "equator": (0.0, 9.0, "32NNF0000000000"),
    "just-south-of-the-equator": (-1e-300, 9.0, "32MNE0000099999"),
    "80-south": (-80.0, 3.0, "31CEM0000018414"),
    "84-north": (84.0, 0.0, "ZAA0000033272"),
    "north-pole": (90.0, -45.0, "ZAH0000000000"),
    "south-pole": (-90.0, 123.0, "BAN0000000000"),
    "180-in-the-arctic": (85.0, 180.0, "ZAN0000055457"),
    "minus-180-in-the-arctic": (85.0, -180.0, "ZAN0000055457"),
    "just-west-of-3-east-in-norway": (60.0, np.nextafter(3.0, 0.0), "31VDG9999951411"),
}


@pytest.mark.parametrize("place", EXACT.values(), ids=EXACT.keys())
def test_exact_edges(place):
    lat_deg, lon_deg, expected = place
    assert write_mgrs(lat_deg, lon_deg) == expected
    square = read_mgrs_text(expected)
    assert write_mgrs(square.lat_deg, square.lon_deg) == expected


@pytest.mark.parametrize("digits", [-1, 6, 2.5])
def test_the_number_of_digits_is_checked(digits):
    with pytest.raises(OutOfRangeError) as caught:
        write_mgrs(0.0, 0.0, digits)
    assert caught.value.member == "digits"


def test_a_place_out_of_range_is_named():
    with pytest.raises(OutOfRangeError) as caught:
        write_mgrs(np.nan, 0.0)
    assert caught.value.member == "lat_deg"


WRONG_GRID = {
    "zone": ((61, "T", 5e5, 5e6), OutOfRangeError, "zone"),
    "band": ((32, "t", 5e5, 5e6), OutOfRangeError, "band"),
    "no-such-zone": ((32, "X", 5e5, 8e6), OutsideGridError, None),
    "no-column": ((32, "T", 9e5, 5e6), OutsideGridError, None),
    "west-of-all": ((32, "T", -1.0, 5e6), OutsideGridError, "easting_m"),
    "north-of-all": ((32, "T", 5e5, 1.1e7), OutsideGridError, "northing_m"),
    "nan": ((32, "T", np.nan, 5e6), OutsideGridError, "easting_m"),
    "polar-row": ((0, "Z", 2e6, 2.8e6), OutsideGridError, None),
}


@pytest.mark.parametrize("case", WRONG_GRID.values(), ids=WRONG_GRID.keys())
def test_grid_coordinates_without_a_square_are_named(case):
    place, error, member = case
    with pytest.raises(error) as caught:
        write_mgrs_from_grid(*place)
    assert caught.value.member == member


def test_a_northing_of_10000_km_is_the_equator_in_the_north_and_the_last_metre_in_the_south():
    assert write_mgrs_from_grid(31, ["M", "N"], 5e5, 1e7).tolist() == ["31MEV0000099999", "31NEA0000000000"]


@pytest.mark.parametrize(
    ("compact", "spaced"),
    [
        ("32TMT6543212345", "32T MT 65432 12345"),
        ("05QKB12", "05Q KB 1 2"),
        ("32TMT", "32T MT"),
        ("ZAH1212", "Z AH 12 12"),
    ],
)
def test_references_are_spaced_for_people(compact, spaced):
    assert spaced_mgrs(compact) == spaced
    assert read_mgrs(spaced) == read_mgrs(compact)


def test_square_corners_go_round_counter_clockwise_from_the_south_west():
    lat_deg, lon_deg = square_corners(32, False, 465_000.0, 5_212_000.0, 1000.0)
    eastings, northings = (
        [465_000.0, 466_000.0, 466_000.0, 465_000.0],
        [5_212_000.0, 5_212_000.0, 5_213_000.0, 5_213_000.0],
    )
    np.testing.assert_array_equal((lat_deg, lon_deg), from_grid(32, False, eastings, northings))


def test_square_corners_of_many_squares_of_every_grid():
    squares = read_mgrs([["32TMT11", "ZAH00"], ["33CWM11", "BAN11"]][0] + ["33CWN11", "BAN11"])
    lat_deg, lon_deg = square_corners(
        squares.zone, squares.south, squares.easting_m, squares.northing_m, squares.size_m
    )
    assert lat_deg.shape == lon_deg.shape == (4, 4)
    assert lat_deg[1, 0] == 90.0
    # Counter-clockwise seen from above: the area by longitude and latitude is positive, where no pole is near.
    for corners in (0, 2):
        east, north = lon_deg[corners], lat_deg[corners]
        assert np.sum(east * np.roll(north, -1) - np.roll(east, -1) * north) > 0.0
