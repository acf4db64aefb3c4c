"""Typed results from parsed JSON, driven by the dataclasses' own annotations.

A member is named as in the JSON; an attribute that Python's keywords forbid has an underscore after it, so that
``from`` is ``from_``. Members that a dataclass does not know are passed over: answers may gain members. A field with
a default may be missing, any other may not.
"""

from __future__ import annotations

import dataclasses
import datetime
import math
import types
import typing
from collections.abc import Callable
from functools import cache
from typing import Any, TypeVar

__all__ = ["MismatchError", "build", "json_name"]

Result = TypeVar("Result")


class MismatchError(ValueError):
    """The JSON is not what the dataclass says. Callers turn it into an error of the client's own tree."""


def json_name(attribute: str) -> str:
    """The JSON member that an attribute stands for."""
    return attribute.removesuffix("_")


def build(kind: type[Result], data: object, where: str = "") -> Result:
    """A ``kind``, which is a dataclass, from a JSON object. ``where`` is the object's own place, for errors.

    Raises `MismatchError` where a member is missing or of another type.
    """
    if not isinstance(data, dict):
        raise MismatchError(f"{where or 'the answer'} is not an object")
    values = {}
    hashable: Any = kind  # mypy doubts that a class is
    for name, hint, required in _fields(hashable):
        member = json_name(name)
        path = f"{where}.{member}" if where else member
        if member in data:
            values[name] = _read(hint, data[member], path)
        elif required:
            raise MismatchError(f"{path} is missing")
    return kind(**values)


@cache
def _fields(kind: Any) -> tuple[tuple[str, Any, bool], ...]:
    hints = typing.get_type_hints(kind)
    return tuple(
        (field.name, hints[field.name], field.default is dataclasses.MISSING)
        for field in dataclasses.fields(kind)
    )


def _read(hint: Any, value: Any, where: str) -> Any:
    if hint is Any:
        return value
    origin = typing.get_origin(hint)
    if origin in (types.UnionType, typing.Union):
        inner = next(part for part in typing.get_args(hint) if part is not types.NoneType)
        return None if value is None else _read(inner, value, where)
    if origin is tuple:
        if not isinstance(value, list):
            raise MismatchError(f"{where} is not a list")
        inner = typing.get_args(hint)[0]
        return tuple(_read(inner, item, f"{where}[{index}]") for index, item in enumerate(value))
    if dataclasses.is_dataclass(hint):
        return build(typing.cast("type[Any]", hint), value, where)
    wanted, read = _PLAIN[hint]
    try:
        return read(value)
    except ValueError:
        raise MismatchError(f"{where} is {value!r:.100}, not {wanted}") from None


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise ValueError
    return float(value)


def _whole_number(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError
    return value


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError
    return value


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError
    return value


def _moment(value: object) -> datetime.datetime:
    moment = datetime.datetime.fromisoformat(_text(value))
    if moment.tzinfo is None:
        raise ValueError
    return moment


def _date(value: object) -> datetime.date:
    return datetime.date.fromisoformat(_text(value))


_PLAIN: dict[Any, tuple[str, Callable[[object], Any]]] = {
    float: ("a number", _number),
    int: ("a whole number", _whole_number),
    str: ("a text", _text),
    bool: ("true or false", _flag),
    datetime.date: ("a date", _date),
    datetime.datetime: ("a moment", _moment),
}
