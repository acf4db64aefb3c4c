"""Checks: a reported position or bearing against what was expected, and which common slip explains a miss."""

from __future__ import annotations

from typing import Any

from ..navmath.errors import (
    CoincidentPointsError,
    MembersConflictError,
    MembersMissingError,
    UnusableShapeError,
)
from .check_answers import CheckAnswerSchema
from .check_given import CheckRequestSchema, is_of_bearing
from .checked_bearings import checked_bearing
from .checked_positions import checked_position
from .north_angles import ANGLE_ERRORS
from .operation import Example, Operation

__all__ = ["OPERATION"]


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a check request."""
    return checked_bearing(request) if is_of_bearing(request) else checked_position(request)


OPERATION = Operation(
    name="checks",
    summary="A reported position or bearing against what was expected",
    description=(
        "Holds a report against what was expected of it. A position may be held against a known place with a tolerance, an "
        "area, the edges of a sheet, and the precision demanded; a bearing against a known bearing, or the bearing from one "
        "place to another, with a tolerance. The answer has the verdict, the distance and direction off, and every common "
        "slip that would explain a wrong report, likeliest first; none is corrected.\n\n"
        "A position is `right` or `wrong` only where it is so wherever in their squares the reported place and the expected "
        "one really are; otherwise it is `undecided`. It is right too where its square holds the place expected and is no "
        "wider than the tolerance, as that of a correct grid reference is. What cannot be read is a verdict as well, with "
        "the reason. Which slips are common is common practice, no source; a slip that moves a bearing by no more than the "
        "tolerance explains nothing, and is not told."
    ),
    request=CheckRequestSchema(),
    answer=CheckAnswerSchema(),
    run=run,
    errors=(
        *ANGLE_ERRORS,
        CoincidentPointsError,
        MembersConflictError,
        MembersMissingError,
        UnusableShapeError,
    ),
    examples=(
        Example(
            "figures_exchanged",
            "An invented hut, reported with two figures of its easting exchanged",
            {
                "reported": "33V VK 1325 6789",
                "expected": "33V VK 12345 67890",
                "tolerance_m": 100,
                "digits": 4,
                "working": True,
            },
        ),
        Example(
            "declination_the_wrong_way",
            "A compass bearing to an invented ford, with the declination added where it is subtracted",
            {
                "reported_bearing": 124.5,
                "north": "magnetic",
                "expected_from": "33V VK 12345 67890",
                "expected_to": "33V VK 15020 66410",
                "date": "2026-11-25",
                "tolerance_deg": 2,
            },
        ),
        Example(
            "another_zone_in_an_area",
            "An invented report that names no square, for the number of its zone is wrong, and an invented area to be in",
            {
                "reported": "32V VK 1235 6789",
                "expected": "33V VK 12345 67890",
                "tolerance_m": 100,
                "area": ["33V VK 10 65", "33V VK 16 65", "33V VK 16 70", "33V VK 10 70"],
            },
        ),
    ),
)
