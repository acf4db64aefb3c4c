"""JSON written from Arrow columns, all rows at once: texts are joined as columns, no row is looked at by itself."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import orjson
import pyarrow as pa
import pyarrow.compute as pc

from .answers import JSON_TYPE
from .texts import as_texts, holds_any, joined

__all__ = ["json_of", "members_text", "object_texts", "read_json", "tree_of"]

#: An object by its members: each is a column, or an object again.
Tree = dict[str, Any]
#: What JSON escapes in a text, besides what is not printed.
_ESCAPED = b'"\\'


def tree_of(columns: Mapping[str, pa.Array]) -> Tree:
    """Columns by path as the tree that their paths make. A path that is also the beginning of others stands by itself."""
    tree: Tree = {}
    for path, column in columns.items():
        *homes, name = path.split(".")
        home: Any = tree
        for part in homes:
            home = home.setdefault(part, {}) if isinstance(home, dict) else None
            if not isinstance(home, dict):
                break
        if isinstance(home, dict) and name not in home:
            home[name] = column
        else:
            tree[path] = column
    return tree


def object_texts(tree: Tree, count: int) -> pa.StringArray:
    """The objects as JSON; an object within whose members are all null is null."""
    return joined(["{", *members_text(tree, count), "}"], count)


def members_text(tree: Tree, count: int) -> list[Any]:
    """The parts, literals and columns, that joined are the members of the objects, with commas between."""
    parts: list[Any] = []
    for name, below in tree.items():
        parts.append(("," if parts else "") + json.dumps(name, ensure_ascii=False) + ":")
        if not isinstance(below, dict):
            parts.append(json_of(below))
            continue
        within = object_texts(below, count)
        nothing = _all_null(below)
        parts.append(within if nothing is None else pc.if_else(nothing, "null", within))
    return parts


def json_of(column: pa.Array) -> pa.StringArray:
    """Each value as JSON; null is the text ``null``."""
    if isinstance(column, pa.ExtensionArray):
        texts = column.storage if column.type == JSON_TYPE else json_of(column.storage)
    elif pa.types.is_null(column.type):
        texts = pa.nulls(len(column), pa.string())
    elif pa.types.is_floating(column.type):
        texts = _numbers(column)
    elif pa.types.is_integer(column.type) or pa.types.is_boolean(column.type):
        texts = pc.cast(column, pa.string())
    elif pa.types.is_nested(column.type):
        texts = as_texts(column)
    else:
        texts = _quoted(as_texts(column))
    return texts.fill_null("null") if texts.null_count else texts


def read_json(column: pa.Array) -> pa.Array:
    """A column of somebody else's JSON with each value on one line, and as a text where it is no JSON after all."""
    values = [None if text is None else _read(text) for text in column.storage.to_pylist()]
    return pa.ExtensionArray.from_storage(JSON_TYPE, pa.array(values, pa.string()))


def _read(text: str) -> str:
    try:
        return orjson.dumps(orjson.loads(text)).decode()
    except orjson.JSONDecodeError:
        return json.dumps(text, ensure_ascii=False)


def _numbers(column: pa.Array) -> pa.StringArray:
    """Numbers as the shortest text that reads as the same; JSON has no NaN and no infinity."""
    if not pc.all(pc.is_finite(column), min_count=0).as_py():
        column = pc.if_else(pc.is_finite(column), column, pa.scalar(None, column.type))
    return pc.cast(column, pa.string())


def _quoted(texts: pa.StringArray) -> pa.StringArray:
    if holds_any(texts, _ESCAPED, unprinted=True):
        values = [
            None if text is None else json.dumps(text, ensure_ascii=False) for text in texts.to_pylist()
        ]
        return pa.array(values, pa.string())
    return pc.binary_join_element_wise('"', texts, '"', "")


def _all_null(tree: Tree) -> pa.BooleanArray | None:
    """Where all members are null; ``None`` where that is nowhere."""
    nothing: pa.BooleanArray | None = None
    for below in tree.values():
        here = _all_null(below) if isinstance(below, dict) else below.is_null() if below.null_count else None
        if here is None:
            return None
        nothing = here if nothing is None else pc.and_(nothing, here)
    return nothing
