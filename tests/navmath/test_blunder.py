"""Blunders: how often one is suspected where there is none, found where there is, and explained."""

import numpy as np
import pytest

from mixed_observations import codes, off_m, perfect, seen
from threenorths_service.navmath.errors import SightsCrossBehindError
from threenorths_service.navmath.fixes.checked_fix import checked_fix
from threenorths_service.navmath.fixes.mixed_fix import fix_from
from threenorths_service.navmath.fixes.observation import AngleBetween, BearingFrom, BearingTo, DistanceTo
from threenorths_service.navmath.magnetism.magnetic import declination_at

PLACE = (62.9, 13.3)
YEAR = 2026.9
SD_DEG = 1.5
AZIMUTHS = (15.0, 80.0, 160.0, 235.0, 300.0)


def sights(rng, blunder_deg=0.0, row=0, kind="to"):
    """Five sights all round, misread at random, one of them by so much more."""
    made = []
    for index in range(5):
        error = rng.normal() + (blunder_deg / SD_DEG if index == row else 0.0)
        azimuth = AZIMUTHS[index] + rng.uniform(-15.0, 15.0)
        made.append(perfect(kind, PLACE, azimuth, rng.uniform(1500.0, 6000.0), error, SD_DEG))
    return made


def test_without_a_blunder_one_test_in_a_thousand_suspects_one():
    rng, suspected, fixes = np.random.default_rng(1), 0, 500
    for _ in range(fixes):
        suspected += len(checked_fix(sights(rng)).verdict.suspects) > 0
    # 2,500 tests at 0.1 %: 2.5 expected; more than 8 in one of 1,300 runs of the Poisson distribution.
    assert suspected <= 8


@pytest.mark.parametrize(
    ("blunder_deg", "least_found"), [(10.0, 0.85), (20.0, 0.97), (90.0, 0.99), (180.0, 0.99)]
)
def test_a_blunder_is_found_and_its_sight_named(blunder_deg, least_found):
    rng, named, near, trials = np.random.default_rng(2), 0, 0, 60
    for trial in range(trials):
        checked = checked_fix(sights(rng, blunder_deg, trial % 5))
        suspects = checked.verdict.suspects
        if suspects and suspects[0].row == trial % 5:
            named += 1
            near += off_m(checked.verdict.without, PLACE) < 400.0
    assert named >= (least_found - 0.1) * trials
    assert near >= 0.95 * named


def test_the_fix_without_stands_beside_the_fix_with_it():
    rng = np.random.default_rng(4)
    made = sights(rng, 25.0, 2)
    checked = checked_fix(made)
    assert [suspect.row for suspect in checked.verdict.suspects] == [2]
    assert checked.verdict.located
    assert off_m(checked.fix.best, PLACE) > 2.0 * off_m(checked.verdict.without, PLACE)
    alone = fix_from([each for index, each in enumerate(made) if index != 2])
    assert off_m(checked.verdict.without, (alone.best.lat_deg, alone.best.lon_deg)) < 0.1
    assert checked.verdict.without.covariance_m2 == pytest.approx(alone.best.covariance_m2, rel=1e-3)
    assert checked.kept == (0, 1, 3, 4)
    assert off_m(checked.without.best, (alone.best.lat_deg, alone.best.lon_deg)) == 0.0
    assert "blunder_suspected" in codes(checked)


def test_two_blunders_among_seven_are_both_found():
    errors = (0.3, 30.0 / SD_DEG, -0.4, 0.2, -25.0 / SD_DEG, 0.5, -0.2)
    made = [perfect("to", PLACE, 51.0 * index, 3000.0, error, SD_DEG) for index, error in enumerate(errors)]
    assert {suspect.row for suspect in checked_fix(made).verdict.suspects} == {1, 4}


def test_three_observations_name_nobody():
    made = sights(np.random.default_rng(5))[:3]
    turned = BearingTo(made[1].lat_deg, made[1].lon_deg, (made[1].bearing_deg + 180.0) % 360.0, SD_DEG)
    with pytest.raises(SightsCrossBehindError):
        checked_fix([made[0], turned, made[2]])


