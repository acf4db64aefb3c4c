"""Outlines: the closed boundaries of map sheets and of grid squares, on WGS 84.

An outline is a ring of points with straight lines in longitude and latitude between them, as RFC 7946 draws it; they are
set so that the ring keeps within `edge_tracing.EDGE_TOLERANCE_M` of the true edges.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from pyproj import Geod

from ..angle import FloatArray, normalise_longitude, normalise_signed
from ..datums.datum import WGS84
from ..datums.datum_shift import to_wgs84
from ..datums.frame import WGS84_FRAME, Frame
from ..grids.datum_grid import DatumGrid
from ..grids.ellipsoid import SEMI_MAJOR_AXIS_M
from ..lines.geodesic import inverse
from ..rows import BoolArray, as_rows, in_shape
from . import lonlat_ring
from .edge_tracing import Edge, traced_boundary, unit_vectors

__all__ = ["Outline", "along_graticule", "along_grid", "square_outline"]

#: Lengths and areas are taken along geodesics between points this near to each other, which keep within a centimetre
#: of the ring; of a boundary of over 2000 km, a four-thousandth of it. [metre]
FINE_STEP_M = 500.0
MOST_FINE_STEPS = 4000

_WGS84 = Geod(ellps="WGS84")

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed boundary with its inside on the left; arrays of shape (N,), the last point being the first.

    ``lon_deg`` runs on without a jump at the antimeridian, and so may leave [-180, 180); of a boundary around a pole the
    last longitude is a turn from the first. [degree]
    """

    lat_deg: FloatArray
    lon_deg: FloatArray

    @property
    def holds_pole(self) -> bool:
        """Whether the boundary goes around a pole."""
        return bool(self.lon_deg[-1] != self.lon_deg[0])

    @property
    def area_m2(self) -> float:
        """The area inside, on the ellipsoid. [square metre]"""
        lat, lon = self.fine_points()
        area, _perimeter = _WGS84.polygon_area_perimeter(lon, lat)
        return abs(float(area))

    @property
    def perimeter_m(self) -> float:
        """The length of the boundary, on the ellipsoid. [metre]"""
        lat, lon = self.fine_points()
        return float(np.sum(inverse(lat[:-1], lon[:-1], lat[1:], lon[1:])[2]))

    def contains(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> BoolArray:
        """Which places are inside or on the edge: of the broadcast shape, or a numpy bool for one place."""
        (lat, lon), shape = as_rows(lat_deg, lon_deg)
        return in_shape(lonlat_ring.contains(self._ring(), lat, lon), shape)

    def outside_m(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatArray:
        """How far places are outside: 0 inside, else the distance to the nearest point of the edge.

        Measured to the ring, good to a millimetre within 10 km of it and to a millionth anywhere. [metre], of the
        broadcast shape
        """
        (lat, lon), shape = as_rows(lat_deg, lon_deg)
        distance_m = np.zeros(len(lat))
        outside = np.flatnonzero(~lonlat_ring.contains(self._ring(), lat, lon))
        points = self.fine_points()
        for some in np.array_split(outside, 1 + outside.size * len(points[0]) // lonlat_ring.TABLE_CELLS):
            distance_m[some] = _distances_m(points, lat[some], lon[some])
        return in_shape(distance_m, shape)

    def middle(self) -> tuple[float, float]:
        """Latitude and longitude of a place in the middle: the mean of the boundary, each part by its length. [degree]"""
        vectors = unit_vectors(*self.fine_points())
        weights = np.linalg.norm(np.diff(vectors, axis=0), axis=1)
        x, y, z = ((vectors[:-1] + vectors[1:]) * weights[:, np.newaxis]).sum(axis=0)
        lon = float(normalise_longitude(np.degrees(np.arctan2(y, x))))
        return float(np.degrees(np.arctan2(z, np.hypot(x, y)))), lon

    @property
    def radius_m(self) -> float:
        """How far the farthest point of the boundary is from the middle. [metre]"""
        return float(inverse(*self.middle(), self.lat_deg, self.lon_deg)[2].max())

    def rings(self) -> list[FloatArray]:
        """The exterior rings of RFC 7946: one, or where the antimeridian cuts the outline, one for each part.

        Each of shape (M, 2), longitude in [-180, 180] and latitude, closed, counter-clockwise, and on one side of the
        antimeridian (section 3.1.9). A boundary around a pole is led along the antimeridian to the pole and back. [degree]
        """
        return lonlat_ring.cut_at_antimeridian(self._ring())

    def bbox(self) -> tuple[float, float, float, float]:
        """West, south, east, north: across the antimeridian, west is greater than east (RFC 7946, section 5.2). [degree]"""
        west, south = (float(value) for value in self._ring().min(axis=0))
        east, north = (float(value) for value in self._ring().max(axis=0))
        return west, south, east if east <= 180.0 else east - 360.0, north

    def _ring(self) -> FloatArray:
        if self.holds_pole:
            ring = lonlat_ring.closed_over_pole(self.lon_deg, self.lat_deg)
        else:
            ring = np.column_stack((self.lon_deg, self.lat_deg))
        return lonlat_ring.into_first_turn(ring)

    def fine_points(self) -> tuple[FloatArray, FloatArray]:
        """Latitudes and longitudes along the boundary, with points between its own where these are far apart."""
        lat_step, lon_step = np.radians(np.diff(self.lat_deg)), np.radians(np.diff(self.lon_deg))
        widest = np.cos(np.radians(np.minimum(np.abs(self.lat_deg[:-1]), np.abs(self.lat_deg[1:]))))
        length_m = SEMI_MAJOR_AXIS_M * np.hypot(lat_step, lon_step * widest)
        step_m = max(FINE_STEP_M, float(length_m.sum()) / MOST_FINE_STEPS)
        parts = np.maximum(np.ceil(length_m / step_m), 1.0).astype(np.intp)
        whole = np.concatenate(([0], np.cumsum(parts)))
        places = np.arange(whole[-1] + 1)
        return np.interp(places, whole, self.lat_deg), np.interp(places, whole, self.lon_deg)


def along_graticule(corners: Sequence[Point], frame: Frame = WGS84_FRAME) -> Outline:
    """The outline with edges straight in latitude and longitude on the frame's datum, such as meridians and parallels.

    Parameters
    ----------
    corners : sequence of (float, float)
        Latitude and longitude of each on the datum, counter-clockwise. From one to the next the longitude runs the shorter
        way. [degree]
    frame : Frame
        Brings the edges to WGS 84, and raises the errors of `Frame.on_wgs84`.
    """

    def edge_from(start: Point, end: Point) -> Edge:
        lat_step, lon_step = end[0] - start[0], float(normalise_signed(end[1] - start[1]))

        def edge(share: FloatArray) -> tuple[FloatArray, FloatArray]:
            return _on_wgs84(frame, start[0] + share * lat_step, start[1] + share * lon_step)

        return edge

    return _outline(corners, edge_from)


def along_grid(zone: int, south: bool, corners: Sequence[Point], frame: Frame = WGS84_FRAME) -> Outline:
    """The outline with edges straight on a grid of the frame's datum.

    Parameters
    ----------
    zone, south : int and bool
        The grid, as for `DatumGrid`.
    corners : sequence of (float, float)
        Easting and northing of each, counter-clockwise. [metre]
    frame : Frame
        As for `along_graticule`; of a national grid, with the datum that the grid stands on.
    """
    grid = DatumGrid(zone, south, frame.datum)

    def edge_from(start: Point, end: Point) -> Edge:
        def edge(share: FloatArray) -> tuple[FloatArray, FloatArray]:
            easting, northing = (low + share * (high - low) for low, high in zip(start, end, strict=True))
            return _on_wgs84(frame, *grid.from_grid(easting, northing))

        return edge

    return _outline(corners, edge_from)


def square_outline(
    zone: int, south: bool, easting_m: float, northing_m: float, size_m: float, frame: Frame = WGS84_FRAME
) -> Outline:
    """The outline of one grid square, from its south-west corner. [metre]"""
    east_m, north_m = easting_m + size_m, northing_m + size_m
    corners = [(easting_m, northing_m), (east_m, northing_m), (east_m, north_m), (easting_m, north_m)]
    return along_grid(zone, south, corners, frame)


def _outline(corners: Sequence[Point], edge_from: Callable[[Point, Point], Edge]) -> Outline:
    following = [*corners[1:], corners[0]]
    edges = [edge_from(start, end) for start, end in zip(corners, following, strict=True)]
    return Outline(*traced_boundary(edges))


def _on_wgs84(frame: Frame, lat_deg: FloatArray, lon_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    if frame.datum.epsg == WGS84.epsg:
        return lat_deg, lon_deg
    places = to_wgs84(frame.datum, lat_deg, lon_deg)
    lat, lon = places.lat_deg.copy(), places.lon_deg.copy()
    for row in np.flatnonzero(places.operation < 0):
        lat[row], lon[row], _shift = frame.on_wgs84(float(lat_deg[row]), float(lon_deg[row]))
    return lat, lon


def _distances_m(
    points: tuple[FloatArray, FloatArray], lat_deg: FloatArray, lon_deg: FloatArray
) -> FloatArray:
    """The distance from each place to the nearest point of a row of short segments. [metre]"""
    lat, lon = points
    nearest, share = _nearest_segments(unit_vectors(lat, lon), unit_vectors(lat_deg, lon_deg))
    foot_lat = lat[nearest] + share * np.diff(lat)[nearest]
    foot_lon = lon[nearest] + share * np.diff(lon)[nearest]
    return inverse(foot_lat, foot_lon, lat_deg, lon_deg)[2]


def _nearest_segments(ring: FloatArray, places: FloatArray) -> tuple[FloatArray, FloatArray]:
    """For each place the number of the nearest segment, and the share of its length where it is nearest, in space."""
    start, step = ring[:-1], np.diff(ring, axis=0)
    squared = np.maximum(np.square(step).sum(axis=1), 1e-30)
    along = places @ step.T - (start * step).sum(axis=1)
    share = np.clip(along / squared, 0.0, 1.0)
    # The squared distance, less what is the same for all segments: the place is at 1 from the centre.
    gap = (start * start).sum(axis=1) - 2.0 * places @ start.T + share * (share * squared - 2.0 * along)
    nearest = np.argmin(gap, axis=1)
    return nearest, np.take_along_axis(share, nearest[:, np.newaxis], axis=1)[:, 0]
