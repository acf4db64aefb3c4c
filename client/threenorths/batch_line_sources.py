"""Sources of rows that go as text: dictionaries and NDJSON files as NDJSON, CSV files as CSV."""

from __future__ import annotations

import datetime
import json
import math
import uuid
from array import array
from collections.abc import Generator, Iterable, Iterator, Mapping, Sized
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any, BinaryIO

from .batch_csv import is_blank, records
from .batch_pieces import CSV, NDJSON, LinePiece, Mark
from .errors import ArgumentError, FileError
from .places import LatLon, Position, Projected, ReadPlace, Ups, UpsCoordinates, Utm, UtmCoordinates
from .sheet_given import Sheet, sheet_json
from .to_json import position_json

__all__ = ["LARGEST_BODY_BYTES", "PLACES", "CsvFile", "DictRows", "NdjsonFile", "row_json"]

#: No request of text is longer, unless a single row is. [bytes]
LARGEST_BODY_BYTES = 8 * 1024 * 1024

_BOM = b"\xef\xbb\xbf"
_OTHER_BOMS = (b"\xff\xfe", b"\xfe\xff")
#: The classes whose objects are positions.
PLACES = (LatLon, Projected, Position, ReadPlace, Utm, Ups, UtmCoordinates, UpsCoordinates)


class _Gathered:
    """Rows on their way into one piece. ``of_file`` says whether they begin at bytes of a file."""

    def __init__(self, media: str, head: bytes, of_file: bool, after: Mark) -> None:
        self._media, self._head, self._of_file = media, head, of_file
        self.rows_before = after.rows
        self._clear()

    def _clear(self) -> None:
        self.lines: list[bytes] = []
        self._starts = array("q")
        self._bytes = len(self._head)

    def add(self, raw: bytes, start: int, rows_per_request: int) -> LinePiece | None:
        """Take one more row; the piece before it, if that is full without it."""
        lines, length = self.lines, len(raw)
        piece = None
        if lines and (len(lines) >= rows_per_request or self._bytes + length > LARGEST_BODY_BYTES):
            piece = self.piece(start)
            lines = self.lines
        self._bytes += length
        lines.append(raw if raw.endswith(b"\n") else raw + b"\n")
        self._starts.append(start)
        return piece

    def piece(self, byte: int) -> LinePiece:
        """The piece, which ends before ``byte`` of the source; the next begins empty."""
        rows = self.rows_before + len(self.lines)
        numbers = range(self.rows_before + 1, rows + 1)
        starts = self._starts if self._of_file else None
        piece = LinePiece(self._media, self._head, self.lines, numbers, starts, Mark(rows, byte))
        self.rows_before = rows
        self._clear()
        return piece


class DictRows:
    """Dictionaries, as they come."""

    media = NDJSON
    total_bytes = None

    def __init__(self, rows: Iterable[Mapping[str, Any]]) -> None:
        self._rows = rows
        self.total_rows = len(rows) if isinstance(rows, Sized) else None

    def pieces(self, rows_per_request: int, after: Mark) -> Generator[LinePiece, None, None]:
        """The pieces; there is no resuming of what may never come again. Raises `ArgumentError` for a row that is none."""
        gathered = _Gathered(NDJSON, b"", of_file=False, after=after)
        failed: Exception | None = None
        numbered = enumerate(self._rows, start=after.rows + 1)
        while True:
            try:
                number, row = next(numbered)
                raw = row_json(row, number)
            except StopIteration:
                break
            except Exception as error:  # noqa: BLE001 - it is raised behind the rows that were drawn before
                failed = error
                break
            piece = gathered.add(raw, 0, rows_per_request)
            if piece is not None:
                yield piece
        if gathered.lines:
            yield gathered.piece(0)
        if failed is not None:
            raise failed


class NdjsonFile:
    """A file with a JSON object a line; its lines are sent as they stand, but for empty ones."""

    media = NDJSON
    total_rows = None

    def __init__(self, path: Path) -> None:
        self._path = path
        self.total_bytes = _size(path)

    def pieces(self, rows_per_request: int, after: Mark) -> Generator[LinePiece, None, None]:
        """The pieces. Raises `FileError` where the file cannot be read."""
        with _reading(self._path) as file:
            at = _after_mark(file, self._path, after)
            gathered = _Gathered(NDJSON, b"", of_file=True, after=after)
            for raw in file:
                if not raw.isspace():
                    piece = gathered.add(raw, at, rows_per_request)
                    if piece is not None:
                        yield piece
                at += len(raw)
            if gathered.lines:
                yield gathered.piece(at)


