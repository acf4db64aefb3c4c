"""Fixes of two sights in columns are what single requests are answered."""

from __future__ import annotations

import io
import math
from collections import Counter

import numpy as np
import pyarrow as pa
import pytest

from batch_rows import encoded
from column_rows import ROWS, Dice, plain_share
from fixes_alike import FIXES, is_alike, moves_of
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.chunks import Source
from threenorths_service.batch.csv_rows import CsvReader
from threenorths_service.batch.fix_cautions import CELL_DEG, WITHIN_CELL_NT, magnetic_said
from threenorths_service.batch.members import member_of, members_of
from threenorths_service.batch.ndjson_rows import NdjsonReader
from threenorths_service.batch.plan import plan_of
from threenorths_service.batch.rows import Rows, body_of
from threenorths_service.navmath.directions.north import norths_at, norths_doubtful
from threenorths_service.navmath.grids.grid import band_of, from_grid, to_grid
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.magnetism.decimal_year import decimal_year
from threenorths_service.navmath.magnetism.magnetic import field_at
from threenorths_service.navmath.references.mgrs import write_mgrs_from_grid
from threenorths_service.navmath.sights.sight import angle_from_true_north
from threenorths_service.operations.fields import DateText

OPERATIONS = pytest.mark.parametrize("name", FIXES)
PLACES = {"intersections": "from", "resections": "to"}
FORMS = {name: tuple(COLUMNAR[name].answer(Rows(0, {}, members_of(BATCHED[name]))).columns) for name in FIXES}
NORTHS = ("true", "grid", "magnetic")
DIGITS = (1, 2, 3, 3, 4, 4, 5, 5, 5)
#: The figures of a sight that a full circle has in each unit.
CIRCLES = {"deg": 360.0, "mil": 6400.0, "mil_6300": 6300.0, "grad": 400.0}


def rows_of(name, rows, common=None):
    """The rows as a reader hands them on, members of both sights by their own paths."""
    operation = BATCHED[name]
    odd, columns = {}, {}
    for path in dict.fromkeys(path for row in rows for path in row):
        member = member_of(operation, path)
        cells = [row.get(path) for row in rows]
        for index, cell in enumerate(cells):
            if cell is not None and (member.kind in ("number", "mixed", "whole")) is isinstance(cell, str):
                odd.setdefault(index, {})[path] = cell
                cells[index] = None
        columns[path] = pa.array(cells, member.arrow_type)
    return Rows(len(rows), columns, members_of(operation), common or {}, odd)


def known_place(dice, root, lat, lon):
    """A place as a reference, coarse or fine, as numbers or as UTM coordinates; and where it then is."""
    kind = dice.of(("text", "text", "numbers", "numbers", "utm"))
    if kind == "text" and abs(lat) < 79:
        return {root: dice.reference(lat, lon, dice.of(DIGITS))}
    if kind == "utm" and abs(lat) < 79:
        grid = to_grid(lat, lon)
        return {
            f"{root}.zone": int(grid.zone),
            f"{root}.hemisphere": "south" if grid.south else "north",
            f"{root}.easting_m": round(float(grid.easting_m), 1),
            f"{root}.northing_m": round(float(grid.northing_m), 1),
        }
    return {f"{root}.lat_deg": lat, f"{root}.lon_deg": lon}


