"""Arrow streams for the tests: tables written in any way, and where their messages stand."""

from __future__ import annotations

import io
from typing import Any

import pyarrow as pa
import pyarrow.ipc as arrow_ipc


def written(table: pa.Table, rows: int = 20, **options: Any) -> bytes:
    """A table as a stream of record batches of some rows; the options are those of `pyarrow.ipc.IpcWriteOptions`."""
    sink = io.BytesIO()
    with arrow_ipc.new_stream(sink, table.schema, options=arrow_ipc.IpcWriteOptions(**options)) as stream:
        stream.write_table(table, max_chunksize=rows)
    return sink.getvalue()


def starts_of(stream: bytes) -> list[int]:
    """Where each message begins, and the end mark."""
    file = io.BytesIO(stream)
    starts = []
    while file.tell() < len(stream) - 8:
        starts.append(file.tell())
        arrow_ipc.read_message(pa.PythonFile(file, mode="r"))
    return [*starts, file.tell()]
