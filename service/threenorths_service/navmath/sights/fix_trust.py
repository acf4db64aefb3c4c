"""What the standard deviations of single sights leave out of a fix.

Some errors are shared, and no number of sights averages them out: that of the magnetic model's declination is in every
magnetic sight, and a known place that was given by a coarse grid reference lies anywhere in its square, for every sight
that is tied to it. Sights that disagree by more than all this allows show that the standard deviations are too small.
The covariance of the readings is ``diag(sd^2)`` with a block for each shared error; the fix's is what the influence of
the readings on it makes of that (propagation of covariance).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..cautions import Caution, caution, sight_name
from ..errors import MagneticUselessError, NavigationError, NoSolutionError
from ..magnetism.magnetic import field_at
from .ellipse import ellipse_of
from .fix import Fix, long_ellipse_caution
from .settle import LARGE_RESIDUAL_SDS
from .sight import SD_RANGE_DEG, Sight

__all__ = [
    "MOST_DECLINATION_SD_DEG",
    "coarse_caution",
    "is_widened",
    "trusted_fix",
    "turned_by_place_deg",
    "widened_sd_deg",
]

#: Where the declination is known no better, the field is under 1100 nT: no fix is made of magnetic sights. [degree]
MOST_DECLINATION_SD_DEG = 5.0
#: A known place that adds less than this share to a sight's standard deviation is not spoken of.
NEGLIGIBLE_SHARE = 0.01
#: The standard normal deviate that one in a hundred exceeds.
ONE_IN_A_HUNDRED = 2.3263
#: A residual that shows less than this share of its sight's variance shows nothing: the sight is cautioned as unchecked.
LEAST_SHOWN = 0.02


def trusted_fix(
    fit: Callable[[Sequence[Sight]], Fix], sights: Sequence[Sight], decimal_year: float | None, at_fix: bool
) -> Fix:
    """The fix of ``sights`` by ``fit``, with its ellipse as wide as all that is known of their errors makes it.

    ``decimal_year`` is given where the bearings are magnetic and the compass's error is not solved for, which would take
    the declination's with it; ``at_fix`` says whether the declination is the fix's own or that at the known places.

    Raises
    ------
    MagneticUselessError
        The declination is known to no better than `MOST_DECLINATION_SD_DEG`.
    NoSolutionError
        The sights disagree so much that one standard deviation reaches beyond the farthest known place.
    """
    first = _with_a_word_on_places(fit, sights)
    wider = _sights_with_known_places(sights, first)
    fix = first if wider is None else fit(wider)
    shared_sd_deg = 0.0 if decimal_year is None else _declination_sd(fix, sights, decimal_year, at_fix)
    errors = _reading_covariance(fix, sights, shared_sd_deg)
    fix = _with_covariance(fix, fix.influence @ errors @ fix.influence.T)
    fix = _judged_by_residuals(fix, errors)
    cautions = [*fix.cautions, *_coarse(sights, wider), *_long_ellipse(fix)]
    return replace(fix, cautions=tuple(dict.fromkeys(cautions)))


def turned_by_place_deg(place_sd_m: FloatArray, distances_m: FloatArray) -> FloatArray:
    """How much sights are turned by one standard deviation of their known places, across the line. [degree]"""
    return np.degrees(place_sd_m / distances_m)


def widened_sd_deg(own_deg: FloatArray, turned_deg: FloatArray) -> FloatArray:
    """The standard deviations of sights of their ``own`` with what their known places turn them by. [degree]"""
    return np.minimum(np.hypot(own_deg, turned_deg), SD_RANGE_DEG[1])


def is_widened(wider_deg: FloatArray, own_deg: FloatArray) -> NDArray[np.bool_]:
    """Which of the sights their known places widen by enough to be spoken of."""
    return np.asarray(wider_deg > own_deg * (1.0 + NEGLIGIBLE_SHARE))


def coarse_caution(coarse: Sequence[tuple[int, float]]) -> Caution:
    """The caution of sights, by index, whose known places are given with such standard deviations. [metre]"""
    named = ", ".join(
        f"{sight_name(index)} to {place_sd_m * math.sqrt(12.0):.2g} m" for index, place_sd_m in coarse
    )
    return caution("coarse_reference", f"Known places are given coarsely, which widens the ellipse: {named}.")


def _with_a_word_on_places(fit: Callable[[Sequence[Sight]], Fix], sights: Sequence[Sight]) -> Fix:
    """The first fit; where it fails and a known place is coarse, the error says so, for that may be the cause."""
    try:
        return fit(sights)
    except NavigationError as error:
        coarsest_m = max(sight.place_sd_m for sight in sights) * math.sqrt(12.0)
        if coarsest_m >= 100.0:
            error.args = (
                f"{error}; but a known place is given to {coarsest_m:,.0f} m only, which may be why",
            )
        raise


def _sights_with_known_places(sights: Sequence[Sight], fix: Fix) -> list[Sight] | None:
    """The sights weighed with the uncertainty of their known places too; ``None`` where that adds nothing.

    Seen over the distance of a first ``fix``, a place that is off by some metres across the line turns the sight by as
    much as a bearing misread.
    """
    own_deg = np.array([sight.sd_deg for sight in sights])
    wider_deg = widened_sd_deg(own_deg, _turned_by_place(sights, fix))
    if not np.any(is_widened(wider_deg, own_deg)):
        return None
    return [replace(sight, sd_deg=float(wider)) for sight, wider in zip(sights, wider_deg, strict=True)]


def _declination_sd(fix: Fix, sights: Sequence[Sight], decimal_year: float, at_fix: bool) -> float:
    lat_deg = [fix.lat_deg] if at_fix else [sight.lat_deg for sight in sights]
    lon_deg = [fix.lon_deg] if at_fix else [sight.lon_deg for sight in sights]
    declination_sd_deg = float(np.max(field_at(lat_deg, lon_deg, decimal_year).declination_sd_deg))
    if declination_sd_deg > MOST_DECLINATION_SD_DEG:
        raise MagneticUselessError(
            f"the declination is known to {declination_sd_deg:.0f} degrees only, so near the magnetic pole",
            member="north",
            value="magnetic",
            allowed="bearings from true or grid north, such as from the sun",
        )
    return declination_sd_deg


def _reading_covariance(fix: Fix, sights: Sequence[Sight], shared_sd_deg: float) -> FloatArray:
    """Covariance of the readings' errors, known places and shared error included, shape (n, n). [square degree]"""
    own_deg = np.array([sight.sd_deg for sight in sights])
    places = np.array([(sight.lat_deg, sight.lon_deg) for sight in sights])
    same_place: NDArray[np.bool_] = (places[:, None, :] == places[None, :, :]).all(axis=2)
    # Sights tied to one place look along one line, so that its being off turns them all alike.
    turned_deg = _turned_by_place(sights, fix)
    return np.asarray(np.diag(own_deg**2) + shared_sd_deg**2 + same_place * np.outer(turned_deg, turned_deg))


