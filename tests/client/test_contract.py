"""The client's dataclasses and arguments against the description that the service publishes of itself."""

import dataclasses
import datetime
import inspect
import json
import types
import typing
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import requests

import threenorths
from threenorths import (
    AnglesFrom,
    Client,
    LatLon,
    MagneticModel,
    North,
    PlaceOptions,
    Projected,
    Sheet,
    SheetCorners,
    SightFrom,
    SightTo,
    Take,
    Unit,
    Ups,
    Utm,
)
from threenorths.command_line import main
from threenorths.from_json import build, json_name

OPERATIONS: dict[str, tuple[Callable[[Client], Any], type[Any]]] = {
    "positions": (lambda client: client.positions.read, threenorths.PositionRead),
    "sheets": (lambda client: client.sheets.check, threenorths.SheetChecked),
    "norths": (lambda client: client.norths.at, threenorths.Norths),
    "bearings": (lambda client: client.bearings.convert, threenorths.Bearing),
    "compass-settings": (lambda client: client.compass_settings.find, threenorths.CompassSetting),
    "map-distances": (lambda client: client.map_distances.solve, threenorths.MapDistance),
    "lines": (lambda client: client.lines.between, threenorths.Line),
    "rays": (lambda client: client.rays.follow, threenorths.Ray),
    "reckonings": (lambda client: client.reckonings.walk, threenorths.Reckoning),
    "fixes": (lambda client: client.fixes.find, threenorths.Fixes),
    "intersections": (lambda client: client.intersections.fix, threenorths.Fix),
    "search-areas": (lambda client: client.search_areas.find, threenorths.SearchAreas),
    "resections": (lambda client: client.resections.fix, threenorths.Fix),
    "widths": (lambda client: client.widths.find, threenorths.Width),
    "heights": (lambda client: client.heights.find, threenorths.Height),
    "mil-relations": (lambda client: client.mil_relations.solve, threenorths.MilRelation),
    "travel-times": (lambda client: client.travel_times.solve, threenorths.TravelTime),
    "gradients": (lambda client: client.gradients.find, threenorths.Gradient),
    "sight-lines": (lambda client: client.sight_lines.check, threenorths.SightLine),
    "compass-checks": (lambda client: client.compass_checks.find, threenorths.CompassCheck),
    "local-attractions": (lambda client: client.local_attractions.find, threenorths.LocalAttraction),
    "sky-bearings": (lambda client: client.sky_bearings.at, threenorths.SkyBearing),
    "twilights": (lambda client: client.twilights.over, threenorths.Twilights),
    "checks": (lambda client: client.checks.check, threenorths.CheckedReport),
}
each_operation = pytest.mark.parametrize("name", OPERATIONS)

#: What of a sheet's margin has an option of its own in the commands that take angles from there.
PRINTED_ANGLES = (
    "grid_magnetic_angle_deg",
    "declination_deg",
    "convergence_deg",
    "year",
    "annual_change_deg",
)

#: What stands for the list of observations: an option for each kind.
OBSERVATION_OPTIONS = {"bearings_to", "bearings_from", "distances", "angles", "lines"}

PLAIN = {
    float: {"type": "number"},
    int: {"type": "integer"},
    str: {"type": "string"},
    bool: {"type": "boolean"},
    datetime.date: {"type": "string", "format": "date"},
    datetime.datetime: {"type": "string", "format": "date-time"},
}


@pytest.fixture(scope="module")
def description(service_url: str) -> dict[str, Any]:
    answer = requests.get(f"{service_url}/openapi.json", timeout=30)
    return json.loads(answer.content)


