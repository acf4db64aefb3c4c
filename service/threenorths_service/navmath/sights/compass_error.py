"""Whether a resection can tell the compass error from the place, and the circle through the marks, where it cannot."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..cautions import Caution, caution
from ..errors import CompassErrorUnsolvableError, DangerCircleError, ParallelSightsError
from ..lines.geodesic import inverse
from .adjustment import Adjustment, one_sd_m, wrap_line
from .crossing import FLATTEST_CROSSING_DEG, best_crossing, check_not_parallel
from .fix import Fix
from .settle import pointing_away
from .sight import SightTable

__all__ = [
    "DANGER_CIRCLE_STRETCH",
    "check_compass_error",
    "check_compass_error_solvable",
    "check_off_danger_circle",
    "compass_cautions",
    "large_error_caution",
    "near_circle_caution",
    "stretch",
]

#: A compass error beyond this is cautioned: common practice, no source. [degree]
LARGE_COMPASS_ERROR_DEG = 10.0

#: The observer is called near the danger circle when not knowing the compass error makes the ellipse this many
#: times as long as knowing it would.
DANGER_CIRCLE_STRETCH = 5.0

#: Of observers on the danger circle, 99 % find their three sights to fit it to within this weighted sum of squares:
#: the chi-square quantile of two degrees of freedom, ``-2 ln 0.01``. Each sight more raises the quantile by about 2.
DANGER_CIRCLE_COST = 9.21
COST_OF_A_SIGHT = 2.0


def check_compass_error_solvable(
    line_angle_deg: FloatArray, sd_deg: FloatArray, apart: NDArray[np.bool_]
) -> None:
    """Raise `CompassErrorUnsolvableError` where all sights are in one line: see `check_not_parallel`."""
    try:
        check_not_parallel(line_angle_deg, sd_deg, apart)
    except ParallelSightsError as error:
        raise CompassErrorUnsolvableError(
            f"with the compass error unknown, {error}",
            member=error.member,
            value=error.value,
            allowed=error.allowed,
            details=error.details,
        ) from error


def check_off_danger_circle(table: SightTable, apart: NDArray[np.bool_]) -> None:
    """Raise `DangerCircleError` where the sights fit an observer anywhere on a circle through the marks.

    All along such a circle the lines to the marks make the same angles: those seen at any one of the marks, with the
    circle's tangent for the line to itself. Where the marks are not on one circle, the angles seen at some mark do
    not fit.
    """
    azimuth, _back, distance = inverse(
        table.lat_deg[:, None], table.lon_deg[:, None], table.lat_deg, table.lon_deg
    )
    cost = max(_cost_at_mark(table, apart, azimuth, distance, index) for index in range(len(table.sd_deg)))
    if cost < DANGER_CIRCLE_COST + COST_OF_A_SIGHT * (len(table.sd_deg) - 3):
        raise _on_danger_circle()


def check_compass_error(table: SightTable, found: Adjustment) -> FloatArray:
    """The covariance, if it tells the place and the compass error apart.

    Raises
    ------
    CompassErrorUnsolvableError, DangerCircleError
        One standard deviation reaches beyond the farthest mark, or sights point away near the danger circle, where
        a little noise is enough for that.
    """
    covariance = found.covariance
    if covariance is not None and one_sd_m(covariance) <= np.max(found.distances_m):
        if pointing_away(found) and stretch(covariance) > DANGER_CIRCLE_STRETCH:
            raise _on_danger_circle()
        return covariance
    azimuth = inverse(found.lat_deg, found.lon_deg, table.lat_deg, table.lon_deg)[0]
    angle, _pair = best_crossing(azimuth)
    if FLATTEST_CROSSING_DEG <= angle <= 180.0 - FLATTEST_CROSSING_DEG:
        raise _on_danger_circle()
    raise CompassErrorUnsolvableError(
        f"the directions of the marks differ by {angle:.1f} degrees at best, too near to one line for the compass "
        "error to be told from the place",
        member="sights",
        allowed="marks spread around the horizon",
    )


def compass_cautions(fix: Fix, covariance: FloatArray) -> tuple[Caution, ...]:
    """What cannot be known well of a fix with its compass error, beside the cautions of any fix."""
    found = [near_circle_caution(stretch(covariance))]
    if fix.compass_error_deg is not None:
        found.append(large_error_caution(fix.compass_error_deg))
    return tuple(each for each in found if each is not None)


def near_circle_caution(times: float) -> Caution | None:
    """The caution of an ellipse so many `times` as long as it would be if the compass error were known."""
    if times <= DANGER_CIRCLE_STRETCH:
        return None
    return caution(
        "near_danger_circle",
        f"Not knowing the compass error makes the ellipse {times:.0f} times as long: the observer is near the "
        "circle through the marks, or sees them all in nearly one line.",
    )


def large_error_caution(compass_error_deg: float) -> Caution | None:
    """The caution of a compass error that is more than compasses have."""
    if abs(compass_error_deg) <= LARGE_COMPASS_ERROR_DEG:
        return None
    return caution(
        "large_compass_error",
        f"The compass error found is {compass_error_deg:+.1f} degrees: look for iron, a wrong north or a "
        "wrong mark before you trust it.",
    )


def _cost_at_mark(
    table: SightTable, apart: NDArray[np.bool_], azimuth_deg: FloatArray, distance_m: FloatArray, index: int
) -> float:
    """How badly the sights fit the angles between the lines seen at one mark; matrices between marks, (n, n)."""
    first = int(np.argmax(distance_m[index]))
    second = int(np.argmax(np.where(apart[index], distance_m[first], -1.0)))
    # The angle between chord and tangent is the one at the circumference over that chord.
    tangent = azimuth_deg[index, first] - (azimuth_deg[second, first] - azimuth_deg[second, index])
    turn = table.bearing_deg - np.where(apart[index], azimuth_deg[index], tangent)
    weight = table.sd_deg**-2
    mean = np.degrees(np.angle(np.exp(2j * np.radians(turn)) @ weight)) / 2.0
    return float(wrap_line(turn - mean) ** 2 @ weight)


def _on_danger_circle() -> DangerCircleError:
    return DangerCircleError(
        "the marks and the observer lie on one circle, as near as the sights can tell",
        member="sights",
        allowed="a mark well off the circle through the others and the observer",
    )


def stretch(covariance: FloatArray) -> float:
    """How many times as long the ellipse is as it would be if the compass error were known."""
    known = covariance[:2, :2] - np.outer(covariance[:2, 2], covariance[:2, 2]) / covariance[2, 2]
    return one_sd_m(covariance) / one_sd_m(known)
