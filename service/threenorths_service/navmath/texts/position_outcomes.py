"""Everything that a text can be, by every convention of writing numbers and in every form of position.

A further form is one more grammar in `_GRAMMARS`, a further convention one more in `text_conventions`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from ..datums.datum import WGS84
from ..datums.frame import WGS84_FRAME, Frame
from ..errors import UnreadablePositionError
from .grid_text import grid_outcomes
from .latitude_longitude_text import latitude_longitude_outcomes
from .national_text import national_outcomes, national_outcomes_on_wgs84
from .position_faults import doubt_of, fault_in_tokens
from .position_reading import Outcome, PartialReference, PositionReading, Refusal
from .reference_text import reference_outcomes
from .short_text import joined_reference, short_outcomes
from .spoken_text import has_spoken_figures, spoken_fault, written_out
from .text_conventions import versions
from .text_noise import BareText, bare_text
from .text_tokens import MAX_TEXT_CHARACTERS, Tokens, tokenize

__all__ = ["POSITION_FORMS", "Outcomes", "WrittenText", "put", "written_text"]

_Grammar = Callable[[Tokens, Frame], Iterator[Outcome]]

_GRID_GRAMMARS: tuple[_Grammar, ...] = (
    reference_outcomes,
    grid_outcomes,
    national_outcomes,
    short_outcomes,
)
_GRAMMARS: tuple[_Grammar, ...] = (latitude_longitude_outcomes, *_GRID_GRAMMARS)

#: Two readings nearer than this in latitude and longitude are one place: a tenth of a millimetre. [degree]
SAME_PLACE_DEG = 1e-9

#: What a text may be, in words.
POSITION_FORMS = (
    "a grid reference such as 32TMT6543212345, UTM such as 32T 465000 5247000, "
    "or latitude and longitude such as 47.5 N 8.5 E"
)


class Outcomes(NamedTuple):
    """What a text can be, by kind, each in the order in which it was found."""

    readings: list[PositionReading]
    partials: list[PartialReference]
    refusals: list[Refusal]


class WrittenText(NamedTuple):
    """A text, and what it can be."""

    text: str
    tokens: Tokens
    #: What it was read on: WGS 84 where the text says so.
    frame: Frame
    #: Whether it says of itself that it is on WGS 84.
    on_wgs84: bool
    outcomes: Outcomes

    @property
    def joined(self) -> PartialReference | None:
        """What it may be where it is expected alone, since elsewhere it is a latitude and a longitude: ``12, 80``."""
        return None if self.outcomes.partials else joined_reference(self.tokens)


def written_text(text: str, frame: Frame) -> WrittenText:
    """The text with everything that it can be.

    Raises
    ------
    UnreadablePositionError
        It is too long or empty, or has what stands in no position.
    """
    if len(text) > MAX_TEXT_CHARACTERS:
        raise _unreadable(text, f"the text is longer than {MAX_TEXT_CHARACTERS} characters")
    said = tokenize(text)
    bare = bare_text(written_out(said))
    if bare.on_wgs84 and frame.datum != WGS84:
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
    return WrittenText(text, bare.tokens, frame, bare.on_wgs84, outcomes)


def _outcomes(text: str, bare: BareText, frame: Frame, *, pauses: bool) -> Outcomes:
    """Everything that the text can be, by every convention and every grammar."""
    found = Outcomes([], [], [])
    faults: list[str] = []
    grammars = _grammars(bare)
    for version in versions(bare.tokens, pauses=pauses):
        fault = fault_in_tokens(version.tokens)
        if fault is not None:
            faults.append(fault)
            continue
        faults.append("")
        doubt = None if bare.on_grid else doubt_of(version)
        if doubt is not None:
            found.refusals.append(doubt)
        for grammar in grammars:
            for outcome in grammar(version.tokens, frame):
                put(outcome, found)
    if all(faults):
        raise _unreadable(text, faults[0])
    return found


def _grammars(bare: BareText) -> tuple[_Grammar, ...]:
    grammars = _GRID_GRAMMARS if bare.on_grid else _GRAMMARS
    if not bare.on_wgs84:
        return grammars
    return tuple(
        national_outcomes_on_wgs84 if grammar is national_outcomes else grammar for grammar in grammars
    )


def put(outcome: Outcome, found: Outcomes) -> None:
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


def _unreadable(text: str, message: str) -> UnreadablePositionError:
    return UnreadablePositionError(message, value=text[:MAX_TEXT_CHARACTERS], allowed=POSITION_FORMS)
