"""Write `data/datums.csv` and `data/datum_operations.csv` anew from the EPSG dataset that pyproj carries.

Run by hand, ``python -m threenorths_service.navmath.datums.datum_table_from_epsg``, when a newer dataset is to be
taken in; then read the difference. The service never runs it: what the two files say is what is answered, whatever
release of pyproj is installed.

The rules, by which an operation is pinned:

1. Datums are the two-dimensional geographic coordinate reference systems that are not deprecated.
2. Operations lead to WGS 84 (EPSG:4326) or come from there, are not deprecated, state an accuracy (not 999 m, which stands
   for unknown; 0, "defined as exact", counts as 2 m, since WGS 84 itself is no closer), and are not superseded by another
   one of the same kind (with a grid, without one) that is pinned.
3. Left out are areas at sea, and `LEFT_OUT` with the reason for each. Operations for fields, blocks, basins and licence areas
   of the oil industry are taken only where a datum has no other.
4. Methods are those of `datum_pipeline_from_epsg`. A concatenated operation of the dataset is one operation.
5. A datum that differs by its prime meridian or its order of axes alone uses the operations of the other one; so does a
   realisation of an ensemble (``ETRF2000``) those of the ensemble, and a frame those of one that it is held to, by
   `HELD_TO` in `datum_names_from_epsg`.
6. A datum without any such operation that has one without a grid to a pinned datum goes through that one: the operation to
   it, then the first without a grid from there whose area holds the whole area of the first. The accuracies are added up.
   Any other datum is ballpark only.

The order of a datum's rows is the order of choice; `datum_shift` takes the first whose area holds the place. With a grid
before without; then by class of accuracy (to 2.5, 5, 10, 20 m, worse), and in a class the smaller area first: where areas
overlap, and accuracies are alike, the one determined for less ground fits that ground closer.
"""

from __future__ import annotations

import csv
import math
import re
import sqlite3
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

from pyproj import datadir

from .datum_names_from_epsg import DATUM_COLUMNS, datum_table_row, datums_of, twins_of
from .datum_pipeline_from_epsg import Pipelines

__all__ = ["write_tables"]

WGS84_CODE = 4326
#: What the EPSG dataset says of how far the realisations of WGS 84 lie apart. [metre]
WGS84_ENSEMBLE_M = 2.0
UNKNOWN_ACCURACY_M = 999.0
ACCURACY_CLASSES_M = (2.5, 5.0, 10.0, 20.0)
OIL = re.compile(r"\b(basin|blocks?|fields?|licence area|OML|OPL)\b", re.IGNORECASE)
#: An operation of the oil industry over less than this is for one field, whatever its area is called. [square degree]
FIELD_SQUARE_DEGREES = 2.0
#: Operations that are not pinned although the rules admit them, and why.
LEFT_OUT = {
    1812: "Indian 1975, Thailand: 188 m from EPSG:1304 over the same ground; with its rotations turned the other way it "
    "would agree to 9 m, so their sense is in doubt",
    9690: "GDA2020: for data that came to WGS 84 through GDA94, 2 m from the null transformation meant for all others",
    9691: "GDA2020: as 9690",
    9143: "MGI 1901, Kosovo: 1600 m from the two others there, which agree with each other",
}
#: Operations over land and sea of which the land alone is taken, since with the sea their box holds much of a country that
#: they were not made for: name, west, south, east and north edge of the land, as the dataset has them for other operations.
#: It has none of Svalbard, which with Bear Island lies north of 74 degrees; mainland Norway ends before 72.
ON_LAND_ALONE = {
    1275: ("France - onshore - mainland and Corsica", -4.87, 41.31, 9.63, 51.14),
    1612: ("Svalbard", -3.35, 74.0, 38.01, 84.73),
    1629: ("Gibraltar - onshore", -5.42, 36.07, -5.27, 36.16),
    1784: ("Turkey - onshore", 25.62, 35.81, 44.83, 42.15),
}
OPERATION_COLUMNS = (
    "datum",
    "code",
    "name",
    "method",
    "accuracy_m",
    "area",
    "west_deg",
    "south_deg",
    "east_deg",
    "north_deg",
    "pipeline",
    "grids",
)
HEADING = (
    "Selected from the EPSG Dataset {version} of the IOGP (epsg.org) and put into the words of PROJ by "
    "threenorths_service.navmath.datums.datum_table_from_epsg: no longer the EPSG Dataset itself"
)
Row = dict[str, str | int | float]


