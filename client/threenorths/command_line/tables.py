"""Plain text in columns."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["Rows", "Tables", "aligned"]

#: Rows of cells. In a row of two, the first says what the second is.
Rows = list[tuple[str, ...]]

#: What a command prints: tables, each with columns of its own.
Tables = list[Rows]


def aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """The rows as lines, the cells of a column beginning one below the other."""
    columns = max((len(row) for row in rows), default=0)
    widths = [max(len(row[column]) for row in rows if column < len(row)) for column in range(columns)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False)).rstrip()
        for row in rows
    ]
