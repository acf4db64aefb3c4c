"""A batch as a stream: what was taken in, answered chunk by chunk in constant memory."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from types import MappingProxyType

from .arrow_rows import ArrowReader
from .chunks import Reader, Source
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
    yield from writer.begin()
    for chunk in reader.chunks():
        if isinstance(chunk, Broken):
            yield from writer.broken(chunk)
            continue
        answered = plan.answer(chunk.rows)
        if summary is not Summary.NONE:
            tally.add(answered)
        if summary is not Summary.ONLY:
            yield from writer.rows(chunk, answered.only(plan.shown))
    if summary is not Summary.NONE:
        yield from writer.summary(tally.told())
    yield from writer.end()
