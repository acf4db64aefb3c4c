"""Whether a reported place is in an area or on a sheet: a place written as a square may be partly in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_signed
from ..datums.datum import WGS84
from ..errors import UnusableShapeError
from ..grids.grid import convergence_and_scale, to_grid
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..grids.projections import UPS_SCALE, UTM_SCALE
from ..lines.geodesic import COINCIDENT_M
from ..places.place import Place
from ..rows import BoolArray
from ..searches.local_plane import LocalPlane, drawn_line
from ..searches.plane_shape import PlaneShape
from ..sheets.edge_tracing import EDGE_TOLERANCE_M
from ..sheets.outline import Outline, square_outline
from ..texts.position_reading import GridSquare
from .verdict import Outcome

__all__ = ["ShapeCheck", "area_outline", "check_in_shape", "left_open_m", "squares_hold", "written_holds"]

#: Latitude and longitude. [degree]
LatLon = tuple[float, float]

#: How much the scale of a national grid may change over half a square of 100 km, as a share: of a transverse projection
#: 0.00065 at 500 km from its central meridian, by half the square of the distance over the earth's radius.
NATIONAL_SCALE_CHANGE = 0.001

#: What a square may at most have of an area and still be taken to touch it only.
SLIVER_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class ShapeCheck:
    """A place against a shape: whether it is in, and how far its point is outside, 0 inside. [metre]"""

    outcome: Outcome
    outside_m: float


def left_open_m(place: Place) -> float:
    """How far the place meant can be from that of a report, for how finely it was written. [metre]

    Half the diagonal of its square, or the whole where the edge of the grid zone cut the square's centre off; on the ground,
    which is longer than on a grid that is drawn to under its scale.
    """
    square = place.square
    if square is None:
        return place.tolerance_m
    return place.tolerance_m * (2.0 if square.cut else 1.0) / _least_scale(place, square)


def _least_scale(place: Place, square: GridSquare) -> float:
    """The least scale of a square's grid: of UTM and UPS that anywhere, of a national grid about that of the square."""
    if square.zone < FIRST_EPSG_CODE:
        return UTM_SCALE if square.zone else UPS_SCALE
    _convergence, scale = convergence_and_scale(place.lat_deg, place.lon_deg, square.zone, square.south)
    return min(float(scale), 1.0) * (1.0 - NATIONAL_SCALE_CHANGE)


@lru_cache(maxsize=32)
def area_outline(ring: tuple[LatLon, ...]) -> Outline:
    """The outline of an area, from the latitudes and longitudes around it; closed or not, and either way round. [degree]

    Between the points it is straight in longitude and latitude, as RFC 7946 (section 3.1.1) has it, and its longitude runs
    the shorter way. A ring that runs around a pole holds the pole of its own hemisphere.

    Raises
    ------
    UnusableShapeError
        It has no inside, crosses itself, or runs around a pole more than once.
    """
    lat, lon = (np.array(column, dtype=np.float64) for column in zip(*ring, strict=True))
    moved = (np.abs(np.diff(lat)) > 0.0) | (np.abs(normalise_signed(np.diff(lon))) > 0.0)
    keep = np.concatenate(([True], moved))
    lat, lon = lat[keep], lon[keep]
    if lat[0] != lat[-1] or normalise_signed(lon[0] - lon[-1]) != 0.0:
        lat, lon = np.append(lat, lat[0]), np.append(lon, lon[0])
    if len(lat) < 4:
        raise _without_inside()
    lon = np.concatenate((lon[:1], lon[0] + np.cumsum(normalise_signed(np.diff(lon)))))
    turns = round((lon[-1] - lon[0]) / 360.0)
    if abs(turns) > 1:
        raise UnusableShapeError("the ring runs around a pole more than once", allowed="a plainer ring")
    lon[-1] = lon[0] + 360.0 * turns
    north = lat.mean() >= 0.0
    plane = LocalPlane(90.0 if north else -90.0, 0.0)
    points = plane.from_geodetic(*drawn_line(lat, lon)) if turns else np.column_stack((lon, lat))
    # Around, the longitudes have gathered a rounding, by which the ring would cross itself.
    points[-1] = points[0]
    if PlaneShape.plain_polygon(points).area == 0.0:
        raise _without_inside()
    # An outline has its inside on the left: it runs eastward around the north pole and westward around the south pole.
    backward = turns != 0 and (turns > 0) != north
    return Outline(lat[::-1], lon[::-1]) if backward else Outline(lat, lon)


