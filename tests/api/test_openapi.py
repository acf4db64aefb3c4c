"""The description is valid, committed as served, and true of every example."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest
import yaml
from openapi_spec_validator import OpenAPIV31SpecValidator

from threenorths_service.api.openapi import description, description_yaml
from threenorths_service.navmath.cautions import CAUTIONS
from threenorths_service.operations.catalogue import OPERATIONS

COMMITTED = Path(__file__).parents[2] / "openapi" / "threenorths.yaml"
EXAMPLES = [(operation, example) for operation in OPERATIONS for example in operation.examples]


def resolved(schema):
    return {**schema, "components": description()["components"]}


def schema_of(operation, part):
    post = description()["paths"][operation.path]["post"]
    content = post["requestBody"]["content"] if part == "request" else post["responses"]["200"]["content"]
    return resolved(content["application/json"]["schema"])


def test_the_description_is_valid_openapi_3_1():
    OpenAPIV31SpecValidator(description()).validate()


def test_the_committed_description_is_the_served_one(app):
    served = app.test_client().get("/openapi.yaml").get_data(as_text=True)
    assert served == description_yaml()
    committed = COMMITTED.read_text(encoding="utf-8")
    # Text by text; where libraries of other releases draw an example's contour through other points, all but these points.
    if committed != served:
        difference = first_difference(yaml.safe_load(committed), yaml.safe_load(served))
        assert difference is None, f"{difference}: python -m threenorths_service openapi/threenorths.yaml"


#: What depends on the points that a contour is drawn through.
DRAWN = ("polygons", "coordinates", "bbox", "perimeter_m", "area_km2", "reaches")


def first_difference(one, other, where=""):
    """Where two documents differ by more than a millionth; ``None`` where nowhere."""
    if isinstance(one, float) and isinstance(other, float):
        return None if one == pytest.approx(other, rel=1e-6, abs=1e-6) else where
    if type(one) is not type(other):
        return where
    if isinstance(one, dict):
        if list(one) != list(other):
            return where
        pairs = [(key, one[key], other[key]) for key in one if "/examples/" not in where or key not in DRAWN]
    elif isinstance(one, list):
        if len(one) != len(other):
            return where
        pairs = [(key, *pair) for key, pair in enumerate(zip(one, other, strict=True))]
    else:
        return None if one == other else where
    found = (first_difference(a, b, f"{where}/{key}") for key, a, b in pairs)
    return next((each for each in found if each is not None), None)


def test_yaml_and_json_say_the_same(app):
    assert yaml.safe_load(description_yaml()) == app.test_client().get("/openapi.json").get_json()


@pytest.mark.parametrize(("operation", "example"), EXAMPLES, ids=lambda part: part.name)
def test_every_example_is_answered_as_described(app, operation, example):
    jsonschema.validate(dict(example.request), schema_of(operation, "request"))
    answer = app.test_client().post(operation.path, json=dict(example.request))
    assert answer.status_code == 200, answer.get_data(as_text=True)
    jsonschema.validate(answer.get_json(), schema_of(operation, "answer"))
    shown = description()["paths"][operation.path]["post"]["responses"]["200"]["content"]["application/json"]
    assert shown["examples"][example.name]["value"] == answer.get_json()


@pytest.mark.parametrize(("operation", "example"), EXAMPLES, ids=lambda part: part.name)
def test_every_answer_has_all_the_members_described_and_no_other(app, operation, example):
    answer = app.test_client().post(operation.path, json=dict(example.request)).get_json()
    expected = {field.data_key or name for name, field in operation.answer.fields.items()}
    if not example.request.get("working"):
        expected -= {"working"}
    assert set(answer) == expected


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda operation: operation.name)
def test_every_operation_shows_its_working_when_asked(post, operation):
    steps = post(operation.name, {**operation.examples[0].request, "working": True})["working"]
    assert steps
    assert all(isinstance(step, str) for step in steps)
    assert "nan" not in " ".join(steps).lower().split()


def members(schema, path=""):
    schema = (
        description()["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
        if "$ref" in schema
        else schema
    )
    for name, member in schema.get("properties", {}).items():
        yield f"{path}/{name}", member
        if "items" in member:
            yield from members(member["items"], f"{path}/{name}")
        elif "$ref" in member:
            yield from members(member, f"{path}/{name}")


@pytest.mark.parametrize("name", sorted(description()["components"]["schemas"]))
def test_every_member_is_described_and_every_number_says_its_unit(name):
    for path, member in members(description()["components"]["schemas"][name]):
        if "$ref" in member or "anyOf" in member or "allOf" in member:
            continue
        assert member.get("description"), path
        if (
            path.endswith(("_deg", "_m", "_mm", "_nt"))
            and not path.endswith("per_100_m")
            and "number" in str(member.get("type"))
        ):
            assert "[" in member["description"], path


def test_every_operation_has_what_a_reader_needs():
    for path, item in description()["paths"].items():
        if "get" in item:
            assert len(item["get"]["description"]) > 50, path
        if "post" not in item:
            continue
        post = item["post"]
        assert post["summary"], path
        assert len(post["description"]) > 100, path
        assert {"200", "400", "413", "415", "422", "500"} <= set(post["responses"]), path


def test_the_cautions_of_the_description_are_the_list():
    assert description()["components"]["schemas"]["Caution"]["properties"]["code"]["enum"] == list(CAUTIONS)
