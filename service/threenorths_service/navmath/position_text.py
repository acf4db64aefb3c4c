"""Reading a position as people write it: grid references, UTM and UPS coordinates, latitude and longitude.

The text is cut into tokens. Each form is a small grammar that yields *every* reading of all the tokens, and a refusal
for each that comes to nothing. Readings of one place are one reading. Just one left is the answer; more are listed and
none is chosen; where there is none, the refusal that came nearest says why. A further form is one more grammar in
`_GRAMMARS`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from .errors import AmbiguousPositionError, NavigationError, UnreadablePositionError
from .grid_text import GRID_WORDS, grid_outcomes
from .latitude_longitude_text import latitude_longitude_outcomes
from .position_reading import Outcome, PositionReading, Refusal
from .reference_text import REFERENCE_WORDS, reference_outcomes
from .sexagesimal import has_misplaced_decimals, part_of_sixty, parts_at
from .text_tokens import ANGLE_WORDS, MAX_TEXT_CHARACTERS, Tokens, may_be_dash, tokenize

__all__ = ["read_position_text"]

_GRAMMARS: tuple[Callable[[Tokens], Iterator[Outcome]], ...] = (
    latitude_longitude_outcomes,
    reference_outcomes,
    grid_outcomes,
)

_WORDS = ANGLE_WORDS | GRID_WORDS | REFERENCE_WORDS

#: Two readings nearer than this in latitude and longitude are one place: a tenth of a millimetre. [degree]
SAME_PLACE_DEG = 1e-9

_FORMS = (
    "a grid reference such as 32TMT6543212345, UTM such as 32T 465000 5247000, "
    "or latitude and longitude such as 47.5 N 8.5 E"
)


def read_position_text(text: str) -> PositionReading:
    """The position that a text names.

    It may be an MGRS reference; UTM or UPS coordinates; or a latitude and a longitude in degrees, degrees and minutes,
    or degrees, minutes and seconds, with signs, letters or words. Without letters or axis words latitude comes first
    (ISO 6709), and easting before northing. Nothing is guessed: a text with no zone, or without the letters of its
    square, or with only one hemisphere, is refused.

    Raises
    ------
    AmbiguousPositionError
        There are readings at different places; ``details["readings"]`` lists them.
    UnreadablePositionError
        The text is no whole position. The message says what is missing or does not fit.
    OutOfRangeError, SquareNotInZoneError, OutsideGridError
        It is a whole position with a value that cannot be. Where the two numbers may have been exchanged,
        ``details["readings"]`` has that reading.
    """
    if len(text) > MAX_TEXT_CHARACTERS:
        raise _unreadable(text, f"the text is longer than {MAX_TEXT_CHARACTERS} characters")
    tokens = tokenize(text)
    fault = _fault_in_tokens(tokens)
    if fault is not None:
        raise _unreadable(text, fault)
    outcomes = [outcome for grammar in _GRAMMARS for outcome in grammar(tokens)]
    readings = _distinct([outcome for outcome in outcomes if isinstance(outcome, PositionReading)])
    if len(readings) == 1:
        return readings[0]
    if readings:
        raise AmbiguousPositionError(
            f"the text has {len(readings)} readings at different places",
            value=text,
            details={"readings": [reading.as_details() for reading in readings]},
        )
    raise _refused(text, tokens, [outcome for outcome in outcomes if isinstance(outcome, Refusal)])


def _distinct(readings: list[PositionReading]) -> list[PositionReading]:
    """The first of the readings at each place."""
    distinct: list[PositionReading] = []
    for reading in readings:
        if not any(_same_place(reading, other) for other in distinct):
            distinct.append(reading)
    return distinct


def _same_place(one: PositionReading, other: PositionReading) -> bool:
    lon_difference_deg = abs((one.lon_deg - other.lon_deg + 180.0) % 360.0 - 180.0)
    return abs(one.lat_deg - other.lat_deg) <= SAME_PLACE_DEG and (
        lon_difference_deg <= SAME_PLACE_DEG or abs(one.lat_deg) == 90.0
    )


def _refused(text: str, tokens: Tokens, refusals: list[Refusal]) -> NavigationError:
    """The error of the refusal that came nearest to a position."""
    if not refusals:
        return _unreadable(text, _what_is_wrong(tokens))
    nearest = max(refusals, key=lambda refusal: refusal.nearness)
    return nearest.error(
        nearest.message,
        value=text,
        allowed=nearest.allowed or _FORMS,
        details={"readings": [reading.as_details() for reading in nearest.offered]}
        if nearest.offered
        else None,
    )


def _unreadable(text: str, message: str) -> UnreadablePositionError:
    return UnreadablePositionError(message, value=text[:MAX_TEXT_CHARACTERS], allowed=_FORMS)


def _fault_in_tokens(tokens: Tokens) -> str | None:
    """What no form can have, whichever it is: a sentence, or ``None``."""
    if not tokens:
        return "the text is empty"
    for token in tokens:
        if token.kind == "unknown":
            return f"{token.text!r} has no meaning in a position"
    if _may_be_short_reference(tokens):
        return (
            "groups of as many figures may be a grid reference without its zone and square letters, or degrees: "
            "write the reference whole, or put N or S and E or W to the degrees"
        )
    if _may_be_one_angle(tokens):
        return (
            "this may be one angle alone, or latitude and longitude in one: put N or S and E or W to each, or a comma "
            "between whole degrees"
        )
    return None


def _may_be_one_angle(tokens: Tokens) -> bool:
    """Whether the text can be degrees with minutes, or with seconds too, of a single angle."""
    start = int(tokens[0].kind in ("plus", "minus"))
    return any(
        stop == len(tokens)
        and len(numbers) > 1
        and not has_misplaced_decimals(numbers)
        and part_of_sixty(numbers) is None
        for (numbers, _), stop in parts_at(tokens, start)
    )


def _may_be_short_reference(tokens: Tokens) -> bool:
    """Whether the text is two, or four, bare whole numbers of equal length, as short grid references are written."""
    numbers = [token.text for token in tokens if token.kind == "number"]
    bare = len(tokens) == len(numbers) or (len(tokens) == 3 and may_be_dash(tokens, 1))
    return (
        bare
        and len(numbers) in (2, 4)
        and "." not in "".join(numbers)
        and len({len(number) for number in numbers}) == 1
    )


def _letter_among_figures(tokens: Tokens) -> bool:
    """Whether the figures end in a letter that is easily taken for one."""
    last = tokens[-1]
    return (
        last.kind == "word"
        and last.text in {"O", "I", "L"}
        and len(tokens) > 1
        and tokens[-2].kind == "number"
    )


def _what_is_wrong(tokens: Tokens) -> str:
    """The likely cause where no grammar came near."""
    for token in tokens:
        if token.kind == "word" and len(token.text) > 1 and token.text not in _WORDS:
            if _letter_among_figures(tokens):
                return "a letter O, I or L stands among the figures: write nought as 0 and one as 1"
            return (
                f"{token.text!r} is no word of a position, and its letters do not fit a grid reference here"
            )
    numbers = [token for token in tokens if token.kind == "number"]
    if len(numbers) < 2:
        return "a position takes two numbers, or the letters and figures of a grid reference"
    if sum(token.text == "," for token in tokens) > 1:
        return "a comma stands only between the two coordinates: write decimals with a point"
    return (
        "the text is no whole position: a grid reference has its zone and square letters, coordinates of a grid have "
        "their zone and are not negative, and latitude and longitude have both a letter or neither"
    )
