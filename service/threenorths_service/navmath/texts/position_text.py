"""Reading a position as people write and say it: grid references, coordinates of grids, latitude and longitude.

The text is cut into tokens; words that were spelled out are put into letters and figures, and what says nothing of the
place is left out. Each convention of writing numbers gives a version of the tokens, and each form of position is a small
grammar that yields *every* reading of a version, and a refusal for each that comes to nothing: `position_outcomes` has
these. Readings of one place are one reading. Just one left is the answer; more are listed and none is chosen; where there
is none, the refusal that came nearest says why. `written_forms` lists what is read.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple, NoReturn

from ..datums.frame import WGS84_FRAME, Frame
from ..errors import AmbiguousPositionError, NavigationError, UnreadablePositionError
from ..places.expected import Expected
from ..places.short_reference import MOST_LISTED, can_tell, resolve, search
from .datum_in_text import datum_in_text
from .position_faults import DOUBT, what_is_wrong
from .position_outcomes import POSITION_FORMS, Outcomes, WrittenText, put, written_text
from .position_reading import INCOMPLETE, PartialReference, PositionReading, Refusal

__all__ = ["WGS84_MARK", "read_position_text"]

#: What stands at the end of ``read_as`` where a text says that it is on WGS 84 and what it was read on is another datum.
WGS84_MARK = " WGS 84"


class _Choice(NamedTuple):
    """The readings among which one is chosen if it is the only one."""

    readings: list[PositionReading]
    #: Whether all were looked at, and none was left out because there are so many.
    complete: bool = True


def read_position_text(
    text: str, frame: Frame = WGS84_FRAME, expected: Expected | None = None
) -> PositionReading:
    """The position that a text names, on the datum of ``frame`` unless the text says that it is on WGS 84.

    It may be an MGRS reference; UTM or UPS coordinates; or a latitude and a longitude in degrees, degrees and minutes,
    or degrees, minutes and seconds, with signs, letters or words. Without letters or axis words latitude comes first
    (ISO 6709), and easting before northing. Nothing is guessed: a text with no zone, or without the letters of its
    square, is read only where ``expected`` tells which place is meant, by the rule of `short_reference`; a text with
    only one hemisphere is refused. ``expected`` chooses among short references alone; other readings it ranks.

    Raises
    ------
    AmbiguousPositionError
        There are readings at different places; ``details["readings"]`` lists them, nearest first where a place is
        expected.
    NothingInReachError
        A short reference fits nowhere within reach; ``details["readings"]`` has the nearest places.
    UnreadablePositionError
        The text is no whole position. The message says what is missing or does not fit.
    OutOfRangeError, SquareNotInZoneError, OutsideGridError
        It is a whole position with a value that cannot be. Where the two numbers may have been exchanged,
        ``details["readings"]`` has that reading.
    OutsideDatumAreaError, BallparkShiftError
        There is no way from the datum to WGS 84 at the place.
    """
    written = written_text(text, frame)
    if expected is not None and written.on_wgs84:
        expected = replace(expected, on_wgs84=True)
    reading = _decided(written, expected)
    if written.frame is frame:
        return reading
    return replace(reading, read_as=f"{reading.read_as}{WGS84_MARK}")


def _decided(written: WrittenText, expected: Expected | None) -> PositionReading:
    """The one reading; or its absence, or its being one of several, raised."""
    choice = _choice(written, expected)
    if len(choice.readings) == 1:
        return choice.readings[0]
    count = len(choice.readings)
    raise AmbiguousPositionError(
        f"the text has {count if choice.complete else f'at least {count}'} readings at different places",
        value=written.text,
        allowed="one of the readings, in the form given with it",
        details={"readings": _listed(choice.readings, expected)},
    )


def _choice(written: WrittenText, expected: Expected | None) -> _Choice:
    """The readings that count, one at least."""
    found = written.outcomes
    if found.partials:
        return _placed(written, expected)
    doubts = [refusal for refusal in found.refusals if refusal.nearness == DOUBT]
    if doubts:
        raise _refused(written, doubts)
    joined = _joined(written, expected)
    if joined is not None:
        return joined
    if not found.readings:
        raise _refused(written, found.refusals)
    return _Choice(found.readings)


def _placed(written: WrittenText, expected: Expected | None) -> _Choice:
    """The places within reach of a text that may be a short reference.

    A reading of its bare figures as degrees, if that fits too, makes it ambiguous; alone it is never taken.
    """
    found = written.outcomes
    if expected is None or not any(can_tell(partial, expected) for partial in found.partials):
        raise _short_refusal(written, expected)
    others = [reading for reading in found.readings if expected.has_place and expected.fits_reading(reading)]
    choice = _within_reach(found.partials, others, written.frame, expected)
    if choice is None:
        _raise_unresolved(written, found.partials[0], others, expected)
    return choice


def _joined(written: WrittenText, expected: Expected | None) -> _Choice | None:
    """The places within reach of two groups of figures with a comma between, as a short reference and as degrees.

    ``None`` where they are no reference, or one that is not within reach while the degrees are a place somewhere.
    """
    if expected is None:
        return None
    partial, readings = written.joined, written.outcomes.readings
    if partial is None or not can_tell(partial, expected):
        return None
    others = [reading for reading in readings if expected.fits_reading(reading)]
    choice = _within_reach([partial], others, written.frame, expected)
    if choice is None and not readings:
        _raise_unresolved(written, partial, [], expected)
    return choice


def _within_reach(
    partials: list[PartialReference], others: list[PositionReading], frame: Frame, expected: Expected
) -> _Choice | None:
    """What the references can mean where it is expected, if anything, and the other readings with these."""
    near = Outcomes([], [], [])
    complete = True
    for partial in partials:
        places = search(partial, frame, expected)
        complete &= places.complete
        for candidate in places.candidates:
            put(replace(candidate.reading, filled_in=True), near)
    if not near.readings:
        return None
    for reading in others:
        put(reading, near)
    return _Choice(near.readings, complete)


def _raise_unresolved(
    written: WrittenText, partial: PartialReference, others: list[PositionReading], expected: Expected
) -> NoReturn:
    """Say why a short reference is at no place, and list what else the text may be."""
    try:
        resolve(partial, written.frame, expected)
    except NavigationError as error:
        listed = [*_listed(others, expected), *error.details.get("readings", [])]
        if listed:
            error.details["readings"] = listed
        error.value = written.text
        error.allowed = error.allowed or POSITION_FORMS
        raise
    raise AssertionError("a reference without candidates was resolved")


def _short_refusal(written: WrittenText, expected: Expected | None) -> NavigationError:
    """The error of a text that is a short reference at best: of a reading that it offers, if there is one."""
    found = written.outcomes
    offering = [refusal for refusal in found.refusals if refusal.offered and refusal.nearness == INCOMPLETE]
    refusal = [*offering, found.partials[0].refusal][0]
    return _refusal_error(written, refusal, [*found.readings, *refusal.offered], expected)


def _listed(readings: list[PositionReading], expected: Expected | None) -> list[dict[str, Any]]:
    """The readings as an error lists them, `MOST_LISTED` at most, nearest first where that can be told."""
    listed = [reading.as_details() for reading in readings]
    if expected is None or not expected.has_place:
        return listed[:MOST_LISTED]
    for reading, details in zip(readings, listed, strict=True):
        details["distance_m"] = float(expected.distance_m(reading.lat_deg, reading.lon_deg))
    return sorted(listed, key=lambda details: details["distance_m"])[:MOST_LISTED]


def _refused(written: WrittenText, refusals: list[Refusal]) -> NavigationError:
    """The error of the refusal that came nearest to a position, or of a datum that is named where none is read."""
    nearest = max(refusals, key=lambda refusal: refusal.nearness, default=None)
    if nearest is None or nearest.nearness <= INCOMPLETE:
        fault = _datum_fault(written)
        if fault is not None or nearest is None:
            message = fault or what_is_wrong(written.tokens)
            return UnreadablePositionError(message, value=written.text, allowed=POSITION_FORMS)
    return _refusal_error(written, nearest, list(nearest.offered), None)


def _datum_fault(written: WrittenText) -> str | None:
    """Why the text is no position, if it is one but for the name of its datum."""
    named = datum_in_text(written.text)
    if named is None:
        return None
    try:
        outcomes = written_text(named.rest, written.frame).outcomes
    except UnreadablePositionError:
        return None
    if not (outcomes.readings or outcomes.partials):
        return None
    return (
        f"{named.name!r} is the name of a datum: leave it out of the text, and name it beside it as `datum`"
    )


def _refusal_error(
    written: WrittenText, refusal: Refusal, offered: list[PositionReading], expected: Expected | None
) -> NavigationError:
    return refusal.error(
        refusal.message,
        value=written.text,
        allowed=refusal.allowed or POSITION_FORMS,
        details={"readings": _listed(offered, expected)} if offered else None,
    )
