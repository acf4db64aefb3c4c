"""Rows of CSV (RFC 4180): a header line with the columns' names, then a record a row.

Every cell is read as text and carried through as it stands; those of members are made numbers where they are some. A block
of the stream is read by Arrow; only a block with a record that does not fit the header is read record by record.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.csv as arrow_csv

from ..navmath.rows import IntArray
from .cells import member_columns
from .chunks import Chunk, Source, members_among
from .faults import BatchError, Broken
from .members import members_of
from .rows import Fault, Rows

__all__ = ["CsvReader"]

BLOCK_BYTES = 1 << 20
#: A record longer than this is a cell whose quotes are not closed.
LONGEST_RECORD_BYTES = 8 << 20
BOM = b"\xef\xbb\xbf"
QUOTED_CHARACTERS = 200
#: A record that stands behind the last line.
_END = "\0end"
#: Which bytes part cells, or are a quote.
_BESIDE_QUOTES = np.isin(np.arange(256), [ord(mark) for mark in ',\r\n"'])

# Else a long cell would be an error of the whole block.
csv.field_size_limit(LONGEST_RECORD_BYTES)


class CsvReader:
    """The rows of a stream of CSV. Raises `BatchError` for a header that is none."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._names, self._offset = _header(source.file)
        self._members = members_among(source.operation, self._names)

    def carried_types(self) -> Mapping[str, pa.DataType]:
        """All columns, as text."""
        return dict.fromkeys(self._names, pa.string())

    def chunks(self) -> Iterator[Chunk | Broken]:
        """The rows, a block of the stream at a time."""
        file, row = self._source.file, 1
        file.seek(self._offset)
        offset, pending = self._offset, b""
        while True:
            more = file.read(BLOCK_BYTES)
            block, pending = _whole_records(pending + more, at_end=not more and self._source.cut is None)
            if block:
                chunk = self._chunk(block, row)
                if chunk.rows.count:
                    yield chunk
                row += chunk.rows.count
                offset += len(block)
            if not more or len(pending) > LONGEST_RECORD_BYTES:
                break
        if pending and self._source.cut is None:
            yield Broken(
                row, offset, f"a quoted cell is not closed: {_shown(pending.decode('utf-8', 'replace'))}"
            )
        elif self._source.cut is not None:
            yield Broken(row, offset, self._source.cut)

    def _chunk(self, block: bytes, first_row: int) -> Chunk:
        carried = self._columns(block)
        faults: dict[int, Fault] = {}
        if carried is None:
            carried, faults = self._record_by_record(block)
        count = len(next(iter(carried.values())))
        columns, odd = member_columns(carried, self._members)
        source = self._source
        rows = Rows(count, columns, members_of(source.operation), source.common, odd, faults)
        return Chunk(rows, first_row, carried)

    def _columns(self, block: bytes) -> dict[str, pa.Array] | None:
        """The cells by columns; ``None`` where a record has not as many as the header."""
        try:
            table = arrow_csv.read_csv(
                pa.BufferReader(block),
                arrow_csv.ReadOptions(column_names=self._names, use_threads=False, block_size=len(block) + 1),
                arrow_csv.ParseOptions(newlines_in_values=b'"' in block),
                arrow_csv.ConvertOptions(
                    column_types=dict.fromkeys(self._names, pa.string()), strings_can_be_null=False
                ),
            )
        except pa.ArrowInvalid:
            return None
        return {name: _one(column) for name, column in zip(self._names, table.columns, strict=True)}

    def _record_by_record(self, block: bytes) -> tuple[dict[str, pa.Array], dict[int, Fault]]:
        cells: list[list[str | None]] = [[] for _ in self._names]
        faults: dict[int, Fault] = {}
        text = block.decode("utf-8", "surrogateescape")
        records = (record for record in csv.reader(io.StringIO(text, newline="")) if record)
        for row, record in enumerate(records):
            why = _why_no_row(record, len(self._names))
            if why is not None:
                faults[row] = Fault("malformed_row", None, f"{why}: {_shown(','.join(record))}")
                # Carried through as far as there are cells, and not answered.
                record = [*(_text(cell) for cell in record), *[""] * len(self._names)][: len(self._names)]
            for column, cell in zip(cells, record, strict=True):
                column.append(cell)
        arrays = {
            name: pa.array(column, pa.string()) for name, column in zip(self._names, cells, strict=True)
        }
        return arrays, faults


