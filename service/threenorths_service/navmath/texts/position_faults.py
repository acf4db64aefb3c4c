"""Why a text is no position, where no form of writing one came near; and texts of which too much would be guessed."""

from __future__ import annotations

from itertools import pairwise

from ..errors import UnreadablePositionError
from .grid_text import GRID_WORDS
from .national_text import NATIONAL_WORDS
from .position_reading import WRONG_VALUE, Refusal
from .reference_text import REFERENCE_WORDS
from .sexagesimal import has_misplaced_decimals, part_of_sixty, parts_at
from .spoken_text import FIGURES, LETTERS, POINTS
from .text_conventions import Version
from .text_noise import NOISE_WORDS
from .text_tokens import ANGLE_WORDS, HEMISPHERES, SECOND_WORDS, Tokens

__all__ = ["DOUBT", "doubt_of", "fault_in_tokens", "what_is_wrong"]

#: Nearness of a text that has a reading which might not be the one that is meant: nothing is nearer.
DOUBT = WRONG_VALUE + 1

_WORDS = frozenset(
    {
        *ANGLE_WORDS,
        *GRID_WORDS,
        *REFERENCE_WORDS,
        *NATIONAL_WORDS,
        *NOISE_WORDS,
        *FIGURES,
        *LETTERS,
        *POINTS,
    }
)

_NO_END_OF_ANGLE = HEMISPHERES.keys() - SECOND_WORDS
#: What the conventions leave in place of these is read.
_MEANINGLESS = frozenset({"unknown", "punctuation", "small"})
_SMALL = "small raised figures are read only in whole coordinates, as on a sheet's margin: ⁵91⁰⁰⁰ᵐE ⁴⁷23⁰⁰⁰ᵐN"

_ONE_ANGLE = (
    "this may be one angle alone, or latitude and longitude in one: put N or S and E or W to each, or a comma "
    "between whole degrees"
)
_DECIMAL_COMMA = (
    "the comma may be the decimal mark of one number, or part two: write decimals with a point, or a space after the comma "
    "between latitude and longitude"
)


def fault_in_tokens(tokens: Tokens) -> str | None:
    """What no form can have, whichever it is: a sentence, or ``None``."""
    meaningless = [token for token in tokens if token.kind in _MEANINGLESS]
    if not meaningless:
        return None
    if meaningless[0].kind == "small":
        return _SMALL
    return f"{meaningless[0].text!r} has no meaning in a position"


def doubt_of(version: Version) -> Refusal | None:
    """Why a reading of the tokens would be a guess, or ``None``."""
    if not _may_be_one_angle(version.tokens, 1 if version.decimal_commas else 2):
        return None
    return Refusal(DOUBT, UnreadablePositionError, _DECIMAL_COMMA if version.decimal_commas else _ONE_ANGLE)


def _parted_decimals(tokens: Tokens) -> str | None:
    """Decimals behind a number that has none and no sign, as in ``47 .5``: they may be its own, or a number of their own."""
    for token, following in pairwise(tokens):
        if following.text[0] == "." and token.kind == following.kind == "number" and "." not in token.text:
            return following.text
    return None


def _may_be_one_angle(tokens: Tokens, fewest_parts: int) -> bool:
    """Whether the text can be degrees with minutes, or with seconds too, of a single angle."""
    if tokens[-1].text in _NO_END_OF_ANGLE or "separator" in [token.kind for token in tokens]:
        return False
    start = int(tokens[0].kind in ("plus", "minus"))
    return any(
        stop == len(tokens)
        and len(numbers) >= fewest_parts
        and not has_misplaced_decimals(numbers)
        and part_of_sixty(numbers) is None
        for (numbers, _), stop in parts_at(tokens, start)
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


def what_is_wrong(tokens: Tokens) -> str:
    """The likely cause where no grammar came near."""
    parted = _parted_decimals(tokens)
    if parted is not None:
        return f"the decimals {parted} stand apart from their number: write them together, or its sign before the point"
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
        return (
            "a comma stands only between the two coordinates, or between figures as a decimal mark or for thousands: "
            "write decimals with a point"
        )
    return (
        "the text is no whole position: a grid reference has its zone and square letters, coordinates of a grid have "
        "their zone and are not negative, and latitude and longitude have both a letter or neither"
    )
