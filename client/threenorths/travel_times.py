"""Travel times: distance, time and speed on the flat, any two to the third."""

from __future__ import annotations

from dataclasses import dataclass, field

from .answers import Caution
from .caller import Operations
from .to_json import given

__all__ = ["TravelTime", "TravelTimeOperations"]


@dataclass(frozen=True, slots=True)
class TravelTime:
    """Distance, time and speed that belong together, each with one standard deviation, for a steady walk on the flat.

    ``found`` names the one that was not given. ``paces`` and ``paces_per_min`` are ``None`` without the walker's count.
    """

    found: str
    distance_m: float
    distance_sd_m: float
    time_min: float
    time_sd_min: float
    speed_km_per_h: float
    speed_sd_km_per_h: float
    paces: float | None
    paces_per_min: float | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class TravelTimeOperations(Operations):
    """``client.travel_times``"""

    def solve(
        self,
        *,
        distance_m: float | None = None,
        distance_paces: float | None = None,
        time_min: float | None = None,
        speed_km_per_h: float | None = None,
        paces_per_min: float | None = None,
        paces_per_100_m: float | None = None,
        distance_sd_m: float | None = None,
        time_sd_min: float | None = None,
        speed_sd_km_per_h: float | None = None,
        working: bool | None = None,
    ) -> TravelTime:
        """The third of distance, time and speed from two of them; a distance or a speed may come in paces.

        What slope, going, load and rests add is not in it.

        Raises `NoAnswerError`: ``two_of_three``, ``members_missing``, ``members_conflict`` or ``out_of_range``.
        """
        members = given(
            distance_m=distance_m,
            distance_paces=distance_paces,
            time_min=time_min,
            speed_km_per_h=speed_km_per_h,
            paces_per_min=paces_per_min,
            paces_per_100_m=paces_per_100_m,
            distance_sd_m=distance_sd_m,
            time_sd_min=time_sd_min,
            speed_sd_km_per_h=speed_sd_km_per_h,
            working=working,
        )
        return self._ask(TravelTime, "travel-times", members)
