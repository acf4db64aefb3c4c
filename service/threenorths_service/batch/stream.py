"""A batch as a stream: what was taken in, answered chunk by chunk in constant memory."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from .arrow_rows import ArrowReader
from .chunks import Reader, Source
from .csv_rows import CsvReader
from .faults import Broken
from .ndjson_rows import NdjsonReader
from .plan import Plan
from .written import ArrowWriter, CsvWriter, NdjsonWriter, TableSchema, Writer

__all__ = ["ARROW", "CSV", "MEDIA", "NDJSON", "answer_stream"]

NDJSON = "application/x-ndjson"
CSV = "text/csv"
ARROW = "application/vnd.apache.arrow.stream"

_READERS: Mapping[str, Callable[[Source], Reader]] = MappingProxyType(
    {NDJSON: NdjsonReader, CSV: CsvReader, ARROW: ArrowReader}
)
#: The media of batches, both ways.
MEDIA = tuple(_READERS)


def answer_stream(source: Source, plan: Plan, medium: str, answer_medium: str) -> Iterator[bytes]:
    """The answer to a stream of one medium as the pieces of a stream of another.

    What is wrong with the stream as a whole is raised at once, as `BatchError`; what is wrong further on is told in the
    answer.
    """
    reader = _READERS[medium](source)
    writer: Writer
    if answer_medium == NDJSON:
        writer = NdjsonWriter()
    else:
        schema = TableSchema(reader.carried_types(), plan)
        writer = CsvWriter(schema) if answer_medium == CSV else ArrowWriter(schema)
    return _pieces(reader, plan, writer)


def _pieces(reader: Reader, plan: Plan, writer: Writer) -> Iterator[bytes]:
    yield from writer.begin()
    for chunk in reader.chunks():
        if isinstance(chunk, Broken):
            yield from writer.broken(chunk)
        else:
            yield from writer.rows(chunk, plan.answer(chunk.rows))
    yield from writer.end()
