"""Reading the references of lettered national grids, and coordinates on grids by their code, from the tokens of a text.

    reference = [name] letters {figures} [name]
    name      = words of which at least one names the grid, as in "Irish grid" or "OS grid reference", or says that it is
                a national one

A comma, a colon or a dash may stand between any two of these. Behind the name of a grid its whole coordinates are read
too, and figures alone near a place; what they and a code may look like is in `projected_text`.

A reference without the name of its grid is not decided: two letters with figures are a square of MGRS in many zones too,
and one letter is easily a letter short.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..datums.datum import Datum
from ..datums.frame import Frame
from ..errors import NavigationError, UnreadablePositionError
from ..grids.lettered_grid import LETTERED_GRIDS, MOST_DIGITS, LetteredGrid
from ..grids.projected_grid import projected_grid
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
_BESIDE_A_NAME = frozenset({"GRID", "REFERENCE", "REF", "ORDNANCE", "SURVEY"})
#: Words that say that the grid is a national one, and leave to the letters which; NGR is a national grid reference.
_OF_SOME_GRID = frozenset({"NATIONAL", "NGR"})
#: The year of the datum, tight behind the name of the grid on it: OSGB36.
_DATUM_YEARS = {"OSGB": ("36", "1936")}
_NAME_WORDS = _BESIDE_A_NAME.union(_OF_SOME_GRID, *(grid.words for grid in LETTERED_GRIDS.values()))

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
    words, rest = _name(tokens)
    if not words:
        yield from _without_words(tokens, frame)
        return
    named = [grid for grid in LETTERED_GRIDS.values() if words & grid.words]
    if not named and words & _OF_SOME_GRID:
        named = _with_letters_of(rest)
    if len(named) > 1:
        message = f"the text names {' and '.join(grid.name for grid in named)}"
        yield Refusal(INCOMPLETE, UnreadablePositionError, message)
    elif named:
        yield from _on_named_grid(named[0], rest, frame)
    else:
        yield from _without_words(rest, frame)


def national_outcomes_on_wgs84(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """Those of a text that says of itself that it is on WGS 84: one on a grid of another datum contradicts itself."""
    for outcome in national_outcomes(tokens, frame):
        if isinstance(outcome, PartialReference):
            grid = None if outcome.zone is None else projected_grid(outcome.zone)
            yield _contradiction(grid.name, grid.datum) if grid else outcome.refusal._replace(offered=())
        elif isinstance(outcome, Refusal):
            yield outcome._replace(offered=tuple(one for one in outcome.offered if one.shift is None))
        elif outcome.shift is None:
            yield outcome
        else:
            yield _contradiction(outcome.read_as, outcome.shift.datum)


def _contradiction(name: str, datum: Datum) -> Refusal:
    message = f"the text says that it is on WGS 84, and {name} is on {datum.name}"
    allowed = "the position without the one or without the other"
    return Refusal(WRONG_VALUE, UnreadablePositionError, message, allowed)


def _name(tokens: Tokens) -> tuple[set[str], Tokens]:
    """The words for grids at the ends of the text, and what is left of it."""
    words: set[str] = set()
    start, stop = 0, len(tokens)
    while start < stop and tokens[start].text in _NAME_WORDS:
        words.add(tokens[start].text)
        start += _is_year_of_datum(tokens, start + 1)
        start = past_joint(tokens, start + 1)
    stop -= _is_year_of_datum(tokens, stop - 1)
    while stop > start and tokens[stop - 1].text in _NAME_WORDS:
        words.add(tokens[stop - 1].text)
        stop -= 1
        if stop > start and tokens[stop - 1].kind in ("separator", "colon"):
            stop -= 1
    return words, tokens[start:stop]


def _is_year_of_datum(tokens: Tokens, at: int) -> bool:
    """Whether the number at ``at`` stands tight behind a name whose datum has that year, or before letters."""
    if not 0 < at < len(tokens) or tokens[at - 1].text not in _DATUM_YEARS:
        return False
    if tokens[at].text not in _DATUM_YEARS[tokens[at - 1].text]:
        return False
    return not tokens[at].spaced or (at + 1 < len(tokens) and tokens[at + 1].kind == "word")


def _with_letters_of(tokens: Tokens) -> list[LetteredGrid]:
    """The grids that have a square of the letters of a reference."""
    reference = _reference(tokens)
    if reference is None:
        return []
    return [grid for grid in LETTERED_GRIDS.values() if grid.has_square(reference.letters)]


def _on_named_grid(grid: LetteredGrid, tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    reference = _reference(tokens)
    if reference is not None and reference.letters:
        yield _on_lettered_grid(grid, reference, frame)
        return
    outcomes = list(coordinate_outcomes(grid.projection, tokens, frame))
    if not outcomes:
        message = f"beside the name of the {grid.name} stand neither letters with figures nor an easting with a northing"
        outcomes = [Refusal(INCOMPLETE, UnreadablePositionError, message, _whole(grid))]
    if (
        reference is not None
        and reference.halves
        and reference.halves[0]
        and isinstance(outcomes[0], Refusal)
    ):
        partial = PartialReference(grid.epsg, None, "", *reference.halves, whole=False, refusal=outcomes[0])
        outcomes = [partial, *outcomes[1:]]
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


def _without_words(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    yield from outcomes_by_code(tokens, frame)
    yield from _without_name(tokens, frame)


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
