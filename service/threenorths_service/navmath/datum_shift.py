"""Shifts between the datums and WGS 84."""

from __future__ import annotations

from .datum import Datum, DatumShift
from .errors import UnknownDatumError

__all__ = ["shifted_to_wgs84"]


def shifted_to_wgs84(
    datum: Datum, lat_deg: float, lon_deg: float, *, allow_ballpark: bool = False
) -> tuple[float, float, DatumShift]:
    """Latitude and longitude on WGS 84 of one place on ``datum``, and how it came there."""
    raise UnknownDatumError(f"no shift is known from {datum.name}", member="datum", value=datum.name)
