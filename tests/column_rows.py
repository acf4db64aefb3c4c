"""Columns of batches for the tests: rows of many kinds, and their answers beside those of single requests."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import pyarrow as pa

from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.members import members_of
from threenorths_service.batch.plan import plan_of
from threenorths_service.batch.rows import Rows
from threenorths_service.navmath.references.mgrs import write_mgrs

#: How many rows of an operation are compared at once.
ROWS = 2_000

Row = dict[str, Any]

BAD_TEXTS = (
    "nowhere",
    "33V VK 123 67",
    "TQ 388 773",
    "",
    "61V AA 1 1",
    "48.5 N 11.2 E",
    "18S 300000 4300000",
)
DATES = ("2026-11-25", "today", "2029-12-31", "2025-01-01", "2024-12-31", "1900-01-01", "1987-06-05")
BAD_DATES = ("1899-12-31", "2030-01-01", "2026-02-30", "20261125", "", "tomorrow", "0001-01-01", "9999-12-31")


def rows_of(name: str, rows: Sequence[Row], common: Mapping[str, Any] | None = None) -> Rows:
    """The rows as a reader hands them on: each member in its column, and what does not fit its type beside."""
    members = members_of(BATCHED[name])
    odd: dict[int, Row] = {}
    columns = {}
    for path in dict.fromkeys(path for row in rows for path in row):
        cells = [row.get(path) for row in rows]
        for index, cell in enumerate(cells):
            numeric = members[path].kind in ("number", "mixed", "whole")
            if cell is not None and numeric is isinstance(cell, str):
                odd.setdefault(index, {})[path] = cell
                cells[index] = None
        columns[path] = pa.array(cells, members[path].arrow_type)
    return Rows(len(rows), columns, members, common or {}, odd)


def plain_share(name: str, rows: Rows) -> float:
    """The share of the rows that are answered in columns."""
    columnar = COLUMNAR[name]
    asked = np.flatnonzero(~rows.beyond(columnar.members))
    return float(columnar.answer(rows.taken(asked)).plain.sum()) / rows.count


def check_against_single(name: str, rows: Rows) -> None:
    """Every column and every fault of the batch is that of the single operation, to the last digit."""
    operation, columnar = BATCHED[name], COLUMNAR[name]
    forms = tuple(columnar.answer(Rows(0, {}, members_of(operation))).columns)
    plan = plan_of(operation, columnar, forms)
    assert set(plan.wanted) == set(forms)
    got = plan.answer(rows)
    answers, faults = plan._one_by_one(rows, np.arange(rows.count))
    for path, column in got.columns.items():
        assert column.type == plan.wanted[path].arrow_type
        cells = (column.storage if isinstance(column, pa.ExtensionArray) else column).to_pylist()
        for row, (cell, answer) in enumerate(zip(cells, answers, strict=True)):
            # As written, in which 0.0 is not -0.0.
            assert repr(cell) == repr(answer.get(path)), (path, row, rows.bodies(np.array([row])))
    assert got.faults == faults
    assert not [fault for fault in faults.values() if fault.code == "internal_error"]


class Dice:
    """A seeded source of rows."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)
        self.chance, self.uniform, self.of = self._random.random, self._random.uniform, self._random.choice

    def kinds(self, count: int, *kinds: Callable[[], Row]) -> list[Row]:
        """Rows, each of any of the kinds."""
        return [self.of(kinds)() for _ in range(count)]

    def lat_lon(self) -> tuple[float, float]:
        """A place on the earth, often where something begins or ends there."""
        lat = self.of(
            (self.uniform(-90, 90), self.uniform(-90, 90), 0.0, 84.0, -80.0, 90.0, -90.0, 89.9995, 72.5)
        )
        lon = self.of((self.uniform(-180, 180), self.uniform(-180, 360), 180.0, -180.0, 0.0, 6.0, 359.999999))
        return lat, lon

    def reference(self, lat: float, lon: float, digits: int | None = None) -> str:
        """A grid reference of a place."""
        return str(write_mgrs(lat, lon, self.of(range(6)) if digits is None else digits))

    def position(self, root: str, at: tuple[float, float] | None = None) -> Row:
        """A place by a reference, a latitude and longitude, or UTM coordinates, often on the wrong side of what is right."""
        lat, lon = at or self.lat_lon()
        kind = self.of(("text",) * 8 + ("numbers",) * 8 + ("utm", "utm", "odd"))
        if kind == "text":
            return {root: self.reference(lat, lon)}
        if kind == "numbers":
            return {f"{root}.lat_deg": lat, f"{root}.lon_deg": lon}
        if kind == "utm":
            return {
                f"{root}.zone": self.of((1, 31, 33, 60, 32, 33, 61)),
                f"{root}.hemisphere": self.of(("north", "south", "north", "south", "east")),
                f"{root}.easting_m": round(self.uniform(90_000, 910_000), 1),
                f"{root}.northing_m": round(self.uniform(0, 9_400_000), 1),
            }
        return self.of(
            (
                {root: self.of(BAD_TEXTS)},
                {f"{root}.lat_deg": lat},
                {f"{root}.lat_deg": np.nan, f"{root}.lon_deg": lon},
                {f"{root}.lat_deg": 90.5, f"{root}.lon_deg": lon},
                {f"{root}.lat_deg": lat, f"{root}.lon_deg": 360.0},
                {root: self.reference(lat, lon), f"{root}.lat_deg": lat},
                {},
            )
        )

    def date(self) -> Row:
        """A date, mostly a good one, or none."""
        given = self.of((DATES, DATES, DATES, DATES, DATES, BAD_DATES, (None,), (None,)))
        return {"date": self.of(given)}

    def bearing(self) -> Row:
        """A bearing in any unit, from any north, or nearly so."""
        unit, circle = self.of(
            (("deg", 360), ("mil", 6400), ("mil_6300", 6300), ("mil_6000", 6000), ("grad", 400))
        )
        values = (
            self.uniform(0, circle),
            float(round(self.uniform(0, circle))),
            0.0,
            -0.0,
            float(circle),
            circle / 8,
        )
        odd = (-1.0, circle + 0.001, 6400.0, np.nan, np.inf, "45 30 15", "N 45 E", "yonder", None)
        row: Row = {"bearing": self.of(values if self.chance() < 0.95 else odd)}
        if unit != "deg" or self.chance() < 0.5:
            row["unit"] = unit
        if self.chance() < 0.03:
            row["unit"] = self.of(("degrees", ""))
        if self.chance() < 0.97:
            row["north"] = self.of(("true", "grid", "magnetic"))
        if self.chance() < 0.03:
            row["north"] = self.of(("up", ""))
        return row

    def angles(self) -> Row:
        """Angles between the norths, from one source, none or several, agreeing or not."""
        declination, convergence = self.angle(), self.angle()
        given = {
            "declination_deg": declination,
            "convergence_deg": convergence,
            "grid_magnetic_angle_deg": self.of(
                (self.angle(), declination - convergence, declination - convergence)
            ),
        }
        source = self.of(("none", "given", "given", "place", "place", "both"))
        row: Row = {}
        if source in ("given", "both"):
            row.update({name: value for name, value in given.items() if self.chance() < 0.6})
        if source in ("place", "both"):
            row.update(self.position("position"))
        if source != "none" or self.chance() < 0.2:
            row.update(self.date())
        if self.chance() < 0.1:
            row["height_m"] = self.of((0.0, 1500.0, -1000.0, 850_000.0, 850_001.0, np.nan))
        return row

    def angle(self) -> float:
        """An angle between two norths."""
        usual = (self.uniform(-20, 20), self.uniform(-180, 180), 0.0, 180.0, -180.0)
        return self.of(usual if self.chance() < 0.95 else (181.0, np.nan, -180.5))
