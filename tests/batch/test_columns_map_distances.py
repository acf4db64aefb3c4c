"""Map distances in columns are what single requests are answered."""

from __future__ import annotations

import numpy as np
import pytest

from column_rows import ROWS, Dice, check_against_single, plain_share, rows_of


def members(dice):
    length = 10.0 ** dice.uniform(-1, 4)
    return {
        "scale": dice.of((25_000.0, 50_000.0, 1.0, 1e9, 0.5, "1:50,000", "1:2.5", dice.uniform(1, 1e6))),
        "map_mm": dice.of((length, 0.0001, 100_000.0, 0.0)),
        "map_cm": length,
        "map_in": length / 20.0,
        "ground_m": dice.of((length, 1000.0, 20_100_000.0, 20_100_001.0)),
        "ground_km": length / 1000.0,
        "ground_ft": length * 3.0,
        "ground_yd": length,
        "ground_mi": length / 1500.0,
        "ground_nmi": length / 1800.0,
        "ground_paces": length * 0.6,
        "paces_per_100_m": dice.of((62.0, dice.uniform(20, 500), 19.0)),
        "slope_m": dice.of((length * dice.uniform(0.9, 1.5), 1000.0)),
        "rise_m": dice.of((length * dice.uniform(-0.9, 0.9), 0.0, -10_000.0, 10_001.0)),
        "gradient_percent": dice.of((dice.uniform(-80, 80), 0.0, 60.0, 60.000001, 1000.0, 1e-320, 1e-15)),
        "gradient_deg": dice.of((dice.uniform(-80, 80), 0.0, 84.0, -84.5, 30.9637565)),
    }


USUAL_KINDS = (
    ("scale", "map_mm"),
    ("scale", "map_cm"),
    ("scale", "ground_km"),
    ("map_in", "ground_mi"),
    ("map_mm", "ground_nmi"),
    ("scale", "ground_yd", "rise_m"),
    ("scale", "ground_ft", "gradient_deg"),
    ("ground_m", "gradient_percent", "paces_per_100_m"),
    ("ground_paces", "scale", "paces_per_100_m"),
    ("slope_m", "gradient_percent"),
    ("slope_m", "rise_m"),
    ("slope_m", "ground_m"),
    ("slope_m", "scale", "map_mm"),
    ("rise_m", "gradient_deg"),
    ("rise_m", "gradient_percent", "scale"),
)
ODD_KINDS = (
    (),
    ("ground_m",),
    ("scale",),
    ("ground_paces", "scale"),
    ("map_mm", "map_cm", "scale"),
    ("scale", "map_mm", "ground_m"),
    ("gradient_deg", "gradient_percent", "ground_m"),
    ("slope_m", "rise_m", "gradient_deg"),
    ("slope_m", "rise_m", "ground_m"),
    ("ground_m", "ground_km", "scale"),
)


def distance(dice):
    row = members(dice)
    if dice.chance() < 0.1:
        return {name: value for name, value in row.items() if dice.chance() < 0.15}
    kind = dice.of(USUAL_KINDS if dice.chance() < 0.9 else ODD_KINDS)
    if dice.chance() < 0.02:
        row[dice.of(list(row))] = dice.of((np.nan, np.inf, -1.0, None))
    return {name: row[name] for name in kind}


@pytest.mark.parametrize(
    "common", [{}, {"scale": "1:50,000"}, {"scale": 25_000.0, "paces_per_100_m": 66.0}, {"scale": "1:2.5"}]
)
def test_every_column_and_fault_is_that_of_the_single_operation(common):
    dice = Dice(6)
    rows = [distance(dice) for _ in range(2 * ROWS)]
    check_against_single("map-distances", rows_of("map-distances", rows, common))


@pytest.mark.parametrize("kind", USUAL_KINDS)
def test_ordinary_batches_are_plain(kind):
    dice = Dice(7)
    ordinary = {
        "scale": 50_000.0,
        "map_mm": 43.0,
        "map_cm": 4.3,
        "map_in": 1.7,
        "slope_m": 2200.0,
        "paces_per_100_m": 66.0,
        "rise_m": 120.0,
        "gradient_percent": 8.0,
        "gradient_deg": 4.0,
    }
    rows = [
        {
            name: ordinary.get(name, 2150.0) * dice.uniform(1.0, 1.02 if name == "slope_m" else 1.01)
            for name in kind
        }
        for _ in range(200)
    ]
    assert plain_share("map-distances", rows_of("map-distances", rows)) == 1.0


def test_a_scale_for_all_rows_may_be_written_as_on_a_sheet():
    rows = rows_of(
        "map-distances", [{"map_mm": 10.0}, {"map_cm": 4.0}, {"ground_km": 2.0}], {"scale": "1:25 000"}
    )
    assert plain_share("map-distances", rows) == 1.0
