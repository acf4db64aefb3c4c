"""The check of a reported bearing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from ..navmath.angle import CIRCLE_DIVISIONS
from ..navmath.cautions import Caution
from ..navmath.checks.bearing_check import (
    BearingCheck,
    BearingSlip,
    check_bearings,
    left_open_of_line_deg,
)
from ..navmath.checks.shape_check import left_open_m
from ..navmath.checks.verdict import Outcome, verdict_of
from ..navmath.directions.bearing import azimuths_from
from ..navmath.errors import (
    AnglesMissingError,
    AnglesUnreadableError,
    CoincidentPointsError,
    NavigationError,
    OutOfRangeError,
    OutsideGridError,
)
from ..navmath.lines.geodesic import COINCIDENT_M
from ..navmath.lines.line import Line, line_between
from .bearings import angles_answer
from .check_answers import NOTHING, said, slip_cautions, slips_answer
from .north_angles import GIVEN_ANGLES, AngleSource, angle_source, bearing_in_degrees
from .places import reader_of

__all__ = ["checked_bearing"]


@dataclass(frozen=True, slots=True)
class ExpectedBearing:
    """The bearing that was expected, from the north of the report, and how far off it may be. [degree]"""

    azimuth_deg: float
    left_open_deg: float
    cautions: tuple[Caution, ...] = ()
    working: tuple[str, ...] = ()


def checked_bearing(request: dict[str, Any]) -> dict[str, Any]:
    """The answer to a loaded request of a bearing."""
    if "expected_bearing" in request:
        source = _angles(request)
        expected = _by_bearing(request, source)
    else:
        expected, source = _by_places(request)
    reported_deg, number, fault = _reported(request)
    check = check_bearings(
        reported_deg,
        expected.azimuth_deg,
        request["tolerance_deg"],
        left_open_deg=expected.left_open_deg,
        north=request["north"],
        angles=source.angles,
        number=number,
        circle=CIRCLE_DIVISIONS[request["unit"]],
    )
    outcome = Outcome(int(check.outcome[0]))
    tried = fault is None or not math.isnan(number)
    slips = [_slip(slip) for slip in check.slips(0)]
    answer = {
        **NOTHING,
        **slips_answer(slips),
        "verdict": verdict_of([outcome]) if fault is None else "unreadable",
        "reason": _reason(request, check, expected, fault),
        "fault": None if fault is None else fault.code,
        "within_tolerance": said(outcome) if fault is None else None,
        "difference_deg": float(check.difference_deg[0]) if fault is None else None,
        "expected_azimuth_deg": expected.azimuth_deg,
        "left_open_deg": expected.left_open_deg,
        "slip_chance": float(check.chance[0]) if outcome is Outcome.NOT_MET and tried else None,
        "angles": angles_answer(source.angles, source.source),
        "date": source.date,
        "cautions": list(dict.fromkeys([*expected.cautions, *source.cautions, *slip_cautions(slips)])),
    }
    if request["working"]:
        answer["working"] = [*source.working, *expected.working, *_working(answer, request)]
    return answer


def _reported(request: dict[str, Any]) -> tuple[float, float, NavigationError | None]:
    """The bearing reported in degrees, its plain number, and what is wrong with it; NaN for what there is none of."""
    bearing = request["reported_bearing"]
    number = bearing if isinstance(bearing, float) else _plain_number(bearing)
    try:
        return bearing_in_degrees(bearing, request["unit"], "reported_bearing"), number, None
    except (AnglesUnreadableError, OutOfRangeError) as error:
        return math.nan, number, error


def _plain_number(text: str) -> float:
    """The number that a text plainly is; NaN of degrees and minutes and of quadrants, whose figures stand otherwise."""
    plain = text.strip()
    return float(plain) if plain.replace(".", "", 1).isdecimal() and plain.isascii() else math.nan


def _angles(request: dict[str, Any]) -> AngleSource:
    """The angles between the norths; none where nothing says them, for a sheet may be given for its edges and datum."""
    sheet = request.get("sheet", {})
    said_here = "position" in request or any(name in request or name in sheet for name in GIVEN_ANGLES)
    if said_here:
        return angle_source(request)
    return angle_source({name: value for name, value in request.items() if name != "sheet"})


def _by_bearing(request: dict[str, Any], source: AngleSource) -> ExpectedBearing:
    """The bearing expected, turned to the north of the report."""
    north = request["north"]
    own = request.get("expected_north", north)
    unit = request.get("expected_unit", request["unit"])
    azimuth_deg = bearing_in_degrees(request["expected_bearing"], unit, "expected_bearing") % 360.0
    if own == north:
        return ExpectedBearing(azimuth_deg, 0.0)
    turned = getattr(azimuths_from(azimuth_deg, own, source.angles), north)
    if turned is None:
        raise AnglesMissingError(
            f"nothing given ties {own} north to {north} north",
            member="expected_north",
            allowed="a position and a date, or the angles, or a sheet",
        )
    step = f"expected: {azimuth_deg:.3f} from {own} north is {float(turned):.3f} from {north} north"
    return ExpectedBearing(float(turned), _declination_sd_deg(source, north, own), working=(step,))


def _by_places(request: dict[str, Any]) -> tuple[ExpectedBearing, AngleSource]:
    """The bearing of the line from one place to the other, from the north of the report."""
    reader = reader_of(request)
    start = reader.read(request["expected_from"], "expected_from")
    end = reader.read(request["expected_to"], "expected_to")
    line = line_between(
        start.lat_deg, start.lon_deg, end.lat_deg, end.lon_deg, zone=start.grid_zone, south=start.grid_south
    )
    if not line.distinct:
        raise CoincidentPointsError(
            "the two places are the same, so no bearing from one to the other is defined",
            member="expected_to",
            value=request["expected_to"],
            allowed=f"a place at least {COINCIDENT_M} m from the first",
        )
    source = _angles(request)
    if source.source == "none" and "date" in request:
        source = angle_source({**request, "position": request["expected_from"]})
    azimuth_deg, own = _from_north(request["north"], line, source)
    open_m = left_open_m(start) + left_open_m(end) + start.accuracy_m + end.accuracy_m
    open_deg = float(left_open_of_line_deg(line.distance_m, open_m))
    step = (
        f"expected: from {start.read_as} to {end.read_as} {float(line.distance_m):,.1f} m at {azimuth_deg:.3f} degrees from "
        f"{request['north']} north"
    )
    expected = ExpectedBearing(
        azimuth_deg,
        min(open_deg + _declination_sd_deg(source, request["north"], own), 180.0),
        (*start.cautions, *end.cautions),
        (step,),
    )
    return expected, source


def _from_north(north: str, line: Line, source: AngleSource) -> tuple[float, str]:
    """The line's azimuth from a north, and the north that it was turned from."""
    true_deg, grid_deg = float(line.true_azimuth_deg), float(line.grid_azimuth_deg)
    if north == "true":
        return true_deg, "true"
    if north == "grid":
        if math.isnan(grid_deg):
            raise OutsideGridError(
                "the line is too long for one grid zone",
                member="expected_to",
                allowed="a place that the grid of the first one reaches, or another north",
            )
        return grid_deg, "grid"
    declination_deg, grid_magnetic_deg = source.angles.declination_deg, source.angles.grid_magnetic_angle_deg
    if declination_deg is not None:
        return (true_deg - float(declination_deg)) % 360.0, "true"
    if grid_magnetic_deg is not None and not math.isnan(grid_deg):
        return (grid_deg - float(grid_magnetic_deg)) % 360.0, "grid"
    raise AnglesMissingError(
        "nothing given ties magnetic north to the line",
        member="date",
        allowed="a date, or the declination or grid-magnetic angle, or a sheet that prints one",
    )


