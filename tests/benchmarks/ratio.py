"""What a benchmark reports: how many times one thing takes another, measured in turn in the same run."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

__all__ = ["Ratio", "best_of"]


@dataclass(frozen=True, slots=True)
class Ratio:
    """One measured ratio. ``aim`` is what it should reach (``at_least``) or stay under; ``None`` where there is none."""

    name: str
    ratio: float
    aim: float | None
    at_least: bool = True
    note: str = ""


def best_of(callables: Sequence[Callable[[], object]], rounds: int) -> list[float]:
    """The shortest time of each over some rounds, in which they take turns, so that all meet the same load. [second]"""
    best = [float("inf")] * len(callables)
    for _ in range(rounds):
        for index, run in enumerate(callables):
            start = time.perf_counter()
            run()
            best[index] = min(best[index], time.perf_counter() - start)
    return best
