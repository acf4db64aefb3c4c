"""Batches: the rows of a stream answered as the rows of a stream."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from threading import BoundedSemaphore
from typing import Any

import orjson
from flask import Blueprint, Response, abort, request
from marshmallow import ValidationError

from ..batch.answers import answers_of
from ..batch.catalogue import BATCHED, COLUMNAR
from ..batch.cells import value_of_text
from ..batch.checks import SUMMARISED
from ..batch.chunks import Source
from ..batch.faults import BatchError
from ..batch.members import member_of, members_of
from ..batch.plan import Plan, fault_of, plan_of
from ..batch.rows import body_of
from ..batch.stream import MEDIA, Summary, answer_stream
from ..operations.operation import Operation
from .intake import CODINGS, take_in
from .packed import packed
from .problems import BadBodyError, BusyError
from .replies import reply, reply_headers

__all__ = ["BATCHES", "batches", "options_of"]

batches = Blueprint("batches", __name__)

#: Batches that a process works on at once: fewer than it has threads, so that single requests and the probes find one.
MOST_AT_ONCE = 6
_places = BoundedSemaphore(MOST_AT_ONCE)

#: Where batches are.
BATCHES = "/v1/batches"
#: The options of a batch among the parameters of its address; all others are members that all rows have.
OPTIONS: Mapping[str, str] = {
    "columns": "Members of the answer that are wanted, by path, with commas between, or `all`; cautions always come too. "
    "Left out: the usual ones.",
}
#: Those of a batch of checks.
SUMMARISED_OPERATION = "checks"
SUMMARY_OPTION = {
    "summary": "Whether a last record has only a `summary` of all rows, `true` or `false`; or `only` that record is given. "
    "Left out: `true`.",
}


@batches.get(BATCHES)
def list_batches() -> Response:
    """The operations that batches are taken of."""
    return reply({"operations": list(BATCHED), "media_types": list(MEDIA), "compressions": list(CODINGS)})


@batches.get(f"{BATCHES}/<name>")
def describe_batch(name: str) -> Response:
    """The columns that a batch takes and gives."""
    return reply(batch_description(_operation(name)))


@batches.post(f"{BATCHES}/<name>")
def answer_batch(name: str) -> Response:
    """The rows of the body, answered."""
    operation = _operation(name)
    medium = request.mimetype
    if medium not in MEDIA:
        raise BadBodyError(
            "unsupported_media_type", f"the body was sent as '{medium}', not {', '.join(MEDIA)}"
        )
    charset = request.mimetype_params.get("charset", "utf-8")
    if charset.lower() not in ("utf-8", "us-ascii"):
        raise BadBodyError("unsupported_media_type", f"the body is coded as {charset}, not as UTF-8")
    answer_medium = _answer_medium(medium)
    summary = _summary(operation)
    plan, common = _plan(operation, summary), _common(operation)
    if not _places.acquire(blocking=False):
        raise BusyError
    held = ExitStack()
    held.callback(_places.release)
    try:
        taken = take_in(request)
        held.callback(taken.file.close)
        source = Source(taken.file, operation, common, taken.cut)
        pieces = answer_stream(source, plan, medium, answer_medium, summary)
    except BaseException:
        held.close()
        raise
    coding = request.accept_encodings.best_match([*CODINGS, "identity"], default="identity")
    if "Accept-Encoding" in request.headers and coding in CODINGS:
        pieces = packed(pieces, coding)
    headers = reply_headers() + ([("Content-Encoding", coding)] if coding in CODINGS else [])
    response = Response(
        _not_empty(pieces), headers=[*headers, ("Vary", "Accept-Encoding")], content_type=answer_medium
    )
    response.call_on_close(held.close)
    return response


def options_of(operation: Operation) -> Mapping[str, str]:
    """The parameters of an address that are no members, and what each does."""
    return {**OPTIONS, **SUMMARY_OPTION} if operation.name == SUMMARISED_OPERATION else OPTIONS


def _operation(name: str) -> Operation:
    if name not in BATCHED:
        abort(404)
    return BATCHED[name]


def _answer_medium(medium: str) -> str:
    """What the caller would like the answer in; by itself what the body came in."""
    accepted = request.accept_mimetypes
    if not accepted or accepted[medium] == accepted.quality("*/*") == 1:
        return medium
    best = accepted.best_match([medium, *MEDIA])
    if best is None:
        raise BadBodyError("not_acceptable", f"batches are answered in {', '.join(MEDIA)}")
    return best


def _summary(operation: Operation) -> Summary:
    if "summary" not in options_of(operation):
        return Summary.NONE
    text = request.args.get("summary", Summary.LAST.value)
    try:
        return Summary(text)
    except ValueError:
        raise BatchError(
            "not_a_choice", f"summary is {text!r}; allowed: true, false, only", "summary"
        ) from None


def _plan(operation: Operation, summary: Summary) -> Plan:
    """What is asked of every row."""
    known = answers_of(operation)
    text = ",".join(request.args.getlist("columns")) if "columns" in request.args else None
    wanted: tuple[str, ...] | None = None
    if text == "all":
        wanted = tuple(path for path, column in known.items() if not column.optional)
    elif text is not None:
        wanted = tuple(text.split(","))
    for path in wanted or ():
        if path not in known:
            raise BatchError("unknown_column", f"{operation.name} answers with no column {path!r}", "columns")
    summarised = () if summary is Summary.NONE else SUMMARISED
    return plan_of(operation, COLUMNAR.get(operation.name), wanted, summarised=summarised)


def _common(operation: Operation) -> dict[str, Any]:
    """The members that all rows have, as the address gives them."""
    common: dict[str, Any] = {}
    for path, texts in request.args.lists():
        if path in options_of(operation):
            continue
        member = member_of(operation, path)
        if member is None:
            raise BatchError(
                "unknown_member", f"{operation.name} has no member {path!r}, and no such option", path
            )
        if len(texts) > 1:
            raise BatchError("given_twice", f"the member {path!r} is given {len(texts)} times", path)
        common[path] = value_of_text(texts[0], member)
        if member.kind == "json":
            try:
                common[path] = orjson.loads(texts[0])
            except orjson.JSONDecodeError:
                raise BatchError("malformed_json", f"the member {path!r} is no JSON", path) from None
    body = body_of(common)
    # Wrong once is better told once than in every row.
    try:
        operation.request.load(body, partial=True)
    except ValidationError as error:
        error.data = body
        fault = fault_of(error)
        raise BatchError(fault.code, fault.text, fault.member) from None
    return common


def _not_empty(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """The pieces, none of them empty: an empty piece would end a chunked body."""
    return (piece for piece in pieces if piece)


def batch_description(operation: Operation) -> dict[str, Any]:
    """The columns that a batch of the operation takes and gives."""
    columnar = COLUMNAR.get(operation.name)
    known = answers_of(operation)
    usual = set(known if columnar is None else columnar.usual)
    forms = plan_of(operation, columnar).forms
    return {
        "operation": operation.name,
        "media_types": list(MEDIA),
        "compressions": list(CODINGS),
        "options": dict(options_of(operation)),
        "members": [
            {
                "name": member.path,
                "type": member.kind,
                "required": member.required,
                "description": member.description,
            }
            for member in members_of(operation).values()
        ],
        "answers": [
            {
                "name": column.path,
                "type": str(column.arrow_type),
                "usual": column.path in usual,
                "in_columns": column.path in forms,
                "description": column.description,
            }
            for column in known.values()
        ],
    }
