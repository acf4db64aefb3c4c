"""What is asked of a batch beside its rows: members that all rows have, columns of the answer, and a summary.

The endpoint, the functions of `frames` and the script of a cluster read it here. What is wrong with it is a `BatchError`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

import orjson
import pyarrow as pa
from marshmallow import ValidationError

from ..operations.operation import Operation
from .answers import answers_of
from .arrow_rows import TableColumns
from .catalogue import COLUMNAR
from .cells import value_of_text
from .checks import SUMMARISED
from .faults import BatchError
from .members import Member, member_of, parts_of
from .plan import Plan, fault_of, plan_of
from .rows import body_of
from .stream import Summary

__all__ = [
    "ALL",
    "columns_asked",
    "members_of_texts",
    "members_of_values",
    "plan_asked",
    "summarised_columns",
    "summary_asked",
]

#: In the place of a column's path: every column but those that are only there where they are asked for.
ALL = "all"


def members_of_texts(operation: Operation, given: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """The members that all rows have, from paths and texts, of an address or a command line."""
    return _members(operation, given, value_of_text)


def members_of_values(operation: Operation, given: Mapping[str, Any]) -> dict[str, Any]:
    """The members that all rows have, from values of Python, each read as a column of it would be; an object by its parts."""

    def read(value: Any, member: Member) -> Any:
        try:
            batch = pa.RecordBatch.from_pydict({member.path: [value]})
            rows = TableColumns(operation, {}, batch.schema).chunk(batch, 1).rows
        except (BatchError, pa.ArrowException, OverflowError, TypeError):
            return value  # it makes no column of the member: the schema says what is wrong with it
        return rows.odd[0][member.path] if rows.odd else rows.columns[member.path][0].as_py()

    return _members(operation, _parts(operation, given, ""), read)


def columns_asked(operation: Operation, given: Sequence[str] | None) -> tuple[str, ...] | None:
    """The columns of the answer by path, from paths with commas between and `ALL`; ``None`` is the usual ones."""
    if given is None:
        return None
    known = answers_of(operation)
    asked: list[str] = []
    for path in (path for text in ([given] if isinstance(given, str) else given) for path in text.split(",")):
        if path == ALL:
            asked.extend(path for path, column in known.items() if not column.optional)
        elif path in known:
            asked.append(path)
        else:
            message = f"{operation.name} answers with no column {path!r}, but with {', '.join(known)}"
            raise BatchError("unknown_column", message, "columns")
    return tuple(dict.fromkeys(asked))


def summarised_columns(operation: Operation) -> tuple[str, ...]:
    """The columns that a summary of its batches is made from; none of an operation whose batches have no summary."""
    return SUMMARISED if operation.name == "checks" else ()


def summary_asked(operation: Operation, text: str | None) -> Summary:
    """Whether there is a summary; left out, behind all rows where there can be one."""
    if not summarised_columns(operation):
        return Summary.NONE
    try:
        return Summary.LAST if text is None else Summary(text)
    except ValueError:
        raise BatchError(
            "not_a_choice", f"summary is {text!r}; allowed: true, false, only", "summary"
        ) from None


def plan_asked(operation: Operation, columns: Sequence[str] | None, summary: Summary = Summary.NONE) -> Plan:
    """The plan that answers these columns, as `columns_asked` reads them."""
    summarised = () if summary is Summary.NONE else summarised_columns(operation)
    wanted = columns_asked(operation, columns)
    return plan_of(operation, COLUMNAR.get(operation.name), wanted, summarised=summarised)


def _parts(operation: Operation, given: Mapping[str, Any], prefix: str) -> Iterator[tuple[str, Any]]:
    """The members by path; an object is taken apart, unless it is a member as a whole."""
    for name, value in given.items():
        path = f"{prefix}{name}"
        member = member_of(operation, path)
        if isinstance(value, Mapping) and (member is None or member.kind != "json"):
            yield from _parts(operation, value, f"{path}.")
        else:
            yield path, value


def _members(
    operation: Operation, given: Iterable[tuple[str, Any]], read: Callable[[Any, Member], Any]
) -> dict[str, Any]:
    members: dict[str, Any] = {}
    for path, value in given:
        member = member_of(operation, path)
        if member is None:
            message = f"{operation.name} has no member {path!r}, and no such option"
            raise BatchError("unknown_member", message, path)
        if path in members:
            raise _given_twice(path)
        if member.kind != "json":
            members[path] = read(value, member)
            continue
        try:
            members[path] = orjson.loads(value) if isinstance(value, str) else value
        except orjson.JSONDecodeError:
            raise BatchError("malformed_json", f"the member {path!r} is no JSON", path) from None
    wholes = {tuple(parts_of(path)): path for path in members}
    for path in members:
        steps = parts_of(path)
        for whole in (tuple(steps[:count]) for count in range(1, len(steps) + 1)):
            if wholes.get(whole, path) != path:
                raise _given_twice(wholes[whole])
    # Wrong once is better told once than in every row.
    body = body_of(members)
    try:
        operation.request.load(body, partial=True)
    except ValidationError as error:
        error.data = body
        fault = fault_of(error)
        named = "" if fault.member is None else f"{fault.member}: "
        raise BatchError(fault.code, f"{named}{fault.text}", fault.member) from None
    return members


def _given_twice(path: str) -> BatchError:
    message = (
        f"the member {path!r} is given twice, or as a whole as well as by its parts: give just one of them"
    )
    return BatchError("given_twice", message, path)
