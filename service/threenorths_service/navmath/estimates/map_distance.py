"""Lengths on the map and on the ground, the scale that ties them, and slopes.

A representative fraction 1:N is the number N: a length on the map times N is the horizontal length on the ground
(US Army TC 3-25.26, para 5-1), whatever the unit. A slope length lies along the gradient, up or down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray
from ..errors import LengthsInconsistentError, LengthsMissingError, OutOfRangeError
from ..rows import BoolArray

__all__ = ["GROUND_UNITS_M", "MAP_UNITS_MM", "MapDistance", "lengths_possible", "solve_map_distance"]

#: Millimetres in each unit of a map length.
MAP_UNITS_MM = MappingProxyType({"mm": 1.0, "cm": 10.0, "in": 25.4})

#: Metres in each unit of a ground length. International yard and pound agreement of 1959 (1 yd = 0.9144 m);
#: international nautical mile, 1852 m (BIPM, The International System of Units, 8th ed., table 8).
GROUND_UNITS_M = MappingProxyType(
    {"m": 1.0, "km": 1000.0, "ft": 0.3048, "yd": 0.9144, "mi": 1609.344, "nmi": 1852.0}
)


_EVERY_ROW: BoolArray = np.asarray(True)
_SLOPE_PARTS = ("slope_m", "rise_m", "gradient")
_QUANTITIES = ("scale", "map_mm", "ground_m", *_SLOPE_PARTS)


@dataclass(frozen=True, slots=True)
class MapDistance:
    """Map, ground and slope lengths that belong together; ``None`` for what could not be told. A ground
    length there is always.

    ``gradient`` is the rise over the horizontal length, uphill positive: 0.1 is 10 per cent.
    """

    scale: FloatArray | None
    map_mm: FloatArray | None
    ground_m: FloatArray
    slope_m: FloatArray | None
    rise_m: FloatArray | None
    gradient: FloatArray | None


@np.errstate(
    over="ignore"
)  # a gradient next to nought makes any length; what is too long is the caller's to refuse
def solve_map_distance(
    *,
    scale: ArrayLike | None = None,
    map_mm: ArrayLike | None = None,
    ground_m: ArrayLike | None = None,
    slope_m: ArrayLike | None = None,
    rise_m: ArrayLike | None = None,
    gradient: ArrayLike | None = None,
) -> MapDistance:
    """Whatever follows from the scale, the map length, the ground length and the slope. Shapes broadcast.

    The ground length is given, or follows from the scale and the map length, or from two of the slope length, the
    rise and the gradient. With it the missing one of scale and map length follows, and, given one of slope
    length, rise and gradient, the other two.

    Raises
    ------
    LengthsMissingError, LengthsInconsistentError
        Too little is given for any answer, or a quantity follows twice.
    OutOfRangeError
        A slope length is shorter than its own rise or its own ground length: mask such rows first, with
        `lengths_possible`.
    """
    lengths = (scale, map_mm, ground_m, slope_m, rise_m, gradient)
    given = {
        name: np.asarray(value, dtype=np.float64)
        for name, value in zip(_QUANTITIES, lengths, strict=True)
        if value is not None
    }
    slope_parts = [name for name in _SLOPE_PARTS if name in given]
    ground = _ground_length(given, slope_parts)
    scale_found, map_found = given.get("scale"), given.get("map_mm")
    if scale_found is None and map_found is not None:
        scale_found = ground * 1000.0 / map_found
    elif map_found is None and scale_found is not None:
        map_found = ground * 1000.0 / scale_found
    slope, rise, slope_gradient = _slope(ground, given) if slope_parts else (None, None, None)
    if map_found is None and slope is None:
        raise LengthsMissingError(
            "a ground length alone answers nothing", allowed="a scale, a map length or a gradient beside it"
        )
    return MapDistance(scale_found, map_found, ground, slope, rise, slope_gradient)


def lengths_possible(
    *,
    scale: ArrayLike | None = None,
    map_mm: ArrayLike | None = None,
    ground_m: ArrayLike | None = None,
    slope_m: ArrayLike | None = None,
    rise_m: ArrayLike | None = None,
    gradient: ArrayLike | None = None,
) -> BoolArray:
    """Which rows `solve_map_distance` does not refuse as out of range, where it refuses the quantities for nothing else."""
    if gradient is not None:
        if rise_m is None or ground_m is not None or slope_m is not None:
            return _EVERY_ROW
        return _same_sign(gradient, rise_m)
    if slope_m is None:
        return _EVERY_ROW
    if rise_m is not None:
        return _longer_than_rise(slope_m, rise_m)
    if ground_m is None and scale is not None and map_mm is not None:
        ground_m = _ground_on_map(scale, map_mm)
    return _EVERY_ROW if ground_m is None else _reaches(slope_m, ground_m)


def _same_sign(gradient: ArrayLike, rise_m: ArrayLike) -> BoolArray:
    return np.greater(np.multiply(gradient, rise_m), 0.0)


def _longer_than_rise(slope_m: ArrayLike, rise_m: ArrayLike) -> BoolArray:
    return np.greater(slope_m, np.abs(rise_m))


def _reaches(slope_m: ArrayLike, ground_m: ArrayLike) -> BoolArray:
    return np.greater_equal(slope_m, ground_m)


def _ground_on_map(scale: ArrayLike, map_mm: ArrayLike) -> FloatArray:
    return np.multiply(map_mm, scale) / 1000.0


def _ground_length(given: dict[str, FloatArray], slope_parts: Sequence[str]) -> FloatArray:
    """The one ground length that the given values tell; told twice or not at all is an error."""
    from_map = "scale" in given and "map_mm" in given
    ways = ("ground_m" in given) + from_map + (len(slope_parts) >= 2)
    if ways > 1 or len(slope_parts) > 2:
        raise LengthsInconsistentError(
            "the ground length follows from what was given in more than one way",
            allowed="two of scale, map length and ground length, and one of slope length, rise and gradient",
        )
    if "ground_m" in given:
        return given["ground_m"]
    if from_map:
        return _ground_on_map(given["scale"], given["map_mm"])
    if len(slope_parts) < 2:
        raise LengthsMissingError(
            "the ground length does not follow from what was given",
            allowed="two of scale, map length and ground length; or a slope length with a gradient or a rise",
        )
    return _ground_from_slope(given)


def _ground_from_slope(given: dict[str, FloatArray]) -> FloatArray:
    gradient = given.get("gradient")
    if gradient is not None and "slope_m" in given:
        return np.asarray(given["slope_m"] / np.hypot(1.0, gradient))
    if gradient is not None:
        if not np.all(_same_sign(gradient, given["rise_m"])):
            raise OutOfRangeError(
                "a rise and a gradient tell a length only when they have the same sign and neither is nought",
                member="rise_m",
                value=_first(given["rise_m"]),
                allowed="the sign of the gradient, not nought",
            )
        return np.asarray(given["rise_m"] / gradient)
    slope, rise = given["slope_m"], given["rise_m"]
    if not np.all(_longer_than_rise(slope, rise)):
        raise OutOfRangeError(
            "the slope length is not longer than its rise",
            member="slope_m",
            value=_first(slope),
            allowed=f"over {_first(np.abs(rise)):g} m, the rise",
        )
    return np.asarray(np.sqrt((slope - rise) * (slope + rise)))


def _slope(ground_m: FloatArray, given: dict[str, FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Slope length, rise and gradient over a ground length, from the first of them that was given."""
    if "gradient" in given:
        gradient = given["gradient"]
        rise = gradient * ground_m
    elif "rise_m" in given:
        rise = given["rise_m"]
        gradient = rise / ground_m
    else:
        slope = given["slope_m"]
        if not np.all(_reaches(slope, ground_m)):
            raise OutOfRangeError(
                "the slope length is shorter than its ground length",
                member="slope_m",
                value=_first(slope),
                allowed=f"at least {_first(ground_m):g} m, the ground length",
            )
        # A length does not tell uphill from downhill; the rise is given as uphill.
        rise = np.sqrt((slope - ground_m) * (slope + ground_m))
        gradient = rise / ground_m
    return given.get("slope_m", np.hypot(ground_m, rise)), rise, gradient


def _first(value: FloatArray) -> float:
    return float(np.ravel(value)[0])
