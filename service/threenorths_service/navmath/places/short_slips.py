"""Likely slips in references that lack their zone or their square: what else they may mean where they are expected."""

from __future__ import annotations

from collections.abc import Iterator

from ..datums.frame import Frame
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..texts.position_reading import PartialReference, PositionReading
from .expected import Expected
from .short_reference import search
from .slip_edits import transposed_in_one
from .slips import MOST_ALTERNATIVES

__all__ = ["short_slips"]


def short_slips(
    partial: PartialReference, frame: Frame, expected: Expected
) -> Iterator[tuple[str, PositionReading]]:
    """The places that fit and that the reference means but for one slip, with the code of the slip in `slips.SLIPS`.

    Looked for are easting and northing exchanged, two digits transposed, and wrong letters, zone or band.
    """
    for slip, meant in _edits(partial):
        for candidate in search(meant, frame, expected, most=MOST_ALTERNATIVES).candidates:
            yield slip, candidate.reading


def _edits(partial: PartialReference) -> Iterator[tuple[str, PartialReference]]:
    """Every reference that is one slip away."""
    easting, northing = partial.easting, partial.northing
    yield "easting_and_northing_swapped", partial._replace(easting=northing, northing=easting)
    for numbers in transposed_in_one((easting, northing)):
        yield "digits_transposed", partial._replace(easting=numbers[0], northing=numbers[1])
    if partial.letters:
        yield "wrong_letters", partial._replace(letters="")
    if partial.zone is not None and partial.zone < FIRST_EPSG_CODE:
        yield "wrong_zone", partial._replace(zone=None)
    if partial.band is not None:
        yield "wrong_band", partial._replace(band=None)