def resolved(description: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in schema:
        schema = description["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    return schema


def request_schema(description: dict[str, Any], name: str) -> dict[str, Any]:
    body = description["paths"][f"/v1/{name}"]["post"]["requestBody"]
    return resolved(description, body["content"]["application/json"]["schema"])


def answer_content(description: dict[str, Any], name: str) -> dict[str, Any]:
    content: dict[str, Any] = description["paths"][f"/v1/{name}"]["post"]["responses"]["200"]["content"]
    return content


def answer_schema(description: dict[str, Any], name: str) -> dict[str, Any]:
    return resolved(description, answer_content(description, name)["application/json"]["schema"])


def without_null(description: dict[str, Any], schema: dict[str, Any]) -> tuple[dict[str, Any], bool]:
    """The schema of what is there, and whether null may be there instead."""
    if "anyOf" in schema:
        parts = [part for part in schema["anyOf"] if part != {"type": "null"}]
        assert len(parts) == 1
        return resolved(description, parts[0]), len(parts) < len(schema["anyOf"])
    schema = resolved(description, schema)
    if isinstance(schema.get("type"), list):
        (kind,) = [kind for kind in schema["type"] if kind != "null"]
        return {**schema, "type": kind}, "null" in schema["type"]
    return schema, False


def differences(
    description: dict[str, Any], kind: type[Any], schema: dict[str, Any], where: str
) -> Iterator[str]:
    """Where a dataclass is not what an object's schema says."""
    hints = typing.get_type_hints(kind)
    members = {json_name(field.name): hints[field.name] for field in dataclasses.fields(kind)}
    members.pop("raw_json", None)
    properties = schema["properties"]
    for member in members.keys() ^ properties.keys():
        yield f"{where}.{member} is only in {'the client' if member in members else 'the description'}"
    for member in members.keys() & properties.keys():
        hint, may_be_none = without_none(members[member])
        inner, may_be_null = without_null(description, properties[member])
        required = member in schema.get("required", [])
        if may_be_none != (may_be_null or not required):
            yield f"{where}.{member} may{'' if may_be_none else ' not'} be None in the client"
        yield from type_differences(description, hint, inner, f"{where}.{member}")


def type_differences(
    description: dict[str, Any], hint: Any, schema: dict[str, Any], where: str
) -> Iterator[str]:
    if typing.get_origin(hint) is tuple:
        if schema["type"] != "array":
            yield f"{where} is {schema['type']}, not an array"
        else:
            inner, may_be_none = without_none(typing.get_args(hint)[0])
            items, may_be_null = without_null(description, schema["items"])
            if may_be_none != may_be_null:
                yield f"{where}[] may{'' if may_be_none else ' not'} be None in the client"
            yield from type_differences(description, inner, items, f"{where}[]")
    elif dataclasses.is_dataclass(hint):
        yield from differences(description, hint, schema, where)
    else:
        wanted = PLAIN[hint]
        said = {key: schema.get(key) for key in wanted}
        if said != wanted or (hint is str and schema.get("format") in ("date", "date-time")):
            yield f"{where} is {schema}, not {hint}"


def without_none(hint: Any) -> tuple[Any, bool]:
    if typing.get_origin(hint) in (types.UnionType, typing.Union):
        (inner,) = [part for part in typing.get_args(hint) if part is not types.NoneType]
        return inner, True
    return hint, False


def test_every_operation_is_known(description: dict[str, Any]) -> None:
    paths = {path for path in description["paths"] if not path.startswith("/v1/batches")}
    assert {path.removeprefix("/v1/") for path in paths} == set(OPERATIONS)


@each_operation
def test_an_answers_dataclass_is_what_the_description_says(description: dict[str, Any], name: str) -> None:
    kind = OPERATIONS[name][1]
    assert list(differences(description, kind, answer_schema(description, name), kind.__name__)) == []


@each_operation
def test_every_member_of_a_request_is_an_argument(
    description: dict[str, Any], name: str, client: Client
) -> None:
    schema = request_schema(description, name)
    method = OPERATIONS[name][0](client)
    parameters = dict(inspect.signature(method).parameters)
    options = set(typing.get_type_hints(PlaceOptions)) if parameters.pop("places", None) else set()
    assert {json_name(parameter) for parameter in parameters} | options == set(schema["properties"])
    required = {json_name(name) for name, it in parameters.items() if it.default is inspect.Parameter.empty}
    assert required == set(schema.get("required", []))


@each_operation
def test_an_argument_left_out_is_left_to_the_service(name: str, client: Client) -> None:
    for parameter in inspect.signature(OPERATIONS[name][0](client)).parameters.values():
        if parameter.kind is not inspect.Parameter.VAR_KEYWORD:
            assert parameter.default in (inspect.Parameter.empty, None)


@pytest.mark.parametrize(
    ("kind", "schema", "fixed"),
    [
        (LatLon, "GeodeticPosition", set()),
        (Utm, "UtmPosition", {"grid"}),
        (Ups, "UpsPosition", {"grid"}),
        (Projected, "ProjectedPosition", set()),
        (Sheet, "SheetRequest", set()),
        (SheetCorners, "SheetCorners", set()),
    ],
)
def test_objects_of_requests_have_the_members_described(
    description: dict[str, Any], kind: type[Any], schema: str, fixed: set[str]
) -> None:
    described = description["components"]["schemas"][schema]
    fields = dataclasses.fields(kind)
    assert {field.name for field in fields} == set(described["properties"]) - fixed
    required = {field.name for field in fields if field.default is dataclasses.MISSING}
    assert required == set(described.get("required", [])) - fixed


@pytest.mark.parametrize(
    ("kind", "name", "place"), [(SightFrom, "intersections", "from"), (SightTo, "resections", "to")]
)
def test_sights_have_the_members_described(
    description: dict[str, Any], kind: type[Any], name: str, place: str
) -> None:
    sight = resolved(description, request_schema(description, name)["properties"]["sights"]["items"])
    fields = {place if field.name == "place" else field.name for field in dataclasses.fields(kind)}
    assert fields == set(sight["properties"])


def test_a_known_reading_has_the_members_described(description: dict[str, Any]) -> None:
    schema = request_schema(description, "compass-checks")
    reading = resolved(description, schema["properties"]["readings"]["items"])
    fields = dataclasses.fields(threenorths.KnownReading)
    assert {field.name for field in fields} == set(reading["properties"])
    assert {field.name for field in fields if field.default is dataclasses.MISSING} == set(
        reading["required"]
    )


@pytest.mark.parametrize(
    ("words", "name", "member"),
    [
        (North, "bearings", "north"),
        (Unit, "bearings", "unit"),
        (Take, "positions", "take"),
        (AnglesFrom, "bearings", "angles_from"),
        (MagneticModel, "norths", "model"),
        (threenorths.WidthMethod, "widths", "method"),
        (threenorths.WalkedAngle, "widths", "walked_angle"),
        (threenorths.HeightMethod, "heights", "method"),
        (threenorths.MilUnit, "mil-relations", "unit"),
        (threenorths.GradientMethod, "gradients", "method"),
        (threenorths.SkyBody, "sky-bearings", "body"),
        (threenorths.SkyPart, "sky-bearings", "part"),
        (North, "checks", "expected_north"),
        (Unit, "checks", "expected_unit"),
    ],
)
def test_words_to_choose_from_are_the_services(
    description: dict[str, Any], words: Any, name: str, member: str
) -> None:
    schema = request_schema(description, name)["properties"][member]
    assert list(typing.get_args(words)) == schema["enum"]


@each_operation
def test_every_member_of_a_request_is_in_the_command(description: dict[str, Any], name: str) -> None:
    schema = request_schema(description, name)
    wanted = set(schema["properties"])
    if name == "fixes":
        wanted = (wanted - {"observations"}) | OBSERVATION_OPTIONS
    if "application/geo+json" in answer_content(description, name):
        wanted |= {"as_geojson"}
    if "angles_from" in wanted:
        wanted |= {f"sheet_{name}" for name in PRINTED_ANGLES}
    command = main.commands[name]
    assert {json_name(parameter.name) for parameter in command.params} == wanted | {"as_json", "url"}


@each_operation
def test_the_described_examples_are_read_whole(description: dict[str, Any], name: str) -> None:
    """Each answer that the description shows is one that the client can read."""
    content = description["paths"][f"/v1/{name}"]["post"]["responses"]["200"]["content"]["application/json"]
    for example in content["examples"].values():
        assert build(OPERATIONS[name][1], example["value"])
