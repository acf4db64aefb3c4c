"""Records of CSV (RFC 4180) as they stand in a file: found and taken apart, with their bytes untouched."""

from __future__ import annotations

import csv
import io
import re
from collections import deque
from collections.abc import Iterable, Iterator, Sequence

from .errors import ArgumentError

__all__ = ["LONGEST_RECORD_BYTES", "cells_of", "is_blank", "quoted_whole", "record_of", "records"]

#: Quotes that are still open behind so much of a record are taken for ones that are never closed. [bytes]
LONGEST_RECORD_BYTES = 1 << 20

#: A quote that opens a cell; elsewhere in a cell without quotes it is a character like others.
_OPENING = re.compile(rb'(?:\A|,)"')
#: A cell, in quotes or without, and what ends it. The csv module's own limit on cells is one of the whole process.
_CELL = re.compile(r'(?:"([^"]*(?:""[^"]*)*)"|((?!")[^,\r\n]*))(,|\Z)')


def records(lines: Iterator[bytes]) -> Iterator[tuple[bytes, bool]]:
    """The records of a file's lines, empty lines among them, and whether each is whole.

    Where a quoted cell is never closed, or too far on, or has text behind its closing quote, the line that it begins on is a
    record alone, which is not whole: so the lines behind it, which are rows of their own, are not lost with it. How many
    cells a record has is left to the service, which answers each row for itself. Raises `ArgumentError` where the lines are
    no CSV.
    """
    # Lines that were read in search of the end of a quoted cell, and do not have it. None of them ends one that is open
    # before it, so none is searched twice; if the search is over, the last of them has text behind the closing quote.
    ahead: deque[bytes] = deque()
    ahead_bytes, over = 0, False
    while True:
        if ahead:
            line = ahead.popleft()
            ahead_bytes -= len(line)
            over = over and bool(ahead)
        elif (read := next(lines, None)) is not None:
            line = read
        else:
            return
        is_open, is_broken = _quotes(line, False)
        if not is_open:
            yield line, True
            continue
        whole = False
        while not (is_broken or over or whole) and len(line) + ahead_bytes < LONGEST_RECORD_BYTES:
            more = next(lines, None)
            if more is None:
                break
            ahead.append(more)
            ahead_bytes += len(more)
            is_open, over = _quotes(more, True)
            whole = not (is_open or over)
        if whole:
            line = b"".join((line, *ahead))
            ahead.clear()
            ahead_bytes = 0
        yield line, whole


def is_blank(record: bytes) -> bool:
    """Whether a record is only the end of a line."""
    return record in (b"\n", b"\r\n")


def _quotes(line: bytes, is_open: bool) -> tuple[bool, bool]:
    """Whether a quoted cell goes on behind the line, and whether one has text behind its closing quote.

    ``is_open`` says whether one goes on from before the line.
    """
    at, is_broken = 0, False
    while True:
        if not is_open:
            opening = _OPENING.search(line, at)
            if b"\r" in line[at : len(line) - 2 if opening is None else opening.start()]:
                shown = repr(line[:60].decode("utf-8", "replace"))
                raise ArgumentError(f"lines of the CSV end in carriage returns alone: {shown}")
            if opening is None:
                return False, is_broken
            at = opening.end()
        closing = line.find(b'"', at)
        if closing < 0:
            return True, is_broken
        behind = line[closing + 1 : closing + 2]
        is_open = behind == b'"'  # two are one quote of the cell
        is_broken = is_broken or behind not in (b'"', b",", b"\r", b"\n", b"")
        at = closing + 1 + is_open


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
    text = raw.decode("utf-8").removesuffix("\n").removesuffix("\r")
    if not text:
        return []
    cells: list[str] = []
    at, end = 0, ","
    while end:
        found = _CELL.match(text, at)
        if found is None:
            raise ValueError(f"a record is no CSV: {text[:60]!r}")
        quoted, bare, end = found.groups()
        cells.append(bare if quoted is None else quoted.replace('""', '"'))
        at = found.end()
    return cells


def record_of(cells: Sequence[str]) -> bytes:
    """One record of these cells, quoted where they need it."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerow(cells)  # which quotes lone returns too
    return text.getvalue().removesuffix("\r\n").encode() + b"\n"
