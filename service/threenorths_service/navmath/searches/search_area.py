"""Search areas: where somebody overdue on foot may be, as nested areas each with what it means.

The outer bound is geometry: everywhere that can be reached. Within it lie the areas that hold shares of likelihood under a
model that is stated in sentences: a straight-line distance and a direction, independent of each other, from a place last
known. Each is the smallest that holds its share (the highest density region: R. J. Hyndman, "Computing and Graphing Highest
Density Regions", The American Statistician 50(2), 120-126, 1996, doi:10.1080/00031305.1996.10474359).

No statistics of how far lost people go are in here: the caller brings them, for the country and the kind of person. Nothing
in here knows paths, slopes, going, weather, shelter or what a person has in mind: it supports a search manager's judgement,
and never takes its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..cautions import Caution, caution
from ..errors import BoundsReversedError, NothingLeftError
from ..estimates.estimate import checked
from .area_limits import LEAST_AREA_M2, AreaLimits, LimitedReach, limited_reach
from .direction_distribution import ANY_DIRECTION, DirectionDistribution
from .distance_distribution import DistanceDistribution
from .ground_area import GroundArea, ground_area
from .plane_shape import PlaneShape
from .smallest_area import smallest_areas
from .start_region import StartRegion
from .whereabouts_grid import Whereabouts, WhereaboutsGrid

__all__ = ["DEFAULT_SHARES", "DIRECTIONS_DEG", "DirectionReach", "SearchArea", "SearchAreas", "search_areas"]

#: What the areas hold where nothing else is asked: half, three quarters, nearly all.
DEFAULT_SHARES = (0.5, 0.75, 0.95)
#: No model of where people are is good for a share beyond this.
MOST_SHARE = 0.95
LEAST_SHARE = 0.05

#: The directions that an area's reach is told in: the sixteen points of the compass.
DIRECTIONS_DEG = tuple(22.5 * point for point in range(16))

#: Limits that leave less of the likelihood than this contradict the distances or directions.
LEAST_SHARE_LEFT = 1e-6
#: Quantiles of which more than this is beyond the greatest distance contradict it.
MOST_SHARE_BEYOND = 0.05


@dataclass(frozen=True, slots=True)
class DirectionReach:
    """From where to where an area reaches in one direction from the place last known; what is between may have gaps."""

    true_azimuth_deg: float
    nearest_m: float
    farthest_m: float


@dataclass(frozen=True, slots=True)
class SearchArea:
    """One area: ``share`` of likelihood that it holds, ``None`` of the outer bound, and what it means in a sentence.

    ``reaches`` are in those of `DIRECTIONS_DEG` in which the area lies. ``cell_m`` is how finely it was worked out, ``None``
    of the outer bound, which is exact.
    """

    share: float | None
    meaning: str
    ground: GroundArea
    reaches: tuple[DirectionReach, ...]
    cell_m: float | None


@dataclass(frozen=True, slots=True)
class SearchAreas:
    """Nested areas, the smallest first; the outer bound, ``None`` where no greatest distance was stated, is beyond all.

    Of what the distances and directions hold likely, ``left_out_share`` is where the limits say that the person is not.
    """

    areas: tuple[SearchArea, ...]
    outer_bound: SearchArea | None
    assumptions: tuple[str, ...]
    cautions: tuple[Caution, ...]
    left_out_share: float


def search_areas(
    start: StartRegion,
    distances: DistanceDistribution,
    directions: DirectionDistribution = ANY_DIRECTION,
    limits: AreaLimits | None = None,
    shares: Sequence[float] = DEFAULT_SHARES,
) -> SearchAreas:
    """The outer bound, and the smallest areas that hold shares of likelihood.

    Parameters
    ----------
    start : StartRegion
        The place last known: `known_to_radius` or `known_by_covariance`.
    distances : DistanceDistribution
        How far from there, in a straight line: `between_bounds` or `from_quantiles`.
    directions : DirectionDistribution
        Which way: `about_direction`.
    limits : AreaLimits, optional
    shares : sequence of float
        Rising, in [0.05, 0.95].

    Raises
    ------
    OutOfRangeError, BoundsReversedError
        A share is out of range, or they do not rise.
    NothingLeftError
        The limits leave nothing in reach, or next to nothing of what distances and directions hold likely.
    StartExcludedError, LineDoesNotPartError, UnusableShapeError
        As `limited_reach` raises them.
    """
    _check_shares(shares)
    region, limits = start.region(), limits or AreaLimits()
    whole = region.dilated(max(distances.extent_m, distances.greatest_m or 0.0))
    limited = limited_reach(start.plane, whole, region, limits)
    whereabouts = Whereabouts(start, distances, directions, limited.passable if limited.start_cut else None)
    grid = whereabouts.whole_grid()
    left = _share_left(grid, whole, limited) if limits.any else 1.0
    bound = _bound(region, distances, limited)
    allowed = limited.allowed if bound is None else bound
    held = [share / (1.0 - distances.tail) for share in shares]
    smallest = smallest_areas(whereabouts, grid, held, allowed)
    meanings = [_share_meaning(share, limits.any) for share in shares]
    return SearchAreas(
        areas=tuple(
            _area(start, area.shape, share, meaning, area.cell_m)
            for area, share, meaning in zip(smallest, shares, meanings, strict=True)
        ),
        outer_bound=None
        if bound is None
        else _area(start, bound, None, _bound_meaning(distances, limits.any)),
        assumptions=_assumptions(start, distances, directions, limits),
        cautions=_cautions(start, distances, limited, 1.0 - left, all(area.told_apart for area in smallest)),
        left_out_share=1.0 - left,
    )


def _share_left(grid: WhereaboutsGrid, whole: PlaneShape, limited: LimitedReach) -> float:
    """The share of the likelihood that the limits leave."""
    left = grid.share_in(limited.allowed) / grid.share_in(whole)
    # What is left may be smaller than a cell, and so have none in it.
    if left < LEAST_SHARE_LEFT and grid.share_in(limited.allowed.dilated(grid.cell_m)) < LEAST_SHARE_LEFT:
        raise NothingLeftError(
            "the limits leave nothing of what the distances and directions hold likely",
            allowed="limits, distances and directions that do not contradict each other",
        )
    return left


def _check_shares(shares: Sequence[float]) -> None:
    checked("shares", len(shares), 1, 10)
    checked("shares", shares, LEAST_SHARE, MOST_SHARE)
    if np.any(np.diff(shares) <= 0.0):
        raise BoundsReversedError(
            "the shares do not rise", member="shares", value=list(shares), allowed="shares that rise"
        )


def _bound(region: PlaneShape, distances: DistanceDistribution, limited: LimitedReach) -> PlaneShape | None:
    if distances.greatest_m is None:
        return None
    bound = region.within(limited.passable).dilated(distances.greatest_m).within(limited.allowed)
    if bound.area < LEAST_AREA_M2:
        raise NothingLeftError("the limits leave no place that is in reach from the start's own side")
    return bound


def _area(
    start: StartRegion, shape: PlaneShape, share: float | None, meaning: str, cell_m: float | None = None
) -> SearchArea:
    spans = shape.distances_along(np.array(DIRECTIONS_DEG), 1.0 + shape.farthest)
    reaches = tuple(
        DirectionReach(azimuth_deg, *span)
        for azimuth_deg, span in zip(DIRECTIONS_DEG, spans, strict=True)
        if span is not None
    )
    return SearchArea(share, meaning, ground_area(start.plane, shape), reaches, cell_m)


def _share_meaning(share: float, limited: bool) -> str:
    within = ", and within the limits given" if limited else ""
    return (
        f"The smallest area that holds {100 * share:g} % of the likelihood, if the person is where the stated distances and "
        f"directions from the place last known put them{within}. The other {100 * (1 - share):g} % lies outside it."
    )


def _bound_meaning(distances: DistanceDistribution, limited: bool) -> str:
    within = ", within the limits given" if limited else ""
    return (
        f"Everywhere that is at most {(distances.greatest_m or 0.0) / 1000:.4g} km in a straight line from anywhere that the "
        f"person may have been when last known{within}. It says nothing of how likely a place in it is, and is right only "
        "if what it was made from is right."
    )


def _assumptions(
    start: StartRegion,
    distances: DistanceDistribution,
    directions: DirectionDistribution,
    limits: AreaLimits,
) -> tuple[str, ...]:
    said = [start.words, distances.words, directions.words]
    said.append(
        "Distance and direction have nothing to do with each other, nor with paths, slopes, going or shelter."
    )
    if distances.tail > 0.0:
        said.append(
            f"Distances beyond {distances.extent_m / 1000:.4g} km, {100 * distances.tail:g} % of the likelihood, are in no "
            "area that holds a share, and were counted as outside it."
        )
    if distances.greatest_m is None:
        said.append("No greatest distance was stated, so there is no outer bound.")
    if limits.not_crossed or limits.excluded:
        said.append(
            "No line stated as not crossed was crossed, and nobody is in or passed through an area stated as excluded: what "
            "these part from the place last known is left out. What can be come to around the end of a line stays in, at "
            "its straight-line distance."
        )
    if limits.within or limits.sides:
        said.append("The person now is inside an area, or on the side of a line, that was stated.")
    return tuple(said)


def _cautions(
    start: StartRegion,
    distances: DistanceDistribution,
    limited: LimitedReach,
    left_out: float,
    told_apart: bool,
) -> tuple[Caution, ...]:
    given = [caution("supports_search_manager")]
    if distances.least_m > 0.0:
        given.append(caution("near_part_left_out"))
    if distances.beyond > MOST_SHARE_BEYOND:
        message = f"{100 * distances.beyond:.0f} % of the distances by the quantiles lie beyond the greatest distance: "
        given.append(caution("quantiles_beyond_bound", message + "one of the two does not fit this case."))
    if left_out > 0.0:
        message = f"The limits leave out {100 * left_out:.3g} % of the likelihood: if one of them is wrong, the person may "
        given.append(caution("limits_leave_out", message + "be there, where no area is. Check each."))
    if not told_apart:
        given.append(caution("areas_not_told_apart"))
    if limited.loose_line:
        given.append(caution("line_ends_in_reach"))
    if limited.start_cut:
        given.append(caution("start_side_in_doubt"))
    if abs(start.plane.lat_deg) == 90.0:
        given.append(caution("at_pole"))
    return tuple(given)
