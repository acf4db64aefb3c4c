"""Tables of rows, good ones and bad, for the tests of record batches, frames and clusters."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pyarrow as pa
import pyarrow.ipc as arrow_ipc

from batch_rows import TEXTS
from threenorths_service.api import create_app
from threenorths_service.batch.stream import ARROW

ROWS = 120


def positions() -> pa.Table:
    """References, good ones with all that TEXTS has strewn in, and the caller's own columns."""
    texts = [
        TEXTS[row % len(TEXTS)] if row % 3 == 1 else f"33V VK {10_000 + row} 67890" for row in range(ROWS)
    ]
    return pa.table(
        {
            "id": pa.array([2**60 + row if row % 7 else None for row in range(ROWS)], pa.int64()),
            "position": pa.array([None if row == 50 else text for row, text in enumerate(texts)]),
            "tags": pa.array([["a", None], [], None] * (ROWS // 3)),
        }
    )


def norths() -> pa.Table:
    """Places and dates, some of which are none."""
    lat_deg = np.linspace(-95.0, 95.0, ROWS)  # the first and the last few are off the earth
    dates = [("2026-11-25", "1962-07-01", "2030-01-01", "25 May", None)[row % 5] for row in range(ROWS)]
    return pa.table(
        {
            "position.lat_deg": lat_deg,
            "position.lon_deg": np.linspace(-180.0, 179.0, ROWS),
            "date": dates,
            "id": np.arange(ROWS, dtype=np.int32),
        }
    )


def checks() -> pa.Table:
    """Reports: right, wrong by slips, wrong by nothing known, and none."""
    kinds = ("33VVK1234567890", "33VVK1324567890", "33VVK1834561890", "33V VK 12 67", "nowhere", None)
    return pa.table(
        {
            "reported": [kinds[row % len(kinds)] for row in range(ROWS)],
            "expected": ["33VVK1234567890"] * ROWS,
            "tolerance_m": [50.0 if row % 11 else None for row in range(ROWS)],
        }
    )


#: By operation.
TABLES: Mapping[str, Callable[[], pa.Table]] = {"positions": positions, "norths": norths, "checks": checks}


def answered_over_http(operation: str, table: pa.Table, query: str = "") -> pa.Table:
    """What the endpoint answers to the table as a stream, with JSON as plain text."""
    sink = pa.BufferOutputStream()
    with arrow_ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table, max_chunksize=50)
    answer = (
        create_app()
        .test_client()
        .post(
            f"/v1/batches/{operation}?{query}",
            data=sink.getvalue().to_pybytes(),
            content_type=ARROW,
            buffered=True,
        )
    )
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return _plain(arrow_ipc.open_stream(answer.data).read_all())


def _plain(table: pa.Table) -> pa.Table:
    """The table with its JSON as plain text."""
    columns = [
        pa.chunked_array([chunk.storage for chunk in column.chunks], column.type.storage_type)
        if isinstance(column.type, pa.BaseExtensionType)
        else column
        for column in table.columns
    ]
    return pa.table(columns, names=table.column_names)
