"""Shapes in a plane: what is done with polygons, through a library of geometry.

The plane is that of metres east and north, or that of longitude and latitude where GeoJSON shapes are cut.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..angle import FloatArray
from ..errors import UnusableShapeError
from ..lines.geodesic import COINCIDENT_M
from ..rows import BoolArray

__all__ = ["PlaneShape", "Rings", "crossings", "face_around", "joined"]

#: Parts to a quarter of a circle where one is drawn by its chords.
QUARTER_PARTS = 90

#: A share of its area by which a ring that only touches itself may change when it is made simple.
_SPIKE_SHARE = 1e-9

_SEGMENTS_AT_A_TIME = 100

#: A hole under this share of its polygon is where rounding has parted two edges.
_NO_HOLE_SHARE = 1e-15

#: The exterior ring of a polygon, counter-clockwise, and its holes, clockwise: each of shape (N, 2), closed.
Rings = tuple[FloatArray, tuple[FloatArray, ...]]


@dataclass(frozen=True, slots=True)
class PlaneShape:
    """A part of a plane, of any number of polygons, or none."""

    _geometry: BaseGeometry

    @staticmethod
    def polygon(points: FloatArray, holes: Sequence[FloatArray] = ()) -> PlaneShape:
        """The inside of a ring of shape (N, 2), either way round, less its holes."""
        polygon = shapely.Polygon(points, holes)
        return PlaneShape(polygon if polygon.is_valid else _areas_of(shapely.make_valid(polygon)))

    @staticmethod
    def plain_polygon(points: FloatArray) -> PlaneShape:
        """The inside of a ring that somebody gave, which may touch itself.

        Raises
        ------
        UnusableShapeError
            It crosses itself, so that its inside is not certain.
        """
        crossed = not shapely.Polygon(points).is_valid and crossings([points], 0) > 0
        shape = PlaneShape(shapely.Polygon()) if crossed else PlaneShape.polygon(points)
        if crossed or abs(shape.area - abs(_signed_area(points))) > _SPIKE_SHARE * shape.area:
            raise UnusableShapeError("the ring crosses itself", allowed="a ring that does not cross itself")
        return shape

    @staticmethod
    def ellipse(shape_m2: FloatArray) -> PlaneShape:
        """All x with x' S^-1 x <= 1, S being ``shape_m2`` of shape (2, 2): drawn around it, so that nothing is left out."""
        turns = np.linspace(0.0, 2.0 * math.pi, 4 * QUARTER_PARTS, endpoint=False)
        circle = np.stack((np.cos(turns), np.sin(turns))) / math.cos(math.pi / (4 * QUARTER_PARTS))
        return PlaneShape(shapely.Polygon((np.linalg.cholesky(shape_m2) @ circle).T))

    @staticmethod
    def box(low: tuple[float, float], high: tuple[float, float]) -> PlaneShape:
        """The rectangle between two corners."""
        return PlaneShape(shapely.box(*low, *high))

    @property
    def area(self) -> float:
        """The area, in the square of the plane's unit."""
        return float(self._geometry.area)

    @property
    def farthest(self) -> float:
        """How far its farthest point is from the origin; 0 of an empty shape."""
        return float(np.hypot(*shapely.get_coordinates(self._geometry).T).max(initial=0.0))

    def dilated(self, distance: float) -> PlaneShape:
        """Everything within a distance of the shape: drawn around it, so that nothing is left out."""
        around = distance / math.cos(math.pi / (4 * QUARTER_PARTS))
        return PlaneShape(shapely.buffer(self._geometry, around, quad_segs=QUARTER_PARTS))

    def within(self, other: PlaneShape) -> PlaneShape:
        """What the two have in common."""
        return PlaneShape(_areas_of(shapely.intersection(self._geometry, other._geometry)))

    def without(self, other: PlaneShape) -> PlaneShape:
        """The shape less the other."""
        return PlaneShape(_areas_of(shapely.difference(self._geometry, other._geometry)))

    def simplified(self, tolerance: float) -> PlaneShape:
        """The shape by fewer points, its edge moved by no more than the tolerance."""
        return PlaneShape(shapely.make_valid(shapely.simplify(self._geometry, tolerance)))

    def contains(self, points: FloatArray) -> BoolArray:
        """Which points, shape (..., 2), are inside."""
        shapely.prepare(self._geometry)
        inside: BoolArray = shapely.contains_xy(self._geometry, points[..., 0], points[..., 1])
        return inside

    def meets_line(self, points: FloatArray) -> bool:
        """Whether a line of points touches the shape."""
        return bool(shapely.intersects(self._geometry, shapely.LineString(points)))

    def distances_along(self, azimuth_deg: FloatArray, length: float) -> list[tuple[float, float] | None]:
        """How far from the origin the shape begins and ends in each direction; ``None`` where it is not met."""
        azimuth = np.radians(azimuth_deg)
        ends = length * np.stack((np.sin(azimuth), np.cos(azimuth)), axis=-1)
        rays = shapely.linestrings(np.stack((np.zeros_like(ends), ends), axis=1))
        met = [shapely.get_coordinates(part) for part in shapely.intersection(rays, self._geometry)]
        distances = [np.hypot(*points.T) for points in met]
        return [(float(some.min()), float(some.max())) if some.size else None for some in distances]

    def rings(self) -> list[Rings]:
        """Its polygons."""
        return [_rings_of(part) for part in shapely.get_parts(self._geometry) if part.area > 0.0]


