"""The mil relation: width, distance and angle of what is seen, any two to the third, exactly and by rule of thumb.

Exactly, an object of width W that stands square to the line of sight, R away at its middle, is seen at the angle a with
``W = 2 R tan(a / 2)``. The rule of thumb is ``W = R m / 1000`` with the angle m in mils of any kind (US Army
TM 9-1240-407-12&P, range determination, states it for 6400 to the circle). A mil of 6400 is 0.98175 milliradian: for small
angles the rule makes widths 1.86 per cent too large and distances 1.82 per cent too small, before any misreading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..angle import CIRCLE_DIVISIONS, FloatArray
from ..errors import TwoOfThreeError
from .estimate import checked, checked_sd, default_sd, first_order_sd

__all__ = ["MIL_CIRCLES", "MIL_SD", "WIDTH_SD_RATIO", "MilRelation", "solve_mil_relation"]

#: Parts of a full circle, by the name of the mil.
MIL_CIRCLES = MappingProxyType(
    {name: CIRCLE_DIVISIONS[name] for name in ("mil", "mil_6300", "mil_6000")} | {"mrad": 2000.0 * np.pi}
)

#: Standard deviation of an angle read off a reticle, half of a mil: common practice, no source.
MIL_SD = 0.5

#: Standard deviation of the width or height of a thing known by its kind, over it (a door, a man): common practice, no
#: source. That of a distance is the same.
WIDTH_SD_RATIO = 0.05


@dataclass(frozen=True, slots=True)
class MilRelation:
    """Width, distance and angle that belong together, the one that was found and how. Arrays of the broadcast shape.

    The one of ``width_m``, ``distance_m`` and ``angle`` named by ``found`` is the exact answer, ``rule_of_thumb`` what
    the rule makes of the same two; ``difference_percent`` is how much the rule is too large, of the exact answer.
    """

    found: str
    width_m: FloatArray
    distance_m: FloatArray
    angle: FloatArray
    sd: FloatArray
    rule_of_thumb: FloatArray
    rule_of_thumb_sd: FloatArray
    difference_percent: FloatArray


def solve_mil_relation(
    *,
    width_m: ArrayLike | None = None,
    distance_m: ArrayLike | None = None,
    angle: ArrayLike | None = None,
    unit: str = "mil",
    width_sd_m: ArrayLike | None = None,
    distance_sd_m: ArrayLike | None = None,
    angle_sd: ArrayLike | None = None,
) -> MilRelation:
    """The third of width, distance and angle from two of them. Shapes broadcast.

    Parameters
    ----------
    width_m : array_like, optional
        Width, or height, across the line of sight, 0.001 to 100,000. [metre]
    distance_m : array_like, optional
        Distance to its middle, 0.1 to 1,000,000. [metre]
    angle : array_like, optional
        Angle between its edges, over 0 and under half a circle, in ``unit``, a key of `MIL_CIRCLES`.
    width_sd_m, distance_sd_m, angle_sd : array_like, optional
        Standard deviations, each under its own value; by default `WIDTH_SD_RATIO` of a width or distance, and `MIL_SD`
        but at most `estimate.DEFAULT_SD_SHARE` of the angle.

    Raises
    ------
    TwoOfThreeError
        Not just two are given.
    OutOfRangeError
        A value is out of its range.
    """
    circle = MIL_CIRCLES[unit]
    limits = {"width_m": (0.001, 1e5), "distance_m": (0.1, 1e6), "angle": (1e-3, circle * (0.5 - 1e-6))}
    offered = {"width_m": width_m, "distance_m": distance_m, "angle": angle}
    given = {
        name: checked(name, value, *limits[name]) for name, value in offered.items() if value is not None
    }
    if len(given) != 2:
        raise TwoOfThreeError(
            f"{len(given)} of width, distance and angle are given",
            allowed="just two of width_m, distance_m and angle",
        )
    (found,) = offered.keys() - given.keys()
    exact, rule = _formulas(circle)[found]
    stated = {
        "width_m": ("width_sd_m", width_sd_m),
        "distance_m": ("distance_sd_m", distance_sd_m),
        "angle": ("angle_sd", angle_sd),
    }
    sds = [_sd(value, *stated[name]) for name, value in given.items()]
    values = list(given.values())
    answer, thumb = exact(*values), rule(*values)
    return MilRelation(
        found=found,
        **given | {found: answer},
        sd=first_order_sd(exact, values, sds),
        rule_of_thumb=thumb,
        rule_of_thumb_sd=first_order_sd(rule, values, sds),
        difference_percent=(thumb / answer - 1.0) * 100.0,
    )


def _sd(value: FloatArray, member: str, sd: ArrayLike | None) -> FloatArray:
    if sd is None:
        return default_sd(value, MIL_SD) if member == "angle_sd" else WIDTH_SD_RATIO * value
    return checked_sd(member, sd, value)


def _formulas(circle: float) -> dict[str, tuple[Callable[..., FloatArray], Callable[..., FloatArray]]]:
    """What finds each quantity from the other two, in the order width, distance, angle: exactly, and by the rule."""
    half_angle = np.pi / circle
    return {
        "width_m": (
            lambda distance, mils: 2.0 * distance * np.tan(half_angle * mils),
            lambda distance, mils: distance * mils / 1000.0,
        ),
        "distance_m": (
            lambda width, mils: width / (2.0 * np.tan(half_angle * mils)),
            lambda width, mils: width * 1000.0 / mils,
        ),
        "angle": (
            lambda width, distance: np.arctan(width / (2.0 * distance)) / half_angle,
            lambda width, distance: width * 1000.0 / distance,
        ),
    }
