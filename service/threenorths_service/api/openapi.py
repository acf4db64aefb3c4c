"""The OpenAPI 3.1 description, made from the operations' own declarations."""

from __future__ import annotations

from functools import cache
from typing import Any

import yaml
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import fields

from .. import __version__
from ..operations.catalogue import OPERATIONS
from ..operations.fields import LARGEST_SCALE, SCALE_PATTERN, UNKNOWN, Bearing, DateText, Scale
from ..operations.moments import MOMENT_PATTERN, MomentText
from ..operations.observations_given import ObservationGiven
from ..operations.operation import Operation
from ..operations.request_schemas import Grid, OneOf, Position
from ..operations.shapes_given import MOST_COORDINATES, MOST_POSITIONS, GivenLine
from .openapi_batches import BATCH_SCHEMAS, batch_paths
from .problems import KINDS, MEDIA_TYPE, problem_body
from .replies import GEOJSON_MEDIA_TYPE, JSON_MEDIA_TYPE

__all__ = ["description", "description_yaml"]

CAUTION_SENTENCE = (
    "**Navigation in rough country can kill.** These numbers are an aid to trained people with a map, a compass and their "
    "own eyes on the ground; they replace none of these. Check every answer against the map and the terrain, mind its "
    "`cautions` and its uncertainty, and defer to local rules, to the search manager in charge, and to trained people on "
    "the spot."
)

OVERVIEW = f"""\
Navigation mathematics for map and compass: reading written positions on any datum and grid, map sheets, the three norths at
a place and date, bearings and compass settings, distances at scale, lines and rays, dead reckoning, fixes from any mixture of
observations with their uncertainty, search areas, checks of a compass by marks and by the sky, and estimates in the field.

{CAUTION_SENTENCE}

**Conventions.** Every number's name ends in its unit. Directions are degrees clockwise from the named north, in [0, 360).
East and north are positive. Declination is from true to magnetic north, convergence from true to grid north, and the
grid-magnetic angle is declination less convergence. Positions are on WGS84
unless a datum is named. A grid reference names a square: it is written by truncation and read as the square's centre.
`null` stands for what cannot be known from the request.

Of a JSON member given twice, the last counts.

**Requests** are strict: a member that is not described is an error that names it. Every computation is a `POST` that keeps
nothing, so it is safe to repeat. **Answers** may gain members. **Errors** are problem details (RFC 9457) with a stable `code`
and, under `errors`, a JSON Pointer, the value and what is allowed.
"""


