"""Places in every form that has columns, as `navmath.places.position.describe` has one."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from ..navmath.angle import FloatArray
from ..navmath.datums.datum import WGS84
from ..navmath.grids.grid import central_meridian_deg, convergence_and_scale
from ..navmath.rows import BoolArray, IntArray
from .place_columns import FINEST_DIGITS, PlaceColumns, references_of

__all__ = ["DescribedPlaces"]

HEMISPHERES = pa.array(["north", "south"])


class DescribedPlaces:
    """The forms of places, their grid references written to ``digits`` a side; each is made when it is asked for."""

    def __init__(self, places: PlaceColumns, digits: IntArray) -> None:
        self._places = places
        self._digits = digits

    def columns(self, prefix: str = "") -> dict[str, Callable[[], Any]]:
        """What makes each column, by its path behind ``prefix``."""
        places, utm, ups = self._places, self._on_utm, self._on_ups
        columns: dict[str, Callable[[], Any]] = {
            "lat_deg": lambda: places.lat_deg,
            "lon_deg": lambda: places.lon_deg,
            "datum": lambda: WGS84.name,
            "mgrs": lambda: self._references,
            "mgrs_spaced": lambda: _spaced(self._references),
            "square_m": lambda: 10.0 ** (FINEST_DIGITS - self._digits),
            "utm.zone": lambda: utm(pa.array(places.zone, pa.int64())),
            "utm.band": lambda: utm(pa.array(places.band, pa.string())),
            "utm.hemisphere": lambda: utm(self._hemisphere),
            "utm.easting_m": lambda: np.where(self._polar, np.nan, places.easting_m),
            "utm.northing_m": lambda: np.where(self._polar, np.nan, places.northing_m),
            "ups.band": lambda: ups(pa.array(places.band, pa.string())),
            "ups.hemisphere": lambda: ups(self._hemisphere),
            "ups.easting_m": lambda: np.where(self._polar, places.easting_m, np.nan),
            "ups.northing_m": lambda: np.where(self._polar, places.northing_m, np.nan),
            "central_meridian_deg": lambda: np.where(self._polar, np.nan, central_meridian_deg(places.zone)),
            "east_of_central_meridian_m": lambda: np.where(self._polar, np.nan, places.easting_m - 500_000.0),
            "convergence_deg": lambda: self._convergence_and_scale[0],
            "point_scale_factor": lambda: self._convergence_and_scale[1],
        }
        return {f"{prefix}{path}": make for path, make in columns.items()}

    @cached_property
    def _references(self) -> pa.Array:
        return references_of(self._places, self._digits)

    @cached_property
    def _convergence_and_scale(self) -> tuple[FloatArray, FloatArray]:
        places = self._places
        return convergence_and_scale(places.lat_deg, places.lon_deg, places.zone, places.south)

    @cached_property
    def _polar(self) -> BoolArray:
        return np.asarray(self._places.zone == 0)

    @cached_property
    def _hemisphere(self) -> pa.Array:
        return HEMISPHERES.take(pa.array(self._places.south.astype(np.int8)))

    def _on_utm(self, column: pa.Array) -> pa.Array:
        return pc.if_else(pa.array(self._polar), pa.scalar(None, column.type), column)

    def _on_ups(self, column: pa.Array) -> pa.Array:
        return pc.if_else(pa.array(self._polar), column, pa.scalar(None, column.type))


def _spaced(references: pa.Array) -> pa.Array:
    """References as `spaced_mgrs` parts them."""
    spaced = pc.replace_substring_regex(references, r"^([0-9]{0,2}[A-Z])([A-Z]{2})", r"\1 \2 ")
    for figures in range(1, FINEST_DIGITS + 1):
        halves = rf" ([0-9]{{{figures}}})([0-9]{{{figures}}})$"
        spaced = pc.replace_substring_regex(spaced, halves, r" \1 \2")
    return pc.utf8_rtrim_whitespace(spaced)
