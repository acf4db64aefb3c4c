"""Whether the mathematics answers right: published values, computed through the operations themselves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..operations.catalogue import OPERATIONS

__all__ = ["wrong_answers"]


@dataclass(frozen=True, slots=True)
class KnownAnswer:
    """One number of an operation's answer as a source prints it, to half its last digit."""

    operation: str
    request: dict[str, Any]
    member: str
    value: float
    tolerance: float


KNOWN_ANSWERS = (
    # GeographicLib, page of its coordinate utility: 38SMB4488 is 33.33424 44.40363.
    KnownAnswer("positions", {"position": "38SMB4488"}, "lat_deg", 33.33424, 5e-6),
    # WMM2025 report, table of test values, first row: 80 N, 0 E, height 0, 2025.0.
    KnownAnswer(
        "norths",
        {"position": {"lat_deg": 80, "lon_deg": 0}, "date": "2025-01-01"},
        "declination_deg",
        1.28,
        0.005,
    ),
    # GeographicLib, JFK to Paris.
    KnownAnswer(
        "lines",
        {
            "from": {"lat_deg": 40.6, "lon_deg": -73.8},
            "to": {"lat_deg": 49.016666667, "lon_deg": 2.55},
        },
        "distance_m",
        5853226.2557,
        2e-4,
    ),
)


def wrong_answers() -> list[str]:
    """The known answers that come out wrong, in words; every operation's first example is computed as well."""
    by_name = {operation.name: operation for operation in OPERATIONS}
    for operation in OPERATIONS:
        operation.answer_to(dict(operation.examples[0].request))
    wrong = []
    for known in KNOWN_ANSWERS:
        value = by_name[known.operation].answer_to(known.request)[known.member]
        if abs(value - known.value) > known.tolerance:
            wrong.append(f"{known.operation}: {known.member} is {value}, not {known.value}")
    return wrong
