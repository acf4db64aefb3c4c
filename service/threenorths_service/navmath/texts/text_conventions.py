"""The conventions by which one text may be written: each turns its tokens into those of the plain usual text.

A comma may be a decimal mark, or a mark of thousands, or part two coordinates; a point may part degrees, minutes and
seconds. Nothing is decided here: every convention that the tokens admit is tried, and the readings of all are pooled.
First the marks inside numbers are settled, then the order of what stands there.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import NamedTuple

from .text_tokens import HEMISPHERES, METRE_WORDS, Token, Tokens

__all__ = ["Version", "versions"]

_Convention = Callable[[Tokens], list[Token] | None]

_DOTTED_PARTS = re.compile(r"[0-9]{1,3}\.[0-9]{2}\.[0-9]{2}(\.[0-9]+)?")
_DOTTED_THOUSANDS = re.compile(r"[0-9]{1,3}(\.[0-9]{3})+")
_GROUP = re.compile(r"[0-9]{3}(\.[0-9]*)?")
#: The fewest figures of the easting and northing of a whole coordinate: what the marks of thousands are for.
_WHOLE_DIGITS = 6
#: Groups of three figures after the first of so many figures, in an easting or northing of 6 or 7 figures.
_GROUPS_AFTER = {1: 2, 3: 1}


_FEWEST_FIGURES = 3


class Version(NamedTuple):
    """The tokens by one convention."""

    tokens: Tokens
    #: Whether commas were taken for decimal marks.
    decimal_commas: bool = False


def versions(tokens: Tokens, *, pauses: bool) -> Iterator[Version]:
    """The tokens as they are, and by every convention that they admit.

    ``pauses`` says whether a comma may be a pause in what was said.
    """
    for marked in _number_marks(tokens, pauses):
        yield marked
        if not _may_be_arranged(marked.tokens):
            continue
        for arrange in (_hemisphere_inside, _spaced_thousands, _margin_figures):
            arranged = arrange(marked.tokens)
            if arranged is not None:
                yield marked._replace(tokens=arranged)


def _may_be_arranged(tokens: Tokens) -> bool:
    """Whether there are as many numbers, or parts of one, as each arrangement takes, and no sign for degrees."""
    kinds = [token.kind for token in tokens]
    return "degree" not in kinds and kinds.count("number") + kinds.count("small") >= _FEWEST_FIGURES


def _number_marks(tokens: Tokens, pauses: bool) -> Iterator[Version]:
    yield Version(tokens)
    kinds = [token.kind for token in tokens]
    if ("separator" in kinds or "minute" in kinds) and _has_tight_mark(tokens):
        decimals = _decimal_commas(tokens)
        if decimals is not None:
            yield Version(decimals, decimal_commas=True)
        yield from _applied((_marked_thousands,), tokens)
    if pauses:
        yield from _applied((_without_pauses,), tokens)
    if "unknown" in kinds:
        yield from _applied((_dotted_parts, _dotted_thousands), tokens)


def _has_tight_mark(tokens: Tokens) -> bool:
    """Whether a comma stands tight between two numbers, or an apostrophe where one of thousands can."""
    return any(
        (token.text == "," or (token.kind == "minute" and len(following.text) > 2))
        and not token.spaced
        and not following.spaced
        and following.kind == "number"
        for token, following in pairwise(tokens)
    )


def _applied(conventions: tuple[_Convention, ...], tokens: Tokens) -> Iterator[Version]:
    for convention in conventions:
        changed = convention(tokens)
        if changed is not None:
            yield Version(changed)


def _is_tight(tokens: Tokens, at: int, mark: str) -> bool:
    """Whether ``mark`` and a number follow on the token at ``at`` without white space."""
    return (
        at + 2 < len(tokens)
        and mark in (tokens[at + 1].text, tokens[at + 1].kind)
        and tokens[at + 2].kind == "number"
        and not tokens[at + 1].spaced
        and not tokens[at + 2].spaced
    )


def _decimal_commas(tokens: Tokens) -> list[Token] | None:
    """Every comma that stands tight between two figures as a decimal mark; ``None`` where that cannot be."""
    written: list[Token] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        if token.kind == "number" and _is_tight(tokens, at, ","):
            decimals = tokens[at + 2].text
            if "." in token.text or "." in decimals or _is_tight(tokens, at + 2, ","):
                return None
            token = token._replace(text=f"{token.text}.{decimals}")
            at += 2
        written.append(token)
        at += 1
    return written if len(written) < len(tokens) else None


def _marked_thousands(tokens: Tokens) -> list[Token] | None:
    """Commas or apostrophes between groups of three figures left out, if that gives a whole easting or northing."""
    for mark in (",", "minute"):
        written, most_digits = _joined_groups(tokens, mark)
        if most_digits >= _WHOLE_DIGITS:
            return written
    return None


def _joined_groups(tokens: Tokens, mark: str) -> tuple[list[Token], int]:
    """The tokens with groups of thousands joined, and the most figures of a number that was joined."""
    written: list[Token] = []
    most_digits = at = 0
    while at < len(tokens):
        token = tokens[at]
        at += 1
        if token.kind == "number" and token.text.isdigit() and len(token.text) <= 3:
            while _is_tight(tokens, at - 1, mark) and _GROUP.fullmatch(tokens[at + 1].text):
                token = token._replace(text=token.text + tokens[at + 1].text)
                at += 2
                most_digits = max(most_digits, len(token.text.partition(".")[0]))
                if "." in token.text:
                    break
        written.append(token)
    return written, most_digits


def _without_pauses(tokens: Tokens) -> list[Token] | None:
    """Commas after which there is a space left out."""
    written = [token for token, following in pairwise(tokens) if token.text != "," or not following.spaced]
    return [*written, tokens[-1]] if len(written) + 1 < len(tokens) else None


def _dotted_parts(tokens: Tokens) -> list[Token] | None:
    """Points between degrees, minutes and seconds as colons: ``47.30.15``."""
    written: list[Token] = []
    for token in tokens:
        if token.kind == "unknown":
            if not _DOTTED_PARTS.fullmatch(token.text):
                return None
            degrees, minutes, seconds = token.text.split(".", 2)
            written.append(Token("number", degrees, token.spaced))
            for part in (minutes, seconds):
                written += (Token("colon", ":", False), Token("number", part, False))
        elif token.kind == "number" and "." in token.text:
            # In such a text it may be degrees and minutes as well as a decimal.
            return None
        else:
            written.append(token)
    return written


def _dotted_thousands(tokens: Tokens) -> list[Token] | None:
    """Points between groups of three figures left out: ``465.000 5.247.000``."""
    written: list[Token] = []
    for token in tokens:
        if token.kind == "unknown" or (token.kind == "number" and "." in token.text):
            if not _DOTTED_THOUSANDS.fullmatch(token.text):
                return None
            token = token._replace(kind="number", text=token.text.replace(".", ""))
        written.append(token)
    return written


def _spaced_thousands(tokens: Tokens) -> list[Token] | None:
    """Groups of three figures joined to the one or three figures before them, twice: ``465 000 5 247 000``."""
    written: list[Token] = []
    at = joined = 0
    while at < len(tokens):
        token = tokens[at]
        at += 1
        groups = (
            _GROUPS_AFTER.get(len(token.text), 0) if token.kind == "number" and token.text.isdigit() else 0
        )
        if groups and _are_groups(tokens, at, groups):
            text = "".join(group.text for group in tokens[at : at + groups])
            token = token._replace(text=token.text + text)
            at += groups
            joined += 1
        written.append(token)
    return written if joined == 2 else None


def _are_groups(tokens: Tokens, at: int, count: int) -> bool:
    groups = tokens[at : at + count]
    return (
        len(groups) == count
        and all(group.kind == "number" and _GROUP.fullmatch(group.text) for group in groups)
        and all(group.text.isdigit() for group in groups[:-1])
    )


def _margin_figures(tokens: Tokens) -> list[Token] | None:
    """Coordinates as on the margin of a sheet, ``5 91 000 mE`` with the outer figures small, as whole numbers."""
    written: list[Token] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        at += 1
        if token.kind in ("number", "small") and _is_margin_coordinate(tokens, at - 1):
            token = Token("number", "".join(part.text for part in tokens[at - 1 : at + 2]), token.spaced)
            at += 2
        written.append(token)
    return written if len(written) < len(tokens) else None


def _is_margin_coordinate(tokens: Tokens, at: int) -> bool:
    """Whether one or two figures, two more, and the three of the metres stand there, small or before their letter."""
    parts = tokens[at : at + 3]
    if len(parts) < 3 or [len(part.text) for part in parts[1:]] != [2, 3] or len(parts[0].text) > 2:
        return False
    if [part.kind for part in parts] == ["small", "number", "small"]:
        return True
    after = tokens[at + 3].text if at + 3 < len(tokens) else ""
    return all(part.text.isdigit() and part.kind == "number" for part in parts) and (
        after in METRE_WORDS or after in HEMISPHERES
    )


def _hemisphere_inside(tokens: Tokens) -> list[Token] | None:
    """A letter tight between degrees and minutes put behind these: ``47N30.5 008E30.2``."""
    written: list[Token] = []
    letter: Token | None = None
    for at, token in enumerate(tokens):
        if letter is not None and _begins_anew(tokens, at):
            written.append(letter)
            letter = None
        if _is_inside(tokens, at):
            letter = token
        elif letter is not None and at and tokens[at - 1] is letter:
            written.append(token._replace(spaced=True))
        else:
            written.append(token)
    if letter is not None:
        written.append(letter)
    return written if list(tokens) != written else None


def _is_inside(tokens: Tokens, at: int) -> bool:
    """Whether a hemisphere stands tight at ``at`` between a number that begins a half and another."""
    return (
        0 < at < len(tokens) - 1
        and tokens[at].text in HEMISPHERES
        and tokens[at - 1].kind == tokens[at + 1].kind == "number"
        and not tokens[at].spaced
        and not tokens[at + 1].spaced
        and (at == 1 or tokens[at - 2].kind != "number" or _is_inside(tokens, at - 3))
    )


def _begins_anew(tokens: Tokens, at: int) -> bool:
    """Whether the token at ``at`` is no part of the minutes and seconds behind a letter inside."""
    return tokens[at].spaced or tokens[at].kind not in ("number", "minute", "second")
