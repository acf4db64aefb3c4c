"""Members of a batch as their schema takes them, in columns: which rows fit it, and which rows ask alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TypeAlias, cast

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from marshmallow import Schema
from numpy.typing import NDArray

from ..navmath.angle import FloatArray
from ..navmath.rows import BoolArray, IntArray
from ..operations.fields import Choice, Number
from .rows import Rows

__all__ = ["Some", "choices_in", "groups_of", "kinds_of", "number_in", "numbers_in", "without_text"]

#: Some of the rows: a slice where they are all of them, which copies nothing.
Some: TypeAlias = slice | NDArray[np.intp]


def number_in(rows: Rows, schema: Schema, path: str) -> tuple[FloatArray, BoolArray]:
    """The numbers of a member, its default or NaN where there is none, and which rows fit what the schema allows."""
    field = cast(Number, schema.fields[path])
    default = np.nan if field.required or not isinstance(field.load_default, float) else field.load_default
    if not rows.has(path):
        return np.full(rows.count, default), np.full(rows.count, not field.required)
    values, own = numbers_in(rows, path, default)
    limits = field.limits
    fits = (values >= limits.get("minimum", -np.inf)) & (values <= limits.get("maximum", np.inf))
    if "exclusiveMinimum" in limits:
        fits &= values > limits["exclusiveMinimum"]
    if "exclusiveMaximum" in limits:
        fits &= values < limits["exclusiveMaximum"]
    if not field.required:
        fits |= ~rows.given(path)
    return values, fits & own & (np.isfinite(values) | np.isnan(values))


def numbers_in(rows: Rows, path: str, default: float = np.nan) -> tuple[FloatArray, BoolArray]:
    """The numbers of a member that may be a text instead, and where it is none: of all rows at once a member may be that."""
    if not isinstance(rows.common.get(path), str):
        return rows.numbers(path, default), np.ones(rows.count, dtype=np.bool_)
    own = without_text(rows, path)
    return own.numbers(path, default), own.given(path)


def without_text(rows: Rows, path: str) -> Rows:
    """The rows without what all of them have for a member."""
    return replace(rows, common={name: value for name, value in rows.common.items() if name != path})


def choices_in(rows: Rows, schema: Schema, path: str) -> tuple[IntArray, BoolArray]:
    """Which of a member's words each row has, as their number, or -1 for none; and which rows fit what the schema allows."""
    field = cast(Choice, schema.fields[path])
    default = field.choices.index(field.load_default) if field.load_default in field.choices else -1
    if not rows.has(path):
        return np.full(rows.count, default), np.full(rows.count, not field.required)
    if path not in rows.columns:
        word = rows.common[path]
        code = field.choices.index(word) if word in field.choices else -1
        return np.full(rows.count, code), np.full(rows.count, code >= 0)
    given = rows.given(path)
    found = pc.index_in(rows.texts(path), pa.array(field.choices)).fill_null(-1)
    codes = np.asarray(found.to_numpy(zero_copy_only=False), dtype=np.int64)
    fits = (codes >= 0) if field.required else (codes >= 0) | ~given
    return np.where(given, codes, default), fits


def groups_of(*masks: BoolArray) -> Iterator[tuple[tuple[bool, ...], Some]]:
    """The rows by what they have of each mask, those that have alike together."""
    kinds = np.zeros(masks[0].size, dtype=np.int64)
    for place, mask in enumerate(masks):
        kinds += mask.astype(np.int64) << place
    for kind, some in kinds_of(kinds):
        yield tuple(bool(kind >> place & 1) for place in range(len(masks))), some


def kinds_of(kinds: IntArray) -> Iterator[tuple[int, Some]]:
    """The rows by the number of their kind, those of one kind together."""
    if kinds.size == 0:
        return
    if (kinds == kinds[0]).all():
        yield int(kinds[0]), slice(None)
        return
    # Kinds are few and near to each other: counting them is quicker than sorting.
    least = int(kinds.min())
    for kind in (np.flatnonzero(np.bincount(kinds - least)) + least).tolist():
        yield kind, np.flatnonzero(kinds == kind)
