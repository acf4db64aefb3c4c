"""Tables copied from published sources; every row names its source."""

from __future__ import annotations

import csv
from pathlib import Path

__all__ = ["rows"]

HERE = Path(__file__).parent


def rows(table: str) -> list[dict[str, str]]:
    """All rows of ``<table>.csv``."""
    with (HERE / f"{table}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))
