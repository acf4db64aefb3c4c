"""UTM and UPS grid coordinates, their convergence and scale.

Conventions: `DEVELOPERS.md`. Zone 0 is UPS. Latitude and longitude are on WGS 84, or on a datum of the ellipsoid that is
given: the zones and their grids are the same on each, the numbers are not. A zone and a hemisphere that are given are
kept to, so that both ends of a line can be put on one grid; without them the rule of the zones decides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .angle import FloatArray, normalise_signed
from .ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from .grid_limits import check_ups, check_utm
from .projections import (
    UTM_SCALE,
    UTM_SOUTH_FALSE_NORTHING_M,
    stereographic_forward,
    stereographic_inverse,
    stereographic_scale,
    transverse_mercator_forward,
    transverse_mercator_inverse,
)
from .rows import BoolArray, IntArray, as_rows, in_shape
from .transverse_mercator import convergence_and_unit_scale
from .zones import LETTERS_PER_ZONE, band_of, check_places, designation_of, zone_of

__all__ = [
    "GridCoordinates",
    "band_of",
    "central_meridian_deg",
    "check_ups",
    "check_utm",
    "convergence_and_scale",
    "from_grid",
    "to_grid",
    "within_reach",
    "zone_of",
]

#: How far from its central meridian a zone's grid is still used for a line that leaves the zone. Common practice, no
#: source; the projection itself holds much further.
REACH_LON_DEG = 20.0
#: The same for UPS: down to this latitude, some 2200 km from the pole.
REACH_LAT_DEG = 70.0


@dataclass(frozen=True, slots=True)
class GridCoordinates:
    """Places on the UTM or UPS grid: arrays of one shape, or numpy scalars.

    ``zone`` is 0 for UPS. ``south`` says which UPS grid, or that the UTM northing counts from 10,000,000 m at the
    equator. Eastings and northings include the false origins. [metre]
    """

    zone: IntArray
    south: BoolArray
    easting_m: FloatArray
    northing_m: FloatArray


def central_meridian_deg(zone: ArrayLike) -> FloatArray:
    """Longitude of the central meridian of UTM zones 1 to 60. [degree]"""
    return np.asarray(zone, dtype=np.float64) * 6.0 - 183.0


def _lon_difference(lon_deg: FloatArray, zone: IntArray) -> FloatArray:
    """Longitude less that of the central meridian, in [-180, 180): exact near the meridian, on either side of 180."""
    difference = lon_deg - (zone * 6.0 - 183.0)
    return difference - 360.0 * np.floor((difference + 180.0) / 360.0)


def _places(
    lat_deg: ArrayLike, lon_deg: ArrayLike, zone: ArrayLike | None, south: ArrayLike | None
) -> tuple[FloatArray, FloatArray, IntArray, BoolArray, tuple[int, ...]]:
    """Checked rows of latitude, longitude, zone and hemisphere, by the rule where not given; and their shape."""
    forced = [value for value in (zone, south) if value is not None]
    (lat, lon, *rows), shape = as_rows(lat_deg, lon_deg, *forced)
    check_places(lat, lon)
    south_rows = lat < 0.0 if south is None else rows.pop() != 0.0
    zone_rows = designation_of(lat, lon) // LETTERS_PER_ZONE if zone is None else rows.pop().astype(np.int64)
    return lat, lon, zone_rows, south_rows, shape


def _polar_rows(zone: IntArray, south: BoolArray) -> list[tuple[bool, NDArray[np.intp]]]:
    """The rows on each UPS grid that has any."""
    if zone.all():
        return []
    grids = [(pole, np.flatnonzero((zone == 0) & (south == pole))) for pole in (False, True)]
    return [(pole, rows) for pole, rows in grids if rows.size]


def to_grid(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> GridCoordinates:
    """UTM or UPS coordinates of each place.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Latitude in [-90, 90] and longitude in [-180, 360). [degree]
    zone : array_like of int, optional
        The grid to use, 1 to 60 or 0 for UPS, wherever the place is; ask `within_reach` first. Default: by the rule.
    south : array_like of bool, optional
        The hemisphere to use; with ``False`` a UTM northing south of the equator is negative. Default: by the latitude,
        the equator being north.
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum on which the latitude and longitude are.

    Raises
    ------
    OutOfRangeError
        Any latitude or longitude is out of range or NaN.
    """
    lat, lon, zone_rows, south_rows, shape = _places(lat_deg, lon_deg, zone, south)
    easting_m, northing_m = transverse_mercator_forward(lat, _lon_difference(lon, zone_rows), ellipsoid)
    northing_m = northing_m + UTM_SOUTH_FALSE_NORTHING_M * south_rows
    for pole, rows in _polar_rows(zone_rows, south_rows):
        easting_m[rows], northing_m[rows] = stereographic_forward(lat[rows], lon[rows], pole, ellipsoid)
    return GridCoordinates(
        in_shape(zone_rows, shape),
        in_shape(south_rows, shape),
        in_shape(easting_m, shape),
        in_shape(northing_m, shape),
    )


def from_grid(
    zone: ArrayLike,
    south: ArrayLike,
    easting_m: ArrayLike,
    northing_m: ArrayLike,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude of grid coordinates, the inverse of `to_grid`.

    Parameters
    ----------
    zone, south : array_like
        As in `GridCoordinates`.
    easting_m, northing_m : array_like
        With the false origins, and within reach of the grid: `grid_limits` checks what people give. [metre]
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum on which the grid is.

    Returns
    -------
    lat_deg, lon_deg : ndarray of the broadcast shape
        On the same datum. The longitude is in [-180, 180); at a pole it is 0. [degree]
    """
    (zone_rows, south_rows, easting, northing), shape = as_rows(zone, south, easting_m, northing_m)
    from_equator = northing - UTM_SOUTH_FALSE_NORTHING_M * south_rows
    lat, lon = transverse_mercator_inverse(easting, from_equator, ellipsoid)
    lon = lon + (zone_rows * 6.0 - 183.0)
    for pole, rows in _polar_rows(zone_rows, south_rows != 0.0):
        lat[rows], lon[rows] = stereographic_inverse(easting[rows], northing[rows], pole, ellipsoid)
    lon = lon - 360.0 * (lon >= 180.0) + 360.0 * (lon < -180.0)
    return in_shape(lat, shape), in_shape(lon, shape)


