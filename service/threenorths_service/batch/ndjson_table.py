"""Lines of JSON as the columns of a table, for answers in a medium of columns."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

import orjson
import pyarrow as pa

from .answers import JSON_TYPE

__all__ = ["LARGEST_WHOLE", "exact", "leaves_of", "table_of", "wider"]

#: Whole numbers beyond are not told apart by a double.
LARGEST_WHOLE = 2**53
_LONG = re.compile("[0-9]{17}")


def leaves_of(prefix: str, value: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """The members that are no objects, by path."""
    for name, member in value.items():
        if isinstance(member, dict):
            yield from leaves_of(f"{prefix}{name}.", member)
        elif member is not None:
            yield f"{prefix}{name}", member


def exact(text: str, read: dict[str, Any]) -> Any:
    """A line of JSON with its whole numbers to the last digit; it was ``read`` so that those that are long are doubles."""
    return json.loads(text) if _LONG.search(text) else read


def wider(known: pa.DataType | None, value: Any) -> pa.DataType:
    """The type of a column that holds the value besides what it held."""
    if isinstance(value, list):
        own = JSON_TYPE
    elif isinstance(value, bool):
        own = pa.bool_()
    elif isinstance(value, int) and abs(value) < LARGEST_WHOLE:
        own = pa.int64()
    else:
        own = pa.float64() if isinstance(value, float) else pa.string()
    if known is None or known == own:
        return own
    return pa.float64() if {known, own} == {pa.int64(), pa.float64()} else pa.string()


def table_of(texts: pa.StringArray, types: Mapping[str, pa.DataType]) -> dict[str, pa.Array]:
    """The columns of these types, by path, of lines of JSON; of a line that is null, nulls."""
    values: dict[str, list[Any]] = {name: [] for name in types}
    for text in texts.to_pylist():
        leaves = dict(leaves_of("", exact(text, orjson.loads(text)))) if text is not None else {}
        for name, arrow_type in types.items():
            value = leaves.get(name)
            as_text = arrow_type in (pa.string(), JSON_TYPE) and value is not None
            if as_text and (arrow_type == JSON_TYPE or not isinstance(value, str)):
                value = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
            values[name].append(value)
    return {name: _array_of(values[name], arrow_type) for name, arrow_type in types.items()}


def _array_of(values: list[Any], arrow_type: pa.DataType) -> pa.Array:
    if arrow_type == JSON_TYPE:
        return pa.ExtensionArray.from_storage(JSON_TYPE, pa.array(values, pa.string()))
    return pa.array(values, arrow_type)
