"""Checks in columns are what single requests are answered."""

from __future__ import annotations

import numpy as np
import pytest

from column_rows import ROWS, Dice, check_against_single, plain_share, rows_of
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.plan import plan_of
from threenorths_service.navmath.lines.geodesic import direct

TOLERANCES_M = (0.0, 1.0, 9.99, 10.0, 100.0, 100.0, 1000.0, 10_000.0, 100_000.0)


def report(dice):
    """A report, mostly near what was expected, in any writing; now and then with what belongs to no position."""
    lat, lon = dice.lat_lon()
    off_m = dice.of((0.0, 0.0, 0.0005, 3.0, 40.0, 70.0, 110.0, 800.0, 60_000.0))
    there = tuple(float(each) for each in direct(lat, lon, dice.uniform(0, 360), off_m)[:2])
    row = {**dice.position("expected", (lat, lon)), **dice.position("reported", there)}
    if dice.chance() < 0.97:
        row["tolerance_m"] = dice.of(TOLERANCES_M if dice.chance() < 0.97 else (-1.0, np.nan, None))
    if dice.chance() < 0.2:
        row["digits"] = dice.of((0, 3, 4, 5, 6))
    if dice.chance() < 0.1:
        row["resolution_m"] = dice.of((1.0, 100.0, 0.0, -1.0))
    if dice.chance() < 0.03:
        row[dice.of(("north", "unit", "date"))] = dice.of(("true", "deg", "2026-11-25"))
    return row


def bearing(dice):
    """A reported bearing against another."""
    row = dice.bearing()
    reported = row.pop("bearing")
    row["reported_bearing"] = reported
    off = dice.of((0.0, 1.0, 2.0, 2.0000001, -3.0, 90.0, 180.0))
    row["expected_bearing"] = (reported + off) % 360.0 if isinstance(reported, float) else 45.0
    if dice.chance() < 0.95:
        row["tolerance_deg"] = dice.of((0.0, 2.0, 3.0, 180.0, -1.0))
    return {**row, **(dice.angles() if dice.chance() < 0.5 else {})}


@pytest.mark.parametrize(
    ("common", "kind"),
    [
        ({}, report),
        ({"tolerance_m": 100.0, "digits": 3}, report),
        ({"expected": "33V VK 12345 67890"}, report),
        ({}, bearing),
        ({"north": "magnetic", "tolerance_deg": 3.0}, bearing),
    ],
)
def test_every_column_and_fault_is_that_of_the_single_operation(common, kind):
    dice = Dice(21)
    rows = [kind(dice) for _ in range(ROWS // 2 if not common else ROWS // 8)]
    check_against_single("checks", rows_of("checks", rows, common))


@pytest.mark.parametrize("digits", [1, 2, 3, 4, 5])
def test_references_of_the_place_itself_are_plain_and_right(digits):
    """By truncation: the middle of the square is up to half its diagonal off, and the square holds the place."""
    dice = Dice(22)
    side_m = 10.0 ** (5 - digits)
    rows = []
    for index in range(400):
        # Not over the edge of a zone, which cuts squares.
        lat, lon = dice.uniform(-79, 83), dice.of(range(-177, 37, 6)) + dice.uniform(-0.5, 0.5)
        if abs(lat) > 65.0 or index % 10 == 0:
            lat, lon = dice.of((-1, 1)) * dice.uniform(86.0, 89.0), dice.uniform(10.0, 170.0)
        row = {"reported": dice.reference(lat, lon, digits), "tolerance_m": side_m}
        if index % 2:
            row["expected"] = dice.reference(lat, lon, 5)
        else:
            row.update({"expected.lat_deg": lat, "expected.lon_deg": lon})
        rows.append(row)
    given = rows_of("checks", rows)
    # A band's edge may cut a square, and so may the meridian that halves UPS.
    assert plain_share("checks", given) > 0.97
    check_against_single("checks", given)
    answered = plan_of(BATCHED["checks"], COLUMNAR["checks"], ("verdict",)).answer(given)
    assert answered.columns["verdict"].to_pylist().count("right") > 0.97 * len(rows)


@pytest.mark.parametrize("coarser", [0, 1, 3])
def test_squares_that_an_edge_cuts_and_places_known_more_coarsely_are_no_more_surely_right(coarser):
    dice = Dice(23)
    rows = []
    for _ in range(600):
        lat, lon = dice.uniform(-79, 83), dice.of(range(-174, 180, 6)) + dice.uniform(-0.02, 0.02)
        digits = dice.of((1, 2, 3)) if not coarser else dice.of((4, 5))
        off_m = dice.of((0.0, 0.5)) * 10.0 ** (5 - digits)
        there = (float(each) for each in direct(lat, lon, dice.uniform(0, 360), off_m)[:2])
        rows.append(
            {
                "reported": dice.reference(lat, lon, digits),
                "expected": dice.reference(*there, digits - coarser if coarser else 5),
                "tolerance_m": dice.of((1.0, 2.0)) * 10.0 ** (5 - digits + dice.of((0, coarser))),
            }
        )
    check_against_single("checks", rows_of("checks", rows))
