"""One declaration an operation: from it come its endpoint and its description."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import orjson
from flask import Flask, Request, Response, request
from marshmallow import EXCLUDE, RAISE, Schema, ValidationError

from ..navmath.errors import NavigationError
from .fields import UNKNOWN, Complaint
from .problems import BadBodyError
from .replies import GEOJSON_MEDIA_TYPE, JSON_MEDIA_TYPE, reply

__all__ = ["AnswerSchema", "Example", "Operation", "RequestSchema", "register_operation"]


class OperationSchema(Schema):
    """A schema in which the members of every operation, though inherited, stand last for the reader."""

    LAST = ("cautions", "working")

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        for members in (self.fields, self.load_fields, self.dump_fields):
            for name in self.LAST:
                if name in members:
                    members[name] = members.pop(name)


class RequestSchema(OperationSchema):
    """Base of what is read: a member that is not declared is an error that names it."""

    class Meta:
        unknown = RAISE

    error_messages = {  # noqa: RUF012 - marshmallow reads the class
        "unknown": UNKNOWN,
        "type": Complaint("This is not an object.", code="wrong_type", allowed="a JSON object"),
    }


class AnswerSchema(OperationSchema):
    """Base of what is given: answers may gain members, so their description does not forbid others."""

    class Meta:
        unknown = EXCLUDE


@dataclass(frozen=True, slots=True)
class Example:
    """A request that the description shows, with the answer it really has."""

    name: str
    summary: str
    request: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Operation:
    """A computation: its path ``/v1/<name>``, what it takes and gives, and the function between.

    ``run`` takes the loaded request and gives an object with the answer's members as attributes or keys.
    ``errors`` are the named errors that it can raise on a request that fits its schema.
    """

    name: str
    summary: str
    description: str
    request: RequestSchema
    answer: AnswerSchema
    run: Callable[[dict[str, Any]], Any]
    errors: tuple[type[NavigationError], ...]
    examples: tuple[Example, ...]
    #: From what ``run`` gave and the dumped answer, the GeoJSON feature, where the answer has a shape.
    feature: Callable[[Any, dict[str, Any]], dict[str, Any]] | None = None

    @property
    def path(self) -> str:
        """Where the operation is served."""
        return f"/v1/{self.name}"

    def answer_to(self, body: Any) -> dict[str, Any]:
        """The answer to a request body already parsed from JSON.

        Raises ``ValidationError`` where the body does not fit the schema and ``NavigationError`` where what fits has
        no answer.
        """
        return self._run(body)[1]

    def feature_for(self, body: Any) -> dict[str, Any]:
        """The answer as a GeoJSON feature, of an operation that has one; errors are those of `answer_to`."""
        assert self.feature is not None  # noqa: S101 - only such operations are asked
        return self.feature(*self._run(body))

    def _run(self, body: Any) -> tuple[Any, dict[str, Any]]:
        """What ``run`` gives, and the same dumped."""
        try:
            loaded = self.request.load(body)
        except ValidationError as error:
            error.data = body
            raise
        result = self.run(loaded)
        answer: dict[str, Any] = self.answer.dump(result)
        return result, answer


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
