"""Rows of newline-delimited JSON: an object a line, each the body of a single request with what else the caller likes.

A block of lines is read by Arrow into columns; a block whose lines differ in the types of their members, or are no objects,
is read line by line. Either way a line is carried through as it came.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.json as arrow_json

from ..operations.operation import Operation
from .chunks import CELLS_AT_ONCE, MOST_COLUMNS, Chunk, Source, reserved, rows_at_once
from .faults import BatchError, Broken
from .members import Member, likely_meant, members_of
from .ndjson_lines import (
    LONGEST_LINE_BYTES,
    MOST_BRACKETS,
    blocks_of,
    brackets,
    lines_of,
    object_of,
    shown,
    why_no_object,
)
from .ndjson_names import Names
from .ndjson_table import LARGEST_WHOLE, exact, leaves_of, table_of, wider
from .rows import Fault, Rows

__all__ = ["NdjsonReader"]

#: Lines that differ are worked on in so many at a time: each member that any has is a column of all of them.
LINES_ONE_BY_ONE = 2048

#: The columns of members, by row what does not fit them and what is no row, and the lines as texts where they are not as they
#: came.
_Found = tuple[dict[str, pa.Array], dict[int, dict[str, Any]], dict[int, Fault], list[str | None] | None]


class NdjsonReader:
    """The rows of a stream of newline-delimited JSON."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._members = members_of(source.operation)
        self._roots = frozenset(path.partition(".")[0] for path in self._members)
        steps = [path.split(".") for path in self._members]
        #: What a member is within, and every member.
        self._homes = frozenset(
            ".".join(parts[: count + 1]) for parts in steps for count in range(len(parts))
        )
        self._names = Names()
        self._table_types: dict[str, pa.DataType] | None = None

    def carried_types(self) -> Mapping[str, pa.DataType]:
        """The members of all lines as columns by path, which asks for a look at the whole stream beforehand.

        Lists are JSON and numbers are numbers where no row has anything else; elsewhere they are text, as they are written.
        """
        if self._table_types is None:
            types: dict[str, pa.DataType] = {}
            for block, _offset, _ended in blocks_of(self._source.file):
                for line in block.split(b"\n"):
                    read = object_of(line) or {}
                    for path, value in leaves_of("", exact(line.decode(), read) if read else read):
                        if not reserved(path):
                            types[path] = wider(types.get(path), value)
                    if len(types) > MOST_COLUMNS:
                        message = f"the rows have more than {MOST_COLUMNS} different members: ask for JSON, not for a table"
                        raise BatchError("too_many_columns", message)
            self._table_types = types
        return self._table_types

    def chunks(self) -> Iterator[Chunk | Broken]:
        """The rows, a block of the stream at a time."""
        row, offset = 1, 0
        for block, offset, ended in blocks_of(self._source.file):
            lines, starts = lines_of(block)
            cut = self._source.cut
            unfinished = (
                not ended and len(lines) > 0 and (cut is not None or object_of(lines[-1].as_py()) is None)
            )
            if unfinished:
                lines = lines[:-1]
            for part in _parts(lines, rows_at_once(len(self._table_types or ()))):
                for chunk in self._chunks(part, row):
                    yield chunk
                    row += chunk.rows.count
            if unfinished:
                why = cut or "the last line is no whole JSON object"
                yield Broken(row, offset + int(starts[-1]), why)
                return
            offset += len(block)
        if self._source.cut is not None:
            yield Broken(row, offset, self._source.cut)

    def _chunks(self, lines: pa.BinaryArray, row: int) -> Iterator[Chunk]:
        """Lines that are alike in one chunk; others in smaller ones, of which those go line by line that have to."""
        found = self._at_once(lines)
        if found is not None:
            yield self._chunk(lines, row, found)
            return
        for part in _parts(lines, LINES_ONE_BY_ONE):
            found = self._at_once(part) if len(lines) > LINES_ONE_BY_ONE else None
            yield self._chunk(part, row, found or self._line_by_line(part))
            row += len(part)

    def _chunk(self, lines: pa.BinaryArray, first_row: int, found: _Found) -> Chunk:
        columns, odd, faults, objects = found
        source = self._source
        rows = Rows(len(lines), columns, self._members, source.common, odd, faults)
        texts = pa.array(objects, pa.string()) if objects is not None else lines.cast(pa.string())
        carried = {} if self._table_types is None else table_of(texts, self._table_types)
        return Chunk(rows, first_row, carried, texts)

    def _at_once(self, lines: pa.BinaryArray) -> _Found | None:
        """The columns of lines that Arrow reads as they are; ``None`` where they have to be looked at one by one."""
        first = object_of(lines[0].as_py())
        if pc.max(pc.binary_length(lines)).as_py() > LONGEST_LINE_BYTES:
            return None
        framed = pc.and_(pc.starts_with(lines, b"{"), pc.ends_with(lines, b"}"))
        if first is None or not pc.all(framed).as_py():
            return None
        block = bytes(pc.binary_join(pa.ListArray.from_arrays([0, len(lines)], lines), b"\n")[0].as_buffer())
        # Arrow reads NaN and Inf, which are no JSON, and makes a column for each name, whether lines have it or not.
        no_number = (b"N" in block and b"NaN" in block) or (b"I" in block and b"Inf" in block)
        if no_number or self._names.most(block, first) * len(lines) > CELLS_AT_ONCE:
            return None
        # Arrow goes down into each on the stack. With one bracket a line there is nothing to go down into.
        if brackets(block) > len(lines) and max(map(brackets, block.split(b"\n"))) > MOST_BRACKETS:
            return None
        try:
            str(block, "utf-8")
            table = arrow_json.read_json(
                pa.BufferReader(block),
                arrow_json.ReadOptions(use_threads=False, block_size=len(block) + 1),
                arrow_json.ParseOptions(explicit_schema=self._schema(first)),
            )
        except (pa.ArrowInvalid, pa.ArrowNotImplementedError, UnicodeDecodeError):
            return None
        if table.num_rows != len(lines):
            return None
        columns: dict[str, pa.Array] = {}
        for name, column in zip(table.column_names, table.columns, strict=True):
            if name in self._roots:
                if not self._flattened(name, column.combine_chunks(), columns):
                    return None
            elif not self._is_own(name) or "." in name:
                return None
        return columns, {}, {}, None

    def _is_own(self, name: str) -> bool:
        return not reserved(name) and likely_meant(self._source.operation, name) is None

    def _schema(self, first: Mapping[str, Any]) -> pa.Schema:
        """The types of the members, of those that may be a text or an object as the first line has it."""
        fields = []
        for root in self._roots:
            value = first.get(root)
            arrow_type = self._type_of(root, value)
            if arrow_type is not None:
                fields.append(pa.field(root, arrow_type))
        return pa.schema(fields)

    def _type_of(self, path: str, value: Any) -> pa.DataType | None:
        if path not in self._homes:
            return None
        if isinstance(value, dict):
            known = [(name, self._type_of(f"{path}.{name}", below)) for name, below in value.items()]
            return pa.struct([pa.field(name, found) for name, found in known if found is not None])
        if isinstance(value, list):
            inner = self._type_of(f"{path}.0", value[0]) if value else None
            return None if inner is None else pa.list_(inner)
        member = self._members.get(path)
        return None if member is None or member.kind == "json" else member.arrow_type

    def _flattened(self, path: str, column: pa.Array, columns: dict[str, pa.Array]) -> bool:
        """Put the columns of a member and those within it into ``columns``; false where it does not fit them."""
        if path not in self._homes and _general(path) not in self._homes:
            return False
        if pa.types.is_null(column.type) or column.null_count == len(column):
            return True
        if pa.types.is_struct(column.type):
            names = [field.name for field in column.type]
            parts = column.flatten()
            if any("." in name for name in names) or pc.any(_empty_objects(column, parts)).as_py():
                return False
            return all(
                self._flattened(f"{path}.{name}", part, columns)
                for name, part in zip(names, parts, strict=True)
            )
        if pa.types.is_list(column.type):
            lengths = pc.list_value_length(column)
            length = lengths[0].as_py()
            if column.null_count or not length or not pc.all(pc.equal(lengths, length)).as_py():
                return False
            values = column.flatten()
            places = pa.array(np.arange(len(column)) * length)
            return all(
                self._flattened(f"{path}.{place}", values.take(pc.add(places, place)), columns)
                for place in range(length)
            )
        member = self._members.get(_general(path))
        if member is None or member.kind == "json" or column.type != member.arrow_type:
            return False
        columns[path] = column
        return True

    def _line_by_line(self, lines: pa.BinaryArray) -> _Found:
        values: dict[str, list[Any]] = {}
        odd: dict[int, dict[str, Any]] = {}
        faults: dict[int, Fault] = {}
        objects: list[str | None] = []
        for row, line in enumerate(lines.to_pylist()):
            value = object_of(line)
            objects.append(None if value is None else line.decode())
            if value is None:
                faults[row] = Fault("malformed_row", None, f"{why_no_object(line)}: {shown(line)}")
                continue
            for name, member in value.items():
                if member is None and not reserved(name):
                    continue
                if name in self._roots:
                    fitting: dict[str, Any] = {}
                    if self._fits(name, _without_nulls(member), fitting):
                        for path, each in fitting.items():
                            values.setdefault(path, [None] * len(lines))[row] = each
                    else:
                        odd.setdefault(row, {})[name] = _without_nulls(member)
                elif not self._is_own(name):
                    faults[row] = _unknown(self._source.operation, name)
        columns = {
            path: pa.array(column, self._members[_general(path)].arrow_type)
            for path, column in values.items()
        }
        return columns, odd, faults, objects

    def _fits(self, path: str, value: Any, fitting: dict[str, Any]) -> bool:
        """Whether a member fits its columns; its values by path are put into ``fitting``."""
        if isinstance(value, dict):
            return bool(value) and all(
                "." not in name and not name.isdigit() and self._fits(f"{path}.{name}", below, fitting)
                for name, below in value.items()
            )
        if isinstance(value, list):
            member = self._members.get(_general(path))
            within = member is not None and 0 < len(value) <= (member.most or 0)
            return within and all(
                isinstance(below, dict) and self._fits(f"{path}.{place}", below, fitting)
                for place, below in enumerate(value)
            )
        member = self._members.get(_general(path))
        if member is None or not _is_of(member, value):
            return False
        fitting[path] = value
        return True


