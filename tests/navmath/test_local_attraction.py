import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.compasses.local_attraction import AttractionBasis, local_attraction
from threenorths_service.navmath.errors import OutOfRangeError, TooFewReadingsError

EXAMPLES = rows("local_attraction_examples")
MINUTE = 1 / 60


def angles(text):
    return np.array([int(deg) + int(minute) / 60 for deg, minute in map(str.split, text.split(";"))])


def codes(found):
    return {each.code for each in found.cautions}


@pytest.mark.parametrize("row", EXAMPLES, ids=[row["id"] for row in EXAMPLES])
def test_worked_examples_of_plane_surveying(row):
    found = local_attraction(
        angles(row["forward"]), angles(row["back"]), sd_deg=MINUTE, closed=row["closed"] == "1"
    )
    # Printed to a minute, and sums of minutes throughout.
    np.testing.assert_allclose(found.corrected_deg, angles(row["corrected"]), atol=1e-9)
    affected = [chr(ord("A") + index) for index in np.flatnonzero(found.affected)]
    assert affected == row["affected"].split(";")
    assert found.basis == AttractionBasis.FREE_STATIONS
    np.testing.assert_allclose(found.residual_deg, 0.0, atol=1e-9)


def test_the_angles_of_a_published_traverse():
    # "Closed compass traverse" (scribd 566847424), read in part: the bearings N 64 54 E (64 50 in the scan) and S 88 46 W
    # follow from the angles at A and D, those at B, C and E are computed from bearings read. The angles add up to 4 29 too
    # much: printed is the correction of 53 48" for each.
    forward = angles("64 54;112 07;166 30;268 46;339 30")
    back = angles("246 20;289 58;347 45;94 58;157 15")
    found = local_attraction(forward, back, sd_deg=0.5, closed=True)
    inside = 360.0 - found.angle_deg
    np.testing.assert_allclose(inside, angles("92 21;134 13;123 28;78 59;115 28"), atol=1e-9)
    assert abs(found.misclosure_deg) == pytest.approx(4 + 29 / 60, abs=1e-9)
    assert np.sum(inside) - 540 == pytest.approx(5 * (53 / 60 + 48 / 3600), abs=1e-9)
    assert "traverse_misclosed" in codes(found)


def test_the_attraction_is_to_be_subtracted_from_the_reading():
    # Iron at the middle station turns its needle so that 3 degrees too much is read.
    found = local_attraction([10.0, 73.0, 130.0], [193.0, 250.0, 310.0], 0.2)
    np.testing.assert_allclose(found.attraction_deg, [0.0, 3.0, 0.0, 0.0], atol=1e-12)
    np.testing.assert_array_equal(found.free, [False, False, True, True])
    np.testing.assert_array_equal(found.affected, [False, True, False, False])
    np.testing.assert_allclose(found.corrected_deg, [10.0, 70.0, 130.0])


@given(
    st.lists(st.tuples(st.integers(0, 3599), st.integers(-150, 150)), min_size=3, max_size=12),
    st.booleans(),
)
def test_any_traverse_without_noise_is_freed_of_its_attraction(stations, closed):
    azimuth, attraction = np.array(stations).T / 10.0
    attraction[:2] = 0.0
    if not closed:
        azimuth = azimuth[:-1]
    start = np.arange(len(azimuth))
    end = (start + 1) % len(attraction)
    forward, back = azimuth + attraction[start], azimuth + 180.0 + attraction[end]
    found = local_attraction(forward, back, 0.005, closed)
    np.testing.assert_allclose(found.difference_deg, attraction[start] - attraction[end], atol=1e-9)
    # Where more stations share an attraction than are free of any, those are taken for free: that cannot be told.
    if found.free[0] and found.basis is AttractionBasis.FREE_STATIONS:
        np.testing.assert_allclose(found.attraction_deg, attraction, atol=1e-9)
        np.testing.assert_allclose((found.corrected_deg - azimuth + 180) % 360, 180.0, atol=1e-9)


def test_two_groups_of_free_stations_that_agree_are_both_free():
    # Stations 0-1 and 3-4 are free, 2 is not; carried from the first group, 3 comes out at nothing.
    found = local_attraction([10.0, 50.0, 94.0, 130.0], [190.0, 234.0, 270.0, 310.0], 0.1)
    np.testing.assert_array_equal(found.free, [True, True, False, True, True])
    assert found.basis is AttractionBasis.FREE_STATIONS
    assert found.attraction_deg[2] == pytest.approx(4.0)
    assert found.cautions == ()


