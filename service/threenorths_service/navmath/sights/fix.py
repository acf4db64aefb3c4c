"""A place fixed by sights: what an intersection or a resection answers, and how far it is to be trusted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..angle import FloatArray, normalise_longitude
from ..cautions import Caution, caution, sight_name
from ..lines.geodesic import direct, inverse
from .adjustment import Adjustment, Model, costs
from .crossing import FLATTEST_CROSSING_DEG, best_crossing
from .ellipse import Ellipse, ellipse_of
from .sight import SightTable

__all__ = [
    "LONGEST_ELLIPSE_SHARE",
    "MOST_CURVED",
    "Fix",
    "curved_outline_caution",
    "fix_of",
    "flat_crossing_caution",
    "long_ellipse_caution",
]

#: A sight whose residual shows less than this share of its own error is called unchecked.
LEAST_REDUNDANCY = 0.02

#: The ellipse is cautioned when its longer semi-axis is more than this share of the shortest sight: beyond, the
#: lines of sight can no longer be taken for parallel bands, which the covariance does.
LONGEST_ELLIPSE_SHARE = 0.5

#: The cost at the ends of the ellipse's axes may be this many times what it should be, or one over that many.
MOST_CURVED = 2.0


@dataclass(frozen=True, slots=True)
class Fix:
    """A place fixed by n sights.

    ``lat_deg``, ``lon_deg`` [degree]; ``covariance_m2`` of its north and east errors, shape (2, 2) [square metre];
    ``ellipse`` of that covariance. As `fix_of` gives them they rest on the standard deviations of the sights alone;
    `fix_trust.trusted_fix` puts in what the sights share. ``sd_deg``, the standard
    deviations used, ``residuals_deg``, observed less computed, in (-180, 180], and ``distances_m`` to the known
    places, all of shape (n,). ``crossing_angle_deg``, in [0, 180], between the directions from the fix to the two
    known places ``crossing_sights``, of all pairs the one nearest to a right angle. ``degrees_of_freedom``, the
    sights beyond those needed, and ``variance_factor``, the weighted square sum of the residuals over them: about 1 where the
    standard deviations are right, ``None`` without any. ``compass_error_deg``, which every reading had too much, in
    (-180, 180], and its standard deviation: ``None`` unless solved for. ``grid_zone``, where the grid bearings of a
    resection were to find out their own grid zone, 0 for UPS.
    """

    lat_deg: float
    lon_deg: float
    covariance_m2: FloatArray
    ellipse: Ellipse
    sd_deg: FloatArray
    residuals_deg: FloatArray
    distances_m: FloatArray
    crossing_angle_deg: float
    crossing_sights: tuple[int, int]
    degrees_of_freedom: int
    variance_factor: float | None
    compass_error_deg: float | None
    compass_error_sd_deg: float | None
    influence: FloatArray
    hat: FloatArray
    cautions: tuple[Caution, ...]
    grid_zone: int | None = None


def flat_crossing_caution(crossing_angle_deg: float) -> Caution | None:
    """The caution of sights that cross at so flat an angle at best."""
    if FLATTEST_CROSSING_DEG <= crossing_angle_deg <= 180.0 - FLATTEST_CROSSING_DEG:
        return None
    return caution(
        "flat_crossing",
        f"The sights cross at {crossing_angle_deg:.1f} degrees at best; under {FLATTEST_CROSSING_DEG:g} or over "
        f"{180.0 - FLATTEST_CROSSING_DEG:g}, a small error in one moves the fix far.",
    )


def long_ellipse_caution(longest_m: float, shortest_m: float) -> Caution | None:
    """The caution of an ellipse with so long a semi-axis, for a shortest sight of so many metres."""
    if longest_m <= LONGEST_ELLIPSE_SHARE * shortest_m:
        return None
    return caution(
        "weak_geometry",
        f"The ellipse's longer semi-axis, {longest_m:.0f} m, is over half the shortest sight, {shortest_m:.0f} m: its "
        "true outline is curved and reaches further than stated.",
    )


def curved_outline_caution(longest_m: float) -> Caution:
    """The caution of an ellipse of no great length whose outline is curved all the same."""
    return caution(
        "weak_geometry",
        f"Along the ellipse's longer semi-axis, {longest_m:.0f} m, the lines of sight turn: its true outline is "
        "curved and reaches further than stated.",
    )


def fix_of(model: Model, table: SightTable, adjustment: Adjustment, covariance: FloatArray) -> Fix:
    """The answer to a settled adjustment of the sights in ``table`` with its ``covariance``."""
    azimuth = inverse(adjustment.lat_deg, adjustment.lon_deg, table.lat_deg, table.lon_deg)[0]
    angle, pair = best_crossing(azimuth)
    freedom = len(model.sd_deg) - model.unknowns
    fix = Fix(
        lat_deg=adjustment.lat_deg,
        lon_deg=float(normalise_longitude(adjustment.lon_deg)),
        covariance_m2=covariance[:2, :2],
        ellipse=ellipse_of(covariance[:2, :2]),
        sd_deg=model.sd_deg,
        residuals_deg=adjustment.residuals_deg,
        distances_m=adjustment.distances_m,
        crossing_angle_deg=angle,
        crossing_sights=pair,
        degrees_of_freedom=freedom,
        variance_factor=adjustment.cost / freedom if freedom else None,
        compass_error_deg=adjustment.compass_error_deg if model.solve_compass_error else None,
        compass_error_sd_deg=float(np.sqrt(covariance[2, 2])) if model.solve_compass_error else None,
        influence=adjustment.influence,
        hat=adjustment.hat,
        cautions=(),
    )
    return replace(fix, cautions=_cautions(fix, model, adjustment.redundancy))


def _cautions(fix: Fix, model: Model, redundancy: FloatArray) -> tuple[Caution, ...]:
    found: list[Caution | None] = [
        flat_crossing_caution(fix.crossing_angle_deg),
        _no_check(fix, redundancy),
        _weak_geometry(fix, model),
    ]
    return tuple(item for item in found if item is not None)


def _no_check(fix: Fix, redundancy: FloatArray) -> Caution | None:
    if not fix.degrees_of_freedom:
        return caution("no_check")
    unchecked = np.flatnonzero(redundancy < LEAST_REDUNDANCY)
    if not unchecked.size:
        return None
    names = ", ".join(sight_name(index) for index in unchecked.tolist())
    return caution("no_check", f"The other sights do not check {names}: a blunder there would not show.")


def _weak_geometry(fix: Fix, model: Model) -> Caution | None:
    """Whether the ellipse is so long that the covariance, which takes lines of sight for parallel bands, misleads."""
    longest_m = float(fix.ellipse.semi_major_m)
    long = long_ellipse_caution(longest_m, float(np.min(fix.distances_m)))
    if long is not None:
        return long
    return curved_outline_caution(longest_m) if _outline_is_curved(fix, model) else None


def _outline_is_curved(fix: Fix, model: Model) -> bool:
    """Whether the ends of the ellipse's axes fit the sights much better or worse than its outline should."""
    axis = float(fix.ellipse.major_axis_azimuth_deg)
    major, minor = float(fix.ellipse.semi_major_m), float(fix.ellipse.semi_minor_m)
    azimuths = axis + np.array([0.0, 180.0, 90.0, 270.0])
    lat, lon, _back = direct(fix.lat_deg, fix.lon_deg, azimuths, np.array([major, major, minor, minor]))
    rise = costs(model, np.append(lat, fix.lat_deg), np.append(lon, fix.lon_deg))[0]
    share = (rise[:4] - rise[4]) / (-2.0 * np.log1p(-fix.ellipse.confidence))
    return bool(np.any((share < 1.0 / MOST_CURVED) | (share > MOST_CURVED)))
