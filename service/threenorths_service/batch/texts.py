"""Columns of texts as they lie in memory: joined row by row, searched, taken out whole."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

import numpy as np
import orjson
import pyarrow as pa
import pyarrow.compute as pc

__all__ = ["as_texts", "bytes_of", "holds_any", "joined"]

_LOWEST_PRINTED = 0x20


def as_texts(column: pa.Array) -> pa.StringArray:
    """The values as Arrow writes them; bytes that are no text in base 64, and what has values within as JSON."""
    if pa.types.is_string(column.type):
        return column
    if not (pa.types.is_nested(column.type) or pa.types.is_dictionary(column.type)):
        with suppress(pa.ArrowNotImplementedError, pa.ArrowInvalid):
            return pc.cast(column, pa.string())
    values = [None if value is None else _by_value(value) for value in column.to_pylist()]
    return pa.array(values, pa.string())


def _by_value(value: Any) -> str:
    if isinstance(value, bytes):
        return base64.b64encode(value).decode()
    if isinstance(value, (list, dict)):
        return orjson.dumps(value, default=_by_value).decode()
    return str(value)


def bytes_of(texts: pa.StringArray) -> bytes:
    """All texts one after the other."""
    _validity, offsets, data = texts.buffers()
    if data is None or not len(texts):
        return b""
    bounds = np.frombuffer(offsets, dtype=np.int32)[[texts.offset, texts.offset + len(texts)]]
    return bytes(data.slice(int(bounds[0]), int(bounds[1] - bounds[0])))


def holds_any(texts: pa.StringArray, marks: bytes, *, unprinted: bool = False) -> bool:
    """Whether any of the texts has one of these bytes in it, or with ``unprinted`` one below the space."""
    data = bytes_of(texts)
    if any(mark in data for mark in marks):
        return True
    return unprinted and bool(data) and int(np.frombuffer(data, dtype=np.uint8).min()) < _LOWEST_PRINTED


def joined(parts: Sequence[Any], count: int) -> pa.StringArray:
    """The parts of each row one after the other; a part is a column, in which null is nothing, or a text for all rows."""
    merged: list[Any] = []
    for part in parts:
        if not isinstance(part, str) and part.null_count == len(part):
            continue
        if isinstance(part, str) and merged and isinstance(merged[-1], str):
            merged[-1] += part
        else:
            merged.append(part)
    if all(isinstance(part, str) for part in merged):
        return pa.repeat(pa.scalar("".join(merged), pa.string()), count)
    columns = [
        part if isinstance(part, str) or not part.null_count else part.fill_null("") for part in merged
    ]
    return pc.binary_join_element_wise(*columns, "")