def _operations(database: sqlite3.Connection) -> list[sqlite3.Row]:
    """Every operation between two systems of the dataset that is not deprecated, with its area."""
    return database.execute(
        """SELECT op.table_name AS kind, op.code, op.name, op.method_name AS method, op.accuracy,
            op.source_crs_code AS source, op.target_crs_code AS target, extent.name AS area, extent.description,
            extent.west_lon AS west, extent.south_lat AS south, extent.east_lon AS east, extent.north_lat AS north,
            scope.scope
        FROM coordinate_operation_view op
        JOIN usage ON usage.object_table_name = op.table_name AND usage.object_auth_name = 'EPSG'
            AND usage.object_code = op.code
        JOIN extent ON extent.auth_name = usage.extent_auth_name AND extent.code = usage.extent_code
        JOIN scope ON scope.auth_name = usage.scope_auth_name AND scope.code = usage.scope_code
        WHERE op.auth_name = 'EPSG' AND op.source_crs_auth_name = 'EPSG' AND op.target_crs_auth_name = 'EPSG'
            AND NOT op.deprecated AND op.accuracy IS NOT NULL ORDER BY op.code"""
    ).fetchall()


def _square_degrees(row: Row | sqlite3.Row, prefix: str = "") -> float:
    west, south, east, north = (float(row[side + prefix]) for side in ("west", "south", "east", "north"))
    width = east - west if east > west else east - west + 360.0
    return width * math.degrees(math.sin(math.radians(north)) - math.sin(math.radians(south)))


def _at_sea(operation: sqlite3.Row) -> bool:
    if operation["scope"] == "Marine navigation." or "- offshore" in operation["description"]:
        return "onshore" not in operation["description"]
    area = operation["area"].lower()
    return any(sea in area for sea in ("offshore", "caspian sea", "north sea", "shelf")) and not any(
        land in area for land in ("onshore", "mainland and", "; ")
    )


def _for_oil(operation: sqlite3.Row) -> bool:
    if not operation["scope"].startswith("Oil"):
        return False
    named = OIL.search(f"{operation['area']} {operation['description']}") is not None
    return named or _square_degrees(operation) < FIELD_SQUARE_DEGREES


def _order(row: Row) -> tuple[bool, int, float, float]:
    accuracy_m = float(row["accuracy_m"])
    accuracy_class = sum(accuracy_m > limit_m for limit_m in ACCURACY_CLASSES_M)
    return row["grids"] == "", accuracy_class, _square_degrees(row, "_deg"), accuracy_m


def _row(operation: sqlite3.Row, datum: int, pipeline: str, grids: str) -> Row:
    whole = tuple(operation[column] for column in ("area", "west", "south", "east", "north"))
    area, west_deg, south_deg, east_deg, north_deg = ON_LAND_ALONE.get(operation["code"], whole)
    return {
        "datum": datum,
        "code": operation["code"],
        "name": operation["name"],
        "method": operation["method"] or "Concatenated",
        "accuracy_m": operation["accuracy"] or WGS84_ENSEMBLE_M,
        "area": area,
        "west_deg": west_deg,
        "south_deg": south_deg,
        "east_deg": east_deg,
        "north_deg": north_deg,
        "pipeline": pipeline,
        "grids": grids,
    }


def _pinnable(operation: sqlite3.Row) -> bool:
    return (
        operation["accuracy"] != UNKNOWN_ACCURACY_M
        and not _at_sea(operation)
        and operation["code"] not in LEFT_OUT
    )


def _direct(
    operations: Iterable[sqlite3.Row], datums: set[int], pipelines: Pipelines
) -> dict[int, list[Row]]:
    """The rows of every datum that has operations of the dataset to WGS 84, by rules 2 to 4."""
    rows: dict[int, list[Row]] = defaultdict(list)
    for for_oil in (False, True):
        walked = set(rows)
        for operation in operations:
            ends = {operation["source"], operation["target"]}
            if WGS84_CODE not in ends or not _pinnable(operation) or _for_oil(operation) != for_oil:
                continue
            datum = (ends - {WGS84_CODE}).pop()
            made = pipelines.of(operation["code"], datum, WGS84_CODE) if datum in datums - walked else None
            if made is not None:
                rows[datum].append(_row(operation, datum, *made))
    return rows


