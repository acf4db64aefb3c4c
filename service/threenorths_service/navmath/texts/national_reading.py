"""Readings of national grid references and of coordinates on any grid of the EPSG dataset.

The text has coordinates on the grid's own datum; the reading's place is on WGS 84, with the shift that brought it there.
"""

from __future__ import annotations

import numpy as np

from ..datums.datum import WGS84
from ..datums.datum_shift import shifted_from_wgs84
from ..datums.frame import Frame
from ..errors import NavigationError
from ..grids.lettered_grid import LETTERED_GRIDS, SQUARE_M, LetteredGrid, LetteredStatus
from ..grids.projected_grid import ProjectedGrid
from ..lines.geodesic import inverse
from .position_reading import GridSquare, PartialReference, PositionReading

__all__ = [
    "agrees_with_datum",
    "lettered_reading",
    "lettered_readings",
    "lettered_readings_near",
    "projected_reading",
]


def lettered_reading(
    grid: LetteredGrid, letters: str, easting: str, northing: str, frame: Frame
) -> PositionReading:
    """The reading of a reference: the centre of the square that it names.

    Raises
    ------
    OutsideGridError
        The grid has no such square, or the square's centre lies outside the area of the grid.
    UnreadablePositionError
        The figures are too many, or more on one side than on the other.
    OutsideDatumAreaError, BallparkShiftError
        There is no way from the grid's datum to WGS 84 there.
    """
    square = grid.read(letters, easting, northing)
    if square.status != LetteredStatus.OK:
        raise grid.error(int(square.status), letters)
    size_m = float(square.size_m)
    corner_m = float(square.easting_m), float(square.northing_m)
    centre_m = corner_m[0] + size_m / 2.0, corner_m[1] + size_m / 2.0
    lat_deg, lon_deg, shift = frame.from_grid(grid.epsg, False, *centre_m)
    return PositionReading(
        form="national_reference",
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        read_as=f"{grid.name} {grid.spaced(letters + easting + northing)}",
        resolution_north_m=size_m,
        resolution_east_m=size_m,
        zone=grid.epsg,
        south=False,
        band="",
        easting_m=centre_m[0],
        northing_m=centre_m[1],
        square=GridSquare(
            size_m=size_m,
            digits=int(square.digits),
            zone=grid.epsg,
            south=False,
            corner_easting_m=corner_m[0],
            corner_northing_m=corner_m[1],
            cut=False,
            overlap=False,
            frame=frame,
        ),
        shift=shift,
    )


def projected_reading(
    grid: ProjectedGrid, easting: str, northing: str, frame: Frame, *, in_feet: bool = False
) -> PositionReading:
    """The reading of whole coordinates as they are spelled, in metres or in the feet of the grid.

    Raises
    ------
    OutsideGridError
        The place lies outside the area of the grid.
    OutsideDatumAreaError, BallparkShiftError
        There is no way from the grid's datum to WGS 84 there.
    """
    unit, unit_m = ("ft", grid.unit_m) if in_feet else ("m", 1.0)
    easting_m, northing_m = float(easting) * unit_m, float(northing) * unit_m
    lat_deg, lon_deg, shift = frame.from_grid(grid.epsg, False, easting_m, northing_m)
    return PositionReading(
        form="projected",
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        read_as=f"EPSG:{grid.epsg} {_plain(easting)} {unit} E {_plain(northing)} {unit} N",
        resolution_north_m=_last_digit(northing) * unit_m,
        resolution_east_m=_last_digit(easting) * unit_m,
        zone=grid.epsg,
        south=False,
        band="",
        easting_m=easting_m,
        northing_m=northing_m,
        shift=shift,
    )


def lettered_readings(partial: PartialReference, frame: Frame) -> list[PositionReading]:
    """The places that letters with figures name on the lettered grids; none where there are no letters."""
    if partial.zone is not None or partial.band is not None or partial.whole:
        return []
    return _readable(
        [(grid, partial.letters) for grid in LETTERED_GRIDS.values() if grid.has_square(partial.letters)],
        partial,
        frame,
    )


