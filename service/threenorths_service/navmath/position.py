"""A place, however it was given, and the same place in every form."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from .angle import FloatArray, normalise_longitude
from .cautions import Caution, caution
from .errors import OutsideGridError
from .grid import central_meridian_deg, convergence_and_scale, from_grid, to_grid
from .grid_limits import check_ups, check_utm
from .mgrs import spaced_mgrs, square_corners, write_mgrs_from_grid
from .position_reading import GridSquare, PositionReading
from .position_text import read_position_text
from .position_written import write_decimal_degrees, write_degrees_minutes, write_degrees_minutes_seconds
from .zones import band_of

__all__ = [
    "TAKES",
    "Place",
    "Position",
    "describe",
    "digits_for",
    "place_from_geodetic",
    "place_from_text",
    "place_from_ups",
    "place_from_utm",
]

TAKES = ("centre", "corner")
FINEST_DIGITS = 5
ABSENT_IN_BAND_X = (32, 34, 36)
#: A zone number with a bare S, which is a band as well as a hemisphere.
_S_AFTER_ZONE = re.compile(r"[0-9]\s*s(?![a-z])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Place:
    """A place with the grid it is worked on: the one it was given in, or its own by the zone rule.

    ``zone`` is 0 for UPS. ``digits`` and ``resolution_m`` are ``None`` where nothing was written that has them.
    """

    form: str
    read_as: str
    lat_deg: float
    lon_deg: float
    zone: int
    south: bool
    band: str
    easting_m: float
    northing_m: float
    digits: int | None = None
    resolution_m: float | None = None
    cautions: tuple[Caution, ...] = ()

    @property
    def given_on_grid(self) -> bool:
        """Whether the place was given by a grid reference or grid coordinates, and so on a sheet of that grid."""
        return self.form != "latitude_longitude"

    @property
    def sd_m(self) -> float:
        """Standard deviation to the north and to the east of a place anywhere in a square of its resolution. [metre]"""
        return 0.0 if self.resolution_m is None else self.resolution_m / math.sqrt(12.0)

    @property
    def own_digits(self) -> int:
        """Digits a side to which the place was given: what a grid reference of it can mean, at most 5."""
        if self.digits is not None:
            return self.digits
        return FINEST_DIGITS if self.resolution_m is None else digits_for(self.resolution_m)


@dataclass(frozen=True, slots=True)
class Position:
    """One place in every form. Angles in degrees, lengths in metres."""

    lat_deg: float
    lon_deg: float
    datum: str
    mgrs: str
    mgrs_spaced: str
    square_m: float
    square_corners: tuple[dict[str, FloatArray], ...]
    utm: dict[str, Any] | None
    ups: dict[str, Any] | None
    central_meridian_deg: float | None
    east_of_central_meridian_m: float | None
    convergence_deg: FloatArray
    point_scale_factor: FloatArray
    written: dict[str, str]


def place_from_text(text: str, take: str = "centre") -> Place:
    """The place that a written position names; of a grid reference's square, what ``take`` of `TAKES` says.

    Raises the errors of `read_position_text`.
    """
    reading = read_position_text(text)
    if reading.square is not None:
        return _in_square(reading, reading.square, take)
    resolution_m = max(reading.resolution_north_m, reading.resolution_east_m)
    if reading.zone is None:
        return _geodetic(reading.lat_deg, reading.lon_deg, reading.read_as, resolution_m)
    by_letter = reading.south and _S_AFTER_ZONE.search(text)
    where = (reading.lat_deg, reading.lon_deg, reading.easting_m, reading.northing_m)
    cautions = (caution("letter_read_as_hemisphere"),) if by_letter else ()
    return _on_grid(reading, *where, resolution_m, cautions=cautions)


def place_from_geodetic(lat_deg: float, lon_deg: float) -> Place:
    """The place at a latitude in [-90, 90] and a longitude in [-180, 360). [degree]"""
    return _geodetic(lat_deg, float(normalise_longitude(lon_deg)), None, None)


def place_from_utm(zone: int, south: bool, easting_m: float, northing_m: float) -> Place:
    """The place at UTM coordinates; `check_utm` names what is out of reach."""
    check_utm(zone, south, easting_m, northing_m)
    lat, lon = (float(value) for value in from_grid(zone, south, easting_m, northing_m))
    band = str(band_of(lat, lon)) if -80.0 <= lat < 84.0 else "C" if south else "X"
    if band == "X" and zone in ABSENT_IN_BAND_X:
        raise OutsideGridError(
            f"there is no zone {zone} so far north",
            member="zone",
            value=zone,
            allowed="31, 33, 35 or 37 between 72 and 84 degrees north around Svalbard",
        )
    read_as = _written(f"UTM {zone}", south, easting_m, northing_m)
    return Place("utm", read_as, lat, lon, zone, south, band, easting_m, northing_m)


def place_from_ups(south: bool, easting_m: float, northing_m: float) -> Place:
    """The place at UPS coordinates; `check_ups` names what is out of reach."""
    check_ups(south, easting_m, northing_m)
    lat, lon = (float(value) for value in from_grid(0, south, easting_m, northing_m))
    band = ("AB" if south else "YZ")[easting_m >= 2_000_000.0]
    read_as = _written("UPS", south, easting_m, northing_m)
    return Place("ups", read_as, lat, lon, 0, south, band, easting_m, northing_m)


def digits_for(length_m: float) -> int:
    """Digits a side of the grid reference whose square is the largest that is not longer than a length, 0 to 5."""
    return min(max(FINEST_DIGITS - math.floor(math.log10(max(length_m, 1.0))), 0), FINEST_DIGITS)


def describe(place: Place, digits: int | None = None) -> Position:
    """The place in every form, its grid reference written to ``digits`` a side: left out, as finely as it was given."""
    if digits is None:
        digits = place.own_digits
    reference = str(write_mgrs_from_grid(place.zone, place.band, place.easting_m, place.northing_m, digits))
    size_m = 10.0 ** (FINEST_DIGITS - digits)
    corner_lat, corner_lon = square_corners(
        place.zone,
        place.south,
        np.floor(place.easting_m / size_m) * size_m,
        np.floor(place.northing_m / size_m) * size_m,
        size_m,
    )
    convergence, scale = convergence_and_scale(place.lat_deg, place.lon_deg, place.zone, place.south)
    grid = {
        "band": place.band,
        "hemisphere": "south" if place.south else "north",
        "easting_m": place.easting_m,
        "northing_m": place.northing_m,
    }
    utm = place.zone > 0
    return Position(
        lat_deg=place.lat_deg,
        lon_deg=place.lon_deg,
        datum="WGS84",
        mgrs=reference,
        mgrs_spaced=spaced_mgrs(reference),
        square_m=size_m,
        square_corners=tuple(
            {"lat_deg": lat, "lon_deg": lon} for lat, lon in zip(corner_lat, corner_lon, strict=True)
        ),
        utm={"zone": place.zone, **grid} if utm else None,
        ups=None if utm else grid,
        central_meridian_deg=float(central_meridian_deg(place.zone)) if utm else None,
        east_of_central_meridian_m=place.easting_m - 500_000.0 if utm else None,
        convergence_deg=convergence,
        point_scale_factor=scale,
        written={
            "decimal_degrees": write_decimal_degrees(place.lat_deg, place.lon_deg),
            "degrees_minutes": write_degrees_minutes(place.lat_deg, place.lon_deg),
            "degrees_minutes_seconds": write_degrees_minutes_seconds(place.lat_deg, place.lon_deg),
        },
    )


def _geodetic(lat_deg: float, lon_deg: float, read_as: str | None, resolution_m: float | None) -> Place:
    grid = to_grid(lat_deg, lon_deg)
    return Place(
        form="latitude_longitude",
        read_as=read_as or write_decimal_degrees(lat_deg, lon_deg),
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        zone=int(grid.zone),
        south=bool(grid.south),
        band=str(band_of(lat_deg, lon_deg)),
        easting_m=float(grid.easting_m),
        northing_m=float(grid.northing_m),
        resolution_m=resolution_m,
    )


def _in_square(reading: PositionReading, square: GridSquare, take: str) -> Place:
    cautions = []
    if square.cut and take == "centre":
        cautions.append(caution("square_cut_by_zone"))
    if square.overlap:
        cautions.append(caution("outside_zone"))
    where: tuple[float, float, float | None, float | None]
    if take == "corner":
        where = (
            square.corner_lat_deg,
            square.corner_lon_deg,
            square.corner_easting_m,
            square.corner_northing_m,
        )
    else:
        where = (reading.lat_deg, reading.lon_deg, reading.easting_m, reading.northing_m)
    return _on_grid(reading, *where, square.size_m, square.digits, tuple(cautions))


def _on_grid(
    reading: PositionReading,
    lat_deg: float,
    lon_deg: float,
    easting_m: float | None,
    northing_m: float | None,
    resolution_m: float,
    digits: int | None = None,
    cautions: tuple[Caution, ...] = (),
) -> Place:
    """The place of a reading in a grid form, at one point of what it names."""
    zone, south, band = reading.zone, reading.south, reading.band
    assert zone is not None and south is not None and band is not None  # noqa: PT018, S101 - a grid form has them
    assert easting_m is not None and northing_m is not None  # noqa: PT018, S101
    return Place(
        reading.form,
        reading.read_as,
        lat_deg,
        lon_deg,
        zone,
        south,
        band,
        easting_m,
        northing_m,
        digits,
        resolution_m,
        cautions,
    )


def _written(grid: str, south: bool, easting_m: float, northing_m: float) -> str:
    """Grid coordinates as text with one reading: the hemisphere in a word, since 18S may be a band or a hemisphere."""
    numbers = (f"{number:.4f}".rstrip("0").rstrip(".") for number in (easting_m, northing_m))
    return "{} {} {} m E {} m N".format(grid, "south" if south else "north", *numbers)