def sighted(dice, name, there, crossing_deg, distances_m, place=known_place):
    """A row of two sights that cross there, misread as by hand."""
    lat, lon = there
    north, unit = dice.of(NORTHS), dice.of(("deg", "deg", *CIRCLES))
    date = dice.of(("2026-11-25", "1987-06-05", "2029-12-31", "1900-01-01"))
    row = {"north": north}
    year = decimal_year(DateText("A date.").deserialize(date))
    if north == "magnetic" or dice.chance() < 0.2:
        row["date"] = date
    if unit != "deg" or dice.chance() < 0.5:
        row["unit"] = unit
    if dice.chance() < 0.4:
        row["sd_deg"] = dice.of((0.5, 1.0, 2.5))
    azimuth_deg = dice.uniform(0, 360)
    for sight, distance_m in enumerate(distances_m):
        known_lat, known_lon, _back = map(
            float, direct(lat, lon, azimuth_deg + sight * crossing_deg, distance_m)
        )
        at, to = ((known_lat, known_lon), there)[:: 1 if name == "intersections" else -1]
        turn_deg = angle_from_true_north(
            north, np.array([at[0]]), np.array([at[1]]), np.array([year]), None, None
        )
        sd_deg = dice.of((0.3, 1.0, 2.0)) if dice.chance() < 0.5 else None
        misread_deg = dice.uniform(-1.5, 1.5) * (sd_deg or row.get("sd_deg", 2.0))
        bearing_deg = (float(inverse(*at, *to)[0]) - float(turn_deg[0]) + misread_deg) % 360.0
        row[f"sights.{sight}.bearing"] = round(
            bearing_deg / 360.0 * CIRCLES[unit], dice.of((1, 3)) if unit == "deg" else 0
        )
        row[f"sights.{sight}.sd_deg"] = sd_deg
        row |= place(dice, f"sights.{sight}.{PLACES[name]}", known_lat, known_lon)
    return row


def ordinary(dice, name):
    """Sights of some kilometres that cross well, wherever people take a bearing."""
    there = (dice.uniform(-65, 72), dice.uniform(-180, 180))
    distances_m = [10.0 ** dice.uniform(2.7, 4.3) for _ in range(2)]
    return sighted(dice, name, there, dice.of((-1, 1)) * dice.uniform(35, 145), distances_m)


def of_any_kind(dice, name):
    """Sights far and near, at the ends of the earth and the edges of zones, that cross flat or not at all; many are bad."""
    lat, lon = dice.lat_lon()
    there = (max(-89.9, min(89.9, lat + dice.uniform(-0.01, 0.01))), (lon + 180.0) % 360.0 - 180.0)
    distances_m = [10.0 ** dice.uniform(1, 5.5) for _ in range(2)]
    row = sighted(dice, name, there, dice.uniform(0, 180), distances_m)
    return spoilt(dice, name, row) if dice.chance() < 0.5 else row


def spoilt(dice, name, row):
    """A row with something that a row should not have."""
    place = PLACES[name]
    kind = dice.of(range(9))
    if kind == 0:
        sight = f"sights.{dice.of((0, 1))}.{place}"
        kept = {path: value for path, value in row.items() if not path.startswith(sight)}
        return kept | dice.position(sight)
    if kind == 1:
        return row | {"sights.1.bearing": dice.of((-1.0, 6401.0, np.nan, "N 45 E", "yonder", None))}
    if kind == 2:
        return row | {"sights.0.sd_deg": dice.of((0.0, 91.0, np.nan, -1.0))}
    if kind == 3:
        return row | {"sd_deg": dice.of((0.0, 91.0, np.nan))}
    if kind == 4:
        return row | {dice.of(("north", "unit")): dice.of(("up", ""))}
    if kind == 5:
        return row | dice.date()
    if kind == 6:
        return {path: value for path, value in row.items() if not path.startswith("sights.1.")}
    if kind == 7:
        third = {f"sights.2.{place}": "33V VK 1234 5678", "sights.2.bearing": dice.uniform(0, 360)}
        return row | third
    more = {"working": True, "datum": "ED50", "near": "33V VK 12 67", "allow_ballpark": False}
    if name == "resections":
        more["solve_compass_error"] = dice.of((True, False))
    member = dice.of(tuple(more))
    return row | {member: more[member]}


