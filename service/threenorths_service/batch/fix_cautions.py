"""What is to be said of fixes in columns, in the words and the order of `operations.sights.fix_answer`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ..navmath.angle import FloatArray
from ..navmath.cautions import Caution
from ..navmath.directions.north import Norths, norths_at, norths_doubtful
from ..navmath.magnetism.magnetic import field_at
from ..navmath.rows import BoolArray, IntArray
from ..navmath.sights.sight_pairs import PairFixes
from ..operations.north_angles import worst_cautions
from ..operations.sights import DEFAULT_SD
from .answers import JSON_TYPE
from .caution_columns import Said, cautions_text
from .place_columns import PlaceColumns
from .rounding import rounded

__all__ = ["FixCautions", "magnetic_said"]

#: The field is looked at in the middle of fields of so many degrees first. Within one, and within half a year, the horizontal
#: field of the models is off from that by 1310 nT at most, looked at from 1900 to 2030; twice that is allowed for.
CELL_DEG = 2.5
WITHIN_CELL_NT = 2_600.0

_CELLS_ROUND = round(360.0 / CELL_DEG)
_CELLS_UP = round(180.0 / CELL_DEG)
#: Kinds of digits a side of a square, 0 to 5, and none.
_SQUARES = 7
_TENTHS = 1801


@dataclass(frozen=True)
class FixCautions:
    """All that is said of the plain rows: of their places, of a missing standard deviation, of magnetic north, of the fix."""

    plain: BoolArray
    places: tuple[PlaceColumns, PlaceColumns]
    default_sd: BoolArray
    magnetic: Said
    fixes: PairFixes

    def column(self) -> pa.Array | str:
        """The column: rows of which the same is to be said share its text."""
        kinds, first, which = np.unique(self._kinds, return_index=True, return_inverse=True)
        texts = [
            cautions_text(self._of_row(row)) if kind >= 0 else "[]"
            for kind, row in zip(kinds.tolist(), first.tolist(), strict=True)
        ]
        if len(texts) < 2:
            return texts[0] if texts else "[]"
        return pa.ExtensionArray.from_storage(JSON_TYPE, pa.array(texts, pa.string()).take(pa.array(which)))

    def _of_row(self, row: int) -> list[Caution]:
        said = [*self._of_places.get(row, ()), *((DEFAULT_SD,) if self.default_sd[row] else ())]
        return [*said, *self.magnetic.get(row, ()), *self.fixes.cautions_of(row)]

    @cached_property
    def _of_places(self) -> Said:
        said: dict[int, dict[Caution, None]] = {}
        for places in self.places:
            for row, cautions in places.cautions().items():
                said.setdefault(row, {}).update(dict.fromkeys(cautions))
        return {row: list(cautions) for row, cautions in said.items()}

    @property
    def _kinds(self) -> IntArray:
        """A number for each row, the same where the same is said: -1 of what is not plain, its own of a row with its own."""
        flat_tenths = np.rint(10.0 * rounded(self.fixes.crossing_angle_deg, 1))
        kinds = np.where(self.fixes.flat_crossing, flat_tenths, _TENTHS - 1).astype(np.int64)
        for sight, places in enumerate(self.places):
            coarse = np.where(self.fixes.coarse[:, sight], places.digits, _SQUARES - 1)
            kinds = kinds * _SQUARES + coarse
        kinds = 2 * kinds + self.default_sd
        own = self.fixes.weak_geometry > 0
        own[[*self._of_places, *self.magnetic]] = True
        kinds[own] = 2 * _TENTHS * _SQUARES**2 + np.flatnonzero(own)
        kinds[~self.plain] = -1
        return kinds


def magnetic_said(
    places: Sequence[tuple[FloatArray, FloatArray]], years: FloatArray, rows: NDArray[np.intp]
) -> dict[int, list[Caution]]:
    """What is to be said of magnetic north at the places of ``rows``, latitudes and longitudes of all rows, by row."""
    lat_deg, lon_deg = (np.stack([each[part][rows] for each in places]) for part in (0, 1))
    near = ~_surely_strong(lat_deg, lon_deg, years[rows]).all(axis=0)
    rows, lat_deg, lon_deg = rows[near], lat_deg[:, near], lon_deg[:, near]
    norths = norths_at(lat_deg, lon_deg, years[rows])
    said = {}
    for place in np.flatnonzero(norths_doubtful(lat_deg, norths.horizontal_nt).any(axis=0)).tolist():
        here = Norths(**{name: getattr(norths, name)[:, place] for name in Norths.__slots__})
        said[int(rows[place])] = worst_cautions(lat_deg[:, place], here)
    return said


def _surely_strong(lat_deg: FloatArray, lon_deg: FloatArray, years: FloatArray) -> BoolArray:
    """Where the horizontal field is so strong around that nothing is to be said of it; most rows are of few cells."""
    up = np.minimum(np.floor((lat_deg + 90.0) / CELL_DEG), _CELLS_UP - 1).astype(np.int64)
    round_ = np.floor((lon_deg + 180.0) / CELL_DEG).astype(np.int64) % _CELLS_ROUND
    cells = (np.floor(years).astype(np.int64) * _CELLS_UP + up) * _CELLS_ROUND + round_
    kinds, which = np.unique(cells, return_inverse=True)
    middle_lat = (kinds // _CELLS_ROUND % _CELLS_UP + 0.5) * CELL_DEG - 90.0
    middle_lon = (kinds % _CELLS_ROUND + 0.5) * CELL_DEG - 180.0
    field = field_at(middle_lat, middle_lon, kinds // (_CELLS_ROUND * _CELLS_UP) + 0.5)
    weakest_nt = (field.horizontal_nt - WITHIN_CELL_NT)[which].reshape(cells.shape)
    return ~norths_doubtful(lat_deg, weakest_nt)
