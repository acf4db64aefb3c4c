"""Rows of CSV (RFC 4180): a header line with the columns' names, then a record a row.

Every cell is read as text and carried through as it stands; those of members are made numbers where they are some. A block
of the stream is read by Arrow; only a block with a record that does not fit the header is read record by record.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Any, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.csv as arrow_csv

from .cells import member_columns
from .chunks import Chunk, Source, members_among, rows_at_once
from .faults import BatchError, Broken
from .members import members_of
from .rows import Fault, Rows

__all__ = ["CsvReader"]

BLOCK_BYTES = 1 << 20
#: A record longer than this is a cell whose quotes are not closed.
LONGEST_RECORD_BYTES = 8 << 20
BOM = b"\xef\xbb\xbf"
QUOTED_CHARACTERS = 200
QUOTED_BYTES = 1000
#: Lines that a cell with line ends in it mostly goes on for no longer than.
FEW_ENDS = 100
#: A record that stands behind the last line.
_END = "\0end"
#: A carriage return that ends no line, which is a mark like others here and none to Python's reader; and what stands for it
#: meanwhile, which no UTF-8 and no escape of what is none comes out as.
_LONE_RETURN, _RETURN = re.compile("\r(?!\n)"), "\udc0d"
#: Which bytes may stand before a quote that opens a cell, or behind one that closes it: what parts cells, or another quote.
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
        """The rows, a block of the stream at a time.

        Where a quoted cell is never closed, or has text behind its closing quote, its first line is a row that is none, and
        the rows go on with the next line.
        """
        file, row, cut = self._source.file, 1, self._source.cut
        file.seek(self._offset)
        offset, pending = self._offset, b""
        more = b"\n"
        while more:
            more = file.read(BLOCK_BYTES)
            at_end = not more and cut is None
            block, pending, plain = _whole_records(pending + more, at_end)
            if (at_end and pending) or len(pending) > LONGEST_RECORD_BYTES:
                open_ended = pending if at_end else pending[: pending.find(b"\n") + 1]
                block, pending, plain = block + open_ended, pending[len(open_ended) :], False
            for chunk in self._chunks(block, plain, row):
                yield chunk
                row += chunk.rows.count
            offset += len(block)
            if len(pending) > LONGEST_RECORD_BYTES and b"\n" not in pending:
                yield Broken(
                    row,
                    offset,
                    f"a record has no end: {_shown(pending[:QUOTED_BYTES].decode('utf-8', 'replace'))}",
                )
                return
        if cut is not None:
            yield Broken(row, offset, cut)

    def _chunks(self, block: bytes, plain: bool, row: int) -> Iterator[Chunk]:
        """The rows of records, of which there may be none."""
        if not block:
            return
        carried = self._columns(block) if plain else None
        parts = self._record_by_record(block) if carried is None else iter([(carried, {})])
        for columns, faults in parts:
            chunk = self._chunk(columns, faults, row)
            if chunk.rows.count:
                yield chunk
            row += chunk.rows.count

    def _chunk(self, carried: dict[str, pa.Array], faults: dict[int, Fault], first_row: int) -> Chunk:
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

    def _record_by_record(self, block: bytes) -> Iterator[tuple[dict[str, pa.Array], dict[int, Fault]]]:
        """The cells by columns, and what is wrong with records. Some rows at a time: a short record has all columns too."""
        records = _records(block)
        while some := list(islice(records, rows_at_once(len(self._names)))):
            yield self._of_records(some)

    def _of_records(self, records: list[_Record]) -> tuple[dict[str, pa.Array], dict[int, Fault]]:
        cells: list[list[str | None]] = [[] for _ in self._names]
        faults: dict[int, Fault] = {}
        for row, (record, broken) in enumerate(records):
            why = broken or _why_no_row(record, len(self._names))
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


class _Record(NamedTuple):
    """The cells of a record; and why the line that it begins with is none, whose whole text is then the one cell."""

    cells: list[str]
    broken: str | None = None


def _records(block: bytes) -> Iterator[_Record]:
    """The records that are not blank."""
    text = block.decode("utf-8", "surrogateescape")
    returns = _LONE_RETURN.search(text) is not None
    if returns:
        text = _LONE_RETURN.sub(_RETURN, text)
    lines = [line + "\n" for line in text.split("\n")]
    at = 0

    def rest() -> Iterator[str]:
        nonlocal at
        while at < len(lines):
            at += 1
            yield lines[at - 1]

    reader = csv.reader(rest(), strict=True)
    while True:
        begun = at
        try:
            record = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            # What a quote that is out of place swallowed is given back: only the line that it stands on is lost.
            yield _Record([lines[begun].rstrip("\r\n").replace(_RETURN, "\r")], _why_broken(error))
            at = begun + 1
            reader = csv.reader(rest(), strict=True)
            continue
        if record:
            yield _Record([cell.replace(_RETURN, "\r") for cell in record] if returns else record)


def _why_broken(error: csv.Error) -> str:
    if "unexpected end" in str(error):
        return "a quoted cell is not closed"
    return "a cell is too long" if "limit" in str(error) else "text stands behind the closing quote of a cell"


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
    if b"\r" in start and b"\n" not in start:
        raise BatchError(
            "malformed_header",
            "the lines end in carriage returns alone, and line feeds are wanted (RFC 4180)",
        )
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


def _whole_records(block: bytes, at_end: bool) -> tuple[bytes, bytes, bool]:
    """The block up to the end of its last whole record, what is left, and whether its quotes are where they belong."""
    ends = np.flatnonzero(np.frombuffer(block, dtype=np.uint8) == ord("\n")) + 1
    if at_end and block and not block.endswith(b"\n"):
        ends = np.append(ends, len(block))
    if not ends.size:
        return b"", block, True
    if b'"' not in block:
        return block[: ends[-1]], block[ends[-1] :], True
    marks = np.frombuffer(b"\n" + block + b"\n", dtype=np.uint8)
    quotes = np.flatnonzero(marks == ord('"'))
    # Every second one closes what the one before it opened. A quote elsewhere is part of a cell that does not begin with one.
    opening, closing = quotes[::2], quotes[1::2]
    if not (_BESIDE_QUOTES[marks[opening - 1]].all() and _BESIDE_QUOTES[marks[closing + 1]].all()):
        end = _end_of_records(block[: ends[-1]])
        return block[:end], block[end:], False
    # Up to the end of a record their number is even; the last of them is looked for among a few, then among all.
    for some in (ends[-FEW_ENDS:], ends):
        whole = some[np.searchsorted(quotes - 1, some) % 2 == 0]
        if whole.size:
            return block[: whole[-1]], block[whole[-1] :], True
    return b"", block, True


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
