import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.angle import from_degrees, normalise_signed, to_degrees
from threenorths_service.navmath.directions.bearing import (
    NORTHS,
    NorthAngles,
    azimuths_from,
    back_azimuth,
    complete_angles,
    printed_angle_at,
)
from threenorths_service.navmath.errors import AnglesMissingError, InconsistentAnglesError

HANDBOOK = {row["id"]: row for row in rows("handbook_examples")}

azimuth = st.floats(0, 360, exclude_max=True)
signed = st.floats(-180, 180)


def grid_magnetic(angle_deg):
    return NorthAngles(grid_magnetic_angle_deg=np.float64(angle_deg))


# US Army "Convert azimuths" and "Compute back azimuths" tasks, and a public tutorial on the G-M angle: rows of
# published/handbook_examples.csv. Whole degrees and mils throughout, so the answers are exact.
@pytest.mark.parametrize(
    ("row", "bearing", "north", "angle", "target", "expected"),
    [
        ("gm-east-mag2grid", 190, "magnetic", 9, "grid", 199),
        ("gm-grid2mag-east", 100, "grid", 5, "magnetic", 95),
        ("gm-grid2mag-west", 100, "grid", -5, "magnetic", 105),
        ("gm-wrap-355", 355, "magnetic", 9, "grid", 4),
        ("gm-wrap-2", 2, "magnetic", -10, "grid", 352),
        ("gm-wrap-0", 0, "magnetic", 0, "grid", 0),
        ("gm-wrap-360", 360, "magnetic", 0, "grid", 0),
        ("gm-wrap-359.5", 359.5, "magnetic", 1, "grid", 0.5),
    ],
)
def test_the_handbook_s_conversions(row, bearing, north, angle, target, expected):
    assert str(expected) in HANDBOOK[row]["expected"]
    assert getattr(azimuths_from(bearing, north, grid_magnetic(angle)), target) == expected


@pytest.mark.parametrize(
    ("row", "unit", "azimuth", "back"),
    [("back-az-deg", "deg", 65, 245), ("back-az-mil", "mil", 1150, 4350), ("back-az-180", "deg", 180, 0)],
)
def test_the_handbook_s_back_azimuths(row, unit, azimuth, back):
    assert str(back) in HANDBOOK[row]["expected"]
    assert from_degrees(back_azimuth(to_degrees(azimuth, unit)), unit) == pytest.approx(back, abs=1e-9)


@given(azimuth, st.sampled_from(NORTHS), signed, signed)
def test_a_bearing_turned_round_the_three_norths_returns(bearing, north, declination, convergence):
    angles = complete_angles(declination_deg=declination, convergence_deg=convergence)
    turned = azimuths_from(bearing, north, angles)
    for other in NORTHS:
        again = getattr(azimuths_from(getattr(turned, other), other, angles), north)
        assert abs(normalise_signed(again - bearing)) < 1e-9


def test_west_and_east_are_told_apart_on_all_three_sides():
    # Magnetic north 8 west of true, grid north 1.5 east of true: G = -8 - 1.5 = -9.5.
    angles = complete_angles(declination_deg=-8, convergence_deg=1.5)
    assert angles.grid_magnetic_angle_deg == -9.5
    turned = azimuths_from(100, "magnetic", angles)
    assert (turned.true, turned.grid, turned.magnetic) == (92, 90.5, 100)


@pytest.mark.parametrize(
    ("given_angles", "expected"),
    [
        ({"declination_deg": 3, "convergence_deg": -1}, (3, -1, 4)),
        ({"declination_deg": 3, "grid_magnetic_angle_deg": 4}, (3, -1, 4)),
        ({"convergence_deg": -1, "grid_magnetic_angle_deg": 4}, (3, -1, 4)),
        ({"declination_deg": 170, "convergence_deg": -170}, (170, -170, -20)),
    ],
)
def test_any_two_angles_tell_the_third(given_angles, expected):
    angles = complete_angles(**given_angles)
    assert (angles.declination_deg, angles.convergence_deg, angles.grid_magnetic_angle_deg) == expected


def test_three_angles_that_contradict_are_refused():
    complete_angles(3, 1, 2.009)
    with pytest.raises(InconsistentAnglesError) as caught:
        complete_angles(3, 1, -2)
    assert caught.value.member == "grid_magnetic_angle_deg"


def test_one_angle_reaches_two_norths_only():
    turned = azimuths_from(10, "true", complete_angles(declination_deg=4))
    assert (turned.true, turned.grid, turned.magnetic) == (10, None, 6)


def test_a_north_that_nothing_ties_is_refused():
    with pytest.raises(AnglesMissingError):
        azimuths_from(10, "true", complete_angles(grid_magnetic_angle_deg=4))


def test_with_no_angle_known_a_bearing_keeps_its_own_north():
    turned = azimuths_from(370, "magnetic", NorthAngles())
    assert (turned.true, turned.grid, turned.magnetic) == (None, None, 10)


def test_a_printed_angle_is_carried_by_its_annual_change():
    # TC 3-25.26, page 6-2: Fort Richardson went from 23 E in 1993 to 18 E in 2013, a quarter of a degree a year.
    assert printed_angle_at(23, 1993, -0.25, 2013) == 18


def test_rows_go_through_together():
    turned = azimuths_from([10, 350], "magnetic", complete_angles([5, 20], [1, 2]))
    np.testing.assert_array_equal(turned.true, [15, 10])
    np.testing.assert_array_equal(turned.grid, [14, 8])
