"""The pieces that a batch is split into: what one request holds, and where its rows stand in the whole source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from .optional_libraries import library

__all__ = ["ARROW", "CSV", "NDJSON", "ArrowPiece", "LinePiece", "Mark", "Misfit", "Piece"]

#: Media types of batches.
NDJSON, CSV, ARROW = "application/x-ndjson", "text/csv", "application/vnd.apache.arrow.stream"


@dataclass(frozen=True, slots=True)
class Mark:
    """How far a source has been read: its rows, and of a file of lines the bytes of it."""

    rows: int = 0
    byte: int = 0


@dataclass(frozen=True, slots=True)
class Misfit:
    """A row that the service could not read past: its number in the source from 1, the byte where that was, and why."""

    number: int
    byte: int | None
    text: str


@dataclass(frozen=True, slots=True)
class LinePiece:
    """Rows as text: each a line of JSON, or a record of CSV, which may have line ends within its quotes.

    ``head`` is the header that each request of CSV repeats. ``numbers`` and ``starts`` are of each line the number of its
    row, from 1, and the byte that it begins at in the source; there are no ``starts`` where the source is no file.
    """

    media: str
    head: bytes
    lines: list[bytes]
    numbers: range
    starts: Sequence[int] | None
    end: Mark

    @property
    def rows(self) -> int:
        """How many rows of the source are in the piece."""
        return len(self.lines)

    def body(self) -> bytes:
        """The request's body."""
        return self.head + b"".join(self.lines)

    def behind(self, index: int) -> LinePiece:
        """The piece with only the lines behind this one."""
        starts = None if self.starts is None else self.starts[index + 1 :]
        return replace(self, lines=self.lines[index + 1 :], numbers=self.numbers[index + 1 :], starts=starts)

    def byte_in_source(self, index: int, byte: int) -> int | None:
        """Where in the source, if that is a file, the byte of the body lies that the service names for a line."""
        if self.starts is None:
            return None
        begins = len(self.head) + sum(map(len, self.lines[:index]))
        within = min(max(byte - begins, 0), len(self.lines[index]))
        return self.starts[index] + within


@dataclass(frozen=True, slots=True)
class ArrowPiece:
    """Rows as an Arrow table."""

    table: Any
    numbers: range
    end: Mark

    @property
    def media(self) -> str:
        """The media type of the body."""
        return ARROW

    @property
    def rows(self) -> int:
        """How many rows of the source are in the piece."""
        return len(self.numbers)

    def body(self) -> bytes:
        """The request's body: one stream, with its rows in one record batch."""
        pa = library("pyarrow", "a batch of Arrow")
        sink = pa.BufferOutputStream()
        with pa.ipc.new_stream(sink, self.table.schema) as stream:
            for batch in self.table.combine_chunks().to_batches():
                stream.write_batch(batch)
        body: bytes = sink.getvalue().to_pybytes()
        return body


#: What one request holds.
Piece = LinePiece | ArrowPiece