def _without_superseded(rows: list[Row], database: sqlite3.Connection) -> list[Row]:
    pinned = {row["code"]: row["grids"] != "" for row in rows}
    superseded = {
        old
        for old, new in database.execute(
            """SELECT superseded_code, replacement_code FROM supersession
            WHERE superseded_auth_name = 'EPSG' AND replacement_auth_name = 'EPSG' AND same_source_target_crs"""
        )
        if old in pinned and new in pinned and pinned[old] == pinned[new]
    }
    return [row for row in rows if row["code"] not in superseded]


def _through_another(
    datum: int, operations: Iterable[sqlite3.Row], rows: dict[int, list[Row]], pipelines: Pipelines
) -> list[Row]:
    """The rows of a datum that reaches WGS 84 through another one alone, by rule 6."""
    found: list[Row] = []
    for first in operations:
        if first["source"] != datum or not _pinnable(first):
            continue
        other = first["target"]
        made = pipelines.of(first["code"], datum, other)
        second = next((row for row in rows.get(other, ()) if row["grids"] == "" and _holds(row, first)), None)
        if made is None or made[1] or second is None:
            continue
        row = _row(first, datum, f"{made[0]} {second['pipeline']}".strip(), "")
        row["code"] = f"{first['code']}+{second['code']}"
        row["name"] = f"{first['name']} + {second['name']}"
        row["method"] = "Concatenated"
        row["accuracy_m"] = round(float(first["accuracy"]) + float(second["accuracy_m"]), 3)
        found.append(row)
    return found


def _holds(outer: Row, inner: sqlite3.Row) -> bool:
    across = float(outer["west_deg"]) <= inner["west"] < inner["east"] <= float(outer["east_deg"])
    up = float(outer["south_deg"]) <= inner["south"] < inner["north"] <= float(outer["north_deg"])
    return bool(across and up)


def _realisation_row() -> Row:
    """WGS 84 itself, for its realisations: the one row that is no operation of the dataset."""
    return {
        "datum": WGS84_CODE,
        "code": "",
        "name": "WGS 84 realisation taken as WGS 84",
        "method": "Null",
        "accuracy_m": WGS84_ENSEMBLE_M,
        "area": "World",
        "west_deg": -180.0,
        "south_deg": -90.0,
        "east_deg": 180.0,
        "north_deg": 90.0,
        "pipeline": "",
        "grids": "",
    }


def _write(path: Path, columns: tuple[str, ...], rows: Iterable[Row], version: str) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(f"# {HEADING.format(version=version)}\n")
        writer = csv.DictWriter(file, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def write_tables(folder: Path) -> None:
    """Write both tables into ``folder``."""
    database = sqlite3.connect(f"file:{datadir.get_data_dir()}/proj.db?mode=ro", uri=True)
    database.row_factory = sqlite3.Row
    (version,) = database.execute("SELECT value FROM metadata WHERE key = 'EPSG.VERSION'").fetchone()
    datums, operations, pipelines = datums_of(database), _operations(database), Pipelines(database)
    twins = twins_of(database, datums)
    codes = {datum["code"] for datum in datums} - set(twins)
    direct = _direct(operations, codes - {WGS84_CODE}, pipelines)
    rows = {code: sorted(_without_superseded(found, database), key=_order) for code, found in direct.items()}
    rows[WGS84_CODE] = [_realisation_row()]
    through = {code: _through_another(code, operations, rows, pipelines) for code in codes - set(rows)}
    rows.update({code: sorted(found, key=_order) for code, found in through.items() if found})
    _write(
        folder / "datums.csv",
        DATUM_COLUMNS,
        (datum_table_row(database, datum, twins.get(datum["code"], "")) for datum in datums),
        version,
    )
    _write(
        folder / "datum_operations.csv",
        OPERATION_COLUMNS,
        (row for code in sorted(rows) for row in rows[code]),
        version,
    )


if __name__ == "__main__":
    write_tables(Path(__file__).parents[1] / "data")
