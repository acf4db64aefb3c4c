"""The check of a reported position."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ..navmath.cautions import Caution
from ..navmath.checks.position_check import (
    KnownAnswer,
    PositionCheck,
    check_position,
    expected_of,
    side_of_digits_m,
    slips_of_place,
    slips_of_refused,
)
from ..navmath.checks.shape_check import area_outline
from ..navmath.checks.verdict import Outcome
from ..navmath.errors import (
    AmbiguousPositionError,
    NavigationError,
    NothingInReachError,
    OutOfRangeError,
    OutsideDatumAreaError,
    OutsideGridError,
    SquareNotInZoneError,
    UnreadablePositionError,
)
from ..navmath.places.expected import DEFAULT_REACH_M, Expected
from ..navmath.places.place import Place
from ..navmath.places.slips import Slip
from ..navmath.sheets.outline import Outline
from .check_answers import NOTHING, length, said, slip_cautions, slips_answer
from .places import PlaceReader, in_squares, reader_of
from .shapes_given import places_of

__all__ = ["checked_position"]

#: What may be wrong with a report, and is then its verdict. Anything else is wrong with the request.
REPORT_FAULTS = (
    AmbiguousPositionError,
    NothingInReachError,
    OutOfRangeError,
    OutsideDatumAreaError,
    OutsideGridError,
    SquareNotInZoneError,
    UnreadablePositionError,
)


def checked_position(request: dict[str, Any]) -> dict[str, Any]:
    """The answer to a loaded request of a position."""
    reader = reader_of(request)
    answer = _known_answer(request, reader)
    area = _area(request, reader)
    sheet = reader.sheet.outline if reader.sheet is not None else None
    expected = expected_of(answer, area, reader.sheet)
    given = {
        **NOTHING,
        "expected": None if answer is None else answer.place,
        "cautions": [] if answer is None else list(answer.place.cautions),
    }
    try:
        place = _reported(request, reader, answer)
    except REPORT_FAULTS as error:
        return _unreadable(request, given, error, _refused_slips(request, reader, expected))
    in_sheet = reader.sheet is None or sheet is not None or in_squares(place, reader.sheet)
    coarsest_m = _coarsest_m(request)
    check = check_position(
        place, answer, area=area, sheet=sheet, in_sheet_squares=in_sheet, coarsest_m=coarsest_m
    )
    slips: list[Slip] = []
    if _slip_is_likely(check):
        slips = slips_of_place(place, expected, allow_ballpark=request["allow_ballpark"])
        slips = _in_area(slips, area) if answer is None else slips
    listed = [_slip(slip) for slip in slips]
    printed = reader.sheet is not None and (sheet is not None or bool(reader.sheet.squares))
    on_sheet = Outcome.MET if in_sheet else Outcome.NOT_MET
    result = {
        **given,
        **_measured(check),
        **slips_answer(listed),
        "on_sheet": said(check.sheet.outcome if check.sheet is not None else on_sheet) if printed else None,
        "reason": _reason(check, place, answer, coarsest_m, in_sheet),
        "reported": place,
        "cautions": _once([*place.cautions, *given["cautions"], *slip_cautions(listed)]),
    }
    if request["working"]:
        result["working"] = _working(result, place, answer)
    return result


def _known_answer(request: dict[str, Any], reader: PlaceReader) -> KnownAnswer | None:
    if "expected" not in request:
        return None
    return KnownAnswer(reader.read(request["expected"], "expected"), request["tolerance_m"])


def _area(request: dict[str, Any], reader: PlaceReader) -> Outline | None:
    if "area" not in request:
        return None
    try:
        return area_outline(tuple(places_of(request["area"], "area", reader)))
    except NavigationError as error:
        error.member = error.member or "area"
        raise


def _coarsest_m(request: dict[str, Any]) -> float | None:
    """The coarsest resolution that is fine enough, where a precision is demanded."""
    demanded = []
    if "digits" in request:
        demanded.append(side_of_digits_m(request["digits"]))
    if "resolution_m" in request:
        demanded.append(request["resolution_m"])
    return min(demanded, default=None)


def _reported(request: dict[str, Any], reader: PlaceReader, answer: KnownAnswer | None) -> Place:
    """The reported place; one that leaves out its zone or square is looked for near the place expected."""
    position = request["reported"]
    reader = replace(
        reader, offers_slips=False
    )  # they are looked for by themselves, nearer to what is expected
    try:
        return reader.read(position, "reported")
    except REPORT_FAULTS:
        if answer is None or "near" in request or not isinstance(position, str):
            raise
        place = _near_answer(request, reader, answer)
        if place is None:
            raise
        return place


def _near_answer(request: dict[str, Any], reader: PlaceReader, answer: KnownAnswer) -> Place | None:
    """The place that a short reference names near the place expected; ``None`` of any other text.

    What is expected tells a short reference alone: a text that can be read in two ways stays so.
    """
    reach_m = request.get("reach_m", DEFAULT_REACH_M) + answer.place.tolerance_m
    near = Expected(answer.place.lat_deg, answer.place.lon_deg, reach_m, reader.sheet)
    try:
        place = replace(reader, expected=near).read(request["reported"], "reported")
    except NavigationError:
        return None
    # It is the verdict that says how far off it is.
    return replace(place, cautions=tuple(each for each in place.cautions if each.code != "far_from_near"))


def _unreadable(
    request: dict[str, Any], given: dict[str, Any], error: NavigationError, slips: list[Slip]
) -> dict[str, Any]:
    listed = [_slip(slip) for slip in slips]
    text = str(error)
    result = {
        **given,
        **slips_answer(listed),
        "verdict": "unreadable",
        "reason": f"{text[:1].upper()}{text[1:]}.",
        "fault": error.code,
        "cautions": [*given["cautions"], *slip_cautions(listed)],
    }
    if request["working"]:
        result["working"] = [f"not read: {text}"]
    return result


def _refused_slips(request: dict[str, Any], reader: PlaceReader, expected: Expected) -> list[Slip]:
    if not isinstance(request["reported"], str):
        return []
    return slips_of_refused(request["reported"], reader.universal_frame, expected)


def _slip_is_likely(check: PositionCheck) -> bool:
    """Whether a slip is to be looked for: not in a place that is within the tolerance, or may be."""
    if check.within_tolerance is not None:
        return check.within_tolerance is Outcome.NOT_MET
    return check.verdict == "wrong"


def _in_area(slips: list[Slip], area: Outline | None) -> list[Slip]:
    if area is None:
        return slips
    return [slip for slip in slips if area.contains(slip.reading.lat_deg, slip.reading.lon_deg)]


def _slip(slip: Slip) -> dict[str, Any]:
    return {
        "slip": slip.slip,
        "explanation": slip.explanation,
        "without_slip": slip.reading.read_as,
        "distance_m": slip.distance_m,
        "difference_deg": None,
    }


def _measured(check: PositionCheck) -> dict[str, Any]:
    return {
        "verdict": check.verdict,
        "distance_m": check.distance_m,
        "true_azimuth_deg": check.true_azimuth_deg,
        "left_open_m": check.left_open_m,
        "within_tolerance": said(check.within_tolerance),
        "within_area": None if check.area is None else said(check.area.outcome),
        "outside_area_m": None if check.area is None else check.area.outside_m,
        "outside_sheet_m": None if check.sheet is None else check.sheet.outside_m,
        "precision_met": said(check.precision),
    }


_OUTCOMES = {
    Outcome.MET: "within",
    Outcome.NOT_MET: "beyond",
    Outcome.OPEN: "neither surely within nor beyond",
}


def _reason(
    check: PositionCheck,
    place: Place,
    answer: KnownAnswer | None,
    coarsest_m: float | None,
    in_sheet_squares: bool,
) -> str:
    """What the verdict rests on, a sentence for each demand."""
    parts = []
    if answer is not None and check.distance_m is not None and check.within_tolerance is not None:
        where = f"The position is {length(check.distance_m)} from the place expected"
        if check.left_open_m:
            where += f", give or take {length(check.left_open_m)} for how finely both are known"
        parts.append(
            f"{where}: {_OUTCOMES[check.within_tolerance]} the tolerance of {length(answer.tolerance_m)}."
        )
        if check.holds and check.within_tolerance is Outcome.MET:
            parts.append("Its square holds the place expected.")
    for name, shape in (("area", check.area), ("sheet", check.sheet)):
        if shape is not None:
            words = {
                Outcome.MET: f"It is in the {name}.",
                Outcome.NOT_MET: f"It is {length(shape.outside_m)} outside the {name}.",
                Outcome.OPEN: f"Its square is partly in the {name}.",
            }
            parts.append(words[shape.outcome])
    if not in_sheet_squares:
        parts.append("It is in none of the squares of the sheet.")
    if coarsest_m is not None:
        parts.append(_precision_words(place, coarsest_m))
    return " ".join(parts) or "It is in one of the squares of the sheet."


def _precision_words(place: Place, coarsest_m: float) -> str:
    demanded = f"{length(coarsest_m)} was demanded"
    if place.resolution_m is None:
        return f"It is given by plain numbers, which do not tell how fine they are; {demanded}."
    return f"It is written to {length(place.resolution_m)}; {demanded}."


def _once(cautions: list[Caution]) -> list[Caution]:
    return list(dict.fromkeys(cautions))


def _working(result: dict[str, Any], place: Place, answer: KnownAnswer | None) -> list[str]:
    steps = [f"reported: read as {place.read_as}, {place.lat_deg:.6f}, {place.lon_deg:.6f} on WGS 84"]
    if answer is not None:
        known = answer.place
        steps.append(f"expected: read as {known.read_as}, {known.lat_deg:.6f}, {known.lon_deg:.6f} on WGS 84")
        azimuth_deg = result["true_azimuth_deg"]
        toward = "" if azimuth_deg is None else f" at true azimuth {azimuth_deg:.2f} degrees"
        distance_m, open_m = result["distance_m"], result["left_open_m"]
        steps.append(
            f"on the ellipsoid {distance_m:,.1f} m{toward}; squares and datums leave {open_m:,.1f} m open: it is from "
            f"{max(distance_m - open_m, 0.0):,.1f} to {distance_m + open_m:,.1f} m; allowed are {answer.tolerance_m:,.1f} m"
        )
    return [*steps, f"verdict: {result['verdict']}"]
