"""The words and signs that written angles and positions are made of.

A text is cut into tokens in one pass from left to right, so the time it takes grows with its length and no faster.
Nothing is thrown away: a character without a meaning becomes a token of kind ``"unknown"``, for the reader to refuse.
Only characters that are not seen, such as a mark of the writing direction, vanish. Full-width forms, and the small raised
letters of a sheet's margin, are the plain ones.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

__all__ = [
    "ANGLE_WORDS",
    "AXES",
    "DEGREE_WORDS",
    "HEMISPHERES",
    "MAX_TEXT_CHARACTERS",
    "METRE_WORDS",
    "MINUTE_WORDS",
    "SECOND_WORDS",
    "Axis",
    "Token",
    "Tokens",
    "may_be_dash",
    "may_be_sign",
    "past_joint",
    "tokenize",
]

#: No position or angle takes more. A longer text is refused before it is looked into.
MAX_TEXT_CHARACTERS = 200

Axis = Literal["latitude", "longitude"]
Kind = Literal[
    "number",
    "word",
    "degree",
    "minute",
    "second",
    "plus",
    "minus",
    "colon",
    "separator",
    "small",
    "bracket",
    "punctuation",
    "unknown",
]

#: Words that name a hemisphere: the coordinate they belong to, and its sign.
HEMISPHERES: dict[str, tuple[Axis, int]] = {
    "N": ("latitude", 1),
    "NORTH": ("latitude", 1),
    "S": ("latitude", -1),
    "SOUTH": ("latitude", -1),
    "E": ("longitude", 1),
    "EAST": ("longitude", 1),
    "W": ("longitude", -1),
    "WEST": ("longitude", -1),
}

#: Words that name a coordinate and leave its sign to itself.
AXES: dict[str, Axis] = {
    "LAT": "latitude",
    "LATITUDE": "latitude",
    "LON": "longitude",
    "LONG": "longitude",
    "LNG": "longitude",
    "LONGITUDE": "longitude",
}

DEGREE_WORDS = frozenset({"D", "DEG", "DEGREE", "DEGREES"})
MINUTE_WORDS = frozenset({"M", "MIN", "MINUTE", "MINUTES"})
SECOND_WORDS = frozenset({"S", "SEC", "SECOND", "SECONDS"})
METRE_WORDS = frozenset({"M", "METRE", "METRES", "METER", "METERS"})

_UNIT_WORDS = DEGREE_WORDS | MINUTE_WORDS | SECOND_WORDS
#: Every word of an angle, so that a text's other words can be told to be none.
ANGLE_WORDS = _UNIT_WORDS | HEMISPHERES.keys() | AXES.keys()

_MINUTE_MARKS = "'′’‘ʹʼ‛ˊ´`‚"
_SMALL_FIGURES = {
    figure: str(value) for raised in ("⁰¹²³⁴⁵⁶⁷⁸⁹", "₀₁₂₃₄₅₆₇₈₉") for value, figure in enumerate(raised)
}
_SCANNER = re.compile(
    rf"""
    (\s*)
    (?:
      (?P<number>[0-9.]+)
    | (?P<word>[A-Za-z]+(?:\.(?![0-9.]))?)
    | (?P<separator>[,;/—―])
    | (?P<degree>[°º˚ᵒ])
    | (?P<second>["″”“ʺ˝‟„]|[{_MINUTE_MARKS}]{{2}})
    | (?P<minute>[{_MINUTE_MARKS}])
    | (?P<plus>[+])
    | (?P<minus>[-−‐‑‒–﹣])
    | (?P<colon>[:=])
    | (?P<small>[{"".join(_SMALL_FIGURES)}]+)
    | (?P<bracket>[()\[\]{{}}«»‹›])
    | (?P<punctuation>[!?…•*])
    | (?P<unknown>\S)
    )
    """,
    re.VERBOSE,
)

# The full-width forms of the ASCII characters stand in one row of Unicode, in the same order.
_PLAIN_FORMS: dict[int, str | None] = {0xFEE0 + code: chr(code) for code in range(ord("!"), ord("~") + 1)}
_PLAIN_FORMS |= {ord(small): plain for small, plain in zip("ᵐᴹᴱᵉᴺⁿ", "mMEeNn", strict=True)}
# A zero-width space parts words; the byte order mark, the word joiner, the soft hyphen and the two marks of direction
# do nothing. What turns the direction of figures about is left as it is, to be refused.
_PLAIN_FORMS |= {0x200B: " ", 0xFEFF: None, 0x2060: None, 0x00AD: None, 0x200E: None, 0x200F: None}


class Token(NamedTuple):
    """One number, word or sign of a text."""

    kind: Kind
    #: As it was spelled; a word in capitals and without an abbreviation's full stop.
    text: str
    #: Whether white space stands before it.
    spaced: bool


Tokens = Sequence[Token]


def tokenize(text: str) -> list[Token]:
    """The tokens of ``text`` in order.

    A number keeps its spelling, with its leading zeros and decimals. A run of digits and points that is no
    number is ``"unknown"``, as is every character that has no meaning in an angle or a position. A run of small raised
    or lowered figures is ``"small"``, in plain figures.
    """
    if not text.isascii():
        text = text.translate(_PLAIN_FORMS)
    tokens: list[Token] = []
    for match in _SCANNER.finditer(text):
        kind = match.lastgroup
        space, spelling = match[1], match[kind]  # type: ignore[index]  # one of the named groups has matched
        spaced = space != ""
        if kind == "word":
            for word in _words(spelling.upper()):
                tokens.append(Token("word", word, spaced))
                spaced = False
        elif kind == "number" and (spelling.count(".") > 1 or spelling == "."):
            tokens.append(Token("unknown", spelling, spaced))
        elif kind == "small":
            tokens.append(Token("small", "".join(map(_SMALL_FIGURES.__getitem__, spelling)), spaced))
        else:
            tokens.append(Token(kind, spelling, spaced))  # type: ignore[arg-type]  # a group's name is a kind
    return tokens


def _words(run: str) -> Iterator[str]:
    """The words in a run of capital letters: a unit and a word may stand together, as in ``47d30mN``."""
    run = run.removesuffix(".")
    if run not in ANGLE_WORDS:
        for length in range(len(run) - 1, 0, -1):
            if run[:length] in _UNIT_WORDS and run[length:] in ANGLE_WORDS:
                yield run[:length]
                run = run[length:]
                break
    yield run


def may_be_sign(tokens: Tokens, at: int) -> bool:
    """Whether a plus or minus with a number after it stands at ``at``."""
    return at + 1 < len(tokens) and tokens[at].kind in ("plus", "minus") and tokens[at + 1].kind == "number"


def may_be_dash(tokens: Tokens, at: int) -> bool:
    """Whether the token at ``at`` is a minus that can be a dash between its two neighbours.

    It cannot where it leans on the number after it: ``47 -30``. Elsewhere, as in ``47-30`` and in ``47 - 30``, it may
    be a dash or a sign, and a reader has to try both.
    """
    if (
        at >= len(tokens)
        or tokens[at].kind != "minus"
        or at + 1 >= len(tokens)
        or not _ends_something(tokens, at - 1)
    ):
        return False
    return tokens[at + 1].spaced or not tokens[at].spaced


def past_joint(tokens: Tokens, at: int) -> int:
    """Past one comma, colon or dash, if one stands at ``at``."""
    if at < len(tokens) and (tokens[at].kind in ("separator", "colon") or may_be_dash(tokens, at)):
        return at + 1
    return at


def _ends_something(tokens: Tokens, at: int) -> bool:
    return at >= 0 and tokens[at].kind in ("number", "word", "degree", "minute", "second")