def slips(change, row=1, kind="to", north="true", azimuth_deg=124.0, **options):
    """The explanations of a sight changed by a slip, among five misread a little."""
    errors, made = (0.2, -0.3, 0.4, -0.2, 0.1), []
    turn = float(declination_at(*PLACE, YEAR)) if north == "magnetic" else 0.0
    for index, azimuth in enumerate((15.0, azimuth_deg, 160.0, 235.0, 300.0)):
        lat, lon, back = seen(PLACE, azimuth, 3000.0 + 500.0 * index)
        true = azimuth if kind == "to" else back
        bearing = true - turn + errors[index] * SD_DEG
        bearing = change(bearing) if index == row else bearing
        made.append((BearingTo if kind == "to" else BearingFrom)(lat, lon, bearing % 360.0, SD_DEG, north))
    checked = checked_fix(made, YEAR, **options)
    assert [suspect.row for suspect in checked.verdict.suspects] == [row]
    return checked.explanations[0]


@pytest.mark.parametrize("kind", ["to", "from"])
def test_a_reversed_bearing_is_explained(kind):
    assert "reversed" in [each.slip for each in slips(lambda bearing: bearing + 180.0, kind=kind)]


def test_mils_taken_for_degrees_are_explained():
    # 15 degrees are 267 mils, read off the outer scale and said to be degrees.
    found = slips(lambda bearing: bearing * 6400.0 / 360.0, row=0)
    assert any(each.slip == "other_unit" and each.says.endswith("mil, not deg") for each in found)


def test_degrees_taken_for_mils_are_explained():
    found = slips(lambda bearing: bearing * 360.0 / 6400.0, units=["mil"] * 5)
    told = [each for each in found if each.slip == "other_unit"]
    assert any(
        each.says.endswith("deg, not mil") and each.reading == pytest.approx(124.0, abs=3.0) for each in told
    )
    assert all(0.0 < each.chance < 0.5 for each in told)


def test_digits_exchanged_are_explained():
    found = slips(lambda _bearing: 142.0)  # said for 124
    assert any(each.slip == "digits_transposed" and each.reading == pytest.approx(124.0) for each in found)


def test_digits_exchanged_are_on_the_dial():
    # 245 for 65: the other way round, and not 425, which no dial shows, with two digits exchanged.
    found = slips(lambda _bearing: 245.0, azimuth_deg=65.0)
    assert [each.slip for each in found].count("digits_transposed") == 0


def test_another_mark_is_explained():
    place = seen(PLACE, 60.0, 2500.0)[:2]
    found = slips(lambda _bearing: 60.0, other_marks=[place])
    assert any(each.slip == "other_mark" and "other mark 0" in each.says for each in found)
    # The fourth sight's mark, taken for the second's.
    assert any(each.slip == "other_mark" for each in slips(lambda _bearing: 235.0))


def test_the_wrong_north_and_a_correction_reversed_are_explained():
    # By the magnetic pole the norths part by far more than a compass can tell.
    place, year = (75.0, -90.0), YEAR
    declination = float(declination_at(*place, year))
    assert abs(declination) > 15.0
    for slip, bearing_of in (
        ("other_north", lambda true: true),
        ("correction_reversed", lambda true: true - 2.0 * declination + declination),
    ):
        made = []
        for index, azimuth in enumerate(AZIMUTHS):
            lat, lon, _ = seen(place, azimuth, 3000.0)
            bearing = bearing_of(azimuth) + (declination if slip == "correction_reversed" else 0.0)
            if index != 1:
                bearing = azimuth - declination
            elif slip == "correction_reversed":
                bearing = azimuth - declination + 2.0 * declination
            made.append(BearingTo(lat, lon, bearing % 360.0, 0.5, "magnetic"))
        checked = checked_fix(made, year)
        assert [suspect.row for suspect in checked.verdict.suspects] == [1]
        assert slip in [each.slip for each in checked.explanations[0]]


def test_what_nothing_explains_is_left_so():
    assert slips(lambda bearing: bearing + 63.0) == ()


def test_marks_exchanged_and_feet_for_metres_are_explained():
    made = [
        perfect("distance", PLACE, azimuth, 2000.0 + 300.0 * azimuth / 60.0) for azimuth in (0.0, 70.0, 150.0)
    ]
    lat, lon, _ = seen(PLACE, 220.0, 1800.0)
    feet = checked_fix([*made, DistanceTo(lat, lon, 1800.0 / 0.3048, 18.0)])
    assert feet.verdict.suspects[0].row == 3
    assert "other_unit" in [each.slip for each in feet.explanations[0]]
    left, right = seen(PLACE, 220.0, 1800.0)[:2], seen(PLACE, 290.0, 2500.0)[:2]
    exchanged = checked_fix([*made, AngleBetween(*left, *right, 290.0, 1.0)])
    assert exchanged.verdict.suspects[0].row == 3
    assert "marks_exchanged" in [each.slip for each in exchanged.explanations[0]]