class CsvFile:
    """A CSV file with a header; its records are sent as they stand, but for empty lines."""

    media = CSV
    total_rows = None

    def __init__(self, path: Path) -> None:
        self._path = path
        self.total_bytes = _size(path)

    def pieces(self, rows_per_request: int, after: Mark) -> Generator[LinePiece, None, None]:
        """The pieces, an empty one where there are no rows. Raises `FileError`, or `ArgumentError` for what is no CSV."""
        with _reading(self._path) as file:
            at = _after_mark(file, self._path, Mark())
            header, at = self._header(records(iter(file)), at)
            if after.byte > 0:
                at = _after_mark(file, self._path, after)
            gathered = _Gathered(CSV, _ended(header), of_file=True, after=after)
            for record, whole in records(iter(file)):
                if not is_blank(record):
                    piece = gathered.add(record, at, rows_per_request)
                    if piece is not None:
                        yield piece
                at += len(record)
                if not whole:
                    # It ends its request: the service looks further, and would find a quote behind it that closes it.
                    yield gathered.piece(at)
            if gathered.lines or gathered.rows_before == 0:
                yield gathered.piece(at)

    def _header(self, found: Iterator[tuple[bytes, bool]], at: int) -> tuple[bytes, int]:
        for record, whole in found:
            at += len(record)
            if not whole:
                raise ArgumentError(f"the quotes in the header of {self._path.name!r} are not closed")
            if not is_blank(record):
                return record, at
        raise ArgumentError(f"{self._path.name!r} is empty; CSV begins with a line that names its columns")


def row_json(row: Mapping[str, Any], number: int) -> bytes:
    """A row as a line of NDJSON. Raises `ArgumentError`, naming the row, where it is none."""
    if not isinstance(row, Mapping):
        raise ArgumentError(f"row {number} is no dictionary but {row!r:.100}")
    try:
        try:
            text = _written(dict(row))
        except ValueError:
            text = _written(_with_named_numbers(dict(row)))
    except (TypeError, ValueError, RecursionError) as error:
        raise ArgumentError(f"row {number} cannot be written as JSON: {error}") from None
    return text.encode() + b"\n"


def _written(row: dict[str, Any]) -> str:
    return json.dumps(row, allow_nan=False, default=_plain, separators=(",", ":"))


def _with_named_numbers(value: Any) -> Any:
    """NaN and infinity by their names, as JSON has no such numbers: the service then names them in the row's error."""
    if isinstance(value, float) and not math.isfinite(value):
        return str(float(value))
    if isinstance(value, Mapping):
        return {name: _with_named_numbers(below) for name, below in value.items()}
    if isinstance(value, list | tuple):
        return [_with_named_numbers(below) for below in value]
    return value


def _plain(value: Any) -> Any:
    """A value that JSON does not know as one that it does."""
    if isinstance(value, PLACES):
        return position_json(value, "the position")
    if isinstance(value, Sheet):
        return sheet_json(value)
    if isinstance(value, datetime.date):  # moments too: a column of the caller's own may be one
        return value.isoformat()
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, Decimal):
        number = float(value)
        return number if math.isfinite(number) and Decimal(str(number)) == value else str(value)
    if isinstance(value, uuid.UUID):
        return str(value)
    if callable(item := getattr(value, "item", None)):
        return _with_named_numbers(item())  # a number of an array library
    raise TypeError(f"{value!r:.100} is neither a number, a text, a date nor a place")


def _ended(raw: bytes) -> bytes:
    return raw if raw.endswith(b"\n") else raw + b"\n"


def _after_mark(file: BinaryIO, path: Path, mark: Mark) -> int:
    """Go to where reading begins: after the mark, or else after a byte order mark."""
    if mark.byte > 0:
        return file.seek(mark.byte)
    first = file.read(len(_BOM))
    if first.startswith(_OTHER_BOMS):
        raise ArgumentError(f"{path.name!r} is UTF-16, not UTF-8")
    return file.seek(len(_BOM) if first == _BOM else 0)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError as error:
        raise FileError(f"the source {str(path)!r} cannot be read: {error.strerror or error}") from error


@contextmanager
def _reading(path: Path) -> Iterator[BinaryIO]:
    """The open file; what goes wrong with it, and nothing else, is a `FileError`."""
    try:
        with path.open("rb") as file:
            yield file
    except OSError as error:
        raise FileError(f"the source {str(path)!r} cannot be read: {error.strerror or error}") from error
