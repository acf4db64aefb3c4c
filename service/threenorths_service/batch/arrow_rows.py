"""Rows of an Arrow IPC stream: typed columns named by the members' paths; a struct's fields are within its own path."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from decimal import Decimal
from typing import Any

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.ipc as arrow_ipc

from ..operations.operation import Operation
from .arrow_messages import ArrowGauge, MessageError
from .cells import member_columns
from .chunks import ROWS_AT_ONCE, Chunk, Source, members_among
from .faults import BatchError, Broken
from .members import Member, members_of
from .rows import Rows

__all__ = ["MOST_BATCH_BYTES", "MOST_SPREAD_BYTES", "ArrowReader", "TableColumns"]

#: A record batch is read as a whole.
MOST_ROWS = 5_000_000
#: So much may one take in memory, with its dictionaries and what it is unpacked from: a million rows of some 200 bytes. Two,
#: the one that is answered and the next, find room beside all else in 1 GiB. [byte]
MOST_BATCH_BYTES = 256_000_000
#: So much may a column of values that rows share be once each has its own. [byte]
MOST_SPREAD_BYTES = 64_000_000
#: Whole numbers beyond are not told apart by a double.
LARGEST_WHOLE = 2**53
#: With which a stream ends: the mark of a message, and the length of none.
END_MARK = b"\xff\xff\xff\xff\x00\x00\x00\x00"


class TableColumns:
    """The columns of record batches of one schema, as members and as the caller's own.

    Raises `BatchError` for a column of a member whose type is none for it.
    """

    def __init__(self, operation: Operation, common: Mapping[str, Any], schema: pa.Schema) -> None:
        self._operation = operation
        self._common = common
        self._roots = frozenset(path.partition(".")[0] for path in members_of(operation))
        flat = list(self._flat_types(schema))
        self._members = members_among(operation, [name for name, _type in flat])
        self.types = dict(flat)
        for name, member in self._members.items():
            if not _takes(member, self.types[name]):
                message = f"the column {name!r} is of the type {self.types[name]}, and {member.arrow_type} is wanted"
                raise BatchError("wrong_column_type", message, name)

    def chunk(self, batch: pa.RecordBatch, first_row: int) -> Chunk:
        """The rows of a record batch."""
        carried = dict(self._flat_columns(batch))
        columns: dict[str, pa.Array] = {}
        odd: dict[int, dict[str, Any]] = {}
        for name, member in self._members.items():
            columns[name] = _cast(carried[name], member, odd)
        members = members_of(self._operation)
        return Chunk(Rows(batch.num_rows, columns, members, self._common, odd), first_row, carried)

    def _flat_types(self, schema: pa.Schema) -> Iterator[tuple[str, pa.DataType]]:
        """The columns and their types, of a struct that is a member's those within it."""
        for field in schema:
            own = field.name not in self._roots
            yield from [(field.name, field.type)] if own else _types_within(field.name, field.type)

    def _flat_columns(self, batch: pa.RecordBatch) -> Iterator[tuple[str, pa.Array]]:
        """The columns likewise."""
        for name, column in zip(batch.schema.names, batch.columns, strict=True):
            yield from [(name, column)] if name not in self._roots else _columns_within(name, column)


class ArrowReader:
    """The rows of an Arrow IPC stream. Raises `BatchError` for one that has no schema, or one that does not fit."""

    def __init__(self, source: Source) -> None:
        self._source = source
        source.file.seek(0)
        self._gauge = ArrowGauge(source.file, MOST_BATCH_BYTES)
        try:
            taken = self._gauge.message()
            if taken > MOST_BATCH_BYTES:
                raise BatchError("malformed_header", f"the Arrow schema {_too_much(taken)}")
            self._stream = arrow_ipc.open_stream(pa.PythonFile(source.file, mode="r"))
        except (MessageError, pa.ArrowException, OSError, UnicodeDecodeError) as error:
            raise BatchError(
                "malformed_header", f"the stream does not begin with an Arrow schema: {error}"
            ) from None
        self._columns = TableColumns(source.operation, source.common, self._stream.schema)

    def carried_types(self) -> Mapping[str, pa.DataType]:
        """All columns, of their own types."""
        return self._columns.types

    def chunks(self) -> Iterator[Chunk | Broken]:
        """The rows, of a large record batch some at a time."""
        file, row = self._source.file, 1
        while True:
            offset = file.tell()
            try:
                taken = self._gauge.record_batch()
                if taken > MOST_BATCH_BYTES:
                    yield Broken(row, offset, f"the record batch {_too_much(taken)}; send it in smaller ones")
                    return
                batch = self._stream.read_next_batch()
                batch.validate(full=True)
            except StopIteration:
                if offset + len(END_MARK) < file.seek(0, 2):
                    yield Broken(row, offset + len(END_MARK), "something follows the end of the stream")
                    return
                break
            except (MessageError, pa.ArrowException, OSError, UnicodeDecodeError) as error:
                yield Broken(row, offset, self._source.cut or f"this is no Arrow record batch: {error}")
                return
            if batch.num_rows > MOST_ROWS:
                yield Broken(
                    row, offset, f"a record batch has {batch.num_rows} rows, and {MOST_ROWS} are taken in one"
                )
                return
            step = _rows_at_once(batch)
            for start in range(0, batch.num_rows, step):
                yield self._columns.chunk(batch.slice(start, step), row + start)
            row += batch.num_rows
        end = file.seek(0, 2)
        file.seek(max(end - len(END_MARK), 0))
        if file.read() != END_MARK:
            yield Broken(
                row, end, self._source.cut or "the stream has no end mark, so record batches may be missing"
            )


