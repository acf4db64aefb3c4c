"""Reading coordinates on a grid of the EPSG dataset, or on a national grid by its name, from the tokens of a text.

    coordinates = system pair | pair system
    system      = "EPSG" number
    pair        = coordinate coordinate
    coordinate  = [axis] [sign] number [unit] [axis]
    unit        = "m" | "ft"

A comma, a colon or a dash may stand between any two of these. The easting comes first, unless letters say otherwise; on a
grid that the dataset gives with the northing first, both orders are read, and each counts where its place lies in the
area of the grid. Where the grid is not in metres, a unit must be said; where it is one of lettered squares, two numbers of
five figures or fewer must have one too.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..datums.frame import Frame
from ..errors import NavigationError, UnreadablePositionError
from ..grids.lettered_grid import MOST_DIGITS, lettered_grid_of
from ..grids.projected_grid import ProjectedGrid, projected_grid
from .national_reading import projected_reading
from .position_reading import INCOMPLETE, WRONG_VALUE, Outcome, PositionReading, Refusal
from .text_tokens import METRE_WORDS, Tokens, may_be_dash, may_be_sign, past_joint

__all__ = ["PROJECTED_WORDS", "coordinate_outcomes", "outcomes_by_code", "refusal_of"]

_EASTING_WORDS = frozenset({"E", "EAST", "EASTING", "EASTINGS"})
_NORTHING_WORDS = frozenset({"N", "NORTH", "NORTHING", "NORTHINGS"})
_FOOT_WORDS = frozenset({"FT", "FOOT", "FEET"})
_CODE_WORD = "EPSG"

#: The words of this grammar, so that a text's other words can be told to be none.
PROJECTED_WORDS = _EASTING_WORDS | _NORTHING_WORDS | _FOOT_WORDS | METRE_WORDS | {_CODE_WORD}


class _Coordinate(NamedTuple):
    axis: str | None
    number: str
    unit: str | None


class _Pair(NamedTuple):
    first: _Coordinate
    second: _Coordinate

    @property
    def swapped(self) -> _Pair:
        return _Pair(self.second, self.first)

    @property
    def is_lettered(self) -> bool:
        return self.first.axis is not None and self.second.axis is not None

    @property
    def units(self) -> set[str]:
        return {coordinate.unit for coordinate in self if coordinate.unit is not None}

    @property
    def is_short(self) -> bool:
        """Whether nothing tells the numbers from the figures of a reference within its square."""
        return not self.units and all(
            len(coordinate.number) <= MOST_DIGITS and coordinate.number.isdecimal() for coordinate in self
        )


def outcomes_by_code(tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """Coordinates with the code of their grid before or behind them."""
    at = next((at for at, token in enumerate(tokens) if token.text == _CODE_WORD), None)
    if at is None:
        return
    code_at = past_joint(tokens, at + 1)
    if code_at >= len(tokens) or not tokens[code_at].text.isdecimal():
        yield Refusal(INCOMPLETE, UnreadablePositionError, "the number of the EPSG code is missing")
        return
    before, behind = tokens[:at], tokens[past_joint(tokens, code_at + 1) :]
    if before and behind:
        return
    try:
        grid = projected_grid(int(tokens[code_at].text))
    except NavigationError as error:
        yield refusal_of(error)
        return
    outcomes = list(coordinate_outcomes(grid, before or behind, frame))
    if not outcomes:
        message = f"the easting and the northing on EPSG:{grid.epsg}, {grid.name}, are not both there"
        outcomes = [Refusal(INCOMPLETE, UnreadablePositionError, message)]
    yield from outcomes


def coordinate_outcomes(grid: ProjectedGrid, tokens: Tokens, frame: Frame) -> Iterator[Outcome]:
    """What the tokens are as coordinates on the grid; nothing if they are unlike any."""
    for pair in _pairs(tokens):
        yield from _pair_outcomes(grid, pair, frame)


def _pair_outcomes(grid: ProjectedGrid, pair: _Pair, frame: Frame) -> Iterator[Outcome]:
    if (pair.first.axis is None) != (pair.second.axis is None):
        message = "only one of the easting and the northing has its letter"
        yield Refusal(INCOMPLETE, UnreadablePositionError, message)
        return
    if pair.first.axis == "northing":
        pair = pair.swapped
    in_feet = pair.units == {"ft"}
    if len(pair.units) > 1 or (in_feet and not _is_in_feet(grid)):
        message = f"{grid.name} is measured in the {grid.unit_name}: give both coordinates in that unit, or both in metres"
        yield Refusal(WRONG_VALUE, UnreadablePositionError, message)
    elif not pair.units and grid.unit_m != 1.0:
        message = f"{grid.name} is measured in the {grid.unit_name}: say the unit of the coordinates"
        yield _undecided(grid, pair, frame, message)
    elif pair.is_short and lettered_grid_of(grid.epsg) is not None:
        message = "so few figures may be those within a 100 km square: write its letters, or an m behind coordinates"
        yield _undecided(grid, pair, frame, message)
    else:
        yield from _ordered(grid, pair, frame, in_feet)


def _is_in_feet(grid: ProjectedGrid) -> bool:
    return "foot" in grid.unit_name.lower()


def _undecided(grid: ProjectedGrid, pair: _Pair, frame: Frame, message: str) -> Refusal:
    """The refusal of coordinates whose unit would tell what they are, with what they are in each."""
    outcomes = [_outcome(grid, pair, frame, in_feet) for in_feet in sorted({False, _is_in_feet(grid)})]
    readings = tuple(outcome for outcome in outcomes if isinstance(outcome, PositionReading))
    allowed = "coordinates in m, or in ft" if _is_in_feet(grid) else "coordinates in m"
    return Refusal(INCOMPLETE, UnreadablePositionError, message, allowed, readings)


def _ordered(grid: ProjectedGrid, pair: _Pair, frame: Frame, in_feet: bool) -> Iterator[Outcome]:
    """The reading with the easting first, and that with the northing first where the grid is given so."""
    outcome = _outcome(grid, pair, frame, in_feet)
    if pair.is_lettered or (isinstance(outcome, PositionReading) and not grid.northing_first):
        yield outcome
        return
    other = _outcome(grid, pair.swapped, frame, in_feet)
    if isinstance(other, PositionReading):
        if grid.northing_first:
            yield other
        if isinstance(outcome, Refusal):
            outcome = outcome._replace(offered=(other,))
    yield outcome


def _outcome(grid: ProjectedGrid, pair: _Pair, frame: Frame, in_feet: bool) -> PositionReading | Refusal:
    try:
        return projected_reading(grid, pair.first.number, pair.second.number, frame, in_feet=in_feet)
    except NavigationError as error:
        return refusal_of(error)


def refusal_of(error: NavigationError) -> Refusal:
    """The refusal of a reading that raised a named error."""
    nearness = INCOMPLETE if isinstance(error, UnreadablePositionError) else WRONG_VALUE
    return Refusal(nearness, type(error), str(error), error.allowed)


def _pairs(tokens: Tokens) -> Iterator[_Pair]:
    for first, at in _coordinates_at(tokens, 0):
        # A dash between two numbers may be the sign of the second.
        for start in sorted({at, past_joint(tokens, at)}):
            for second, stop in _coordinates_at(tokens, start):
                if stop == len(tokens) and (first.axis is None or first.axis != second.axis):
                    yield _Pair(first, second)


def _coordinates_at(tokens: Tokens, start: int) -> Iterator[tuple[_Coordinate, int]]:
    """Every coordinate that begins here, and where it ends."""
    before = _axis_at(tokens, start)
    at = start if before is None else past_joint(tokens, start + 1)
    sign = ""
    if may_be_sign(tokens, at):
        sign, at = ("-" if tokens[at].kind == "minus" else ""), at + 1
    if at >= len(tokens) or tokens[at].kind != "number":
        return
    number = sign + tokens[at].text
    at += 1
    unit, at = _unit_at(tokens, at)
    yield _Coordinate(before, number, unit), at
    after = _axis_at(tokens, at)
    if after is not None and before is None:
        yield _Coordinate(after, number, unit), at + 1


def _unit_at(tokens: Tokens, at: int) -> tuple[str | None, int]:
    """The unit that may stand here, and where what follows begins."""
    unit_at = at + 1 if may_be_dash(tokens, at) else at
    if unit_at < len(tokens) and tokens[unit_at].text in METRE_WORDS:
        return "m", unit_at + 1
    if unit_at < len(tokens) and tokens[unit_at].text in _FOOT_WORDS:
        return "ft", unit_at + 1
    return None, at


def _axis_at(tokens: Tokens, at: int) -> str | None:
    if at < len(tokens) and tokens[at].text in _EASTING_WORDS:
        return "easting"
    if at < len(tokens) and tokens[at].text in _NORTHING_WORDS:
        return "northing"
    return None
