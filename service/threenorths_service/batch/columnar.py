"""What a columnar function is: an operation for the rows of the plain kinds, all at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import orjson
import pyarrow as pa

from ..navmath.cautions import Caution
from ..navmath.rows import BoolArray
from .answers import JSON_TYPE
from .rows import Rows

__all__ = ["Columnar", "Plain", "cautions_column"]


NO_CAUTIONS = "[]"


@dataclass(frozen=True, slots=True)
class Plain:
    """The answers of the plain rows among those that were asked.

    Of each answer's member that has a column form, by path: what makes the column, for *all* rows asked; what it has where
    ``plain`` is false is not looked at. Only the columns that are wanted are made.
    """

    plain: BoolArray
    columns: Mapping[str, Callable[[], Any]]


@dataclass(frozen=True, slots=True)
class Columnar:
    """An operation over columns.

    Rows with any member that is not among ``members``, and rows that ``answer`` does not find plain, go one by one through
    the operation itself: so a columnar function only takes what it answers to the last digit as the operation does.
    """

    members: frozenset[str]
    #: The answer's columns that are given where none are named; each has a column form.
    usual: tuple[str, ...]
    answer: Callable[[Rows], Plain]


def cautions_column(count: int, cautions: Mapping[int, list[Caution]]) -> pa.Array | str:
    """The cautions of each row, most of which have none."""
    if not cautions:
        return NO_CAUTIONS
    texts = np.full(count, NO_CAUTIONS, dtype=object)
    for row, said in cautions.items():
        texts[row] = orjson.dumps([{"code": each.code, "message": each.message} for each in said]).decode()
    return pa.ExtensionArray.from_storage(JSON_TYPE, pa.array(texts, pa.string()))