def _declination_sd_deg(source: AngleSource, north: str, own: str) -> float:
    """One standard deviation of the modelled declination, where a bearing was turned by it."""
    used = north != own and "magnetic" in (north, own)
    return source.declination_sd_deg or 0.0 if used else 0.0


def _slip(slip: BearingSlip) -> dict[str, Any]:
    return {
        "slip": slip.slip,
        "explanation": slip.explanation,
        "without_slip": f"{round(slip.bearing_deg, 2) % 360.0:g} degrees",
        "distance_m": None,
        "difference_deg": slip.difference_deg,
    }


def _reason(
    request: dict[str, Any], check: BearingCheck, expected: ExpectedBearing, fault: NavigationError | None
) -> str:
    if fault is not None:
        text = str(fault)
        return f"{text[:1].upper()}{text[1:]}."
    difference_deg = float(check.difference_deg[0])
    side = "clockwise" if difference_deg >= 0.0 else "counterclockwise"
    known = (
        f", give or take {expected.left_open_deg:.2f} for how well that is known"
        if expected.left_open_deg
        else ""
    )
    words = {
        Outcome.MET: "within",
        Outcome.NOT_MET: "beyond",
        Outcome.OPEN: "neither surely within nor beyond",
    }[Outcome(int(check.outcome[0]))]
    return (
        f"The bearing is {abs(difference_deg):.2f} degrees {side} of the one expected{known}: {words} the tolerance of "
        f"{request['tolerance_deg']:g} degrees."
    )


def _working(answer: dict[str, Any], request: dict[str, Any]) -> list[str]:
    tolerance = (
        f"allowed are {request['tolerance_deg']:g} degrees, and {answer['left_open_deg']:.3f} are open"
    )
    if answer["difference_deg"] is None:
        return [f"not read: {answer['reason']}", tolerance]
    steps = [f"reported less expected: {answer['difference_deg']:+.3f} degrees; {tolerance}"]
    steps += [
        f"{slip['slip']}: without it {slip['without_slip']}, off by {slip['difference_deg']:+.3f}"
        for slip in answer["slips"]
    ]
    return [*steps, f"verdict: {answer['verdict']}"]
