"""Compass checks: a compass's own error from readings on known directions, and how it changes with the direction."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np

from ..navmath.cautions import Caution, caution
from ..navmath.compasses.compass_check import CompassCheck, check_compass
from ..navmath.errors import (
    BodyBelowHorizonError,
    CoincidentPointsError,
    MembersConflictError,
    MembersMissingError,
    TooFewReadingsError,
)
from ..navmath.sights.sight import DEFAULT_SD_DEG
from .bearings import angles_answer
from .compass_check_answers import CompassCheckAnswerSchema, deviation_answer, error_answer, readings_answer
from .compass_check_given import (
    KNOWN_SD_DEG,
    MOST_APART_DAYS,
    CompassCheckRequestSchema,
    KnownDirection,
    KnownDirections,
    check_readings,
)
from .moments import read_moment
from .north_angles import ANGLE_ERRORS, AngleSource, angle_source, bearing_in_degrees
from .operation import Example, Operation
from .places import reader_of

__all__ = ["OPERATION"]


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a compass check request."""
    check_readings(request)
    _date_by_body(request)
    source = angle_source(request)
    reader = reader_of(request)
    position = reader.read(request["position"], "position") if "position" in request else None
    directions = KnownDirections(request, source, reader, position)
    readings = request["readings"]
    read_deg = [
        bearing_in_degrees(each["reading"], request["unit"], f"readings/{index}/reading")
        for index, each in enumerate(readings)
    ]
    known = [directions.of(index) for index in range(len(readings))]
    usual_sd_deg = request.get("reading_sd_deg", DEFAULT_SD_DEG)
    reading_sd_deg = [each.get("reading_sd_deg", usual_sd_deg) for each in readings]
    known_sd_deg = [each.sd_deg for each in known]
    shared_sd_deg = _shared_sd_deg(request, source, known)
    check = check_compass(
        read_deg, [each.azimuth_deg for each in known], reading_sd_deg, known_sd_deg, shared_sd_deg
    )
    said = [each for direction in known for each in direction.cautions]
    answer = {
        **error_answer(check),
        "readings": readings_answer(read_deg, known, np.hypot(reading_sd_deg, known_sd_deg), check),
        "suspect": check.suspect,
        "without_suspect": None if check.rest is None else error_answer(check.rest),
        "deviation": None if check.deviation is None else deviation_answer(check.deviation),
        "angles": angles_answer(source.angles, source.source),
        "shared_sd_deg": shared_sd_deg,
        "date": source.date,
        "cautions": list(
            dict.fromkeys([*said, *source.cautions, *check.cautions, *_default_cautions(request)])
        ),
    }
    if request["working"]:
        answer["working"] = [*source.working, *_working(request["north"], read_deg, known, check)]
    return answer


def _date_by_body(request: dict[str, Any]) -> None:
    """Where a body was sighted its moment has the date too, which one declination must serve."""
    uses_declination = "magnetic" in {request["north"], request.get("known_north")}
    for index, reading in enumerate(request["readings"]):
        if "body" not in reading:
            continue
        member = f"readings/{index}/moment"
        day = read_moment(reading["moment"], member).astimezone(datetime.UTC).date()
        date = request.setdefault("date", day)
        if uses_declination and abs(day - date).days > MOST_APART_DAYS:
            raise MembersConflictError(
                f"the declination is that of {date.isoformat()}, and the body was sighted on {day.isoformat()}",
                member=member,
                value=reading["moment"],
                allowed=f"a moment within {MOST_APART_DAYS} days of {date.isoformat()}, or a request of its own",
            )


def _shared_sd_deg(request: dict[str, Any], source: AngleSource, known: list[KnownDirection]) -> float:
    """What the declination leaves, where it was used: where one of the two norths is magnetic."""
    if "shared_sd_deg" in request:
        return float(request["shared_sd_deg"])
    north = request["north"]
    turned = {each.from_north for each in known if each.from_north != north}
    if not turned or "magnetic" not in {north, *turned}:
        return 0.0
    return KNOWN_SD_DEG if source.declination_sd_deg is None else source.declination_sd_deg


