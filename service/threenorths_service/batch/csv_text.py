"""CSV written from Arrow columns, all rows at once, by the rules of RFC 4180."""

from __future__ import annotations

from typing import Any

import pyarrow as pa
import pyarrow.compute as pc

from .texts import as_texts, holds_any, joined

__all__ = ["cell_of", "record_texts"]

#: What a cell with any of these is quoted for.
_QUOTED = b'",\r\n'


def record_texts(batch: pa.RecordBatch) -> pa.StringArray:
    """The records, each with its line end; null is an empty cell."""
    parts: list[Any] = []
    for column in batch.columns:
        parts += [_cells(column), ","]
    parts[-1] = "\n"
    return joined(parts, batch.num_rows)


def cell_of(text: str) -> str:
    """One text as a cell."""
    return _cells(pa.array([text]))[0].as_py()  # type: ignore[no-any-return]  # pyarrow is untyped


def _cells(column: pa.Array) -> pa.StringArray:
    if isinstance(column, pa.ExtensionArray):
        column = column.storage
    texts = as_texts(column)
    if not _may_hold_text(column.type):
        return texts
    if not holds_any(texts, _QUOTED):
        return texts
    quoted = pc.match_substring_regex(texts, f"[{_QUOTED.decode()}]")
    return pc.if_else(
        quoted, pc.binary_join_element_wise('"', pc.replace_substring(texts, '"', '""'), '"', ""), texts
    )


def _may_hold_text(arrow_type: pa.DataType) -> bool:
    types = pa.types
    number = types.is_integer(arrow_type) or types.is_floating(arrow_type)
    return not (number or types.is_boolean(arrow_type) or types.is_null(arrow_type))
