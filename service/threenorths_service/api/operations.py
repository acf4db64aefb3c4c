"""All operations, in the order of the documentation."""

from __future__ import annotations

from . import (
    bearings,
    compass_settings,
    intersections,
    lines,
    map_distances,
    norths,
    positions,
    rays,
    resections,
    sheets,
)
from .operation import Operation

__all__ = ["OPERATIONS"]

OPERATIONS: tuple[Operation, ...] = (
    positions.OPERATION,
    sheets.OPERATION,
    norths.OPERATION,
    bearings.OPERATION,
    compass_settings.OPERATION,
    map_distances.OPERATION,
    lines.OPERATION,
    rays.OPERATION,
    intersections.OPERATION,
    resections.OPERATION,
)
