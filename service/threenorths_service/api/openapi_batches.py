"""The description of batches, made from the operations' own declarations."""

from __future__ import annotations

import io
from typing import Any

import orjson

from ..batch.arrow_rows import MOST_BATCH_BYTES
from ..batch.catalogue import BATCHED, COLUMNAR
from ..batch.chunks import Source
from ..batch.faults import FAULT_TYPES
from ..batch.plan import plan_of
from ..batch.stream import ARROW, CSV, MEDIA, NDJSON, answer_stream
from ..operations.operation import Operation
from .batches import BATCHES, options_of
from .intake import CODINGS
from .zstd_frames import MOST_WINDOW_BYTES

__all__ = ["BATCH_SCHEMAS", "batch_paths"]

ABOUT = f"""\
The rows of a stream, each answered as `/v1/{{name}}` answers it: what a batch of n rows gives is what n requests give.

A row is the body of a single request. In newline-delimited JSON it is an object a line; in CSV and in Arrow a column is named
by its member's path, such as `position.lat_deg` or `sights.0.bearing`. An empty cell or a null is a member that is not there.
`GET` lists the columns with their types. Columns of the caller's own are carried through, and the order of the rows is kept.
Members that all rows have may stand in the address: `?date=2026-11-25&north=magnetic`; a row's own goes before.

Every row comes back with its answer: under `answer` in JSON, as columns `answer.…` elsewhere. A row that has none comes back
with its `error`: {", ".join(f"`{name.partition('.')[2]}`" for name in FAULT_TYPES)}. One bad row never costs another its
answer. A stream that breaks off ends with a last record whose `error` has the code `malformed_stream` and says at which row
and byte; what came before is answered.

The body is taken in whole before the answer begins, so a client may write all before it reads. Compressed bodies
({", ".join(CODINGS)}) are taken and given; of zstd with windows of up to {MOST_WINDOW_BYTES >> 20} MiB (RFC 9659).
Memory is that of some ten thousand rows, or of an Arrow record batch. That one may be compressed within, and take
{MOST_BATCH_BYTES // 10**6} MB with its dictionaries, once it is unpacked.
"""

BATCH_SCHEMAS: dict[str, dict[str, Any]] = {
    "BatchError": {
        "type": "object",
        "description": "Why a row has no answer.",
        "required": ["code", "member", "text", "row"],
        "properties": {
            "code": {"type": "string", "description": "Stable code, as single requests have it."},
            "member": {
                "type": ["string", "null"],
                "description": "Path of the member that is wrong, where one is.",
            },
            "text": {"type": "string", "description": "What is wrong, with the value and what is allowed."},
            "row": {"type": "integer", "minimum": 1, "description": "Number of the row, from 1."},
            "byte": {
                "type": "integer",
                "minimum": 0,
                "description": "Of a stream that breaks off: where, from 0, once its compression is undone.",
            },
        },
    },
    "BatchDescription": {
        "type": "object",
        "description": "The columns that a batch takes and gives.",
        "required": ["operation", "media_types", "compressions", "options", "members", "answers"],
        "properties": {
            "operation": {"type": "string", "description": "Name of the operation."},
            "media_types": {"type": "array", "items": {"type": "string"}, "description": "Both ways."},
            "compressions": {"type": "array", "items": {"type": "string"}, "description": "Both ways."},
            "options": {
                "type": "object",
                "additionalProperties": {"type": "string"},
                "description": "Parameters of the address that are no members, and what each does.",
            },
            "members": {
                "type": "array",
                "description": "Columns that are taken. In a path, 0 stands for any place in a list.",
                "items": {
                    "type": "object",
                    "required": ["name", "type", "required", "description"],
                    "properties": {
                        "name": {"type": "string", "description": "Path of the member."},
                        "type": {
                            "type": "string",
                            "enum": ["text", "number", "whole", "flag", "mixed", "json"],
                            "description": "`mixed` is a number or a text, `json` a list or object as JSON text.",
                        },
                        "required": {
                            "type": "boolean",
                            "description": "Whether every row needs it, in some form.",
                        },
                        "description": {"type": "string", "description": "What it says."},
                    },
                },
            },
            "answers": {
                "type": "array",
                "description": "Columns that are given.",
                "items": {
                    "type": "object",
                    "required": ["name", "type", "usual", "in_columns", "description"],
                    "properties": {
                        "name": {"type": "string", "description": "Path of the member, behind `answer.`."},
                        "type": {"type": "string", "description": "Type of the column in Arrow."},
                        "usual": {
                            "type": "boolean",
                            "description": "Whether it is given where no columns are named.",
                        },
                        "in_columns": {
                            "type": "boolean",
                            "description": "Whether it is made for all rows at once. A batch that asks for any other is "
                            "answered row by row, which takes some hundred times longer.",
                        },
                        "description": {"type": "string", "description": "What it says."},
                    },
                },
            },
        },
    },
    "BatchList": {
        "type": "object",
        "description": "What batches are taken of.",
        "required": ["operations", "media_types", "compressions"],
        "properties": {
            "operations": {
                "type": "array",
                "items": {"type": "string"},
                "description": "Names of the operations.",
            },
            "media_types": {"type": "array", "items": {"type": "string"}, "description": "Both ways."},
            "compressions": {"type": "array", "items": {"type": "string"}, "description": "Both ways."},
        },
    },
}


