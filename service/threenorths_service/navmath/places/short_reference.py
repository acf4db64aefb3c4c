"""The place that a reference without its zone or its square means, by where it is expected.

Every place that the reference can mean is sought. On the grid of the sheet, where that names one; otherwise on UTM, in
every zone, each place with its own hemisphere and band, on UPS near the poles, and on every national grid written with
letters whose area holds the place, unless another datum than that grid's is named. A zone or band that the text has is
kept to. Near the edge of a zone the same figures name a place on the grid of either zone; both are sought, also in the
overlap that sheets print beyond the edge.

One of these places is chosen only when it alone lies within reach of the place near by, or on the sheet; where both are
known, it must satisfy both. Distance is counted to the point that stands for the square, its centre, and half the
diagonal of the square is allowed beyond it, so that no square is left out of which any part is within reach.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, NamedTuple

from ..datums.frame import Frame
from ..errors import AmbiguousPositionError, NavigationError, NothingInReachError
from ..grids.lettered_grid import lettered_grid_of
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..texts.grid_text import grid_outcomes
from ..texts.position_reading import Outcome, PartialReference, PositionReading
from ..texts.reference_text import reference_outcomes
from ..texts.text_tokens import Tokens, tokenize
from .expected import Expected
from .short_national import national_candidates
from .short_squares import grid_sought, sheet_squares, whole_coordinates, whole_references

__all__ = ["MOST_LISTED", "Candidate", "Search", "can_tell", "candidates", "resolve", "search"]

_Grammar = Callable[[Tokens, Frame], Iterator[Outcome]]

#: The most places that an error lists.
MOST_LISTED = 20
#: The most that are looked at, nearest first: with a reach of 500 km there are some 80.
_MOST_READ = 100
#: The most that are listed where none fits.
_MOST_NEAREST = 3
#: Further than the reach by this much, there are always three squares to list.
_BEYOND_REACH_M = 300_000.0


class Candidate(NamedTuple):
    """A place that a reference can mean."""

    reading: PositionReading
    #: From what is expected; ``None`` where no place is. [metre]
    distance_m: float | None

    def as_details(self) -> dict[str, Any]:
        """The candidate as it is listed in an error's details."""
        return {**self.reading.as_details(), "distance_m": self.distance_m}


class Search(NamedTuple):
    """The places that a reference can mean and that fit what is expected."""

    #: Nearest first.
    candidates: list[Candidate]
    #: Whether all were looked at, and none was left out because there are so many.
    complete: bool


def resolve(partial: PartialReference, frame: Frame, expected: Expected) -> list[PositionReading]:
    """The one reading of a reference that fits what is expected, by the rule above.

    Raises
    ------
    AmbiguousPositionError
        Two places or more fit; ``details["readings"]`` has the nearest, at most `MOST_LISTED`, by distance.
    NothingInReachError
        None fits; ``details["readings"]`` has the three nearest.
    NavigationError
        Nothing is expected that could tell: the refusal of the reference.
    """
    if not can_tell(partial, expected):
        raise _refused(partial)
    found, complete = search(partial, frame, expected)
    if len(found) == 1:
        return [found[0].reading]
    if found:
        count = str(len(found)) if complete else f"at least {len(found)}"
        raise AmbiguousPositionError(
            f"the reference can mean {count} places where it is expected",
            details={"readings": [candidate.as_details() for candidate in found[:MOST_LISTED]]},
        )
    nearest = _nearest(partial, frame, expected)
    raise NothingInReachError(
        "the reference can mean no place where it is expected",
        details={"readings": [candidate.as_details() for candidate in nearest]},
    )


def candidates(
    partial: PartialReference, frame: Frame, expected: Expected, reach_m: float | None = None
) -> list[Candidate]:
    """The places that `search` finds, with ``reach_m`` in place of the reach of ``expected`` if given."""
    return search(
        partial, frame, expected if reach_m is None else replace(expected, reach_m=reach_m)
    ).candidates


def search(partial: PartialReference, frame: Frame, expected: Expected, most: int = _MOST_READ) -> Search:
    """The places that fit what is expected; none where nothing could tell them from others.

    Of those on UTM and UPS the ``most`` nearest the middle of what is expected are looked at.
    """
    if not can_tell(partial, expected):
        return Search([], complete=True)
    sought, complete = _sought(partial, frame, expected, expected.radius_m, most)
    fitting = [reading for reading in sought if expected.fits_reading(reading)]
    return Search(_by_distance(fitting, expected), complete)


def can_tell(partial: PartialReference, expected: Expected) -> bool:
    """Whether there is anything that could tell the places apart, so that not all of the earth need be listed.

    Whole coordinates on a known grid mean one place, and letters on it one square, or one in each 2000 km.
    """
    grid = grid_sought(partial, expected)
    if grid is not None and grid >= FIRST_EPSG_CODE and not partial.whole and lettered_grid_of(grid) is None:
        return False  # on such a grid there are no references within a square
    if expected.has_place:
        return True
    if grid is None:
        return False
    return partial.whole or bool(partial.letters or sheet_squares(expected))


def _refused(partial: PartialReference) -> NavigationError:
    refusal = partial.refusal
    return refusal.error(refusal.message, allowed=refusal.allowed)


def _nearest(partial: PartialReference, frame: Frame, expected: Expected) -> list[Candidate]:
    """The nearest of the places out of reach."""
    if not expected.has_place:
        return []
    # A square's name, or a zone, may be far away; figures alone come again in every square.
    named = partial.letters or partial.whole or partial.zone is not None or partial.band is not None
    within_m = math.inf if named else expected.radius_m + _BEYOND_REACH_M
    readings, _complete = _sought(partial, frame, expected, within_m, 3 * _MOST_NEAREST)
    return _by_distance(readings, expected)[:_MOST_NEAREST]


def _sought(
    partial: PartialReference, frame: Frame, expected: Expected, within_m: float, most: int
) -> tuple[list[PositionReading], bool]:
    """The places that the reference can mean within a distance of the middle of what is expected, and a few beyond it.

    Of those on UTM and UPS the nearest ``most`` are read; the second of the two says whether these are all.
    """
    grid = grid_sought(partial, expected)
    texts: list[str] = []
    readings: list[PositionReading] = []
    if grid is None or grid < FIRST_EPSG_CODE:
        whole_texts = whole_coordinates if partial.whole else whole_references
        texts = whole_texts(partial, frame, expected, within_m)
        readings += _read(texts[:most], grid_outcomes if partial.whole else reference_outcomes, frame)
    if grid is None or grid >= FIRST_EPSG_CODE:
        readings += national_candidates(partial, frame, expected, within_m, grid)
    return readings, len(texts) <= most


def _read(texts: list[str], grammar: _Grammar, frame: Frame) -> list[PositionReading]:
    return [
        outcome
        for text in texts
        for outcome in grammar(tokenize(text), frame)
        if isinstance(outcome, PositionReading)
    ]


def _by_distance(readings: list[PositionReading], expected: Expected) -> list[Candidate]:
    if not expected.has_place:
        return [Candidate(reading, None) for reading in readings]
    distances_m = expected.distance_m(
        [reading.lat_deg for reading in readings], [reading.lon_deg for reading in readings]
    )
    found = [Candidate(*pair) for pair in zip(readings, distances_m.tolist(), strict=True)]
    return sorted(found, key=lambda candidate: candidate.distance_m or 0.0)
