"""National grid references and coordinates by code as they are written, and what of them is not decided."""

import math

import numpy as np
import pyproj
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.frame import WGS84_FRAME, Frame
from threenorths_service.navmath.errors import (
    BallparkShiftError,
    OutsideDatumAreaError,
    OutsideGridError,
    UnknownGridError,
    UnreadablePositionError,
)
from threenorths_service.navmath.grids.lettered_grid import LETTERED_GRIDS, lettered_grid_of
from threenorths_service.navmath.grids.projected_grid import projected_grid
from threenorths_service.navmath.lines.geodesic import inverse
from threenorths_service.navmath.texts.national_text import (
    NATIONAL_WORDS,
    lettered_readings,
    lettered_readings_near,
    national_outcomes,
)
from threenorths_service.navmath.texts.position_reading import (
    INCOMPLETE,
    WRONG_VALUE,
    PartialReference,
    PositionReading,
    Refusal,
)
from threenorths_service.navmath.texts.text_tokens import tokenize

# Invented unless a source is named.
LONDON = (51.5061, -0.1203)
BELFAST = (54.5970, -5.9298)


def outcomes(text, frame=WGS84_FRAME):
    return list(national_outcomes(tokenize(text), frame))


def reading(text, frame=WGS84_FRAME):
    """The one reading of a text, whatever else was tried."""
    found = [outcome for outcome in outcomes(text, frame) if isinstance(outcome, PositionReading)]
    assert len(found) == 1, found
    return found[0]


def refusal(text):
    """The one outcome of a text, a refusal."""
    (found,) = outcomes(text)
    assert isinstance(found, Refusal), found
    return found


def distance_m(one, other):
    return float(inverse(one.lat_deg, one.lon_deg, other[0], other[1])[2])


BRITISH = "British grid TQ 305 802"
SPELLINGS = {
    "British grid TQ 305 802": BRITISH,
    "british grid tq 305 802": BRITISH,
    "OS grid TQ 305 802": BRITISH,
    "OS TQ305802": BRITISH,
    "OSGB TQ 305802": BRITISH,
    "GB grid reference TQ 305 802": BRITISH,
    "Ordnance Survey national grid, Britain: TQ 305 802": BRITISH,
    "British National Grid reference: TQ-305-802": BRITISH,
    "TQ 305 802 British grid": BRITISH,
    "TQ 305 802, OS grid ref": BRITISH,
    "OS T Q 305 802": BRITISH,
    "OS T Q 3 0 5 8 0 2": BRITISH,
    "OS TQ 30 5 8 02": BRITISH,
    "OS TQ, 305, 802": BRITISH,
    "OS TQ 30 80": "British grid TQ 30 80",
    "OS TQ3080": "British grid TQ 30 80",
    "OS TQ 3 8": "British grid TQ 3 8",
    "OS TQ 30000 80000": "British grid TQ 30000 80000",
    "OS TQ 0000000000": "British grid TQ 00000 00000",
    "OS TQ": "British grid TQ",
    "OS SE 305 802": "British grid SE 305 802",
    "OS NS 59 65": "British grid NS 59 65",
    "Irish grid J 338 740": "Irish grid J 338 740",
    "Irish J338740": "Irish grid J 338 740",
    "J 338 740 Irish grid": "Irish grid J 338 740",
    "Ireland grid ref. J 338 740": "Irish grid J 338 740",
    "OSNI J 338 740": "Irish grid J 338 740",
    "OSi N 000 500": "Irish grid N 000 500",
    "Irish grid W 67 71": "Irish grid W 67 71",
    "EPSG:27700 530000 180000": "EPSG:27700 530000 m E 180000 m N",
    "EPSG 27700 530000 180000": "EPSG:27700 530000 m E 180000 m N",
    "epsg:27700, 530000, 180000": "EPSG:27700 530000 m E 180000 m N",
    "EPSG27700 530000mE 180000mN": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:27700 180000 m N 530000 m E": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:27700 E 530000 N 180000": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:27700 northing 180000 easting 530000": "EPSG:27700 530000 m E 180000 m N",
    "530000 180000 EPSG:27700": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:27700 530000.25 180000.5": "EPSG:27700 530000.25 m E 180000.5 m N",
    "EPSG:27700 0530000 0180000": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:27700 530000-180000": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:27700 91492 m 11318 m": "EPSG:27700 91492 m E 11318 m N",
    "British grid 530000 180000": "EPSG:27700 530000 m E 180000 m N",
    "OS easting 530000 northing 180000": "EPSG:27700 530000 m E 180000 m N",
    "EPSG:5514 -743000 -1043000": "EPSG:5514 -743000 m E -1043000 m N",
    "EPSG:5514 -743000, -1043000": "EPSG:5514 -743000 m E -1043000 m N",
    "EPSG:2056 2600000 1200000": "EPSG:2056 2600000 m E 1200000 m N",
    "EPSG:23030 440000 4474000": "EPSG:23030 440000 m E 4474000 m N",
    "EPSG:32632 465000 5247000": "EPSG:32632 465000 m E 5247000 m N",
    "EPSG:31467 3500000 5500000": "EPSG:31467 3500000 m E 5500000 m N",
    "EPSG:31467 5500000 3500000": "EPSG:31467 3500000 m E 5500000 m N",
    "EPSG:2263 987000 ft E 200000 ft N": "EPSG:2263 987000 ft E 200000 ft N",
    "EPSG:2263 300000 m 60000 m": "EPSG:2263 300000 m E 60000 m N",
}


