"""References with letters: their published lettering, both ways, and what is none."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.errors import OutOfRangeError, OutsideGridError, UnreadablePositionError
from threenorths_service.navmath.grids.lettered_grid import (
    LETTERED_GRIDS,
    LetteredGrid,
    LetteredStatus,
    lettered_grid_of,
)

BRITISH, IRISH = LETTERED_GRIDS["british"], LETTERED_GRIDS["irish"]
GRIDS = pytest.mark.parametrize("grid", LETTERED_GRIDS.values(), ids=LETTERED_GRIDS.keys())
#: Where the letters and the figures of a British reference to the metre are.
PARTS = ((slice(0, 2), 2), (slice(2, 7), 5), (slice(7, 12), 5))
ALPHABET = "ABCDEFGHJKLMNOPQRSTUVWXYZ"


def split(grid, reference):
    """The three parts of a reference without spaces."""
    letters, figures = reference[: grid.letter_count], reference[grid.letter_count :]
    return letters, figures[: len(figures) // 2], figures[len(figures) // 2 :]


# Ordnance Survey, "The National Grid" (its page on the map reference system): squares of 500 km, and in each squares of
# 100 km, lettered A to Z without I from the north-west, row by row; 700 km east and 1300 km north of the false origin,
# the corner of SV. In the same pattern of 500 km squares S is the one whose south-west corner is the false origin.
def test_british_letters_follow_the_published_rule():
    for east in range(7):
        for north in range(13):
            # S is in the third row from the south, the third column, counted from nought: 2 and 1.
            large_column, large_row = 2 + east // 5, 1 + north // 5
            large = ALPHABET[(4 - large_row) * 5 + large_column]
            small = ALPHABET[(4 - north % 5) * 5 + east % 5]
            assert BRITISH.write(east * 1e5 + 1.0, north * 1e5 + 1.0, 0) == large + small


# Ordnance Survey Ireland, "Irish Grid Reference System", and the same for the square of 500 km that holds Ireland.
def test_irish_letters_follow_the_published_rule():
    for east in range(5):
        for north in range(5):
            assert IRISH.write(east * 1e5, north * 1e5, 0) == ALPHABET[(4 - north) * 5 + east]


# The squares that hold land, as everything2.com, "grid reference", prints them: rows of neighbours, the north at the top.
LAND = (
    *("HP", "HT HU", "HY HZ", "NA NB NC ND", "NF NG NH NJ NK", "NL NM NN NO", "NR NS NT NU", "NW NX NY NZ"),
    *("SC SD SE TA", "SH SJ SK TF TG", "SM SN SO SP TL TM", "SR SS ST SU TQ TR", "SV SW SX SY SZ TV"),
)


def test_the_squares_with_land_in_britain_are_neighbours_as_they_are_printed():
    assert len(LAND) == len(BRITISH.diagram) == 13
    for row, letters in enumerate(reversed(LAND)):
        squares = BRITISH.read(letters.split(), "", "")
        assert (squares.northing_m == row * 1e5).all()
        assert (np.diff(squares.easting_m) == 1e5).all()


@pytest.mark.parametrize(
    "row", [row for row in rows("national_grid_examples") if row["reference"]], ids=lambda row: row["id"]
)
def test_published_references(row):
    grid = lettered_grid_of(int(row["epsg"]))
    reference = grid.write(float(row["easting"]), float(row["northing"]))
    assert grid.spaced(str(reference)) == row["reference"]
    square = grid.read(*row["reference"].split())
    assert (square.easting_m, square.northing_m) == (
        int(float(row["easting"])),
        int(float(row["northing"])),
    )


# Ordnance Survey, "The National Grid": "the Tower of London's grid reference is TQ 336805".
def test_the_tower_of_london():
    square = BRITISH.read("TQ", "336", "805")
    assert (square.easting_m, square.northing_m, square.size_m, square.digits) == (533_600, 180_500, 100, 3)


# The true origin of the Irish grid, 53.5 N and 8 W by the EPSG dataset, "whose grid reference is N 000 500": medlibrary.org,
# "Irish grid reference system".
def test_the_origin_of_the_irish_grid():
    assert IRISH.projection.to_grid(53.5, -8.0) == pytest.approx((200_000.0, 250_000.0), abs=1e-6)
    assert IRISH.spaced(str(IRISH.write(200_000.0, 250_000.0, 3))) == "N 000 500"


def test_the_grids_and_the_sheets_they_are_printed_on():
    assert (BRITISH.projection.name, BRITISH.projection.datum.name) == (
        "OSGB36 / British National Grid",
        "OSGB36",
    )
    assert (IRISH.projection.name, IRISH.projection.datum.name) == ("TM75 / Irish Grid", "TM75")
    assert (BRITISH.extent_m, IRISH.extent_m) == ((700_000, 1_300_000), (500_000, 500_000))
    assert (BRITISH.letter_count, IRISH.letter_count) == (2, 1)
    assert lettered_grid_of(27700) is BRITISH
    assert lettered_grid_of(2056) is None


@GRIDS
def test_no_two_squares_have_the_same_letters_and_none_has_i(grid):
    names = " ".join(grid.diagram).split()
    assert len(set(names)) == len(names)
    assert not any("I" in name for name in names)
    assert {len(name) for name in names} == {grid.letter_count}
    assert {len(row.split()) for row in grid.diagram} == {grid.extent_m[0] // 100_000}


@GRIDS
@given(data=st.data(), digits=st.integers(0, 5))
def test_a_reference_is_the_square_that_the_place_lies_in(grid, data, digits):
    east_m, north_m = grid.extent_m
    easting_m = data.draw(st.floats(0.0, east_m, exclude_max=True))
    northing_m = data.draw(st.floats(0.0, north_m, exclude_max=True))
    reference = str(grid.write(easting_m, northing_m, digits))
    square = grid.read(*split(grid, reference))
    assert square.status == LetteredStatus.OK
    assert (square.digits, square.size_m) == (digits, 10 ** (5 - digits))
    assert square.easting_m <= easting_m < square.easting_m + square.size_m
    assert square.northing_m <= northing_m < square.northing_m + square.size_m
    # Both ends of the square are written alike, and its neighbours are not.
    assert grid.write(square.easting_m, square.northing_m, digits) == reference
    last_m = (
        np.nextafter(square.easting_m + square.size_m, 0.0),
        np.nextafter(square.northing_m + square.size_m, 0.0),
    )
    assert grid.write(*last_m, digits) == reference
    if square.easting_m >= square.size_m:
        assert grid.write(square.easting_m - 1e-6, northing_m, digits) != reference


@GRIDS
@given(data=st.data())
def test_any_reference_is_written_as_it_was_read(grid, data):
    letters = data.draw(st.sampled_from(" ".join(grid.diagram).split()))
    digits = data.draw(st.integers(0, 5))
    figures = [data.draw(st.text("0123456789", min_size=digits, max_size=digits)) for _ in range(2)]
    square = grid.read(letters.lower(), *figures)
    assert grid.write(square.easting_m, square.northing_m, digits) == letters + "".join(figures)
    assert grid.spaced(letters + "".join(figures)).split() == [part for part in (letters, *figures) if part]


@GRIDS
def test_truncation_never_rounds(grid):
    ladder = [grid.write(199_999.999, 99_999.999, digits) for digits in range(6)]
    letters = str(ladder[0])
    assert ladder == [letters + "9" * 2 * digits for digits in range(6)]


@GRIDS
def test_outside_the_lettered_squares(grid):
    east_m, north_m = grid.extent_m
    for place in [(-0.001, 5.0), (5.0, -0.001), (east_m, 5.0), (5.0, north_m), (np.nan, 5.0), (5.0, np.inf)]:
        assert not grid.holds(*place)
        with pytest.raises(OutsideGridError, match="no lettered square") as caught:
            grid.write([1.0, place[0]], [1.0, place[1]])
        assert str(east_m) in caught.value.allowed
    assert grid.holds([0.0, np.nextafter(east_m, 0)], [0.0, np.nextafter(north_m, 0)]).all()


@GRIDS
@pytest.mark.parametrize("digits", [-1, 6, 2.5])
def test_no_square_has_such_digits(grid, digits):
    with pytest.raises(OutOfRangeError):
        grid.write(1.0, 1.0, digits)


BAD = {
    "the letter I": ("TI", "12", "12", LetteredStatus.NO_SQUARE, OutsideGridError, "no square TI"),
    "a square of MGRS alone": ("VK", "12", "12", LetteredStatus.NO_SQUARE, OutsideGridError, "no square VK"),
    "one letter": ("T", "12", "12", LetteredStatus.NO_SQUARE, OutsideGridError, "no square T"),
    "three letters": ("TQQ", "12", "12", LetteredStatus.NO_SQUARE, OutsideGridError, "no square TQQ"),
    "no letters": ("", "12", "12", LetteredStatus.NO_SQUARE, OutsideGridError, "no square"),
    "uneven": ("TQ", "123", "12", LetteredStatus.UNEVEN_FIGURES, UnreadablePositionError, "as many figures"),
    "one side empty": (
        "TQ",
        "123",
        "",
        LetteredStatus.UNEVEN_FIGURES,
        UnreadablePositionError,
        "as many figures",
    ),
    "too many": ("TQ", "123456", "123456", LetteredStatus.NO_FIGURES, UnreadablePositionError, "0 to 5"),
    "a letter among them": ("TQ", "1O", "12", LetteredStatus.NO_FIGURES, UnreadablePositionError, "0 to 5"),
    "a sign": ("TQ", "-1", "12", LetteredStatus.NO_FIGURES, UnreadablePositionError, "0 to 5"),
    "a space": ("TQ", " 1", "12", LetteredStatus.NO_FIGURES, UnreadablePositionError, "0 to 5"),
    "other figures": ("TQ", "١٢", "12", LetteredStatus.NO_FIGURES, UnreadablePositionError, "0 to 5"),
    "a hidden end": ("TQ", "1\x002", "12", LetteredStatus.NO_FIGURES, UnreadablePositionError, "0 to 5"),
}


@pytest.mark.parametrize(
    ("letters", "easting", "northing", "status", "error", "says"), BAD.values(), ids=BAD.keys()
)
def test_what_is_no_reference(letters, easting, northing, status, error, says):
    square = BRITISH.read(letters, easting, northing)
    assert square.status == status
    assert np.isnan([square.easting_m, square.northing_m, square.size_m]).all()
    assert square.digits == 0
    caught = BRITISH.error(int(square.status), letters)
    assert type(caught) is error
    assert says in str(caught)
    if status == LetteredStatus.NO_SQUARE:
        assert "SV SW SX" in caught.allowed


def test_one_bad_reference_leaves_the_others_be():
    squares = BRITISH.read([["TQ", "XX"], ["sv", "TQ"]], "123", [["456", "456"], ["000", "4"]])
    assert squares.status.tolist() == [[0, LetteredStatus.NO_SQUARE], [0, LetteredStatus.UNEVEN_FIGURES]]
    assert squares.easting_m[0, 0] == 512_300
    assert squares.easting_m[1, 0] == 12_300
    assert squares.northing_m[1, 0] == 0


def test_shapes():
    assert BRITISH.write([], []).shape == (0,)
    assert BRITISH.read([], [], []).status.shape == (0,)
    assert BRITISH.write([[1.0], [2.0]], [1.0, 2.0, 3.0]).shape == (2, 3)
    assert np.ndim(BRITISH.write(1.0, 1.0)) == 0
    assert np.ndim(BRITISH.holds(1.0, 1.0)) == 0


def test_rows_are_read_and_written_as_one_by_one():
    random = np.random.default_rng(27700)
    easting_m, northing_m = random.uniform(0, 7e5, 300), random.uniform(0, 1.3e6, 300)
    written = BRITISH.write(easting_m, northing_m, 4)
    assert written.tolist() == [
        str(BRITISH.write(*place, 4)) for place in zip(easting_m, northing_m, strict=True)
    ]
    parts = [split(BRITISH, reference) for reference in written.tolist()]
    squares = BRITISH.read(*zip(*parts, strict=True))
    assert squares.easting_m.tolist() == [float(BRITISH.read(*part).easting_m) for part in parts]


@given(letters=st.text(max_size=4), easting=st.text(max_size=8), northing=st.text(max_size=8))
@example("tq", "", "")
def test_no_text_is_an_unnamed_error(letters, easting, northing):
    square = BRITISH.read(letters, easting, northing)
    if square.status != LetteredStatus.OK:
        assert str(BRITISH.error(int(square.status), letters))
    else:
        assert BRITISH.has_square(letters.upper())


def test_a_further_grid_is_one_entry_of_data():
    """An invented one, of two squares by one, over the Swiss grid."""
    grid = LetteredGrid("Invented grid", 2056, frozenset({"INVENTED"}), ("AAA BBB",))
    assert grid.write(150_000.0, 5.0, 1) == "BBB50"
    assert grid.read("BBB", "5", "0").easting_m == 150_000.0
    assert not grid.holds(5.0, 100_000.0)


def test_a_great_many_are_written_and_read_back():
    random = np.random.default_rng(1)
    easting_m, northing_m = random.uniform(0, 7e5, 200_000), random.uniform(0, 1.3e6, 200_000)
    written = BRITISH.write(easting_m, northing_m)
    characters = written.view("U1").reshape(-1, 12)
    columns = [np.ascontiguousarray(characters[:, part]).view(f"U{width}").ravel() for part, width in PARTS]
    squares = BRITISH.read(*columns)
    assert (squares.easting_m == np.floor(easting_m)).all()
    assert (squares.northing_m == np.floor(northing_m)).all()
