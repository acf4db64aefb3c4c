"""How far the places that pairs of sights fix are to be trusted, in rows: what `fix` and `fix_trust` say of one."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray, normalise_signed
from ..rows import BoolArray, IntArray
from .crossing import FLATTEST_CROSSING_DEG
from .ellipse import Ellipse, ellipse_of, standard_deviations
from .fix import LONGEST_ELLIPSE_SHARE
from .fix_trust import (
    MOST_DECLINATION_SD_DEG,
    is_widened,
    turned_by_place_deg,
    widened_sd_deg,
)
from .pair_model import PairModel
from .pair_outline import ellipse_blur, outline_is_curved
from .pair_settle import SettledPairs
from .pair_start import surely_not_parallel
from .pair_table import taken
from .settle import MEETING_SHARE

__all__ = [
    "CURVED_OUTLINE",
    "LONG_BY_ALL_ERRORS",
    "LONG_ELLIPSE",
    "TrustedPairs",
    "ellipse_from",
    "is_fixed",
    "joined_pairs",
    "sights_covariance",
    "trusted_pairs",
]

#: Why a row has the caution `weak_geometry`, 0 where it has not: the ellipse by the sights' own errors is long or its
#: outline is curved, or it is only the ellipse by all errors together that is long.
LONG_ELLIPSE = 1
CURVED_OUTLINE = 2
LONG_BY_ALL_ERRORS = 3

#: What distances [metre] and angles [degree] may differ by from those of the one adjustment.
DISTANCE_BLUR_M = 1e-5
ANGLE_BLUR_DEG = 1e-6

#: So nearly parallel, or so nearly round an ellipse, the last digits decide: left to the one adjustment.
LEAST_CROSSING_DEG = 1.0
LEAST_LENGTHWISE = 1e-3


@dataclass(frozen=True, slots=True)
class TrustedPairs:
    """Rows that are certain, in columns of shape (..., n), named as in `Fix`; sights and ways first.

    ``covariance_m2``: north, north and east, east; shape (3, n). ``reach_m``, the longer semi-axis by the sights' own
    errors alone. ``weak_longest_m``, the semi-axis that the caution `weak_geometry` speaks of.
    """

    rows: NDArray[np.intp]
    lat_deg: FloatArray
    lon_deg: FloatArray
    covariance_m2: FloatArray
    semi_major_m: FloatArray
    semi_minor_m: FloatArray
    major_axis_azimuth_deg: FloatArray
    sd_deg: FloatArray
    residuals_deg: FloatArray
    distances_m: FloatArray
    crossing_angle_deg: FloatArray
    influence: FloatArray
    reach_m: FloatArray
    flat_crossing: BoolArray
    weak_geometry: IntArray
    weak_longest_m: FloatArray
    coarse: BoolArray


def trusted_pairs(
    model: PairModel, line_angle_deg: FloatArray, settled: SettledPairs, shared_sd_deg: FloatArray
) -> TrustedPairs:
    """The settled rows with their ellipses and cautions, less those whose numbers are near a limit or badly known.

    ``line_angle_deg``, between the two lines as they were read, and ``shared_sd_deg``, what both readings err by alike,
    are of the settled rows.
    """
    table, look = taken(model.table, settled.rows), settled.look
    turned = turned_by_place_deg(table.place_sd_m, look.distance_m)
    sd, coarse, sure = _standard_deviations(table.sd_deg, turned)
    by_sights = ellipse_from(sights_covariance(settled.influence, sd**2))
    covariance = sights_covariance(settled.influence, table.sd_deg**2 + turned**2)
    covariance += _shared(settled.influence, shared_sd_deg)
    ellipse = ellipse_from(covariance)
    angle = np.abs(normalise_signed(look.azimuth_deg[0] - look.azimuth_deg[1]))
    shortest = look.distance_m.min(axis=0)
    weak, weak_longest, sure_of_weak = _weak_geometry(model, settled, sd, by_sights, ellipse, shortest)
    flat = (angle < FLATTEST_CROSSING_DEG) | (angle > 180.0 - FLATTEST_CROSSING_DEG)
    sure &= (
        sure_of_weak
        & surely_not_parallel(line_angle_deg, sd)
        & is_fixed(by_sights.semi_major_m, look.distance_m)
    )
    sure &= shared_sd_deg < MOST_DECLINATION_SD_DEG * (1.0 - 1e-6)
    sure &= _is_lengthwise(ellipse) & _angle_is_sure(angle, flat)
    found = TrustedPairs(
        rows=settled.rows,
        lat_deg=settled.lat_deg,
        lon_deg=settled.lon_deg,
        covariance_m2=covariance,
        semi_major_m=ellipse.semi_major_m,
        semi_minor_m=ellipse.semi_minor_m,
        major_axis_azimuth_deg=ellipse.major_axis_azimuth_deg,
        sd_deg=sd,
        residuals_deg=look.residual_deg,
        distances_m=look.distance_m,
        crossing_angle_deg=angle,
        influence=settled.influence,
        reach_m=by_sights.semi_major_m,
        flat_crossing=flat,
        weak_geometry=weak,
        weak_longest_m=weak_longest,
        coarse=coarse,
    )
    return taken(found, sure)


def joined_pairs(parts: list[TrustedPairs]) -> TrustedPairs:
    """The rows of all parts, one part after the other."""
    names = [each.name for each in fields(TrustedPairs)]
    return TrustedPairs(
        **{name: np.concatenate([getattr(each, name) for each in parts], axis=-1) for name in names}
    )


def sights_covariance(influence: FloatArray, variance_deg2: FloatArray) -> FloatArray:
    """North, north and east, east of places by readings that err apart, with variances of shape (2, n). [square metre]"""
    north, east = influence
    return np.stack(
        [np.sum(each * variance_deg2, axis=0) for each in (north * north, north * east, east * east)]
    )


def _shared(influence: FloatArray, shared_sd_deg: FloatArray) -> FloatArray:
    """The same of an error that is in both readings."""
    north, east = influence.sum(axis=1) * shared_sd_deg
    return np.stack((north * north, north * east, east * east))


def ellipse_from(covariance: FloatArray) -> Ellipse:
    """The ellipses of such columns."""
    north, both, east = covariance
    return ellipse_of(np.stack((north, both, both, east), axis=-1).reshape(-1, 2, 2))


def _standard_deviations(
    own_deg: FloatArray, turned_deg: FloatArray
) -> tuple[FloatArray, BoolArray, BoolArray]:
    """The standard deviations to weigh by, which sights are spoken of as coarse, and the rows where that is certain."""
    wider = widened_sd_deg(own_deg, turned_deg)
    coarse = is_widened(wider, own_deg)
    sure = coarse == is_widened(wider * (1.0 + 1e-6), own_deg)
    sure &= coarse == is_widened(wider * (1.0 - 1e-6), own_deg)
    return np.where(coarse.any(axis=0), wider, own_deg), coarse, sure.all(axis=0)


def is_fixed(longest_m: FloatArray, distances_m: FloatArray) -> BoolArray:
    """Whether `settle.check_fixed` surely lets ellipses of such a semi-axis pass, and the place is surely no known one."""
    one_sd = longest_m / standard_deviations()
    met = distances_m.min(axis=0) < MEETING_SHARE * one_sd * 1.1
    return np.asarray((one_sd < distances_m.max(axis=0) * (1.0 - 1e-5)) & ~met)


def _is_lengthwise(ellipse: Ellipse) -> BoolArray:
    major, minor = ellipse.semi_major_m**2, ellipse.semi_minor_m**2
    return np.asarray(major - minor > LEAST_LENGTHWISE * (major + minor))


def _angle_is_sure(angle_deg: FloatArray, flat: BoolArray) -> BoolArray:
    """Whether the crossing is surely flat or not, and its angle is written in the caution by the same digits."""
    from_limit = np.abs(np.abs(angle_deg - 90.0) - (90.0 - FLATTEST_CROSSING_DEG))
    clear = np.minimum(angle_deg, 180.0 - angle_deg) > LEAST_CROSSING_DEG
    written = _is_written_alike(10.0 * angle_deg, np.full(angle_deg.shape, 10.0 * ANGLE_BLUR_DEG))
    return np.asarray(clear & (from_limit > ANGLE_BLUR_DEG) & (written | ~flat))


def _weak_geometry(
    model: PairModel,
    settled: SettledPairs,
    sd_deg: FloatArray,
    by_sights: Ellipse,
    ellipse: Ellipse,
    shortest_m: FloatArray,
) -> tuple[IntArray, FloatArray, BoolArray]:
    """The caution of each row, the semi-axis that it speaks of, and where that is certain.

    As in the fix of one pair: the ellipse by the sights' own errors is judged first, then the whole one by its length.
    """
    long, sure = _is_long(by_sights.semi_major_m, shortest_m)
    curved, sure_of_outline = outline_is_curved(model, settled, sd_deg, by_sights, ~long)
    long_at_last, sure_at_last = _is_long(ellipse.semi_major_m, shortest_m)
    weak = np.select(
        [long, curved, long_at_last], [LONG_ELLIPSE, CURVED_OUTLINE, LONG_BY_ALL_ERRORS], default=0
    )
    longest = np.where(long | curved, by_sights.semi_major_m, ellipse.semi_major_m)
    sure &= sure_of_outline & (sure_at_last | long | curved)
    written = _is_written_alike(longest, longest * ellipse_blur(shortest_m))
    written &= _is_written_alike(shortest_m, np.full(shortest_m.shape, DISTANCE_BLUR_M)) | (
        weak == CURVED_OUTLINE
    )
    return weak, longest, sure & (written | (weak == 0))


def _is_long(longest_m: FloatArray, shortest_m: FloatArray) -> tuple[BoolArray, BoolArray]:
    over_m = longest_m - LONGEST_ELLIPSE_SHARE * shortest_m
    return over_m > 0.0, np.abs(over_m) > longest_m * ellipse_blur(shortest_m) + DISTANCE_BLUR_M


def _is_written_alike(value: FloatArray, blur: FloatArray) -> BoolArray:
    """Whether values that far apart are written by the same whole number."""
    return np.asarray(np.rint(value - blur) == np.rint(value + blur))
