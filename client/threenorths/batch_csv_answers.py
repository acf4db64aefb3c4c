"""Answers in CSV: records below a head, of which those of good rows are passed on as they came."""

from __future__ import annotations

import io
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from .batch_answers import MALFORMED, Break, SentAnswer, number_of, ordered_columns
from .batch_csv import cells_of, quoted_whole, record_of
from .batch_pieces import Misfit

__all__ = ["ERROR_COLUMNS", "joined_csv", "misfit_csv", "read_csv", "rearranged", "united_head"]

#: The columns that every answer has.
ERROR_COLUMNS = ("error.code", "error.member", "error.text", "error.row", "error.byte")


@dataclass(frozen=True, slots=True)
class _Columns:
    """The columns of an answer. ``tail`` is how many at the end are empty in a good row."""

    names: list[str]
    tail: int

    def cell(self, cells: Sequence[str], name: str) -> str:
        return cells[self.names.index(name)] if name in self.names else ""

    def without_summary(self, cells: Sequence[str]) -> list[str]:
        return [cell for name, cell in zip(self.names, cells, strict=False) if name != "summary"]


def _columns(head: bytes) -> _Columns:
    names = cells_of(head)
    tail = 0
    for name in reversed(names):
        if name != "summary" and name not in ERROR_COLUMNS:
            break
        tail += 1
    return _Columns(names, tail)


def read_csv(body: bytes, rows_before: int) -> SentAnswer:
    """The answer, its errors numbered as in the source, where ``rows_before`` come before it.

    Raises ``ValueError`` for what is none.
    """
    found = quoted_whole(io.BytesIO(body))
    head = next(found, b"").removeprefix(b"\xef\xbb\xbf")
    columns = _columns(head)
    if "error.code" not in columns.names:
        raise ValueError("it has no column error.code")
    # Where the columns of errors stand last, the commas at its end tell a good row, and it need not be taken apart.
    empty = b"," * columns.tail if "error.code" in columns.names[-columns.tail :] and columns.tail else None
    has_summary = "summary" in columns.names
    trimmed = has_summary and columns.names[-1] == "summary"
    lines: list[bytes] = []
    summary, broken, bad_rows = None, None, 0
    for record in found:
        bare = record.rstrip(b"\r\n")
        if empty is not None and bare.endswith(empty) and (trimmed or not has_summary):
            lines.append((bare[:-1] if trimmed else bare) + b"\n")
            continue
        cells = cells_of(record)
        if not cells:
            continue
        if closing := columns.cell(cells, "summary"):
            summary = json.loads(closing)
        elif _is_break(columns, cells):
            broken = _break(columns, cells)
        else:
            if columns.cell(cells, "error.code"):
                bad_rows += 1
                _renumber(columns, cells, rows_before)
            lines.append(record_of(columns.without_summary(cells)))
    return SentAnswer(
        record_of(columns.without_summary(columns.names)), lines, None, bad_rows, summary, broken
    )


def joined_csv(parts: Sequence[tuple[bytes, list[bytes]]]) -> tuple[bytes, list[bytes]]:
    """Parts, each a head and its records, one below the other under one head."""
    head = united_head([head for head, _ in parts])
    lines: list[bytes] = []
    for own, records in parts:
        lines.extend(records if own == head else rearranged(own, records, head))
    return head, lines


def united_head(heads: Sequence[bytes]) -> bytes:
    """The head with the columns of all these, or, where there is none, that of an error alone."""
    if len(set(heads)) == 1:
        return heads[0]
    names = dict.fromkeys(name for head in heads for name in cells_of(head))
    return record_of(ordered_columns(list(names or ERROR_COLUMNS)))


def rearranged(own: bytes, records: Iterable[bytes], head: bytes) -> Iterator[bytes]:
    """The records with their cells as ``head`` has the columns."""
    places = {name: index for index, name in enumerate(cells_of(own))}
    order = [places.get(name) for name in cells_of(head)]
    for record in records:
        cells = cells_of(record)
        yield record_of(["" if index is None else cells[index] for index in order])


def misfit_csv(misfit: Misfit) -> tuple[bytes, list[bytes]]:
    """The record, below a head of its own, that stands for a row that could not be read."""
    byte = "" if misfit.byte is None else str(misfit.byte)
    return record_of(ERROR_COLUMNS), [record_of([MALFORMED, "", misfit.text, str(misfit.number), byte])]


def _is_break(columns: _Columns, cells: Sequence[str]) -> bool:
    others = [cell for name, cell in zip(columns.names, cells, strict=False) if name not in ERROR_COLUMNS]
    return columns.cell(cells, "error.code") == MALFORMED and not any(others)


def _break(columns: _Columns, cells: Sequence[str]) -> Break:
    return Break(
        columns.cell(cells, "error.text"),
        _whole(columns.cell(cells, "error.row")),
        _whole(columns.cell(cells, "error.byte")),
    )


def _renumber(columns: _Columns, cells: list[str], rows_before: int) -> None:
    row = _whole(columns.cell(cells, "error.row"))
    if row is not None:
        cells[columns.names.index("error.row")] = str(number_of(row, rows_before))


def _whole(cell: str) -> Any:
    return int(cell) if cell.isascii() and cell.isdigit() else None
