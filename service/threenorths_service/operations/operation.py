"""One declaration an operation: from it come its endpoint, its batches and its description."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import EXCLUDE, RAISE, Schema, ValidationError

from ..navmath.errors import NavigationError
from .fields import UNKNOWN, Complaint

__all__ = ["AnswerSchema", "Example", "Operation", "RequestSchema"]


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


@dataclass(frozen=True, slots=True, eq=False)
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