def _parts(lines: pa.BinaryArray, most: int) -> Iterator[pa.BinaryArray]:
    """So many lines at a time."""
    for start in range(0, len(lines), most):
        yield lines.slice(start, most)


def _is_of(member: Member, value: Any) -> bool:
    if member.kind == "text":
        return isinstance(value, str)
    if member.kind == "flag":
        return isinstance(value, bool)
    if member.kind == "json" or isinstance(value, (bool, str)) or value is None:
        return False
    return (isinstance(value, int) or member.kind != "whole") and abs(value) < LARGEST_WHOLE


def _general(path: str) -> str:
    """The path with 0 for every place in a list."""
    return ".".join("0" if part.isdigit() else part for part in path.split("."))


def _unknown(operation: Operation, name: str) -> Fault:
    if reserved(name):
        return Fault("reserved_column", name, f"a member {name!r} is what the answer adds: rename yours")
    meant = likely_meant(operation, name)
    if meant == name:
        home, _, within = name.rpartition(".")
        message = f"in JSON {name!r} is an object within an object: {home!r} with {within!r} in it"
        return Fault("unknown_member", name, message)
    message = (
        f"there is no member {name!r}: was {meant!r} meant? A member of your own needs a name less like it"
    )
    return Fault("unknown_member", name, message)


def _without_nulls(value: Any) -> Any:
    if isinstance(value, list):
        return [_without_nulls(below) for below in value]
    if not isinstance(value, dict):
        return value
    return {name: _without_nulls(below) for name, below in value.items() if below is not None}


def _empty_objects(column: pa.StructArray, parts: list[pa.Array]) -> pa.BooleanArray:
    """Where there is an object with nothing in it, which is not the same as none."""
    empty = column.is_valid()
    for part in parts:
        empty = pc.and_(empty, part.is_null())
    return empty