def check_against_single(name, rows):
    """Every column of every plain row, and of each fifth of the others, is that of the single operation, and so are faults.

    Gives how many cells of plain rows, by path, are the same to the last digit, and how many such rows there are.
    """
    plan = plan_of(BATCHED[name], COLUMNAR[name], FORMS[name])
    asked = np.flatnonzero(~rows.beyond(COLUMNAR[name].members))
    if asked.size:
        plan._in_columns(rows.taken(asked))  # which does not fail: else all would be answered one by one
    got, plain = plan.answer(rows), plain_rows(name, rows)
    assert not [fault for fault in got.faults.values() if fault.code == "internal_error"]
    others = [row for row in range(rows.count) if row not in plain]
    compared = np.array(sorted([*plain, *others[::5]]), dtype=np.intp)
    answers, faults = plan._one_by_one(rows, compared)
    assert {row: fault for row, fault in got.faults.items() if row in compared} == faults
    assert not plain & faults.keys()
    cells = {}
    for path, column in got.columns.items():
        assert column.type == plan.wanted[path].arrow_type
        cells[path] = (column.storage if isinstance(column, pa.ExtensionArray) else column).to_pylist()
    same = Counter()
    for row, answer in zip(compared.tolist(), answers, strict=True):
        moves = moves_of(answer) if row in plain else {}
        for path, column in cells.items():
            alike = is_alike(plan.wanted[path], column[row], answer.get(path), moves)
            assert alike, (path, column[row], answer.get(path), rows.bodies(np.array([row])))
            same[path] += row in plain and repr(column[row]) == repr(answer.get(path))
    return same, len(plain)


def plain_rows(name, rows):
    """The rows that are answered in columns."""
    asked = np.flatnonzero(~rows.beyond(COLUMNAR[name].members))
    return set(asked[COLUMNAR[name].answer(rows.taken(asked)).plain].tolist())


