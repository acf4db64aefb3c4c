"""Rays: the place at the end of a direction and a distance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_azimuth, normalise_signed
from ..errors import DateMissingError
from ..grids.grid import GridCoordinates, convergence_and_scale, reached_zone, to_grid, within_reach
from ..grids.zones import zone_of
from ..magnetism.magnetic import declination_and_horizontal_at
from ..rows import BoolArray, as_rows, in_shape
from .geodesic import direct
from .line import chord_between, known

__all__ = ["Ray", "ray_from"]

#: A step of turning a ray leaves a few hundredths of the last one's miss at the grid's reach, and far less inside it.
MOST_STEPS = 20
#: The far end is this near to where it should be: above the rounding of grid coordinates. [metre]
STILL_M = 1e-7


@dataclass(frozen=True, slots=True)
class Ray:
    """The ends of rays: arrays of the shape of the starts.

    ``true_azimuth_deg`` is the ray's at the start and ``true_back_azimuth_deg`` at the end, back, each from true north
    there. [degree] Where ``grid_reached`` is false the end of a grid ray is beyond its grid, and all its values are NaN;
    it is true for all other rays. ``horizontal_nt`` is the horizontal magnetic field at the start of a magnetic ray, of
    other rays ``None``.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    true_azimuth_deg: FloatArray
    true_back_azimuth_deg: FloatArray
    horizontal_nt: FloatArray | None
    grid_reached: BoolArray


def ray_from(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    azimuth_deg: ArrayLike,
    north: str,
    distance_m: ArrayLike,
    decimal_year: ArrayLike | None = None,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
) -> Ray:
    """The places at the end of directions and distances, which broadcast.

    A true or magnetic direction leaves the start along the line of sight. A grid direction is that of the straight line
    on the map, so that `line_between` gives it back.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        The starts: latitude in [-90, 90], longitude in [-180, 360). [degree]
    azimuth_deg : array_like
        Clockwise from ``north``: "true", "grid" or "magnetic". [degree]
    distance_m : array_like
        Along the ellipsoid, not negative. [metre]
    decimal_year : array_like, optional
        Needed for magnetic directions.
    zone, south : array_like, optional
        The grid of grid directions; where none is given, that of the start by the zone rule.

    Raises
    ------
    DateMissingError
        Magnetic north is named without a date.
    OutOfRangeError, DateOutsideModelError
        Any latitude, longitude or date is out of range.
    """
    if north == "grid":
        zone = zone_of(lat_deg, lon_deg) if zone is None else zone
        south = np.less(lat_deg, 0.0) if south is None else south
        return _along_the_map(lat_deg, lon_deg, azimuth_deg, distance_m, zone, south)
    horizontal_nt = None
    if north == "magnetic":
        if decimal_year is None:
            raise DateMissingError(
                "a magnetic direction needs a date", member="date", allowed="an ISO 8601 date"
            )
        declination_deg, horizontal_nt = declination_and_horizontal_at(lat_deg, lon_deg, decimal_year)
        azimuth_deg = np.add(azimuth_deg, declination_deg)
    true_azimuth_deg = normalise_azimuth(azimuth_deg)
    end_lat, end_lon, back_azimuth_deg = direct(lat_deg, lon_deg, true_azimuth_deg, distance_m)
    shape = np.shape(end_lat)
    azimuth_deg, reached = np.broadcast_to(true_azimuth_deg, shape)[()], np.ones(shape, dtype=np.bool_)[()]
    return Ray(end_lat, end_lon, azimuth_deg, back_azimuth_deg, horizontal_nt, reached)


def _along_the_map(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    grid_azimuth_deg: ArrayLike,
    distance_m: ArrayLike,
    zone: ArrayLike,
    south: ArrayLike,
) -> Ray:
    """The geodesic whose ends lie on the map in the direction asked: its start is turned until they do.

    Each row is turned for itself and rests once it is there, so that it ends the same whatever rows stand beside it.
    """
    (lat, lon, wanted_deg, length_m, grid, pole), shape = as_rows(
        lat_deg, lon_deg, grid_azimuth_deg, distance_m, zone, south
    )
    started = within_reach(lat, lon, grid, pole)
    start_grid = reached_zone(lat, lon, grid, started)
    convergence_deg, _ = convergence_and_scale(lat, lon, start_grid, pole)
    start = to_grid(lat, lon, start_grid, pole)
    azimuth_deg = wanted_deg + convergence_deg
    end_lat, end_lon, back_azimuth_deg = np.empty((3, lat.size))
    reached = np.empty(lat.size, dtype=np.bool_)
    turning: slice | NDArray[np.intp] = slice(None)
    for _ in range(MOST_STEPS):
        of_lat, of_lon, of_grid, of_pole = lat[turning], lon[turning], grid[turning], pole[turning]
        ends = direct(of_lat, of_lon, azimuth_deg[turning], length_m[turning])
        reach = started[turning] & within_reach(ends[0], ends[1], of_grid, of_pole)
        end_lat[turning], end_lon[turning], back_azimuth_deg[turning] = ends
        reached[turning] = reach
        end = to_grid(ends[0], ends[1], reached_zone(of_lat, of_lon, of_grid, reach), of_pole)
        _, chord_deg = chord_between(_rows_of(start, turning), end)
        # Beyond the reach the map is too stretched to steer by; a ray that ends there is refused, not followed.
        miss_deg = np.where(reach, normalise_signed(wanted_deg[turning] - chord_deg), 0.0)
        off = np.abs(np.radians(miss_deg)) * length_m[turning] >= STILL_M
        turning = np.flatnonzero(off) if isinstance(turning, slice) else turning[off]
        if not turning.size:
            break
        azimuth_deg[turning] += miss_deg[off]
    return Ray(
        lat_deg=in_shape(known(end_lat, reached), shape),
        lon_deg=in_shape(known(end_lon, reached), shape),
        true_azimuth_deg=in_shape(known(normalise_azimuth(azimuth_deg), reached), shape),
        true_back_azimuth_deg=in_shape(known(back_azimuth_deg, reached), shape),
        horizontal_nt=None,
        grid_reached=in_shape(reached, shape),
    )


def _rows_of(grid: GridCoordinates, rows: slice | NDArray[np.intp]) -> GridCoordinates:
    return GridCoordinates(grid.zone[rows], grid.south[rows], grid.easting_m[rows], grid.northing_m[rows])