@pytest.mark.parametrize(("text", "read_as"), SPELLINGS.items(), ids=SPELLINGS.keys())
def test_a_spelling_is_read(text, read_as):
    found = reading(text)
    assert found.read_as == read_as
    assert reading(read_as) == found


def test_a_reference_is_the_centre_of_its_square_on_its_own_datum():
    found = reading("OS TQ 305 802")
    assert (found.form, found.zone, found.south, found.band) == ("national_reference", 27700, False, "")
    assert (found.easting_m, found.northing_m) == (530_550.0, 180_250.0)
    assert (found.resolution_east_m, found.resolution_north_m) == (100.0, 100.0)
    square = found.square
    assert (square.corner_easting_m, square.corner_northing_m) == (530_500.0, 180_200.0)
    assert (square.size_m, square.digits, square.zone, square.cut, square.overlap) == (
        100.0,
        3,
        27700,
        False,
        False,
    )
    assert found.shift.datum.name == "OSGB36"
    assert found.shift.accuracy_m > 0.0
    on_datum = projected_grid(27700).from_grid(530_550.0, 180_250.0)
    assert (found.shift.lat_deg, found.shift.lon_deg) == on_datum
    # OSGB36 lies 100 m and more from WGS 84 in London: Ordnance Survey, "A guide to coordinate systems", section 3.2.
    assert 80.0 < distance_m(found, on_datum) < 200.0
    # The corner is half the diagonal from the centre, also on WGS 84; the scale of the grid is under 0.1 % there.
    corner = square.corner_lat_deg, square.corner_lon_deg
    assert distance_m(found, corner) == pytest.approx(50.0 * math.sqrt(2.0), rel=1e-3)


# Ordnance Survey, "The National Grid": the Tower of London is at TQ 336805. Its place on WGS 84 is from memory, to 0.001
# degree, some 100 m; the square's own half diagonal is 71 m.
def test_the_tower_of_london_is_where_it_stands():
    assert distance_m(reading("OS TQ 336805"), (51.508, -0.076)) < 200.0


# Ordnance Survey, "A guide to coordinate systems in Great Britain", annex C: the same point, TG 51409 13177, is ETRS89
# 52 39 28.723 N, 1 42 57.787 E by the seven-parameter shift of its section 6.6 (as several public test-suites quote it).
def test_the_published_example_of_the_british_grid_on_etrs89():
    published = 52.0 + 39.0 / 60.0 + 28.723 / 3600.0, 1.0 + 42.0 / 60.0 + 57.787 / 3600.0
    found = reading("EPSG:27700 651409.903 313177.270")
    assert distance_m(found, published) < 2.0 * found.shift.accuracy_m


