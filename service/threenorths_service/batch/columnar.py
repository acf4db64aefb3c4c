"""What a columnar function is: an operation for the rows of the plain kinds, all at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from ..navmath.rows import BoolArray
from .rows import Rows

__all__ = ["Columnar", "Plain"]


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
