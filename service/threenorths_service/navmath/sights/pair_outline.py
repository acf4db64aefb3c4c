"""Whether the outlines of ellipses are curved, in rows: what `fix` asks of one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..lines.geodesic import direct
from ..rows import BoolArray
from .adjustment import wrap_line
from .ellipse import Ellipse, standard_deviations
from .fix import MOST_CURVED
from .pair_model import PairModel, look_from, meridians_turn
from .pair_settle import SettledPairs

__all__ = ["outline_is_curved"]

#: With an ellipse of less than this share of the shortest sight, the lines of sight turn along its axes by no more than
#: that share, and the cost rises by its square: to between 0.8 and 1.3 of what it should. No outline is curved.
SHORT_SHARE = 0.1

#: Where north turns by less than this along a half-axis, it does so evenly. [degree]
MOST_EVENLY_DEG = 1.0

#: Where the cost on a plane rises to between these shares, that on the ellipsoid, over the lengths admitted, is between
#: one over `MOST_CURVED` and that: the earth's curvature and the bend of north add a few hundredths.
SURELY_EVEN = (0.65, 1.5)

#: As near to its limits as this, the share is not certain to be on the same side in the one adjustment.
SHARE_BLUR = 1e-4

_ENDS_DEG = np.array([0.0, 180.0, 90.0, 270.0])[:, None]


def outline_is_curved(
    model: PairModel, settled: SettledPairs, sd_deg: FloatArray, ellipse: Ellipse, asked: BoolArray
) -> tuple[BoolArray, BoolArray]:
    """Which of the rows ``asked`` have a curved outline, and where that is certain; shape (n,), as all arguments.

    The cost at the ends of the axes is taken on a plane first, and on the ellipsoid where that does not settle it.
    """
    curved, sure = np.zeros((2, len(asked)), dtype=np.bool_)
    sure |= True
    evenly = _north_turns_evenly(settled, ellipse)
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
    sure[rows] = (from_limit > SHARE_BLUR).all(axis=0)
    return curved, sure


def _north_turns_evenly(settled: SettledPairs, ellipse: Ellipse) -> BoolArray:
    if settled.turn_slope is None:
        return np.ones(settled.rows.size, dtype=np.bool_)
    fastest = np.hypot(*settled.turn_slope) + np.abs(meridians_turn(settled.lat_deg))
    return np.asarray(fastest * ellipse.semi_major_m < MOST_EVENLY_DEG)


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
