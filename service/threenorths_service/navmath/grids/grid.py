"""UTM, UPS and national grid coordinates, their convergence and scale.

Conventions: `DEVELOPERS.md`. Zone 0 is UPS, and a zone from 1024 up is a national grid by its EPSG code. Latitude and
longitude are on WGS 84 or, for UTM and UPS, on a datum of the ellipsoid that is given: the zones and their grids are the
same on each, the numbers are not. A zone and a hemisphere that are given are kept to, so that both ends of a line can be
put on one grid; without them the rule of the zones decides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_signed
from ..rows import BoolArray, IntArray, as_rows, in_shape
from .ellipsoid import WGS84_ELLIPSOID, Ellipsoid
from .grid_limits import check_ups, check_utm
from .national_grid import (
    national_convergence_and_scale,
    national_from_grid,
    national_reach,
    national_to_grid,
)
from .projected_grid import FIRST_EPSG_CODE
from .projections import (
    UPS_FALSE_ORIGIN_M,
    UTM_SCALE,
    UTM_SOUTH_FALSE_NORTHING_M,
    stereographic_forward,
    stereographic_inverse,
    stereographic_scale,
    transverse_mercator_forward,
    transverse_mercator_inverse,
)
from .transverse_mercator import convergence_and_unit_scale
from .zones import LETTERS_PER_ZONE, band_of, check_places, designation_of, zone_of

__all__ = [
    "GridCoordinates",
    "band_of",
    "band_on_grid",
    "central_meridian_deg",
    "check_ups",
    "check_utm",
    "convergence_and_scale",
    "from_grid",
    "reached_zone",
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
    """Places on a grid: arrays of one shape, or numpy scalars.

    ``zone`` is 0 for UPS, and from 1024 up the EPSG code of a national grid. ``south`` says which UPS grid, or that the UTM
    northing counts from 10,000,000 m at the equator; it is false on a national grid. Eastings and northings include the
    false origins. [metre]
    """

    zone: IntArray
    south: BoolArray
    easting_m: FloatArray
    northing_m: FloatArray


def central_meridian_deg(zone: ArrayLike) -> FloatArray:
    """Longitude of the central meridian of UTM zones 1 to 60. [degree]"""
    return np.asarray(zone, dtype=np.float64) * 6.0 - 183.0


def band_on_grid(lat_deg: ArrayLike, lon_deg: ArrayLike, grid: GridCoordinates) -> NDArray[np.str_]:
    """The band letter of places that are on their own grid by the rule: that of `band_of`, and in UPS by the easting.

    A place a hair to the west of the meridian that halves the grid has, rounded, the easting of the pole, and so a square in
    the eastern half.
    """
    bands = band_of(lat_deg, lon_deg)
    polar = np.equal(grid.zone, 0)
    if not polar.any():
        return bands
    east = np.greater_equal(grid.easting_m, UPS_FALSE_ORIGIN_M)
    halves = np.where(grid.south, np.where(east, "B", "A"), np.where(east, "Z", "Y"))
    return np.where(polar, halves, bands)[()]


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


def _rows_off_utm(zone: IntArray | FloatArray, south: BoolArray) -> list[tuple[int, bool, NDArray[np.intp]]]:
    """The rows of each UPS and each national grid that has any: its zone, whether it is UPS South, and the rows."""
    if zone.all() and zone.max(initial=0) < FIRST_EPSG_CODE:
        return []
    off = np.flatnonzero((zone == 0) | (zone >= FIRST_EPSG_CODE))
    zones, souths = zone[off], south[off]
    grids = [(0, pole, off[(zones == 0) & (souths == pole)]) for pole in (False, True)]
    grids += [(int(code), False, off[zones == code]) for code in np.unique(zones[zones > 0])]
    return [(code, pole, rows) for code, pole, rows in grids if rows.size]


def to_grid(
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
    *,
    ellipsoid: Ellipsoid = WGS84_ELLIPSOID,
) -> GridCoordinates:
    """Grid coordinates of each place.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Latitude in [-90, 90] and longitude in [-180, 360). [degree]
    zone : array_like of int, optional
        The grid to use, 1 to 60, 0 for UPS or the EPSG code of a national grid, wherever the place is; ask `within_reach`
        first. Default: by the rule.
    south : array_like of bool, optional
        The hemisphere to use; with ``False`` a UTM northing south of the equator is negative. Default: by the latitude,
        the equator being north.
    ellipsoid : Ellipsoid, default WGS 84
        That of the datum on which the latitude and longitude are. National grids bring their own datums and do not ask
        for it: their places are on WGS 84.

    Raises
    ------
    OutOfRangeError
        Any latitude or longitude is out of range or NaN.
    UnknownGridError
        There is no such national grid.
    OutsideGridError
        Any place is beyond the reach of its national grid.
    """
    lat, lon, zone_rows, south_rows, shape = _places(lat_deg, lon_deg, zone, south)
    easting_m, northing_m = transverse_mercator_forward(lat, _lon_difference(lon, zone_rows), ellipsoid)
    northing_m = northing_m + UTM_SOUTH_FALSE_NORTHING_M * south_rows
    for grid, pole, rows in _rows_off_utm(zone_rows, south_rows):
        if grid >= FIRST_EPSG_CODE:
            easting_m[rows], northing_m[rows] = national_to_grid(grid, lat[rows], lon[rows])
            south_rows[rows] = False
        else:
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
        That of the datum on which the UTM or UPS grid is.

    Returns
    -------
    lat_deg, lon_deg : ndarray of the broadcast shape
        On the same datum; of national grids, on WGS 84. The longitude is in [-180, 180); at a pole it is 0. [degree]

    Raises
    ------
    UnknownGridError, OutsideGridError
        As for `to_grid`.
    """
    (zone_rows, south_rows, easting, northing), shape = as_rows(zone, south, easting_m, northing_m)
    from_equator = northing - UTM_SOUTH_FALSE_NORTHING_M * south_rows
    lat, lon = transverse_mercator_inverse(easting, from_equator, ellipsoid)
    lon = lon + (zone_rows * 6.0 - 183.0)
    for grid, pole, rows in _rows_off_utm(zone_rows, south_rows != 0.0):
        if grid >= FIRST_EPSG_CODE:
            lat[rows], lon[rows] = national_from_grid(grid, easting[rows], northing[rows])
        else:
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
    nearby: bool = False,
) -> tuple[FloatArray, FloatArray]:
    """Convergence and point scale factor of the grid at each place.

    Parameters and errors are those of `to_grid`, but that a national grid serves in all of its area, even where there is
    no shift to its datum. What searches for a place and may stray on the way asks for ``nearby``: beyond its area a national
    grid then has the north and the scale of the nearest place in there.

    Returns
    -------
    convergence_deg, scale : ndarray of the broadcast shape
        The convergence is from true north to grid north, east positive, in (-180, 180]. [degree] At a pole it is that of
        the longitude given. On a national grid true north and the metre are those of its own datum: see
        `national_convergence_and_scale`.
    """
    lat, lon, zone_rows, south_rows, shape = _places(lat_deg, lon_deg, zone, south)
    convergence, scale = convergence_and_unit_scale(lat, _lon_difference(lon, zone_rows), ellipsoid)
    scale *= UTM_SCALE
    for grid, pole, rows in _rows_off_utm(zone_rows, south_rows):
        if grid >= FIRST_EPSG_CODE:
            convergence[rows], scale[rows] = national_convergence_and_scale(
                grid, lat[rows], lon[rows], nearby=nearby
            )
        else:
            convergence[rows] = normalise_signed(-lon[rows] if pole else lon[rows])
            scale[rows] = stereographic_scale(lat[rows], pole, ellipsoid)
    return in_shape(convergence + 0.0, shape), in_shape(scale, shape)