@cache
def description() -> dict[str, Any]:
    """The description as plain data; made once, as it never changes while the service runs."""
    plugin = MarshmallowPlugin(schema_name_resolver=_schema_name)
    spec = APISpec(
        title="threenorths",
        version=__version__,
        openapi_version="3.1.0",
        plugins=[plugin],
        info={
            "description": OVERVIEW,
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        servers=[{"url": "/", "description": "This service"}],
        tags=[{"name": name} for name in (*(operation.name for operation in OPERATIONS), "batches")],
    )
    converter = plugin.converter
    assert converter is not None  # noqa: S101 - set by APISpec when it takes the plugin
    converter.add_attribute_function(_union_property)  # type: ignore[no-untyped-call] # apispec leaves it untyped
    for schema in (*Position.FORMS, *Grid.FORMS, *ObservationGiven.FORMS):
        spec.components.schema(_schema_name(schema), schema=schema)
    for name, component in {"Problem": PROBLEM_SCHEMA, **BATCH_SCHEMAS}.items():
        spec.components.schema(name, component)
    for kind in KINDS.values():
        if kind.code in (*ANY_OPERATION_PROBLEMS, "not_acceptable", "busy", "invalid_batch"):
            spec.components.response(f"problem_{kind.code}", _problem_response(kind.code, kind.explanation))
    for operation in OPERATIONS:
        spec.path(path=operation.path, operations={"post": _operation(operation)})
    refused = {
        str(KINDS[code].status): f"problem_{code}"
        for code in (*ANY_OPERATION_PROBLEMS, "not_acceptable", "busy")
    }
    refused["422"] = "problem_invalid_batch"
    for path, operations in batch_paths(refused).items():
        spec.path(path=path, operations=operations)
    return spec.to_dict()


def description_yaml() -> str:
    """The description as it is committed and served."""
    return yaml.safe_dump(description(), sort_keys=False, allow_unicode=True, width=120)


#: Problems that every operation can answer, besides 422.
ANY_OPERATION_PROBLEMS = ("bad_request", "too_large", "unsupported_media_type", "internal_error")

PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "A problem detail (RFC 9457).",
    "required": ["type", "title", "status", "detail", "code", "request_id"],
    "properties": {
        "type": {
            "type": "string",
            "format": "uri-reference",
            "description": "Page that explains the kind of problem.",
        },
        "title": {"type": "string", "description": "The kind of problem in a few words."},
        "status": {"type": "integer", "description": "HTTP status."},
        "detail": {"type": "string", "description": "What was wrong this time."},
        "code": {"type": "string", "enum": sorted(KINDS), "description": "Stable code of the kind."},
        "request_id": {"type": ["string", "null"], "description": "Also in the `X-Request-ID` header."},
        "errors": {
            "type": "array",
            "description": "Each member that was wrong.",
            "items": {
                "type": "object",
                "required": ["pointer", "code", "detail"],
                "properties": {
                    "pointer": {
                        "type": "string",
                        "description": "JSON Pointer (RFC 6901) to the member; empty for the body.",
                    },
                    "code": {"type": "string", "description": "Stable code of what was wrong with it."},
                    "detail": {"type": "string", "description": "What was wrong with it."},
                    "value": {"description": "What stood there; a long value is shortened to a text."},
                    "allowed": {"type": "string", "description": "What may stand there."},
                },
            },
        },
        "readings": {
            "type": "array",
            "description": "Of an ambiguous or unreadable text: the readings it could have, none of them chosen.",
            "items": {
                "type": "object",
                "required": ["read_as", "lat_deg", "lon_deg", "form"],
                "properties": {
                    "read_as": {
                        "type": "string",
                        "description": "The reading, written so that it has no other.",
                    },
                    "lat_deg": {"type": "number", "description": "Latitude, north positive. [degree]"},
                    "lon_deg": {"type": "number", "description": "Longitude, east positive. [degree]"},
                    "form": {"type": "string", "description": "Form that it was read in."},
                    "slip": {"type": "string", "description": "The likely slip that it is without, if any."},
                    "explanation": {"type": "string", "description": "That slip in a sentence."},
                    "distance_m": {
                        "type": "number",
                        "description": "Distance from `near`, or from the sheet, where it is known; nearest first. [m]",
                    },
                },
            },
        },
        "sights": {
            "type": "array",
            "description": "Of a fix: the indices, from 0, of the sights that the problem is about.",
            "items": {"type": "integer", "minimum": 0},
        },
    },
}

FEATURE_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "A GeoJSON feature (RFC 7946), on WGS84; its properties are the answer.",
    "required": ["type", "geometry", "properties"],
    "properties": {
        "type": {"type": "string", "const": "Feature"},
        "geometry": {
            "type": ["object", "null"],
            "description": "A point, a polygon, or several where the antimeridian cuts it; null where there is none.",
            "required": ["type", "coordinates"],
            "properties": {
                "type": {"type": "string", "enum": ["Point", "Polygon", "MultiPolygon"]},
                "coordinates": {"type": "array", "description": "Longitude first. [degree]", "items": {}},
            },
        },
        "properties": {"type": "object", "description": "The answer as JSON gives it."},
    },
}

COLLECTION_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "A GeoJSON feature collection (RFC 7946), on WGS84; further members as the answer has them.",
    "required": ["type", "features"],
    "properties": {
        "type": {"type": "string", "const": "FeatureCollection"},
        "features": {"type": "array", "description": "One feature an area.", "items": FEATURE_SCHEMA},
    },
}


def _operation(operation: Operation) -> dict[str, Any]:
    answers = {example.name: _example(operation, example) for example in operation.examples}
    codes = sorted({"invalid_request", *(error.code for error in operation.errors)})
    return {
        "operationId": operation.name.replace("-", "_"),
        "tags": [operation.name],
        "summary": operation.summary,
        "description": operation.description,
        "requestBody": {
            "required": True,
            "content": {
                JSON_MEDIA_TYPE: {
                    "schema": operation.request,
                    "examples": {
                        example.name: {"summary": example.summary, "value": dict(example.request)}
                        for example in operation.examples
                    },
                }
            },
        },
        "responses": {
            "200": {
                "description": "The answer.",
                "content": {
                    JSON_MEDIA_TYPE: {"schema": operation.answer, "examples": answers},
                    **_feature_content(operation),
                },
            },
            **{str(KINDS[code].status): f"problem_{code}" for code in ANY_OPERATION_PROBLEMS},
            "422": _problem_response(
                "invalid_request",
                "The request does not fit its description, or has no answer. Codes: "
                + ", ".join(f"`{code}`" for code in codes),
            ),
        },
    }


