"""The HTTP service: `create_app` gives a working one with no argument and no environment."""

from __future__ import annotations

import re
import secrets

from flask import Flask, Response, g, request

from .operation import register_operation
from .operations import OPERATIONS
from .pages import pages
from .problems import register_problems

__all__ = ["create_app"]

#: A request of the operations may not be larger. [byte]
MAX_BODY_BYTES = 1_048_576

_GIVEN_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")

API_POLICY = "default-src 'none'; frame-ancestors 'none'"
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "font-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


def create_app() -> Flask:
    """The application. Stateless: all that an answer depends on is in its request."""
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_BODY_BYTES
    app.before_request(_name_request)
    app.after_request(_add_headers)
    register_problems(app)
    app.register_blueprint(pages)
    for operation in OPERATIONS:
        register_operation(app, operation)
    return app


def _name_request() -> None:
    given = request.headers.get("X-Request-ID")
    g.request_id = given if given is not None and _GIVEN_ID.fullmatch(given) else secrets.token_hex(8)


def _add_headers(response: Response) -> Response:
    headers = response.headers
    headers["X-Request-ID"] = g.request_id
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "no-referrer"
    headers["Content-Security-Policy"] = PAGE_POLICY if response.mimetype == "text/html" else API_POLICY
    if request.method == "POST":
        # Answers hold people's positions: no cache between us and the caller keeps them.
        headers["Cache-Control"] = "no-store"
    return response
