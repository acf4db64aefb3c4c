"""The places on national grids that a reference without its square, or coordinates without their grid, can mean."""

from __future__ import annotations

from ..datums.frame import Frame
from ..errors import NavigationError
from ..grids.projected_grid import FIRST_EPSG_CODE, projected_grid
from ..texts.national_reading import agrees_with_datum, lettered_readings, lettered_readings_near
from ..texts.national_text import national_outcomes
from ..texts.position_reading import PartialReference, PositionReading
from ..texts.text_tokens import tokenize
from .expected import Expected
from .short_squares import sheet_squares

__all__ = ["national_candidates"]


def national_candidates(
    partial: PartialReference, frame: Frame, expected: Expected, within_m: float, epsg: int | None
) -> list[PositionReading]:
    """The places within ``within_m`` of the middle of what is expected, on one grid or, without a code, on all with letters.

    A grid that the text does not name is not meant where another datum than its own is named. On a grid without letters
    there are no references within a square, only whole coordinates. Those on a grid that is not in metres are left
    alone, since the text does not say its unit.
    """
    named = partial.zone is not None and partial.zone >= FIRST_EPSG_CODE
    if named:
        partial = partial._replace(zone=None)  # it is ``epsg``
    readings = (
        _on_grid(epsg, partial, frame)
        if partial.whole and epsg is not None
        else _on_lettered_grids(partial, frame, expected, within_m)
    )
    return [
        reading
        for reading in readings
        if epsg in (None, reading.zone)
        and (named or agrees_with_datum(reading, frame))
        and not (expected.on_wgs84 and reading.shift is not None)
    ]


def _on_lettered_grids(
    partial: PartialReference, frame: Frame, expected: Expected, within_m: float
) -> list[PositionReading]:
    named = bool(partial.letters) or partial.whole
    letters = (partial.letters,) if named else sheet_squares(expected) or ("",)
    readings: list[PositionReading] = []
    for square in letters:
        in_square = partial._replace(letters=square)
        if expected.middle is None:
            readings += lettered_readings(in_square, frame)
        else:
            readings += lettered_readings_near(in_square, frame, *expected.middle, within_m)
    return readings


def _on_grid(epsg: int, partial: PartialReference, frame: Frame) -> list[PositionReading]:
    try:
        in_metres = projected_grid(epsg).unit_m == 1.0
    except NavigationError:
        return []
    text = f"EPSG:{epsg} {partial.easting} m, {partial.northing} m"
    outcomes = national_outcomes(tokenize(text), frame) if in_metres else ()
    return [outcome for outcome in outcomes if isinstance(outcome, PositionReading)]
