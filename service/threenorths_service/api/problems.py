"""The one map from everything that can go wrong to a problem detail (RFC 9457)."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import Flask, Response, request
from marshmallow import ValidationError
from werkzeug.exceptions import HTTPException, MethodNotAllowed, NotFound, RequestEntityTooLarge

from ..batch.faults import BatchError
from ..navmath.errors import NavigationError, all_errors
from ..operations.faults import faults_of
from .replies import reply, request_id

__all__ = [
    "KINDS",
    "MEDIA_TYPE",
    "BadBodyError",
    "BusyError",
    "ProblemKind",
    "problem_body",
    "register_problems",
]

MEDIA_TYPE = "application/problem+json"
#: When a batch that found no place may be sent again. [second]
RETRY_AFTER_S = 2

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """One kind of problem: its stable code, its status, and what its page says."""

    code: str
    status: int
    title: str
    explanation: str


_HTTP_KINDS = (
    ProblemKind(
        "bad_request", 400, "The request cannot be understood", "The request breaks a rule of HTTP itself."
    ),
    ProblemKind(
        "empty_body", 400, "The request has no body", "Send a JSON object in the body of the request."
    ),
    ProblemKind(
        "malformed_json",
        400,
        "The body is not JSON",
        "The body is not well-formed JSON (RFC 8259) in UTF-8. JSON knows no NaN and no Infinity; numbers too large for "
        "a 64-bit float and nesting deeper than the parser's limit are refused too.",
    ),
    ProblemKind(
        "not_found", 404, "There is nothing at this path", "The paths are listed in the documentation page."
    ),
    ProblemKind(
        "method_not_allowed",
        405,
        "The method is not allowed here",
        "The methods allowed are in the `Allow` header.",
    ),
    ProblemKind(
        "not_acceptable",
        406,
        "The answer is not to be had in the media asked for",
        "Leave out `Accept`, or name one of the media that batches are answered in.",
    ),
    ProblemKind("too_large", 413, "The request is too large", "Send fewer or shorter values in one request."),
    ProblemKind(
        "unsupported_media_type",
        415,
        "The body's media type is not supported",
        "Send the body as it is described, with `Content-Type: application/json`; a batch as newline-delimited JSON, CSV or "
        "an Arrow stream.",
    ),
    ProblemKind(
        "invalid_request",
        422,
        "The request does not fit its description",
        "One or more members are unknown, missing, of the wrong type or out of range. Each is listed under `errors` with "
        "its place in the body (a JSON Pointer, RFC 6901), its value and what is allowed.",
    ),
    ProblemKind(
        "invalid_batch",
        422,
        "The batch does not fit its description",
        "A column, the header or a parameter of the address is wrong, so that no row was answered. What is wrong with single "
        "rows is told in these rows.",
    ),
    ProblemKind(
        "busy",
        503,
        "Too many batches at once",
        "Ask again after the seconds that `Retry-After` names: batches may always be repeated. Single requests are answered "
        "meanwhile.",
    ),
    ProblemKind(
        "internal_error",
        500,
        "The service failed",
        "The fault is the service's. Quote the `request_id` to whoever runs it; the request may be repeated safely.",
    ),
)

#: Every kind of problem, by code. A page at ``/problems/<code>`` explains each.
KINDS: Mapping[str, ProblemKind] = {
    kind.code: kind
    for kind in (
        *_HTTP_KINDS,
        *(ProblemKind(error.code, 422, error.title, error.explanation) for error in all_errors()),
    )
}
_CODE_BY_STATUS = {kind.status: kind.code for kind in reversed(_HTTP_KINDS)}


class BusyError(Exception):
    """There is no place for another batch just now."""


class BadBodyError(Exception):
    """The body could not be taken in; ``code`` is the kind of problem."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(detail)
        self.code = code


def register_problems(app: Flask) -> None:
    """Answer every error of ``app`` as a problem detail."""

    @app.errorhandler(NavigationError)
    def navigation_error(error: NavigationError) -> Response:
        return _problem(error.code, str(error), errors=faults_of(error), **error.details)

    @app.errorhandler(ValidationError)
    def validation_error(error: ValidationError) -> Response:
        entries = faults_of(error)
        named = ", ".join(entry["pointer"] or "the body" for entry in entries[:5])
        count = "1 member is" if len(entries) == 1 else f"{len(entries)} members are"
        return _problem("invalid_request", f"{count} wrong: {named}", errors=entries)

    @app.errorhandler(BatchError)
    def batch_error(error: BatchError) -> Response:
        pointer = "" if error.column is None else f"/{error.column}"
        entry = {"pointer": pointer, "code": error.code, "detail": str(error)}
        return _problem("invalid_batch", str(error), errors=[entry])

    @app.errorhandler(BusyError)
    def busy(_error: BusyError) -> Response:
        answer = _problem("busy", KINDS["busy"].explanation)
        answer.headers["Retry-After"] = str(RETRY_AFTER_S)
        return answer

    @app.errorhandler(BadBodyError)
    def bad_body(error: BadBodyError) -> Response:
        return _problem(error.code, str(error))

    @app.errorhandler(HTTPException)
    def http_exception(error: HTTPException) -> Response | HTTPException:
        status = error.code or 500
        if status < 400:
            return error
        code = _CODE_BY_STATUS.get(status, "bad_request" if status < 500 else "internal_error")
        detail = error.description or KINDS[code].title
        if isinstance(error, RequestEntityTooLarge):
            detail = f"the body may hold {request.max_content_length} bytes"
        elif isinstance(error, NotFound):
            detail = f"there is nothing at {request.path}"
        elif isinstance(error, MethodNotAllowed):
            detail = f"{request.path} does not take {request.method}"
        answer = _problem(code, detail, status=status)
        answer.headers.extend((name, value) for name, value in error.get_headers() if name.lower() == "allow")
        return answer

    @app.errorhandler(Exception)
    def failure(error: Exception) -> Response:
        # The body is not logged: positions are personal data.
        name = request_id()
        logger.error("request %s to %s failed", name, request.path, exc_info=error)
        return _problem("internal_error", KINDS["internal_error"].explanation, name=name)


def _problem(
    code: str, detail: str, *, status: int | None = None, name: str | None = None, **members: Any
) -> Response:
    name = name or request_id()
    body = {**problem_body(code, detail, name), **members}
    if status is not None:
        body["status"] = status
    return reply(body, status=body["status"], media_type=MEDIA_TYPE, name=name)


def problem_body(code: str, detail: str, name: str) -> dict[str, Any]:
    """The members of every problem; ``name`` is the request's."""
    kind = KINDS[code]
    return {
        "type": f"/problems/{code}",
        "title": kind.title,
        "status": kind.status,
        "detail": detail,
        "code": code,
        "request_id": name,
    }
