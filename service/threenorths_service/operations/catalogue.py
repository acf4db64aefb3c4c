"""All operations, in the order of the documentation."""

from __future__ import annotations

from . import (
    bearings,
    checks,
    compass_checks,
    compass_settings,
    fixes,
    gradients,
    heights,
    intersections,
    lines,
    local_attractions,
    map_distances,
    mil_relations,
    norths,
    positions,
    rays,
    reckonings,
    resections,
    search_areas,
    sheets,
    sight_lines,
    sky_bearings,
    travel_times,
    twilights,
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
    fixes.OPERATION,
    intersections.OPERATION,
    resections.OPERATION,
    search_areas.OPERATION,
    widths.OPERATION,
    heights.OPERATION,
    mil_relations.OPERATION,
    travel_times.OPERATION,
    gradients.OPERATION,
    sight_lines.OPERATION,
    compass_checks.OPERATION,
    local_attractions.OPERATION,
    sky_bearings.OPERATION,
    twilights.OPERATION,
    checks.OPERATION,
)
