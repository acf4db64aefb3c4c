"""From a reply to a typed answer, or to the error that it is."""

from __future__ import annotations

import json
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any, TypeVar

from .errors import (
    ApiError,
    InvalidRequestError,
    MemberError,
    NoAnswerError,
    NotFoundError,
    Reading,
    ResponseError,
    ServiceError,
)
from .from_json import MismatchError, build
from .transport import Reply

__all__ = ["error_of", "read_answer", "read_feature"]

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Problem:
    """A problem detail (RFC 9457) as the service writes it."""

    title: str
    status: int
    detail: str
    code: str
    request_id: str | None
    errors: tuple[MemberError, ...] = ()
    readings: tuple[Reading, ...] = ()
    sights: tuple[int, ...] = ()


def read_answer(kind: type[Result], reply: Reply) -> Result:
    """The answer as a ``kind``, with its text as ``raw_json`` where ``kind`` keeps it.

    Raises `ResponseError` where it is none and `ApiError` where the service answered with a problem.
    """
    if reply.status != HTTPStatus.OK:
        raise error_of(reply)
    try:
        data = _parsed(reply.body)
        if isinstance(data, dict):
            data["raw_json"] = reply.body.decode()
        return build(kind, data)
    except MismatchError as error:
        message = f"the answer is not what this version of the client knows: {error}"
        raise ResponseError(message, reply.status, reply.request_id) from None
    except (ValueError, RecursionError):
        message = f"the answer is not JSON but {_called(reply)}; is there a proxy or a login page in between?"
        raise ResponseError(message, reply.status, reply.request_id) from None


def read_feature(reply: Reply) -> dict[str, Any]:
    """The answer as a GeoJSON feature, as plain data; errors are those of `read_answer`."""
    if reply.status != HTTPStatus.OK:
        raise error_of(reply)
    try:
        data = _parsed(reply.body)
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict) or "type" not in data:
        raise ResponseError(f"the answer is no GeoJSON but {_called(reply)}", reply.status, reply.request_id)
    return data


def error_of(reply: Reply) -> ApiError | ResponseError:
    """The error that a reply of any status but 200 is."""
    try:
        problem = build(Problem, _parsed(reply.body))
    except (ValueError, RecursionError):
        return _error_of_stranger(reply)
    return _error_class(reply.status, problem.code)(
        reply.status,
        problem.code,
        problem.title,
        problem.detail,
        problem.errors,
        problem.readings,
        problem.sights,
        problem.request_id or reply.request_id,
    )


def _error_class(status: int, code: str) -> type[ApiError]:
    if status >= 500 or status == HTTPStatus.TOO_MANY_REQUESTS:
        return ServiceError
    if status in (HTTPStatus.NOT_FOUND, HTTPStatus.METHOD_NOT_ALLOWED):
        return NotFoundError
    if status == HTTPStatus.UNPROCESSABLE_ENTITY and code != "invalid_request":
        return NoAnswerError
    return InvalidRequestError


def _error_of_stranger(reply: Reply) -> ApiError | ResponseError:
    """The error of a reply that is no problem detail: somebody between client and service wrote it."""
    if 300 <= reply.status < 400:
        message = f"the address leads elsewhere, to {reply.location!r}; that is not followed: set the base URL to it"
        return ResponseError(message, reply.status, reply.request_id)
    phrase = _phrase(reply.status)
    if reply.status >= 500 or reply.status == HTTPStatus.TOO_MANY_REQUESTS:
        detail = f"a proxy or another program answered in the service's place, with {_called(reply)}"
        return ServiceError(reply.status, None, phrase, detail, request_id=reply.request_id)
    message = f"no threenorths service answered, but something else: {phrase}, with {_called(reply)}"
    return ResponseError(message, reply.status, reply.request_id)


def _phrase(status: int) -> str:
    try:
        return HTTPStatus(status).phrase
    except ValueError:
        return "unknown status"


def _called(reply: Reply) -> str:
    return f"{reply.content_type or 'an unnamed type'} of {len(reply.body)} bytes"


def _parsed(body: bytes) -> Any:
    """Parsed JSON. Raises ``ValueError`` or ``RecursionError``. NaN, which is no JSON, passes here but is no number later."""
    return json.loads(body.decode())
