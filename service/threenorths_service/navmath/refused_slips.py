"""Likely slips in a text that was refused: a wrong zone, band or order mostly gives no place at all, not a wrong one.

A grid zone holds a third of the squares' letters only, so a reference with the number of the zone next door is refused, and
so is an easting that stands where the northing should. Where a place is expected, the one that was likely meant can be told.
"""

from __future__ import annotations

from collections.abc import Iterator

from .errors import NavigationError
from .expected import Expected
from .frame import Frame
from .position_reading import PartialReference, PositionReading
from .position_text import read_position_text
from .reference_text import reference_outcomes
from .short_reference import candidates
from .slips import MOST_ALTERNATIVES, Slip
from .spoken_text import written_out
from .text_noise import bare_text
from .text_tokens import MAX_TEXT_CHARACTERS, Tokens, tokenize

__all__ = ["alternatives_of_refused"]

#: Shorter numbers are no easting or northing of UTM or UPS.
_COORDINATE_DIGITS = 5


def alternatives_of_refused(text: str, frame: Frame, expected: Expected) -> list[Slip]:
    """The places that a refused text means but for one slip, and that fit what is expected, nearest first.

    Looked for are a wrong zone, a wrong band and wrong letters of a grid reference, and easting and northing of UTM or UPS
    exchanged.

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
    if not expected.has_place or len(text) > MAX_TEXT_CHARACTERS:
        return []
    tokens = bare_text(written_out(tokenize(text))).tokens
    found = [
        Slip(slip, reading, frame, float(expected.distance_m(reading.lat_deg, reading.lon_deg)))
        for slip, reading in (*_other_designations(tokens, frame, expected), *_exchanged(tokens, frame))
        if expected.fits_reading(reading)
    ]
    return sorted(found, key=lambda slip: slip.distance_m)[:MOST_ALTERNATIVES]


def _other_designations(
    tokens: Tokens, frame: Frame, expected: Expected
) -> Iterator[tuple[str, PositionReading]]:
    """The squares of a reference in its own band of another zone, in another band of its zone, and by other letters."""
    at = next((at for at, token in enumerate(tokens) if token.kind == "number"), None)
    if at is None or not tokens[at].text.isdecimal() or len(tokens) == 1:
        return
    for outcome in reference_outcomes([*tokens[:at], *tokens[at + 1 :]], frame):
        if isinstance(outcome, PartialReference) and outcome.band:
            zone = int(tokens[at].text)
            for slip, partial in (
                ("wrong_zone", outcome),
                ("wrong_band", outcome._replace(zone=zone, band=None)),
                ("wrong_letters", outcome._replace(zone=zone, letters="")),
            ):
                for candidate in candidates(partial, frame, expected):
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