def test_groups_that_disagree_are_said_and_the_largest_is_taken():
    # The last three stations stand along a railway that turns the needle alike.
    found = local_attraction([10.0, 50.0, 95.0, 135.0], [190.0, 235.0, 275.0, 315.0], 0.1)
    assert found.basis is AttractionBasis.LARGEST_GROUP
    np.testing.assert_array_equal(found.free, [False, False, True, True, True])
    np.testing.assert_allclose(found.attraction_deg, [-5.0, -5.0, 0.0, 0.0, 0.0], atol=1e-12)
    assert codes(found) == {"free_stations_disagree"}


def test_with_no_free_station_the_least_difference_is_halved():
    # Common practice of plane surveying: the leg that fails by least is corrected by half at either end.
    found = local_attraction([10.0, 53.0, 100.0], [188.0, 234.0, 285.0], 0.1)
    np.testing.assert_allclose(found.difference_deg, [2.0, -1.0, -5.0])
    assert found.basis is AttractionBasis.LEAST_DIFFERENCE
    np.testing.assert_allclose(found.attraction_deg, [1.5, -0.5, 0.5, 5.5])
    assert not np.any(found.free)
    assert codes(found) == {"no_free_station"}
    # What all have in common is not known better than they spread.
    assert np.all(found.attraction_sd_deg >= np.sqrt(np.mean(found.attraction_deg**2)))
    np.testing.assert_allclose(found.residual_deg, 0.0, atol=1e-12)


def test_what_a_ring_does_not_close_by_is_shared_out():
    found = local_attraction([0.0, 93.0, 180.4, 270.2], [180.0, 270.0, 3.0, 90.0], 0.1, closed=True)
    assert found.misclosure_deg == pytest.approx(np.sum(found.difference_deg))
    np.testing.assert_array_equal(found.agrees, [True, False, False, True])
    shared = found.residual_deg[~found.agrees]
    np.testing.assert_allclose(shared, np.sum(found.difference_deg[~found.agrees]) / 2)
    # A leg's bearing is the mean of what its two ends make of it.
    from_start = np.array([0.0, 93.0, 180.4, 270.2]) - found.attraction_deg
    from_end = np.array([180.0, 270.0, 3.0, 90.0]) + 180.0 - np.roll(found.attraction_deg, -1)
    turned = (found.corrected_deg - from_start + 180) % 360 - 180
    np.testing.assert_allclose(turned, (from_end - found.corrected_deg + 180) % 360 - 180, atol=1e-9)


def test_a_ring_that_agrees_all_round_is_one_group():
    found = local_attraction([0.1, 90.0, 180.0, 270.0], [180.0, 270.0, 0.0, 90.1], 0.1, closed=True)
    assert np.all(found.free)
    assert found.basis is AttractionBasis.FREE_STATIONS
    # The last leg joins the first group and the last over the corner.
    joined = local_attraction([0.0, 95.0, 184.0, 270.0], [180.0, 270.0, 5.0, 90.0], 0.1, closed=True)
    assert joined.free.tolist() == [True, True, False, True]


def test_standard_deviations_grow_along_the_line():
    found = local_attraction([0.0, 5.0, 9.0, 2.0], [180.0, 181.0, 187.0, 187.0], 0.1)
    # Carried over one leg, two, three: two readings each.
    np.testing.assert_allclose(found.attraction_sd_deg[2:], 0.1 * np.sqrt([2.0, 4.0, 6.0]))


def test_a_reversed_bearing_is_suspected():
    found = local_attraction([10.0, 50.0], [190.0, 50.5], 0.5)
    assert "reading_suspect" in codes(found)


@given(
    st.lists(st.tuples(st.floats(0, 360), st.floats(0, 360)), min_size=1, max_size=10),
    st.floats(0.001, 45),
    st.booleans(),
)
def test_any_bearings_have_a_finite_answer_or_a_named_error(legs, sd, closed):
    forward, back = np.array(legs).T
    if closed and len(legs) < 3:
        with pytest.raises(TooFewReadingsError):
            local_attraction(forward, back, sd, closed)
        return
    found = local_attraction(forward, back, sd, closed)
    for values in (found.attraction_deg, found.attraction_sd_deg, found.corrected_deg, found.residual_deg):
        assert np.all(np.isfinite(values))
    assert np.all(np.isfinite(found.angle_deg) == found.has_angle)
    assert np.all((found.corrected_deg >= 0) & (found.corrected_deg < 360))


def test_what_is_out_of_range_is_refused():
    for sd in (0.0, np.nan, 46.0):
        with pytest.raises(OutOfRangeError):
            local_attraction([10.0], [190.0], sd)
    with pytest.raises(OutOfRangeError):
        local_attraction([np.nan], [190.0], 1.0)
    with pytest.raises(TooFewReadingsError):
        local_attraction([], [], 1.0)
