"""A batch as a stream: what was taken in, answered chunk by chunk in constant memory."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from types import MappingProxyType

from .arrow_rows import ArrowReader
from .chunks import ROWS_AT_ONCE, Reader, Source
from .csv_rows import CsvReader
from .faults import Broken
from .ndjson_rows import NdjsonReader
from .plan import Plan
from .tally import Tally
from .written import ArrowWriter, CsvWriter, NdjsonWriter, TableSchema, Writer

__all__ = ["ARROW", "CSV", "MEDIA", "NDJSON", "Summary", "answer_stream"]

NDJSON = "application/x-ndjson"
CSV = "text/csv"
ARROW = "application/vnd.apache.arrow.stream"

#: Rows that are answered before anything is sent, and how long the next may take.
FIRST_ROWS, SENT_WITHIN_S = 128, 0.5

_READERS: Mapping[str, Callable[[Source], Reader]] = MappingProxyType(
    {NDJSON: NdjsonReader, CSV: CsvReader, ARROW: ArrowReader}
)
#: The media of batches, both ways.
MEDIA = tuple(_READERS)


class Summary(Enum):
    """Whether a stream ends with a summary of its rows."""

    NONE = "false"
    LAST = "true"
    ONLY = "only"


def answer_stream(
    source: Source, plan: Plan, medium: str, answer_medium: str, summary: Summary = Summary.NONE
) -> Iterator[bytes]:
    """The answer to a stream of one medium as the pieces of a stream of another.

    What is wrong with the stream as a whole is raised at once, as `BatchError`; what is wrong further on is told in the
    answer. A ``summary`` is of checks alone: a record of its own behind all rows, or in their stead.
    """
    reader = _READERS[medium](source)
    writer: Writer
    if answer_medium == NDJSON:
        writer = NdjsonWriter()
    else:
        carried = {} if summary is Summary.ONLY else reader.carried_types()
        schema = TableSchema(carried, plan, summary is not Summary.NONE)
        writer = CsvWriter(schema) if answer_medium == CSV else ArrowWriter(schema)
    return _pieces(reader, plan, writer, summary)


def _pieces(reader: Reader, plan: Plan, writer: Writer, summary: Summary) -> Iterator[bytes]:
    tally = Tally()
    pace = _Pace()
    yield from writer.begin()
    for chunk in reader.chunks():
        if isinstance(chunk, Broken):
            yield from writer.broken(chunk)
            continue
        start = 0
        while start < chunk.rows.count:
            part = chunk.part(start, start + pace.rows)
            start += part.rows.count
            with pace:
                answered = plan.answer(part.rows)
            if summary is not Summary.NONE:
                tally.add(answered)
            if summary is not Summary.ONLY:
                yield from writer.rows(part, answered.only(plan.shown))
    if summary is not Summary.NONE:
        yield from writer.summary(tally.told())
    yield from writer.end()


class _Pace:
    """How many rows are answered before something is sent: so many that nobody waits long for it.

    Rows that go one by one take a thousand times as long as others, and a client that hears nothing gives up.
    """

    def __init__(self) -> None:
        self.rows = FIRST_ROWS
        self._begun_s = 0.0

    def __enter__(self) -> None:
        self._begun_s = time.monotonic()

    def __exit__(self, *_error: object) -> None:
        took_s = time.monotonic() - self._begun_s
        # Growing and shrinking by fours, so that a single slow row does not cost the many behind it much.
        factor = min(max(SENT_WITHIN_S / max(took_s, 1e-6), 0.25), 4.0)
        self.rows = min(max(int(self.rows * factor), 1), ROWS_AT_ONCE)
