"""Sources of rows that go as Arrow: Parquet and Arrow files, frames of pandas and polars, tables and streams of batches."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

from .batch_pieces import ARROW, ArrowPiece, Mark
from .errors import ArgumentError, FileError
from .optional_libraries import library

__all__ = ["ArrowRows", "arrow_file_rows", "frame_rows"]

#: The rows after so many, as record batches.
Batches = Callable[[int], Iterator[Any]]


class ArrowRows:
    """Record batches of one schema, from wherever they come."""

    media = ARROW
    total_bytes = None

    def __init__(self, schema: Any, batches: Batches, total_rows: int | None) -> None:
        self._schema = _plain_schema(schema)
        self._batches = batches
        self.total_rows = total_rows

    def pieces(self, rows_per_request: int, after: Mark) -> Generator[ArrowPiece, None, None]:
        """The pieces, an empty one where there are no rows. Raises `FileError` where a file cannot be read."""
        pa = library("pyarrow", "a batch of Arrow")
        done = after.rows
        waiting: list[Any] = []
        rows = 0
        for batch in self._batches(done):
            waiting.append(_plain_table(pa, batch, self._schema))
            rows += batch.num_rows
            if rows >= rows_per_request:
                table = pa.concat_tables(waiting)
                whole = rows - rows % rows_per_request
                for first in range(0, whole, rows_per_request):
                    yield _piece(table.slice(first, rows_per_request), done)
                    done += rows_per_request
                waiting, rows = [table.slice(whole)], rows - whole
        if rows or done == 0:
            yield _piece(pa.concat_tables([self._schema.empty_table(), *waiting]), done)


def _piece(table: Any, done: int) -> ArrowPiece:
    rows = table.num_rows
    return ArrowPiece(table, range(done + 1, done + rows + 1), Mark(done + rows))


def frame_rows(frame: Any, home: str) -> ArrowRows:
    """The rows of a frame, a table, a record batch or a reader of record batches. ``home`` is the library it is of."""
    pa = library("pyarrow", "a batch of a frame or an Arrow table")
    try:
        if home == "pandas":
            frame = _pandas_table(pa, frame)
        elif isinstance(frame, pa.RecordBatch):
            frame = pa.Table.from_batches([frame])
        elif not isinstance(frame, pa.Table):
            return _stream_rows(pa.RecordBatchReader.from_stream(frame))
    except (pa.ArrowException, TypeError, ValueError, AttributeError) as error:
        raise ArgumentError(f"the source is no frame that Arrow can hold: {error}") from error
    return ArrowRows(frame.schema, lambda done: iter(frame.slice(done).to_batches()), frame.num_rows)


def _pandas_table(pa: Any, frame: Any) -> Any:
    """A frame of pandas as a table; a column of several types, such as bearings as numbers and as texts, is made texts."""
    try:
        return pa.Table.from_pandas(frame, preserve_index=False)
    except (pa.ArrowInvalid, pa.ArrowTypeError):
        mixed = [name for name in frame.columns if not _is_of_one_type(pa, frame[name])]
        texts = {name: frame[name].map(str, na_action="ignore") for name in mixed}
        return pa.Table.from_pandas(frame.assign(**texts), preserve_index=False)


def _is_of_one_type(pa: Any, column: Any) -> bool:
    try:
        pa.array(column, from_pandas=True)
    except (pa.ArrowInvalid, pa.ArrowTypeError):
        return False
    return True


def _stream_rows(reader: Any) -> ArrowRows:
    def batches(_: int) -> Iterator[Any]:
        yield from reader

    return ArrowRows(reader.schema, batches, None)


def arrow_file_rows(path: Path) -> ArrowRows:
    """The rows of a Parquet or Arrow file, read a part at a time. Raises `FileError` where it cannot be read as such."""
    pa = library("pyarrow", f"a {path.suffix} file")
    try:
        if path.suffix.lower() == ".parquet":
            return _parquet_rows(path)
        return _ipc_rows(path)
    except (OSError, pa.ArrowException) as error:
        raise FileError(f"the source {str(path)!r} cannot be read: {error}") from error


def _parquet_rows(path: Path) -> ArrowRows:
    pq = library("pyarrow.parquet", "a Parquet file")
    with pq.ParquetFile(path) as file:
        schema, metadata = file.schema_arrow, file.metadata

    def batches(done: int) -> Iterator[Any]:
        group = 0
        while group < metadata.num_row_groups and metadata.row_group(group).num_rows <= done:
            done -= metadata.row_group(group).num_rows
            group += 1
        groups = list(range(group, metadata.num_row_groups))
        with pq.ParquetFile(path) as file:
            yield from _after(done, file.iter_batches(row_groups=groups) if groups else iter(()))

    return ArrowRows(schema, batches, metadata.num_rows)


def _ipc_rows(path: Path) -> ArrowRows:
    pa = library("pyarrow", "an Arrow file")

    def batches(done: int) -> Iterator[Any]:
        with pa.memory_map(str(path)) as mapped, _ipc_reader(mapped) as reader:
            if isinstance(reader, pa.RecordBatchFileReader):
                yield from _after(done, map(reader.get_batch, range(reader.num_record_batches)))
            else:
                yield from _after(done, reader)

    with pa.memory_map(str(path)) as mapped, _ipc_reader(mapped) as reader:
        return ArrowRows(reader.schema, batches, None)


def _ipc_reader(mapped: Any) -> Any:
    """A reader of either of Arrow's formats: files, or the streams that are also saved under that name."""
    pa = library("pyarrow", "an Arrow file")
    try:
        return pa.ipc.open_file(mapped)
    except pa.ArrowInvalid:
        mapped.seek(0)
        return pa.ipc.open_stream(mapped)


def _after(done: int, batches: Iterator[Any]) -> Iterator[Any]:
    """The batches without the first ``done`` rows."""
    for batch in batches:
        if batch.num_rows <= done:
            done -= batch.num_rows
            continue
        yield batch.slice(done)
        done = 0


def _plain_schema(schema: Any) -> Any:
    """The schema with plain texts and values in place of views and dictionaries, and without notes of other libraries."""
    pa = library("pyarrow", "a batch of Arrow")
    return pa.schema([pa.field(field.name, _plain_type(pa, field.type), field.nullable) for field in schema])


def _plain_type(pa: Any, kind: Any) -> Any:
    if pa.types.is_dictionary(kind):
        return _plain_type(pa, kind.value_type)
    if kind == pa.string_view():
        return pa.large_string()
    if pa.types.is_struct(kind):
        return pa.struct(
            [pa.field(field.name, _plain_type(pa, field.type), field.nullable) for field in kind]
        )
    if pa.types.is_large_list(kind):
        return pa.large_list(_plain_type(pa, kind.value_type))
    if pa.types.is_list(kind):
        return pa.list_(_plain_type(pa, kind.value_type))
    return kind


def _plain_table(pa: Any, batch: Any, schema: Any) -> Any:
    columns = [
        _plain_column(pa, column, field.type) for column, field in zip(batch.columns, schema, strict=True)
    ]
    return pa.table(columns, schema=schema)


def _plain_column(pa: Any, column: Any, kind: Any) -> Any:
    if pa.types.is_dictionary(column.type):
        # Looked up by hand, as Arrow's own cast knows no dictionary of views.
        return column.dictionary.cast(kind).take(column.indices)
    return column if column.type == kind else column.cast(kind)
