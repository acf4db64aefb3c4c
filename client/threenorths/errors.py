"""Errors of the client, under one base. No exception of `requests` gets out.

::

    ThreeNorthsError
    ├── ArgumentError            cannot be sent: no URL, no position, a number that is not finite (also a ValueError)
    ├── TransportError           no answer came: no connection, or it broke
    │   └── TimedOutError        no answer came in time
    ├── FileError                a file of a batch cannot be read or written
    ├── ResponseError            what came is no answer of this service: a proxy's page, another version, broken JSON
    │   └── DamagedStreamError   a batch came to the service, or its answer came back, not as it was sent
    └── ApiError                 the service answered with a problem; `code` tells the kinds apart
        ├── InvalidRequestError  the request does not fit its description: 400, 413, 415, 422 with `invalid_request`
        ├── NoAnswerError        the request fits, but has no answer: 422 with any other code, as `parallel_sights`
        ├── NotFoundError        nothing there: 404, 405. The base URL is wrong, or the service is another version
        └── ServiceError         the service failed or is overloaded: 429, 5xx. It may be asked again later

The codes are listed with their explanations at ``/problems/`` of the service. Where an error of `requests` lies
beneath, it is the ``__cause__``. All errors can be pickled.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

__all__ = [
    "ApiError",
    "ArgumentError",
    "DamagedStreamError",
    "FileError",
    "InvalidRequestError",
    "MemberError",
    "NoAnswerError",
    "NotFoundError",
    "Reading",
    "ResponseError",
    "ServiceError",
    "ThreeNorthsError",
    "TimedOutError",
    "TransportError",
]


class ThreeNorthsError(Exception):
    """Base of every error that the client raises."""


class ArgumentError(ThreeNorthsError, ValueError):
    """An argument that cannot be sent to any service. What the service alone can tell is left to the service."""


class TransportError(ThreeNorthsError):
    """No answer came. ``request_id`` is what was sent as ``X-Request-ID``, for whoever reads the service's log."""

    def __init__(self, message: str, request_id: str | None = None) -> None:
        super().__init__(message, request_id)
        self.message = message
        self.request_id = request_id

    def __str__(self) -> str:
        return _with_facts(self.message, request_id=self.request_id)


class TimedOutError(TransportError):
    """No answer came in the time that the client was given."""


class ResponseError(ThreeNorthsError):
    """What came back is not an answer of this service. ``status`` is its HTTP status."""

    def __init__(self, message: str, status: int | None = None, request_id: str | None = None) -> None:
        super().__init__(message, status, request_id)
        self.message = message
        self.status = status
        self.request_id = request_id

    def __str__(self) -> str:
        return _with_facts(self.message, status=self.status, request_id=self.request_id)


class DamagedStreamError(ResponseError):
    """A batch that the service could not read though it was sent well, or an answer without all its rows, time after time."""


class FileError(ThreeNorthsError):
    """A file of a batch that cannot be read or written; the ``OSError`` is the ``__cause__``."""


@dataclass(frozen=True, slots=True)
class MemberError:
    """What is wrong with one member of a request."""

    #: JSON Pointer (RFC 6901) to the member in the request; empty for the whole of it.
    pointer: str
    code: str
    detail: str
    #: What stood there, ``None`` where nothing did. A long value is shortened to a text.
    value: Any = None
    #: What may stand there.
    allowed: str | None = None

    @property
    def member(self) -> str:
        """The place as one writes it in Python, such as ``sights[0].bearing``; empty for the whole request."""
        path = re.sub(r"/(\d+)(?=/|$)", r"[\1]", self.pointer)
        return path.replace("/", ".").removeprefix(".").replace("~1", "/").replace("~0", "~")


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read an ambiguous text: ``read_as`` has no other reading, and can be sent in the text's place.

    ``distance_m`` is from the place that the text was expected near to, where one was given; ``slip``, with its
    ``explanation``, is the likely slip that this reading is without.
    """

    read_as: str
    lat_deg: float
    lon_deg: float
    form: str
    distance_m: float | None = None
    slip: str | None = None
    explanation: str | None = None

    def __str__(self) -> str:
        """The reading as an error prints it."""
        away = "" if self.distance_m is None else f", {self.distance_m / 1000:,.1f} km away"
        return f"{self.read_as}{away}" + (f" ({self.explanation})" if self.explanation else "")


class ApiError(ThreeNorthsError):
    """The service answered with a problem (RFC 9457).

    ``status`` is the HTTP status; ``code`` the stable code, ``None`` where a proxy answered in the service's place;
    ``title`` the kind of problem and ``detail`` what was wrong this time; ``errors`` each member that was wrong;
    ``readings`` what a text could mean, none of it chosen; ``sights`` the indices, from 0, of the sights
    that the problem lies in; ``request_id`` what to quote to whoever runs the service.
    """

    def __init__(
        self,
        status: int,
        code: str | None,
        title: str,
        detail: str,
        errors: tuple[MemberError, ...] = (),
        readings: tuple[Reading, ...] = (),
        sights: tuple[int, ...] = (),
        request_id: str | None = None,
    ) -> None:
        # Unpickling calls the class with what the base was given: all of it, as some of it has no default.
        super().__init__(status, code, title, detail, errors, readings, sights, request_id)
        self.status = status
        self.code = code
        self.title = title
        self.detail = detail
        self.errors = errors
        self.readings = readings
        self.sights = sights
        self.request_id = request_id

    def __str__(self) -> str:
        lines = [f"{self.title}: {self.detail}"]
        lines.extend(f"  {line}" for error in self.errors if (line := self._about(error)))
        lines.extend(f"  could be read as: {reading}" for reading in self.readings)
        return _with_facts("\n".join(lines), status=self.status, code=self.code, request_id=self.request_id)

    def _about(self, error: MemberError) -> str:
        """One line about one member; what ``detail`` says already is not said twice."""
        said = [] if error.detail == self.detail else [error.detail]
        if error.value is not None:
            said.append(f"Given: {error.value!r}.")
        if error.allowed is not None:
            said.append(f"Allowed: {error.allowed}.")
        return f"{error.member or 'the request'}: {' '.join(said)}" if said else ""


class InvalidRequestError(ApiError):
    """The request does not fit its description."""


class NoAnswerError(ApiError):
    """The request fits its description, but the mathematics has no answer to it."""


class NotFoundError(ApiError):
    """The service has nothing at this path, or not for this method."""


class ServiceError(ApiError):
    """The service failed, is overloaded, or a proxy before it found none."""


def _with_facts(text: str, **facts: Any) -> str:
    known = [f"{name.replace('_', ' ')} {fact}" for name, fact in facts.items() if fact is not None]
    if not known:
        return text
    separator = "\n" if "\n" in text else " "
    return f"{text}{separator}[{', '.join(known)}]"