@pytest.mark.parametrize(
    "row", [row for row in rows("national_grid_examples") if row["reference"]], ids=lambda row: row["id"]
)
def test_published_references(row):
    found = reading(f"{lettered_grid_of(int(row['epsg'])).name} {row['reference']}")
    assert abs(found.easting_m - float(row["easting"])) <= 1.0
    assert abs(found.northing_m - float(row["northing"])) <= 1.0


def test_feet_are_those_of_the_grid():
    found = reading("EPSG:2263 987000 ft E 200000 ft N")
    assert found.easting_m == pytest.approx(987_000.0 * 1200.0 / 3937.0, abs=1e-6)
    assert found.resolution_east_m == pytest.approx(1200.0 / 3937.0)


def test_whole_coordinates_name_a_point_to_their_last_digit():
    found = reading("EPSG:27700 530000.25 180000")
    assert (found.form, found.square) == ("projected", None)
    assert (found.easting_m, found.northing_m) == (530_000.25, 180_000.0)
    assert (found.resolution_east_m, found.resolution_north_m) == (0.01, 1.0)


def test_a_grid_on_wgs84_needs_no_shift():
    found = reading("EPSG:32632 465000 5247000")
    assert found.shift is None
    expected = pyproj.Transformer.from_crs(32632, 4326, always_xy=True).transform(465_000.0, 5_247_000.0)
    assert (found.lon_deg, found.lat_deg) == pytest.approx(expected, abs=1e-11)


def test_the_datum_of_the_frame_plays_no_part_for_a_grid_that_brings_its_own():
    other = Frame(find_datum("ED50"))
    one, two = reading("OS TQ 305 802"), reading("OS TQ 305 802", other)
    assert (one.lat_deg, one.lon_deg) == (two.lat_deg, two.lon_deg)


def test_a_ballpark_shift_is_read_where_it_is_allowed():
    found = reading("EPSG:3002 4950000 m E 350000 m N", Frame(allow_ballpark=True))
    assert found.shift.ballpark
    assert (found.lat_deg, found.lon_deg) == projected_grid(3002).from_grid(4_950_000.0, 350_000.0)


def test_one_letter_for_two_coordinates_is_not_enough():
    found = outcomes("EPSG:27700 530000 E 180000")
    assert {one.message for one in found} == {"only one of the easting and the northing has its letter"}


NOT_DECIDED = {
    "TQ 305 802": ["British grid TQ 305 802"],
    "tq305802": ["British grid TQ 305 802"],
    "grid reference TQ 305 802": ["British grid TQ 305 802"],
    "T Q 305 802": ["British grid TQ 305 802"],
    "EPSG:2263 987000 200000": ["EPSG:2263 987000 ft E 200000 ft N"],
    "EPSG:27700 91492 11318": ["EPSG:27700 91492 m E 11318 m N"],
    "OS grid E 91492 N 11318": ["EPSG:27700 91492 m E 11318 m N"],
}


@pytest.mark.parametrize(("text", "offered"), NOT_DECIDED.items(), ids=NOT_DECIDED.keys())
def test_a_text_that_lacks_a_word_is_offered_and_not_decided(text, offered):
    found = refusal(text)
    assert (found.nearness, found.error) == (INCOMPLETE, UnreadablePositionError)
    assert [one.read_as for one in found.offered] == offered


def test_the_refusal_of_bare_letters_says_both_grids():
    found = refusal("TQ 305 802")
    assert (
        found.message
        == "TQ is a square of the British grid, and of MGRS in many grid zones: say which grid is meant"
    )
    assert found.allowed == "British grid TQ 305 802 or MGRS with its grid zone"


