"""Applying one pinned operation, from the datum to WGS 84 and back, to places in degrees."""

from __future__ import annotations

from functools import cache

import numpy as np
from pyproj import Transformer
from pyproj.enums import TransformDirection

from ..angle import FloatArray, normalise_signed
from .datum_grids import in_pipeline
from .datum_table import DatumOperation

__all__ = ["carried_back", "carried_over"]

#: A pipeline without heights is its own inverse to a few millimetres; each round makes it 10,000 times better.
ROUNDS_BACK = 2
#: Beyond this latitude longitudes say too little for the rounds; the millimetres stay. [degree]
ROUNDS_TO_LATITUDE_DEG = 89.9


@cache
def _transformer(operation: DatumOperation) -> Transformer | None:
    """The pipeline between degrees, or ``None`` where there is nothing to do."""
    if not operation.pipeline:
        return None
    steps = operation.pipeline.format(*map(in_pipeline, operation.grid_files or ()))
    return Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"{steps} +step +proj=unitconvert +xy_in=rad +xy_out=deg"
    )


def _transformed(
    transformer: Transformer, lat_deg: FloatArray, lon_deg: FloatArray, direction: TransformDirection
) -> tuple[FloatArray, FloatArray]:
    if lat_deg.shape == (1,):
        # The library would take an array of one for a number, by a conversion that numpy has deprecated.
        lon, lat = transformer.transform(lon_deg.item(), lat_deg.item(), direction=direction)
        return np.array([lat]), np.array([lon])
    lon, lat = transformer.transform(lon_deg, lat_deg, direction=direction)
    return lat, lon


def carried_over(
    operation: DatumOperation, lat_deg: FloatArray, lon_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Places on WGS 84 of places on the datum, both from Greenwich; infinite where a grid has no value."""
    transformer = _transformer(operation)
    if transformer is None:
        return lat_deg, lon_deg
    return _transformed(transformer, lat_deg, lon_deg, TransformDirection.FORWARD)


def carried_back(
    operation: DatumOperation, lat_deg: FloatArray, lon_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The places that `carried_over` carries to the given ones; infinite where a grid has no value.

    A longitude may be past 180 by the rounding of a double.
    """
    transformer = _transformer(operation)
    if transformer is None:
        return lat_deg, lon_deg
    lat, lon = _transformed(transformer, lat_deg, lon_deg, TransformDirection.INVERSE)
    for _ in range(ROUNDS_BACK):
        again_lat, again_lon = _transformed(transformer, lat, lon, TransformDirection.FORWARD)
        known = np.isfinite(again_lat) & (np.abs(lat) < ROUNDS_TO_LATITUDE_DEG)
        lat = np.where(known, lat + (lat_deg - np.where(known, again_lat, lat_deg)), lat)
        lon = np.where(known, lon + normalise_signed(lon_deg - np.where(known, again_lon, lon_deg)), lon)
    return lat, lon
