"""Batches of a million rows: in process against loops and bare pyproj, over HTTP against the same rows in process.

The rows are places spread over the globe between 60 S and 75 N, each with a date of its own where it has one. One thread of
linear algebra, as the service is set to. `python -m benchmarks batches`, from the folder of the tests.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # read when numpy is loaded

import datetime
from collections.abc import Callable, Iterator, Mapping
from functools import cache, partial
from typing import Any

import mgrs
import numpy as np
import pyarrow as pa
import pyarrow.csv as arrow_csv
import pyarrow.ipc as arrow_ipc
import requests
from pygeomag import GeoMag
from pyproj import Geod, Transformer

from serving import running_service
from threenorths_service.batch.arrow_rows import TableColumns
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.chunks import ROWS_AT_ONCE
from threenorths_service.batch.plan import plan_of
from threenorths_service.batch.stream import ARROW, CSV, NDJSON
from threenorths_service.navmath.references.mgrs import write_mgrs

from .ratio import Ratio, best_of

__all__ = ["measure"]

ROWS = 1_000_000
#: What is a thousand times slower is measured on fewer rows, and told for as many.
FEW = 20_000
FEWER = 200_000
WRONG = 200
ROUNDS = 5
PLACE = ("lat_deg", "lon_deg")
#: By medium, how many times the time in process a batch over HTTP may take.
HTTP_AIMS = {ARROW: 1.5, CSV: 2.5, NDJSON: 5.0}
NORTHS_AIM_US = 1.0


@cache
def places() -> tuple[Any, Any]:
    """Latitudes and longitudes, spread evenly over the globe between two parallels. [degree]"""
    random = np.random.default_rng(1)
    low, high = np.sin(np.radians([-60.0, 75.0]))
    return np.degrees(np.arcsin(random.uniform(low, high, ROWS))), random.uniform(-180.0, 180.0, ROWS)


@cache
def table(operation: str) -> pa.Table:
    """A million rows of the operation, with a number of the caller's own."""
    random = np.random.default_rng(2)
    lat_deg, lon_deg = places()
    geodetic = {"lat_deg": lat_deg, "lon_deg": lon_deg}
    bearing = np.round(random.uniform(0.0, 360.0, ROWS), 1)
    rows: dict[str, Callable[[], Mapping[str, Any]]] = {
        "positions": lambda: {"position": write_mgrs(lat_deg, lon_deg)},
        "norths": lambda: {
            **{f"position.{name}": each for name, each in geodetic.items()},
            "date": _dates(random),
        },
        "bearings": lambda: {"bearing": bearing, "declination_deg": random.uniform(-20, 20, ROWS).round(2)},
        "compass-settings": lambda: {
            "bearing": bearing,
            "grid_magnetic_angle_deg": random.uniform(-20, 20, ROWS).round(2),
        },
        "map-distances": lambda: {"map_mm": random.uniform(1.0, 300.0, ROWS).round(1)},
        "lines": lambda: {
            **{f"from.{name}": each for name, each in geodetic.items()},
            "to.lat_deg": lat_deg + random.uniform(-0.02, 0.02, ROWS),
            "to.lon_deg": lon_deg * 0.9999,
        },
        "rays": lambda: {
            **{f"from.{name}": each for name, each in geodetic.items()},
            "bearing": bearing,
            "distance_m": random.uniform(100.0, 5000.0, ROWS).round(),
        },
        "checks": lambda: _reports(lat_deg, lon_deg),
        "intersections": lambda: _sights(random, bearing),
    }
    return pa.table({"id": np.arange(ROWS), **rows[operation]()})


#: Members that all rows of an operation have.
COMMON: Mapping[str, Mapping[str, Any]] = {
    "bearings": {"north": "magnetic"},
    "compass-settings": {"north": "grid"},
    "map-distances": {"scale": 50_000},
    "rays": {"north": "true"},
    "checks": {"tolerance_m": 50.0},
    "intersections": {"north": "true"},
}


