"""Lines between two places: on the ellipsoid, on the grid, and from magnetic north at either end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth
from ..directions.bearing import back_azimuth
from ..grids.grid import GridCoordinates, convergence_and_scale, reached_zone, to_grid, within_reach
from ..grids.zones import zone_of
from ..magnetism.magnetic import declination_and_horizontal_at
from ..rows import BoolArray
from .geodesic import COINCIDENT_M, inverse

__all__ = ["Line", "chord_between", "grid_chord", "known", "line_between"]


@dataclass(frozen=True, slots=True)
class Line:
    """Lines, each from a first place to a second: arrays of the shape of the places.

    Azimuths are in [0, 360). [degree] A back azimuth is measured at the second place, from the north there. On the
    grid the line is the straight one on the map, so its back azimuth is just opposite. ``line_of_sight_grid_azimuth_deg``
    is that of the geodesic where it leaves the first place. Where ``distinct`` is false the places are the same, and
    all azimuths are NaN; where ``grid_reached`` is false a place is beyond the grid, and all values on the grid are
    NaN. The magnetic values are ``None`` without a date.
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
    #: The horizontal magnetic field at either end. [nT]
    horizontal_nt: FloatArray | None
    back_horizontal_nt: FloatArray | None
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
    reached = within_reach(lat1_deg, lon1_deg, zone, south) & within_reach(lat2_deg, lon2_deg, zone, south)
    zone = reached_zone(lat1_deg, lon1_deg, zone, reached)
    chord_m, chord_deg = grid_chord(lat1_deg, lon1_deg, lat2_deg, lon2_deg, zone, south)
    convergence_deg, _ = convergence_and_scale(lat1_deg, lon1_deg, zone, south)
    declination_deg = back_declination_deg = magnetic_deg = magnetic_back_deg = None
    horizontal_nt = back_horizontal_nt = None
    distinct = distance_m >= COINCIDENT_M
    if decimal_year is not None:
        declination_deg, horizontal_nt = declination_and_horizontal_at(lat1_deg, lon1_deg, decimal_year)
        back_declination_deg, back_horizontal_nt = declination_and_horizontal_at(
            lat2_deg, lon2_deg, decimal_year
        )
        magnetic_deg = known(normalise_azimuth(azimuth_deg - declination_deg), distinct)
        magnetic_back_deg = known(normalise_azimuth(back_azimuth_deg - back_declination_deg), distinct)
    return Line(
        distance_m=distance_m,
        true_azimuth_deg=known(azimuth_deg, distinct),
        true_back_azimuth_deg=known(back_azimuth_deg, distinct),
        grid_distance_m=known(chord_m, reached),
        grid_azimuth_deg=known(chord_deg, reached & distinct),
        grid_back_azimuth_deg=known(back_azimuth(chord_deg), reached & distinct),
        mean_scale_factor=known(chord_m, reached) / known(distance_m, distinct),
        line_of_sight_grid_azimuth_deg=known(
            normalise_azimuth(azimuth_deg - convergence_deg), reached & distinct
        ),
        declination_deg=declination_deg,
        back_declination_deg=back_declination_deg,
        magnetic_azimuth_deg=magnetic_deg,
        magnetic_back_azimuth_deg=magnetic_back_deg,
        horizontal_nt=horizontal_nt,
        back_horizontal_nt=back_horizontal_nt,
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
    return chord_between(to_grid(lat1_deg, lon1_deg, zone, south), to_grid(lat2_deg, lon2_deg, zone, south))


def chord_between(start: GridCoordinates, end: GridCoordinates) -> tuple[FloatArray, FloatArray]:
    """The same between places already on one grid."""
    east, north = end.easting_m - start.easting_m, end.northing_m - start.northing_m
    return np.hypot(east, north), normalise_azimuth(np.degrees(np.arctan2(east, north)))


def known(values: FloatArray, mask: BoolArray) -> FloatArray:
    """The values, NaN where the mask is not set; a numpy scalar for scalars."""
    return np.where(mask, values, np.nan)[()]
