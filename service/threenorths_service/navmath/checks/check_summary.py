"""Summaries of many checks: counts by verdict and by slip, and how the misses are distributed.

Summaries of parts are added up into that of all, in any order, and come out the same to the last digit: sums are kept as
whole millionths, and the histograms have fixed edges.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..errors import OutOfRangeError
from ..places.slips import SLIPS
from .bearing_slips import BEARING_SLIPS
from .verdict import VERDICTS

__all__ = [
    "CHECK_SLIPS",
    "EDGES_DEG",
    "EDGES_M",
    "CheckSummary",
    "Misses",
    "merge",
    "summarise",
]

#: Every slip of a position or a bearing, with what it means.
CHECK_SLIPS: Mapping[str, str] = {**SLIPS, **BEARING_SLIPS}

#: Where the histograms are cut: series of 1, 2, 5, and the half circle. [metre], [degree]
EDGES_M = (
    1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1_000.0, 2_000.0, 5_000.0, 10_000.0, 20_000.0, 50_000.0,
    100_000.0, 200_000.0, 500_000.0, 1_000_000.0,
)  # fmt: skip
EDGES_DEG = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 180.0)

MILLIONTHS = 1_000_000


@dataclass(frozen=True, slots=True)
class Misses:
    """How misses are distributed, in metres or degrees.

    ``counts`` has one more than ``edges``: up to the first edge, from each edge up to the next, and beyond the last. A miss
    on an edge counts below it.
    """

    edges: tuple[float, ...]
    counts: tuple[int, ...]
    #: Sum of all misses, in millionths of the unit.
    sum_millionths: int = 0
    #: The largest; 0 without any.
    largest: float = 0.0

    @property
    def count(self) -> int:
        """How many there are."""
        return sum(self.counts)

    @property
    def sum(self) -> float:
        """Their sum, in the unit."""
        return self.sum_millionths / MILLIONTHS

    @property
    def mean(self) -> float | None:
        """Their mean; ``None`` without any."""
        return self.sum / self.count if self.count else None

    def as_details(self) -> dict[str, Any]:
        """The distribution as a summary record has it."""
        return {
            "count": self.count,
            "sum": self.sum,
            "mean": self.mean,
            "largest": self.largest if self.count else None,
            "edges": list(self.edges),
            "counts": list(self.counts),
        }


@dataclass(frozen=True, slots=True)
class CheckSummary:
    """How many checks came out how; counts are in the order of `VERDICTS` and `CHECK_SLIPS`, with every code of these."""

    verdicts: tuple[int, ...]
    slips: tuple[int, ...]
    misses_m: Misses
    misses_deg: Misses

    @property
    def count(self) -> int:
        """How many checks there were."""
        return sum(self.verdicts)

    def as_details(self) -> dict[str, Any]:
        """The summary as a record: every verdict, and the slips that were found."""
        slips = zip(CHECK_SLIPS, self.slips, strict=True)
        return {
            "count": self.count,
            "verdicts": dict(zip(VERDICTS, self.verdicts, strict=True)),
            "slips": {slip: count for slip, count in slips if count},
            "distance_m": self.misses_m.as_details(),
            "difference_deg": self.misses_deg.as_details(),
        }


def summarise(
    verdicts: Sequence[str], slips: Sequence[str | None], miss_m: ArrayLike, miss_deg: ArrayLike
) -> CheckSummary:
    """The summary of checks.

    Parameters
    ----------
    verdicts : sequence of str
        A code of `VERDICTS` for each check.
    slips : sequence of str or None
        The slip that explains a check best, a code of `CHECK_SLIPS`.
    miss_m, miss_deg : array_like
        How far positions are from those expected, and bearings, either way round; NaN where a check has none.

    Raises
    ------
    KeyError
        A code is none of these.
    OutOfRangeError
        A distance is negative, or a miss infinite.
    """
    return CheckSummary(
        verdicts=_counted(verdicts, VERDICTS),
        slips=_counted([slip for slip in slips if slip is not None], CHECK_SLIPS),
        misses_m=_misses("miss_m", np.asarray(miss_m, dtype=np.float64), EDGES_M),
        misses_deg=_misses("miss_deg", np.abs(np.asarray(miss_deg, dtype=np.float64)), EDGES_DEG),
    )


def merge(a: CheckSummary, b: CheckSummary) -> CheckSummary:
    """The summary of the checks of both."""
    return CheckSummary(
        verdicts=_added(a.verdicts, b.verdicts),
        slips=_added(a.slips, b.slips),
        misses_m=_merged(a.misses_m, b.misses_m),
        misses_deg=_merged(a.misses_deg, b.misses_deg),
    )


def _counted(codes: Sequence[str], listed: Mapping[str, str]) -> tuple[int, ...]:
    counts = Counter(str(code) for code in codes)
    for code in counts:
        listed[code]  # a KeyError names the one that is not listed
    return tuple(counts[code] for code in listed)


def _misses(name: str, values: np.ndarray[Any, np.dtype[np.float64]], edges: tuple[float, ...]) -> Misses:
    known = values[~np.isnan(values)]
    if np.any(known < 0.0) or np.any(np.isinf(known)):
        raise OutOfRangeError("a miss is negative or infinite", member=name, allowed="0 or more, or NaN")
    counts = np.bincount(np.searchsorted(edges, known, side="left"), minlength=len(edges) + 1)
    # Whole units and the rest apart: together, as integers, they would overflow for some 400,000 misses around the earth.
    whole = np.floor(known)
    parts = np.rint((known - whole) * MILLIONTHS)
    total = int(whole.sum()) * MILLIONTHS + int(parts.sum())
    return Misses(edges, tuple(counts.tolist()), total, float(known.max(initial=0.0)))


def _merged(a: Misses, b: Misses) -> Misses:
    counts = _added(a.counts, b.counts)
    return Misses(a.edges, counts, a.sum_millionths + b.sum_millionths, max(a.largest, b.largest))


def _added(a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(one + other for one, other in zip(a, b, strict=True))
