"""What is asked of every piece of a batch alike."""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal
from urllib.parse import urlencode

from .batch_line_sources import PLACES
from .errors import ArgumentError
from .sheet_given import Sheet, sheet_json
from .to_json import moment_json, position_json

__all__ = ["BatchOptions", "SummaryChoice", "batch_options"]

#: Whether checks are also summed up; ``"only"`` gives no rows at all.
SummaryChoice = bool | Literal["only"]


@dataclass(frozen=True, slots=True)
class BatchOptions:
    """The operation with its query, and how its pieces are sent."""

    operation: str
    query: str
    rows_per_request: int
    at_once: int
    compress: bool
    rows_come: bool

    @property
    def path(self) -> str:
        """The path of the requests, with their query."""
        return f"/v1/batches/{self.operation}" + (f"?{self.query}" if self.query else "")


def batch_options(
    operation: str,
    members: Mapping[str, Any] | None,
    columns: str | Sequence[str] | None,
    summary: SummaryChoice | None,
    rows_per_request: int,
    at_once: int,
    compress: bool,
) -> BatchOptions:
    """The options, checked. Raises `ArgumentError` where one cannot be sent."""
    name = operation.replace("_", "-") if isinstance(operation, str) else ""
    if not re.fullmatch(r"[a-z][a-z-]*", name):
        raise ArgumentError(f"{operation!r} is no name of an operation, as 'positions' is")
    for number, what in ((rows_per_request, "rows_per_request"), (at_once, "at_once")):
        if not isinstance(number, int) or isinstance(number, bool) or number < 1:
            raise ArgumentError(f"{what} is a whole number from 1, not {number!r}")
    pairs: list[tuple[str, str]] = []
    if columns is not None:
        pairs.append(("columns", columns if isinstance(columns, str) else ",".join(columns)))
    if summary is not None:
        pairs.append(("summary", summary if isinstance(summary, str) else _text(summary, "summary")))
    for member, value in (members or {}).items():
        if member in ("columns", "summary"):
            raise ArgumentError(f"{member} is no member of a row: give it as an argument of its own")
        pairs.extend(_flat(member, value))
    query = urlencode(pairs, safe=",:")
    return BatchOptions(name, query, rows_per_request, at_once, compress, rows_come=summary != "only")


def _flat(path: str, value: Any) -> Iterator[tuple[str, str]]:
    """A member as parameters of a query: its parts by path, with a dot before each; a list of values as JSON."""
    if value is None:
        return
    if isinstance(value, Sheet):
        value = sheet_json(value)
    elif isinstance(value, PLACES):
        value = position_json(value, path)
    if isinstance(value, Mapping):
        for name, part in value.items():
            yield from _flat(f"{path}.{name}", part)
    elif isinstance(value, list | tuple):
        parts = [position_json(part, path) if isinstance(part, PLACES) else part for part in value]
        if parts and all(
            isinstance(part, Mapping) and not isinstance(each, PLACES)
            for part, each in zip(parts, value, strict=True)
        ):
            # Members of the places of a list may be laid over those of a row.
            for index, part in enumerate(parts):
                yield from _flat(f"{path}.{index}", part)
            return
        try:
            yield path, json.dumps(parts, allow_nan=False)
        except (TypeError, ValueError):
            raise ArgumentError(f"{path} cannot be sent as a member of all rows: {value!r:.100}") from None
    else:
        yield path, _text(value, path)


def _text(value: Any, path: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return value
    if isinstance(value, int) or (isinstance(value, float) and math.isfinite(value)):
        return repr(value)
    if isinstance(value, datetime.datetime):
        return moment_json(value, path)
    if isinstance(value, datetime.date):
        return value.isoformat()
    raise ArgumentError(f"{path} cannot be sent as a member of all rows: {value!r:.100}")
