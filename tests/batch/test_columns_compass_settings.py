"""Compass settings in columns are what single requests are answered."""

from __future__ import annotations

import numpy as np
import pytest

from column_rows import ROWS, Dice, check_against_single, plain_share, rows_of


def setting(dice):
    row = dice.angles()
    if dice.chance() < 0.7:
        row.update(dice.bearing())
    elif dice.chance() < 0.2:
        row["north"] = dice.of(("grid", "up"))
    elif dice.chance() < 0.2:
        row["unit"] = dice.of(("mil", "mils"))
    if dice.chance() < 0.6:
        clicks = (3.0, 2.5, 7.0, 0.1, 45.0, dice.uniform(0.1, 45), 360.0 / 7.0, 1.0, 0.3)
        row["click_deg"] = dice.of(clicks if dice.chance() < 0.9 else (0.05, 46.0, np.nan))
    if dice.chance() < 0.1:  # often midway between two clicks
        row.update(bearing=float(round(dice.uniform(0, 720))) / 2.0, north="magnetic", unit="deg")
    return row


@pytest.mark.parametrize(
    "common",
    [
        {},
        {"date": "2026-11-25", "north": "grid", "position": "33V VK 12345 67890"},
        {"bearing": "45 30 15", "north": "magnetic"},
        {"bearing": 45.0, "north": "magnetic", "click_deg": 6.0},
        {"grid_magnetic_angle_deg": -7.5},
    ],
)
def test_every_column_and_fault_is_that_of_the_single_operation(common):
    dice = Dice(4)
    rows = [setting(dice) for _ in range(ROWS if not common else ROWS // 10)]
    check_against_single("compass-settings", rows_of("compass-settings", rows, common))


def test_ordinary_batches_are_plain():
    dice = Dice(5)
    place = [
        {"position": dice.reference(dice.uniform(59, 61), dice.uniform(12, 15)), "date": "2026-11-25"}
        for _ in range(300)
    ]
    follow = [{**row, "bearing": dice.uniform(0, 360), "north": "grid", "click_deg": 3.0} for row in place]
    given = [
        {"bearing": dice.uniform(0, 6400), "unit": "mil", "north": "grid", "grid_magnetic_angle_deg": 8.0}
        for _ in range(300)
    ]
    set_off = [{"grid_magnetic_angle_deg": dice.uniform(-20, 20), "click_deg": 2.0} for _ in range(300)]
    read = [{"bearing": dice.uniform(0, 360), "north": "magnetic"} for _ in range(300)]
    for rows in (place, follow, given, set_off, read, place + follow + given + set_off + read):
        assert plain_share("compass-settings", rows_of("compass-settings", rows)) == 1.0
