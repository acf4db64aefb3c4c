"""Places fixed by two sights each, in arrays: intersections and resections of many rows at once.

A row that is called plain has the answer of `intersect` or `resect` to the same two sights: the place to a micrometre,
and all else to its last digits. Every other row, with an answer or with a named error, is for those to answer.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..angle import FloatArray
from ..cautions import Caution, caution
from ..rows import BoolArray, IntArray
from .ellipse import Ellipse
from .fix import flat_crossing_caution
from .pair_trust import CURVED_OUTLINE, LONG_ELLIPSE

__all__ = ["CURVED_OUTLINE", "LONG_ELLIPSE", "NO_ZONE", "PairFixes", "intersect_pairs", "resect_pairs"]

#: Stands for no zone: one that is not given, or that was not looked for.
NO_ZONE = -1

#: The area of a national grid has edges, where its north stands still: an observer within so much is not taken. [degree]
NATIONAL_EDGE_DEG = 0.01


@dataclass(frozen=True, slots=True)
class PairFixes:
    """Places fixed by two sights each, N rows of arrays; where a row is not ``plain``, NaN, false and 0 stand.

    Named as in `Fix`, with the rows first: ``lat_deg``, ``lon_deg``, ``crossing_angle_deg`` of shape (N,);
    ``covariance_m2`` (N, 2, 2); ``ellipse`` of arrays (N,); ``sd_deg``, ``residuals_deg``, ``distances_m`` (N, 2);
    ``grid_zone`` (N,), the zone found for a resection from grid north that names none, else `NO_ZONE`. There are no
    degrees of freedom, so no variance factor, and no compass error.

    Every plain row has the caution ``no_check``. Its others are ``flat_crossing`` (N,), for the crossing angle;
    ``weak_geometry`` (N,), `LONG_ELLIPSE`, `CURVED_OUTLINE` or 0, for a semi-axis of ``weak_longest_m``; ``coarse`` (N, 2),
    for a known place given to ``place_sd_m``: see `cautions_of`.
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
        found: list[Caution | None] = [flat_crossing_caution(float(self.crossing_angle_deg[row])), caution("no_check")]
        weak = self._weak_geometry_of(row)
        by_sights = weak if self.weak_before_coarse[row] else None
        del by_sights
        return tuple(each for each in [*found, weak, self._coarse_of(row)] if each is not None)
