"""Reported bearings against the bearings expected, and which common slips explain the difference; row by row, in arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import CIRCLE_DIVISIONS, FloatArray, normalise_azimuth, normalise_signed
from ..directions.bearing import NorthAngles
from ..rows import BoolArray
from .bearing_slips import BEARING_SLIPS, slips_undone
from .verdict import Outcome, outcomes

__all__ = ["BearingCheck", "BearingSlip", "check_bearings", "left_open_of_line_deg"]

#: A difference is not wrong for what rounding moved it by. [degree]
SLACK_DEG = 1e-9


@dataclass(frozen=True, slots=True)
class BearingSlip:
    """A slip that explains a row: the bearing without it, and how far that still is from the one expected. [degree]"""

    #: One of `BEARING_SLIPS`.
    slip: str
    bearing_deg: float
    difference_deg: float

    @property
    def explanation(self) -> str:
        """The slip in a sentence."""
        return BEARING_SLIPS[self.slip]


@dataclass(frozen=True, slots=True)
class BearingCheck:
    """Checks of N bearings.

    ``difference_deg`` is the bearing reported less the one expected, clockwise positive, NaN where none could be read;
    ``outcome`` has the numbers of `Outcome`, not met where none could be read. Of the K ways in which slips were undone,
    ``codes`` name the slips, ``bearing_deg`` and ``left_deg`` have the bearings and what they still miss by, shape (K, N),
    and ``fits`` says which explain a row. ``chance`` is how likely it is that one way at least explains a bearing which is
    any at all. [degree]
    """

    difference_deg: FloatArray
    outcome: NDArray[np.int64]
    codes: tuple[str, ...]
    bearing_deg: FloatArray
    left_deg: FloatArray
    fits: BoolArray
    chance: FloatArray

    def slips(self, row: int) -> list[BearingSlip]:
        """The slips that explain a row, likeliest first, each once, undone in the way that fits best."""
        best: dict[str, BearingSlip] = {}
        for way in np.flatnonzero(self.fits[:, row]):
            slip = BearingSlip(
                self.codes[way], float(self.bearing_deg[way, row]), float(self.left_deg[way, row])
            )
            other = best.get(slip.slip)
            if other is None or abs(slip.difference_deg) < abs(other.difference_deg):
                best[slip.slip] = slip
        return list(best.values())


def check_bearings(
    reported_deg: ArrayLike,
    expected_deg: ArrayLike,
    tolerance_deg: ArrayLike,
    *,
    left_open_deg: ArrayLike = 0.0,
    north: ArrayLike = "true",
    angles: NorthAngles | None = None,
    number: ArrayLike | None = None,
    circle: ArrayLike = CIRCLE_DIVISIONS["deg"],
) -> BearingCheck:
    """Check bearings against those expected from the same north; all values broadcast to one dimension.

    Slips are looked for only in rows that are wrong. One explains a row if the bearing without it is within the tolerance
    and what is left open, and if it moves the bearing by more than these: what moves it less explains nothing.

    Parameters
    ----------
    reported_deg : array_like
        The bearings reported; NaN where the number is more than the circle of its unit. [degree]
    expected_deg, tolerance_deg : array_like
        Those expected, and how far from them is still right. [degree]
    left_open_deg : array_like
        How far off the expected ones may be. [degree]
    north : array_like of str
        The north that both are from: "true", "grid" or "magnetic".
    angles : NorthAngles, optional
        The angles between the norths, for slips of applying them.
    number, circle : array_like
        The numbers as reported and the parts to the circle of their unit, for slips of reading; NaN of a bearing written
        otherwise. Left out: the bearings in degrees.
    """
    number = reported_deg if number is None else number
    rows = [
        np.atleast_1d(column)
        for column in np.broadcast_arrays(
            *(
                np.asarray(value, dtype=np.float64)
                for value in (reported_deg, expected_deg, tolerance_deg, left_open_deg, number, circle)
            )
        )
    ]
    reported, expected, tolerance, left_open, number_read, parts = rows
    reported = normalise_azimuth(reported)
    difference = normalise_signed(reported - expected)
    outcome = outcomes(np.abs(difference), left_open, tolerance, SLACK_DEG)
    outcome[np.isnan(difference)] = Outcome.NOT_MET
    undone = list(slips_undone(reported, number_read, parts, north, angles or NorthAngles()))
    bearing = np.array([each.bearing_deg for each in undone])
    left = normalise_signed(bearing - expected)
    most = tolerance + left_open + SLACK_DEG
    moved = np.abs(normalise_signed(bearing - reported))
    # A number beyond its circle is no bearing, and so is moved by any slip that makes it one.
    telling = np.isfinite(bearing) & ((moved > most) | np.isnan(reported))
    fits = telling & (np.abs(left) <= most) & (outcome == Outcome.NOT_MET)
    chance = 1.0 - (1.0 - np.minimum(2.0 * most / 360.0, 1.0)) ** telling.sum(axis=0)
    codes = tuple(each.slip for each in undone)
    return BearingCheck(difference, outcome, codes, bearing, left, fits, chance)


def left_open_of_line_deg(distance_m: ArrayLike, left_open_m: ArrayLike) -> FloatArray:
    """How far the direction of a line may be off whose ends may together be off so much across it. [degree]

    180 where they may be off by the whole distance or more: then no direction is known.
    """
    distance, left_open = np.asarray(distance_m, dtype=np.float64), np.asarray(left_open_m, dtype=np.float64)
    share = np.divide(
        left_open, distance, out=np.ones(np.broadcast(distance, left_open).shape), where=distance > 0.0
    )
    return np.where(share >= 1.0, 180.0, np.degrees(np.arcsin(np.minimum(share, 1.0))))[()]
