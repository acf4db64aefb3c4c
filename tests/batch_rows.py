"""Rows of batches for the tests: bodies of single requests, good and bad, and the same in each medium."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

import orjson
import pyarrow as pa
import pyarrow.ipc as arrow_ipc
from hypothesis import strategies as st

from threenorths_service.batch.members import Member, member_of
from threenorths_service.batch.stream import ARROW, CSV, NDJSON
from threenorths_service.operations.operation import Operation

# Texts of all kinds: plain references, such as only the reading of texts knows, old grids, and what is none.
TEXTS = (
    "33V VK 123 678",
    "33VVK1234567890",
    "33v vk 12 67",
    "4QFJ12345678",
    "32VKM00000000",  # at the edge of its zone
    "31NAA6600000000",
    "60XWT",
    "ZAH1234512345",
    "BFN10",
    "61.2 N 8.5 E",
    "S 33 51 30 W 151 12 40",
    "32 465000 5247000",
    "33V 412345 6967890",
    "three three victor victor kilo one two three six seven eight",
    "TQ 388 773",
    "123 678",
    "18S 300000 4300000",
    "33V VK 123 67",
    "61V AA 1 1",
    "33VVI12",
    "nowhere",
    "90 N 0 E",
    "\u00e9\u00a033VVK12",
)
_numbers = st.one_of(
    st.floats(-90, 90).map(lambda value: round(value, 6)),
    st.sampled_from([0.0, -0.0, 84.0, -80.0, 90.0, -90.0, 89.9995, 1e-9, 91.0, 1e300, 400]),
)
_longitudes = st.one_of(
    st.floats(-180, 180).map(lambda value: round(value, 6)),
    st.sampled_from([180.0, -180.0, 179.999999, 359.5, 360.0, 6.0, 3.0, -181.0, 0]),
)
positions = st.one_of(
    st.sampled_from(TEXTS),
    st.builds(lambda lat, lon: {"lat_deg": lat, "lon_deg": lon}, _numbers, _longitudes),
    st.builds(
        lambda zone, hemisphere, easting, northing: {
            "zone": zone,
            "hemisphere": hemisphere,
            "easting_m": easting,
            "northing_m": northing,
        },
        st.integers(0, 61),
        st.sampled_from(["north", "south", "west"]),
        st.floats(90_000, 910_000).map(lambda value: round(value, 2)),
        st.floats(-10, 10_000_010).map(lambda value: round(value, 2)),
    ),
    st.sampled_from(
        [
            {"grid": "ups", "hemisphere": "north", "easting_m": 2_100_000, "northing_m": 1_900_000.5},
            {"epsg": 27700, "easting_m": 400_000, "northing_m": 300_000},
            {"lat_deg": 61.5},
            {"lat_deg": 61.5, "lon_deg": 8.5, "datum": "ED50"},
            {"lat_deg": "61.5 degrees", "lon_deg": 8.5},
        ]
    ),
)
dates = st.sampled_from(
    ["2026-11-25", "1962-07-01", "1899-12-31", "1900-01-01", "2029-12-31", "2030-01-01", "25 May"]
)
norths = st.sampled_from(["true", "grid", "magnetic", "left"])
units = st.sampled_from(["deg", "mil", "grad", "mil_6300", "rad"])
bearings = st.one_of(
    st.floats(0, 360).map(lambda value: round(value, 3)),
    st.sampled_from([0, 360, 6400, 400, -1, 6401, "N 45 E", "45 30 15"]),
)
_angles = st.one_of(
    st.floats(-40, 40).map(lambda value: round(value, 2)), st.sampled_from([180, -180, 181, 0])
)


def _body(required: dict[str, Any], optional: dict[str, Any]) -> Any:
    return st.fixed_dictionaries(required, optional=optional)


_of_sources = st.one_of(
    _body({"position": positions, "date": dates}, {"height_m": st.sampled_from([0, 1500.5, 2e6])}),
    _body({}, {"declination_deg": _angles, "convergence_deg": _angles, "grid_magnetic_angle_deg": _angles}),
    st.just({"sheet": {"grid_magnetic_angle_deg": 5.5, "year": 2015, "annual_change_deg": 0.17}}),
)


def _with(source: dict[str, Any], more: dict[str, Any]) -> dict[str, Any]:
    return {**source, **more}


#: Places near each other.
_near = st.builds(
    lambda east, north: f"33V VK {east:05d} {north:05d}", st.integers(0, 30_000), st.integers(60_000, 80_000)
)


def _sights(place: str) -> Any:
    sight = _body(
        {place: st.one_of(_near, _near, _near, positions), "bearing": st.one_of(bearings, st.floats(0, 360))},
        {"sd_deg": st.sampled_from([0.5, 2, 0.0])},
    )
    return _body(
        {"sights": st.lists(sight, min_size=2, max_size=2), "north": norths},
        {"date": dates, "unit": st.sampled_from(["deg", "mil"]), "sd_deg": st.sampled_from([1.5])},
    )


_lengths = st.sampled_from([0.0001, 1, 87, 432.5, 2.16, 25_000, 50_000, 0, -3, 1e9])
#: By operation, the bodies of its requests.
BODIES: Mapping[str, Any] = {
    "positions": _body(
        {"position": positions},
        {"digits": st.integers(-1, 6), "datum": st.sampled_from(["ED50", "WGS84", "Atlantis"])},
    ),
    "norths": _body(
        {"position": positions, "date": dates},
        {"height_m": st.sampled_from([0, 1500.5, -2e4]), "model": st.sampled_from(["WMM2025", "IGRF-14"])},
    ),
    "bearings": st.builds(_with, _of_sources, _body({"bearing": bearings, "north": norths}, {"unit": units})),
    "compass-settings": st.builds(
        _with,
        _of_sources,
        _body(
            {},
            {
                "bearing": bearings,
                "north": norths,
                "unit": units,
                "click_deg": st.sampled_from([3, 2, 7, 0.01]),
            },
        ),
    ),
    "map-distances": _body(
        {},
        dict.fromkeys(
            ("scale", "map_mm", "map_in", "ground_m", "ground_km", "ground_paces", "slope_m", "rise_m"),
            _lengths,
        )
        | {"paces_per_100_m": st.sampled_from([66, 5]), "gradient_percent": _angles, "gradient_deg": _angles},
    ),
    "lines": _body({"from": positions, "to": positions}, {"date": dates}),
    "rays": _body(
        {
            "from": positions,
            "bearing": bearings,
            "north": norths,
            "distance_m": st.sampled_from([0, 800, 2500.25, 1e7, -1]),
        },
        {"date": dates, "unit": units},
    ),
    "intersections": _sights("from"),
    "resections": _sights("to"),
    "checks": st.one_of(
        _body(
            {"reported": _near, "expected": _near, "tolerance_m": st.sampled_from([0, 5, 50, 50_000, -1])},
            {"digits": st.integers(-1, 6), "resolution_m": st.sampled_from([1, 100, 0])},
        ),
        _body(
            {"reported": positions},
            {"digits": st.integers(0, 5), "expected": _near, "tolerance_deg": st.just(2)},
        ),
        _body(
            {"reported_bearing": bearings, "expected_bearing": bearings, "north": norths},
            {"tolerance_deg": st.sampled_from([0, 2, 180]), "unit": units, "declination_deg": _angles},
        ),
    ),
}


def leaves(body: Mapping[str, Any], prefix: str = "") -> dict[str, Any]:
    """The members of a body by path."""
    found: dict[str, Any] = {}
    for name, value in body.items():
        if isinstance(value, list):
            value = {str(place): each for place, each in enumerate(value)}
        if isinstance(value, Mapping):
            found |= leaves(value, f"{prefix}{name}.")
        else:
            found[f"{prefix}{name}"] = value
    return found


def encoded(operation: Operation, bodies: list[dict[str, Any]], medium: str) -> bytes:
    """The bodies as a stream, each with a number of the caller's own."""
    if medium == NDJSON:
        return b"".join(orjson.dumps({"id": row, **body}) + b"\n" for row, body in enumerate(bodies))
    rows = [{"id": row, **leaves(body)} for row, body in enumerate(bodies)]
    names = list(dict.fromkeys(name for row in rows for name in row))
    if medium == CSV:
        text = io.StringIO()
        writer = csv.DictWriter(text, names)
        writer.writeheader()
        writer.writerows(rows)
        return text.getvalue().encode()
    assert medium == ARROW
    columns = {name: _column(member_of(operation, name), [row.get(name) for row in rows]) for name in names}
    table = pa.table(columns)
    sink = pa.BufferOutputStream()
    with arrow_ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table, max_chunksize=5)
    return sink.getvalue().to_pybytes()


def fits_columns(operation: Operation, body: Mapping[str, Any]) -> bool:
    """Whether typed columns can hold the body: a number cannot be a text there."""
    for name, value in leaves(body).items():
        member = member_of(operation, name)
        if member is None or (member.kind in ("number", "whole") and isinstance(value, str)):
            return False
    return True


def _column(member: Member | None, values: list[Any]) -> pa.Array:
    if member is None:
        return pa.array(values)
    if member.kind == "mixed" and any(isinstance(value, str) for value in values):
        return pa.array([None if value is None else str(value) for value in values], pa.string())
    return pa.array(values, pa.float64() if member.kind == "whole" else member.arrow_type)


def decoded(stream: bytes, medium: str) -> list[dict[str, Any]]:
    """The records of an answered stream, flat by path in a table's medium; what is null is left out."""
    if medium == NDJSON:
        return [orjson.loads(line) for line in stream.split(b"\n") if line]
    if medium == CSV:
        rows: Any = csv.DictReader(io.StringIO(stream.decode(), newline=""))
        return [{name: value for name, value in row.items() if value != ""} for row in rows]
    table = arrow_ipc.open_stream(stream).read_all()
    return [{name: value for name, value in row.items() if value is not None} for row in table.to_pylist()]
