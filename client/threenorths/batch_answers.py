"""What comes back for a piece: its rows, numbered as in the whole source, without the records that are no rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from .batch_pieces import Mark

__all__ = ["MALFORMED", "Break", "PartAnswer", "SentAnswer", "number_of", "ordered_columns"]

#: The code of the record that ends an answer where the service could read no further.
MALFORMED = "malformed_stream"


@dataclass(frozen=True, slots=True)
class Break:
    """Where a service could read no further: the row, from 1, and the byte of the request, and why."""

    text: str
    row: int | None
    byte: int | None


@dataclass(frozen=True, slots=True)
class SentAnswer:
    """The answer to one request: its rows, as lines below a head or as an Arrow table, and what else it said."""

    head: bytes
    lines: list[bytes]
    table: Any
    bad_rows: int
    summary: dict[str, Any] | None
    broken: Break | None

    @property
    def rows(self) -> int:
        """How many rows were answered."""
        return len(self.lines) if self.table is None else int(self.table.num_rows)


@dataclass(frozen=True, slots=True)
class PartAnswer:
    """The answer to one piece: as many rows as the piece has, in its order.

    ``lines`` are lines of JSON, or records of CSV below ``head``; an Arrow answer has a ``table`` instead. ``bad_rows`` are
    those with an error. ``end`` is how far the source is read.
    """

    rows: int
    bad_rows: int
    head: bytes
    lines: list[bytes]
    table: Any
    summary: dict[str, Any] | None
    end: Mark


def number_of(row: Any, rows_before: int) -> Any:
    """The number in the whole source of a request's ``row``, from 1, with so many rows before the request's first."""
    return row + rows_before if isinstance(row, int) else row


def ordered_columns(names: Sequence[str]) -> list[str]:
    """The columns as an answer has them: the row's own first, then the answer, then the error."""

    def group(name: str) -> int:
        part = name.partition(".")[0]
        return {"answer": 1, "error": 2}.get(part, 0)

    return sorted(names, key=group)
