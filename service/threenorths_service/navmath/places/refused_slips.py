"""Likely slips in a text that was refused: a wrong zone, band or order mostly gives no place at all, not a wrong one.

A grid zone holds a third of the squares' letters only, so a reference with the number of the zone next door is refused, and
so is an easting that stands where the northing should. Where a place is expected, the one that was likely meant can be told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..datums.frame import Frame
from ..errors import NavigationError
from ..texts.position_outcomes import WrittenText, written_text
from ..texts.position_reading import PartialReference, PositionReading
from ..texts.position_text import WGS84_MARK, read_position_text
from ..texts.reference_text import REFERENCE_WORDS, reference_outcomes
from ..texts.text_tokens import Tokens
from .expected import Expected
from .short_reference import search
from .short_slips import short_slips
from .slips import MOST_ALTERNATIVES, Slip, fitting_slips

__all__ = ["alternatives_of_refused"]

#: Shorter numbers are no easting or northing of UTM or UPS.
_COORDINATE_DIGITS = 5


def alternatives_of_refused(text: str, frame: Frame, expected: Expected) -> list[Slip]:
    """The places that a refused text means but for one slip, and that fit what is expected, nearest first.

    Looked for are a wrong zone, a wrong band and wrong letters of a grid reference, easting and northing of UTM or UPS
    exchanged, a latitude and a longitude of over 90 degrees exchanged, and the slips of `short_slips` in a reference
    without its zone or its square.

    Parameters
    ----------
    text : str
        As it was given to `read_position_text`, on the datum of ``frame``.
    expected : Expected
        Without a place, nothing is an alternative.

    Returns
    -------
    list of Slip
        At most `MOST_ALTERNATIVES`; none where the text is unlike a reference and unlike coordinates.
    """
    if not expected.has_place:
        return []
    try:
        written = written_text(text, frame)
    except NavigationError:
        return []
    mark = "" if written.frame is frame else WGS84_MARK
    found = (
        (slip, replace(reading, read_as=f"{reading.read_as}{mark}"), written.frame)
        for slip, reading in _undone(text, written, replace(expected, on_wgs84=written.on_wgs84))
    )
    return fitting_slips(found, expected)


def _undone(text: str, written: WrittenText, expected: Expected) -> Iterator[tuple[str, PositionReading]]:
    joined = written.joined
    partials = written.outcomes.partials if joined is None else [joined]
    for partial in partials:
        yield from short_slips(partial, written.frame, expected)
    if not partials:
        yield from _other_designations(written.tokens, written.frame, expected)
        yield from _exchanged(written.tokens, written.frame)
        yield from _swapped(text, written.frame)


def _other_designations(
    tokens: Tokens, frame: Frame, expected: Expected
) -> Iterator[tuple[str, PositionReading]]:
    """The squares of a reference in its own band of another zone, in another band of its zone, and by other letters."""
    at = next((at for at, token in enumerate(tokens) if token.kind == "number"), None)
    if at is None or not tokens[at].text.isdecimal() or len(tokens) == 1:
        return
    if any(token.kind == "word" and token.text not in REFERENCE_WORDS for token in tokens[:at]):
        return  # a number behind letters is no grid zone
    for outcome in reference_outcomes([*tokens[:at], *tokens[at + 1 :]], frame):
        if isinstance(outcome, PartialReference) and outcome.band:
            zone = int(tokens[at].text)
            for slip, partial in (
                ("wrong_zone", outcome),
                ("wrong_band", outcome._replace(zone=zone, band=None)),
                ("wrong_letters", outcome._replace(zone=zone, letters="")),
            ):
                for candidate in search(partial, frame, expected, most=MOST_ALTERNATIVES).candidates:
                    yield slip, candidate.reading


def _exchanged(tokens: Tokens, frame: Frame) -> Iterator[tuple[str, PositionReading]]:
    """Coordinates with their two numbers in each other's place."""
    numbers = [
        at
        for at, token in enumerate(tokens)
        if token.kind == "number" and len(token.text.partition(".")[0]) >= _COORDINATE_DIGITS
    ]
    if len(numbers) != 2:
        return
    words = [token.text for token in tokens]
    first, second = numbers
    words[first], words[second] = words[second], words[first]
    try:
        yield "easting_and_northing_swapped", read_position_text(" ".join(words), frame)
    except NavigationError:
        return


def _swapped(text: str, frame: Frame) -> Iterator[tuple[str, PositionReading]]:
    """A longitude of over 90 degrees and a latitude in each other's place."""
    halves = text.split(",") if text.count(",") == 1 else text.split()
    if len(halves) != 2:
        return
    try:
        reading = read_position_text(f"{halves[1].strip()}, {halves[0].strip()}", frame)
    except NavigationError:
        return
    if reading.form == "latitude_longitude":
        yield "latitude_and_longitude_swapped", reading
