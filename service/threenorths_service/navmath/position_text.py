"""Reading a position as people write and say it: grid references, coordinates of grids, latitude and longitude.

The text is cut into tokens; words that were spelled out are put into letters and figures, and what says nothing of the
place is left out. Each convention of writing numbers gives a version of the tokens, and each form of position is a small
grammar that yields *every* reading of a version, and a refusal for each that comes to nothing. Readings of one place are
one reading. Just one left is the answer; more are listed and none is chosen; where there is none, the refusal that came
nearest says why. A further form is one more grammar in `_GRAMMARS`, a further convention one more in
`text_conventions`. `written_forms` lists what is read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, NamedTuple, NoReturn

from .errors import AmbiguousPositionError, NavigationError, UnreadablePositionError
from .expected import Expected
from .frame import WGS84_FRAME, Frame
from .grid_text import grid_outcomes
from .latitude_longitude_text import latitude_longitude_outcomes
from .national_text import national_outcomes
from .position_faults import DOUBT, doubt_of, fault_in_tokens, what_is_wrong
from .position_reading import INCOMPLETE, Outcome, PartialReference, PositionReading, Refusal
from .reference_text import reference_outcomes
from .short_reference import candidates, resolve
from .short_text import short_outcomes
from .spoken_text import has_spoken_figures, spoken_fault, written_out
from .text_conventions import versions
from .text_noise import BareText, bare_text
from .text_tokens import MAX_TEXT_CHARACTERS, Tokens, tokenize

__all__ = ["WGS84_MARK", "read_position_text"]

_Grammar = Callable[[Tokens, Frame], Iterator[Outcome]]

_GRID_GRAMMARS: tuple[_Grammar, ...] = (
    reference_outcomes,
    grid_outcomes,
    national_outcomes,
    short_outcomes,
)
_GRAMMARS: tuple[_Grammar, ...] = (latitude_longitude_outcomes, *_GRID_GRAMMARS)

#: What stands at the end of ``read_as`` where a text says that it is on WGS 84 and what it was read on is another datum.
WGS84_MARK = " WGS 84"

#: Two readings nearer than this in latitude and longitude are one place: a tenth of a millimetre. [degree]
SAME_PLACE_DEG = 1e-9

_FORMS = (
    "a grid reference such as 32TMT6543212345, UTM such as 32T 465000 5247000, "
    "or latitude and longitude such as 47.5 N 8.5 E"
)


class _Outcomes(NamedTuple):
    """What a text can be, by kind, each in the order in which it was found."""

    readings: list[PositionReading]
    partials: list[PartialReference]
    refusals: list[Refusal]


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
    if len(text) > MAX_TEXT_CHARACTERS:
        raise _unreadable(text, f"the text is longer than {MAX_TEXT_CHARACTERS} characters")
    said = tokenize(text)
    bare = bare_text(written_out(said))
    on_wgs84 = bare.on_wgs84 and frame.datum != WGS84_FRAME.datum
    if on_wgs84:
        frame = WGS84_FRAME
    fault = (
        spoken_fault(said)
        if bare.tokens
        else "the text has no position in it"
        if said
        else "the text is empty"
    )
    if fault is not None:
        raise _unreadable(text, fault)
    outcomes = _outcomes(text, bare, frame, pauses=bare.on_grid or has_spoken_figures(said))
    reading = _decided(text, bare.tokens, outcomes, frame, expected)
    return replace(reading, read_as=f"{reading.read_as}{WGS84_MARK}") if on_wgs84 else reading


def _outcomes(text: str, bare: BareText, frame: Frame, *, pauses: bool) -> _Outcomes:
    """Everything that the text can be, by every convention and every grammar."""
    found = _Outcomes([], [], [])
    faults: list[str] = []
    for version in versions(bare.tokens, pauses=pauses):
        fault = fault_in_tokens(version.tokens)
        if fault is not None:
            faults.append(fault)
            continue
        faults.append("")
        doubt = None if bare.on_grid else doubt_of(version)
        if doubt is not None:
            found.refusals.append(doubt)
        for grammar in _GRID_GRAMMARS if bare.on_grid else _GRAMMARS:
            for outcome in grammar(version.tokens, frame):
                _collect(outcome, found)
    if all(faults):
        raise _unreadable(text, faults[0])
    return found


def _collect(outcome: Outcome, found: _Outcomes) -> None:
    """Put the outcome to those of its kind, unless the same is there already."""
    if isinstance(outcome, PositionReading):
        if not any(_same_place(outcome, other) for other in found.readings):
            found.readings.append(outcome)
    elif isinstance(outcome, PartialReference):
        if not any(outcome[:-1] == other[:-1] for other in found.partials):
            found.partials.append(outcome)
    else:
        found.refusals.append(outcome)


def _same_place(one: PositionReading, other: PositionReading) -> bool:
    lon_difference_deg = abs((one.lon_deg - other.lon_deg + 180.0) % 360.0 - 180.0)
    return abs(one.lat_deg - other.lat_deg) <= SAME_PLACE_DEG and (
        lon_difference_deg <= SAME_PLACE_DEG or abs(one.lat_deg) == 90.0
    )


def _decided(
    text: str, tokens: Tokens, found: _Outcomes, frame: Frame, expected: Expected | None
) -> PositionReading:
    """The one reading; or its absence, or its being one of several, raised."""
    readings = found.readings
    if found.partials:
        readings = _placed(text, found, frame, expected)
    else:
        doubts = [refusal for refusal in found.refusals if refusal.nearness == DOUBT]
        if doubts or not readings:
            raise _refused(text, tokens, doubts or found.refusals)
    if len(readings) == 1:
        return readings[0]
    raise AmbiguousPositionError(
        f"the text has {len(readings)} readings at different places",
        value=text,
        allowed="one of the readings, in the form given with it",
        details={"readings": _listed(readings, expected)},
    )


def _placed(text: str, found: _Outcomes, frame: Frame, expected: Expected | None) -> list[PositionReading]:
    """The places within reach of a text that may be a short reference.

    A reading of its bare figures as degrees, if that fits too, makes it ambiguous; alone it is never taken.
    """
    if expected is None:
        raise _short_refusal(text, found)
    near = _Outcomes([], [], [])
    for partial in found.partials:
        for candidate in candidates(partial, frame, expected):
            _collect(replace(candidate.reading, filled_in=True), near)
    others = [reading for reading in found.readings if expected.has_place and expected.fits_reading(reading)]
    if not near.readings:
        _raise_unresolved(text, found.partials[0], others, frame, expected)
    for reading in others:
        _collect(reading, near)
    return near.readings


def _raise_unresolved(
    text: str, partial: PartialReference, others: list[PositionReading], frame: Frame, expected: Expected
) -> NoReturn:
    """Say why a short reference is at no place, and list what else the text may be."""
    try:
        resolve(partial, frame, expected)
    except NavigationError as error:
        listed = [*_listed(others, expected), *error.details.get("readings", [])]
        if listed:
            error.details["readings"] = listed
        error.value = text
        error.allowed = error.allowed or _FORMS
        raise
    raise AssertionError("a reference without candidates was resolved")


def _short_refusal(text: str, found: _Outcomes) -> NavigationError:
    """The error of a text that is a short reference at best: of a reading that it offers, if there is one."""
    offering = [refusal for refusal in found.refusals if refusal.offered and refusal.nearness == INCOMPLETE]
    refusal = [*offering, found.partials[0].refusal][0]
    return _refusal_error(text, refusal, [*found.readings, *refusal.offered])


def _listed(readings: list[PositionReading], expected: Expected | None) -> list[dict[str, Any]]:
    """The readings as an error lists them, nearest first where that can be told."""
    listed = [reading.as_details() for reading in readings]
    if expected is None or not expected.has_place:
        return listed
    for reading, details in zip(readings, listed, strict=True):
        details["distance_m"] = float(expected.distance_m(reading.lat_deg, reading.lon_deg))
    return sorted(listed, key=lambda details: details["distance_m"])


def _refused(text: str, tokens: Tokens, refusals: list[Refusal]) -> NavigationError:
    """The error of the refusal that came nearest to a position."""
    if not refusals:
        return _unreadable(text, what_is_wrong(tokens))
    nearest = max(refusals, key=lambda refusal: refusal.nearness)
    return _refusal_error(text, nearest, nearest.offered)


def _refusal_error(
    text: str, refusal: Refusal, offered: list[PositionReading] | tuple[PositionReading, ...]
) -> NavigationError:
    return refusal.error(
        refusal.message,
        value=text,
        allowed=refusal.allowed or _FORMS,
        details={"readings": [reading.as_details() for reading in offered]} if offered else None,
    )


def _unreadable(text: str, message: str) -> UnreadablePositionError:
    return UnreadablePositionError(message, value=text[:MAX_TEXT_CHARACTERS], allowed=_FORMS)
