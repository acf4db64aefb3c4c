"""Faults of rows and of streams as columns of an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pyarrow as pa

from .rows import Fault

__all__ = ["FAULT_TYPES", "BatchError", "Broken", "fault_columns", "fault_object"]

#: The columns of a fault, behind ``error.``: whole numbers count from 1 for a row, from 0 for a byte of the stream.
FAULT_TYPES: Mapping[str, pa.DataType] = {
    "error.code": pa.string(),
    "error.member": pa.string(),
    "error.text": pa.string(),
    "error.row": pa.int64(),
    "error.byte": pa.int64(),
}


class BatchError(Exception):
    """A batch that cannot be begun. ``column`` is the one that is wrong, where one is."""

    def __init__(self, code: str, detail: str, column: str | None = None) -> None:
        super().__init__(detail)
        self.code = code
        self.column = column


@dataclass(frozen=True, slots=True)
class Broken:
    """Where a stream stops to be one: in which row, at which byte, and what is wrong there."""

    row: int
    byte: int | None
    text: str

    @property
    def told(self) -> str:
        """The whole sentence."""
        at = "" if self.byte is None else f", at byte {self.byte}"
        return f"the stream breaks off in row {self.row}{at}: {self.text}"


def fault_object(fault: Fault | Broken, row: int) -> dict[str, Any]:
    """A fault as an object; of a row whose number is ``row``."""
    if isinstance(fault, Broken):
        broken = {"code": "malformed_stream", "member": None, "text": fault.told, "row": fault.row}
        return broken if fault.byte is None else {**broken, "byte": fault.byte}
    return {"code": fault.code, "member": fault.member, "text": fault.text, "row": row}


def fault_columns(faults: Mapping[int, Fault], count: int, first_row: int) -> dict[str, pa.Array]:
    """The columns of the faults of ``count`` rows, the first of which has the number ``first_row``."""
    objects = {index: fault_object(fault, first_row + index) for index, fault in faults.items()}
    columns = {}
    for path, arrow_type in FAULT_TYPES.items():
        if not objects:
            columns[path] = pa.nulls(count, arrow_type)
            continue
        name = path.partition(".")[2]
        values: list[Any] = [None] * count
        for index, found in objects.items():
            values[index] = found.get(name)
        columns[path] = pa.array(values, arrow_type)
    return columns