def _why_no_row(record: list[str], wanted: int) -> str | None:
    if len(record) != wanted:
        return f"the record has {len(record)} cells, and the header {wanted}"
    if any("\udc80" <= character <= "\udcff" for cell in record for character in cell):
        return "the record is not UTF-8"
    return None


def _text(cell: str) -> str:
    """The cell with a question mark for what is not UTF-8."""
    return cell.encode("utf-8", "replace").decode()


def _shown(text: str) -> str:
    text = _text(text)
    return text if len(text) <= QUOTED_CHARACTERS else f"{text[:QUOTED_CHARACTERS]}…"


def _header(file: Any) -> tuple[list[str], int]:
    """The names of the columns, and where the rows begin."""
    file.seek(0)
    start = file.read(BLOCK_BYTES)
    skipped = len(BOM) if start.startswith(BOM) else 0
    lines = start[skipped:].splitlines(keepends=True)
    if not lines:
        raise BatchError("malformed_header", "the stream has no header line with the columns' names")
    try:
        reader = csv.reader((line.decode() for line in lines), strict=True)
        names = next(reader)
    except (csv.Error, UnicodeDecodeError) as error:
        raise BatchError("malformed_header", f"the header line is no CSV in UTF-8: {error}") from None
    if len(names) == 1 and any(mark in names[0] for mark in ";\t"):
        message = (
            "the columns of the header are parted by semicolons or tabs, and commas are wanted (RFC 4180)"
        )
        raise BatchError("malformed_header", f"{message}: {_shown(names[0])}")
    if not names or "" in names:
        raise BatchError("malformed_header", f"a column of the header has no name: {_shown(','.join(names))}")
    return names, skipped + sum(len(line) for line in lines[: reader.line_num])


def _whole_records(block: bytes, at_end: bool) -> tuple[bytes, bytes]:
    """The block up to the end of its last whole record, and what is left."""
    ends = np.flatnonzero(np.frombuffer(block, dtype=np.uint8) == ord("\n")) + 1
    if at_end and block and not block.endswith(b"\n"):
        ends = np.append(ends, len(block))
    if not ends.size:
        return b"", block
    end = int(ends[-1])
    if b'"' in block and not _plainly_quoted(block, ends):
        end = _end_of_records(block[:end])
    return block[:end], block[end:]


def _plainly_quoted(block: bytes, ends: IntArray) -> bool:
    """Whether no cell goes on over the end of a line, as far as that can be told without a look at each.

    It can where every quote stands beside what parts cells, or beside another quote, and up to each line's end their number
    is even. A quote elsewhere is part of a cell that does not begin with one.
    """
    marks = np.frombuffer(b"\n" + block + b"\n", dtype=np.uint8)
    quotes = np.flatnonzero(marks == ord('"'))
    beside = _BESIDE_QUOTES[marks[quotes - 1]] | _BESIDE_QUOTES[marks[quotes + 1]]
    return bool(beside.all()) and not bool(np.any(np.searchsorted(quotes - 1, ends) % 2))


def _end_of_records(block: bytes) -> int:
    """Where the last whole record of whole lines ends, by a look at each."""
    pieces = block.splitlines(keepends=True)
    ends = np.cumsum([len(piece) for piece in pieces]).tolist()
    reader = csv.reader([*(piece.decode("utf-8", "surrogateescape") for piece in pieces), _END])
    before = last = 0
    latest: list[str] = []
    for record in reader:
        before, last, latest = last, reader.line_num, record
    # A cell whose quotes are open swallows the end mark; its record goes on in what is still to come, if anything is.
    whole = len(pieces) if latest == [_END] else before
    return ends[whole - 1] if whole else 0


def _one(column: pa.ChunkedArray) -> pa.Array:
    return column.combine_chunks() if column.num_chunks != 1 else column.chunk(0)