def _default_cautions(request: dict[str, Any]) -> list[Caution]:
    if "reading_sd_deg" in request or all("reading_sd_deg" in each for each in request["readings"]):
        return []
    message = f"No standard deviation was given for a reading: {DEFAULT_SD_DEG:g} degrees was taken."
    return [caution("default_sd", message)]


def _working(
    north: str, read_deg: list[float], known: list[KnownDirection], check: CompassCheck
) -> list[str]:
    steps = [
        f"reading {number}: {reading:.1f} - {direction.azimuth_deg:.1f} {north} = {error:+.1f} degrees"
        for number, (reading, direction, error) in enumerate(
            zip(read_deg, known, check.errors_deg, strict=True), start=1
        )
    ]
    mean = f"{check.error_deg:+.2f} degrees, give or take {check.error_sd_deg:.2f}"
    steps.append(f"mean, each weighed by its standard deviation: {mean}")
    one = check.deviation
    if one is None or not one.found:
        # A mean of readings that contradict each other is nobody's error.
        steps.append(
            "the readings disagree: no correction is to be taken from their mean"
            if check.agree is False
            else f"correct direction = reading - ({check.error_deg:+.2f})"
        )
    if check.rest is not None and check.suspect is not None:
        rest = f"{check.rest.error_deg:+.2f} degrees, give or take {check.rest.error_sd_deg:.2f}"
        steps.append(f"without reading {check.suspect + 1}: {rest}")
    if one is not None:
        found = (
            "found: correct each reading by its own error" if one.found else "no more than chance explains"
        )
        steps.append(
            f"by the direction: error = {one.constant_deg:+.2f} {one.sine_deg:+.2f} sin(reading) {one.cosine_deg:+.2f} "
            f"cos(reading), {found}"
        )
    return steps


OPERATION = Operation(
    name="compass-checks",
    summary="A compass's own error, from readings on known directions",
    description=(
        "Finds a compass's own error, reading less correct direction, from readings on directions that are known: an azimuth "
        "off the map, a mark whose place is known, or the sun, the moon or Polaris at a moment. All are brought to the north "
        "that the compass reads from, weighed by their standard deviations and tried for a blunder; what the declination "
        "leaves is shared by all readings and does not average out. From five readings around the horizon on, the error is "
        "told by the direction too: iron that is carried, or a bent needle.\n\n"
        "**Never look at the sun, and never sight it through a lens or a mirror: it blinds.**"
    ),
    request=CompassCheckRequestSchema(),
    answer=CompassCheckAnswerSchema(),
    run=run,
    errors=(
        *ANGLE_ERRORS,
        BodyBelowHorizonError,
        CoincidentPointsError,
        MembersConflictError,
        MembersMissingError,
        TooFewReadingsError,
    ),
    examples=(
        Example(
            "off_the_map",
            "Three invented marks, their grid azimuths off the map",
            {
                "readings": [
                    {"reading": 43, "known_azimuth": 48.5},
                    {"reading": 171.5, "known_azimuth": 176},
                    {"reading": 284, "known_azimuth": 289.5},
                ],
                "north": "magnetic",
                "known_north": "grid",
                "position": "33V VK 12345 67890",
                "date": "2026-11-25",
                "working": True,
            },
        ),
        Example(
            "shadow_and_a_summit",
            "The shadow of a plumb line, and a summit on an invented map",
            {
                "readings": [
                    {
                        "reading": 273,
                        "body": "sun",
                        "part": "shadow",
                        "moment": "2026-06-14T08:30:00+02:00",
                    },
                    {"reading": 35, "to": "33V VK 14420 70310"},
                ],
                "north": "magnetic",
                "position": "33V VK 12345 67890",
            },
        ),
    ),
)