def test_one_bare_letter_is_left_to_the_place_near_by():
    (found,) = outcomes("J 338 740")
    assert isinstance(found, PartialReference)
    assert (found.letters, found.easting, found.northing, found.whole) == ("J", "338", "740", False)
    assert found.refusal.nearness == INCOMPLETE
    assert [one.read_as for one in found.refusal.offered] == ["Irish grid J 338 740"]


def test_both_orders_are_read_where_the_dataset_has_the_northing_first():
    """In Poland either number may be the easting; elsewhere the other order is only offered."""
    found = outcomes("EPSG:2180 400000 500000")
    assert {(one.easting_m, one.northing_m) for one in found} == {(4e5, 5e5), (5e5, 4e5)}
    assert reading("EPSG:2180 400000 m E 500000 m N").easting_m == 4e5
    found = refusal("EPSG:2056 1200000 2600000")
    assert (found.nearness, found.error) == (WRONG_VALUE, OutsideGridError)
    assert [one.read_as for one in found.offered] == ["EPSG:2056 2600000 m E 1200000 m N"]


REFUSED = {
    "OS grid": (INCOMPLETE, UnreadablePositionError, "neither letters"),
    "OS VK 43 12": (WRONG_VALUE, OutsideGridError, "no square VK"),
    "OS TI 43 12": (WRONG_VALUE, OutsideGridError, "no square TI"),
    "Irish grid I 43 12": (WRONG_VALUE, OutsideGridError, "no square I"),
    "British grid JM 99 99": (WRONG_VALUE, OutsideGridError, "outside the area"),
    "OS J 338 740": (INCOMPLETE, UnreadablePositionError, "J is not as many letters"),
    "Irish grid TQ 305 802": (INCOMPLETE, UnreadablePositionError, "TQ is not as many letters"),
    "OS TQ 305 80": (INCOMPLETE, UnreadablePositionError, "not as many for the easting"),
    "OS TQ 30 5802": (INCOMPLETE, UnreadablePositionError, "not as many for the easting"),
    "OS TQ 30580": (INCOMPLETE, UnreadablePositionError, "not as many for the easting"),
    "OS TQ 123456 123456": (INCOMPLETE, UnreadablePositionError, "or too many"),
    "OS TQ 30.5 80.2": (INCOMPLETE, UnreadablePositionError, "neither letters"),
    "OS Irish grid J 338 740": (INCOMPLETE, UnreadablePositionError, "names British grid and Irish grid"),
    "EPSG": (INCOMPLETE, UnreadablePositionError, "number of the EPSG code"),
    "EPSG:27700": (INCOMPLETE, UnreadablePositionError, "not both there"),
    "EPSG:27700 530000": (INCOMPLETE, UnreadablePositionError, "not both there"),
    "EPSG:27700 530000 180000 20": (INCOMPLETE, UnreadablePositionError, "not both there"),
    "EPSG:27700 530000 E 180000 E": (INCOMPLETE, UnreadablePositionError, "not both there"),
    "EPSG:27700 530000 ft 180000 ft": (WRONG_VALUE, UnreadablePositionError, "measured in the metre"),
    "EPSG:2263 987000 ft 60000 m": (WRONG_VALUE, UnreadablePositionError, "both in metres"),
    "EPSG:4326 47.5 8.5": (WRONG_VALUE, UnknownGridError, "no grid of easting and northing"),
    "EPSG:2046 100000 200000": (WRONG_VALUE, UnknownGridError, "west and south"),
    "EPSG:99999 100000 200000": (WRONG_VALUE, UnknownGridError, "no coordinate reference system"),
    f"EPSG:{'9' * 60} 100000 200000": (WRONG_VALUE, UnknownGridError, "no coordinate reference system"),
    f"EPSG:27700 {'9' * 60} {'9' * 60}": (WRONG_VALUE, OutsideGridError, "outside all that"),
    "EPSG:27700 5300000 1800000": (WRONG_VALUE, OutsideGridError, "outside"),
    "EPSG:27700 -530000 180000": (WRONG_VALUE, OutsideGridError, "outside"),
    "British grid HL 5 5": (WRONG_VALUE, OutsideDatumAreaError, "no shift between OSGB36"),
    "EPSG:3002 4950000 m E 350000 m N": (WRONG_VALUE, BallparkShiftError, "no shift between Makassar"),
}


