"""Answered rows written in each medium: what was carried through, then the answers, then the faults."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np
import orjson
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.ipc as arrow_ipc

from .answers import JSON_TYPE, storage_of, typed_as
from .chunks import Chunk
from .csv_text import cell_of, record_texts
from .faults import FAULT_TYPES, Broken, fault_columns, fault_object
from .json_text import members_text, object_texts, read_json, tree_of
from .plan import Answered, Plan
from .sink import Sink
from .texts import bytes_of, joined

__all__ = ["ArrowWriter", "CsvWriter", "NdjsonWriter", "TableSchema", "Writer"]

ANSWER = "answer."
#: The column of a summary, which only the last record has.
SUMMARY = "summary"


@dataclass(frozen=True)
class TableSchema:
    """The columns of an answered table, in order."""

    carried: Mapping[str, pa.DataType]
    plan: Plan
    summary: bool = False
    #: Whether JSON is plain text, for those who know no extension types.
    plain: bool = False

    @cached_property
    def arrow(self) -> pa.Schema:
        """As a schema of Arrow."""
        fields = [pa.field(name, arrow_type) for name, arrow_type in self.carried.items()]
        answers = {f"{ANSWER}{path}": self.plan.wanted[path].arrow_type for path in self.plan.shown}
        if self.plain:
            answers = {name: storage_of(arrow_type) for name, arrow_type in answers.items()}
        fields += [
            pa.field(name, arrow_type) for name, arrow_type in (*answers.items(), *FAULT_TYPES.items())
        ]
        return pa.schema([*fields, pa.field(SUMMARY, JSON_TYPE)] if self.summary else fields)

    def batch(self, chunk: Chunk, answered: Answered) -> pa.RecordBatch:
        """Answered rows as a record batch."""
        columns = [
            *chunk.carried.values(),
            *(_plain(column) if self.plain else column for column in answered.columns.values()),
            *fault_columns(answered.faults, answered.count, chunk.first_row).values(),
        ]
        if self.summary:
            columns.append(typed_as(pa.nulls(answered.count, pa.string()), JSON_TYPE))
        return pa.RecordBatch.from_arrays(columns, schema=self.arrow)

    def last(self, values: Mapping[str, Any]) -> pa.RecordBatch:
        """A record with only these columns."""
        columns = [
            typed_as(pa.array([values.get(field.name)], storage_of(field.type)), field.type)
            for field in self.arrow
        ]
        return pa.RecordBatch.from_arrays(columns, schema=self.arrow)


class Writer(Protocol):
    """Writes answered rows, and the records that stand last."""

    def begin(self) -> Iterator[bytes]:
        """What stands before the rows."""

    def rows(self, chunk: Chunk, answered: Answered) -> Iterator[bytes]:
        """Answered rows."""

    def broken(self, broken: Broken) -> Iterator[bytes]:
        """That the stream broke off here."""

    def summary(self, summary: Mapping[str, Any]) -> Iterator[bytes]:
        """What is to be said of all rows."""

    def end(self) -> Iterator[bytes]:
        """What stands behind the rows."""


class NdjsonWriter:
    """Newline-delimited JSON: each row as it came with ``answer`` or ``error`` added."""

    def begin(self) -> Iterator[bytes]:
        """Nothing stands before the rows."""
        return iter(())

    def rows(self, chunk: Chunk, answered: Answered) -> Iterator[bytes]:
        """The rows, joined as columns of texts."""
        count = answered.count
        opened = _opened(chunk)
        answers = object_texts(tree_of(answered.columns), count)
        texts = joined([opened, '"answer":', answers, "}\n"], count)
        if answered.faults:
            rows = np.array(sorted(answered.faults))
            faults = [
                orjson.dumps(fault_object(answered.faults[row], chunk.first_row + row)).decode()
                for row in rows.tolist()
            ]
            bad = pc.binary_join_element_wise(
                opened.take(pa.array(rows)), '"error":', pa.array(faults, pa.string()), "}\n", ""
            )
            mask = np.zeros(count, dtype=np.bool_)
            mask[rows] = True
            texts = pc.replace_with_mask(texts, pa.array(mask), bad)
        yield bytes_of(texts)

    def broken(self, broken: Broken) -> Iterator[bytes]:
        """A last line with the fault alone."""
        yield orjson.dumps({"error": fault_object(broken, broken.row)}) + b"\n"

    def summary(self, summary: Mapping[str, Any]) -> Iterator[bytes]:
        """A last line with the summary alone."""
        yield orjson.dumps({SUMMARY: summary}) + b"\n"

    def end(self) -> Iterator[bytes]:
        """Nothing stands behind the rows."""
        return iter(())


class ArrowWriter:
    """An Arrow IPC stream."""

    def __init__(self, schema: TableSchema) -> None:
        self._schema = schema
        self._sink = Sink()
        self._stream = arrow_ipc.new_stream(self._sink, schema.arrow)

    def begin(self) -> Iterator[bytes]:
        """The schema."""
        yield self._sink.taken()

    def rows(self, chunk: Chunk, answered: Answered) -> Iterator[bytes]:
        """A record batch."""
        self._stream.write_batch(self._schema.batch(chunk, answered))
        yield self._sink.taken()

    def broken(self, broken: Broken) -> Iterator[bytes]:
        """A record batch of one record, which has only the fault."""
        yield from self._last(_fault_values(broken))

    def summary(self, summary: Mapping[str, Any]) -> Iterator[bytes]:
        """A record batch of one record, which has only the summary."""
        yield from self._last({SUMMARY: orjson.dumps(summary).decode()})

    def _last(self, values: Mapping[str, Any]) -> Iterator[bytes]:
        self._stream.write_batch(self._schema.last(values))
        yield self._sink.taken()

    def end(self) -> Iterator[bytes]:
        """The end mark."""
        self._stream.close()
        yield self._sink.taken()


class CsvWriter:
    """CSV (RFC 4180), quoted only where it must be. Lists are JSON in their cells."""

    def __init__(self, schema: TableSchema) -> None:
        self._schema = schema

    def begin(self) -> Iterator[bytes]:
        """The header."""
        yield ",".join(cell_of(name) for name in self._schema.arrow.names).encode() + b"\n"

    def rows(self, chunk: Chunk, answered: Answered) -> Iterator[bytes]:
        """The records."""
        yield bytes_of(record_texts(self._schema.batch(chunk, answered)))

    def broken(self, broken: Broken) -> Iterator[bytes]:
        """A last record, which has only the fault."""
        yield bytes_of(record_texts(self._schema.last(_fault_values(broken))))

    def summary(self, summary: Mapping[str, Any]) -> Iterator[bytes]:
        """A last record, which has only the summary."""
        yield bytes_of(record_texts(self._schema.last({SUMMARY: orjson.dumps(summary).decode()})))

    def end(self) -> Iterator[bytes]:
        """Nothing stands behind the records."""
        return iter(())


def _opened(chunk: Chunk) -> pa.StringArray:
    """The rows as JSON objects whose end is still open: what follows is a member."""
    if chunk.lines is None:
        # Under the names that they have: two of them may be the beginning of each other.
        carried = {
            name: read_json(column) if column.type == JSON_TYPE else column
            for name, column in chunk.carried.items()
        }
        return pc.binary_join_element_wise("{", *members_text(carried, chunk.rows.count), ",", "")
    opened = pc.binary_slice(chunk.lines.cast(pa.binary()), 0, -1).cast(pa.string())
    if opened.null_count:
        opened = opened.fill_null("{")
    # An object with nothing in it wants no comma.
    bare = pc.ends_with(pc.utf8_rtrim_whitespace(opened), "{")
    if pc.any(bare, min_count=0).as_py():
        return pc.binary_join_element_wise(opened, pc.if_else(bare, "", ","), "")
    return pc.binary_join_element_wise(opened, ",", "")


def _fault_values(broken: Broken) -> dict[str, Any]:
    return {f"error.{name}": value for name, value in fault_object(broken, broken.row).items()}


def _plain(column: pa.Array) -> pa.Array:
    return column.storage if isinstance(column, pa.ExtensionArray) else column
