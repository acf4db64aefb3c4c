"""A batch of n rows gives what n single requests give, for every operation, in every medium."""

from __future__ import annotations

import io
from typing import Any

import orjson
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError

from batch_rows import BODIES, decoded, encoded, fits_columns
from fixes_alike import FIXES, is_alike, moves_of
from threenorths_service.batch.answers import JSON_TYPE, answers_of
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.chunks import Source
from threenorths_service.batch.plan import Plan, plan_of
from threenorths_service.batch.stream import ARROW, CSV, MEDIA, NDJSON, answer_stream
from threenorths_service.navmath.errors import NavigationError
from threenorths_service.operations.faults import faults_of
from threenorths_service.operations.operation import Operation


def answered(plan: Plan, body: bytes, medium: str) -> list[dict[str, Any]]:
    source = Source(io.BytesIO(body), plan.operation)
    return decoded(b"".join(answer_stream(source, plan, medium, medium)), medium)


def single(operation: Operation, body: dict[str, Any]) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
    """The answer to a single request, or its first fault."""
    try:
        return orjson.loads(orjson.dumps(operation.answer_to(body))), None
    except (NavigationError, ValidationError) as error:
        return None, faults_of(error)[0]


def flat(plan: Plan, answer: dict[str, Any]) -> dict[str, Any]:
    """What of a single answer the plan's columns hold, as a table has it."""
    found = {}
    for path, column in plan.wanted.items():
        value: Any = answer
        for part in path.split("."):
            value = None if value is None else value.get(part)
        if value is not None:
            found[f"answer.{path}"] = (
                orjson.dumps(value).decode() if column.arrow_type == JSON_TYPE else value
            )
    return found


def typed(plan: Plan, path: str, cell: Any) -> Any:
    """A cell of a table as the value that it stands for."""
    arrow_type = plan.wanted[path.removeprefix("answer.")].arrow_type
    if not isinstance(cell, str) or arrow_type in (pa.string(), JSON_TYPE):
        return cell
    return cell == "true" if arrow_type == pa.bool_() else float(cell)


def check_row(plan: Plan, medium: str, number: int, row: dict[str, Any], body: dict[str, Any]) -> None:
    answer, fault = single(plan.operation, body)
    assert int(row["id"]) == number
    told = (
        row.get("error")
        if medium == NDJSON
        else {name.removeprefix("error."): value for name, value in row.items() if name.startswith("error.")}
    )
    if fault is not None:
        assert told, (body, fault)
        assert told["code"] == fault["code"]
        assert (told.get("member") or "") == fault["pointer"].lstrip("/").replace("/", ".")
        assert told["text"].startswith(fault["detail"].rstrip("."))
        assert int(told["row"]) == number + 1
        assert not any(name.partition(".")[0] == "answer" for name in row)
        return
    assert not told, (body, told)
    expected = flat(plan, answer)
    if medium == NDJSON:
        assert {name: value for name, value in row.items() if name != "answer"} == {"id": number, **body}
        assert_answered(plan, flat(plan, row["answer"]), expected)
    else:
        given_back = {
            name: typed(plan, name, value) for name, value in row.items() if name.startswith("answer.")
        }
        assert_answered(plan, given_back, {name: value for name, value in expected.items() if value != ""})


def assert_answered(plan: Plan, got: dict[str, Any], expected: dict[str, Any]) -> None:
    """What is answered is what is expected: the same but, of fixes, for what their places move by in columns."""
    if plan.operation.name not in FIXES:
        assert got == expected
        return
    assert got.keys() == expected.keys()
    moves = moves_of({name.removeprefix("answer."): value for name, value in expected.items()})
    for name, value in expected.items():
        column = plan.wanted[name.removeprefix("answer.")]
        # In a table 0 may be 0.0.
        alike = got[name] == value or is_alike(column, got[name], value, moves)
        assert alike, (name, got[name], value)


@pytest.mark.parametrize("columns", ["in columns", "all"])
@pytest.mark.parametrize("medium", MEDIA)
@pytest.mark.parametrize("name", BODIES)
@settings(
    max_examples=25,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(data=st.data())
def test_a_batch_answers_each_row_as_a_single_request(name, medium, columns, data):
    operation = BATCHED[name]
    # A fix, or the search for a slip, costs a hundred times what another row does.
    most = 3 if name in ("intersections", "resections", "checks") else 12
    bodies = data.draw(st.lists(BODIES[name], min_size=1, max_size=most))
    if medium == ARROW:
        bodies = [body for body in bodies if fits_columns(operation, body)]
    if medium == CSV:  # where an absent list and an empty one are the same
        bodies = [body for body in bodies if body]
    if not bodies:
        return
    plan = plan_of(operation, COLUMNAR.get(name))
    wanted = plan.forms if columns == "in columns" else answers_of(operation)
    plan = plan_of(operation, COLUMNAR.get(name), tuple(wanted))
    rows = answered(plan, encoded(operation, bodies, medium), medium)
    assert len(rows) == len(bodies)
    for number, (row, body) in enumerate(zip(rows, bodies, strict=True)):
        check_row(plan, medium, number, row, body)


@pytest.mark.parametrize("name", BODIES)
def test_every_batched_operation_has_bodies_to_be_tested_with(name):
    assert name in BATCHED
    assert set(BODIES) == set(BATCHED)
