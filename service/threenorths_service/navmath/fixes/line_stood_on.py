"""Lines stood on: which stretch of a line is nearest, and how far off it a place is.

A stretch is measured on the plane about the place itself (`search_plane`): there the geodesic between its ends, at distances
up to L, is straight to within ``t L^2 / (3 R^2)`` where it passes at the distance t. At the line itself that is nothing; for
t = 100 m and a stretch of 50 km it is 2 mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_longitude
from ..errors import CoincidentPointsError
from ..lines.geodesic import COINCIDENT_M
from ..rows import BoolArray, IntArray
from .observation import LineStoodOn
from .search_plane import ComplexArray, SearchPlane

__all__ = ["Stretches", "nearest_stretch", "off_line", "stretches_of"]

#: A foot nearer than this is the place itself. [metre]
ON_LINE_M = 1e-9


@dataclass(frozen=True, slots=True)
class Stretches:
    """A line as stretches from place to place, shape (s + 1,), and on the plane of the search. [degree], [metre]"""

    lat_deg: FloatArray
    lon_deg: FloatArray
    point: ComplexArray


def stretches_of(line: LineStoodOn, plane: SearchPlane, member: str) -> Stretches:
    """The line's stretches; places that repeat the one before are left out.

    Raises
    ------
    CoincidentPointsError
        All places of the line are the same.
    """
    lat = np.array(line.lat_deg, dtype=np.float64)
    lon = normalise_longitude(np.array(line.lon_deg, dtype=np.float64))
    point = plane.project(lat, lon)[0]
    kept = np.append(True, np.abs(np.diff(point)) >= COINCIDENT_M)
    if np.count_nonzero(kept) < 2:
        raise CoincidentPointsError(
            f"all places of {member} are the same, which makes no line",
            member=member,
            allowed=f"places at least {COINCIDENT_M} m apart",
        )
    return Stretches(lat[kept], lon[kept], point[kept])


def nearest_stretch(stretches: Stretches, point: ComplexArray) -> IntArray:
    """The index of the stretch that is nearest to each point on the plane of the search, shape (k,)."""
    if not point.size:
        return np.zeros(0, dtype=np.intp)
    start, along = stretches.point[:-1], np.diff(stretches.point)
    # No stretch is the nearest to a point that lies further from their middle than the nearest there and twice their spread.
    middle = point.mean()
    off_middle = np.abs(_feet(start - middle, along)[1])
    near = np.flatnonzero(off_middle <= off_middle.min() + 2.0 * np.abs(point - middle).max())
    _inside, off = _feet(start[near] - point[:, None], along[near])
    nearest: IntArray = near[np.argmin(np.abs(off), axis=1)]
    return nearest


def off_line(start: ComplexArray, end: ComplexArray) -> tuple[FloatArray, FloatArray]:
    """How far places lie off stretches [metre], and the direction in which that grows [radian], shape (k,).

    ``start`` and ``end`` are the stretch's ends as seen from each place, north + i east. Beside the stretch the distance is
    signed, positive to its right; beyond an end it is the distance from that end.
    """
    along = end - start
    inside, off = _feet(start, along)
    across = (
        1j * along / np.abs(along)
    )  # to the right: clockwise from north is counter-clockwise in this plane
    right = np.real(off * np.conj(across))
    distance = np.abs(off)
    beyond = ~inside & (distance > ON_LINE_M)
    return np.where(beyond, distance, right), np.where(beyond, np.angle(off), np.angle(across))


def _feet(start: ComplexArray, along: ComplexArray) -> tuple[BoolArray, ComplexArray]:
    """Whether the origin's foot is within the stretch, and the origin as seen from the nearest point of it."""
    share = -np.real(start * np.conj(along)) / np.abs(along) ** 2
    clipped = np.clip(share, 0.0, 1.0)
    return share == clipped, -(start + clipped * along)
