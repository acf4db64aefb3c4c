"""All operations, in the order of the documentation."""

from __future__ import annotations

from . import (
    bearings,
    compass_settings,
    gradients,
    heights,
    intersections,
    lines,
    map_distances,
    mil_relations,
    norths,
    positions,
    rays,
    reckonings,
    resections,
    sheets,
    sight_lines,
    travel_times,
    widths,
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
    reckonings.OPERATION,
    intersections.OPERATION,
    resections.OPERATION,
    widths.OPERATION,
    heights.OPERATION,
    mil_relations.OPERATION,
    travel_times.OPERATION,
    gradients.OPERATION,
    sight_lines.OPERATION,
)
