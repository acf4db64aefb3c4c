"""Width of a river or gully that is not crossed: a base along the near bank, and the far mark sighted from its ends.

The triangle of the base and the mark is solved by the sine rule. Turning off a right angle from the mark, and the field
methods that walk until the mark stands at a named angle, are the same triangle with one angle chosen beforehand.

Only differences of bearings count, so any one north will do, and a steady error of the compass drops out.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_signed
from ..rows import IntArray
from ..sights.sight import DEFAULT_SD_DEG
from .estimate import PACED_SD_RATIO, TOLD_APART_SD, EstimateStatus, checked, first_order_sd, known

__all__ = [
    "LONGEST_BASE_M",
    "SHORTEST_BASE_M",
    "WALKED_ANGLES",
    "OffsetWidth",
    "width_by_offset",
    "width_by_two_bearings",
    "width_by_walked_angle",
]

#: The field methods by the angle at the end of the base, between the base walked and the mark: width over base. The
#: base runs at right angles to the mark seen first. At 45 degrees the triangle is isosceles (W. B. Lord and T. Baines,
#: "Shifts and Expedients of Camp Life", 1871, plate of river widths, fig. 2); 63 degrees 26 minutes is the angle whose
#: tangent is 2, 26 degrees 34 minutes the one whose tangent is a half: common practice, no source.
WALKED_ANGLES = MappingProxyType({"45": 1.0, "63_26": 2.0, "26_34": 0.5})

#: Lengths of a base, or of standing back, that are taken. [metre]
SHORTEST_BASE_M = 0.1
LONGEST_BASE_M = 10_000.0


@dataclass(frozen=True, slots=True)
class OffsetWidth:
    """Widths and the distances behind them: arrays of the broadcast shape, with standard deviations. [metre]

    ``width_m`` is square to the river, from the near edge to the mark; ``from_start_m`` and ``from_end_m`` are the
    distances of the mark from the ends of the base. ``crossing_angle_deg`` is the angle between the lines at the mark.
    Where ``status`` is not `EstimateStatus.OK` all of them are NaN; `estimate_error` says why.
    """

    width_m: FloatArray
    width_sd_m: FloatArray
    from_start_m: FloatArray
    from_start_sd_m: FloatArray
    from_end_m: FloatArray
    from_end_sd_m: FloatArray
    crossing_angle_deg: FloatArray
    status: IntArray


def width_by_two_bearings(
    base_m: ArrayLike,
    base_azimuth_deg: ArrayLike,
    start_bearing_deg: ArrayLike,
    end_bearing_deg: ArrayLike,
    *,
    river_azimuth_deg: ArrayLike | None = None,
    set_back_m: ArrayLike = 0.0,
    base_sd_m: ArrayLike | None = None,
    bearing_sd_deg: ArrayLike = DEFAULT_SD_DEG,
) -> OffsetWidth:
    """The width from the bearings of a far mark at both ends of a base of any direction. Shapes broadcast.

    Parameters
    ----------
    base_m : array_like
        Horizontal length of the base, 0.1 to 10,000. [metre]
    base_azimuth_deg, start_bearing_deg, end_bearing_deg : array_like
        Direction of the base from its start, and of the mark from its start and end, all from one north. [degree]
    river_azimuth_deg : array_like, optional
        Direction of the bank, either way; where it is not given, the base lies along the bank. [degree]
    set_back_m : array_like
        How far the start of the base stands back from the near edge, square to the river. [metre]
    base_sd_m : array_like, optional
        Standard deviation of the base; where it is not given, that of a paced length, `PACED_SD_RATIO`. [metre]
    bearing_sd_deg : array_like
        Standard deviation of each of the three directions, independent of each other. [degree]

    Raises
    ------
    OutOfRangeError
        A length or a standard deviation is out of its range, or a direction is not a number.
    """
    base = checked("base_m", base_m, SHORTEST_BASE_M, LONGEST_BASE_M)
    azimuth = checked("base_azimuth_deg", base_azimuth_deg, -360.0, 720.0)
    start = checked("start_bearing_deg", start_bearing_deg, -360.0, 720.0)
    end = checked("end_bearing_deg", end_bearing_deg, -360.0, 720.0)
    back = checked("set_back_m", set_back_m, 0.0, LONGEST_BASE_M)
    bearing_sd = checked("bearing_sd_deg", bearing_sd_deg, 0.0, 45.0)
    base_sd = (
        PACED_SD_RATIO * base if base_sd_m is None else checked("base_sd_m", base_sd_m, 0.0, LONGEST_BASE_M)
    )
    bank = (
        None if river_azimuth_deg is None else checked("river_azimuth_deg", river_azimuth_deg, -360.0, 720.0)
    )

    def width(length: FloatArray, along: FloatArray, at_start: FloatArray, at_end: FloatArray) -> FloatArray:
        across_deg = at_start - (along if bank is None else bank)
        return _from_start(length, along, at_start, at_end) * np.abs(np.sin(np.radians(across_deg))) - back

    values = (base, azimuth, start, end)
    sds = (base_sd, bearing_sd, bearing_sd, bearing_sd)
    triangle = _triangle_status(azimuth, start, end, bearing_sd)
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        width_m, from_start_m, from_end_m = width(*values), _from_start(*values), _from_end(*values)
        width_sd_m, from_start_sd_m, from_end_sd_m = (
            first_order_sd(formula, values, sds) for formula in (width, _from_start, _from_end)
        )
    too_far_back = (triangle == EstimateStatus.OK) & (width_m <= 0.0)
    status = np.where(too_far_back, EstimateStatus.SET_BACK_TOO_FAR, triangle)
    solved = status == EstimateStatus.OK
    return OffsetWidth(
        width_m=known(width_m, solved),
        width_sd_m=known(width_sd_m, solved),
        from_start_m=known(from_start_m, solved),
        from_start_sd_m=known(from_start_sd_m, solved),
        from_end_m=known(from_end_m, solved),
        from_end_sd_m=known(from_end_sd_m, solved),
        crossing_angle_deg=known(np.abs(normalise_signed(start - end)), solved),
        status=status.astype(np.int64)[()],
    )


def width_by_offset(
    base_m: ArrayLike,
    base_azimuth_deg: ArrayLike,
    end_bearing_deg: ArrayLike,
    *,
    set_back_m: ArrayLike = 0.0,
    base_sd_m: ArrayLike | None = None,
    bearing_sd_deg: ArrayLike = DEFAULT_SD_DEG,
) -> OffsetWidth:
    """The width by a right-angle offset: the base was turned off at 90 degrees from the mark straight across.

    Width = base x tan(angle at the end between the base and the mark). The mark lies on the side to which its bearing
    from the end points. Parameters and errors are those of `width_by_two_bearings`; the right angle has the standard
    deviation of a bearing.
    """
    azimuth = checked("base_azimuth_deg", base_azimuth_deg, -360.0, 720.0)
    end = checked("end_bearing_deg", end_bearing_deg, -360.0, 720.0)
    side = np.where(normalise_signed(end - azimuth) < 0.0, -90.0, 90.0)
    return width_by_two_bearings(
        base_m, azimuth, azimuth + side, end,
        set_back_m=set_back_m, base_sd_m=base_sd_m, bearing_sd_deg=bearing_sd_deg,
    )  # fmt: skip


def width_by_walked_angle(
    base_m: ArrayLike,
    walked_angle: str,
    *,
    set_back_m: ArrayLike = 0.0,
    base_sd_m: ArrayLike | None = None,
    bearing_sd_deg: ArrayLike = DEFAULT_SD_DEG,
) -> OffsetWidth:
    """The width by walking at right angles to the mark until it stands at a named angle, a key of `WALKED_ANGLES`.

    No bearing enters: the width is the base, twice the base or half of it. Parameters and errors are otherwise those
    of `width_by_two_bearings`.
    """
    angle_deg = np.degrees(np.arctan(WALKED_ANGLES[walked_angle]))
    return width_by_offset(
        base_m, 0.0, 180.0 - angle_deg,
        set_back_m=set_back_m, base_sd_m=base_sd_m, bearing_sd_deg=bearing_sd_deg,
    )  # fmt: skip


def _from_start(base_m: FloatArray, azimuth: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """By the sine rule: the side opposite the angle at the end, over that angle's sine, is the base over the apex's."""
    return np.asarray(base_m * np.sin(np.radians(end - azimuth)) / np.sin(np.radians(end - start)))


def _from_end(base_m: FloatArray, azimuth: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    return np.asarray(base_m * np.sin(np.radians(start - azimuth)) / np.sin(np.radians(end - start)))


def _triangle_status(azimuth: FloatArray, start: FloatArray, end: FloatArray, sd_deg: FloatArray) -> IntArray:
    """Whether the bearings make a triangle, and one that their standard deviations do not blur.

    The angles at the start, at the end and at the mark are counted alike from one side of the base, so that of a true
    triangle all three have one sign. An angle within `TOLD_APART_SD` of 0 or 180 degrees could have the other sign.
    """
    angles = np.stack(
        np.broadcast_arrays(
            normalise_signed(start - azimuth),
            normalise_signed(azimuth + 180.0 - end),
            normalise_signed(end - start),
        )
    )
    off_line = np.minimum(np.abs(angles), 180.0 - np.abs(angles))
    # Exact zero is never a triangle, even of bearings without error.
    weak = np.any(off_line <= np.maximum(TOLD_APART_SD * np.sqrt(2.0) * sd_deg, 1e-9), axis=0)
    meets = np.all(angles > 0.0, axis=0) | np.all(angles < 0.0, axis=0)
    return np.where(
        weak, EstimateStatus.WEAK_BASE, np.where(meets, EstimateStatus.OK, EstimateStatus.LINES_DO_NOT_MEET)
    )
