"""What observations would read from candidate places, and how the readings turn as the place moves.

The lines to the known places are exact geodesics, or straight on a plane where a start is searched for. The derivatives are
those of geodesics on a sphere by the reduced length ``m = R sin(s / R)``; within 1000 km they are good to a part in a
thousand of the ellipsoid's, and at sights' lengths to a millionth: C. F. F. Karney, "Algorithms for geodesics", Journal of
Geodesy 87(1), 43-55, 2013, doi:10.1007/s00190-012-0578-z, section 3.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..grids.ellipsoid import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M
from ..lines.geodesic import inverse
from ..rows import IntArray
from .line_stood_on import nearest_stretch, off_line
from .observation_table import ObservationTable
from .observed_north import ObservedNorth
from .search_plane import ComplexArray

__all__ = ["Evaluation", "Rays", "evaluate", "exact_rays", "mean_turn", "plane_rays", "wrapped"]

#: A mean radius of the earth, for the derivatives. [metre]
RADIUS_M = 6_371_000.0
#: Derivatives of directions are those at this distance where a known place is nearer. [metre]
LEAST_DISTANCE_M = 1e-3
#: Radian to degree.
DEGREES = float(np.degrees(1.0))


@dataclass(frozen=True, slots=True)
class Rays:
    """The lines from k candidate places to the m known ones, shape (k, m). [degree], [metre]"""

    azimuth_deg: FloatArray
    back_azimuth_deg: FloatArray
    distance_m: FloatArray


@dataclass(frozen=True, slots=True)
class Evaluation:
    """n observations as from k candidate places.

    ``misses``, read less expected, within 180 degrees either way where they are angles, shape (k, n); ``design``, what a
    metre to the north and one to the east add to what is expected, shape (k, n, 2); ``rays``, which both were had from.
    """

    misses: FloatArray
    design: FloatArray
    rays: Rays


def exact_rays(table: ObservationTable, lat_deg: FloatArray, lon_deg: FloatArray) -> Rays:
    """The geodesics from candidate places, shape (k,). [degree]"""
    known_lat, known_lon = table.lat_deg, table.lon_deg
    if table.lines:
        point = table.plane.project(lat_deg, lon_deg)[0]
        known_lat, known_lon = _with_stretches(table, point)
    return Rays(*inverse(lat_deg[:, None], lon_deg[:, None], known_lat, known_lon))


def plane_rays(table: ObservationTable, point: ComplexArray, turn_deg: FloatArray) -> Rays:
    """The straight lines on the plane of the search, from points whose azimuths are turned by ``turn_deg``, shape (k,)."""
    known, turn = table.point, table.turn_deg
    if table.lines:
        known = np.repeat(known[None, :], len(point), axis=0)
        for row, end, stretches in zip(table.line, table.end, table.lines, strict=True):
            nearest = nearest_stretch(stretches, point)
            known[:, row], known[:, end] = stretches.point[nearest], stretches.point[nearest + 1]
    ray = known - point[:, None]
    azimuth = np.degrees(np.angle(ray))
    return Rays(azimuth - turn_deg[:, None], azimuth + 180.0 - turn, np.abs(ray))


def _with_stretches(table: ObservationTable, point: ComplexArray) -> tuple[FloatArray, FloatArray]:
    """Known places of each candidate, shape (k, m), the ends of the nearest stretch of each line among them."""
    lat = np.repeat(table.lat_deg[None, :], len(point), axis=0)
    lon = np.repeat(table.lon_deg[None, :], len(point), axis=0)
    for row, end, stretches in zip(table.line, table.end, table.lines, strict=True):
        nearest = nearest_stretch(stretches, point)
        lat[:, row], lat[:, end] = stretches.lat_deg[nearest], stretches.lat_deg[nearest + 1]
        lon[:, row], lon[:, end] = stretches.lon_deg[nearest], stretches.lon_deg[nearest + 1]
    return lat, lon


def evaluate(
    table: ObservationTable,
    rays: Rays,
    lat_deg: FloatArray,
    north: ObservedNorth,
    offset_m: ComplexArray,
    compass_error_deg: FloatArray,
) -> Evaluation:
    """Misses and derivatives at candidate places of latitude ``lat_deg``, shape (k,).

    ``north`` holds the norths of bearings read there, ``offset_m`` how far each candidate lies from where those were taken,
    north + i east.
    """
    count, azimuth = table.count, np.radians(rays.azimuth_deg)
    sine, cosine = np.sin(azimuth), np.cos(azimuth)
    misses = np.empty((len(lat_deg), count))
    design = np.zeros((len(lat_deg), count, 2))
    arc = np.maximum(rays.distance_m, LEAST_DISTANCE_M) / RADIUS_M
    swing = DEGREES / (RADIUS_M * np.sin(arc))
    if table.to.size:
        rows = table.to
        turn, gradient = north.at(offset_m)
        misses[:, rows] = table.reading[..., rows] + turn - rays.azimuth_deg[:, rows]
        _put_swing(design, rows, sine, cosine, swing * np.cos(arc), rows)
        design[:, rows, 1] += _meridian_turn(lat_deg)[:, None]
        if table.norths:
            design[:, rows] -= gradient
    if table.frm.size:
        rows = table.frm
        misses[:, rows] = table.reading[..., rows] - rays.back_azimuth_deg[:, rows]
        _put_swing(design, rows, sine, cosine, swing, rows)
    if table.distance.size:
        rows = table.distance
        misses[:, rows] = table.reading[..., rows] - rays.distance_m[:, rows]
        design[:, rows, 0], design[:, rows, 1] = -cosine[:, rows], -sine[:, rows]
    if table.angle.size:
        rows, right = table.angle, table.right
        seen = rays.azimuth_deg[:, right] - rays.azimuth_deg[:, rows]
        misses[:, rows] = table.reading[..., rows] - seen
        turned = swing * np.cos(arc)
        _put_swing(design, rows, sine, cosine, turned, right)
        _put_swing(design, rows, sine, cosine, -turned, rows)
    if table.line.size:
        rows, end = table.line, table.end
        point = rays.distance_m * (cosine + 1j * sine)
        off, across = off_line(point[:, rows], point[:, end])
        misses[:, rows] = table.reading[..., rows] - off
        design[:, rows, 0], design[:, rows, 1] = np.cos(across), np.sin(across)
    misses -= np.where(table.same_compass, compass_error_deg[:, None], 0.0)
    return Evaluation(wrapped(misses, table.circle), design, rays)


def wrapped(values: FloatArray, period: FloatArray) -> FloatArray:
    """The values less the nearest whole number of periods."""
    return values - period * np.round(values / period)


def mean_turn(turns_deg: FloatArray, weight: FloatArray) -> FloatArray:
    """The weighted mean of each row's directions, shape (k,). [degree]"""
    return np.degrees(np.angle(np.exp(1j * np.radians(turns_deg)) @ weight))


def _put_swing(
    design: FloatArray,
    rows: IntArray,
    sine: FloatArray,
    cosine: FloatArray,
    rate: FloatArray,
    columns: IntArray,
) -> None:
    """Add to the rows how a direction along the rays turns as their near end moves a metre north and a metre east."""
    design[:, rows, 0] += sine[:, columns] * rate[:, columns]
    design[:, rows, 1] -= cosine[:, columns] * rate[:, columns]


def _meridian_turn(lat_deg: FloatArray) -> FloatArray:
    """By how much true north turns under a straight line as one walks a metre east along it, shape (k,). [degree]"""
    latitude = np.radians(lat_deg)
    sine = np.sin(latitude)
    radius = SEMI_MAJOR_AXIS_M / np.sqrt(1.0 - ECCENTRICITY_SQUARED * sine**2)
    return DEGREES * sine / np.maximum(radius * np.cos(latitude), LEAST_DISTANCE_M)
