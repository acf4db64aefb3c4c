"""Lines in columns are what single requests are answered."""

from __future__ import annotations

import pytest

from column_rows import ROWS, Dice, check_against_single, plain_share, rows_of


def line(dice):
    lat, lon = dice.lat_lon()
    if dice.chance() < 0.2:  # where compasses are of little use
        lat, lon = dice.of(((dice.uniform(75, 88), dice.uniform(-150, 180)), (dice.uniform(-68, -60), 137.0)))
    apart_deg = 10.0 ** dice.uniform(-8, 2)
    end = (
        max(-90.0, min(90.0, lat + apart_deg * dice.uniform(-1, 1))),
        (lon + apart_deg * dice.uniform(-2, 2) + 180.0) % 360.0 - 180.0,
    )
    return {
        **dice.position("from", (lat, lon)),
        **dice.position("to", end if dice.chance() < 0.9 else None),
        **dice.date(),
    }


@pytest.mark.parametrize(
    "common",
    [{}, {"date": "2026-11-25"}, {"from": "33V VK 12345 67890"}, {"to.lat_deg": 60.0, "date": "1899-12-31"}],
)
def test_every_column_and_fault_is_that_of_the_single_operation(common):
    dice = Dice(8)
    rows = [line(dice) for _ in range(ROWS if not common else ROWS // 10)]
    check_against_single("lines", rows_of("lines", rows, common))


def test_what_is_said_of_coarse_and_long_lines_is_what_the_operation_says():
    dice = Dice(9)
    rows = []
    for _ in range(ROWS // 4):
        lat, lon = dice.uniform(40, 80), dice.uniform(-100, 20)
        far = 10.0 ** dice.uniform(-4, 0.7)
        end = (lat + far * dice.uniform(-1, 1), lon + far * dice.uniform(-1, 1))
        rows.append(
            {
                "from": dice.reference(lat, lon),
                "to": dice.reference(*end),
                "date": dice.of((None, "2026-11-25")),
            }
        )
    check_against_single("lines", rows_of("lines", rows))


@pytest.mark.parametrize("date", [{}, {"date": "2026-11-25"}])
def test_ordinary_batches_are_plain(date):
    dice = Dice(10)
    rows = []
    for index in range(500):
        lat, lon = dice.uniform(-79, 83), dice.uniform(-180, 180)
        end = (lat + dice.uniform(0.001, 0.1), lon)
        if index % 2:
            rows.append({"from": dice.reference(lat, lon, 5), "to": dice.reference(*end, 4), **date})
        else:
            numbers = {"from.lat_deg": lat, "from.lon_deg": lon, "to.lat_deg": end[0], "to.lon_deg": end[1]}
            rows.append({**numbers, **date})
    assert plain_share("lines", rows_of("lines", rows)) == 1.0
