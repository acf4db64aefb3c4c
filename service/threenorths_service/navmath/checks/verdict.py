"""The verdict on a report: whether it is right, by what is demanded of it and by how well both sides are known.

Each thing that is demanded comes out as met, not met, or open; open where the report or the answer expected is written so
coarsely that both can be true. One that is not met makes the report wrong.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["VERDICTS", "Outcome", "outcomes", "verdict_of"]

#: Every verdict, with what it means.
VERDICTS = MappingProxyType(
    {
        "right": "All that was demanded is met, whatever the two writings leave open.",
        "wrong": "Something demanded is not met, whatever the two writings leave open.",
        "undecided": "The report or the answer expected is too coarse or too uncertain to tell.",
        "too_coarse": "Nothing is known to be wrong, but the report is written more coarsely than was demanded.",
        "unreadable": "The report cannot be read as one position or one bearing.",
    }
)


class Outcome(IntEnum):
    """How one demand came out: the least of several is that of all."""

    NOT_MET = -1
    OPEN = 0
    MET = 1


def outcomes(
    miss: ArrayLike, left_open: ArrayLike, tolerance: ArrayLike, slack: float = 0.0
) -> NDArray[np.int64]:
    """Whether each miss is within its tolerance, as the numbers of `Outcome`; all in one unit, and they broadcast.

    The true miss is anywhere from ``miss`` less ``left_open`` to ``miss`` and ``left_open``: it is met where all of that is
    within the tolerance, not met where none is. ``slack`` is what rounding may have moved the miss by.
    """
    least, most = np.subtract(miss, left_open), np.add(miss, left_open)
    met, missed = np.less_equal(most, np.add(tolerance, slack)), np.greater(least, np.add(tolerance, slack))
    return np.where(met, Outcome.MET, np.where(missed, Outcome.NOT_MET, Outcome.OPEN)).astype(np.int64)


def verdict_of(found: Iterable[Outcome | None], precision: Outcome | None = None) -> str:
    """The verdict on a report that was read; ``None`` stands for what was not demanded."""
    least = min((outcome for outcome in found if outcome is not None), default=Outcome.MET)
    if least is Outcome.NOT_MET:
        return "wrong"
    if precision is Outcome.NOT_MET:
        return "too_coarse"
    return "undecided" if Outcome.OPEN in (least, precision) else "right"