@OPERATIONS
def test_ordinary_rows_are_plain_and_have_the_answers_of_the_single_operation(name):
    dice = Dice(41)
    rows = rows_of(name, [ordinary(dice, name) for _ in range(ROWS // 2)])
    same, plain = check_against_single(name, rows)
    assert plain > 0.95 * rows.count
    # What may differ at all mostly does not.
    for path, count in same.items():
        assert count > (0.5 if path.startswith("covariance_m2") else 0.9) * plain, (path, count, plain)


@OPERATIONS
@pytest.mark.parametrize(
    "common", [{}, {"date": "2026-11-25", "north": "magnetic"}, {"sd_deg": 0.7, "unit": "mil"}]
)
def test_every_column_and_fault_of_rows_of_any_kind_is_that_of_the_single_operation(name, common):
    dice = Dice(42)
    rows = [of_any_kind(dice, name) for _ in range(ROWS // (10 if common else 4))]
    for member in common:
        for row in rows:
            row.pop(member, None)
    _same, plain = check_against_single(name, rows_of(name, rows, common))
    assert plain > (0.03 if common else 0.15) * len(rows)


@OPERATIONS
def test_what_all_rows_have_of_a_sight_stands_where_a_row_has_none_of_its_own(name):
    first, second = (f"sights.{sight}.{PLACES[name]}" for sight in (0, 1))
    bearings_deg = (52.0, 331.0) if name == "intersections" else (227.0, 128.0)
    read = {f"sights.{sight}.bearing": bearing for sight, bearing in enumerate(bearings_deg)}
    places = {first: "33V VK 1200 6500", second: "33V VK 1710 6480"}
    north = {"north": "true"}
    for row, common in (
        (read | north, places),
        (read | {second: places[second]}, north | {first: places[first]}),
        (read | places | north, {"sights.0.sd_deg": 0.5}),
        (places | north, read),
    ):
        rows = rows_of(name, [row, row | {"sights.1.sd_deg": 0.7, "sd_deg": 1.5}], common)
        assert check_against_single(name, rows)[1] == 2
    # A reference and numbers are two ways to say one place, of which the row's own is taken by the operation.
    row = read | places | north | {f"{second}.lat_deg": 60.0, f"{second}.lon_deg": 8.0}
    rows = rows_of(
        name, [{**row, second: None}, read | {f"{second}.lat_deg": None}], {second: places[second]}
    )
    assert check_against_single(name, rows)[1] == 0


@OPERATIONS
def test_no_rows_have_no_answers(name):
    nothing = rows_of(name, [{}]).taken(np.empty(0, dtype=np.intp))
    plain, columns = plan_of(BATCHED[name], COLUMNAR[name], FORMS[name])._in_columns(nothing)
    assert len(plain) == 0
    assert set(columns) == set(FORMS[name])
    assert all(len(column) == 0 for column in columns.values())


@OPERATIONS
@pytest.mark.parametrize("medium", ["ndjson", "csv"])
def test_the_lists_of_sights_of_a_stream_are_plain(name, medium):
    dice = Dice(43)
    rows = [ordinary(dice, name) for _ in range(100)]
    bodies = [body_of({path: value for path, value in row.items() if value is not None}) for row in rows]
    content_type, reader = {
        "ndjson": ("application/x-ndjson", NdjsonReader),
        "csv": ("text/csv", CsvReader),
    }[medium]
    source = Source(io.BytesIO(encoded(BATCHED[name], bodies, content_type)), BATCHED[name])
    (chunk,) = reader(source).chunks()
    assert chunk.rows.count == 100
    assert plain_rows(name, chunk.rows) == plain_rows(name, rows_of(name, rows))
    assert plain_share(name, chunk.rows) > 0.9


def on_either_grid(dice, root, lat, lon):
    """A place near 6 degrees east by a reference, coarse or fine, on the grid of either zone; or as numbers."""
    grid = to_grid(lat, lon, dice.of((31, 32)), False)
    if dice.chance() < 0.1:
        return {f"{root}.lat_deg": lat, f"{root}.lon_deg": lon}
    where = (int(grid.zone), str(band_of(lat, lon)), float(grid.easting_m), float(grid.northing_m))
    return {root: str(write_mgrs_from_grid(*where, dice.of((1, 2, 2, 3, 4))))}


@OPERATIONS
def test_known_places_on_the_grids_of_two_zones_are_worked_on_these(name):
    dice, rows = Dice(44), []
    for _ in range(200):
        there = (dice.uniform(40, 55), 6.0 + dice.uniform(-0.1, 0.1))
        distances_m = (10.0 ** dice.uniform(3, 4), 10.0 ** dice.uniform(3, 4))
        row = sighted(dice, name, there, dice.uniform(50, 130), distances_m, on_either_grid)
        rows.append(row | {"north": dice.of(("grid", "grid", "true"))})
    rows = rows_of(name, rows)
    _same, plain = check_against_single(name, rows)
    assert plain > 0.6 * rows.count
    said = plan_of(BATCHED[name], COLUMNAR[name], ("cautions",)).answer(rows).columns["cautions"].storage
    for code in ("outside_zone", "square_cut_by_zone"):
        assert sum(code in (each or "") for each in said.to_pylist()) > 5


@OPERATIONS
@pytest.mark.parametrize("north", NORTHS)
def test_a_date_that_no_model_holds_for_is_a_fault_from_any_north(name, north):
    row = seen_squarely(name, (60.001, 6.001)) | {"north": north}
    rows = rows_of(name, [row | {"date": date} for date in ("2026-11-25", "1899-12-31", "2030-01-01", "")])
    _same, plain = check_against_single(name, rows)
    assert plain == 1


def seen_squarely(name, there, sd_deg=2.0):
    """Sights without an error, from true north and places by numbers, that cross there."""
    row = {"north": "true", "sd_deg": sd_deg}
    for sight, azimuth_deg in enumerate((45.0, -55.0)):
        lat, lon, back_deg = map(float, direct(*there, azimuth_deg, 4000.0))
        row[f"sights.{sight}.bearing"] = (back_deg if name == "intersections" else azimuth_deg) % 360.0
        row[f"sights.{sight}.{PLACES[name]}.lat_deg"] = lat
        row[f"sights.{sight}.{PLACES[name]}.lon_deg"] = lon
    return row


def at_edge_of_square(lat):
    """A place 1 km from a central meridian and whole kilometres up."""
    grid = to_grid(lat, 9.0)
    where = from_grid(grid.zone, grid.south, 501_000.0, 1000.0 * round(float(grid.northing_m) / 1000.0))
    return tuple(map(float, where))


@OPERATIONS
def test_places_at_the_edges_of_zones_bands_and_squares_are_told_by_the_single_operation(name):
    places = ((61.5, 6.0), (0.0, 8.5), (56.0, 10.0), (-41.0, -180.0), at_edge_of_square(61.0))
    rows = rows_of(name, [seen_squarely(name, there) for there in places])
    assert not plain_rows(name, rows)
    assert plain_rows(name, rows_of(name, [seen_squarely(name, (60.001, 6.001))])) == {0}
    check_against_single(name, rows)


@OPERATIONS
def test_an_ellipse_between_squares_of_two_sizes_is_told_by_the_single_operation(name):
    there = (60.001, 6.001)
    answer = BATCHED[name].answer_to(body_of(seen_squarely(name, there, 1.0)))
    # An ellipse grows as the standard deviation does: half of its longer half-axis is then 100 m.
    sd_deg = 200.0 / answer["ellipse"]["semi_major_m"]
    rows = rows_of(name, [seen_squarely(name, there, share * sd_deg) for share in (1.0, 0.99, 1.01)])
    assert plain_rows(name, rows) == {1, 2}
    check_against_single(name, rows)


@OPERATIONS
def test_what_is_said_of_compasses_near_the_magnetic_poles_is_what_the_operation_says(name):
    dice = Dice(45)
    rows = []
    while len(rows) < 200:
        there = dice.of(((dice.uniform(66, 88), dice.uniform(-180, 180)), (dice.uniform(-72, -58), 137.0)))
        # At known observers north turns from one to the other, and then the sights do not meet as they should.
        row = sighted(dice, name, there, dice.uniform(60, 120), (3_000.0, 10.0 ** dice.uniform(3.2, 4.7)))
        if row["north"] == "magnetic":
            rows.append(row)
    rows = rows_of(name, rows)
    plan = plan_of(BATCHED[name], COLUMNAR[name], ("cautions",))
    said = plan.answer(rows).columns["cautions"].storage.to_pylist()
    plain = plain_rows(name, rows)
    warned = [row for row in plain if said[row] and "magnetic_caution" in said[row]]
    assert len(warned) > 10
    answers, _faults = plan._one_by_one(rows, np.arange(rows.count))
    assert said == [answer.get("cautions") for answer in answers]


def test_a_look_at_the_field_around_misses_no_place_where_a_compass_is_of_little_use():
    rng, count = np.random.default_rng(46), 20_000
    lat = rng.choice([rng.uniform(-90, 90, count), rng.choice([-1, 1], count) * rng.uniform(55, 90, count)])
    lon, years = rng.uniform(-180, 180, count), rng.uniform(1900, 2030, count)
    doubtful = norths_doubtful(lat, norths_at(lat, lon, years).horizontal_nt)
    said = magnetic_said([(lat, lon)], years, np.arange(count))
    assert doubtful.sum() > 300
    assert set(said) == set(np.flatnonzero(doubtful).tolist())


@pytest.mark.parametrize("year", [1900.0, 1960.0, 2024.99, 2029.99])
def test_the_field_in_the_middle_of_a_cell_is_like_that_all_over_it(year):
    middle_lat = np.arange(-90 + CELL_DEG / 2, 90, CELL_DEG)[:, None]
    middle_lon = np.arange(-180 + CELL_DEG / 2, 180, CELL_DEG)[None, :]
    middle_nt = field_at(middle_lat, middle_lon, math.floor(year) + 0.5).horizontal_nt
    for north, east in ((-1, -1), (1, -1), (-1, 1), (1, 1), (1, 0), (0, 1)):
        corner_lat = np.clip(middle_lat + north * CELL_DEG / 2, -90.0, 90.0)
        corner_nt = field_at(corner_lat, middle_lon + east * CELL_DEG / 2, year).horizontal_nt
        assert np.abs(corner_nt - middle_nt).max() < 0.55 * WITHIN_CELL_NT