def lettered_readings_near(
    partial: PartialReference, frame: Frame, lat_deg: float, lon_deg: float, reach_m: float
) -> list[PositionReading]:
    """The places near another that a reference names on the lettered grids whose area holds that other place.

    Figures without letters come again in every 100 km square. A square is near if any part of it may be.

    Parameters
    ----------
    lat_deg, lon_deg : float
        The other place, on WGS 84. [degree]
    reach_m : float
        How far from there a place may be. [metre]
    """
    if partial.zone is not None or partial.band is not None:
        return []
    readings: list[PositionReading] = []
    for grid in LETTERED_GRIDS.values():
        near_m = _on_grid(grid, lat_deg, lon_deg)
        if near_m is None:
            continue
        if partial.whole:
            readings += _whole_readings(grid, partial, frame)
        elif not partial.letters:
            squares = _squares_near(grid, partial, near_m, reach_m)
            readings += _readable([(grid, letters) for letters in squares], partial, frame)
        elif grid.has_square(partial.letters):
            readings += _readable([(grid, partial.letters)], partial, frame)
    return [reading for reading in readings if _is_near(reading, lat_deg, lon_deg, reach_m)]


def agrees_with_datum(reading: PositionReading, frame: Frame) -> bool:
    """Whether a place on a national grid may be meant where positions are said to be on the datum of ``frame``.

    On WGS 84 they are where nothing is said, so that speaks against no grid. Any other datum was named.
    """
    datum = WGS84 if reading.shift is None else reading.shift.datum
    return frame.datum.epsg in (WGS84.epsg, datum.epsg)


def _on_grid(grid: LetteredGrid, lat_deg: float, lon_deg: float) -> tuple[float, float] | None:
    """Easting and northing of a place on WGS 84, if it lies in the area of the grid. [metre]"""
    projection = grid.projection
    try:
        lat_deg, lon_deg, _shift = shifted_from_wgs84(projection.datum, lat_deg, lon_deg)
    except NavigationError:
        return None
    if not projection.contains(lat_deg, lon_deg):
        return None
    easting_m, northing_m = projection.to_grid(lat_deg, lon_deg)
    return float(easting_m), float(northing_m)


def _squares_near(
    grid: LetteredGrid, partial: PartialReference, near_m: tuple[float, float], reach_m: float
) -> list[str]:
    """The letters of the 100 km squares in which the figures may name a place near by."""
    # Longer than on the ground by the scale of the grid, which is under one part in a hundred.
    reach_m = 1.01 * reach_m + SQUARE_M / 10 ** len(partial.easting)
    names = np.array(" ".join(grid.diagram).split())
    corners = grid.read(names, partial.easting, partial.northing)
    half_m = corners.size_m / 2.0
    distance_m = np.hypot(corners.easting_m + half_m - near_m[0], corners.northing_m + half_m - near_m[1])
    return [str(name) for name in names[distance_m <= reach_m]]


def _readable(
    squares: list[tuple[LetteredGrid, str]], partial: PartialReference, frame: Frame
) -> list[PositionReading]:
    """The readings of the figures in each square, but where there is none."""
    readings = []
    for grid, letters in squares:
        try:
            readings.append(lettered_reading(grid, letters, partial.easting, partial.northing, frame))
        except NavigationError:  # a square outside the area, and the others are not
            continue
    return readings


def _whole_readings(grid: LetteredGrid, partial: PartialReference, frame: Frame) -> list[PositionReading]:
    try:
        return [projected_reading(grid.projection, partial.easting, partial.northing, frame)]
    except NavigationError:
        return []


def _is_near(reading: PositionReading, lat_deg: float, lon_deg: float, reach_m: float) -> bool:
    """Whether any part of the square, or the place, is within reach."""
    half_diagonal_m = 0.0 if reading.square is None else reading.square.size_m * 0.5**0.5
    _azimuth, _back_azimuth, distance_m = inverse(lat_deg, lon_deg, reading.lat_deg, reading.lon_deg)
    return bool(distance_m <= reach_m + half_diagonal_m)


def _plain(number: str) -> str:
    """The number as it was spelled, without leading zeros or a plus."""
    sign = "-" if number.startswith("-") else ""
    whole, _, decimals = number.lstrip("+-").partition(".")
    return sign + (whole.lstrip("0") or "0") + (f".{decimals}" if decimals else "")


def _last_digit(number: str) -> float:
    return float(10.0 ** -len(number.partition(".")[2]))
