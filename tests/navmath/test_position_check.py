"""Reported positions against what was expected: the rule of the verdict, areas, precision, and slips."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from threenorths_service.navmath.checks.position_check import (
    KnownAnswer,
    check_position,
    expected_of,
    likeliest_first,
    side_of_digits_m,
    slips_of_place,
    slips_of_refused,
)
from threenorths_service.navmath.checks.shape_check import area_outline, check_in_shape, left_open_m
from threenorths_service.navmath.checks.verdict import VERDICTS, Outcome, outcomes, verdict_of
from threenorths_service.navmath.datums.frame import WGS84_FRAME
from threenorths_service.navmath.errors import UnreadablePositionError, UnusableShapeError
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.places.place import place_from_geodetic, place_from_text, place_from_utm
from threenorths_service.navmath.places.slips import SLIPS
from threenorths_service.navmath.references.mgrs import write_mgrs

#: An invented hut.
HUT = "33V VK 12345 67890"


def hut(tolerance_m=100.0):
    return KnownAnswer(place_from_text(HUT), tolerance_m)


def point(lat_deg, lon_deg):
    return place_from_geodetic(lat_deg, lon_deg)


# the rule


@given(
    st.lists(st.floats(0, 1e6), min_size=1, max_size=20),
    st.floats(0, 1e5),
    st.floats(0, 1e5),
    st.floats(0, 1),
)
def test_no_true_miss_contradicts_an_outcome(misses, left_open, tolerance, share):
    """Anywhere in what is left open: a miss that is called met is within the tolerance, one not met is beyond."""
    found = outcomes(misses, left_open, tolerance)
    for true in (np.array(misses) - left_open * share, np.array(misses) + left_open * share):
        assert np.all(true[found == Outcome.MET] <= tolerance)
        assert np.all(true[found == Outcome.NOT_MET] > tolerance)


def test_nothing_is_open_where_nothing_is_left_open():
    misses = np.linspace(0, 100, 1001)
    found = outcomes(misses, 0.0, 50.0)
    assert Outcome.OPEN not in found
    assert np.array_equal(found == Outcome.MET, misses <= 50.0)


@pytest.mark.parametrize(
    ("found", "precision", "verdict"),
    [
        ([Outcome.MET, None], None, "right"),
        ([Outcome.MET, Outcome.OPEN], None, "undecided"),
        ([Outcome.MET, Outcome.OPEN, Outcome.NOT_MET], Outcome.NOT_MET, "wrong"),
        ([Outcome.OPEN], Outcome.NOT_MET, "too_coarse"),
        ([Outcome.MET], Outcome.OPEN, "undecided"),
        ([Outcome.MET], Outcome.MET, "right"),
    ],
)
def test_one_thing_not_met_makes_a_report_wrong(found, precision, verdict):
    assert verdict_of(found, precision) == verdict
    assert verdict in VERDICTS


# distance and direction


@given(st.floats(-89, 89), st.floats(-180, 179.9), st.floats(0, 360, exclude_max=True), st.floats(1, 1e6))
def test_the_miss_leads_from_the_expected_place_to_the_reported_one(lat, lon, azimuth, distance):
    end_lat, end_lon, _back = direct(lat, lon, azimuth, distance)
    check = check_position(point(float(end_lat), float(end_lon)), KnownAnswer(point(lat, lon), 1000.0))
    assert check.distance_m == pytest.approx(distance, abs=1e-3)
    off = (check.true_azimuth_deg - azimuth + 180) % 360 - 180
    # Longitudes are kept to some 1e-14 of a turn: over a metre near 89 degrees that turns the line by less than 1e-3.
    assert abs(off) < 1e-3
    assert check.verdict == ("right" if distance <= 1000.0 else "wrong")


@pytest.mark.parametrize(
    ("one", "other"),
    [((90, 0), (90, 120)), ((-90, -50), (-90, 10)), ((10, -180), (10, 180)), ((5, 7), (5, 7))],
    ids=["north-pole", "south-pole", "antimeridian", "equal"],
)
def test_one_place_by_two_names_is_right_and_has_no_direction(one, other):
    check = check_position(point(*other), KnownAnswer(point(*one), 0.0))
    assert (check.verdict, check.true_azimuth_deg) == ("right", None)
    assert check.distance_m == pytest.approx(0.0, abs=1e-6)


def test_across_the_antimeridian_a_miss_is_short():
    check = check_position(point(0.0, -179.9995), KnownAnswer(point(0.0, 179.9995), 200.0))
    assert check.distance_m == pytest.approx(111.3, abs=0.1)
    assert check.true_azimuth_deg == pytest.approx(90.0)


def test_across_a_pole_a_miss_is_short():
    check = check_position(point(89.9995, 180.0), KnownAnswer(point(89.9995, 0.0), 200.0))
    assert check.distance_m == pytest.approx(111.7, abs=0.1)


# what is left open


@given(
    st.floats(-79, 83),
    st.floats(-180, 179.9),
    st.integers(1, 5),
    st.floats(0, 360, exclude_max=True),
    st.floats(0, 3000),
)
@example(0.0, 27.0, 1, 0.0, 0.0)
def test_a_correct_reference_is_never_wrong_and_a_wrong_verdict_never_false(lat, lon, digits, azimuth, off):
    """A reference of the place as it really is, and the answer known to a point."""
    text = str(write_mgrs(lat, lon, digits))
    side = side_of_digits_m(digits)
    right = check_position(place_from_text(text), KnownAnswer(point(lat, lon), side))
    # What a zone's edge cuts off a square is left open, so undecided is the worst of it there.
    assert right.verdict == "right" or (right.verdict == "undecided" and place_from_text(text).square.cut)
    # A place that the true one is off from: "wrong" and "right" hold of the true one, not of the square's middle only.
    there = tuple(float(value) for value in direct(lat, lon, azimuth, off)[:2])
    check = check_position(place_from_text(text), KnownAnswer(point(*there), 500.0))
    true_m = float(inverse(*there, lat, lon)[2])
    if check.verdict == "wrong":
        assert true_m > 500.0 - 1e-3
    if check.verdict == "right" and not check.holds:
        assert true_m <= 500.0 + 1e-3


def test_an_answer_known_to_100_m_makes_no_report_wrong_by_50_m():
    answer = KnownAnswer(place_from_text("33V VK 123 678"), 10.0)
    for text in ("33V VK 12300 67800", "33V VK 12399 67899", "33V VK 12350 67850"):
        assert check_position(place_from_text(text), answer).verdict == "undecided"
    assert check_position(place_from_text("33V VK 12500 67890"), answer).verdict == "wrong"


def test_an_answer_known_coarsely_makes_no_report_right_whose_square_holds_its_middle():
    answer = KnownAnswer(place_from_text("62.83 N, 13.28 E"), 100.0)
    report = place_from_text(str(write_mgrs(62.83, 13.28, 3)))
    check = check_position(report, answer)
    assert check.distance_m < 71.0
    assert (check.verdict, check.holds) == ("undecided", False)


@pytest.mark.parametrize(
    ("text", "tolerance_m", "verdict"),
    [
        ("33V VK 123 678", 100, "right"),  # the square of the hut
        ("33V VK 123 678", 99, "undecided"),  # wider than the tolerance
        ("33V VK 123 679", 100, "undecided"),  # the next one: its near half is within
        ("33V VK 123 682", 100, "wrong"),
        ("33V VK", 100, "undecided"),
        ("33V VK 1234 6789", 12, "right"),
        ("33V VK 12345 67890", 1, "right"),
        ("33V VK 12345 67890", 0, "undecided"),
        ("33V VK 12346 67890", 0, "undecided"),
    ],
)
def test_a_square_is_right_where_it_holds_the_place_and_is_no_wider_than_the_tolerance(
    text, tolerance_m, verdict
):
    assert check_position(place_from_text(text), hut(tolerance_m)).verdict == verdict


def test_shifts_of_two_datums_are_left_open_and_one_shift_is_not():
    from threenorths_service.navmath.datums.datum import find_datum
    from threenorths_service.navmath.datums.frame import Frame

    old = place_from_text(HUT, frame=Frame(find_datum("ED50")))
    new = place_from_text(HUT)
    assert old.accuracy_m > 0.0
    same = check_position(old, KnownAnswer(old, 50.0))
    other = check_position(new, KnownAnswer(old, 50.0))
    assert same.left_open_m == pytest.approx(2 * left_open_m(old))
    assert other.left_open_m == pytest.approx(2 * left_open_m(old) + old.accuracy_m)


def test_a_square_cut_by_its_zone_leaves_its_whole_diagonal_open():
    place = place_from_text(HUT)
    cut = replace(place, square=replace(place.square, cut=True))
    assert left_open_m(cut) == pytest.approx(2 * left_open_m(place)) == pytest.approx(math.sqrt(2), rel=1e-3)


@pytest.mark.parametrize(
    ("lat", "lon", "text"),
    [(0.0, 27.0, "35NNA00"), (90.0, 0.0, "ZAH00"), (-90.0, 0.0, "BAN00")],
    ids=["central-meridian", "north-pole", "south-pole"],
)
def test_the_corner_of_a_square_is_not_further_than_it_leaves_open(lat, lon, text):
    """A metre on the grid is more than one on the ground there, and a reference is truncated to the corner itself."""
    place = place_from_text(text)
    check = check_position(place, KnownAnswer(point(lat, lon), 10_000.0))
    assert place.tolerance_m < check.distance_m <= left_open_m(place)
    assert (check.verdict, check.holds) == ("right", True)


# precision


@pytest.mark.parametrize(("digits", "verdict"), [(3, "right"), (4, "right"), (5, "too_coarse")])
def test_a_report_must_be_as_fine_as_demanded(digits, verdict):
    check = check_position(place_from_text("33V VK 1234 6789"), coarsest_m=side_of_digits_m(digits))
    assert check.verdict == verdict


def test_how_fine_plain_numbers_are_is_left_undecided():
    check = check_position(point(62.8, 13.3), coarsest_m=1.0)
    assert (check.precision, check.verdict) == (Outcome.OPEN, "undecided")


# areas

BOX = ((62.8, 13.2), (62.8, 13.4), (62.9, 13.4), (62.9, 13.2))


@pytest.mark.parametrize("ring", [BOX, BOX[::-1], (*BOX, BOX[0])], ids=["open", "clockwise", "closed"])
def test_an_area_is_one_however_it_is_written(ring):
    area = area_outline(ring)
    assert check_position(point(62.85, 13.3), area=area).verdict == "right"
    outside = check_position(point(62.85, 13.5), area=area)
    assert outside.verdict == "wrong"
    # To the nearest point of the meridian 13.4, all but due west.
    assert outside.area.outside_m == pytest.approx(float(inverse(62.85, 13.5, 62.85, 13.4)[2]), rel=1e-3)


def test_a_square_across_the_edge_is_undecided_and_one_against_it_is_not():
    corners = [(412_000, 6_967_000), (412_500, 6_967_000), (412_500, 6_968_000), (412_000, 6_968_000)]
    ring = tuple(
        (place.lat_deg, place.lon_deg) for place in (place_from_utm(33, False, *xy) for xy in corners)
    )
    area = area_outline(ring)
    outcome = {
        text: check_in_shape(place_from_text(text), area).outcome
        for text in ("33V VK 124 675", "33V VK 125 675", "33V VK 12 67", "33V VK 13 67", "33V VK 1 6")
    }
    assert outcome == {
        "33V VK 124 675": Outcome.MET,
        "33V VK 125 675": Outcome.NOT_MET,
        "33V VK 12 67": Outcome.OPEN,
        "33V VK 13 67": Outcome.NOT_MET,
        "33V VK 1 6": Outcome.OPEN,  # it holds all of the area, and its middle is outside
    }


@given(st.floats(-1, 1), st.floats(-1, 1), st.sampled_from([0.0, 179.7, -179.9]))
def test_an_area_is_the_same_at_the_antimeridian(lat, lon, meridian):
    def moved(places):
        return tuple((lat, (lon + meridian + 180) % 360 - 180) for lat, lon in places)

    area = area_outline(moved(((-0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.5, -0.5))))
    ((lat_there, lon_there),) = moved(((lat, lon),))
    inside = check_in_shape(point(lat_there, lon_there), area)
    # A rounding of the longitude may put a place on the edge itself on either side of it.
    if min(abs(abs(lat) - 0.5), abs(abs(lon) - 0.5)) > 1e-9:
        assert (inside.outcome is Outcome.MET) == (abs(lat) < 0.5 and abs(lon) < 0.5)


@pytest.mark.parametrize("pole", [1, -1], ids=["north", "south"])
@pytest.mark.parametrize("way", [1, -1], ids=["eastward", "westward"])
def test_a_ring_around_a_pole_holds_it_and_not_the_rest_of_the_world(pole, way):
    area = area_outline(tuple((85.0 * pole, lon) for lon in (0, 90, 180, -90)[::way]))
    assert check_in_shape(point(90.0 * pole, 0.0), area).outcome is Outcome.MET
    assert check_in_shape(point(86.0 * pole, 77.0), area).outcome is Outcome.MET
    assert check_in_shape(point(84.0 * pole, 77.0), area).outcome is Outcome.NOT_MET
    assert check_in_shape(point(-85.0 * pole, 77.0), area).outcome is Outcome.NOT_MET


def test_the_antipode_of_an_area_is_not_in_it():
    assert check_in_shape(point(-62.85, -166.7), area_outline(BOX)).outcome is Outcome.NOT_MET


@pytest.mark.parametrize(
    "ring",
    [
        ((0, 0), (0, 1), (0, 2)),
        ((0, 0), (0, 0), (0, 0)),
        ((0, 0), (1, 1), (0, 1), (1, 0)),
        tuple((85, lon) for lon in range(0, 720, 90)),
    ],
    ids=["in-line", "one-point", "crossing", "twice-round"],
)
def test_a_ring_without_a_certain_inside_is_refused(ring):
    with pytest.raises(UnusableShapeError):
        area_outline(ring)


# slips


@pytest.mark.parametrize(
    ("text", "slip"),
    [
        ("33V VK 67890 12345", "easting_and_northing_swapped"),
        ("33V VK 13245 67890", "digits_transposed"),
        ("33V VL 12345 67890", "neighbouring_square"),
        ("13.27930, 62.83064", "latitude_and_longitude_swapped"),
        ("62 49.8382 S, 13 16.7583 E", "wrong_hemisphere"),
    ],
)
def test_a_slip_is_told_of_the_place_that_it_put_elsewhere(text, slip):
    reported = place_from_text(text)
    assert check_position(reported, hut()).verdict == "wrong"
    slips = slips_of_place(reported, expected_of(hut()))
    assert slips[0].slip == slip
    assert all(each.distance_m <= 101.0 for each in slips)
    ranks = [list(SLIPS).index(each.slip) for each in slips]
    assert ranks == sorted(ranks)


@pytest.mark.parametrize("text", ["32V VK 12345 67890", "UTM 33 north 6967890 412345"])
def test_a_slip_is_told_of_a_text_that_names_no_place(text):
    with pytest.raises(ValueError):
        place_from_text(text)
    assert slips_of_refused(text, WGS84_FRAME, expected_of(hut()))


def test_nothing_explains_what_is_no_position():
    with pytest.raises(UnreadablePositionError):
        place_from_text("beyond the second gate")
    assert slips_of_refused("beyond the second gate", WGS84_FRAME, expected_of(hut())) == []


def test_the_likelier_slip_is_told_before_the_nearer():
    (slip,) = slips_of_place(place_from_text("33V VK 13245 67890"), expected_of(hut()))
    nearer = replace(slip, slip="wrong_zone", distance_m=0.0)
    farther = replace(slip, distance_m=slip.distance_m + 50.0)
    assert likeliest_first([nearer, farther, slip]) == [slip, farther, nearer]


def test_without_anywhere_to_look_there_are_no_slips():
    assert slips_of_place(place_from_text(HUT), expected_of(None)) == []
