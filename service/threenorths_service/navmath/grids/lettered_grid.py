"""Grids whose 100 km squares have letters, and the references written with them: ``TQ 305 802``, ``J 338 740``.

A reference names a square: its figures are the leading digits of the easting and the northing within a 100 km square.
It is written by truncation, and read as the square's south-west corner with its size.

A further grid is one more entry of `LETTERED_GRIDS`: the code of its projection, and the letters of its squares as the
diagram on its sheets prints them, the north at the top.

Sources. British: Ordnance Survey, "The National Grid" (its page on the map reference system) for the lettering by
squares of 500 km and 100 km without the letter I and for the extent, 700 km by 1300 km from the false origin; "A guide to
coordinate systems in Great Britain", section "The National Grid reference convention", for the figures. Irish: Ordnance
Survey Ireland, "Irish Grid Reference System": 25 squares with one letter each. Its sheets stand on the adjustment of 1975
("from which all mapping have been based since the mid 1970's"), which the EPSG dataset has as TM75 / Irish Grid, code
29903. By the same dataset that replaced TM65 / Irish Grid, code 29902, in 1975, which Northern Ireland never used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from ..errors import NavigationError, OutOfRangeError, OutsideGridError, UnreadablePositionError
from ..rows import BoolArray, IntArray, as_rows, in_shape
from .figure_columns import figures_of, numbers_of
from .projected_grid import ProjectedGrid, projected_grid

__all__ = [
    "LETTERED_GRIDS",
    "MOST_DIGITS",
    "SQUARE_M",
    "LetteredGrid",
    "LetteredSquares",
    "LetteredStatus",
    "lettered_grid_of",
]

SQUARE_M = 100_000
MOST_DIGITS = 5

_NO_SQUARE = -1
_SIZES_M = np.array([SQUARE_M // 10**digits for digits in range(MOST_DIGITS + 1)])


class LetteredStatus(IntEnum):
    """What became of reading one reference."""

    OK = 0
    NO_SQUARE = 1
    NO_FIGURES = 2
    UNEVEN_FIGURES = 3


@dataclass(frozen=True, slots=True)
class LetteredSquares:
    """The squares that references name: arrays of the shape of the texts, or numpy scalars.

    ``status`` is a `LetteredStatus`; where it is not 0, ``digits`` is 0 and the other numbers are NaN. ``easting_m`` and
    ``northing_m`` are of the south-west corner, ``digits`` the number a side.
    """

    status: NDArray[np.uint8]
    easting_m: FloatArray
    northing_m: FloatArray
    size_m: FloatArray
    digits: IntArray


@dataclass(frozen=True, slots=True)
class LetteredGrid:
    """A grid of lettered squares. Its false origin is the south-west corner of the last row's first square."""

    #: As in a text that names the grid, such as ``"British grid"``.
    name: str
    #: Code of the projected CRS that the squares lie on.
    epsg: int
    #: Words that name the grid before a reference.
    words: frozenset[str]
    #: The letters of the squares by rows, from the northernmost to the southernmost, each from west to east.
    diagram: tuple[str, ...]

    @property
    def projection(self) -> ProjectedGrid:
        """The grid behind the letters."""
        return projected_grid(self.epsg)

    @property
    def letter_count(self) -> int:
        """Letters of one square."""
        return len(self.diagram[0].split()[0])

    @property
    def extent_m(self) -> tuple[int, int]:
        """How far the lettered squares go east and north of the false origin. [metre]"""
        return len(self.diagram[0].split()) * SQUARE_M, len(self.diagram) * SQUARE_M

    def has_square(self, letters: str) -> bool:
        """Whether a 100 km square has these letters, in capitals."""
        return letters in _square_names(self)

    def read(
        self, letters: ArrayLike, easting_figures: ArrayLike, northing_figures: ArrayLike
    ) -> LetteredSquares:
        """The squares that references name, one bad reference leaving the others be.

        Parameters
        ----------
        letters : array_like of str
            Those of the 100 km square, in any case.
        easting_figures, northing_figures : array_like of str
            0 to 5 figures each, and as many in the one as in the other.
        """
        texts = [np.asarray(value, dtype=np.str_) for value in (letters, easting_figures, northing_figures)]
        shape = np.broadcast_shapes(*(text.shape for text in texts))
        letter_rows, easting_rows, northing_rows = (
            np.broadcast_to(text, shape).reshape(-1) for text in texts
        )
        square = _square_numbers(self, letter_rows)
        easting, easting_digits = numbers_of(easting_rows, MOST_DIGITS)
        northing, northing_digits = numbers_of(northing_rows, MOST_DIGITS)
        status = np.zeros(len(square), dtype=np.uint8)
        status[easting_digits != northing_digits] = LetteredStatus.UNEVEN_FIGURES
        status[(easting_digits < 0) | (northing_digits < 0)] = LetteredStatus.NO_FIGURES
        status[square == _NO_SQUARE] = LetteredStatus.NO_SQUARE
        good = status == LetteredStatus.OK
        digits = np.where(good, easting_digits, 0)
        size_m = _SIZES_M[digits]
        row, column = np.divmod(square, self.extent_m[0] // SQUARE_M)
        corner_easting_m = np.where(good, column * SQUARE_M + easting * size_m, np.nan)
        corner_northing_m = np.where(good, row * SQUARE_M + northing * size_m, np.nan)
        return LetteredSquares(
            status=in_shape(status, shape),
            easting_m=in_shape(corner_easting_m, shape),
            northing_m=in_shape(corner_northing_m, shape),
            size_m=in_shape(np.where(good, size_m, np.nan), shape),
            digits=in_shape(digits, shape),
        )

    def error(self, status: int, letters: str) -> NavigationError:
        """The error of a bad reference, by the status it was read with."""
        if status == LetteredStatus.NO_SQUARE:
            return OutsideGridError(
                f"the {self.name} has no square {letters}",
                value=letters,
                allowed=f"one of {', '.join(self.diagram)}",
            )
        if status == LetteredStatus.UNEVEN_FIGURES:
            message = "the easting and the northing have as many figures as each other"
            return UnreadablePositionError(message, value=letters)
        message = f"a reference of the {self.name} has 0 to {MOST_DIGITS} figures for the easting, and for the northing"
        return UnreadablePositionError(message, value=letters)

    def holds(self, easting_m: ArrayLike, northing_m: ArrayLike) -> BoolArray:
        """Whether coordinates lie in a lettered square. NaN do not."""
        (easting, northing), shape = as_rows(easting_m, northing_m)
        east_m, north_m = self.extent_m
        return in_shape((easting >= 0) & (easting < east_m) & (northing >= 0) & (northing < north_m), shape)

    def write(
        self, easting_m: ArrayLike, northing_m: ArrayLike, digits: int = MOST_DIGITS
    ) -> NDArray[np.str_]:
        """The reference of the square that each place lies in, such as ``TQ305802``.

        Parameters
        ----------
        easting_m, northing_m : array_like
            With the false origin. [metre]
        digits : int, default 5
            Digits for the easting and again for the northing: 0 for a square of 100 km to 5 for one of 1 m.

        Raises
        ------
        OutsideGridError
            Any place lies in no lettered square; ask `holds` first.
        OutOfRangeError
            ``digits`` is not 0 to 5.
        """
        if digits not in range(MOST_DIGITS + 1):
            raise OutOfRangeError("a side has 0 to 5 digits", member="digits", value=digits, allowed="0 to 5")
        (easting, northing), shape = as_rows(easting_m, northing_m)
        if not self.holds(easting, northing).all():
            east_m, north_m = self.extent_m
            raise OutsideGridError(
                f"the {self.name} has no lettered square there",
                member="easting_m",
                allowed=f"eastings of 0 to {east_m} m and northings of 0 to {north_m} m",
            )
        column, east_of_edge = np.divmod(easting.astype(np.int64), SQUARE_M)
        row, north_of_edge = np.divmod(northing.astype(np.int64), SQUARE_M)
        layout = _layout(self.letter_count, digits)
        parts = np.empty(len(easting), dtype=layout)
        parts["letters"] = _letters(self)[row * (self.extent_m[0] // SQUARE_M) + column]
        if digits:
            unit = 10 ** (MOST_DIGITS - digits)
            parts["easting"] = figures_of(digits)[east_of_edge // unit]
            parts["northing"] = figures_of(digits)[north_of_edge // unit]
        return in_shape(parts.view(f"U{layout.itemsize // 4}"), shape)

    def spaced(self, reference: str) -> str:
        """A reference as `write` gives it, parted by spaces for people to read: ``TQ 305 802``."""
        figures = reference[self.letter_count :]
        middle = len(figures) // 2
        return " ".join(
            part for part in (reference[: self.letter_count], figures[:middle], figures[middle:]) if part
        )


@cache
def _letters(grid: LetteredGrid) -> NDArray[np.str_]:
    """The letters of every square, by rows from the false origin northward, each from west to east."""
    return np.array([row.split() for row in reversed(grid.diagram)]).reshape(-1)


@cache
def _square_names(grid: LetteredGrid) -> frozenset[str]:
    return frozenset(_letters(grid).tolist())


@cache
def _letter_order(grid: LetteredGrid) -> tuple[NDArray[np.str_], NDArray[np.intp]]:
    """The letters of the squares in alphabetical order, and which square each is."""
    order = np.argsort(_letters(grid))
    return _letters(grid)[order], order


def _square_numbers(grid: LetteredGrid, letters: NDArray[np.str_]) -> NDArray[np.intp]:
    """Which square each text names, or `_NO_SQUARE`."""
    known, order = _letter_order(grid)
    capitals = np.strings.upper(letters)
    place = np.minimum(np.searchsorted(known, capitals), len(known) - 1)
    return np.where(known[place] == capitals, order[place], _NO_SQUARE)


@cache
def _layout(letter_count: int, digits: int) -> np.dtype[Any]:
    """The parts of a reference side by side in memory, to be read as one text."""
    figures = [("easting", f"U{digits}"), ("northing", f"U{digits}")] if digits else []
    return np.dtype([("letters", f"U{letter_count}"), *figures])


#: By the key that names the grid in a request.
LETTERED_GRIDS: Mapping[str, LetteredGrid] = MappingProxyType(
    {
        "british": LetteredGrid(
            name="British grid",
            epsg=27700,
            words=frozenset({"BRITISH", "BRITAIN", "GB", "OS", "OSGB", "BNG"}),
            diagram=(
                "HL HM HN HO HP JL JM",
                "HQ HR HS HT HU JQ JR",
                "HV HW HX HY HZ JV JW",
                "NA NB NC ND NE OA OB",
                "NF NG NH NJ NK OF OG",
                "NL NM NN NO NP OL OM",
                "NQ NR NS NT NU OQ OR",
                "NV NW NX NY NZ OV OW",
                "SA SB SC SD SE TA TB",
                "SF SG SH SJ SK TF TG",
                "SL SM SN SO SP TL TM",
                "SQ SR SS ST SU TQ TR",
                "SV SW SX SY SZ TV TW",
            ),
        ),
        "irish": LetteredGrid(
            name="Irish grid",
            epsg=29903,
            words=frozenset({"IRISH", "IRELAND", "OSI", "OSNI"}),
            diagram=("A B C D E", "F G H J K", "L M N O P", "Q R S T U", "V W X Y Z"),
        ),
    }
)


def lettered_grid_of(epsg: int) -> LetteredGrid | None:
    """The lettered grid over a projected CRS, by its code, if there is one."""
    return next((grid for grid in LETTERED_GRIDS.values() if grid.epsg == epsg), None)
