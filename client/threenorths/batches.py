"""Batches: an operation over many rows, split into requests of which several are under way at once."""

from __future__ import annotations

import json
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

from tqdm import tqdm

from .batch_answers import PartAnswer
from .batch_arrow_answers import joined_tables
from .batch_options import BatchOptions
from .batch_pieces import ARROW, NDJSON, Mark
from .batch_requests import PieceAsker
from .batch_sources import Source
from .batch_summaries import merged
from .batch_workers import answers_in_order
from .errors import ArgumentError, ResponseError
from .optional_libraries import library
from .transport import Transport

__all__ = ["Batch", "BatchProgress", "answered_parts"]


@dataclass(slots=True)
class BatchProgress:
    """How far a batch has come."""

    #: Rows answered so far, and those of them that have an error in the place of an answer.
    rows: int = 0
    bad_rows: int = 0
    #: The summary of the checks of these rows; ``None`` of other operations.
    summary: dict[str, Any] | None = None

    def add(self, part: PartAnswer) -> None:
        """Take one more part into account."""
        self.rows += part.rows
        self.bad_rows += part.bad_rows
        self.summary = merged(self.summary, part.summary)


def answered_parts(
    transport: Transport,
    source: Source,
    options: BatchOptions,
    accept: str,
    progress: BatchProgress,
    bar: bool | None,
    after: Mark | None = None,
) -> Generator[PartAnswer, None, None]:
    """The answers to what comes after the mark, part by part and in order, each counted in ``progress``.

    ``bar`` says whether a progress bar is drawn on the standard error stream; ``None``, only if that is a terminal.
    """
    after = after or Mark()
    pieces = source.pieces(options.rows_per_request, after)
    parts = answers_in_order(PieceAsker(transport, options, accept), pieces, options.at_once)
    disable = None if bar is None else not bar
    with tqdm(
        total=source.total_rows,
        initial=after.rows,
        unit=" rows",
        unit_scale=True,
        desc=options.operation,
        disable=disable,
    ) as shown:
        try:
            for part in parts:
                progress.add(part)
                if source.total_bytes and part.end.byte:
                    # Of lines of text nobody knows how many there are; their bytes tell by and by.
                    shown.total = round(progress.rows * source.total_bytes / part.end.byte)
                if progress.bad_rows:
                    shown.set_postfix(bad_rows=progress.bad_rows, refresh=False)
                shown.update(part.rows)
                yield part
        finally:
            parts.close()
            pieces.close()


class Batch:
    """The answers of an operation to many rows: what `Client.batch` gives.

    Iterate it for the rows in their order, as they come, each a dictionary: what the row had, then ``"answer"``, an object,
    or ``"error"``, an object with ``code``, ``member``, ``text`` and the ``row``'s number in the source, from 1. Or take all
    of it at once, as a `frame` or a `table`, or `tables` a part at a time. Nothing is asked before, and all is asked once: to
    ask again, make another batch. Close a batch that is left early, or use it in a ``with`` statement.

    Taking raises `ArgumentError` for a row that cannot be sent at all, `FileError`, or what `threenorths.errors` says of the
    service's own problems; rows that came before have been answered then. `DamagedStreamError` is raised where rows are
    lost on the way time after time.
    """

    def __init__(self, ask: Callable[[str, BatchProgress], Generator[PartAnswer, None, None]]) -> None:
        self._ask = ask
        self._progress = BatchProgress()
        self._parts: Generator[PartAnswer, None, None] | None = None

    @property
    def rows(self) -> int:
        """How many rows are answered so far, those with an error too."""
        return self._progress.rows

    @property
    def bad_rows(self) -> int:
        """How many of them have an error in the place of an answer."""
        return self._progress.bad_rows

    @property
    def summary(self) -> dict[str, Any] | None:
        """The summary of the checks answered so far, of all after the end; ``None`` of other operations."""
        return self._progress.summary

    def __iter__(self) -> Iterator[dict[str, Any]]:
        parts = self._asked(NDJSON)
        try:
            for part in parts:
                for line in part.lines:
                    yield _row(line)
        finally:
            parts.close()

    def tables(self) -> Iterator[Any]:
        """The rows as Arrow tables (`pyarrow.Table`), one for each request, in order and as they come."""
        library("pyarrow", "a table of answers")
        parts = self._asked(ARROW)
        try:
            yield from (part.table for part in parts if part.table is not None)
        finally:
            parts.close()

    def table(self) -> Any:
        """All rows as one Arrow table (`pyarrow.Table`): the row's own columns, then ``answer.*`` and ``error.*``."""
        return joined_tables(list(self.tables()))

    def frame(self) -> Any:
        """All rows as a frame of pandas (`pandas.DataFrame`), with the columns of `table`."""
        library("pandas", "a frame of answers")
        return self.table().to_pandas()

    def close(self) -> None:
        """Ask for no more. Requests that are under way are not waited for."""
        if self._parts is not None:
            self._parts.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _asked(self, accept: str) -> Generator[PartAnswer, None, None]:
        if self._parts is not None:
            raise ArgumentError("the batch has been asked already; make another to ask again")
        self._parts = self._ask(accept, self._progress)
        return self._parts


def _row(line: bytes) -> dict[str, Any]:
    try:
        row = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise ResponseError(f"a row of the answer is no JSON: {error}") from None
    if not isinstance(row, dict):
        raise ResponseError("a row of the answer is no JSON object")
    return row
