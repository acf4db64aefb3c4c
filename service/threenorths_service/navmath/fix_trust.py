"""What the standard deviations of single sights leave out of a fix.

A known place given by a coarse grid reference lies anywhere in its square; the declination of the magnetic model has an
error that all sights share, which no number of sights averages out; and sights that disagree by more than their standard
deviations allow show that these are too small. Each widens the ellipse.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from .angle import FloatArray
from .cautions import Caution, caution
from .ellipse import ellipse_of
from .errors import NavigationError
from .fix import Fix
from .geodesic import inverse
from .magnetic import field_at
from .sight import Sight

__all__ = ["trusted_fix"]

#: A known place that adds less than this share to a sight's standard deviation is left alone.
NEGLIGIBLE_SHARE = 0.01
#: How far the sights are turned to see where that moves the fix. [degree]
TURN_DEG = 0.01
#: The standard normal deviate that one in a hundred exceeds.
ONE_IN_A_HUNDRED = 2.3263


def trusted_fix(
    fit: Callable[[Sequence[Sight]], Fix], sights: Sequence[Sight], decimal_year: float | None, at_fix: bool
) -> Fix:
    """The fix of ``sights`` by ``fit``, with its ellipse as wide as all that is known of their errors makes it.

    ``decimal_year`` is given where the bearings are magnetic and the compass's error is not solved for, which would take
    the declination's with it; ``at_fix`` says whether the declination is the fix's own or that at the known places.
    """
    fix = fit(sights)
    coarse = _with_known_places(sights, fix)
    if coarse is not None:
        sights, fix = coarse, fit(coarse)
        fix = replace(fix, cautions=(*fix.cautions, _coarse(sights)))
    fix = _widened_by_disagreement(fix)
    if decimal_year is None:
        return fix
    lat_deg = [fix.lat_deg] if at_fix else [sight.lat_deg for sight in sights]
    lon_deg = [fix.lon_deg] if at_fix else [sight.lon_deg for sight in sights]
    declination_sd_deg = float(np.max(field_at(lat_deg, lon_deg, decimal_year).declination_sd_deg))

    def refit(turn_deg: float) -> Fix:
        return fit([replace(sight, bearing_deg=(sight.bearing_deg + turn_deg) % 360.0) for sight in sights])

    return _widened_by_declination(fix, refit, declination_sd_deg)


def _coarse(sights: Sequence[Sight]) -> Caution:
    coarsest_m = max(sight.place_sd_m for sight in sights) * math.sqrt(12.0)
    return caution(
        "coarse_reference",
        f"A known place is given to {coarsest_m:,.0f} m only, which makes its sight less sure; the standard deviations "
        "were widened for it.",
    )


def _with_known_places(sights: Sequence[Sight], fix: Fix) -> list[Sight] | None:
    """The sights with the uncertainty of their known places in their standard deviations; ``None`` where it adds nothing.

    Seen over the distance of a first ``fix``, a place that is off by some metres across the line turns the sight by as
    much as a bearing misread.
    """
    turned_deg = np.degrees(np.array([sight.place_sd_m for sight in sights]) / fix.distances_m)
    wider_deg = np.hypot([sight.sd_deg for sight in sights], turned_deg)
    shares = wider_deg / [sight.sd_deg for sight in sights] - 1.0
    if not np.any(shares > NEGLIGIBLE_SHARE):
        return None
    # Beyond 45 degrees a sight says as good as nothing, and no more than that is accepted of one.
    return [
        replace(sight, sd_deg=min(float(wider), 45.0)) for sight, wider in zip(sights, wider_deg, strict=True)
    ]


def _widened_by_declination(fix: Fix, refit: Callable[[float], Fix], declination_sd_deg: float) -> Fix:
    """The fix with the shared error of the declination in its covariance.

    ``refit`` gives the fix of the same sights all turned by some degrees. A fix that stands so near to having no answer
    that turning its sights leaves it none is given back as it is; it is cautioned for its geometry.
    """
    try:
        moved = refit(TURN_DEG)
    except NavigationError:
        return fix
    azimuth_deg, _, distance_m = inverse(fix.lat_deg, fix.lon_deg, moved.lat_deg, moved.lon_deg)
    azimuth = math.radians(float(azimuth_deg))
    metres_per_degree = float(distance_m) / TURN_DEG * np.array([math.cos(azimuth), math.sin(azimuth)])
    shared = declination_sd_deg**2 * np.outer(metres_per_degree, metres_per_degree)
    return _with_covariance(fix, fix.covariance_m2 + shared)


def _widened_by_disagreement(fix: Fix) -> Fix:
    """The fix with its covariance multiplied by its variance factor, where that is too large to be chance.

    The bound is the 99 % point of the chi-square distribution by the approximation of E. B. Wilson and M. M. Hilferty,
    "The Distribution of Chi-Square", Proceedings of the National Academy of Sciences 17(12), 684-688, 1931,
    doi:10.1073/pnas.17.12.684.
    """
    freedom, factor = fix.degrees_of_freedom, fix.variance_factor
    if factor is None:
        return fix
    spread = 2.0 / (9.0 * freedom)
    if factor <= (1.0 - spread + ONE_IN_A_HUNDRED * math.sqrt(spread)) ** 3:
        return fix
    disagree = caution(
        "sights_disagree",
        f"The sights disagree {math.sqrt(factor):.1f} times as much as their standard deviations allow: the ellipse was "
        "widened as much. Look for a blunder before you trust it.",
    )
    widened = _with_covariance(fix, fix.covariance_m2 * factor)
    return replace(widened, cautions=(*fix.cautions, disagree))


def _with_covariance(fix: Fix, covariance_m2: FloatArray) -> Fix:
    return replace(fix, covariance_m2=covariance_m2, ellipse=ellipse_of(covariance_m2))