def within_reach(lat_deg: ArrayLike, lon_deg: ArrayLike, zone: ArrayLike, south: ArrayLike) -> BoolArray:
    """Whether each place may be put on the grid of ``zone`` and ``south`` for a line that begins there.

    Within 20 degrees of longitude of a UTM zone's central meridian; from latitude 70 to the pole of a UPS grid; in the
    area of a national grid and half a degree around it, where there is a shift to its datum. Parameters and errors are
    those of `to_grid`, but that no place is beyond reach.
    """
    lat, lon, zone_rows, south_rows, shape = _places(lat_deg, lon_deg, zone, south)
    utm = np.abs(_lon_difference(lon, zone_rows)) <= REACH_LON_DEG
    ups = np.where(south_rows, -lat, lat) >= REACH_LAT_DEG
    reached = np.where(zone_rows == 0, ups, utm)
    for grid, _pole, rows in _rows_off_utm(zone_rows, south_rows):
        if grid >= FIRST_EPSG_CODE:
            reached[rows] = national_reach(grid, lat[rows], lon[rows])
    return in_shape(reached, shape)


def reached_zone(lat_deg: ArrayLike, lon_deg: ArrayLike, zone: ArrayLike, reached: BoolArray) -> ArrayLike:
    """The zone where it is reached, and elsewhere that of the place by the rule, where numbers stand in that nobody uses.

    For a row-wise function that masks what is beyond reach, where a national grid would raise.
    """
    return zone if np.all(reached) else np.where(reached, zone, zone_of(lat_deg, lon_deg))
