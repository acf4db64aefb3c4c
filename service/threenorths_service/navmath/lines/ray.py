"""Rays: the place at the end of a direction and a distance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth, normalise_signed
from ..errors import DateMissingError
from ..grids.grid import convergence_and_scale, reached_zone, within_reach
from ..grids.zones import zone_of
from ..magnetism.magnetic import declination_at
from ..rows import BoolArray
from .geodesic import direct
from .line import grid_chord, known

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
    it is true for all other rays.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    true_azimuth_deg: FloatArray
    true_back_azimuth_deg: FloatArray
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
    if north == "magnetic":
        if decimal_year is None:
            raise DateMissingError(
                "a magnetic direction needs a date", member="date", allowed="an ISO 8601 date"
            )
        azimuth_deg = np.add(azimuth_deg, declination_at(lat_deg, lon_deg, decimal_year))
    true_azimuth_deg = normalise_azimuth(azimuth_deg)
    end_lat, end_lon, back_azimuth_deg = direct(lat_deg, lon_deg, true_azimuth_deg, distance_m)
    shape = np.shape(end_lat)
    azimuth_deg, reached = np.broadcast_to(true_azimuth_deg, shape)[()], np.ones(shape, dtype=np.bool_)[()]
    return Ray(end_lat, end_lon, azimuth_deg, back_azimuth_deg, reached)


def _along_the_map(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    grid_azimuth_deg: ArrayLike,
    distance_m: ArrayLike,
    zone: ArrayLike,
    south: ArrayLike,
) -> Ray:
    """The geodesic whose ends lie on the map in the direction asked: its start is turned until they do."""
    started = within_reach(lat_deg, lon_deg, zone, south)
    start_zone = reached_zone(lat_deg, lon_deg, zone, started)
    convergence_deg, _ = convergence_and_scale(lat_deg, lon_deg, start_zone, south)
    azimuth_deg = np.add(grid_azimuth_deg, convergence_deg)
    for _ in range(MOST_STEPS):
        end_lat, end_lon, back_azimuth_deg = direct(lat_deg, lon_deg, azimuth_deg, distance_m)
        reached = started & within_reach(end_lat, end_lon, zone, south)
        chord_zone = reached_zone(lat_deg, lon_deg, zone, reached)
        _, chord_deg = grid_chord(lat_deg, lon_deg, end_lat, end_lon, chord_zone, south)
        # Beyond the reach the map is too stretched to steer by; a ray that ends there is refused, not followed.
        miss_deg = np.where(reached, normalise_signed(np.subtract(grid_azimuth_deg, chord_deg)), 0.0)
        if np.max(np.abs(np.radians(miss_deg)) * distance_m, initial=0.0) < STILL_M:
            break
        azimuth_deg = azimuth_deg + miss_deg
    return Ray(
        known(end_lat, reached),
        known(end_lon, reached),
        known(normalise_azimuth(azimuth_deg), reached),
        known(back_azimuth_deg, reached),
        reached,
    )
