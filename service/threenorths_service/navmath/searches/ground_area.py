"""Areas on the ground: a shape of a local plane with its size on the ellipsoid, and as polygons of longitude and latitude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from pyproj import Geod

from ..angle import FloatArray, normalise_signed
from ..grids.ellipsoid import SEMI_MAJOR_AXIS_M
from ..sheets import lonlat_ring
from ..sheets.edge_tracing import EDGE_TOLERANCE_M, unit_vectors
from .local_plane import LocalPlane
from .plane_shape import PlaneShape, Rings, joined

__all__ = ["GroundArea", "ground_area"]

#: Halvings of a line between two points, which bring one of 400 km across a pole to 2 cm.
_MOST_HALVINGS = 24

_WGS84 = Geod(ellps="WGS84")


@dataclass(frozen=True, slots=True)
class GroundArea:
    """An area as RFC 7946 draws it.

    ``polygons`` are an exterior ring and holes each, of shape (N, 2), longitude in [-180, 180] and latitude [degree],
    closed, exteriors counter-clockwise and holes clockwise, cut at the antimeridian. ``bbox`` is west, south, east, north:
    across the antimeridian, west is greater than east. Size and length are on the ellipsoid.
    """

    area_m2: float
    perimeter_m: float
    polygons: tuple[Rings, ...]
    bbox: tuple[float, float, float, float]


def ground_area(plane: LocalPlane, shape: PlaneShape) -> GroundArea:
    """The area on the ground of a shape in a plane, which is not empty."""
    area_m2 = perimeter_m = 0.0
    parts: list[PlaneShape] = []
    for exterior, holes in shape.rings():
        # Round a hole the same way as round an exterior, so that a pole in it is told.
        rings = [exterior, *(hole[::-1] for hole in holes)]
        drawn = [_lonlat(plane, ring) for ring in rings]
        sizes = [_WGS84.polygon_area_perimeter(lon, lat) for lon, lat in drawn]
        area_m2 += abs(sizes[0][0]) - sum(abs(size) for size, _length in sizes[1:])
        perimeter_m += sum(length for _size, length in sizes)
        part, *gaps = (_cut(_closed(lon, lat)) for lon, lat in drawn)
        for gap in gaps:
            part = part.without(gap)
        parts.append(part)
    polygons = tuple(joined(parts).rings())
    west, east = _west_and_east(polygons)
    lat = np.concatenate([exterior[:, 1] for exterior, _holes in polygons])
    return GroundArea(area_m2, perimeter_m, polygons, (west, float(lat.min()), east, float(lat.max())))


def _lonlat(plane: LocalPlane, ring: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Longitudes that run on without a jump, and latitudes, of a ring in the plane, with points put in as they are needed.

    Straight lines in longitude and latitude between them keep within `EDGE_TOLERANCE_M` of the ring.
    """
    lat, lon = plane.to_geodetic(ring)
    for _ in range(_MOST_HALVINGS):
        middles = (ring[:-1] + ring[1:]) / 2.0
        lat_between, lon_between = plane.to_geodetic(middles)
        straight = unit_vectors(
            lat[:-1] + np.diff(lat) / 2.0, lon[:-1] + normalise_signed(np.diff(lon)) / 2.0
        )
        miss_m = np.linalg.norm(straight - unit_vectors(lat_between, lon_between), axis=1) * SEMI_MAJOR_AXIS_M
        coarse = np.flatnonzero(miss_m > EDGE_TOLERANCE_M)
        if coarse.size == 0:
            break
        ring = np.insert(ring, coarse + 1, middles[coarse], axis=0)
        lat, lon = (
            np.insert(lat, coarse + 1, lat_between[coarse]),
            np.insert(lon, coarse + 1, lon_between[coarse]),
        )
    lon = np.concatenate((lon[:1], lon[0] + np.cumsum(normalise_signed(np.diff(lon)))))
    lon[-1] = lon[0] + 360.0 * np.round((lon[-1] - lon[0]) / 360.0)
    return lon, lat


def _closed(lon: FloatArray, lat: FloatArray) -> FloatArray:
    """The ring in the plane of longitude and latitude, led over the pole that it goes around."""
    return lonlat_ring.closed_over_pole(lon, lat) if lon[-1] != lon[0] else np.column_stack((lon, lat))


def _cut(ring: FloatArray) -> PlaneShape:
    return joined(PlaneShape.polygon(part) for part in lonlat_ring.cut_at_antimeridian(ring))


def _west_and_east(polygons: Sequence[Rings]) -> tuple[float, float]:
    """The meridians between which polygons lie: all but the widest gap between them. [degree]"""
    spans = sorted((float(ring[:, 0].min()), float(ring[:, 0].max())) for ring, _holes in polygons)
    west, east = spans[0][0], max(high for _low, high in spans)
    widest = west + 360.0 - east
    reached = spans[0][1]
    for low, high in spans[1:]:
        if low - reached > widest:
            west, east, widest = low, reached, low - reached
        reached = max(reached, high)
    return west, east
