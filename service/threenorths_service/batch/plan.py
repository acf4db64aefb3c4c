"""A batch of an operation: the one function that endpoint, command line and cluster call on their record batches."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from marshmallow import ValidationError
from numpy.typing import NDArray

from ..navmath.errors import NavigationError
from ..operations.faults import faults_of
from ..operations.operation import Operation
from .answers import AnswerColumn, answers_of, values_of
from .columnar import Columnar
from .members import members_of
from .rows import Fault, GivenTwiceError, Rows

__all__ = ["Answered", "Plan", "fault_of", "plan_of"]

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Answered:
    """The answers of some rows: a column for each member asked for, null in the rows that have a fault instead."""

    count: int
    columns: dict[str, pa.Array]
    faults: dict[int, Fault]

    def only(self, shown: tuple[str, ...]) -> Answered:
        """The same with these columns alone."""
        return Answered(self.count, {path: self.columns[path] for path in shown}, self.faults)


@dataclass(frozen=True, slots=True)
class Plan:
    """What is asked of every row: the operation, and the columns of its answer that are wanted."""

    operation: Operation
    columnar: Columnar | None
    wanted: Mapping[str, AnswerColumn]
    #: What of that is shown; the rest is for a summary.
    shown: tuple[str, ...]
    #: The answer's members that have a column form.
    forms: frozenset[str]

    def answer(self, rows: Rows) -> Answered:
        """The answers of the rows, those of the plain kinds all at once and the others one by one."""
        if self.columnar is None or not self.forms.issuperset(self.wanted):
            return self._merged(rows, np.arange(rows.count), {}, np.zeros(rows.count, dtype=np.bool_))
        asked = np.flatnonzero(~rows.beyond(self.columnar.members))
        plain = np.zeros(rows.count, dtype=np.bool_)
        columns: dict[str, pa.Array] = {}
        if asked.size:
            try:
                plain[asked], columns = self._in_columns(
                    rows if asked.size == rows.count else rows.taken(asked)
                )
            except Exception as error:
                logger.error("rows of %s failed in columns", self.operation.name, exc_info=error)
                plain[:], columns = False, {}
            if columns and asked.size < rows.count:
                places = np.full(rows.count, 0)
                places[asked] = np.arange(asked.size)
                columns = {path: column.take(pa.array(places)) for path, column in columns.items()}
        return self._merged(rows, np.flatnonzero(~plain), columns, plain)

    def _in_columns(self, rows: Rows) -> tuple[NDArray[np.bool_], dict[str, pa.Array]]:
        """Which rows are plain, and the columns of all."""
        assert self.columnar is not None  # noqa: S101 - the caller looked
        found = self.columnar.answer(rows)
        return found.plain, {
            path: column.array_of(found.columns[path](), rows.count) for path, column in self.wanted.items()
        }

    def _merged(
        self, rows: Rows, single: NDArray[np.intp], columns: dict[str, pa.Array], plain: NDArray[np.bool_]
    ) -> Answered:
        """The columns of the plain rows with what the others are answered put in its places."""
        if columns and not single.size:
            return Answered(rows.count, columns, {})
        answers, faults = self._one_by_one(rows, single)
        mask = pa.array(~plain)
        merged = {}
        for path, column in self.wanted.items():
            others = column.array_of_answers(answers)
            merged[path] = others if not columns else _replaced(columns[path], mask, others)
        return Answered(rows.count, merged, faults)

    def _one_by_one(
        self, rows: Rows, single: NDArray[np.intp]
    ) -> tuple[list[dict[str, Any]], dict[int, Fault]]:
        answers: list[dict[str, Any]] = []
        faults: dict[int, Fault] = {}
        for row, body in zip(single.tolist(), rows.bodies(single), strict=True):
            fault = rows.faults.get(row)
            answer: dict[str, Any] = {}
            if fault is None:
                try:
                    answer = values_of(self.wanted, self._answer_to(body))
                except (NavigationError, ValidationError) as error:
                    fault = fault_of(error)
                except GivenTwiceError as error:
                    fault = Fault("given_twice", error.path, str(error))
                except Exception as error:
                    # The row is not logged: positions are personal data. Nor is the same failure logged for every row.
                    if not any(each.code == "internal_error" for each in faults.values()):
                        logger.error("a row of %s failed", self.operation.name, exc_info=error)
                    fault = Fault(
                        "internal_error", None, "the service failed on this row; the fault is its own"
                    )
            answers.append(answer)
            if fault is not None:
                faults[row] = fault
        return answers, faults

    def _answer_to(self, body: dict[str, Any] | GivenTwiceError) -> dict[str, Any]:
        if isinstance(body, GivenTwiceError):
            raise body
        return self.operation.answer_to(body)


def plan_of(
    operation: Operation,
    columnar: Columnar | None,
    wanted: tuple[str, ...] | None = None,
    *,
    summarised: tuple[str, ...] = (),
) -> Plan:
    """The plan that answers ``wanted``; left out, the usual columns. Cautions are always among them.

    ``summarised`` are worked out as well, for a summary, and not shown unless they are wanted.
    """
    known = answers_of(operation)
    for path in wanted or ():
        known[path]  # a KeyError names the one that is not known
    forms: frozenset[str] = frozenset()
    if columnar is not None:
        forms = frozenset(columnar.answer(Rows(0, {}, members_of(operation))).columns)
        wanted = columnar.usual if wanted is None else wanted
    shown = tuple(path for path in known if wanted is None or path in wanted or path == "cautions")
    chosen = {path: known[path] for path in known if path in shown or path in summarised}
    return Plan(operation, columnar, chosen, shown, forms)


def _replaced(column: pa.Array, mask: pa.Array, values: pa.Array) -> pa.Array:
    if isinstance(column, pa.ExtensionArray):
        storage = pc.replace_with_mask(column.storage, mask, values.storage)
        return pa.ExtensionArray.from_storage(column.type, storage)
    return pc.replace_with_mask(column, mask, values)


def fault_of(error: NavigationError | ValidationError) -> Fault:
    """The first of an operation's faults, in one text with its value and what is allowed."""
    faults = faults_of(error)
    first = faults[0]
    member = str(first["pointer"]).lstrip("/").replace("/", ".") or None
    told = [str(first["detail"]).rstrip(".")]
    if "value" in first:
        value = first["value"]
        told.append(f"it is {value!r}" if isinstance(value, str) else f"it is {value}")
    if "allowed" in first:
        told.append(f"allowed: {first['allowed']}")
    if isinstance(error, NavigationError) and error.details.get("readings"):
        told.append(
            "readings: " + ", ".join(str(reading["read_as"]) for reading in error.details["readings"])
        )
    if len(faults) > 1:
        told.append(f"and {len(faults) - 1} more in the row")
    return Fault(str(first["code"]), member, "; ".join(told))