def _dates(random: np.random.Generator) -> list[str]:
    days = [datetime.date(2025, 1, 1) + datetime.timedelta(days=day) for day in range(1800)]
    texts = [day.isoformat() for day in days]
    return [texts[day] for day in random.integers(0, len(texts), ROWS)]


def _reports(lat_deg: Any, lon_deg: Any) -> dict[str, Any]:
    """Right reports, to eight figures."""
    return {"reported": write_mgrs(lat_deg, lon_deg, 4), "expected": write_mgrs(lat_deg, lon_deg)}


def _sights(random: np.random.Generator, bearing: Any) -> dict[str, Any]:
    """Two sights a row, some kilometres apart, at about a right angle."""
    lat_deg, lon_deg = places()
    return {
        "sights.0.from.lat_deg": lat_deg,
        "sights.0.from.lon_deg": lon_deg,
        "sights.0.bearing": np.full(ROWS, 45.0),
        "sights.1.from.lat_deg": lat_deg,
        "sights.1.from.lon_deg": (lon_deg + random.uniform(0.02, 0.05, ROWS)).clip(-180.0, 179.9),
        "sights.1.bearing": 300.0 + bearing / 12.0,
    }


def answered(operation: str, rows: int = ROWS, columns: tuple[str, ...] | None = None) -> int:
    """Answer so many rows of the operation in process; how many have a fault."""
    plan = plan_of(BATCHED[operation], COLUMNAR.get(operation), columns)
    source = table(operation)
    reader = TableColumns(BATCHED[operation], COMMON.get(operation, {}), source.schema)
    faults = 0
    for batch in source.slice(0, rows).to_batches(ROWS_AT_ONCE):
        faults += len(plan.answer(reader.chunk(batch, 1).rows).faults)
    return faults


def measure() -> Iterator[Ratio]:
    """All of it, in turn."""
    yield from _positions()
    yield from _norths()
    yield from _others()
    yield from _wrong_reports()
    yield from _over_http()


