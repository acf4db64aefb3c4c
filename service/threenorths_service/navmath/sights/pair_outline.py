"""Whether the outlines of ellipses are curved, in rows: what `fix` asks of one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..grids.ellipsoid import SEMI_MAJOR_AXIS_M
from ..lines.geodesic import direct
from ..rows import BoolArray
from .adjustment import wrap_line
from .ellipse import Ellipse, standard_deviations
from .fix import MOST_CURVED
from .pair_model import PairModel, look_from, meridians_turn
from .pair_settle import SettledPairs

__all__ = ["ellipse_blur", "outline_is_curved"]

#: With an ellipse of less than this share of the shortest sight, the lines of sight turn along its axes by no more than
#: that share, and the cost rises by its square: to between 0.8 and 1.3 of what it should. No outline is curved.
SHORT_SHARE = 0.1

#: Where the cost on a plane rises to between these shares, that on the ellipsoid is between one over `MOST_CURVED` and that,
#: over the lengths admitted and where north turns evenly.
SURELY_EVEN = (0.65, 1.5)

#: North turns evenly where what it turns by along a half-axis beyond the slope is under this share of the sights' standard
#: deviations. It is taken for the square of the turn by the slope, and by as much as the meridians turn at the latitude
#: of 79 degrees: five over the earth's radius, more than declination and grids bend by where their slope is small.
MOST_BENT_SDS = 0.05
BEND = 5.0 / SEMI_MAJOR_AXIS_M

#: The share by which an ellipse may differ from that of the one adjustment: its derivatives by differences over 3e-4 of
#: the shortest sight are blurred by the last digits of places, some nanometres, of a sight of a metre by 1e-5; flat
#: crossings by some times as much.
ELLIPSE_BLUR = 5e-7
ELLIPSE_BLUR_M = 5e-5
#: The share of the cost at the ends of the axes by which it may differ, beside what the ends themselves do.
COST_BLUR = 1e-4

_ENDS_DEG = np.array([0.0, 180.0, 90.0, 270.0])[:, None]


def outline_is_curved(
    model: PairModel, settled: SettledPairs, sd_deg: FloatArray, ellipse: Ellipse, asked: BoolArray
) -> tuple[BoolArray, BoolArray]:
    """Which of the rows ``asked`` have a curved outline, and where that is certain; shape (n,), as all arguments.

    The cost at the ends of the axes is taken on a plane first, and on the ellipsoid where that does not settle it.
    """
    curved, sure = np.zeros((2, len(asked)), dtype=np.bool_)
    sure |= True
    evenly = _north_turns_evenly(settled, sd_deg, ellipse)
    short = ellipse.semi_major_m < SHORT_SHARE * settled.look.distance_m.min(axis=0)
    rows = np.flatnonzero(asked & ~(short & evenly))
    if not rows.size:
        return curved, sure
    least, most = SURELY_EVEN
    share = _share_on_plane(settled, sd_deg, ellipse, rows)
    rows = rows[~(((share > least) & (share < most)).all(axis=0) & evenly[rows])]
    if not rows.size:
        return curved, sure
    share = _share(model, settled, sd_deg, ellipse, rows)
    curved[rows] = ((share < 1.0 / MOST_CURVED) | (share > MOST_CURVED)).any(axis=0)
    from_limit = np.minimum(np.abs(share * MOST_CURVED - 1.0), np.abs(share / MOST_CURVED - 1.0))
    # A long half-axis that is turned a little ends far off the narrow ellipse.
    narrow = ellipse.semi_major_m[rows] / np.maximum(ellipse.semi_minor_m[rows], np.finfo(np.float64).tiny)
    blur = COST_BLUR + 20.0 * (1.0 + narrow) * ellipse_blur(settled.look.distance_m[:, rows].min(axis=0))
    sure[rows] = (from_limit > blur).all(axis=0)
    return curved, sure


def ellipse_blur(shortest_m: FloatArray) -> FloatArray:
    """The share by which ellipses may differ from those of the one adjustment, by the shortest sight."""
    return ELLIPSE_BLUR + ELLIPSE_BLUR_M / shortest_m


def _north_turns_evenly(settled: SettledPairs, sd_deg: FloatArray, ellipse: Ellipse) -> BoolArray:
    if settled.turn_slope is None:
        return np.ones(settled.rows.size, dtype=np.bool_)
    slope = np.radians(np.hypot(*settled.turn_slope) + np.abs(meridians_turn(settled.lat_deg)))
    bent = np.degrees(((slope + BEND) * ellipse.semi_major_m) ** 2)
    return np.asarray(bent < MOST_BENT_SDS * sd_deg.min(axis=0))


def _ends(ellipse: Ellipse, rows: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """The directions [degree] and the lengths [metre] of the four half-axes, shape (4, n)."""
    major, minor = ellipse.semi_major_m[rows], ellipse.semi_minor_m[rows]
    return ellipse.major_axis_azimuth_deg[rows] + _ENDS_DEG, np.stack((major, major, minor, minor))


def _share_on_plane(
    settled: SettledPairs, sd_deg: FloatArray, ellipse: Ellipse, rows: NDArray[np.intp]
) -> FloatArray:
    """The cost at the ends over what it should be, shape (4, n): sights turn as on a plane, north evenly."""
    azimuth, length = _ends(ellipse, rows)
    north, east = length * np.cos(np.radians(azimuth)), length * np.sin(np.radians(azimuth))
    cost = np.zeros(length.shape)
    for sight in (0, 1):
        toward = np.radians(settled.look.azimuth_deg[sight, rows])
        distance = settled.look.distance_m[sight, rows]
        along = north * np.cos(toward) + east * np.sin(toward)
        across = north * np.sin(toward) - east * np.cos(toward)
        evenly = settled.slopes[0, sight, rows] * north + settled.slopes[1, sight, rows] * east
        bent = np.degrees(np.arctan2(across, distance - along) - across / distance)
        cost += ((evenly + bent) / sd_deg[sight, rows]) ** 2
    return cost / standard_deviations(ellipse.confidence) ** 2


def _share(
    model: PairModel, settled: SettledPairs, sd_deg: FloatArray, ellipse: Ellipse, rows: NDArray[np.intp]
) -> FloatArray:
    """The same on the ellipsoid."""
    azimuth, length = _ends(ellipse, rows)
    lat, lon, _back = direct(settled.lat_deg[rows], settled.lon_deg[rows], azimuth, length)
    part, sd = model.rows(settled.rows[rows]), sd_deg[:, rows]
    here = _cost(settled.look.residual_deg[:, rows], sd)
    costs = [_cost(look_from(part, lat[end], lon[end]).residual_deg, sd) - here for end in range(4)]
    return np.stack(costs) / standard_deviations(ellipse.confidence) ** 2


def _cost(residual_deg: FloatArray, sd_deg: FloatArray) -> FloatArray:
    return np.asarray(np.sum((wrap_line(residual_deg) / sd_deg) ** 2, axis=0))
