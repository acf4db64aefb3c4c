"""Directions written in degrees, minutes and seconds and in quadrants, all rows at once."""

from __future__ import annotations

from functools import cache

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from ..navmath.angle import FloatArray
from ..navmath.rows import IntArray
from ..navmath.texts.angle_text import write_quadrant
from ..navmath.texts.sexagesimal import rounded_angle

__all__ = ["dms_texts", "quadrant_texts"]


def dms_texts(azimuth_deg: FloatArray) -> pa.StringArray:
    """As `write_dms` writes each; null for NaN."""
    seconds = _counts(azimuth_deg, 3, 0)
    degrees, minutes = seconds // 3600, seconds // 60 % 60
    parts = [
        table.take(pa.array(numbers))
        for table, numbers in zip(_dms_tables(), (degrees, minutes, seconds % 60), strict=True)
    ]
    return _known(pc.binary_join_element_wise(*parts, ""), azimuth_deg)


def quadrant_texts(azimuth_deg: FloatArray) -> pa.StringArray:
    """As `write_quadrant` writes each to a tenth of a degree; null for NaN."""
    return _known(_quadrant_table().take(pa.array(_counts(azimuth_deg, 1, 1))), azimuth_deg)


def _counts(azimuth_deg: FloatArray, parts: int, decimals: int) -> IntArray:
    """`rounded_angle` of each in units of its last digit, the full circle being 0; 0 for NaN.

    The product is off by half a unit of its last place: only what is midway but for as much is rounded one by one.
    """
    per_degree = rounded_angle(0.0, parts, decimals).per_degree
    azimuth_deg = np.nan_to_num(azimuth_deg)
    scaled = azimuth_deg * per_degree
    counts = np.floor(scaled + 0.5).astype(np.int64)
    doubtful = np.flatnonzero(np.abs(scaled - np.floor(scaled) - 0.5) <= 4.0 * np.spacing(scaled))
    if doubtful.size:
        counts[doubtful] = [
            rounded_angle(each, parts, decimals).count for each in azimuth_deg[doubtful].tolist()
        ]
    return np.where(counts == 360 * per_degree, 0, counts)


def _known(texts: pa.StringArray, azimuth_deg: FloatArray) -> pa.StringArray:
    missing = np.isnan(azimuth_deg)
    return pc.if_else(pa.array(missing), pa.scalar(None, pa.string()), texts) if missing.any() else texts


@cache
def _dms_tables() -> tuple[pa.StringArray, pa.StringArray, pa.StringArray]:
    return (
        pa.array([f"{number}°" for number in range(360)]),
        pa.array([f"{number:02d}'" for number in range(60)]),
        pa.array([f'{number:02d}"' for number in range(60)]),
    )


@cache
def _quadrant_table() -> pa.StringArray:
    return pa.array([write_quadrant(tenths / 10.0, 1) for tenths in range(3600)])
