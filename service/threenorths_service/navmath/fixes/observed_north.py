"""The norths of bearings read at a place that is still sought: at trial places, and how they turn around them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..grids.zones import zone_of
from ..lines.geodesic import direct
from ..rows import IntArray
from ..sights.sight import angle_from_true_north
from .observation_table import ObservationTable
from .search_plane import ComplexArray

__all__ = ["ObservedNorth", "norths_around"]

#: How far apart the norths are taken that their turning is found from. [metre]
SPAN_M = 500.0
#: A place, and places to its north, south, east and west.
AROUND_DEG = np.array([0.0, 0.0, 180.0, 90.0, 270.0])
AWAY_M = SPAN_M * np.array([0.0, 1.0, 1.0, 1.0, 1.0])


@dataclass(frozen=True, slots=True)
class ObservedNorth:
    """The angle from true north to that of each bearing read at the unknown place, around k trial places.

    ``turn_deg``, shape (k, b) or (1, b) for b such bearings; ``gradient``, its change by a metre to the north and to the
    east, shape (k, b, 2) or (1, b, 2); ``zone``, the grid zones that were taken where none was named, shape (k,), or
    ``None``. [degree], [degree/metre]
    """

    turn_deg: FloatArray
    gradient: FloatArray
    zone: IntArray | None = None

    def at(self, offset_m: ComplexArray) -> tuple[FloatArray, FloatArray]:
        """The turn at places so far from the trial places, north + i east, shape (k,), and the gradient."""
        if not self.gradient.any():
            return self.turn_deg, self.gradient
        moved = (
            self.gradient[..., 0] * offset_m.real[:, None] + self.gradient[..., 1] * offset_m.imag[:, None]
        )
        return self.turn_deg + moved, self.gradient

    def only(self, index: int) -> ObservedNorth:
        """Around one of the trial places."""
        if len(self.turn_deg) == 1:
            return self
        zone = None if self.zone is None else self.zone[index : index + 1]
        return ObservedNorth(self.turn_deg[index : index + 1], self.gradient[index : index + 1], zone)


def norths_around(
    table: ObservationTable, lat_deg: FloatArray, lon_deg: FloatArray, decimal_year: float | None
) -> ObservedNorth:
    """The norths around trial places, shape (k,). A grid that is not named is that of the zone each lies in.

    Raises
    ------
    DateMissingError
        A magnetic bearing has no date.
    """
    rows = len(table.to)
    if not table.norths:
        return ObservedNorth(np.zeros((1, rows)), np.zeros((1, rows, 2)))
    lat, lon, _back = direct(lat_deg[:, None], lon_deg[:, None], AROUND_DEG, AWAY_M)
    turn, gradient = np.zeros((len(lat), rows)), np.zeros((len(lat), rows, 2))
    own_zone = None
    for (north, zone, south), group in table.norths:
        grid: tuple[object, object] = (zone, south)
        if north == "grid" and zone is None:
            own_zone = np.atleast_1d(zone_of(lat_deg, lon_deg))
            grid = (own_zone[:, None], (lat_deg < 0.0)[:, None])
        angle = angle_from_true_north(north, lat, lon, decimal_year, *grid)  # type: ignore[arg-type]  # a pair of either sort
        column = np.searchsorted(table.to, group)
        turn[:, column] = angle[:, :1]
        gradient[:, column, 0] = (normalise_signed(angle[:, 1] - angle[:, 2]) / (2.0 * SPAN_M))[:, None]
        gradient[:, column, 1] = (normalise_signed(angle[:, 3] - angle[:, 4]) / (2.0 * SPAN_M))[:, None]
    return ObservedNorth(turn, gradient, own_zone)
