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
    """The values as Arrow writes them; bytes in base 64, and what has values within as JSON."""
    kind = column.type
    if pa.types.is_string(kind):
        return column
    # Of bytes Arrow takes those for text that may be one, and so other values of a column otherwise than their neighbours.
    if not (pa.types.is_nested(kind) or pa.types.is_dictionary(kind) or _is_of_bytes(kind)):
        with suppress(pa.ArrowNotImplementedError, pa.ArrowInvalid):
            return pc.cast(column, pa.string())
    values = [None if value is None else _by_value(value) for value in _values(column)]
    return pa.array(values, pa.string())


def _is_of_bytes(kind: pa.DataType) -> bool:
    types = pa.types
    return bool(
        types.is_binary(kind)
        or types.is_large_binary(kind)
        or types.is_fixed_size_binary(kind)
        or types.is_binary_view(kind)
    )


def _values(column: pa.Array) -> list[Any]:
    """The values as Python has them; those that it cannot hold, such as moments after the year 9999, as numbers."""
    try:
        return column.to_pylist()  # type: ignore[no-any-return]  # pyarrow is untyped
    except (OverflowError, ValueError):
        return [_value(scalar) for scalar in column]


def _value(scalar: pa.Scalar) -> Any:
    try:
        return scalar.as_py()
    except (OverflowError, ValueError):
        if isinstance(scalar, pa.StructScalar):
            return {name: _value(scalar[name]) for name in scalar}
        if isinstance(scalar, (pa.ListScalar, pa.LargeListScalar, pa.FixedSizeListScalar)):
            return [_value(each) for each in scalar.values]
        with suppress(pa.ArrowException):
            return str(scalar.cast(pa.int64()).as_py())
        return None


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
