"""Rays in columns are what single requests are answered."""

from __future__ import annotations

import numpy as np
import pytest

from column_rows import ROWS, Dice, check_against_single, plain_share, rows_of


def ray(dice):
    place = (dice.uniform(75, 88), dice.uniform(-150, 180)) if dice.chance() < 0.2 else dice.lat_lon()
    row = {**dice.position("from", place), **dice.bearing(), **dice.date()}
    distances = (10.0 ** dice.uniform(-3, 5), 10.0 ** dice.uniform(3, 7), 0.0, 1e7, 1000.0)
    row["distance_m"] = dice.of(distances if dice.chance() < 0.95 else (-1.0, 1e7 + 1, np.nan, None))
    return row


@pytest.mark.parametrize(
    "common",
    [
        {},
        {"date": "2026-11-25", "distance_m": 250.0},
        {"north": "magnetic", "bearing": "N 45 E"},
        {"from": "33V VK 123 678", "north": "grid"},
        {"unit": "grad", "from.lon_deg": 8.0},
    ],
)
def test_every_column_and_fault_is_that_of_the_single_operation(common):
    dice = Dice(11)
    rows = [ray(dice) for _ in range(ROWS if not common else ROWS // 10)]
    check_against_single("rays", rows_of("rays", rows, common))


@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
def test_ordinary_batches_are_plain(north):
    dice = Dice(12)
    rows = []
    for index in range(500):
        lat, lon = dice.uniform(-79, 83), dice.uniform(-180, 180)
        row = {"bearing": dice.uniform(0, 360), "north": north, "distance_m": dice.uniform(1, 20_000)}
        if north == "magnetic":
            row["date"] = "2026-11-25"
        if index % 2:
            row["from"] = dice.reference(lat, lon, dice.of((3, 4, 5)))
        else:
            row.update({"from.lat_deg": lat, "from.lon_deg": lon})
        rows.append(row)
    assert plain_share("rays", rows_of("rays", rows)) == 1.0