def _turned_by_place(sights: Sequence[Sight], fix: Fix) -> FloatArray:
    return turned_by_place_deg(np.array([sight.place_sd_m for sight in sights]), fix.distances_m)


def _judged_by_residuals(fix: Fix, errors: FloatArray) -> Fix:
    """The fix with its residuals held against what its readings' covariance leads to expect.

    The variance factor is the weighted square sum of the residuals over the sum to be expected. Where it is beyond the
    99 % point of chi-square over its degrees of freedom, by the approximation of E. B. Wilson and M. M. Hilferty, "The
    Distribution of Chi-Square", Proceedings of the National Academy of Sciences 17(12), 684-688, 1931,
    doi:10.1073/pnas.17.12.684, the covariance is multiplied by it. A residual is large against its own standard
    deviation: W. Baarda, "A testing procedure for use in geodetic networks", 1968 (from memory).
    """
    freedom = fix.degrees_of_freedom
    if not freedom:
        return fix
    rest = np.eye(len(fix.sd_deg)) - fix.hat
    expected = rest @ (errors / np.outer(fix.sd_deg, fix.sd_deg)) @ rest
    factor = float(np.sum((fix.residuals_deg / fix.sd_deg) ** 2) / np.trace(expected))
    fix = replace(
        fix, variance_factor=factor, cautions=(*fix.cautions, *_large_residuals(fix, np.diag(expected)))
    )
    spread = 2.0 / (9.0 * freedom)
    if factor <= (1.0 - spread + ONE_IN_A_HUNDRED * math.sqrt(spread)) ** 3:
        return fix
    disagree = caution(
        "sights_disagree",
        f"The sights disagree {math.sqrt(factor):.1f} times as much as their standard deviations allow: the ellipse was "
        "widened as much. Look for a blunder before you trust it.",
    )
    sd_deg = None if fix.compass_error_sd_deg is None else fix.compass_error_sd_deg * math.sqrt(factor)
    fix = replace(fix, compass_error_sd_deg=sd_deg, cautions=(*fix.cautions, disagree))
    fix = _with_covariance(fix, fix.covariance_m2 * factor)
    if np.max(np.linalg.eigvalsh(fix.covariance_m2)) > np.max(fix.distances_m) ** 2:
        raise NoSolutionError("the sights contradict each other: no place fits them", member="sights")
    return fix


def _large_residuals(fix: Fix, expected: FloatArray) -> list[Caution]:
    own_sd_deg = fix.sd_deg * np.sqrt(np.maximum(expected, np.finfo(np.float64).tiny))
    large = np.flatnonzero(
        (np.abs(fix.residuals_deg) > LARGE_RESIDUAL_SDS * own_sd_deg) & (expected > LEAST_SHOWN)
    )
    if not large.size:
        return []
    misses = ", ".join(
        f"{sight_name(index)} by {fix.residuals_deg[index]:+.2f} degrees" for index in large.tolist()
    )
    return [
        caution(
            "large_residual",
            f"More than {LARGE_RESIDUAL_SDS:g} standard deviations off the fix: {misses}. Suspect a blunder in one of "
            "the sights, not always in the one that is farthest off.",
        )
    ]


def _coarse(sights: Sequence[Sight], wider: Sequence[Sight] | None) -> list[Caution]:
    if wider is None:
        return []
    widened = is_widened(
        np.array([weighed.sd_deg for weighed in wider]), np.array([sight.sd_deg for sight in sights])
    )
    return [coarse_caution([(index, sights[index].place_sd_m) for index in np.flatnonzero(widened).tolist()])]


def _long_ellipse(fix: Fix) -> list[Caution]:
    if "weak_geometry" in [each.code for each in fix.cautions]:
        return []
    long = long_ellipse_caution(float(fix.ellipse.semi_major_m), float(np.min(fix.distances_m)))
    return [] if long is None else [long]


def _with_covariance(fix: Fix, covariance: FloatArray) -> Fix:
    """The fix with the covariance of north and east and, where it is there in the third place, of the compass error."""
    sd_deg = float(np.sqrt(covariance[2, 2])) if len(covariance) == 3 else fix.compass_error_sd_deg
    return replace(
        fix,
        covariance_m2=covariance[:2, :2],
        ellipse=ellipse_of(covariance[:2, :2]),
        compass_error_sd_deg=sd_deg,
    )