def _positions() -> Iterator[Ratio]:
    texts = table("positions")["position"].to_pylist()[: ROWS // 10]
    library, transformer = mgrs.MGRS(), Transformer.from_crs(32633, 4326, always_xy=True)
    random = np.random.default_rng(3)
    easting_m, northing_m = random.uniform(2e5, 8e5, ROWS), random.uniform(0.0, 8e6, ROWS)
    ours, loop, bare = best_of(
        [
            lambda: answered("positions", columns=PLACE),
            lambda: [library.toLatLon(text) for text in texts],
            lambda: transformer.transform(easting_m, northing_m),
        ],
        ROUNDS,
    )
    loop *= 10.0
    note = f"{1e3 * ours:.0f} ms a million, the loop {1e3 * loop:.0f} ms, pyproj {1e3 * bare:.0f} ms"
    yield Ratio(
        "batch, MGRS to latitude and longitude, against a loop over mgrs", loop / ours, 4.0, note=note
    )
    yield Ratio("the same, against bare pyproj on as many arrays", ours / bare, 3.0, False, note)


def _norths() -> Iterator[Ratio]:
    few = list(zip(*(column[:FEW].tolist() for column in places()), strict=True))
    library = GeoMag()
    ours, loop = best_of(
        [
            lambda: answered("norths"),
            lambda: [library.calculate(glat=lat, glon=lon, alt=0.0, time=2026.5) for lat, lon in few],
        ],
        ROUNDS,
    )
    each_us = 1e6 * ours / ROWS
    yield Ratio(
        "batch, norths, microseconds a row on one core",
        each_us,
        NORTHS_AIM_US,
        False,
        "every row its own date",
    )
    yield Ratio("the same, against a loop over pygeomag", loop / FEW / (ours / ROWS), None)


def _others() -> Iterator[Ratio]:
    """The other operations, against the scalar pyproj that does the main part of each, or a bare loop of their formula."""
    geod = Geod(ellps="WGS84")
    lat_deg, lon_deg = (column[:FEW].tolist() for column in places())
    pairs = list(zip(lon_deg, lat_deg, strict=True))
    loops: dict[str, Callable[[], object]] = {
        "bearings": lambda: [(each + 5.5) % 360.0 for each in lat_deg],
        "compass-settings": lambda: [round(each / 3.0) for each in lat_deg],
        "map-distances": lambda: [each * 50_000 / 1000.0 for each in lat_deg],
        "lines": lambda: [geod.inv(lon, lat, lon + 0.01, lat + 0.01) for lon, lat in pairs],
        "rays": lambda: [geod.fwd(lon, lat, 45.0, 1000.0) for lon, lat in pairs],
        "checks": lambda: [geod.inv(lon, lat, lon + 0.01, lat + 0.01) for lon, lat in pairs],
        "intersections": lambda: [geod.inv(lon, lat, lon + 0.01, lat + 0.01) for lon, lat in pairs],
    }
    for operation, loop in loops.items():
        ours, theirs = best_of([partial(answered, operation, FEWER), loop], 3)
        note = f"{1e6 * ours / FEWER:.2f} us a row"
        yield Ratio(
            f"batch, {operation}, against a bare scalar loop", theirs / FEW / (ours / FEWER), None, note=note
        )


def _wrong_reports() -> Iterator[Ratio]:
    """Reports that are looked at for their slip one by one, against right ones, which are not."""
    right = table("checks").slice(0, WRONG)
    exchanged = [
        text[:-4] + text[-3] + text[-4] + text[-2:] if text[-3] != text[-4] else text[:-6] + text[-4:] + "00"
        for text in right["reported"].to_pylist()
    ]
    wrong = right.set_column(1, "reported", pa.array(exchanged))
    plan = plan_of(BATCHED["checks"], COLUMNAR["checks"])

    def answer(source: pa.Table) -> None:
        reader = TableColumns(BATCHED["checks"], {"tolerance_m": 10.0, "digits": 4}, source.schema)
        plan.answer(reader.chunk(source.combine_chunks().to_batches()[0], 1).rows)

    slow, fast = best_of([partial(answer, wrong), partial(answer, right)], 3)
    note = f"{1e3 * slow / WRONG:.1f} ms a row"
    yield Ratio("batch, wrong reports with their slips, against right ones", slow / fast, None, False, note)


def _over_http() -> Iterator[Ratio]:
    query = f"columns={','.join(PLACE)}"
    with running_service(WEB_CONCURRENCY="1") as url:
        for medium, aim in HTTP_AIMS.items():
            body = encoded(table("positions"), medium)

            def ask(medium: str = medium, body: bytes = body) -> None:
                headers = {"Content-Type": medium, "Accept-Encoding": "identity"}
                with requests.post(
                    f"{url}/v1/batches/positions?{query}", body, headers=headers, stream=True, timeout=600
                ) as answer:
                    answer.raise_for_status()
                    for _piece in answer.iter_content(1 << 20):
                        pass

            ask()
            http, inside = best_of([ask, lambda: answered("positions", columns=PLACE)], ROUNDS)
            note = f"{1e3 * http:.0f} ms, {len(body) / 1e6:.0f} MB sent"
            yield Ratio(
                f"batch over HTTP, {medium}, against the same rows in process",
                http / inside,
                aim,
                False,
                note,
            )


def encoded(rows: pa.Table, medium: str) -> bytes:
    """The table as a stream."""
    if medium == NDJSON:
        lines = (
            f'{{"id":{number},"position":"{text}"}}\n'
            for number, text in zip(*rows.to_pydict().values(), strict=True)
        )
        return "".join(lines).encode()
    sink = pa.BufferOutputStream()
    if medium == CSV:
        arrow_csv.write_csv(rows, sink)
    else:
        with arrow_ipc.new_stream(sink, rows.schema) as stream:
            stream.write_table(rows, max_chunksize=50_000)
    return sink.getvalue().to_pybytes()
