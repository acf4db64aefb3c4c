"""Fixes: a place from any mixture of bearings, distances, angles and lines stood on, with blunders named."""

from __future__ import annotations

from typing import Any

from ..navmath.errors import (
    AnglesMissingError,
    AnglesUnreadableError,
    CompassErrorUnsolvableError,
    DangerCircleError,
    NavigationError,
    ObservationsDoNotMeetError,
    ObservationsTouchError,
    TooFewObservationsError,
)
from ..navmath.fixes.checked_fix import checked_fix
from ..navmath.fixes.mixed_region import fix_regions
from ..navmath.places.place import digits_for
from ..navmath.sights.sight import DEFAULT_SD_DEG, SD_RANGE_DEG
from .fields import Flag, List, Number
from .fix_answers import FixesAnswerSchema, fixes_answer, fixes_working
from .north_angles import date_for_magnetic, magnetic_cautions
from .observations_given import ObservationGiven, ObservationReader, north_of
from .operation import Example, Operation
from .places import on_sheet_cautions, reader_of
from .request_schemas import PlacesRequestSchema, Position, date_member, north_member, unit_member
from .sights import FIX_ERRORS

__all__ = ["OPERATION"]

#: More observations than anybody takes by hand; it bounds the work of one request.
MOST_OBSERVATIONS = 50
MOST_OTHER_MARKS = 50


class FixesRequestSchema(PlacesRequestSchema):
    """What was observed at, or of, one unknown place."""

    observations = List(
        ObservationGiven("An observation."),
        "The observations, of any kinds.",
        minimum=2,
        maximum=MOST_OBSERVATIONS,
        required=True,
    )
    unit = unit_member()
    north = north_member()
    date = date_member("Date of magnetic bearings; required for them.")
    sd_deg = Number(
        f"Standard deviation of every bearing and angle that names none. Left out: {DEFAULT_SD_DEG:g}. [degree]",
        minimum=SD_RANGE_DEG[0],
        maximum=SD_RANGE_DEG[1],
    )
    solve_compass_error = Flag(
        "Whether one unknown error, common to all bearings read at the unknown place, is solved for as well.",
        load_default=False,
    )
    other_marks = List(
        Position("A place."),
        "Places that may have been taken for the marks named; they are tried where an observation contradicts the others.",
        minimum=1,
        maximum=MOST_OTHER_MARKS,
    )
    regions = Flag(
        "Whether the answer also has the regions of the likelihood itself, at 50, 95 and 99 per cent.",
        load_default=False,
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a fix request."""
    norths = {north_of(request, each, index) for index, each in enumerate(request["observations"])} - {None}
    year = date_for_magnetic({**request, "north": "magnetic" if "magnetic" in norths else "true"})
    reader = reader_of(request)
    loaded = ObservationReader(request, reader)
    observations = [loaded.observation(each, index) for index, each in enumerate(request["observations"])]
    others = [
        reader.read(mark, f"other_marks/{index}") for index, mark in enumerate(request.get("other_marks", ()))
    ]
    checked = checked_fix(
        observations,
        year,
        request["solve_compass_error"],
        [request["unit"]] * len(observations),
        [(mark.lat_deg, mark.lon_deg) for mark in others],
    )
    regions = None
    fix = checked.without if checked.fix is None else checked.fix
    if request["regions"] and fix is not None:
        regions = fix_regions(fix)
    answer = fixes_answer(checked, regions)
    magnetic_year = year if "magnetic" in norths else None
    said = [caution for place in loaded.places for caution in place.cautions]
    said += magnetic_cautions(loaded.places, magnetic_year) if loaded.places else []
    shown = [*answer["places"], *([answer["without_suspects"]] if answer["without_suspects"] else [])]
    for each in shown:
        digits = digits_for(float(each["ellipse"].semi_major_m) / 2.0)
        said += on_sheet_cautions(request, each["position"], digits)
    answer["cautions"] = list(dict.fromkeys([*said, *loaded.cautions, *answer["cautions"]]))
    answer["date"] = request.get("date")
    if request["working"]:
        answer["working"] = fixes_working(checked)
    return answer


ERRORS: tuple[type[NavigationError], ...] = (
    *FIX_ERRORS,
    AnglesMissingError,
    AnglesUnreadableError,
    CompassErrorUnsolvableError,
    DangerCircleError,
    ObservationsDoNotMeetError,
    ObservationsTouchError,
    TooFewObservationsError,
)

OPERATION = Operation(
    name="fixes",
    summary="A place from any mixture of observations, with blunders named",
    description=(
        "Weighted least squares on the ellipsoid for one unknown place: bearings from it to marks and to it from known "
        "places, distances, angles between marks (no compass needed), and lines stood on, such as a road, in any mixture, "
        "each with its standard deviation. Where the observations fit several places, all are given, as the crossings of a "
        "bearing with a road. Each place has its ellipse; where that would mislead, a caution says so, and the regions of "
        "the likelihood itself can be asked for.\n\n"
        "With four observations or more, one that contradicts the others is named, with the fix without it, and the slips "
        "that would explain it: read the wrong way round, from another north, in another unit, with digits exchanged, or to "
        "another mark. `/v1/intersections` and `/v1/resections` are the usual cases of it."
    ),
    request=FixesRequestSchema(),
    answer=FixesAnswerSchema(),
    run=run,
    errors=ERRORS,
    examples=(
        Example(
            "bearing_and_path",
            "One bearing, and the path stood on, invented",
            {
                "observations": [
                    {"kind": "bearing_to", "to": "33V VK 1210 8310", "bearing": 322},
                    {
                        "kind": "line",
                        "line": ["33V VK 140 780", "33V VK 150 784", "33V VK 158 781"],
                    },
                ],
                "north": "magnetic",
                "date": "2026-11-25",
                "working": True,
            },
        ),
        Example(
            "with_a_blunder",
            "Five bearings to invented marks, one of them read the wrong way round",
            {
                "observations": [
                    {"kind": "bearing_to", "to": "33V VK 1210 8310", "bearing": 327.2},
                    {"kind": "bearing_to", "to": "33V VK 1745 8065", "bearing": 46.7},
                    {"kind": "bearing_to", "to": "33V VK 1660 7655", "bearing": 140.2},
                    {"kind": "bearing_to", "to": "33V VK 1290 7610", "bearing": 42.3},
                    {"kind": "distance", "to": "33V VK 1660 7655", "distance_m": 2460, "sd_m": 60},
                ],
                "north": "grid",
                "sd_deg": 1,
            },
        ),
    ),
)
