"""The operations that batches are taken of."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ..operations.catalogue import OPERATIONS
from ..operations.operation import Operation
from .bearings import BEARINGS
from .checks import CHECKS
from .columnar import Columnar
from .compass_settings import COMPASS_SETTINGS
from .fixes import INTERSECTIONS, RESECTIONS
from .lines import LINES
from .map_distances import MAP_DISTANCES
from .norths import NORTHS
from .positions import POSITIONS
from .rays import RAYS

__all__ = ["BATCHED", "COLUMNAR"]

#: The operations whose requests are rows of a table, each about one place, line, bearing or fix, and how it is answered in
#: columns; one with ``None`` goes row by row.
COLUMNAR: Mapping[str, Columnar | None] = MappingProxyType(
    {
        "positions": POSITIONS,
        "norths": NORTHS,
        "bearings": BEARINGS,
        "compass-settings": COMPASS_SETTINGS,
        "map-distances": MAP_DISTANCES,
        "lines": LINES,
        "rays": RAYS,
        "intersections": INTERSECTIONS,
        "resections": RESECTIONS,
        "checks": CHECKS,
    }
)

BATCHED: Mapping[str, Operation] = MappingProxyType(
    {operation.name: operation for operation in OPERATIONS if operation.name in COLUMNAR}
)
