"""Hard limits of a search area: lines not crossed, areas where nobody can be, and where somebody is known to be.

Two kinds stop the way: a line not crossed, and an area where nobody can be, such as a lake. What they part from the place
last known is left out. Two kinds say where the person is now, and stop no way: a side of a line, and areas one of which the
person is in. A limit that does not close off leaves what lies behind it in, as near as the crow flies: more is stated to be
in reach than is, never less.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..errors import (
    LineDoesNotPartError,
    NavigationError,
    NothingLeftError,
    StartExcludedError,
    UnusableShapeError,
)
from ..estimates.estimate import checked
from .local_plane import LocalPlane, drawn_line
from .plane_shape import PlaneShape, crossings, face_around, joined

__all__ = ["LEAST_AREA_M2", "AreaLimits", "LimitedReach", "Places", "Side", "limited_reach"]

#: Less than this is left by rounding, where shapes only touch. [square metre]
LEAST_AREA_M2 = 0.1
#: Farther away shapes are too stretched in the plane for their inside to be told. [metre]
MOST_DISTANCE_M = 5_000_000.0
#: Places in all limits together, and crossings of their lines: what more would take is no longer an answer's time.
MOST_PLACES = 5_000
MOST_CROSSINGS = 1_000

#: Latitudes and longitudes of points, of shape (N, 2), straight in longitude and latitude between. [degree]
Places = ArrayLike

Given = TypeVar("Given")
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Side:
    """The side of a line on which a place lies."""

    line: Places
    lat_deg: float
    lon_deg: float


@dataclass(frozen=True, slots=True)
class AreaLimits:
    """Limits, each any number: rings of ``excluded`` and ``within`` are closed or not, and run either way round."""

    not_crossed: Sequence[Places] = ()
    excluded: Sequence[Places] = ()
    within: Sequence[Places] = ()
    sides: Sequence[Side] = ()

    @property
    def any(self) -> bool:
        """Whether there is a limit at all."""
        return bool(self.not_crossed or self.excluded or self.within or self.sides)


@dataclass(frozen=True, slots=True)
class LimitedReach:
    """What limits leave of a reach.

    ``passable`` can be come to from the place last known without crossing a limit; ``allowed`` is where the person may be.
    ``loose_line`` says that a line not crossed ends inside, and ``start_cut`` that a limit cuts the region of the start.
    """

    passable: PlaneShape
    allowed: PlaneShape
    loose_line: bool = field(default=False)
    start_cut: bool = field(default=False)


def limited_reach(
    plane: LocalPlane, reach: PlaneShape, start: PlaneShape, limits: AreaLimits
) -> LimitedReach:
    """What limits leave of a reach about the origin of a plane, which is the place last known.

    Raises
    ------
    StartExcludedError
        The place is in an area excluded, or on a line not crossed.
    LineDoesNotPartError
        A line with a side does not part the reach in two, or its place is not in reach or is on the line.
    NothingLeftError
        No place in reach is left.
    UnusableShapeError, OutOfRangeError
        A shape has too few points or too many, crosses itself, reaches too far, or a latitude is out of range.
    """
    _check_places(limits)
    lines = _each("not_crossed", limits.not_crossed, lambda given: _points(plane, given, 2))
    rings = _each("excluded", limits.excluded, lambda given: _ring(plane, given))
    _check_crossings([*lines, *rings])
    excluded = joined(_each("excluded", rings, _polygon))
    origin = np.zeros(2)
    if excluded.contains(origin):
        raise StartExcludedError("the place last known is in an area where nobody can be", member="excluded")
    open_reach = reach.without(excluded)
    passable, loose = face_around((0.0, 0.0), open_reach, lines)
    if passable.area == 0.0:
        raise StartExcludedError(
            "the place last known is on a limit that is not crossed", member="not_crossed"
        )
    allowed = passable
    if limits.within:
        rings = _each("within", limits.within, lambda given: _ring(plane, given))
        _check_crossings(rings)
        allowed = allowed.within(joined(_each("within", rings, _polygon)))
    for side in _each("sides", limits.sides, lambda given: _side(plane, reach, given)):
        allowed = allowed.within(side)
    if allowed.area < LEAST_AREA_M2:
        raise NothingLeftError("the limits leave no place that is in reach")
    start_left = start.within(passable).area
    return LimitedReach(passable, allowed, bool(loose), start_left < start.area * (1.0 - 1e-9))


def _each(member: str, given: Sequence[Given], make: Callable[[Given], Made]) -> list[Made]:
    """What is made of each of the limits of one kind; an error says which it was."""
    made = []
    for number, one in enumerate(given):
        try:
            made.append(make(one))
        except NavigationError as error:
            raise error.within(f"{member}/{number}") from None
    return made


def _points(plane: LocalPlane, given: Places, fewest: int) -> FloatArray:
    """The points in the plane of a line given by places."""
    places = np.asarray(given, dtype=np.float64)
    if places.ndim != 2 or not fewest <= len(places) <= MOST_PLACES:
        raise UnusableShapeError(f"it has {len(places)} places", allowed=f"{fewest} to {MOST_PLACES} places")
    checked("lat_deg", places[:, 0], -90.0, 90.0)
    checked("lon_deg", places[:, 1], -180.0, 360.0)
    points = plane.from_geodetic(*drawn_line(places[:, 0], places[:, 1]))
    if np.hypot(*points.T).max() > MOST_DISTANCE_M:
        raise UnusableShapeError(
            "it reaches over 5000 km away", allowed="what is nearer to the place last known"
        )
    changed = np.any(points[1:] != points[:-1], axis=1)
    if not changed.any():
        raise UnusableShapeError("all its places are the same", allowed="places that differ")
    return points[np.concatenate(([True], changed))]


def _ring(plane: LocalPlane, given: Places) -> FloatArray:
    """The points in the plane of a ring given by places, which is closed if it is not."""
    places = np.asarray(given, dtype=np.float64)
    if places.ndim == 2 and len(places) >= 3 and not np.array_equal(places[0], places[-1]):
        places = np.concatenate((places, places[:1]))
    points = _points(plane, places, 4)
    # Around, the longitudes have gathered a rounding, by which the ring would cross itself.
    points[-1] = points[0]
    return points


def _polygon(ring: FloatArray) -> PlaneShape:
    polygon = PlaneShape.plain_polygon(ring)
    if polygon.area == 0.0:
        raise UnusableShapeError(
            "the ring has no inside", allowed="three places or more that are not in line"
        )
    return polygon


def _check_places(limits: AreaLimits) -> None:
    shapes = (*limits.not_crossed, *limits.excluded, *limits.within, *(side.line for side in limits.sides))
    places = sum(len(np.atleast_1d(np.asarray(shape))) for shape in shapes)
    if places > MOST_PLACES:
        raise UnusableShapeError(
            f"the limits have {places} places", allowed=f"up to {MOST_PLACES} in all limits together"
        )


def _check_crossings(lines: list[FloatArray]) -> None:
    if lines and crossings(lines, 2 * MOST_CROSSINGS) > 2 * MOST_CROSSINGS:
        raise UnusableShapeError(
            "the limits cross themselves or each other too often", allowed=f"up to {MOST_CROSSINGS} crossings"
        )


def _side(plane: LocalPlane, reach: PlaneShape, side: Side) -> PlaneShape:
    """The part of the reach on one side of a line."""
    line = _points(plane, side.line, 2)
    _check_crossings([line])
    east, north = plane.from_geodetic(side.lat_deg, side.lon_deg).tolist()
    part, _loose = face_around((east, north), reach, [line])
    if not 0.0 < part.area < reach.area * (1.0 - 1e-9):
        raise LineDoesNotPartError(
            "the line does not part the reach in two, or its place is on it or out of reach",
            allowed="a line through the whole reach, and a place in reach on one side of it",
        )
    return part
