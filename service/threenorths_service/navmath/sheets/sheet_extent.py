"""What a sheet covers: its sides on the ground, on the grid and on the paper, the grid zones and the 100 km squares."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_longitude, normalise_signed
from ..grids.datum_grid import DatumGrid
from ..grids.grid import zone_of
from ..grids.lettered_grid import LETTERED_GRIDS, SQUARE_M, LetteredGrid
from ..lines.geodesic import direct, inverse
from ..references.mgrs import write_mgrs
from .sheet import Sheet

__all__ = [
    "SIDE_NAMES",
    "Samples",
    "Side",
    "datum_middle",
    "diagonals_m",
    "samples",
    "sides",
    "squares_touched",
    "zones_touched",
]

#: The sides of a sheet, in the order of its corners: each goes from one to the next.
SIDE_NAMES = ("south", "east", "north", "west")

#: A square counts as touched when the sheet reaches so far into it: corners are rounded, and a sheet whose edge is a line
#: between squares lies in those of one side only. Common practice, no source. [metre]
TOUCH_M = 10.0

#: Places over a sheet lie no further apart than this, so that no whole square of 100 km falls between them. [metre]
WIDEST_STEP_M = 50_000.0
#: Rows of places over a sheet: enough for the bend of declination over it, and few enough for a sheet of a continent.
FEWEST_ROWS, MOST_ROWS = 7, 81


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a sheet, from corner to corner; ``None`` where the grid or the scale is not known."""

    name: str
    #: On the ellipsoid of WGS 84. [metre]
    ground_m: float
    #: Between the grid coordinates of the corners, as it is drawn. [metre]
    grid_m: float | None
    #: As it measures on the printed sheet: of the length on the grid, if known, else of that on the ground. [millimetre]
    paper_mm: float | None


@dataclass(frozen=True, slots=True)
class Samples:
    """Places spread over a sheet, arrays of shape (N,), on WGS 84 and on the sheet's datum. [degree]

    One of the two is carried over by the shift of the corners, and right to some metres.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    datum_lat_deg: FloatArray
    datum_lon_deg: FloatArray


def sides(sheet: Sheet) -> tuple[Side, ...]:
    """The four sides of a sheet with edges."""
    lat, lon = sheet.wgs84_corner_places.T
    ground_m = inverse(lat, lon, np.roll(lat, -1), np.roll(lon, -1))[2]
    grid = sheet.corner_grid_places
    grid_m = None if grid is None else np.hypot(*(np.roll(grid, -1, axis=0) - grid).T)
    drawn_m = ground_m if grid_m is None else grid_m
    return tuple(
        Side(
            name,
            float(ground_m[place]),
            None if grid_m is None else float(grid_m[place]),
            None if sheet.scale is None else float(drawn_m[place]) * 1000.0 / sheet.scale,
        )
        for place, name in enumerate(SIDE_NAMES)
    )


def diagonals_m(sheet: Sheet) -> tuple[float, float]:
    """From the south-west to the north-east corner, and from the south-east to the north-west one. [metre]"""
    lat, lon = sheet.wgs84_corner_places.T
    one, other = inverse(lat[:2], lon[:2], lat[2:], lon[2:])[2]
    return float(one), float(other)


def samples(sheet: Sheet) -> Samples:
    """Places in rows from side to side of a sheet with edges, its corners among them."""
    needed = np.ceil(2.0 * sheet.radius_m / WIDEST_STEP_M) + 1.0
    shares = np.linspace(0.0, 1.0, int(np.clip(needed, FEWEST_ROWS, MOST_ROWS)))
    east, north = (share.reshape(-1) for share in np.meshgrid(shares, shares))
    weights = np.stack(
        ((1.0 - east) * (1.0 - north), east * (1.0 - north), east * north, (1.0 - east) * north), axis=1
    )
    grid, corners_m = sheet.grid, sheet.corner_grid_places
    if sheet.on_grid and grid is not None and corners_m is not None:
        lat, lon = grid.from_grid(*(weights @ corners_m).T)
    else:
        lat, lon = (weights @ _without_jumps(sheet.corner_places)).T
    lat_shift, lon_shift = (weights @ _shifts(sheet)).T
    return Samples(
        np.clip(lat + lat_shift, -90.0, 90.0),
        normalise_longitude(lon + lon_shift),
        np.clip(lat, -90.0, 90.0),
        normalise_longitude(lon),
    )


def datum_middle(sheet: Sheet) -> tuple[float, float]:
    """Latitude and longitude of the middle of a sheet with edges, on its own datum. [degree]"""
    lat, lon = sheet.middle()
    lat_shift, lon_shift = _shifts(sheet).mean(axis=0)
    return lat - lat_shift, float(normalise_longitude(lon - lon_shift))


def zones_touched(sheet: Sheet) -> tuple[int, ...]:
    """The grid zones that a sheet with edges reaches into, by the rule of the zones; 0 is UPS."""
    lat, lon = _places_within(sheet)
    from_greenwich = normalise_longitude(lon + sheet.datum.prime_meridian_deg)
    return tuple(sorted({int(zone) for zone in zone_of(lat, from_greenwich)}))


def squares_touched(sheet: Sheet) -> tuple[str, ...]:
    """The 100 km squares that a sheet with edges reaches into by `TOUCH_M`, in alphabetical order.

    On a lettered national grid their letters, such as ``TQ``; else those of MGRS with their zones, such as ``32TMT``.
    """
    lat, lon = _places_within(sheet)
    lettered = _lettered_grid(sheet.grid_zone)
    south = sheet.middle()[0] < 0.0
    zones = zones_touched(sheet) if lettered is None else (lettered.epsg,)
    around = [_around_meeting_squares(sheet, DatumGrid(zone, south, sheet.datum), lat, lon) for zone in zones]
    lat = np.concatenate((lat, *(places[0] for places in around)))
    lon = np.concatenate((lon, *(places[1] for places in around)))
    if lettered is None:
        from_greenwich = normalise_longitude(lon + sheet.datum.prime_meridian_deg)
        names = write_mgrs(lat, from_greenwich, 0, ellipsoid=sheet.datum.ellipsoid)
    else:
        easting, northing = lettered.projection.to_grid(lat, lon)
        with_letters = lettered.holds(easting, northing)
        names = lettered.write(easting[with_letters], northing[with_letters], 0)
    return tuple(sorted({str(name) for name in names}))


def _lettered_grid(zone: int | None) -> LetteredGrid | None:
    return next((grid for grid in LETTERED_GRIDS.values() if grid.epsg == zone), None)


def _places_within(sheet: Sheet) -> tuple[FloatArray, FloatArray]:
    """Places all over a sheet, and all along its edge but `TOUCH_M` within it, on the sheet's datum."""
    over = samples(sheet)
    inside = sheet.contains(over.lat_deg, over.lon_deg)
    edge_lat, edge_lon = sheet.edges.fine_points()
    lat = np.concatenate((edge_lat, over.lat_deg[inside]))
    lon = np.concatenate((edge_lon, over.lon_deg[inside]))
    azimuth, _back, distance_m = inverse(lat, lon, *sheet.middle())
    lat, lon, _back = direct(lat, lon, azimuth, np.minimum(TOUCH_M * math.sqrt(2.0), distance_m))
    lat_shift, lon_shift = _shifts(sheet).mean(axis=0)
    return lat - lat_shift, normalise_longitude(lon - lon_shift)


