"""The endpoint of an operation, and how a JSON body is taken in."""

from __future__ import annotations

from typing import Any

import orjson
from flask import Flask, Request, Response, request

from ..operations.operation import Operation
from .problems import BadBodyError
from .replies import GEOJSON_MEDIA_TYPE, JSON_MEDIA_TYPE, reply

__all__ = ["register_operation"]


def register_operation(app: Flask, operation: Operation) -> None:
    """Serve ``operation`` at its path."""

    def view() -> Response:
        if operation.feature is not None and _wants_geojson():
            return reply(operation.feature_for(_json_body()), media_type=GEOJSON_MEDIA_TYPE)
        return reply(operation.answer_to(_json_body()))

    app.add_url_rule(operation.path, endpoint=operation.name, view_func=view, methods=["POST"])


def _wants_geojson() -> bool:
    """Whether the caller would rather have GeoJSON than JSON."""
    accept = request.environ.get("HTTP_ACCEPT", "")
    if GEOJSON_MEDIA_TYPE not in accept:
        return False
    best = request.accept_mimetypes.best_match((JSON_MEDIA_TYPE, GEOJSON_MEDIA_TYPE))
    return best == GEOJSON_MEDIA_TYPE


def _json_body() -> Any:
    """The body of the current request as JSON; what is no JSON is a named problem."""
    asked: Request = request._get_current_object()  # type: ignore[attr-defined]  # the proxy costs at every look
    _check_media_type(asked)
    body = asked.get_data(cache=False)
    if not body or body.isspace():
        raise BadBodyError("empty_body", "the request has no body")
    if asked.content_length is not None and len(body) < asked.content_length:
        raise BadBodyError("bad_request", "the body ended before its stated length")
    try:
        return orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise BadBodyError("malformed_json", f"the body is not JSON: {error}") from None


def _check_media_type(asked: Request) -> None:
    environ = asked.environ
    if environ.get("CONTENT_TYPE") == JSON_MEDIA_TYPE and "HTTP_CONTENT_ENCODING" not in environ:
        return  # as nearly all are; to take the header apart costs as much as to read the body
    if asked.mimetype != JSON_MEDIA_TYPE:
        raise BadBodyError(
            "unsupported_media_type", f"the body was sent as '{asked.mimetype}', not {JSON_MEDIA_TYPE}"
        )
    coding = asked.headers.get("Content-Encoding", "identity")
    charset = asked.mimetype_params.get("charset", "utf-8")
    if coding.lower() != "identity" or charset.lower() != "utf-8":
        raise BadBodyError(
            "unsupported_media_type", f"the body is coded as {coding}, {charset}, not as plain UTF-8"
        )
