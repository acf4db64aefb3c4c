"""Reported bearings against the ones expected: differences round the circle, and each slip found where it was made."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from threenorths_service.navmath.angle import CIRCLE_DIVISIONS
from threenorths_service.navmath.checks.bearing_check import check_bearings, left_open_of_line_deg
from threenorths_service.navmath.checks.bearing_slips import BEARING_SLIPS, UNIT_SLIPS
from threenorths_service.navmath.checks.verdict import Outcome
from threenorths_service.navmath.directions.bearing import NORTHS, complete_angles
from threenorths_service.navmath.places.slips import SLIPS

azimuths = st.floats(0, 360, exclude_max=True)
tolerances = st.floats(0.01, 5)
#: Invented angles, each so large that leaving it out shows.
ANGLES = complete_angles(declination_deg=21.0, convergence_deg=-8.0)
#: By how much a bearing from a north is more than one from another: N = X + turn.
TURNS = {
    ("magnetic", "declination"): -21.0,
    ("true", "declination"): 21.0,
    ("grid", "convergence"): 8.0,
    ("true", "convergence"): -8.0,
    ("magnetic", "grid_magnetic_angle"): -29.0,
    ("grid", "grid_magnetic_angle"): 29.0,
}


def codes(check, row=0):
    return [slip.slip for slip in check.slips(row)]


# the difference


@given(azimuths, st.floats(-179.9, 180), tolerances)
def test_the_difference_is_the_short_way_round(expected, difference, tolerance):
    check = check_bearings((expected + difference) % 360, expected, tolerance)
    assert float(check.difference_deg[0]) == pytest.approx(difference, abs=1e-9)
    if abs(abs(difference) - tolerance) > 1e-8:
        assert (check.outcome[0] == Outcome.MET) == (abs(difference) <= tolerance)


@pytest.mark.parametrize(
    ("reported", "expected", "difference"),
    [(359, 1, -2), (1, 359, 2), (360, 0, 0), (0, 360, 0), (0, 180, 180), (180, 0, 180)],
)
def test_north_is_no_edge(reported, expected, difference):
    assert check_bearings(reported, expected, 3).difference_deg[0] == difference


def test_a_difference_just_as_large_as_the_tolerance_is_right_in_every_unit():
    # In floating point 8.3 less 8 is more than 0.3.
    assert check_bearings(8.3, 8.0, 0.3).outcome[0] == Outcome.MET
    for circle in CIRCLE_DIVISIONS.values():
        check = check_bearings(
            95.0 * circle / 360.0 * (360.0 / circle), 90, 5, number=95 * circle / 360, circle=circle
        )
        assert check.outcome[0] == Outcome.MET


@pytest.mark.parametrize(
    ("difference", "outcome"),
    [(1.0, Outcome.MET), (2.5, Outcome.OPEN), (3.9, Outcome.OPEN), (4.1, Outcome.NOT_MET)],
)
def test_what_is_open_of_the_bearing_expected_decides_nothing(difference, outcome):
    assert check_bearings(difference, 0.0, 3.0, left_open_deg=1.0).outcome[0] == outcome


@pytest.mark.parametrize(
    ("distance", "off", "turned"),
    [(1000, 0, 0), (1000, 500, 30), (1000, 1000, 180), (1000, 5000, 180), (0, 0, 180)],
)
def test_a_line_is_known_as_its_ends_are(distance, off, turned):
    assert float(left_open_of_line_deg(distance, off)) == pytest.approx(turned)


# slips


@given(azimuths, st.floats(-1, 1), tolerances, st.sampled_from(NORTHS))
@example(0.0, 0.0, 1.0, "true")
def test_a_right_report_has_no_slip(expected, share, tolerance, north):
    reported = (expected + share * tolerance * 0.999) % 360
    check = check_bearings(reported, expected, tolerance, north=north, angles=ANGLES)
    assert check.outcome[0] == Outcome.MET
    assert codes(check) == []


def made_with(slip, expected, north):
    """The bearing and its number that a person reports who makes the slip; ``None`` where it cannot be made so."""
    if slip == "back_bearing":
        return (expected + 180) % 360
    if slip == "counted_backward":
        return (360 - expected) % 360
    angle, _, kind = slip.rpartition("_")
    turn = TURNS.get((north, angle))
    if turn is None:
        return None
    # N = X + turn is right; left out it is X, the wrong way X - turn, twice X + 2 turn.
    other = expected - turn
    return (other + {"forgotten": 0, "reversed": -turn, "twice": 2 * turn}[kind]) % 360


MADE = [
    (north, slip)
    for north in NORTHS
    for slip in BEARING_SLIPS
    if slip.endswith(("bearing", "backward", "forgotten", "reversed", "twice"))
    and made_with(slip, 0.0, north) is not None
]


def test_an_angle_that_does_not_touch_a_north_is_no_slip_of_it():
    """Nine of the slips of angles are of a north that their angle does not reach."""
    assert len(MADE) == 3 * 2 + 3 * 9 - 9
    untouched = {"grid": "declination", "true": "grid_magnetic", "magnetic": "convergence"}
    for north, angle in untouched.items():
        check = check_bearings(np.arange(360.0), 0.0, 5.0, north=north, angles=ANGLES)
        found = {code for row in range(360) for code in codes(check, row)}
        assert found
        assert not {code for code in found if code.startswith(angle)}


@pytest.mark.parametrize(("north", "slip"), MADE)
@given(expected=azimuths, error=st.floats(-0.5, 0.5))
def test_a_slip_is_found_where_it_was_made(north, slip, expected, error):
    reported = (made_with(slip, expected, north) + error) % 360
    check = check_bearings(reported, expected, 1.0, north=north, angles=ANGLES)
    assume(check.outcome[0] == Outcome.NOT_MET)  # a bearing near north is the same counted backward
    assume(abs(float(check.difference_deg[0])) > 2.0)
    assert slip in codes(check)
    (told,) = [each for each in check.slips(0) if each.slip == slip]
    assert abs(told.difference_deg) <= 0.5 + 1e-6


@given(
    expected=azimuths,
    used=st.sampled_from(list(CIRCLE_DIVISIONS)),
    said=st.sampled_from(list(CIRCLE_DIVISIONS)),
)
def test_a_number_in_another_unit_is_found(expected, used, said):
    assume(used != said)
    number = expected * CIRCLE_DIVISIONS[used] / 360.0
    circle = CIRCLE_DIVISIONS[said]
    reported = number * 360.0 / circle if number <= circle else math.nan
    check = check_bearings(reported, expected, 1.0, number=number, circle=circle)
    assume(check.outcome[0] == Outcome.NOT_MET)
    if not math.isnan(reported):
        assume(abs(float(check.difference_deg[0])) > 2.0)
    assert UNIT_SLIPS[used] in codes(check)


@pytest.mark.parametrize(
    ("number", "expected", "circle", "slip"),
    [
        (43, 34, 360, "figures_exchanged"),
        (304, 34, 360, "figures_exchanged"),
        (123.5, 132.5, 360, "figures_exchanged"),
        (3210, 2310 * 360 / 6400, 6400, "figures_exchanged"),
        (325, 0.0, 400, None),
        (88, 78, 360, "ten_misread"),
        (355, 5, 360, "ten_misread"),
        (178, 78, 360, "hundred_misread"),
        (2450, 1450 * 360 / 6400, 6400, "thousand_misread"),
    ],
)
def test_figures_that_were_misread_are_found(number, expected, circle, slip):
    check = check_bearings(number * 360 / circle, expected, 0.5, number=number, circle=circle)
    assert (slip in codes(check)) if slip else ("figures_exchanged" not in codes(check))


def test_a_figure_that_no_dial_shows_was_nobodys_reading():
    """Exchanged, 052 makes 502, which would be 142 once more round the dial."""
    assert "figures_exchanged" not in codes(check_bearings(52, 142, 0.1))
    assert "figures_exchanged" in codes(check_bearings(32, 302, 0.1))


def test_a_slip_that_may_have_been_made_in_two_ways_is_told_once_by_the_nearer():
    """Exchanged, 019 makes 091 or 109."""
    for expected, without in ((95, 91), (104, 109)):
        (told,) = [
            each for each in check_bearings(19, expected, 15).slips(0) if each.slip == "figures_exchanged"
        ]
        assert told.bearing_deg == pytest.approx(without)
        assert told.difference_deg == pytest.approx(without - expected)


def test_figures_of_a_bearing_in_a_quadrant_are_not_looked_at():
    assert codes(check_bearings(43, 34, 0.5, number=math.nan)) == []
    assert codes(check_bearings(43, 223, 0.5, number=math.nan)) == ["back_bearing"]


def test_what_moves_a_bearing_by_no_more_than_the_tolerance_explains_nothing():
    angles = complete_angles(declination_deg=2.9)
    check = check_bearings(104.0, 100.0, 3.0, north="magnetic", angles=angles)
    assert check.outcome[0] == Outcome.NOT_MET
    assert not {code for code in codes(check) if code.startswith("declination_f")}


def test_slips_that_fit_alike_are_all_told_likeliest_first():
    angles = complete_angles(declination_deg=10.0, convergence_deg=0.0)
    check = check_bearings(100.0, 90.0, 1.0, north="magnetic", angles=angles)
    assert codes(check) == [
        "grid_magnetic_angle_forgotten",
        "declination_forgotten",
        "ten_misread",
        "number_in_gradians",
    ]
    assert check.slips(0)[0].explanation == BEARING_SLIPS["grid_magnetic_angle_forgotten"]


def test_an_angle_that_is_not_known_is_no_slip():
    angles = complete_angles(grid_magnetic_angle_deg=9.0)
    check = check_bearings(90.0, 81.0, 1.0, north="magnetic", angles=angles)
    assert codes(check)[0] == "grid_magnetic_angle_forgotten"
    assert not {code for code in codes(check) if code.startswith(("declination", "convergence"))}


@given(
    st.lists(
        st.tuples(azimuths, azimuths, st.floats(0.01, 20), st.sampled_from(NORTHS)), min_size=1, max_size=8
    )
)
def test_a_row_is_one_request(rows):
    reported, expected, tolerance, north = zip(*rows, strict=True)
    together = check_bearings(reported, expected, tolerance, north=np.array(north), angles=ANGLES)
    for row, (one, other, within, from_north) in enumerate(rows):
        alone = check_bearings(one, other, within, north=from_north, angles=ANGLES)
        assert together.slips(row) == alone.slips(0)
        assert together.difference_deg[row] == alone.difference_deg[0]
        assert together.chance[row] == alone.chance[0]


def test_the_chance_of_a_slip_that_fits_is_about_that_of_random_bearings():
    random = np.random.default_rng(20261125)
    reported = np.floor(random.uniform(0, 360, 20_000))
    check = check_bearings(reported, random.uniform(0, 360, 20_000), 3.0, north="magnetic", angles=ANGLES)
    wrong = check.outcome == Outcome.NOT_MET
    found = check.fits[:, wrong].any(axis=0).mean()
    # By the sum of independent chances; several ways lead to nearly one bearing, so it is somewhat less.
    assert found == pytest.approx(check.chance[wrong].mean(), rel=0.15)


def test_slips_are_told_in_the_order_of_the_list():
    check = check_bearings(10.0, 200.0, 1.0, angles=ANGLES)
    assert list(dict.fromkeys(check.codes)) == list(BEARING_SLIPS)


def test_codes_of_positions_and_bearings_are_apart():
    assert not set(SLIPS) & set(BEARING_SLIPS)
    assert all(text.endswith(".") for text in BEARING_SLIPS.values())
