"""Answers in Arrow: a stream of record batches, read as a table."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from .batch_answers import MALFORMED, Break, SentAnswer, ordered_columns
from .batch_pieces import Misfit
from .optional_libraries import library

__all__ = ["conformed", "joined_tables", "misfit_table", "read_arrow", "unified_schema"]


def read_arrow(body: bytes, rows_before: int) -> SentAnswer:
    """The answer, its errors numbered as in the source, where ``rows_before`` come before it.

    Raises ``ValueError`` for what is none.
    """
    pa = library("pyarrow", "an answer in Arrow")
    try:
        table = pa.ipc.open_stream(body).read_all()
    except (pa.ArrowException, OSError) as error:
        raise ValueError(str(error)) from error
    if "error.code" not in table.column_names:
        raise ValueError("it has no column error.code")
    summary, broken = None, None
    while table.num_rows and (closing := _closing(table)) is not None:
        table = table.slice(0, table.num_rows - 1)
        if isinstance(closing, Break):
            broken = closing
        else:
            summary = closing
    if "summary" in table.column_names:
        table = table.drop_columns(["summary"])
    bad_rows = table.num_rows - table["error.code"].null_count
    if bad_rows:
        table = _renumbered(pa, table, rows_before)
    return SentAnswer(b"", [], table, bad_rows, summary, broken)


def _closing(table: Any) -> dict[str, Any] | Break | None:
    """The record at the end of an answer that is no row."""
    last = table.slice(table.num_rows - 1)
    said = {name: _plain(last[name][0]) for name in table.column_names if _stands(last[name])}
    if said.keys() == {"summary"}:
        summary = said["summary"]
        return dict(json.loads(summary) if isinstance(summary, str) else summary)
    if said.get("error.code") == MALFORMED and all(name.startswith("error.") for name in said):
        return Break(said.get("error.text") or "", said.get("error.row"), said.get("error.byte"))
    return None


def _stands(column: Any) -> bool:
    return bool(column.null_count == 0)


def _plain(scalar: Any) -> Any:
    return scalar.as_py()


def _renumbered(pa: Any, table: Any, rows_before: int) -> Any:
    pc = library("pyarrow.compute", "an answer in Arrow")
    rows = pc.add(table["error.row"].cast(pa.int64()), rows_before)
    return table.set_column(table.column_names.index("error.row"), "error.row", rows)


def misfit_table(misfit: Misfit) -> Any:
    """The table of the one row that stands for a row that could not be read."""
    pa = library("pyarrow", "an answer in Arrow")
    return pa.table(
        {
            "error.code": pa.array([MALFORMED], pa.string()),
            "error.text": pa.array([misfit.text], pa.string()),
            "error.row": pa.array([misfit.number], pa.int64()),
            "error.byte": pa.array([misfit.byte], pa.int64()),
        }
    )


def joined_tables(tables: Sequence[Any]) -> Any:
    """The tables one below the other, where each may know columns, and kinds of numbers, that another does not."""
    pa = library("pyarrow", "an answer in Arrow")
    if not tables:
        return pa.table({})
    schema = unified_schema([table.schema for table in tables])
    return pa.concat_tables([conformed(table, schema) for table in tables])


def unified_schema(schemas: Sequence[Any]) -> Any:
    """One schema for all; a column whose kinds cannot be brought together is JSON."""
    pa = library("pyarrow", "an answer in Arrow")
    fields: dict[str, Any] = {}
    for field in (field for schema in schemas for field in schema):
        known = fields.setdefault(field.name, field.with_nullable(True))
        if known.type == field.type:
            continue
        pair = [pa.schema([known]), pa.schema([field])]
        try:
            fields[field.name] = pa.unify_schemas(pair, promote_options="permissive").field(0)
        except (pa.ArrowTypeError, pa.ArrowInvalid):
            fields[field.name] = pa.field(field.name, pa.json_())
    return pa.schema([fields[name] for name in ordered_columns(list(fields))])


def conformed(table: Any, schema: Any) -> Any:
    """The table with the columns of ``schema``, which has all of its own."""
    pa = library("pyarrow", "an answer in Arrow")
    columns = [
        _cast(pa, table[field.name], field.type)
        if field.name in table.column_names
        else pa.nulls(table.num_rows, field.type)
        for field in schema
    ]
    return pa.table(columns, schema=schema)


def _cast(pa: Any, column: Any, kind: Any) -> Any:
    if column.type == kind:
        return column
    if kind == pa.json_() and not pa.types.is_null(column.type):
        texts = [None if value is None else json.dumps(value) for value in column.to_pylist()]
        return pa.ExtensionArray.from_storage(kind, pa.array(texts, pa.string()))
    return column.cast(kind)
