"""Texts of cells as the columns of members."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from .members import Member
from .texts import holds_any

__all__ = ["member_columns", "value_of_text"]

_NUMBER = r"^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?$"


def member_columns(
    texts: Mapping[str, pa.StringArray], members: Mapping[str, Member]
) -> tuple[dict[str, pa.Array], dict[int, dict[str, Any]]]:
    """The columns of the members, an empty cell being null; and by row what does not fit its column, as it stands."""
    columns: dict[str, pa.Array] = {}
    odd: dict[int, dict[str, Any]] = {}
    for name, member in members.items():
        cells = texts[name]
        empty = pc.equal(cells, "")
        if pc.any(empty, min_count=0).as_py():
            cells = pc.if_else(empty, pa.scalar(None, pa.string()), cells)
        columns[name] = cells if member.arrow_type == pa.string() else _typed(cells, member, odd)
    return columns, odd


def value_of_text(text: str, member: Member) -> Any:
    """What a text stands for; a text that does not fit stays one, for the schema to say so."""
    cells = pa.array([text])
    odd: dict[int, dict[str, Any]] = {}
    column = cells if member.arrow_type == pa.string() else _typed(cells, member, odd)
    return odd[0][member.path] if odd else column[0].as_py()


def _typed(cells: pa.StringArray, member: Member, odd: dict[int, dict[str, Any]]) -> pa.Array:
    if member.kind == "flag":
        words = pc.utf8_lower(cells)
        fits = pc.or_(pc.is_in(words, pa.array(["true", "false"])), cells.is_null())
        column = pc.equal(words, "true")
    else:
        # Arrow reads "0x3" as 3.
        column = None if holds_any(cells, b"xX") else _cast(cells, member.arrow_type)
        if column is not None and not (pa.types.is_floating(column.type) and _has_words(column)):
            return column
        fits = pc.match_substring_regex(cells, _NUMBER)
        column = pc.cast(
            pc.utf8_ltrim(pc.if_else(fits, cells, pa.scalar(None, pa.string())), "+"), pa.float64()
        )
        if member.kind == "whole":
            whole = pc.and_(fits, pc.equal(column, pc.floor(column)))
            whole = pc.and_(whole, pc.less(pc.abs(column), 2.0**53))
            for row in np.flatnonzero(_known(pc.and_(fits, pc.invert(whole)))).tolist():
                odd.setdefault(row, {})[member.path] = column[row].as_py()
            column = pc.cast(pc.if_else(whole, column, pa.scalar(None, pa.float64())), pa.int64())
    for row in np.flatnonzero(_known(pc.invert(fits))).tolist():
        odd.setdefault(row, {})[member.path] = cells[row].as_py()
    return pc.if_else(fits, column, pa.scalar(None, column.type))


def _cast(cells: pa.StringArray, arrow_type: pa.DataType) -> pa.Array | None:
    try:
        return pc.cast(cells, arrow_type)
    except pa.ArrowInvalid:
        return None


def _has_words(column: pa.Array) -> bool:
    """Whether a number was spelled "nan" or "inf", which are none here."""
    return not bool(pc.all(pc.is_finite(column), min_count=0).as_py())


def _known(mask: pa.Array) -> np.ndarray:
    return np.asarray(mask.fill_null(False).to_numpy(zero_copy_only=False))
