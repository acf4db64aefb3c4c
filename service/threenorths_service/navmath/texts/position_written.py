"""Latitude and longitude written as text, in three forms. `position_text.read_position_text` reads each of them.

Each coordinate is rounded to its last digit, with minutes and seconds carried at 60. Zero is north or east; the
antimeridian is west, since longitude is given in [-180, 180).
"""

from __future__ import annotations

from ..errors import OutOfRangeError
from .sexagesimal import rounded_angle

__all__ = ["write_decimal_degrees", "write_degrees_minutes", "write_degrees_minutes_seconds"]


def write_decimal_degrees(lat_deg: float, lon_deg: float, places: int = 6) -> str:
    """Such as ``47.123456° N, 8.123456° E``; a sixth place is 0.1 m."""
    return _written_pair(lat_deg, lon_deg, 1, places)


def write_degrees_minutes(lat_deg: float, lon_deg: float, places: int = 4) -> str:
    """Such as ``47°07.4074' N, 8°07.4074' E``; a fourth place is 0.2 m."""
    return _written_pair(lat_deg, lon_deg, 2, places)


def write_degrees_minutes_seconds(lat_deg: float, lon_deg: float, places: int = 2) -> str:
    """Such as ``47°07'24.44" N, 8°07'24.44" E``; a second place is 0.3 m."""
    return _written_pair(lat_deg, lon_deg, 3, places)


def _written_pair(lat_deg: float, lon_deg: float, parts: int, places: int) -> str:
    if not -90.0 <= lat_deg <= 90.0:
        raise OutOfRangeError(f"{lat_deg:g} is no latitude", member="lat_deg", allowed="-90 to 90")
    if not -180.0 <= lon_deg < 360.0:
        raise OutOfRangeError(f"{lon_deg:g} is no longitude", member="lon_deg", allowed="-180 to under 360")
    wrapped_deg = lon_deg - 360.0 if lon_deg >= 180.0 else lon_deg
    lat, lon = rounded_angle(lat_deg, parts, places), rounded_angle(wrapped_deg, parts, places)
    north_letter = "S" if lat_deg < 0.0 and lat.count else "N"
    east_letter = "W" if (wrapped_deg < 0.0 and lon.count) or lon.reaches(180) else "E"
    return f"{lat.written()} {north_letter}, {lon.written()} {east_letter}"