def joined(shapes: Iterable[PlaneShape]) -> PlaneShape:
    """All that is in any of the shapes."""
    return PlaneShape(_areas_of(shapely.union_all([shape._geometry for shape in shapes])))


def crossings(lines: Sequence[FloatArray], most: int) -> int:
    """How often segments of lines cross, each time counted for either of the two; beyond ``most`` counting ends early."""
    ends = [np.stack((line[:-1], line[1:]), axis=1) for line in lines]
    segments = shapely.linestrings(np.concatenate(ends))
    tree, count = shapely.STRtree(segments), 0
    for some in np.array_split(segments, 1 + len(segments) // _SEGMENTS_AT_A_TIME):
        count += tree.query(some, predicate="crosses").shape[1]
        if count > most:
            break
    return count


def face_around(
    point: tuple[float, float], shape: PlaneShape, lines: Sequence[FloatArray]
) -> tuple[PlaneShape, list[FloatArray]]:
    """The part of a shape that can be come to from a point in it without crossing a line. In metres.

    Returns
    -------
    face : PlaneShape
        Empty where the point is outside the shape, or on a line within `COINCIDENT_M`.
    loose : list of ndarray, shape (N, 2)
        The stretches of lines in that part that have a free end, and so part nothing from it.
    """
    drawn = [shapely.LineString(line) for line in lines]
    # Whole lines: one cut off at the edge of the shape would end a rounding away from it, and part nothing.
    edges = shapely.union_all([shapely.boundary(shape._geometry), *drawn])
    faces, _cuts, dangles, _rings = shapely.polygonize_full(shapely.get_parts(edges))
    at = shapely.Point(point)
    around = [face for face in shapely.get_parts(faces) if face.contains(at)]
    if (
        not around
        or not shape._geometry.contains(at)
        or any(line.distance(at) < COINCIDENT_M for line in drawn)
    ):
        return PlaneShape(shapely.Polygon()), []
    loose = [part for part in shapely.get_parts(dangles) if around[0].intersection(part).length > 0.0]
    return PlaneShape(around[0]), [shapely.get_coordinates(part) for part in loose]


def _areas_of(geometry: BaseGeometry) -> BaseGeometry:
    """The polygons of a geometry, without the points and lines where shapes only touched."""
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(parts) if parts else shapely.Polygon()


def _rings_of(polygon: BaseGeometry) -> Rings:
    turned = shapely.geometry.polygon.orient(polygon)
    least = _NO_HOLE_SHARE * turned.area
    holes = tuple(
        shapely.get_coordinates(hole) for hole in turned.interiors if shapely.Polygon(hole).area > least
    )
    return shapely.get_coordinates(turned.exterior), holes


def _signed_area(points: FloatArray) -> float:
    east, north = (points - points.mean(axis=0)).T
    return float(np.sum(east * np.roll(north, -1) - np.roll(east, -1) * north) / 2.0)