@pytest.mark.parametrize(
    ("text", "epsg"), [("OS 305 802", 27700), ("Irish 305802", 29903), ("305, 802 OSNI", 29903)]
)
def test_figures_alone_with_the_name_of_a_grid_are_a_reference_on_it_where_it_is_expected(text, epsg):
    (partial,) = outcomes(text)
    assert isinstance(partial, PartialReference)
    assert partial[:6] == (epsg, None, "", "305", "802", False)
    assert partial.refusal.nearness == INCOMPLETE
    assert "so few figures" in partial.refusal.message or "neither letters" in partial.refusal.message


@pytest.mark.parametrize(("text", "refused"), REFUSED.items(), ids=[text[:40] for text in REFUSED])
def test_what_is_refused_says_why(text, refused):
    nearness, error, says = refused
    found = refusal(text)
    assert (found.nearness, found.error) == (nearness, error)
    assert says in found.message


@pytest.mark.parametrize(
    "text",
    [
        "47.5 8.5",
        "32TMT6543212345",
        "32T 465000 5247000",
        "VK 4312",
        "XX 12 12",
        "TQ",
        "J",
        "305 802",
        "TQ 305 80",
        "HL 12 12",
        "N 47.5 E 8.5",
        "UTM 32 north 465000 m E 5247000 m N",
        "somewhere EPSG:27700 530000 180000",
    ],
)
def test_a_text_of_another_form_has_no_outcome_here(text):
    assert outcomes(text) == []


@given(data=st.data(), digits=st.integers(0, 5))
@settings(deadline=None)
def test_any_reference_that_is_read_reads_back_as_itself(data, digits):
    grid = data.draw(st.sampled_from(list(LETTERED_GRIDS.values())))
    letters = data.draw(st.sampled_from(" ".join(grid.diagram).split()))
    easting, northing = (data.draw(st.text("0123456789", min_size=digits, max_size=digits)) for _ in range(2))
    (found,) = outcomes(f"{grid.name} {letters} {easting} {northing}")
    if isinstance(found, Refusal):
        assert found.error in (OutsideGridError, OutsideDatumAreaError)
        return
    assert found.read_as == " ".join(part for part in (grid.name, letters, easting, northing) if part)
    assert reading(found.read_as) == found
    assert (
        grid.spaced(str(grid.write(found.easting_m, found.northing_m, digits)))
        == found.read_as[len(grid.name) + 1 :]
    )


@given(
    words=st.lists(
        st.one_of(
            st.sampled_from(sorted(NATIONAL_WORDS)),
            st.integers(0, 10**7).map(str),
            st.sampled_from(["TQ", "J", ",", "-", ":"]),
        ),
        max_size=8,
    )
)
@settings(deadline=None, max_examples=300)
def test_no_heap_of_words_is_an_unnamed_error(words):
    tokens = tokenize(" ".join(words))
    if tokens:
        for outcome in national_outcomes(tokens, WGS84_FRAME):
            if isinstance(outcome, PositionReading):
                assert reading(outcome.read_as) == outcome


def partial(letters, easting, northing, *, zone=None, whole=False):
    return PartialReference(
        zone, None, letters, easting, northing, whole, Refusal(INCOMPLETE, UnreadablePositionError, "")
    )


def test_letters_name_their_square_on_each_grid_that_has_it():
    assert [one.read_as for one in lettered_readings(partial("TQ", "305", "802"), WGS84_FRAME)] == [
        "British grid TQ 305 802"
    ]
    assert [one.read_as for one in lettered_readings(partial("J", "338", "740"), WGS84_FRAME)] == [
        "Irish grid J 338 740"
    ]
    for none in (
        partial("VK", "1", "1"),
        partial("", "1", "1"),
        partial("TQ", "1", "1", zone=31),
        partial("HL", "1", "1"),
    ):
        assert lettered_readings(none, WGS84_FRAME) == []