def _without_inside() -> UnusableShapeError:
    return UnusableShapeError("the ring has no inside", allowed="three places or more that are not in line")


def check_in_shape(place: Place, shape: Outline) -> ShapeCheck:
    """Whether a place is in a shape: met or not where all of its square is on one side of the edge, otherwise open.

    Edges are good to `EDGE_TOLERANCE_M`: so much of a square's side beyond an edge counts for nothing.
    """
    outside_m = float(shape.outside_m(place.lat_deg, place.lon_deg))
    inside = outside_m == 0.0
    size_m = place.resolution_m or 0.0
    if outside_m > left_open_m(place):
        return ShapeCheck(Outcome.NOT_MET, outside_m)
    if size_m == 0.0:
        return ShapeCheck(Outcome.MET if inside else Outcome.NOT_MET, outside_m)
    plane = LocalPlane(place.lat_deg, place.lon_deg)
    square = PlaneShape.polygon(_extent_of(place, plane))
    area = PlaneShape.polygon(plane.from_geodetic(*shape.fine_points()))
    within_m2 = square.within(area).area
    # A square may be far larger than the area that it holds: that is no sliver at an edge.
    nothing_m2 = min(2.0 * EDGE_TOLERANCE_M * size_m, SLIVER_SHARE * area.area)
    if inside and square.area - within_m2 <= nothing_m2:
        return ShapeCheck(Outcome.MET, outside_m)
    if not inside and within_m2 <= nothing_m2:
        return ShapeCheck(Outcome.NOT_MET, outside_m)
    return ShapeCheck(Outcome.OPEN, outside_m)


def _extent_of(place: Place, plane: LocalPlane) -> FloatArray:
    """The square that a place was written as, as points of a plane, shape (N, 2), closed. [metre]

    Of a place written otherwise, a square about it with the side of its resolution.
    """
    square = place.square
    if square is not None:
        outline = _outline_of_square(place)
        return plane.from_geodetic(*outline.fine_points())
    half_m = (place.resolution_m or 0.0) / 2.0
    around = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)])
    centre: FloatArray = plane.from_geodetic(place.lat_deg, place.lon_deg)
    return centre + half_m * around


def _outline_of_square(place: Place) -> Outline:
    """The outline of the square that a place was written as; it must have one."""
    square = place.square
    assert square is not None  # noqa: S101 - the caller looked
    corner_m = (square.corner_easting_m, square.corner_northing_m)
    return square_outline(square.zone, square.south, *corner_m, square.size_m, square.frame)


def written_holds(place: Place, lat_deg: float, lon_deg: float, distance_m: float) -> bool:
    """Whether a place is in what a report was written as: its square or, of another form, one unit of its last digit."""
    square = place.square
    if square is None:
        return place.resolution_m is not None and distance_m <= place.resolution_m / 2.0
    if square.zone >= FIRST_EPSG_CODE or square.frame.datum is not WGS84:
        return bool(_outline_of_square(place).contains(lat_deg, lon_deg))
    corner_m = (square.corner_easting_m, square.corner_northing_m)
    return bool(squares_hold(square.zone, square.south, *corner_m, square.size_m, lat_deg, lon_deg))


def squares_hold(
    zone: ArrayLike,
    south: ArrayLike,
    corner_easting_m: ArrayLike,
    corner_northing_m: ArrayLike,
    size_m: ArrayLike,
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
) -> BoolArray:
    """Whether each square of UTM (zone 1 to 60) or UPS (0), by its south-west corner, holds its place on WGS 84.

    A place on an edge, as exact as `COINCIDENT_M`, is in both squares: numbers do not tell on which side it is. The
    parameters broadcast.
    """
    grid = to_grid(lat_deg, lon_deg, zone, south)
    held = np.ones(grid.easting_m.shape, dtype=np.bool_)
    for place_m, corner_m in ((grid.easting_m, corner_easting_m), (grid.northing_m, corner_northing_m)):
        off_m = place_m - np.asarray(corner_m)
        held &= (off_m >= -COINCIDENT_M) & (off_m <= np.asarray(size_m) + COINCIDENT_M)
    return held
