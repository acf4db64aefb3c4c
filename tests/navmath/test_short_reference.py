"""References without their zone or their square, by where they are expected. All places and figures are invented."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.datum_shift import shifted_from_wgs84
from threenorths_service.navmath.datums.frame import WGS84_FRAME, Frame
from threenorths_service.navmath.errors import (
    AmbiguousPositionError,
    NavigationError,
    NothingInReachError,
    UnreadablePositionError,
)
from threenorths_service.navmath.grids.grid import to_grid
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.places.expected import NOTHING_EXPECTED, Expected, tolerance_m
from threenorths_service.navmath.places.short_reference import MOST_LISTED, candidates, resolve
from threenorths_service.navmath.references.mgrs import read_mgrs, write_mgrs, write_mgrs_from_grid
from threenorths_service.navmath.sheets.sheet import Corner, Sheet
from threenorths_service.navmath.texts.position_reading import INCOMPLETE, PartialReference, Refusal
from threenorths_service.navmath.texts.position_text import read_position_text

LATITUDES = st.floats(-90.0, 90.0)
LONGITUDES = st.floats(-180.0, 180.0, exclude_max=True)
DIGITS = st.integers(1, 5)
REFUSAL = Refusal(INCOMPLETE, UnreadablePositionError, "the grid zone is missing", "a whole reference")


def short(figures, letters="", zone=None, band=None):
    """A reference within a square, as ``"654 123"``."""
    easting, northing = figures.split()
    return PartialReference(zone, band, letters, easting, northing, False, REFUSAL)


def whole(figures, zone=None):
    """All of the easting and the northing, as ``"465432 5212345"``."""
    easting, northing = figures.split()
    return PartialReference(zone, None, "", easting, northing, True, REFUSAL)


def found(partial, expected, frame=WGS84_FRAME):
    """What the candidates are read as, nearest first."""
    return [candidate.reading.read_as for candidate in candidates(partial, frame, expected)]


def only(partial, expected, frame=WGS84_FRAME):
    (reading,) = resolve(partial, frame, expected)
    return reading


def square_of(reading):
    square = reading.square
    return square.zone, square.south, square.corner_easting_m, square.corner_northing_m


def sheet_of(south, west, north, east, **members):
    corners = (Corner("south_west", south, west), Corner("north_east", north, east))
    return Sheet(**members).with_corners(corners)


def test_the_one_place_within_reach_is_chosen():
    reading = only(short("654 123"), Expected(47.0, 8.4))
    assert reading.read_as == "MGRS 32TMT654123"
    assert reading == read_position_text("MGRS 32TMT654123")


def test_a_band_that_the_text_has_is_kept_to_in_whatever_zone():
    # On 48 degrees north, where the square is in the bands T and U.
    assert found(short("50 16", band="U"), Expected(48.0, 9.7)) == ["MGRS 32UNU5016"]
    assert found(short("50 16", band="T"), Expected(48.0, 9.7)) == ["MGRS 32TNU5016"]


def test_a_square_on_the_edge_of_a_band_is_named_in_the_band_of_its_centre():
    # The parallel bulges: on it the one square lies more to the south of it, the other more to the north.
    assert found(short("01 16"), Expected(48.0, 9.0)) == ["MGRS 32UNU0116"]
    assert found(short("50 16"), Expected(48.0, 9.7)) == ["MGRS 32TNU5016"]


def test_with_no_place_within_reach_the_three_nearest_are_told():
    with pytest.raises(NothingInReachError) as caught:
        resolve(short("654 123"), WGS84_FRAME, Expected(47.5, 9.0))
    listed = caught.value.details["readings"]
    distances = [reading["distance_m"] for reading in listed]
    assert len(listed) == 3
    assert distances == sorted(distances)
    assert distances[0] > 30_000.0
    assert {"read_as", "lat_deg", "lon_deg", "form"} < listed[0].keys()


def test_with_two_places_within_reach_none_is_chosen():
    # On 12 degrees east, where zone 32 ends at an easting of some 667 km and zone 33 begins at 333 km.
    with pytest.raises(AmbiguousPositionError) as caught:
        resolve(short("500 550"), WGS84_FRAME, Expected(60.0, 12.0))
    listed = caught.value.details["readings"]
    assert {reading["read_as"][:10] for reading in listed} == {"MGRS 32VPM", "MGRS 33VUG"}
    assert listed[0]["distance_m"] <= listed[1]["distance_m"] <= 30_000.0


def test_with_a_reach_over_many_squares_the_nearest_are_listed_and_all_counted():
    with pytest.raises(AmbiguousPositionError, match=r"can mean \d\d places") as caught:
        resolve(short("654 123"), WGS84_FRAME, Expected(47.0, 8.5, reach_m=400_000.0))
    count = int(str(caught.value).split("can mean ")[1].split()[0])
    # Some pi 4^2 squares, and those of the overlaps.
    assert 50 <= count <= 70
    distances = [reading["distance_m"] for reading in caught.value.details["readings"]]
    assert len(distances) == MOST_LISTED
    assert distances == sorted(distances)


def test_a_reach_around_the_earth_is_answered_all_the_same():
    with pytest.raises(AmbiguousPositionError, match="at least 100 places"):
        resolve(short("654 123"), WGS84_FRAME, Expected(47.0, 8.5, reach_m=2e7))


def test_a_square_that_comes_again_is_chosen_by_what_is_near():
    partial = short("654 123", "MT")
    assert found(partial, Expected(47.2, 8.5)) == ["MGRS 32TMT654123"]
    # Two thousand kilometres to the south the letters come again.
    assert found(partial, Expected(29.0, 8.6)) == ["MGRS 32RMT654123"]
    with pytest.raises(NothingInReachError) as caught:
        resolve(partial, WGS84_FRAME, Expected(47.2, 11.0))
    assert caught.value.details["readings"][0]["read_as"] == "MGRS 32TMT654123"


def test_a_zone_and_band_that_the_text_has_are_kept_to():
    assert found(short("500 550", zone=33, band="V"), Expected(60.0, 12.0)) == ["MGRS 33VUG500550"]
    assert found(short("500 550", zone=32), Expected(60.0, 12.0)) == ["MGRS 32VPM500550"]
    with pytest.raises(NothingInReachError) as caught:
        resolve(short("500 550", zone=13, band="V"), WGS84_FRAME, Expected(60.0, 12.0))
    assert all(reading["read_as"].startswith("MGRS 13V") for reading in caught.value.details["readings"])


def test_a_square_cut_by_the_edge_of_a_band_is_there_once():
    # The edge at 48 degrees north is at a northing of some 5,316,300 m on the central meridian.
    assert found(short("5 1"), Expected(48.0, 9.7)) == ["MGRS 32TNU51"]


@pytest.mark.parametrize(
    ("lat", "lon", "figures", "expected"),
    [
        (-16.5, -180.0, "9 7", ["MGRS 01KAB97", "MGRS 60KYG97"]),
        (90.0, 0.0, "1 1", ["MGRS ZAH11"]),
        (90.0, 123.0, "9 9", ["MGRS YZG99"]),
        (-90.0, 0.0, "1 9", ["MGRS BAM19"]),
        (85.0, 0.0, "1 4", ["MGRS ZAB14"]),
    ],
)
def test_places_at_the_ends_of_the_earth(lat, lon, figures, expected):
    listed = found(short(figures), Expected(lat, lon))
    assert listed == expected


def test_on_the_equator_each_hemisphere_has_its_own_band():
    near = Expected(0.0, 9.0)
    assert found(short("000 050"), near) == ["MGRS 32NNF000050"]
    assert found(short("000 950"), near) == ["MGRS 32MNE000950"]
    assert only(short("000 950"), near).south


def test_in_the_southern_hemisphere():
    assert only(short("654 123"), Expected(-34.1, 18.5)).read_as == "MGRS 34HBH654123"


def test_zones_that_do_not_exist_around_svalbard_are_not_sought():
    listed = found(short("50 50"), Expected(78.0, 10.0, reach_m=500_000.0))
    zones = {text[5:8] for text in listed}
    assert {"31X", "33X", "35X"} <= zones
    assert not zones & {"32X", "34X", "36X"}


def test_the_wide_zone_of_norway_holds_its_places():
    # At 60 N, 4 E by the rule of six degrees this would be zone 31.
    reading = only(short("229 661"), Expected(60.0, 4.2))
    assert reading.read_as == "MGRS 32VKM229661"


def test_a_place_near_by_on_the_very_edge_of_a_square():
    # 9 degrees east is the easting of 500,000 m.
    for figures, square in (("01 50", "NT"), ("99 50", "MT")):
        assert found(short(figures), Expected(47.4, 9.0))[0] == f"MGRS 32T{square}{figures.replace(' ', '')}"


def test_distance_is_to_the_centre_and_half_the_diagonal_is_allowed_beyond_the_reach():
    reading = read_position_text("32TMT66")
    lat, lon, _ = direct(reading.lat_deg, reading.lon_deg, 45.0, 37_000.0)
    (candidate,) = candidates(short("6 6"), WGS84_FRAME, Expected(lat, lon, 30_000.0))
    assert candidate.reading == reading
    assert candidate.distance_m == pytest.approx(37_000.0, abs=1e-3)
    assert candidates(short("6 6"), WGS84_FRAME, Expected(lat, lon, 29_900.0)) == []


def test_another_reach_can_be_asked_for():
    near = Expected(47.0, 9.0)
    assert candidates(short("654 123"), WGS84_FRAME, near) == []
    assert candidates(short("654 123"), WGS84_FRAME, near, 60_000.0) == candidates(
        short("654 123"), WGS84_FRAME, Expected(47.0, 9.0, 60_000.0)
    )


@settings(max_examples=150, deadline=None)
@given(LATITUDES, LONGITUDES, st.floats(0.0, 360.0), st.floats(0.0, 30_000.0), DIGITS, st.booleans())
@example(0.0, 9.0, 180.0, 20_000.0, 5, False)
@example(84.0, 33.0, 90.0, 30_000.0, 1, False)
@example(-80.0, -180.0, 270.0, 30_000.0, 2, True)
@example(64.0, 3.0, 0.0, 30_000.0, 1, False)
@example(90.0, 0.0, 0.0, 30_000.0, 1, False)
@example(-90.0, 0.0, 0.0, 0.0, 1, True)
def test_the_true_square_is_always_among_the_candidates(lat, lon, azimuth, distance, digits, lettered):
    reference = str(write_mgrs(lat, lon, digits))
    truth = read_position_text(reference)
    figures = reference[-2 * digits :]
    letters = reference[: -2 * digits][-2:] if lettered else ""
    near_lat, near_lon, _ = direct(lat, lon, azimuth, distance)
    # A millimetre for the rounding of a distance just at the reach.
    expected = Expected(float(near_lat), float(near_lon), 30_000.001)
    partial = short(f"{figures[:digits]} {figures[digits:]}", letters)
    squares = [square_of(candidate.reading) for candidate in candidates(partial, WGS84_FRAME, expected)]
    assert square_of(truth) in squares
    assert len(set(squares)) == len(squares)


def test_whole_coordinates_find_their_zone():
    assert only(whole("465432 5212345"), Expected(47.0, 8.5)).read_as == "UTM 32 north 465432 m E 5212345 m N"
    assert only(whole("465432.5 5212345"), Expected(47.0, -51.5)).zone == 22
    assert only(whole("2010000 1990000"), Expected(90.0, 0.0)).read_as == "UPS north 2010000 m E 1990000 m N"
    assert only(whole("2010000 1990000"), Expected(-90.0, 0.0)).form == "ups"
    assert only(whole("297000 8170000"), Expected(-16.5, -178.9)).read_as.startswith("UTM 1 south")


def test_whole_coordinates_with_a_zone_find_their_hemisphere():
    assert not only(whole("465432 5212345", zone=32), Expected(47.0, 8.5)).south
    assert only(whole("465432 5212345", zone=32), Expected(-43.2, 8.5)).south
    # Invented: a zone misheard.
    with pytest.raises(NothingInReachError) as caught:
        resolve(whole("465432 5212345", zone=31), WGS84_FRAME, Expected(47.0, 8.5))
    assert caught.value.details["readings"][0]["read_as"].startswith("UTM 31 north")


def test_whole_coordinates_at_the_equator_may_be_of_either_hemisphere():
    listed = found(whole("500000 10000000"), Expected(0.0, 9.0))
    assert listed == ["UTM 32 south 500000 m E 10000000 m N"]
    assert found(whole("500000 0"), Expected(0.0, 9.0)) == ["UTM 32 north 500000 m E 0 m N"]


def test_whole_coordinates_that_no_grid_has_lie_nowhere():
    for figures in ("5212345 465432", "0 0", "99999999 99999999"):
        with pytest.raises(NothingInReachError):
            resolve(whole(figures), WGS84_FRAME, Expected(47.0, 8.5))


def test_the_edges_of_a_sheet_choose_as_a_place_near_by_does():
    on_sheet = Expected(sheet=sheet_of(47.0, 8.25, 47.25, 8.75))
    assert only(short("654 123"), on_sheet).read_as == "MGRS 32TMT654123"
    with pytest.raises(NothingInReachError) as caught:
        resolve(short("654 623"), WGS84_FRAME, on_sheet)
    nearest = caught.value.details["readings"][0]
    assert nearest["read_as"] == "MGRS 32TMT654623"
    # From the sheet's northern edge, not from its middle.
    assert 28_000.0 < nearest["distance_m"] < 31_000.0


def test_a_sheet_and_a_place_near_by_must_both_be_satisfied():
    sheet = sheet_of(46.0, 8.0, 47.5, 9.0)
    partial = short("654 123")
    assert set(found(partial, Expected(sheet=sheet))) == {"MGRS 32TMS654123", "MGRS 32TMT654123"}
    assert found(partial, Expected(47.0, 8.5, sheet=sheet)) == ["MGRS 32TMT654123"]
    assert found(partial, Expected(45.2, 8.5, sheet=sheet)) == []


def test_the_zone_of_the_sheet_is_kept_to():
    near = Expected(60.0, 12.0)
    assert len(found(short("500 550"), near)) == 2
    on_sheet = Expected(60.0, 12.0, sheet=Sheet(grid_zone=33))
    assert found(short("500 550"), on_sheet) == ["MGRS 33VUG500550"]
    # The text's own zone comes before that of the sheet.
    assert found(short("500 550", zone=32), on_sheet) == ["MGRS 32VPM500550"]


def test_a_sheet_without_edges_tells_by_its_zone_and_squares():
    sheet = Expected(sheet=Sheet(grid_zone=34, grid_south=True, squares=("BH", "CH")))
    with pytest.raises(AmbiguousPositionError) as caught:
        resolve(short("654 123"), WGS84_FRAME, sheet)
    listed = caught.value.details["readings"]
    assert {reading["distance_m"] for reading in listed} == {None}
    assert {reading["read_as"][8:10] for reading in listed} == {"BH", "CH"}
    assert {reading["read_as"][7] for reading in listed} <= set("CDEFGHJKLM")
    partial = short("654 123", zone=34, band="H")
    assert found(partial, sheet) == ["MGRS 34HBH654123", "MGRS 34HCH654123"]
    assert found(short("654 123", "BH", zone=34, band="H"), sheet) == ["MGRS 34HBH654123"]
    near = Expected(-34.1, 18.5, sheet=Sheet(grid_zone=34, grid_south=True, squares=("CH",)))
    assert found(short("654 123"), near) == []


@pytest.mark.parametrize(
    ("grid", "squares", "reads"),
    [
        (33, ("33VVK",), "MGRS 33VVK124803"),
        (33, ("33V VK",), "MGRS 33VVK124803"),
        (33, ("33v vk", "33VVL"), None),
        (5, ("5LNG",), "MGRS 05LNG124803"),
        (27700, ("British grid SK",), "British grid SK 124 803"),
        (27700, ("sk",), "British grid SK 124 803"),
        (29903, ("Irish grid J",), "Irish grid J 124 803"),
    ],
)
def test_the_squares_of_a_sheet_are_named_with_or_without_their_grid(grid, squares, reads):
    sheet = Expected(sheet=Sheet(grid_zone=grid, grid_south=grid == 5, squares=squares))
    listed = found(short("124 803"), sheet)
    assert listed == ([reads] if reads else ["MGRS 33VVK124803", "MGRS 33VVL124803"])
    # With the letters of the text and a zone of its own, the sheet's squares do not count.
    assert found(short("124 803", "MT", zone=32, band="T"), sheet) == ["MGRS 32TMT124803"]


def test_whole_coordinates_are_one_place_whatever_the_squares_of_the_sheet():
    squares = Sheet(grid_zone=27700, squares=("TQ", "TR"))
    assert (
        len(found(whole("530500 180200"), Expected(51.5, -0.1, sheet=replace(squares, grid_zone=None)))) == 1
    )


@pytest.mark.parametrize("grid_south", [False, True])
def test_a_sheet_across_the_equator_has_places_in_both_hemispheres(grid_south):
    sheet = sheet_of(-0.1, 8.9, 0.1, 9.1, grid_zone=32, grid_south=grid_south)
    for expected in (
        Expected(sheet=sheet),
        Expected(0.0, 9.0, sheet=Sheet(grid_zone=32, grid_south=grid_south)),
    ):
        assert only(whole("500000 9999000"), expected).read_as == "UTM 32 south 500000 m E 9999000 m N"
        assert only(whole("500000 001000"), expected).read_as == "UTM 32 north 500000 m E 1000 m N"
        assert only(short("000 990"), expected).south
    far = sheet_of(47.0, 8.25, 47.25, 8.75, grid_zone=32)
    with pytest.raises(NothingInReachError) as caught:
        resolve(whole("465432 5012345"), WGS84_FRAME, Expected(sheet=far))
    assert [reading["read_as"][:12] for reading in caught.value.details["readings"]] == ["UTM 32 north"]


def test_the_edges_of_a_sheet_tell_more_than_its_list_of_squares():
    sheet = sheet_of(47.0, 8.25, 47.25, 8.75, grid_zone=32, squares=("NT",))
    assert found(short("654 123"), Expected(sheet=sheet)) == ["MGRS 32TMT654123"]


def test_whole_coordinates_are_on_the_grid_of_the_sheet():
    sheet = Expected(sheet=Sheet(grid_zone=34, grid_south=True))
    assert only(whole("265432 6212345"), sheet).read_as == "UTM 34 south 265432 m E 6212345 m N"


@settings(max_examples=200, deadline=None)
@given(
    st.tuples(st.none() | st.integers(0, 60), st.none() | st.sampled_from("ABCMNXYZ")),
    st.sampled_from(["", "MT", "AA", "ZZ", "J", "TQ"]),
    st.integers(1, 5).flatmap(
        lambda digits: st.from_regex(rf"[0-9]{{{digits}}} [0-9]{{{digits}}}", fullmatch=True)
    )
    | st.tuples(st.floats(0.0, 1e9), st.integers(0, 10**8)).map(lambda pair: f"{pair[0]:.2f} {pair[1]}"),
    LATITUDES,
    LONGITUDES,
    st.sampled_from([0.0, 3e4, 1e6, 3e7]),
    st.none() | st.sampled_from([0, 1, 32, 60, 27700, 29903, 21781, 2222]),
)
def test_whatever_is_written_and_expected_the_answer_is_one_place_or_a_named_error(
    designation, letters, figures, lat, lon, reach, grid
):
    easting, northing = figures.split()
    is_whole = "." in easting
    partial = PartialReference(
        *designation, "" if is_whole else letters, easting, northing, is_whole, REFUSAL
    )
    sheet = None if grid is None else Sheet(grid_zone=grid)
    expected = Expected(lat, lon, reach, sheet)
    try:
        (reading,) = resolve(partial, WGS84_FRAME, expected)
    except (AmbiguousPositionError, NothingInReachError, UnreadablePositionError):
        return
    assert expected.fits_reading(reading)
    assert read_position_text(reading.read_as) == reading


LONDON = Expected(51.5, -0.1)
ON_BRITISH_GRID = Sheet(grid_zone=27700)


def test_figures_are_sought_on_the_lettered_grids_whose_area_holds_the_place():
    assert found(short("305 802"), LONDON) == ["British grid TQ 305 802"]
    assert found(short("338 740"), Expected(54.6, -5.9, 10_000.0)) == ["Irish grid J 338 740"]
    # In the area of the grid, with a square of UTM as near.
    both = found(short("305 802"), Expected(52.3, -2.0, 45_000.0))
    assert both == ["British grid SP 305 802", "MGRS 30UWC305802"]


def test_whole_coordinates_are_sought_on_the_lettered_grids_too():
    assert found(whole("530500 180200"), LONDON) == ["EPSG:27700 530500 m E 180200 m N"]


def test_a_letter_of_the_irish_grid_is_enough_near_its_square():
    assert found(short("338 740", "J"), Expected(54.6, -5.9)) == ["Irish grid J 338 740"]
    with pytest.raises(NothingInReachError) as caught:
        resolve(short("338 740", "J"), WGS84_FRAME, Expected(53.0, -9.0))
    assert [reading["read_as"] for reading in caught.value.details["readings"]] == ["Irish grid J 338 740"]


def test_a_zone_in_the_text_leaves_national_grids_out():
    partial = short("305 802", zone=30)
    assert found(partial, Expected(52.3, -2.0, 45_000.0)) == ["MGRS 30UWC305802"]
    assert found(partial, Expected(52.3, -2.0, 45_000.0, sheet=ON_BRITISH_GRID)) == ["MGRS 30UWC305802"]


def test_a_sheet_on_a_national_grid_leaves_utm_and_other_grids_out():
    near = Expected(52.3, -2.0, 45_000.0, sheet=ON_BRITISH_GRID)
    assert found(short("305 802"), near) == ["British grid SP 305 802"]
    # Where both grids have squares, in the north of Ireland and the west of Scotland.
    strait = Expected(55.2, -6.0, 90_000.0)
    assert {text.split()[0] for text in found(short("70 00"), strait)} >= {"British", "Irish"}
    strait = Expected(55.2, -6.0, 90_000.0, sheet=ON_BRITISH_GRID)
    assert {text.split()[0] for text in found(short("70 00"), strait)} == {"British"}
    utm_sheet = Expected(52.3, -2.0, 45_000.0, sheet=Sheet(grid_zone=30))
    assert found(short("305 802"), utm_sheet) == ["MGRS 30UWC305802"]


def test_a_sheet_on_a_national_grid_tells_by_its_squares_without_edges():
    squares = Expected(sheet=Sheet(grid_zone=27700, squares=("TQ", "TR")))
    assert found(short("305 802"), squares) == ["British grid TQ 305 802", "British grid TR 305 802"]
    assert only(short("305 802", "TQ"), squares).zone == 27700
    near = Expected(51.5, -0.1, sheet=Sheet(grid_zone=27700, squares=("TR",)))
    assert found(short("305 802"), near) == []


def test_whole_coordinates_on_the_grid_of_a_sheet_need_neither_letters_nor_a_place():
    on_british = Expected(sheet=ON_BRITISH_GRID)
    assert only(whole("530500 180200"), on_british).read_as == "EPSG:27700 530500 m E 180200 m N"
    assert only(whole("600000 200000"), Expected(sheet=Sheet(grid_zone=21781))).zone == 21781


@pytest.mark.parametrize("grid", [2222, 4326, 1025], ids=["in feet", "no grid", "no code"])
def test_coordinates_on_a_grid_whose_unit_is_not_known_lie_nowhere(grid):
    with pytest.raises(NothingInReachError):
        resolve(whole("213360 304800"), WGS84_FRAME, Expected(sheet=Sheet(grid_zone=grid)))


def test_figures_within_a_square_mean_nothing_on_a_grid_without_letters():
    expected = Expected(47.0, 7.5, sheet=Sheet(grid_zone=21781))
    with pytest.raises(UnreadablePositionError, match="the grid zone is missing"):
        resolve(short("654 123"), WGS84_FRAME, expected)
    assert candidates(short("654 123"), WGS84_FRAME, expected) == []


@pytest.mark.parametrize(
    "expected", [NOTHING_EXPECTED, Expected(sheet=Sheet()), Expected(sheet=Sheet(grid_zone=32))], ids=repr
)
def test_where_nothing_tells_the_place_the_reference_is_refused(expected):
    with pytest.raises(UnreadablePositionError, match="the grid zone is missing") as caught:
        resolve(short("654 123"), WGS84_FRAME, expected)
    assert caught.value.allowed == "a whole reference"
    assert candidates(short("654 123"), WGS84_FRAME, expected) == []


def test_a_sheet_that_contradicts_the_reference_leaves_no_place():
    with pytest.raises(NothingInReachError) as caught:
        resolve(short("654 123", "MT"), WGS84_FRAME, Expected(sheet=Sheet(grid_zone=33)))
    assert caught.value.details["readings"] == []


@settings(max_examples=60, deadline=None)
@given(LATITUDES.filter(lambda lat: abs(lat) < 79.0), LONGITUDES, st.floats(0.0, 360.0), DIGITS)
def test_on_an_old_datum_the_square_is_of_its_own_grid_and_lettering(lat, lon, azimuth, digits):
    # Arc 1960, on Clarke 1880 (RGS), with the lettering AL; its area is eastern Africa.
    arc = Frame(find_datum("Arc 1960"))
    lat, lon = lat / 79.0 * 4.0 - 2.0, 37.0 + lon / 180.0 * 3.0
    arc_lat, arc_lon, _shift = shifted_from_wgs84(arc.datum, lat, lon)
    reference = str(write_mgrs(arc_lat, arc_lon, digits, ellipsoid=arc.datum.ellipsoid))
    figures = reference[-2 * digits :]
    near_lat, near_lon, _ = direct(lat, lon, azimuth, 20_000.0)
    partial = short(f"{figures[:digits]} {figures[digits:]}", reference[3:5])
    readings = candidates(partial, arc, Expected(float(near_lat), float(near_lon)))
    truth = read_position_text(reference, arc)
    assert square_of(truth) in [square_of(candidate.reading) for candidate in readings]
    (reading,) = [one.reading for one in readings if square_of(one.reading) == square_of(truth)]
    # On WGS 84 within the square, and what one shift differs over its width: centimetres.
    assert Expected(lat, lon, 1.0).fits(reading.lat_deg, reading.lon_deg, tolerance_m(reading))


def squares_by_trial(figures, digits, expected):
    """Every square of the figures within reach, by trying the squares around the place near by in each zone and band."""
    near_lat, near_lon = expected.near
    size_m = 10 ** (5 - digits)
    texts = []
    own_zone = int((near_lon + 180.0) // 6.0)
    # At 84 degrees north a zone is 70 km wide.
    for zone in (0, *((own_zone + step) % 60 + 1 for step in range(-3, 4))):
        for south in (False, True):
            if zone == 0 and abs(near_lat) < 70.0:
                continue
            grid = to_grid(near_lat, near_lon, zone, south)
            steps = np.arange(-2, 3) * 100_000
            eastings = grid.easting_m // 100_000 * 100_000 + figures[0] * size_m + steps
            northings = grid.northing_m // 100_000 * 100_000 + figures[1] * size_m + steps
            for band in "ABYZ" if zone == 0 else "CDEFGHJKLMNPQRSTUVWX":
                if (band < "N") != south:
                    continue
                for easting in eastings:
                    for northing in northings:
                        try:
                            texts.append(str(write_mgrs_from_grid(zone, band, easting, northing, digits)))
                        except NavigationError:
                            continue
    return texts


@pytest.mark.parametrize(
    ("lat", "lon"),
    [
        (47.0, 8.0),
        (60.0, 12.0),
        (0.0, 9.0),
        (0.001, 5.999),
        (-16.5, 179.99),
        (63.9, 3.1),
        (72.0, 9.0),
        (84.0, 0.0),
    ],
)
@pytest.mark.parametrize(("figures", "digits"), [((5, 5), 1), ((50, 1), 2), ((3, 70), 2)])
def test_no_square_within_reach_is_left_out_and_none_beyond_it_is_found(lat, lon, figures, digits):
    expected = Expected(lat, lon, 60_000.0)
    texts = np.array(squares_by_trial(figures, digits, expected))
    squares = read_mgrs(texts)
    good = squares.status == 0
    within = inverse(lat, lon, squares.lat_deg[good], squares.lon_deg[good])[2] < 80_000.0
    readings = [read_position_text(str(text)) for text in texts[good][within]]
    by_trial = {square_of(reading) for reading in readings if expected.fits_reading(reading)}
    partial = short(f"{figures[0]:0{digits}d} {figures[1]:0{digits}d}")
    found_here = {square_of(candidate.reading) for candidate in candidates(partial, WGS84_FRAME, expected)}
    assert found_here == by_trial
