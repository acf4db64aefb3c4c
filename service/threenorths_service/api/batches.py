"""Batches: the rows of a stream answered as the rows of a stream."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from threading import BoundedSemaphore
from typing import Any

from flask import Blueprint, Response, abort, request

from ..batch.answers import answers_of
from ..batch.asked import members_of_texts, plan_asked, summarised_columns, summary_asked
from ..batch.catalogue import BATCHED, COLUMNAR
from ..batch.chunks import Source
from ..batch.members import members_of
from ..batch.plan import plan_of
from ..batch.stream import MEDIA, answer_stream
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
#: That of a batch which may have a summary.
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
    summary = summary_asked(operation, request.args.get("summary"))
    columns = request.args.getlist("columns") if "columns" in request.args else None
    plan, common = plan_asked(operation, columns, summary), _common(operation)
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
    return {**OPTIONS, **SUMMARY_OPTION} if summarised_columns(operation) else OPTIONS


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


def _common(operation: Operation) -> dict[str, Any]:
    """The members that all rows have: of the address, what is no option."""
    options = options_of(operation)
    given = [(path, text) for path, text in request.args.items(multi=True) if path not in options]
    return members_of_texts(operation, given)


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
