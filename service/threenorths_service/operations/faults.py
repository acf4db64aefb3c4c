"""What is wrong with a request: each fault with its place in the body, its value and what is allowed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import orjson
from marshmallow import ValidationError

from ..navmath.errors import NavigationError
from .fields import Complaint

__all__ = ["faults_of"]

#: A value longer than this is shortened where it is quoted back.
QUOTED_LENGTH = 200


def faults_of(error: NavigationError | ValidationError) -> list[dict[str, Any]]:
    """The faults of an operation's error: ``pointer``, ``code``, ``detail``, and where known ``value`` and ``allowed``."""
    if isinstance(error, ValidationError):
        return [_entry(path, message, error.data) for path, message in _flatten(error.messages)]
    entry: dict[str, Any] = {
        "pointer": "" if error.member is None else f"/{error.member}",
        "code": error.code,
        "detail": str(error),
    }
    if error.value is not None:
        entry["value"] = _quoted(error.value)
    if error.allowed is not None:
        entry["allowed"] = error.allowed
    return [entry]


def _flatten(messages: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Each message of marshmallow's nested tree with the path to its member."""
    if isinstance(messages, dict):
        for key, inner in messages.items():
            yield from _flatten(inner, path if key == "_schema" else (*path, key))
    else:
        for message in messages if isinstance(messages, list) else [messages]:
            yield path, message


def _entry(path: tuple[str | int, ...], message: str, body: Any) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "pointer": "".join(f"/{str(part).replace('~', '~0').replace('/', '~1')}" for part in path),
        "code": message.code if isinstance(message, Complaint) else "invalid",
        "detail": str(message),
    }
    value = body
    for part in path:
        try:
            value = value[part]
        except (KeyError, IndexError, TypeError):
            break
    else:
        entry["value"] = _quoted(value)
    if isinstance(message, Complaint) and message.allowed is not None:
        entry["allowed"] = message.allowed
    return entry


def _quoted(value: Any) -> Any:
    """The value as it came where it is short, otherwise the beginning of its JSON."""
    try:
        text = orjson.dumps(value, default=str, option=orjson.OPT_SERIALIZE_NUMPY).decode()
    except orjson.JSONEncodeError:  # nested deeper than it can be written
        return f"a {'list' if isinstance(value, list) else 'JSON object'} nested too deep to quote"
    return value if len(text) <= QUOTED_LENGTH else f"{text[:QUOTED_LENGTH]}…"
