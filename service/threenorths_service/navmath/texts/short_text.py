"""Reading short grid references of figures alone from the tokens of a text: ``177 428``, ``177428``, ``17742-42810``."""

from __future__ import annotations

from collections.abc import Iterator

from ..datums.frame import Frame
from ..errors import UnreadablePositionError
from ..references.mgrs_status import MOST_DIGITS
from .figures import halves
from .position_reading import INCOMPLETE, Outcome, PartialReference, Refusal
from .text_tokens import Tokens, may_be_dash

__all__ = ["joined_reference", "short_outcomes"]

_ONE_GROUP = (
    "figures alone may be a grid reference without its zone and square letters: write the reference whole, or two numbers "
    "for latitude and longitude"
)
_GROUPS = (
    "groups of as many figures may be a grid reference without its zone and square letters, or degrees: "
    "write the reference whole, or put N or S and E or W to the degrees"
)


def short_outcomes(tokens: Tokens, _frame: Frame) -> Iterator[Outcome]:
    """The figures as a reference that names a place only near another; nothing if there is more than figures."""
    figures = _figures(tokens)
    if not figures:
        return
    found = halves(figures)
    if found is not None:
        refusal = Refusal(INCOMPLETE, UnreadablePositionError, _ONE_GROUP if len(figures) == 1 else _GROUPS)
        yield PartialReference(None, None, "", *found, whole=False, refusal=refusal)
    elif _is_odd(figures):
        yield Refusal(
            INCOMPLETE,
            UnreadablePositionError,
            f"{len(figures[0])} figures cannot be halved into an easting and a northing: one is missing, or one too many",
        )


def joined_reference(tokens: Tokens) -> PartialReference | None:
    """Two groups of as many figures with a comma, semicolon or stroke between, as a reference; ``None`` of all else.

    They may be a latitude and a longitude too, so this is one only where it is expected.
    """
    if len(tokens) != 3 or [token.kind for token in tokens] != ["number", "separator", "number"]:
        return None
    found = halves((tokens[0].text, tokens[2].text))
    if found is None:
        return None
    refusal = Refusal(INCOMPLETE, UnreadablePositionError, _GROUPS)
    return PartialReference(None, None, "", *found, whole=False, refusal=refusal)


def _is_odd(figures: list[str]) -> bool:
    """Whether it is one group of figures, as many as a reference may have but for one."""
    count = len(figures[0])
    return len(figures) == 1 and figures[0].isdigit() and count % 2 == 1 and 1 < count < 2 * MOST_DIGITS


def _figures(tokens: Tokens) -> list[str]:
    """The groups of figures, where the text is nothing else; two of them may have a dash between."""
    if len(tokens) == 3 and may_be_dash(tokens, 1):
        tokens = (tokens[0], tokens[2])
    if any(token.kind != "number" for token in tokens):
        return []
    return [token.text for token in tokens]