def _example(operation: Operation, example: Any) -> dict[str, Any]:
    return {"summary": example.summary, "value": operation.answer_to(dict(example.request))}


def _feature_content(operation: Operation) -> dict[str, Any]:
    """The answer as GeoJSON, of an operation that has a shape."""
    if operation.feature is None:
        return {}
    example = operation.examples[0]
    value = operation.feature_for(dict(example.request))
    shown = {"summary": example.summary, "value": value}
    schema = FEATURE_SCHEMA if value["type"] == "Feature" else COLLECTION_SCHEMA
    return {GEOJSON_MEDIA_TYPE: {"schema": schema, "examples": {example.name: shown}}}


def _problem_response(code: str, text: str) -> dict[str, Any]:
    example = problem_body(code, KINDS[code].title, "call-17")
    if code == "invalid_request":
        complaint = {"pointer": "/wrking", "code": UNKNOWN.code, "detail": str(UNKNOWN), "value": True}
        example.update(detail="1 member is wrong: /wrking", errors=[complaint])
    return {"description": text, "content": {MEDIA_TYPE: {"schema": "Problem", "example": example}}}


def _schema_name(schema: Any) -> str:
    name = (
        schema if isinstance(schema, str) else (schema if isinstance(schema, type) else type(schema)).__name__
    )
    return name.removesuffix("Schema")


def _position_schema() -> dict[str, Any]:
    objects = [{"$ref": f"#/components/schemas/{_schema_name(schema)}"} for schema in Position.FORMS]
    return {"oneOf": [{"type": "string", "minLength": 1, "maxLength": 200}, *objects]}


def _geometry_schema(field: GivenLine) -> dict[str, Any]:
    """The GeoJSON object that a line or a ring may be."""
    coordinate = {
        "type": "array",
        "description": "Longitude, latitude, and a height that is not looked at. [degree]",
        "prefixItems": [
            {"type": "number", "minimum": -180, "maximum": 180},
            {"type": "number", "minimum": -90, "maximum": 90},
            {"type": "number"},
        ],
        "minItems": 2,
        "maxItems": 3,
    }
    coordinates: dict[str, Any] = {
        "type": "array",
        "items": coordinate,
        "minItems": field.FEWEST,
        "maxItems": MOST_COORDINATES,
    }
    if field.TYPE == "Polygon":
        coordinates = {"type": "array", "items": coordinates, "minItems": 1, "maxItems": 1}
    return {
        "type": "object",
        "required": ["type", "coordinates"],
        "properties": {
            "type": {"type": "string", "const": field.TYPE},
            "coordinates": coordinates,
            "bbox": {"type": "array", "items": {"type": "number"}},
        },
        "additionalProperties": False,
    }


def _union_property(_converter: Any, field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    """What apispec cannot tell of the fields that take more than one type."""
    if isinstance(field, GivenLine):
        return {
            "oneOf": [
                {
                    "type": "array",
                    "items": _position_schema(),
                    "minItems": field.FEWEST,
                    "maxItems": MOST_POSITIONS,
                },
                _geometry_schema(field),
            ]
        }
    if isinstance(field, OneOf):
        forms: list[dict[str, Any]] = [
            {"$ref": f"#/components/schemas/{_schema_name(schema)}"} for schema in field.FORMS
        ]
        if isinstance(field, Position):
            return _position_schema()
        return {"oneOf": forms}
    if isinstance(field, DateText):
        return {"oneOf": [{"type": "string", "format": "date"}, {"type": "string", "const": "today"}]}
    if isinstance(field, MomentText):
        moment = {"type": "string", "pattern": f"^{MOMENT_PATTERN.pattern}$"}
        return {"oneOf": [moment, {"type": "string", "const": "now"}]}
    if isinstance(field, Bearing):
        return {
            "oneOf": [
                {"type": "number", "minimum": 0, "maximum": 6400},
                {"type": "string", "minLength": 1, "maxLength": 200},
            ]
        }
    if isinstance(field, Scale):
        number = {"type": "number", "minimum": 1, "maximum": LARGEST_SCALE}
        return {"oneOf": [number, {"type": "string", "pattern": f"^{SCALE_PATTERN.pattern}$"}]}
    return {}
