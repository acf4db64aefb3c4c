"""Records of CSV (RFC 4180) as they stand in a file: found and taken apart, with their bytes untouched."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from .errors import ArgumentError

__all__ = ["cells_of", "is_blank", "quoted_whole", "record_of", "records"]


def records(lines: Iterator[bytes]) -> Iterator[bytes]:
    """The records of a file's lines, empty lines among them. Raises `ArgumentError` where they are no CSV.

    How many cells a record has is left to the service, which answers each row for itself.
    """
    for line in lines:
        if b'"' in line:
            yield _quoted_record(line, lines)
        elif b"\r" in line[:-2]:
            raise ArgumentError(f"lines of the CSV end in carriage returns alone: {_shown(line)}")
        else:
            yield line


def is_blank(record: bytes) -> bool:
    """Whether a record is only the end of a line."""
    return record in (b"\n", b"\r\n")


def _quoted_record(line: bytes, following: Iterator[bytes]) -> bytes:
    """A record with quotes, which may go on over the next lines: the csv module takes as many as it needs."""
    taken: list[bytes] = []

    def texts() -> Iterator[str]:
        for raw in chain((line,), following):
            taken.append(raw)
            yield raw.decode("utf-8", "replace")

    try:
        next(csv.reader(texts()))
    except csv.Error as error:
        # Above all: a cell beyond the module's limit, which is what a quote makes that is never closed.
        raise ArgumentError(f"a record of the CSV cannot be read ({error}): {_shown(line)}") from None
    return b"".join(taken)


def _shown(line: bytes) -> str:
    return repr(line[:60].decode("utf-8", "replace"))


def quoted_whole(lines: Iterable[bytes]) -> Iterator[bytes]:
    """The records of CSV that a service wrote, where a record ends at the first newline with its quotes in pairs."""
    pending = b""
    for line in lines:
        record = pending + line
        if record.count(b'"') % 2:
            pending = record
            continue
        pending = b""
        yield record
    if pending:
        yield pending


def cells_of(raw: bytes) -> list[str]:
    """The cells of one record. Raises ``ValueError`` where it is none."""
    try:
        return next(csv.reader(io.StringIO(raw.decode("utf-8"), newline="")), [])
    except csv.Error as error:
        raise ValueError(f"a record is no CSV: {error}") from error


def record_of(cells: Sequence[str]) -> bytes:
    """One record of these cells, quoted where they need it."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue().encode()