def _rows_at_once(batch: pa.RecordBatch) -> int:
    """So few rows that values which many of them share, and which are written out for each, find room."""
    shared = [column.dictionary for column in batch.columns if pa.types.is_dictionary(column.type)]
    widest = 1
    for values in shared:
        with suppress(pa.ArrowNotImplementedError):  # numbers, which are narrow
            widest = max(widest, pc.max(pc.binary_length(values)).as_py() or 0)
    return max(min(ROWS_AT_ONCE, MOST_SPREAD_BYTES // widest), 1)


def _too_much(taken: int) -> str:
    """What a message would take, in millions of bytes, rounded so that it is more than the bound."""
    return f"would take {-(-taken // 10**6)} MB, at most {MOST_BATCH_BYTES // 10**6} MB are taken"


def _types_within(name: str, arrow_type: pa.DataType) -> Iterator[tuple[str, pa.DataType]]:
    if not pa.types.is_struct(arrow_type):
        yield name, arrow_type
        return
    for field in arrow_type:
        yield from _types_within(f"{name}.{field.name}", field.type)


def _columns_within(name: str, column: pa.Array) -> Iterator[tuple[str, pa.Array]]:
    if not pa.types.is_struct(column.type):
        yield name, column
        return
    for field, part in zip(column.type, column.flatten(), strict=True):
        yield from _columns_within(f"{name}.{field.name}", part)


def _takes(member: Member, arrow_type: pa.DataType) -> bool:
    if isinstance(arrow_type, pa.DictionaryType):
        arrow_type = arrow_type.value_type
    if isinstance(arrow_type, pa.BaseExtensionType):
        arrow_type = arrow_type.storage_type
    text = pa.types.is_string(arrow_type) or pa.types.is_large_string(arrow_type)
    text = text or pa.types.is_string_view(arrow_type) or pa.types.is_null(arrow_type)
    number = pa.types.is_floating(arrow_type) or pa.types.is_integer(arrow_type)
    number = number or pa.types.is_decimal(arrow_type)
    wanted = {
        "text": text or pa.types.is_date(arrow_type) or pa.types.is_timestamp(arrow_type),
        "json": text,
        "mixed": number or text,
        "flag": pa.types.is_boolean(arrow_type),
    }
    return bool(wanted.get(member.kind, number) or pa.types.is_null(arrow_type))


def _cast(column: pa.Array, member: Member, odd: dict[int, dict[str, Any]]) -> pa.Array:
    """The column of the member's type; what of it does not fit is put into ``odd`` by row."""
    if isinstance(column, pa.ExtensionArray):
        column = column.storage
    if isinstance(column.type, pa.DictionaryType):
        column = column.dictionary_decode()
    if member.kind == "mixed" and not (pa.types.is_floating(column.type) or pa.types.is_integer(column.type)):
        texts = {member.path: pc.cast(column, pa.string()).fill_null("")}
        columns, found = member_columns(texts, {member.path: member})
        for row, values in found.items():
            odd.setdefault(row, {}).update(values)
        return columns[member.path]
    if pa.types.is_timestamp(column.type):
        return _days(column)
    if pa.types.is_floating(member.arrow_type) and pa.types.is_floating(column.type):
        column = pc.cast(column, pa.float64())
        # A NaN is no null: it is a number that is none, and told as such.
        for row in _rows_of_nan(column):
            odd.setdefault(row, {})[member.path] = float("nan")
        return column
    try:
        return pc.cast(column, member.arrow_type)
    except pa.ArrowInvalid:
        return _fitting(column, member, odd)


def _days(column: pa.Array) -> pa.StringArray:
    """Moments that begin a day as its date, and others as they are, which is no date."""
    begins = pc.equal(pc.floor_temporal(column, unit="day"), column)
    return pc.if_else(begins, pc.strftime(column, "%Y-%m-%d"), pc.strftime(column, "%Y-%m-%dT%H:%M:%S"))


def _fitting(column: pa.Array, member: Member, odd: dict[int, dict[str, Any]]) -> pa.Array:
    """The numbers that are of the member's type; the others are put into ``odd``."""
    fitting: list[Any] = []
    for row, value in enumerate(column.to_pylist()):
        exact = value is None or (
            abs(value) < LARGEST_WHOLE and (member.kind != "whole" or value == value // 1)
        )
        fitting.append(value if exact else None)
        if not exact:
            odd.setdefault(row, {})[member.path] = float(value) if isinstance(value, Decimal) else value
    return pa.array([None if value is None else int(value) for value in fitting], pa.int64()).cast(
        member.arrow_type
    )


def _rows_of_nan(column: pa.Array) -> list[int]:
    nan = pc.is_nan(column).fill_null(False)
    return [row for row, here in enumerate(nan.to_pylist()) if here] if pc.any(nan).as_py() else []
