"""National grids in rows: places on WGS 84, and a grid that is the EPSG code of a projected coordinate reference system.

Each grid stands on a datum of its own, and places go there and back by `datum_shift`. Where the areas of two of its
operations meet, grid coordinates jump by as much as these disagree, which is metres.
"""

from __future__ import annotations

import numpy as np

from ..angle import FloatArray, normalise_longitude
from ..datums.datum_shift import from_wgs84, to_wgs84
from ..errors import OutsideGridError
from ..rows import BoolArray
from .projected_grid import AREA_MARGIN_DEG, ProjectedGrid, projected_grid

__all__ = [
    "national_convergence_and_scale",
    "national_from_grid",
    "national_reach",
    "national_to_grid",
]


def national_to_grid(epsg: int, lat_deg: FloatArray, lon_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Easting and northing of rows of places on WGS 84. [metre]

    Raises
    ------
    UnknownGridError
        There is no such grid.
    OutsideGridError
        Any place is beyond the grid's reach: see `national_reach`.
    """
    grid = projected_grid(epsg)
    places = from_wgs84(grid.datum, lat_deg, lon_deg)
    _check_reached(grid, grid.contains(places.lat_deg, places.lon_deg), lat_deg, lon_deg)
    return grid.to_grid(places.lat_deg, places.lon_deg)


def national_from_grid(
    epsg: int, easting_m: FloatArray, northing_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Latitude and longitude on WGS 84 of rows of grid coordinates, the longitude in [-180, 180). [degree]

    Errors are those of `national_to_grid`, and of `ProjectedGrid.from_grid`.
    """
    grid = projected_grid(epsg)
    on_datum = grid.from_grid(easting_m, northing_m)
    places = to_wgs84(grid.datum, *on_datum)
    _check_reached(grid, grid.contains(*on_datum) & (places.operation >= 0), *on_datum)
    return places.lat_deg, places.lon_deg


def national_convergence_and_scale(
    epsg: int, lat_deg: FloatArray, lon_deg: FloatArray, *, nearby: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Convergence [degree] and point scale factor of the grid at rows of places on WGS 84.

    Both are those of the grid on its own datum, whose true north is not quite that of WGS 84, nor its metre: on old datums
    the norths differ by some seconds of arc, the metres by some hundred-thousandths. A datum without a known way from
    WGS 84 serves too: places are taken over as they stand, which at 1500 m (`datum_shift.BALLPARK_ACCURACY_M`) turns the
    convergence by a minute or two at most, away from the poles. With ``nearby`` a place outside the area is given those of
    the nearest place of the area, in degrees.

    Raises
    ------
    UnknownGridError
        There is no such grid.
    OutsideGridError
        Any place lies outside the area of the grid and half a degree around it, ``nearby`` not being asked.
    """
    grid = projected_grid(epsg)
    lat, lon = _on_datum(grid, lat_deg, lon_deg)
    if nearby:
        lat, lon = _nearest_in_area(grid, lat, lon)
    else:
        _check_reached(grid, grid.contains(lat, lon), lat_deg, lon_deg)
    return grid.convergence_and_scale(lat, lon)


def national_reach(epsg: int, lat_deg: FloatArray, lon_deg: FloatArray) -> BoolArray:
    """Whether rows of places on WGS 84 lie in the box round the grid's area or within `projected_grid.AREA_MARGIN_DEG`
    of it, and where there is a shift to its datum.
    """
    grid = projected_grid(epsg)
    places = from_wgs84(grid.datum, lat_deg, lon_deg)
    return grid.contains(places.lat_deg, places.lon_deg)


def _on_datum(grid: ProjectedGrid, lat_deg: FloatArray, lon_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The places on the grid's datum, those without a shift as they stand."""
    places = from_wgs84(grid.datum, lat_deg, lon_deg)
    known = places.operation >= 0
    lon_as_it_stands = normalise_longitude(lon_deg - grid.datum.prime_meridian_deg)
    return np.where(known, places.lat_deg, lat_deg), np.where(known, places.lon_deg, lon_as_it_stands)


def _nearest_in_area(
    grid: ProjectedGrid, lat_deg: FloatArray, lon_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The places themselves, those that the grid does not contain brought to the edge of what it does."""
    area = grid.area
    middle_deg = area.west_deg + area.width_deg / 2.0 - grid.datum.prime_meridian_deg
    reach_deg = area.width_deg / 2.0 + AREA_MARGIN_DEG
    from_middle_deg = np.clip(normalise_longitude(lon_deg - middle_deg), -reach_deg, reach_deg)
    south_deg = max(area.south_deg - AREA_MARGIN_DEG, -90.0)
    north_deg = min(area.north_deg + AREA_MARGIN_DEG, 90.0)
    lat, lon = np.clip(lat_deg, south_deg, north_deg), normalise_longitude(middle_deg + from_middle_deg)
    inside = grid.contains(lat_deg, lon_deg)
    return np.where(inside, lat_deg, lat), np.where(inside, lon_deg, lon)


def _check_reached(grid: ProjectedGrid, reached: BoolArray, lat_deg: FloatArray, lon_deg: FloatArray) -> None:
    if reached.all():
        return
    first = int(np.flatnonzero(~reached)[0])
    lat, lon = float(lat_deg[first]), float(lon_deg[first])
    raise OutsideGridError(
        f"latitude {lat:.4f}, longitude {lon:.4f} is beyond the reach of {grid.name}",
        value=[lat, lon],
        allowed=f"places in {grid.area_name}",
    )
