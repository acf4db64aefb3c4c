"""Map distances: scale, map length and ground length, any two to the third, and slopes."""

from __future__ import annotations

from dataclasses import dataclass, field

from .answers import Caution
from .caller import Operations
from .to_json import given

__all__ = ["MapDistance", "MapDistanceOperations"]


@dataclass(frozen=True, slots=True)
class MapDistance:
    """All that follows from what was given; ``None`` for what could not be told.

    ``scale`` is N of 1:N. Ground lengths are horizontal: metres, kilometres, international feet, yards, statute
    miles, nautical miles. A rise is uphill positive, as is a gradient.
    """

    scale: float | None
    map_mm: float | None
    map_cm: float | None
    map_in: float | None
    ground_m: float
    ground_km: float
    ground_ft: float
    ground_yd: float
    ground_mi: float
    ground_nmi: float
    ground_paces: float | None
    slope_m: float | None
    slope_paces: float | None
    rise_m: float | None
    gradient_percent: float | None
    gradient_deg: float | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class MapDistanceOperations(Operations):
    """``client.map_distances``"""

    def solve(
        self,
        *,
        scale: float | str | None = None,
        map_mm: float | None = None,
        map_cm: float | None = None,
        map_in: float | None = None,
        ground_m: float | None = None,
        ground_km: float | None = None,
        ground_ft: float | None = None,
        ground_yd: float | None = None,
        ground_mi: float | None = None,
        ground_nmi: float | None = None,
        ground_paces: float | None = None,
        paces_per_100_m: float | None = None,
        slope_m: float | None = None,
        rise_m: float | None = None,
        gradient_percent: float | None = None,
        gradient_deg: float | None = None,
        working: bool | None = None,
    ) -> MapDistance:
        """Solve for what was not given of scale, map length and ground length, or of ground, slope and gradient.

        ``scale`` is N of 1:N, or a text such as ``"1:50,000"``. Give each length in one unit only.

        Raises `NoAnswerError`: ``lengths_missing``, ``lengths_conflict`` or ``out_of_range``.
        """
        members = given(
            scale=scale,
            map_mm=map_mm,
            map_cm=map_cm,
            map_in=map_in,
            ground_m=ground_m,
            ground_km=ground_km,
            ground_ft=ground_ft,
            ground_yd=ground_yd,
            ground_mi=ground_mi,
            ground_nmi=ground_nmi,
            ground_paces=ground_paces,
            paces_per_100_m=paces_per_100_m,
            slope_m=slope_m,
            rise_m=rise_m,
            gradient_percent=gradient_percent,
            gradient_deg=gradient_deg,
            working=working,
        )
        return self._ask(MapDistance, "map-distances", members)
