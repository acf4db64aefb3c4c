"""Bearings in columns are what single requests are answered."""

from __future__ import annotations

import numpy as np
import pytest

from column_rows import ROWS, Dice, check_against_single, plain_share, rows_of
from threenorths_service.batch.angle_texts import dms_texts, quadrant_texts
from threenorths_service.navmath.texts.angle_text import write_dms, write_quadrant


@pytest.mark.parametrize(
    "common",
    [
        {},
        {"date": "2026-11-25", "unit": "mil", "north": "magnetic"},
        {"bearing": "N 45 E", "north": "true"},
        {"position": "33V VK 12345 67890", "date": "today"},
        {"position.lat_deg": 60.0, "declination_deg": 4.0},
        {"north": "grid", "grid_magnetic_angle_deg": 9.0},
        {"north": "grid", "working": True},
    ],
)
def test_every_column_and_fault_is_that_of_the_single_operation(common):
    dice = Dice(1)
    count = ROWS if not common else ROWS // 10
    rows = [{**dice.bearing(), **dice.angles()} for _ in range(count)]
    check_against_single("bearings", rows_of("bearings", rows, common))


def test_ordinary_batches_are_plain():
    dice = Dice(2)

    def bearing(**more):
        return {"bearing": dice.uniform(0, 360), "north": dice.of(("true", "grid", "magnetic")), **more}

    def at(lat, lon, kind):
        return kind if isinstance(kind, dict) else {"position": dice.reference(lat, lon)}

    placed = [
        bearing(**at(dice.uniform(59, 61), dice.uniform(12, 15), "text"), date="2026-11-25")
        for _ in range(400)
    ]
    measured = [
        bearing(
            **{"position.lat_deg": dice.uniform(-90, 90), "position.lon_deg": dice.uniform(-180, 360)},
            date="1962-07-01",
        )
        for _ in range(400)
    ]
    given = [
        bearing(declination_deg=dice.uniform(-20, 20), convergence_deg=dice.uniform(-3, 3))
        for _ in range(400)
    ]
    agreeing = [
        bearing(declination_deg=4.0, convergence_deg=1.5, grid_magnetic_angle_deg=2.5) for _ in range(10)
    ]
    alone = [bearing(unit=dice.of(("deg", "mil", "grad"))) for _ in range(400)]
    for rows in (placed, measured, given, agreeing, alone, placed + measured + given + agreeing + alone):
        assert plain_share("bearings", rows_of("bearings", rows)) == 1.0


def test_directions_are_written_as_one_is():
    rng = np.random.default_rng(3)
    halves = (rng.integers(0, 2 * 360 * 3600, 2_000) + 0.0) / 7200.0
    near = np.concatenate([halves, np.nextafter(halves, 400.0), np.nextafter(halves, -1.0).clip(0.0)])
    azimuths = np.concatenate(
        [near, rng.integers(0, 7200, 2_000) / 20.0, rng.uniform(0.0, 360.0, 4_000), [0.0, 359.9999, np.nan]]
    )
    azimuths = azimuths[~(azimuths >= 360.0)]
    for texts, write in ((dms_texts, write_dms), (quadrant_texts, lambda value: write_quadrant(value, 1))):
        expected = [None if np.isnan(value) else write(value) for value in azimuths.tolist()]
        assert texts(azimuths).to_pylist() == expected
