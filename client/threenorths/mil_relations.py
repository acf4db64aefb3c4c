"""Mil relations: width, distance and angle of what is seen, any two to the third."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .answers import Caution
from .caller import Operations
from .to_json import given

__all__ = ["ByRuleOfThumb", "MilRelation", "MilRelationOperations", "MilUnit"]

#: Unit of the angle: 6400, 6300 or 6000 to the circle, or milliradians.
MilUnit = Literal["mil", "mil_6300", "mil_6000", "mrad"]


@dataclass(frozen=True, slots=True)
class ByRuleOfThumb:
    """The three by the rule width = distance x angle / 1000, which takes a mil for a milliradian."""

    width_m: float
    distance_m: float
    angle: float


@dataclass(frozen=True, slots=True)
class MilRelation:
    """Width, distance and angle that belong together exactly, each with one standard deviation; the angle in ``unit``.

    ``found`` names the one that was not given. ``difference_percent`` is how much too large the rule of thumb makes it.
    """

    found: str
    width_m: float
    width_sd_m: float
    distance_m: float
    distance_sd_m: float
    angle: float
    angle_sd: float
    unit: str
    rule_of_thumb: ByRuleOfThumb
    difference_percent: float
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class MilRelationOperations(Operations):
    """``client.mil_relations``"""

    def solve(
        self,
        *,
        width_m: float | None = None,
        distance_m: float | None = None,
        angle: float | None = None,
        unit: MilUnit | None = None,
        width_sd_m: float | None = None,
        distance_sd_m: float | None = None,
        angle_sd: float | None = None,
        working: bool | None = None,
    ) -> MilRelation:
        """The third of width (or height) across the line of sight, distance, and the angle filled, from two of them.

        Raises `NoAnswerError`: ``two_of_three``, ``members_conflict`` or ``out_of_range``.
        """
        members = given(
            width_m=width_m,
            distance_m=distance_m,
            angle=angle,
            unit=unit,
            width_sd_m=width_sd_m,
            distance_sd_m=distance_sd_m,
            angle_sd=angle_sd,
            working=working,
        )
        return self._ask(MilRelation, "mil-relations", members)