def batch_paths(problems: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The paths of batches with what is done there; ``problems`` are the responses of any of them."""
    listed = _json("The operations.", "BatchList")
    paths = {
        BATCHES: {
            "get": {
                "operationId": "list_batches",
                "tags": ["batches"],
                "summary": "The operations that batches are taken of",
                "description": "Lists the operations whose requests are rows of a table, and the media and compressions.",
                "responses": {"200": listed},
            }
        }
    }
    for operation in BATCHED.values():
        paths[f"{BATCHES}/{operation.name}"] = {"get": _get(operation), "post": _post(operation, problems)}
    return paths


def _get(operation: Operation) -> dict[str, Any]:
    return {
        "operationId": f"describe_batch_of_{_identifier(operation)}",
        "tags": ["batches"],
        "summary": f"The columns of a batch of {operation.name}",
        "description": f"The columns that a batch of `{operation.name}` takes and gives, their types, and which are usual.",
        "responses": {"200": _json("The columns.", "BatchDescription")},
    }


def _post(operation: Operation, problems: dict[str, Any]) -> dict[str, Any]:
    request, answer = _example(operation)
    return {
        "operationId": f"batch_of_{_identifier(operation)}",
        "tags": ["batches"],
        "summary": f"Many rows of {operation.name}",
        "description": ABOUT.format(name=operation.name),
        "parameters": [
            *(
                {
                    "name": name,
                    "in": "query",
                    "description": text,
                    "schema": {"type": "string"},
                }
                for name, text in options_of(operation).items()
            ),
            {
                "name": "members",
                "in": "query",
                "description": "Members that all rows have, each a parameter of its own, named by its path.",
                "style": "form",
                "explode": True,
                "schema": {"type": "object", "additionalProperties": {"type": "string"}},
            },
        ],
        "requestBody": {"required": True, "content": _content(request, _request_row(operation))},
        "responses": {
            "200": {
                "description": "The rows, answered.",
                "content": _content(answer, _answer_row(operation)),
            },
            **problems,
        },
    }


def _content(example: str, row: dict[str, Any]) -> dict[str, Any]:
    content: dict[str, Any] = {medium: {"schema": dict(_SCHEMAS[medium])} for medium in MEDIA}
    content[NDJSON]["schema"]["contentSchema"] = row
    content[NDJSON]["example"] = example
    return content


def _request_row(operation: Operation) -> dict[str, Any]:
    """A row that is sent: a request, with members of the caller's own."""
    name = type(operation.request).__name__.removesuffix("Schema")
    return {
        "description": "Of each line; with members of the caller's own.",
        "$ref": f"#/components/schemas/{name}",
    }


def _answer_row(operation: Operation) -> dict[str, Any]:
    """A row that comes back, besides what it came with."""
    name = type(operation.answer).__name__.removesuffix("Schema")
    return {
        "description": "Of each line, besides what it came with. Of the answer only the members that are asked for.",
        "type": "object",
        "properties": {
            "answer": {"$ref": f"#/components/schemas/{name}"},
            "error": {"$ref": "#/components/schemas/BatchError"},
        },
    }


#: A stream is a text to OpenAPI 3.1; its rows are said by `GET`.
_SCHEMAS: dict[str, dict[str, Any]] = {
    NDJSON: {
        "type": "string",
        "description": "A JSON object a line.",
        "minLength": 1,
        "contentMediaType": "application/json",
    },
    CSV: {"type": "string", "description": "A header line, then a record a row (RFC 4180).", "minLength": 1},
    ARROW: {
        "type": "string",
        "format": "binary",
        "description": "A schema, then record batches (Arrow IPC).",
    },
}


def _example(operation: Operation) -> tuple[str, str]:
    """The operation's examples as a stream, and what it is answered."""
    bodies = ({"id": example.name, **example.request} for example in operation.examples)
    rows = b"".join(
        orjson.dumps({name: member for name, member in body.items() if name != "working"}) + b"\n"
        for body in bodies
    )
    source = Source(io.BytesIO(rows), operation)
    answered = b"".join(
        answer_stream(source, plan_of(operation, COLUMNAR.get(operation.name)), NDJSON, NDJSON)
    )
    return rows.decode(), answered.decode()


def _json(text: str, schema: str) -> dict[str, Any]:
    reference = {"$ref": f"#/components/schemas/{schema}"}
    return {"description": text, "content": {"application/json": {"schema": reference}}}


def _identifier(operation: Operation) -> str:
    return operation.name.replace("-", "_")
