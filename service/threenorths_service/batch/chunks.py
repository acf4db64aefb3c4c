"""What a reader of any medium yields, and what it wants to know beforehand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, BinaryIO, Protocol

import pyarrow as pa

from ..operations.operation import Operation
from .faults import BatchError, Broken
from .members import Member, likely_meant, member_of
from .rows import Rows

__all__ = [
    "CELLS_AT_ONCE",
    "MOST_COLUMNS",
    "ROWS_AT_ONCE",
    "Chunk",
    "Reader",
    "Source",
    "members_among",
    "reserved",
    "rows_at_once",
]

#: Rows that are worked on at once: enough that numpy's own costs vanish, few enough that their columns stay in the cache.
ROWS_AT_ONCE = 32_768
#: More columns than any table has that people keep.
MOST_COLUMNS = 2000
#: Cells that are held at once where a row costs one for each column of the table, whether it has anything there or not.
CELLS_AT_ONCE = 2_000_000
#: The names that an answer adds to a row.
RESERVED = ("answer", "error", "summary")


@dataclass(frozen=True, slots=True)
class Source:
    """A stream that was taken in whole, and what it is to be read for."""

    file: BinaryIO
    operation: Operation
    #: Members that all rows have, by path.
    common: Mapping[str, Any] = field(default_factory=dict)
    #: Why the stream ended before its end, if it did: its compression broke off.
    cut: str | None = None


@dataclass(slots=True)
class Chunk:
    """Some rows of a stream: what they ask, and what they are to carry through.

    ``lines`` are the rows as they came, of a medium of lines of JSON; what is no object is null. ``carried`` are the rows'
    columns as they came, of a medium of columns, or where they are wanted as such.
    """

    rows: Rows
    first_row: int
    carried: dict[str, pa.Array]
    lines: pa.StringArray | None = None

    def part(self, start: int, stop: int) -> Chunk:
        """Some of the rows."""
        rows = self.rows
        columns = {path: column[start:stop] for path, column in rows.columns.items()}
        odd = {row - start: values for row, values in rows.odd.items() if start <= row < stop}
        faults = {row - start: fault for row, fault in rows.faults.items() if start <= row < stop}
        count = min(stop, rows.count) - start
        return Chunk(
            Rows(count, columns, rows.members, rows.common, odd, faults),
            self.first_row + start,
            {name: column[start:stop] for name, column in self.carried.items()},
            None if self.lines is None else self.lines[start:stop],
        )


class Reader(Protocol):
    """A reader of one medium."""

    def carried_types(self) -> Mapping[str, pa.DataType]:
        """The columns of the rows as they are carried through, and their types; to be asked before the chunks."""

    def chunks(self) -> Iterator[Chunk | Broken]:
        """The rows in order; where the stream breaks off, that is last."""


def rows_at_once(columns: int) -> int:
    """How many rows of so many columns are worked on at once."""
    return max(min(ROWS_AT_ONCE, CELLS_AT_ONCE // max(columns, 1)), 1)


def reserved(name: str) -> bool:
    """Whether the answer has a column of this name, or within it."""
    return name.partition(".")[0] in RESERVED


def members_among(operation: Operation, names: Sequence[str]) -> dict[str, Member]:
    """The members among the names of a table's columns. The other columns are the caller's own.

    Raises `BatchError` for a name that is there twice, that the answer uses itself, or that is so like a member's that it is
    likely meant for it.
    """
    if len(names) > MOST_COLUMNS:
        raise BatchError("too_many_columns", f"there are {len(names)} columns, and {MOST_COLUMNS} are taken")
    members = {}
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise BatchError("duplicate_column", f"there are two columns named {name!r}", name)
        seen.add(name)
        if reserved(name):
            raise BatchError(
                "reserved_column", f"a column {name!r} is what the answer adds: rename yours", name
            )
        member = member_of(operation, name)
        if member is not None:
            members[name] = member
            continue
        meant = likely_meant(operation, name)
        if meant is not None:
            message = f"there is no column {name!r}: was {meant!r} meant? A column of your own needs a name less like it"
            raise BatchError("unknown_column", message, name)
    return members