def _around_meeting_squares(
    sheet: Sheet, grid: DatumGrid, lat_deg: FloatArray, lon_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Places in the four squares around every point on the sheet at which squares of a grid meet.

    Without them a square could be missed of which only a corner, between two places on the edge, is on the sheet.
    """
    if not grid.is_national:
        rows = zone_of(lat_deg, grid.from_greenwich(lon_deg)) == grid.zone
        lat_deg, lon_deg = lat_deg[rows], lon_deg[rows]
    lines = [
        np.arange(np.ceil(values.min() / SQUARE_M), np.floor(values.max() / SQUARE_M) + 1.0) * SQUARE_M
        for values in grid.to_grid(lat_deg, lon_deg)
    ]
    easting, northing = (values.reshape(-1) for values in np.meshgrid(*lines))
    lat_shift, lon_shift = _shifts(sheet).mean(axis=0)
    lat, lon = grid.from_grid(easting, northing)
    meeting = sheet.contains(lat + lat_shift, lon + lon_shift)
    east_m, north_m = np.array(
        [(-TOUCH_M, TOUCH_M, TOUCH_M, -TOUCH_M), (-TOUCH_M, -TOUCH_M, TOUCH_M, TOUCH_M)]
    )
    return grid.from_grid(
        (easting[meeting][:, np.newaxis] + east_m).reshape(-1),
        (northing[meeting][:, np.newaxis] + north_m).reshape(-1),
    )


def _shifts(sheet: Sheet) -> FloatArray:
    """From the sheet's datum to WGS 84 at each corner: shape (4, 2), latitude and longitude. [degree]"""
    shifts = sheet.wgs84_corner_places - sheet.corner_places
    return np.column_stack((shifts[:, 0], normalise_signed(shifts[:, 1])))


def _without_jumps(places: FloatArray) -> FloatArray:
    """Places with their longitudes counted from that of the first, so that none jumps at the antimeridian."""
    lon = places[0, 1] + normalise_signed(places[:, 1] - places[0, 1])
    return np.column_stack((places[:, 0], lon))
