"""The columns that a batch of an operation answers with: each member of an answer by its path, and its type."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import orjson
import pyarrow as pa
from marshmallow import Schema, fields

from ..navmath.angle import FloatArray
from ..operations.fields import Azimuth, Rounded
from ..operations.operation import Operation
from .rounding import rounded

__all__ = ["JSON_TYPE", "AnswerColumn", "answers_of", "storage_of", "typed_as", "values_of"]

#: A list, or whatever else has no columns of its own, as JSON text.
JSON_TYPE: pa.DataType = pa.json_()


@dataclass(frozen=True, slots=True)
class AnswerColumn:
    """One column of an answer: its path, its type in Arrow, and what the schema says of it."""

    path: str
    arrow_type: pa.DataType
    description: str
    #: Decimal places of a number, and the full circle of an azimuth.
    places: int | None = None
    circle: float | None = None
    #: Whether the member is only there where it was asked for; elsewhere it may be null.
    optional: bool = False

    def array_of(self, values: Any, count: int) -> pa.Array:
        """The column of ``count`` rows from what a columnar function gave, rounded as a single answer is.

        ``values`` are a numpy array, of numbers with NaN for null; an Arrow array; or one value for all rows.
        """
        if isinstance(values, (pa.Array, pa.ChunkedArray)):
            return values
        if not isinstance(values, np.ndarray):
            return self._constant(values, count)
        if pa.types.is_floating(self.arrow_type):
            return self._numbers(np.asarray(values, dtype=np.float64))
        return pa.array(values, self.arrow_type)

    def _constant(self, value: Any, count: int) -> pa.Array:
        if value is None:
            return typed_as(pa.nulls(count, storage_of(self.arrow_type)), self.arrow_type)
        if isinstance(value, float):
            return self._numbers(np.full(count, value))
        return typed_as(pa.repeat(pa.scalar(value, storage_of(self.arrow_type)), count), self.arrow_type)

    def _numbers(self, values: FloatArray) -> pa.Array:
        missing = np.isnan(values)
        if self.places is not None:
            values = rounded(values, self.places, self.circle)
        return pa.array(values, pa.float64(), mask=missing if missing.any() else None)

    def array_of_answers(self, answers: Sequence[Mapping[str, Any]]) -> pa.Array:
        """The column from whole answers, each already as `values_of` has it."""
        values = [answer.get(self.path) for answer in answers]
        return typed_as(pa.array(values, storage_of(self.arrow_type)), self.arrow_type)


@cache
def answers_of(operation: Operation) -> Mapping[str, AnswerColumn]:
    """The columns by path, in the order of the answer."""
    return {column.path: column for column in _columns(operation.answer, "")}


def values_of(columns: Mapping[str, AnswerColumn], answer: Mapping[str, Any]) -> dict[str, Any]:
    """A dumped answer taken apart into the values of its columns; what is null or not there is not among them."""
    values: dict[str, Any] = {}
    for path, column in columns.items():
        value: Any = answer
        for part in path.split("."):
            value = value.get(part) if isinstance(value, Mapping) else None
            if value is None:
                break
        if value is not None:
            values[path] = orjson.dumps(value).decode() if column.arrow_type == JSON_TYPE else value
    return values


def storage_of(arrow_type: pa.DataType) -> pa.DataType:
    """What a type is kept as."""
    return arrow_type.storage_type if isinstance(arrow_type, pa.BaseExtensionType) else arrow_type


def typed_as(array: pa.Array, arrow_type: pa.DataType) -> pa.Array:
    """An array of what a type is kept as, as one of that type."""
    if isinstance(arrow_type, pa.BaseExtensionType):
        return pa.ExtensionArray.from_storage(arrow_type, array)
    return array


def _columns(schema: Schema, prefix: str) -> Iterator[AnswerColumn]:
    for name, field in schema.fields.items():
        path = f"{prefix}{field.data_key or name}"
        if isinstance(field, fields.Nested):
            yield from _columns(field.schema, f"{path}.")
            continue
        description = str(field.metadata.get("description", ""))
        optional = not field.required
        if isinstance(field, Rounded):
            circle = field.circle if isinstance(field, Azimuth) else None
            yield AnswerColumn(path, pa.float64(), description, field.places, circle, optional)
        else:
            yield AnswerColumn(path, _type_of(field), description, optional=optional)


def _type_of(field: fields.Field[Any]) -> pa.DataType:
    if isinstance(field, fields.Integer) or field.metadata.get("type") == "integer":
        return pa.int64()
    if isinstance(field, fields.Boolean):
        return pa.bool_()
    if isinstance(field, (fields.List, fields.Dict)) or field.metadata.get("type") in ("array", "object"):
        return JSON_TYPE
    if isinstance(field, fields.Float):
        return pa.float64()
    return pa.string()
