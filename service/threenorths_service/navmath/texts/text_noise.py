"""What stands around and among the parts of a position and does not say where it is.

Brackets and quotation marks part words as white space does. Punctuation goes at either end, and so does ``WGS 84``, which
says what the text is on. Words such as ``grid reference`` go anywhere, and say that the text is no latitude and longitude;
``position`` and ``coordinates`` say nothing. ``By`` stands for the comma between two coordinates, and ``and`` for nothing.
``Lat, lon`` at the start tells the order that is the usual one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from .text_tokens import AXES, Token, Tokens

__all__ = ["NOISE_WORDS", "BareText", "bare_text"]

#: Words for a grid reference, behind which no latitude and longitude is written.
_GRID_NOUNS = frozenset({"GRID", "REFERENCE", "REF", "MAP", "SQUARE"})
_NOUNS = _GRID_NOUNS | {"POSITION", "POS", "COORDINATES", "COORDINATE", "COORDS", "LOCATION", "AND"}
#: The band and the square of a grid reference, where a zone number stands before them: ``32 MAP``.
_MAY_BE_LETTERS = frozenset({"REF", "MAP"})
_ZONE_DIGITS = 2

#: The words of this module, so that a text's other words can be told to be none.
NOISE_WORDS = _NOUNS | {"BY", "WGS"}

_NOISE_KINDS = frozenset({"bracket", "punctuation"})
_OPENING_KINDS = frozenset({"separator", "colon", "minute", "second", "punctuation"})
_CLOSING_TEXTS = frozenset({",", ";", ":", "."})
_DATUM_YEARS = frozenset({"84", "1984"})
_COMMA = Token("separator", ",", True)


class BareText(NamedTuple):
    """The parts of a position alone."""

    tokens: Tokens
    #: Whether a word says that it is on a grid.
    on_grid: bool = False
    #: Whether it says of itself that it is on WGS 84.
    on_wgs84: bool = False


def bare_text(tokens: Tokens) -> BareText:
    """The tokens without what says nothing of the place."""
    if not tokens or not _may_have_noise(tokens):
        return BareText(tokens)
    bracketless = _without_ends(_kept(tokens, lambda at: tokens[at].kind != "bracket"))
    undated = _without_datum(bracketless)
    on_grid = any(token.text in _GRID_NOUNS and _is_noun(undated, at) for at, token in enumerate(undated))
    nounless = _kept(undated, lambda at: not _is_noun(undated, at))
    bare = [_COMMA if _is_by(nounless, at) else token for at, token in enumerate(nounless)]
    return BareText(_without_header(_without_ends(bare)), on_grid, len(undated) < len(bracketless))


def _may_have_noise(tokens: Tokens) -> bool:
    last = tokens[-1].text
    return (
        tokens[0].kind in _OPENING_KINDS
        or last in _CLOSING_TEXTS
        or last[-1] == "."
        or not _NOISE_KINDS.isdisjoint([token.kind for token in tokens])
        or not NOISE_WORDS.isdisjoint([token.text for token in tokens])
        or _header_length(tokens) > 0
    )


def _kept(tokens: Tokens, is_kept: Callable[[int], bool]) -> Tokens:
    """Some of the tokens; what follows on a dropped one is parted from what was before it."""
    kept: list[Token] = []
    dropped = False
    for at, token in enumerate(tokens):
        if is_kept(at):
            kept.append(token._replace(spaced=True) if dropped else token)
        dropped = not is_kept(at)
    return kept


def _without_ends(tokens: Tokens) -> Tokens:
    """The tokens without punctuation at the ends, and without quotation marks around all of them."""
    start, stop = 0, len(tokens)
    while start < stop and tokens[start].kind in _OPENING_KINDS:
        quoted = tokens[start].kind in ("minute", "second")
        if quoted and tokens[stop - 1].kind == tokens[start].kind:
            stop -= 1
        start += 1
    while start < stop and (
        tokens[stop - 1].text in _CLOSING_TEXTS or tokens[stop - 1].kind == "punctuation"
    ):
        stop -= 1
    return _without_full_stop(list(tokens[start:stop]))


def _without_full_stop(tokens: list[Token]) -> list[Token]:
    """The tokens without the point behind the last figure of a sentence."""
    if not tokens or not tokens[-1].text.endswith("."):
        return tokens
    text = tokens[-1].text.rstrip(".")
    if not text:
        return tokens[:-1]
    return [*tokens[:-1], tokens[-1]._replace(kind="unknown" if text.count(".") > 1 else "number", text=text)]


def _without_datum(tokens: Tokens) -> Tokens:
    """The tokens without ``WGS 84`` at the start or the end."""
    for length in (3, 2):
        if _is_datum(tokens[:length]):
            return tokens[length:]
        before = tokens[:-length]
        # In `32WGS84` these are a square and its figures.
        if _is_datum(tokens[len(before) :]) and not (len(before) == 1 and _may_be_zone(before[0])):
            return before
    return tokens


def _is_datum(tokens: Tokens) -> bool:
    return (
        len(tokens) >= 2
        and tokens[0].text == "WGS"
        and tokens[-1].text in _DATUM_YEARS
        and all(token.kind == "minus" for token in tokens[1:-1])
    )


def _is_noun(tokens: Tokens, at: int) -> bool:
    """Whether the word at ``at`` is a noun of this module, and not the letters of a grid reference."""
    text = tokens[at].text
    return text in _NOUNS and not (text in _MAY_BE_LETTERS and at and _may_be_zone(tokens[at - 1]))


def _may_be_zone(token: Token) -> bool:
    return token.text.isdigit() and len(token.text) <= _ZONE_DIGITS


def _is_by(tokens: Tokens, at: int) -> bool:
    """Whether ``by`` stands there between two coordinates, and not the letters of a square: ``32T BY 12 34``."""
    if tokens[at].text != "BY":
        return False
    after_figures = at > 0 and tokens[at - 1].kind == "number" and not _may_be_zone(tokens[at - 1])
    return after_figures or not all(token.text.isdigit() for token in tokens[at + 1 :])


def _without_header(tokens: Tokens) -> Tokens:
    return tokens[_header_length(tokens) :]


def _header_length(tokens: Tokens) -> int:
    """How many tokens ``lat, lon:`` at the start takes; 0 where it is not there."""
    at = 0
    for axis in ("latitude", "longitude"):
        if at >= len(tokens) or AXES.get(tokens[at].text) != axis:
            return 0
        at += 1
        if at < len(tokens) and tokens[at].kind in ("separator", "colon"):
            at += 1
    return at
