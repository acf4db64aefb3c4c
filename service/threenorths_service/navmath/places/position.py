"""One place in every form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..angle import FloatArray
from ..datums.datum import WGS84
from ..grids.grid import central_meridian_deg, convergence_and_scale
from ..references.mgrs import spaced_mgrs, square_corners, write_mgrs_from_grid
from ..texts.position_written import (
    write_decimal_degrees,
    write_degrees_minutes,
    write_degrees_minutes_seconds,
)
from .place import FINEST_DIGITS, Place

__all__ = ["Position", "describe"]


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
        datum=WGS84.name,
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
