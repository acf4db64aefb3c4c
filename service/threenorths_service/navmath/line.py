"""Lines between two places: on the ellipsoid, on the grid, and from magnetic north at either end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .angle import FloatArray, normalise_azimuth
from .geodesic import COINCIDENT_M, inverse
from .grid import convergence_and_scale, to_grid, within_reach
from .magnetic import declination_at
from .rows import BoolArray
from .zones import zone_of

__all__ = ["Line", "grid_chord", "line_between"]


@dataclass(frozen=True, slots=True)
class Line:
    """Lines, each from a first place to a second: arrays of the shape of the places.

    Azimuths are in [0, 360). [degree] A back azimuth is measured at the second place, from the north there. On the
    grid the line is the straight one on the map, so its back azimuth is just opposite. ``line_of_sight_grid_azimuth_deg``
    is that of the geodesic where it leaves the first place. Where ``distinct`` is false the places are the same and the
    azimuths mean nothing; where ``grid_reached`` is false the second place is beyond the grid of the first, and so
    do the values on the grid. The magnetic values are ``None`` without a date.
    """

    distance_m: FloatArray
    true_azimuth_deg: FloatArray
    true_back_azimuth_deg: FloatArray
    grid_distance_m: FloatArray
    grid_azimuth_deg: FloatArray
    grid_back_azimuth_deg: FloatArray
    mean_scale_factor: FloatArray
    line_of_sight_grid_azimuth_deg: FloatArray
    declination_deg: FloatArray | None
    back_declination_deg: FloatArray | None
    magnetic_azimuth_deg: FloatArray | None
    magnetic_back_azimuth_deg: FloatArray | None
    distinct: BoolArray
    grid_reached: BoolArray


def line_between(
    lat1_deg: ArrayLike,
    lon1_deg: ArrayLike,
    lat2_deg: ArrayLike,
    lon2_deg: ArrayLike,
    decimal_year: ArrayLike | None = None,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
) -> Line:
    """The lines from places 1 to places 2, which broadcast.

    Parameters
    ----------
    lat1_deg, lon1_deg, lat2_deg, lon2_deg : array_like
        Latitudes in [-90, 90] and longitudes in [-180, 360). [degree]
    decimal_year : array_like, optional
        When the magnetic azimuths are for.
    zone, south : array_like, optional
        The grid that both places are put on; where none is given, that of place 1 by the zone rule.

    Raises
    ------
    OutOfRangeError, DateOutsideModelError
        Any latitude, longitude or date is out of range.
    """
    azimuth_deg, back_azimuth_deg, distance_m = inverse(lat1_deg, lon1_deg, lat2_deg, lon2_deg)
    zone = zone_of(lat1_deg, lon1_deg) if zone is None else zone
    south = np.less(lat1_deg, 0.0) if south is None else south
    reached = within_reach(lat2_deg, lon2_deg, zone, south)
    # A place beyond the grid is put where the line begins, so that its projection stays finite.
    chord_m, chord_deg = grid_chord(
        lat1_deg,
        lon1_deg,
        np.where(reached, lat2_deg, lat1_deg),
        np.where(reached, lon2_deg, lon1_deg),
        zone,
        south,
    )
    convergence_deg, _ = convergence_and_scale(lat1_deg, lon1_deg, zone, south)
    distinct = distance_m >= COINCIDENT_M
    declination_deg = back_declination_deg = None
    if decimal_year is not None:
        declination_deg = declination_at(lat1_deg, lon1_deg, decimal_year)
        back_declination_deg = declination_at(lat2_deg, lon2_deg, decimal_year)
    return Line(
        distance_m=distance_m,
        true_azimuth_deg=azimuth_deg,
        true_back_azimuth_deg=back_azimuth_deg,
        grid_distance_m=chord_m,
        grid_azimuth_deg=chord_deg,
        grid_back_azimuth_deg=normalise_azimuth(chord_deg + 180.0),
        mean_scale_factor=np.where(distinct, chord_m, 1.0) / np.where(distinct, distance_m, 1.0),
        line_of_sight_grid_azimuth_deg=normalise_azimuth(azimuth_deg - convergence_deg),
        declination_deg=declination_deg,
        back_declination_deg=back_declination_deg,
        magnetic_azimuth_deg=None
        if declination_deg is None
        else normalise_azimuth(azimuth_deg - declination_deg),
        magnetic_back_azimuth_deg=(
            None
            if back_declination_deg is None
            else normalise_azimuth(back_azimuth_deg - back_declination_deg)
        ),
        distinct=distinct,
        grid_reached=reached,
    )


def grid_chord(
    lat1_deg: ArrayLike,
    lon1_deg: ArrayLike,
    lat2_deg: ArrayLike,
    lon2_deg: ArrayLike,
    zone: ArrayLike,
    south: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Length [metre] and azimuth [degree] of the straight line on the map, by coordinates in one named grid zone."""
    start, end = to_grid(lat1_deg, lon1_deg, zone, south), to_grid(lat2_deg, lon2_deg, zone, south)
    east, north = end.easting_m - start.easting_m, end.northing_m - start.northing_m
    return np.hypot(east, north), normalise_azimuth(np.degrees(np.arctan2(east, north)))
