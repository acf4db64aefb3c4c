"""Heights: how tall a tower, tree or cliff is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .answers import Caution
from .caller import Operations
from .to_json import given

__all__ = ["Height", "HeightMethod", "HeightOperations"]

#: What was measured: angles from one place, angles from two places in line with the object, its shadow, or a stick.
HeightMethod = Literal["top", "top_and_base", "two_stations", "two_stations_and_base", "shadow", "stick"]


@dataclass(frozen=True, slots=True)
class Height:
    """The height of an object from its base to its top, and the level distance to it, from the nearer station. [metre]

    Each ``_sd_m`` is one standard deviation.
    """

    method: str
    height_m: float
    height_sd_m: float
    distance_m: float
    distance_sd_m: float
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class HeightOperations(Operations):
    """``client.heights``"""

    def find(
        self,
        method: HeightMethod,
        *,
        distance_m: float | None = None,
        distance_paces: float | None = None,
        distance_along_ground: bool | None = None,
        top_deg: float | None = None,
        base_deg: float | None = None,
        eye_height_m: float | None = None,
        base_rise_m: float | None = None,
        apart_m: float | None = None,
        apart_paces: float | None = None,
        near_top_deg: float | None = None,
        near_base_deg: float | None = None,
        far_top_deg: float | None = None,
        far_base_deg: float | None = None,
        near_above_far_m: float | None = None,
        shadow_m: float | None = None,
        shadow_paces: float | None = None,
        stick_m: float | None = None,
        stick_shadow_m: float | None = None,
        stick_distance_m: float | None = None,
        paces_per_100_m: float | None = None,
        distance_sd_m: float | None = None,
        apart_sd_m: float | None = None,
        shadow_sd_m: float | None = None,
        stick_sd_m: float | None = None,
        eye_height_sd_m: float | None = None,
        base_rise_sd_m: float | None = None,
        near_above_far_sd_m: float | None = None,
        angle_sd_deg: float | None = None,
        working: bool | None = None,
    ) -> Height:
        """The height by one of six methods; what a method does not use may not be given.

        Angles are of elevation, up positive. ``top`` needs ``distance_m`` and ``top_deg``; ``top_and_base`` ``base_deg``
        too; ``two_stations`` ``apart_m``, ``near_top_deg`` and ``far_top_deg``; ``two_stations_and_base`` also
        ``near_base_deg`` and ``far_base_deg``; ``shadow`` ``shadow_m``, ``stick_m`` and ``stick_shadow_m``; ``stick``
        ``distance_m``, ``stick_m`` and ``stick_distance_m``. Long lengths may come in paces, with the walker's count.

        Raises `NoAnswerError`: ``members_missing``, ``members_conflict``, ``lines_do_not_meet``, ``weak_base`` or
        ``out_of_range``.
        """
        members = given(
            method=method,
            distance_m=distance_m,
            distance_paces=distance_paces,
            distance_along_ground=distance_along_ground,
            top_deg=top_deg,
            base_deg=base_deg,
            eye_height_m=eye_height_m,
            base_rise_m=base_rise_m,
            apart_m=apart_m,
            apart_paces=apart_paces,
            near_top_deg=near_top_deg,
            near_base_deg=near_base_deg,
            far_top_deg=far_top_deg,
            far_base_deg=far_base_deg,
            near_above_far_m=near_above_far_m,
            shadow_m=shadow_m,
            shadow_paces=shadow_paces,
            stick_m=stick_m,
            stick_shadow_m=stick_shadow_m,
            stick_distance_m=stick_distance_m,
            paces_per_100_m=paces_per_100_m,
            distance_sd_m=distance_sd_m,
            apart_sd_m=apart_sd_m,
            shadow_sd_m=shadow_sd_m,
            stick_sd_m=stick_sd_m,
            eye_height_sd_m=eye_height_sd_m,
            base_rise_sd_m=base_rise_sd_m,
            near_above_far_sd_m=near_above_far_sd_m,
            angle_sd_deg=angle_sd_deg,
            working=working,
        )
        return self._ask(Height, "heights", members)
