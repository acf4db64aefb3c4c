"""Rows of a batch as columns of an operation's members, and any of them as the body of a single request."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import orjson
import pyarrow as pa
from numpy.typing import NDArray

from ..navmath.angle import FloatArray
from ..navmath.rows import BoolArray
from .members import Member, parts_of

__all__ = ["Fault", "GivenTwiceError", "Rows", "body_of"]


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a row has no answer. ``member`` is the path of the column that is wrong, where one is."""

    code: str
    member: str | None
    text: str


class GivenTwiceError(ValueError):
    """A row gives a member as a whole as well as by its parts."""

    def __init__(self, path: str) -> None:
        super().__init__(f"the row gives {path} as a whole as well as by its parts: give just one of them")
        self.path = path


@dataclass(slots=True)
class Rows:
    """The rows of a batch by columns, each of its member's type, with a null where a row has no such member.

    ``common`` are the members that all rows have, each where a row has none of its own.
    """

    count: int
    columns: dict[str, pa.Array]
    members: Mapping[str, Member]
    common: Mapping[str, Any] = field(default_factory=dict)
    #: By row, what does not fit the type of its column, as it came.
    odd: dict[int, dict[str, Any]] = field(default_factory=dict)
    #: By row, why it is none at all.
    faults: dict[int, Fault] = field(default_factory=dict)

    def has(self, path: str) -> bool:
        """Whether any row may have the member."""
        return path in self.columns or path in self.common

    def given(self, path: str) -> BoolArray:
        """Which rows have the member."""
        if path in self.common:
            return np.ones(self.count, dtype=np.bool_)
        if path not in self.columns:
            return np.zeros(self.count, dtype=np.bool_)
        return _mask(self.columns[path].is_valid())

    def numbers(self, path: str, default: float = np.nan) -> FloatArray:
        """The member's numbers, and the default where a row has none."""
        default = float(self.common.get(path, default))
        column = self.columns.get(path)
        if column is None:
            return np.full(self.count, default)
        values = np.array(column.to_numpy(zero_copy_only=False), dtype=np.float64)
        if column.null_count:
            values[_mask(column.is_null())] = default
        return values

    def texts(self, path: str, default: str = "") -> pa.StringArray:
        """The member's texts, and the default where a row has none."""
        default = str(self.common.get(path, default))
        column = self.columns.get(path)
        if column is None:
            return pa.repeat(pa.scalar(default, pa.string()), self.count)
        return column.fill_null(default) if column.null_count else column

    def flags(self, path: str) -> BoolArray:
        """Whether the member is true."""
        default = bool(self.common.get(path, False))
        column = self.columns.get(path)
        if column is None:
            return np.full(self.count, default)
        return _mask(column.fill_null(default))

    def beyond(self, known: Iterable[str]) -> BoolArray:
        """The rows that have members other than those of ``known``, or values that do not fit, or that are no rows."""
        known = frozenset(known)
        beyond = np.zeros(self.count, dtype=np.bool_)
        if any(path not in known for path in self.common):
            beyond[:] = True
        for path, column in self.columns.items():
            if path not in known and column.null_count < self.count:
                beyond |= _mask(column.is_valid())
        for row in (*self.odd, *self.faults):
            beyond[row] = True
        return beyond

    def taken(self, rows: NDArray[np.intp]) -> Rows:
        """Only these rows, which have nothing odd and are no faults."""
        indices = pa.array(rows)
        columns = {path: column.take(indices) for path, column in self.columns.items()}
        return Rows(len(rows), columns, self.members, self.common)

    def bodies(self, rows: NDArray[np.intp]) -> list[dict[str, Any] | GivenTwiceError]:
        """The bodies of single requests that ask what these rows do."""
        indices = pa.array(rows)
        taken = {path: column.take(indices).to_pylist() for path, column in self.columns.items()}
        bodies: list[dict[str, Any] | GivenTwiceError] = []
        for place, row in enumerate(rows.tolist()):
            values = {path: column[place] for path, column in taken.items() if column[place] is not None}
            values.update(self.odd.get(row, {}))
            for path, member in self.members.items():
                if member.kind == "json" and isinstance(values.get(path), str):
                    values[path] = _parsed(values[path])
            try:
                bodies.append(_over(body_of(self.common), body_of(values)))
            except GivenTwiceError as error:
                bodies.append(error)
        return bodies


def body_of(values: Mapping[str, Any]) -> dict[str, Any]:
    """The object with these members by path; a member may be an object itself. Raises `GivenTwiceError`."""
    body: dict[str, Any] = {}
    for path, value in values.items():
        parts: list[Any] = parts_of(path)
        home: Any = body
        for part, following in zip(parts, [*parts[1:], None], strict=True):
            if isinstance(home, list):
                home.extend({} for _ in range(part + 1 - len(home)))
            elif not isinstance(home, dict) or (following is None and part in home):
                raise GivenTwiceError(str(parts[0]))
            if following is None:
                home[part] = value
            elif isinstance(home, list):
                home = home[part]
            else:
                home = home.setdefault(part, [] if isinstance(following, int) else {})
    return body


def _over(common: Any, own: Any) -> Any:
    """The row's own members before those that all have, object by object and place by place."""
    if isinstance(common, dict) and isinstance(own, dict):
        merged = dict(common)
        for name, value in own.items():
            merged[name] = _over(merged[name], value) if name in merged else value
        return merged
    if isinstance(common, list) and isinstance(own, list):
        pairs = [_over(below, value) for below, value in zip(common, own, strict=False)]
        return [*pairs, *own[len(pairs) :], *common[len(pairs) :]]
    return own


def _parsed(text: str) -> Any:
    try:
        return orjson.loads(text)
    except orjson.JSONDecodeError:
        return text  # the schema says what is wrong with it


def _mask(array: pa.Array) -> BoolArray:
    mask: BoolArray = np.asarray(array.to_numpy(zero_copy_only=False), dtype=np.bool_)
    return mask
