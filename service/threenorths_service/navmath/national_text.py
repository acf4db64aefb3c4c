"""Reading the references of lettered national grids, and coordinates on grids by their code, from the tokens of a text.

    reference = [name] letters {figures} [name]
    name      = words of which at least one names the grid, as in "Irish grid" or "OS grid reference"

A comma, a colon or a dash may stand between any two of these. Behind the name of a grid its whole coordinates are read
too; what they and a code may look like is in `projected_text`.

A reference without the name of its grid is not decided: two letters with figures are a square of MGRS in many zones too,
and one letter is easily a letter short.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from .errors import NavigationError, UnreadablePositionError
from .frame import Frame
from .lettered_grid import LETTERED_GRIDS, MOST_DIGITS, LetteredGrid
from .national_reading import agrees_with_datum, lettered_reading, lettered_readings, lettered_readings_near
from .position_reading import INCOMPLETE, WRONG_VALUE, Outcome, PartialReference, Refusal
from .projected_text import PROJECTED_WORDS, coordinate_outcomes, outcomes_by_code, refusal_of
from .text_tokens import Tokens, past_joint

__all__ = [
    "NATIONAL_WORDS",
    "lettered_readings",
    "lettered_readings_near",
    "national_outcomes",
    "national_outcomes_on_wgs84",
]

#: Words that may stand beside those that name a grid, and name none themselves.
_BESIDE_A_NAME = frozenset({"NATIONAL", "GRID", "REFERENCE", "REF", "ORDNANCE", "SURVEY"})
_NAME_WORDS = _BESIDE_A_NAME.union(*(grid.words for grid in LETTERED_GRIDS.values()))

#: The words of these grammars, so that a text's other words can be told to be none.
NATIONAL_WORDS = _NAME_WORDS | PROJECTED_WORDS

_MOST_LETTERS = max(grid.letter_count for grid in LETTERED_GRIDS.values())
#: Letters of a 100 km square of MGRS.
_MGRS_LETTERS = 2


class _Reference(NamedTuple):
    letters: str
    figures: tuple[str, ...]

    @property
    def halves(self) -> tuple[str, str] | None:
        """Figures of the easting and of the northing, if the text parts them nowhere but in the middle, or there too."""
        joined = "".join(self.figures)
        middle, odd = divmod(len(joined), 2)
        ends = [len("".join(self.figures[:count])) for count in range(len(self.figures) + 1)]
        if odd or middle > MOST_DIGITS or (len(self.figures) > 1 and middle not in ends):
            return None
        return joined[:middle], joined[middle:]


def national_outcomes(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """Every reading of all the tokens on a national grid, and a refusal for each that comes to nothing."""
    named, rest = _name(tokens)
    if len(named) > 1:
        message = f"the text names {' and '.join(grid.name for grid in named)}"
        yield Refusal(INCOMPLETE, UnreadablePositionError, message)
    elif named:
        yield from _on_named_grid(named[0], rest, frame)
    else:
        yield from outcomes_by_code(rest, frame)
        yield from _without_name(rest, frame)


def national_outcomes_on_wgs84(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """Those of a text that says of itself that it is on WGS 84: one on a grid of another datum contradicts itself."""
    for outcome in national_outcomes(tokens, frame):
        if isinstance(outcome, PartialReference):
            yield outcome.refusal._replace(offered=())
        elif isinstance(outcome, Refusal):
            yield outcome._replace(offered=tuple(one for one in outcome.offered if one.shift is None))
        elif outcome.shift is None:
            yield outcome
        else:
            message = (
                f"the text says that it is on WGS 84, and {outcome.read_as} is on {outcome.shift.datum.name}"
            )
            allowed = "the position without the one or without the other"
            yield Refusal(WRONG_VALUE, UnreadablePositionError, message, allowed)


def _name(tokens: Tokens) -> tuple[list[LetteredGrid], Tokens]:
    """The grids that words at an end of the text name, and what is left of it."""
    words: set[str] = set()
    start, stop = 0, len(tokens)
    while start < stop and tokens[start].text in _NAME_WORDS:
        words.add(tokens[start].text)
        start = past_joint(tokens, start + 1)
    while stop > start and tokens[stop - 1].text in _NAME_WORDS:
        words.add(tokens[stop - 1].text)
        stop -= 1
        if stop > start and tokens[stop - 1].kind in ("separator", "colon"):
            stop -= 1
    return [grid for grid in LETTERED_GRIDS.values() if words & grid.words], tokens[start:stop]


def _on_named_grid(grid: LetteredGrid, tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    reference = _reference(tokens)
    if reference is not None and reference.letters:
        yield _on_lettered_grid(grid, reference, frame)
        return
    outcomes = list(coordinate_outcomes(grid.projection, tokens, frame))
    if not outcomes:
        message = f"beside the name of the {grid.name} stand neither letters with figures nor an easting with a northing"
        outcomes = [Refusal(INCOMPLETE, UnreadablePositionError, message, _whole(grid))]
    yield from outcomes


def _on_lettered_grid(grid: LetteredGrid, reference: _Reference, frame: Frame) -> Outcome:
    letters, halves = reference.letters, reference.halves
    if len(letters) != grid.letter_count:
        message = f"{letters} is not as many letters as a square of the {grid.name} has"
    elif halves is None:
        message = (
            f"the figures behind {letters} are not as many for the easting as for the northing, or too many"
        )
    else:
        try:
            return lettered_reading(grid, letters, *halves, frame)
        except NavigationError as error:
            return refusal_of(error)
    return Refusal(INCOMPLETE, UnreadablePositionError, message, _whole(grid))


def _whole(grid: LetteredGrid) -> str:
    letters = "one letter" if grid.letter_count == 1 else "two letters"
    return f"{letters}, and up to {MOST_DIGITS} figures for the easting and as many for the northing"


def _without_name(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """A reference that could be of a lettered grid, or of MGRS without its zone."""
    reference = _reference(tokens)
    if reference is None or not reference.halves or not reference.halves[0]:
        return
    letters = reference.letters
    grids = [grid for grid in LETTERED_GRIDS.values() if grid.has_square(letters)]
    if not grids:
        return
    message = f"{letters} is a square of the {' and of the '.join(grid.name for grid in grids)}"
    if len(letters) == _MGRS_LETTERS:
        message += ", and of MGRS in many grid zones"
    refusal = Refusal(INCOMPLETE, UnreadablePositionError, f"{message}: say which grid is meant")
    partial = PartialReference(None, None, letters, *reference.halves, False, refusal)
    readings = tuple(
        reading for reading in lettered_readings(partial, frame) if agrees_with_datum(reading, frame)
    )
    if not readings:
        return
    allowed = " or ".join([*(reading.read_as for reading in readings), "MGRS with its grid zone"])
    refusal = refusal._replace(allowed=allowed, offered=readings)
    # Where the letters may be those of MGRS, its grammar gives the reference as one that lacks its zone.
    yield refusal if len(letters) == _MGRS_LETTERS else partial._replace(refusal=refusal)


def _reference(tokens: Tokens) -> _Reference | None:
    """The letters and figures of a text that is made up of these alone."""
    at = 0
    letters, figures = "", []
    while at < len(tokens) and tokens[at].kind == "word" and len(letters) < _MOST_LETTERS:
        letters += tokens[at].text
        at = past_joint(tokens, at + 1)
    while at < len(tokens) and tokens[at].kind == "number" and tokens[at].text.isdecimal():
        figures.append(tokens[at].text)
        at = past_joint(tokens, at + 1)
    if at < len(tokens) or len(letters) > _MOST_LETTERS:
        return None
    return _Reference(letters, tuple(figures))