def convergence_and_scale(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> tuple[FloatArray, FloatArray]:
    """Convergence and point scale factor of the grid at each place.

    Parameters and errors are those of `to_grid`.

    Returns
    -------
    convergence_deg, scale : ndarray of the broadcast shape
        The convergence is from true north to grid north, east positive, in (-180, 180]. [degree] At a pole it is that of
        the longitude given.
    """
    lat, lon, zone_rows, south_rows, shape = _places(lat_deg, lon_deg, zone, south)
    convergence, scale = convergence_and_unit_scale(lat, _lon_difference(lon, zone_rows), ellipsoid)
    scale *= UTM_SCALE
    for pole, rows in _polar_rows(zone_rows, south_rows):
        convergence[rows] = normalise_signed(-lon[rows] if pole else lon[rows])
        scale[rows] = stereographic_scale(lat[rows], pole, ellipsoid)
    return in_shape(convergence + 0.0, shape), in_shape(scale, shape)


def within_reach(lat_deg: ArrayLike, lon_deg: ArrayLike, zone: ArrayLike, south: ArrayLike) -> BoolArray:
    """Whether each place may be put on the grid of ``zone`` and ``south`` for a line that begins there.

    Within 20 degrees of longitude of a UTM zone's central meridian; from latitude 70 to the pole of a UPS grid.
    Parameters and errors are those of `to_grid`.
    """
    lat, lon, zone_rows, south_rows, shape = _places(lat_deg, lon_deg, zone, south)
    utm = np.abs(_lon_difference(lon, zone_rows)) <= REACH_LON_DEG
    ups = np.where(south_rows, -lat, lat) >= REACH_LAT_DEG
    return in_shape(np.where(zone_rows == 0, ups, utm), shape)
