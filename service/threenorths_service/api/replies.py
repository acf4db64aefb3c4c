"""Every reply that is not a page: its headers, and the name of its request."""

from __future__ import annotations

import re
import secrets
from typing import Any

import orjson
from flask import Response, request

__all__ = ["GEOJSON_MEDIA_TYPE", "JSON_MEDIA_TYPE", "PAGE_POLICY", "reply", "reply_headers", "request_id"]

JSON_MEDIA_TYPE = "application/json"
GEOJSON_MEDIA_TYPE = "application/geo+json"

PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "font-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
# Answers hold people's positions: no cache between us and the caller keeps them.
_HEADERS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'"),
    ("Cache-Control", "no-store"),
)
_GIVEN_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


def request_id() -> str:
    """The name that the caller gave the request, where it is a plain one; otherwise a new one at each call."""
    given = request.environ.get("HTTP_X_REQUEST_ID")
    return given if given is not None and _GIVEN_ID.fullmatch(given) else secrets.token_hex(8)


def reply_headers(name: str | None = None) -> list[tuple[str, str]]:
    """The headers that every reply has; ``name`` is the request's."""
    return [*_HEADERS, ("X-Request-ID", name or request_id())]


def reply(
    body: Any, *, status: int = 200, media_type: str = JSON_MEDIA_TYPE, name: str | None = None
) -> Response:
    """``body`` as JSON; ``name`` is the request's, for a body that quotes it.

    The headers are put in here and not by a hook of the application, which would cost every request a fifth more.
    """
    headers = reply_headers(name)
    data = orjson.dumps(body, option=orjson.OPT_SERIALIZE_NUMPY)
    return Response(data, status, headers, content_type=media_type)
