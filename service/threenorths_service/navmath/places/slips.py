"""Likely slips: where else a position may lie that was read far from where it is expected.

The text of the reading is changed as if one slip had been made in it, and read anew; what is no position then falls out
by itself. A slip is told only of places that fit what is expected. Two slips in one text are not looked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from ..datums.datum import WGS84
from ..datums.frame import Frame
from ..errors import NavigationError
from ..lines.geodesic import COINCIDENT_M, inverse
from ..references.mgrs import read_mgrs
from ..references.mgrs_status import MgrsStatus
from ..texts.position_reading import GridSquare, PositionReading
from ..texts.position_text import read_position_text
from .expected import ANY_SHIFT_M, Expected
from .slip_edits import Edit, edits

__all__ = ["MOST_ALTERNATIVES", "SLIPS", "Found", "Slip", "alternatives", "fitting_slips"]

#: Every slip that is looked for, likeliest first (common practice, no source): of two slips that lead to one place the
#: first gives its name.
SLIPS = MappingProxyType(
    {
        "easting_and_northing_swapped": "Easting and northing stand in each other's place.",
        "latitude_and_longitude_swapped": "Latitude and longitude stand in each other's place.",
        "digits_transposed": "Two neighbouring digits stand in each other's place.",
        "minutes_as_decimals": "Minutes or seconds were written behind a decimal point, or decimals as minutes or seconds.",
        "wrong_hemisphere": "North stands for south, or east for west, or the other way round.",
        "neighbouring_square": "The square of 100 km is next to the one that is meant.",
        "wrong_letters": "The letters of the square of 100 km are wrong.",
        "wrong_zone": "The number of the grid zone is wrong.",
        "wrong_band": "The letter of the latitude band is wrong.",
        "datum_not_applied": "The position is on another datum: that of the sheet, or WGS 84.",
    }
)

MOST_ALTERNATIVES = 12

#: How a reading ends that was on WGS 84 by its own words.
_ON_WGS84 = " WGS 84"

#: A slip undone: its code, the reading without it, and what that was read on.
Found = tuple[str, PositionReading, Frame]

_LIKELIHOOD = {slip: place for place, slip in enumerate(SLIPS)}


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip, the place that the position has without it, and how far that is from what is expected."""

    #: One of `SLIPS`.
    slip: str
    reading: PositionReading
    #: The datum that the reading is on, and its grid.
    frame: Frame
    #: As `Expected.distance_m` has it. [metre]
    distance_m: float

    @property
    def explanation(self) -> str:
        """The slip in words."""
        return SLIPS[self.slip]

    def as_details(self) -> dict[str, Any]:
        """The slip as it is listed in an answer."""
        details = self.reading.as_details()
        return {"slip": self.slip, "explanation": self.explanation, **details, "distance_m": self.distance_m}


def alternatives(read_as: str, frame: Frame, expected: Expected) -> list[Slip]:
    """The places that a position may mean by one slip and that fit what is expected, nearest first.

    Parameters
    ----------
    read_as : str
        The position as a reading has it in `PositionReading.read_as`, on the datum of ``frame``.
    expected : Expected
        Without a place, nothing is an alternative.

    Returns
    -------
    list of Slip
        At most `MOST_ALTERNATIVES`, one for a place, and none at the place of the reading itself.

    Raises
    ------
    NavigationError
        The text is no position: those of `read_position_text`.
    """
    if not expected.has_place:
        return []
    if read_as.endswith(_ON_WGS84):
        read_as, frame = read_as.removesuffix(_ON_WGS84), replace(frame, datum=WGS84)
    given = read_position_text(read_as, frame)
    return fitting_slips(_readings(given, frame, expected), expected, given)


def fitting_slips(
    found: Iterable[Found], expected: Expected, given: PositionReading | None = None
) -> list[Slip]:
    """The slips that lead to what is expected, nearest first, at most `MOST_ALTERNATIVES`.

    One for a place, by its likeliest name, and none at the place of ``given``.
    """
    slips: list[Slip] = []
    for slip, reading, frame in sorted(found, key=_rank):
        others = [other.reading for other in slips] + ([given] if given is not None else [])
        if expected.fits_reading(reading) and not any(_same_place(reading, other) for other in others):
            distance_m = float(expected.distance_m(reading.lat_deg, reading.lon_deg))
            slips.append(Slip(slip, reading, frame, distance_m))
    return sorted(slips, key=lambda slip: slip.distance_m)[:MOST_ALTERNATIVES]


def _rank(found: Found) -> tuple[int, bool]:
    """The likelier slip first and, of two names of one square, that which holds its centre."""
    slip, reading, _frame = found
    return _LIKELIHOOD[slip], reading.square is not None and reading.square.cut


def _readings(given: PositionReading, frame: Frame, expected: Expected) -> Iterator[Found]:
    for slip, text in _near(list(edits(given, frame, expected)), given.form, frame, expected):
        reading = _read(text, frame)
        if reading is not None:
            yield slip, reading, frame
    for datum in (WGS84,) if expected.sheet is None else (expected.sheet.datum, WGS84):
        if datum is frame.datum:
            continue
        other_frame = replace(frame, datum=datum)
        reading = _read(given.read_as, other_frame)
        if reading is not None:
            yield "datum_not_applied", reading, other_frame


def _near(texts: list[Edit], form: str, frame: Frame, expected: Expected) -> list[Edit]:
    """Those of the texts that may fit what is expected, where that is told faster than by reading each: of references."""
    if form != "mgrs" or not texts:
        return texts
    squares = read_mgrs(
        [text.removeprefix("MGRS ") for _slip, text in texts], ellipsoid=frame.datum.ellipsoid
    )
    rows = np.flatnonzero(squares.status == MgrsStatus.OK)
    # A cut square's point may be a whole diagonal from the place meant.
    slack_m = 2.0 * squares.size_m[rows] + (0.0 if frame.datum is WGS84 else ANY_SHIFT_M)
    fitting = expected.fits(squares.lat_deg[rows], squares.lon_deg[rows], slack_m)
    return [texts[row] for row in rows[fitting]]


def _read(text: str, frame: Frame) -> PositionReading | None:
    try:
        return read_position_text(text, frame)
    except NavigationError:
        return None


def _same_place(one: PositionReading, other: PositionReading) -> bool:
    """Whether two readings name one place, or one square: its point may differ by the band that it is named in."""
    if one.square is not None and other.square is not None and _corner(one.square) == _corner(other.square):
        return True
    return bool(inverse(one.lat_deg, one.lon_deg, other.lat_deg, other.lon_deg)[2] < COINCIDENT_M)


def _corner(square: GridSquare) -> tuple[object, ...]:
    corner_m = (square.corner_easting_m, square.corner_northing_m, square.size_m)
    return square.frame.datum, square.zone, square.south, *corner_m