def test_figures_alone_come_again_in_every_square():
    near = lettered_readings_near(partial("", "305", "802"), WGS84_FRAME, *LONDON, 30_000.0)
    assert [one.read_as for one in near] == ["British grid TQ 305 802"]
    within_m = 130_000.0
    near = lettered_readings_near(partial("", "305", "802"), WGS84_FRAME, *LONDON, within_m)
    assert {one.read_as.split()[2] for one in near} == {"TQ", "TL", "SU", "TV", "TR"}
    assert all(distance_m(one, LONDON) <= within_m + 71.0 for one in near)
    near = lettered_readings_near(partial("", "338", "740"), WGS84_FRAME, *BELFAST, 30_000.0)
    assert [one.read_as for one in near] == ["Irish grid J 338 740"]


def test_where_both_grids_lie_both_are_sought():
    """On the coast of Scotland opposite Ireland the boxes round both areas overlap."""
    grids = {
        one.read_as.split()[0]
        for one in lettered_readings_near(partial("", "5", "5"), WGS84_FRAME, 55.3, -5.75, 200_000.0)
    }
    assert grids == {"British", "Irish"}


def test_a_square_is_near_if_a_part_of_it_is():
    """A square of 10 km whose centre is 7 km off, with a reach of 1 km."""
    corner = reading("EPSG:27700 530100 m E 180100 m N")
    place = corner.lat_deg, corner.lon_deg
    near = lettered_readings_near(partial("", "3", "8"), WGS84_FRAME, *place, 1_000.0)
    assert [one.read_as for one in near] == ["British grid TQ 3 8"]
    assert distance_m(near[0], place) > 6_000.0


def test_letters_and_whole_coordinates_are_held_to_the_place_too():
    assert lettered_readings_near(partial("TQ", "305", "802"), WGS84_FRAME, *BELFAST, 30_000.0) == []
    assert len(lettered_readings_near(partial("TQ", "305", "802"), WGS84_FRAME, *LONDON, 30_000.0)) == 1
    whole = partial("", "530550", "180250", whole=True)
    assert [one.read_as for one in lettered_readings_near(whole, WGS84_FRAME, *LONDON, 30_000.0)] == [
        "EPSG:27700 530550 m E 180250 m N"
    ]
    assert lettered_readings_near(whole, WGS84_FRAME, *BELFAST, 30_000.0) == []
    assert lettered_readings_near(whole._replace(zone=30), WGS84_FRAME, *LONDON, 30_000.0) == []


@pytest.mark.parametrize("place", [(0.0, 0.0), (40.0, -100.0), (-33.9, 18.4), (90.0, 0.0)])
def test_far_from_both_grids_there_is_nothing(place):
    assert lettered_readings_near(partial("", "305", "802"), WGS84_FRAME, *place, 100_000.0) == []


def test_near_readings_are_all_that_there_are():
    """By trying every square of both grids."""
    random = np.random.default_rng(3)
    for lat_deg, lon_deg in zip(random.uniform(50.5, 58.0, 5), random.uniform(-5.5, 0.5, 5), strict=True):
        one = partial("", "50", "50")
        near = {
            found.read_as for found in lettered_readings_near(one, WGS84_FRAME, lat_deg, lon_deg, 150_000.0)
        }
        every = [
            found
            for grid in LETTERED_GRIDS.values()
            for letters in " ".join(grid.diagram).split()
            for found in lettered_readings(one._replace(letters=letters), WGS84_FRAME)
        ]
        expected = {
            found.read_as for found in every if distance_m(found, (lat_deg, lon_deg)) <= 150_000.0 + 707.2
        }
        if not projected_grid(29903).contains(lat_deg, lon_deg):
            expected = {text for text in expected if text.startswith("British")}
        assert near == expected
