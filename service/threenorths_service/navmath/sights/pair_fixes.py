"""The answers of many pairs of sights at once: what a `Fix` of two sights has, in arrays."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..cautions import Caution, caution
from ..rows import BoolArray, IntArray
from .ellipse import CONFIDENCE, Ellipse
from .fix import curved_outline_caution, flat_crossing_caution, long_ellipse_caution
from .fix_trust import coarse_caution
from .pair_table import NO_ZONE, GivenPairs
from .pair_trust import CURVED_OUTLINE, LONG_BY_ALL_ERRORS, TrustedPairs

__all__ = ["PairFixes", "pair_fixes"]


@dataclass(frozen=True, slots=True)
class PairFixes:
    """Places fixed by two sights each, N rows of arrays; where a row is not ``plain``, NaN, false and 0 stand.

    Named as in `Fix`, with the rows first: ``lat_deg``, ``lon_deg``, ``crossing_angle_deg`` of shape (N,);
    ``covariance_m2`` (N, 2, 2); ``ellipse`` of arrays (N,); ``sd_deg``, ``residuals_deg``, ``distances_m`` (N, 2);
    ``grid_zone`` (N,), the zone found for a resection from grid north that names none, else `NO_ZONE`. There are no
    degrees of freedom, so no variance factor, and no compass error.

    Every plain row has the caution ``no_check``. Its others are ``flat_crossing`` (N,), for the crossing angle;
    ``weak_geometry`` (N,), `LONG_ELLIPSE`, `CURVED_OUTLINE`, `LONG_BY_ALL_ERRORS` or 0, for a semi-axis of
    ``weak_longest_m``; ``coarse`` (N, 2), for a known place given to ``place_sd_m``. `cautions_of` puts them in words.
    """

    plain: BoolArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    covariance_m2: FloatArray
    ellipse: Ellipse
    sd_deg: FloatArray
    residuals_deg: FloatArray
    distances_m: FloatArray
    crossing_angle_deg: FloatArray
    grid_zone: IntArray
    flat_crossing: BoolArray
    weak_geometry: IntArray
    weak_longest_m: FloatArray
    coarse: BoolArray
    place_sd_m: FloatArray

    def cautions_of(self, row: int) -> tuple[Caution, ...]:
        """The cautions of a plain row, as its `Fix` has them."""
        weak, by_all = self._weak_geometry_of(row), self.weak_geometry[row] == LONG_BY_ALL_ERRORS
        found = [
            flat_crossing_caution(float(self.crossing_angle_deg[row])),
            caution("no_check"),
            None if by_all else weak,
            self._coarse_of(row),
            weak if by_all else None,
        ]
        return tuple(each for each in found if each is not None)

    def _weak_geometry_of(self, row: int) -> Caution | None:
        longest_m = float(self.weak_longest_m[row])
        if self.weak_geometry[row] == CURVED_OUTLINE:
            return curved_outline_caution(longest_m)
        return (
            long_ellipse_caution(longest_m, float(self.distances_m[row].min()))
            if self.weak_geometry[row]
            else None
        )

    def _coarse_of(self, row: int) -> Caution | None:
        coarse = np.flatnonzero(self.coarse[row]).tolist()
        return (
            coarse_caution([(index, float(self.place_sd_m[row, index])) for index in coarse])
            if coarse
            else None
        )


def pair_fixes(
    given: GivenPairs, found: TrustedPairs, rows: NDArray[np.intp], grid_zone: IntArray | None = None
) -> PairFixes:
    """The answer of N rows, from what was found for ``rows`` of the pairs given."""
    at = given.rows[rows]

    def spread(column: NDArray[Any], missing: Any) -> NDArray[Any]:
        whole = np.full((given.count, *column.shape[:-1]), missing, dtype=column.dtype)
        whole[at] = column.T
        return whole

    numbers = partial(spread, missing=np.nan)
    north, both, east = found.covariance_m2
    return PairFixes(
        plain=spread(np.ones(at.size, dtype=np.bool_), False),
        lat_deg=numbers(found.lat_deg),
        lon_deg=numbers(found.lon_deg),
        covariance_m2=numbers(np.array([(north, both), (both, east)])),
        ellipse=Ellipse(
            numbers(found.semi_major_m),
            numbers(found.semi_minor_m),
            numbers(found.major_axis_azimuth_deg),
            CONFIDENCE,
        ),
        sd_deg=numbers(found.sd_deg),
        residuals_deg=numbers(found.residuals_deg),
        distances_m=numbers(found.distances_m),
        crossing_angle_deg=numbers(found.crossing_angle_deg),
        grid_zone=spread(np.full(at.size, NO_ZONE) if grid_zone is None else grid_zone, NO_ZONE),
        flat_crossing=spread(found.flat_crossing, False),
        weak_geometry=spread(found.weak_geometry, 0),
        weak_longest_m=numbers(found.weak_longest_m),
        coarse=spread(found.coarse, False),
        place_sd_m=numbers(given.table.place_sd_m[:, rows]),
    )
