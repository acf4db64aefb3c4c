"""Answers in NDJSON: a JSON object a line."""

from __future__ import annotations

import json
from typing import Any

from .batch_answers import MALFORMED, Break, SentAnswer, number_of
from .batch_pieces import Misfit

__all__ = ["misfit_line", "read_ndjson"]


def read_ndjson(body: bytes, rows_before: int) -> SentAnswer:
    """The answer, its errors numbered as in the source, where ``rows_before`` come before it.

    Raises ``ValueError`` for what is none.
    """
    lines = [line for line in body.split(b"\n") if line.strip()]
    summary, broken = None, None
    while lines and (closing := _closing(lines[-1])) is not None:
        lines.pop()
        if "summary" in closing:
            summary = closing["summary"]
        else:
            error = closing["error"]
            broken = Break(error.get("text") or "", error.get("row"), error.get("byte"))
    bad_rows = 0
    for index, line in enumerate(lines):
        # Only lines with an error are taken apart; that a row carries the word along is found out then.
        if b'"error"' in line:
            row = json.loads(line)
            if isinstance(error := row.get("error"), dict):
                error["row"] = number_of(error.get("row"), rows_before)
                lines[index] = _line(row)
                bad_rows += 1
    return SentAnswer(b"", lines, None, bad_rows, summary, broken)


def misfit_line(misfit: Misfit) -> bytes:
    """The line that stands for a row that could not be read."""
    return _line(
        {"error": {"code": MALFORMED, "text": misfit.text, "row": misfit.number, "byte": misfit.byte}}
    )


def _closing(line: bytes) -> dict[str, Any] | None:
    """The record at the end of an answer that is no row: of the summary, or of where the stream broke."""
    if b'"summary"' not in line and MALFORMED.encode() not in line:
        return None
    record = json.loads(line)
    if record.keys() == {"summary"}:
        return dict(record)
    if record.keys() == {"error"} and record["error"].get("code") == MALFORMED:
        return dict(record)
    return None


def _line(record: dict[str, Any]) -> bytes:
    return json.dumps(record, ensure_ascii=False, separators=(",", ":")).encode()
