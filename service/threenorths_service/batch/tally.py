"""The summary of a batch of checks, added up chunk by chunk."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..navmath.checks.check_summary import CheckSummary, merge, summarise
from .checks import summary_of
from .plan import Answered

__all__ = ["Tally"]


class Tally:
    """Checks counted as they come."""

    def __init__(self) -> None:
        self._summary: CheckSummary = summarise([], [], [], [])
        self._rows = 0
        self._errors: dict[str, int] = {}

    def add(self, answered: Answered) -> None:
        """Count the rows of a chunk."""
        good = np.ones(answered.count, dtype=np.bool_)
        good[list(answered.faults)] = False
        self._summary = merge(self._summary, summary_of(answered.columns, good))
        self._rows += answered.count
        for fault in answered.faults.values():
            self._errors[fault.code] = self._errors.get(fault.code, 0) + 1

    def told(self) -> dict[str, Any]:
        """The summary as a record: of the rows that had an error, their codes; of the others, what came out."""
        return {
            "rows": self._rows,
            "errors": dict(sorted(self._errors.items())),
            **self._summary.as_details(),
        }
