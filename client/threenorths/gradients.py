"""Gradients: what contours say of a slope, and how far apart they lie on the map for one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from .answers import Caution
from .caller import Operations
from .to_json import given, pairs_json

__all__ = ["Gradient", "GradientMethod", "GradientOperations", "SteepestPlace"]

#: What the gradient is taken from: a rise over a length, how far apart contours lie, or the contours that a line crosses.
GradientMethod = Literal["rise", "spacing", "crossings"]


@dataclass(frozen=True, slots=True)
class SteepestPlace:
    """The steepest stretch between two contours along the line: where on the map, and its gradient, falling negative."""

    from_mm: float
    to_mm: float
    gradient_percent: float
    gradient_sd_percent: float
    gradient_deg: float


@dataclass(frozen=True, slots=True)
class Gradient:
    """A slope in every form, uphill positive; of ``crossings`` that of the whole line. ``None`` for what is not known.

    ``run_per_rise`` is n of 1 in n, ``None`` where it is level. ``spacing_m`` and ``spacing_mm`` are how far apart
    contours lie for the gradient, on the ground and on the map.
    """

    method: str
    rise_m: float
    ground_m: float
    slope_m: float
    gradient_percent: float
    gradient_sd_percent: float | None
    gradient_deg: float
    gradient_sd_deg: float | None
    gradient_mil: float
    run_per_rise: float | None
    spacing_m: float | None
    spacing_mm: float | None
    steepest: SteepestPlace | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class GradientOperations(Operations):
    """``client.gradients``"""

    def find(
        self,
        method: GradientMethod,
        *,
        rise_m: float | None = None,
        contours: float | None = None,
        contour_interval_m: float | None = None,
        ground_m: float | None = None,
        map_mm: float | None = None,
        spacing_mm: float | None = None,
        crossings: Sequence[tuple[float, float]] | None = None,
        scale: float | str | None = None,
        rise_sd_m: float | None = None,
        ground_sd_m: float | None = None,
        map_sd_mm: float | None = None,
        working: bool | None = None,
    ) -> Gradient:
        """The gradient, and how far apart contours lie for it.

        ``rise`` needs ``rise_m``, or ``contours`` with their interval, over ``ground_m``, or ``map_mm`` with the
        ``scale``; ``spacing`` the interval, ``spacing_mm`` and the scale; ``crossings`` the scale and pairs of
        millimetres along a line on the map and the height of the contour crossed there in metres.

        Raises `NoAnswerError`: ``members_missing``, ``members_conflict`` or ``out_of_range``; `ArgumentError` where
        ``crossings`` are no pairs.
        """
        members = given(
            method=method,
            rise_m=rise_m,
            contours=contours,
            contour_interval_m=contour_interval_m,
            ground_m=ground_m,
            map_mm=map_mm,
            spacing_mm=spacing_mm,
            crossings=None
            if crossings is None
            else pairs_json(crossings, "crossings", ("map_mm", "height_m")),
            scale=scale,
            rise_sd_m=rise_sd_m,
            ground_sd_m=ground_sd_m,
            map_sd_mm=map_sd_mm,
            working=working,
        )
        return self._ask(Gradient, "gradients", members)
