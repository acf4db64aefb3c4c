"""Settling on the places of pairs of sights, in rows, on the way that the one adjustment would take.

Two readings fix a place exactly: the steps are Newton's. A row walks from the same start by the same steps to the same
end as `adjustment.adjust` does, and is taken only if that is certain: if each step is whole, brings the place much
nearer and leaves no sight looking away; and if, where the rule to stop was met or missed by little, to stop there or a
step later makes no difference. Whatever else may happen to sights is left to the one adjustment.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..lines.geodesic import direct
from ..rows import BoolArray
from .adjustment import DERIVATIVE_SHARE, NEGLIGIBLE_GAIN, SETTLED_M
from .fix_trust import turned_by_place_deg, widened_sd_deg
from .pair_model import Look, PairModel, influence_of, look_from, slopes_of
from .pair_table import taken

__all__ = ["SettledPairs", "settle_pairs"]

#: Steps after which a row is left to the one adjustment: near a good start three are enough.
MOST_STEPS = 6

#: What the places may differ by from those of the one adjustment, of the steps that it might take or leave. [metre]
MOST_DOUBT_M = 2e-7

#: How near to a limit a number may be before it is not certain on which side of it the one adjustment finds it.
NEAR_LIMIT = 0.01

#: Lengths of sights. Under the first the last digits of a longitude turn them; over the second the curvature of the earth
#: is more than `pair_model` holds for. [metre]
LEAST_SIGHT_M = 10.0
MOST_SIGHT_M = 400_000.0

#: A residual of less is of a sight that looks ahead, whatever the steps to come. [degree]
MOST_TURNED_DEG = 60.0
#: A step may be this share of the farthest sight, the whole of which is where the one adjustment would cut it.
MOST_STEP_SHARE = 0.5
#: A step must leave less than this share of the cost; the one adjustment is content with nine tenths.
MOST_COST_LEFT = 0.5

#: Poleward of these the directions of north turn too fast for the closed forms: of the observer's north, and of any. [degree]
MOST_LAT_OBSERVED_DEG = 88.0
MOST_LAT_DEG = 89.9

#: How far ahead the turn of north is looked at. [metre]
SHIFT_M = 2.0

#: North turns gently where the declination is known to this [degree], under this latitude [degree] and on no national grid:
#: its slope changes by 4e-11 degrees a metre in a metre at most. So it does not change to speak of where the place has moved,
#: since it was looked at, by no more than this over the longest sight [metre].
GENTLE_SD_DEG = 0.5
GENTLE_LAT_DEG = 70.0
UNCHANGED_M2 = 4e4


@dataclass(frozen=True, slots=True)
class SettledPairs:
    """The ``rows`` of the model that surely settled, and in columns of shape (..., n) where and how.

    ``influence``: what an error of each reading does to the place, north and east, shape (2, 2, n) [metre / degree];
    ``shared_sd_deg``, of the north at the place sought, 0 where it was not read from there.
    """

    rows: NDArray[np.intp]
    lat_deg: FloatArray
    lon_deg: FloatArray
    look: Look
    slopes: FloatArray
    influence: FloatArray
    turn_slope: FloatArray | None
    shared_sd_deg: FloatArray


@dataclass(slots=True)
class _Walk:
    """Where the rows are, and what is not certain of their way."""

    lat_deg: FloatArray
    lon_deg: FloatArray
    turn_slope: FloatArray | None = None
    cost: FloatArray = field(init=False)
    #: Whether the one adjustment may have stopped already, and how far the row has gone since. [metre]
    may_rest: BoolArray = field(init=False)
    doubt_m: FloatArray = field(init=False)
    #: Whether it may go on from where the row has stopped.
    may_go_on: BoolArray = field(init=False)
    last_step_m: FloatArray = field(init=False)
    moved_m: FloatArray = field(init=False)
    rests: BoolArray = field(init=False)

    def __post_init__(self) -> None:
        count = len(self.lat_deg)
        self.cost = np.full(count, np.inf)
        self.doubt_m, self.moved_m = np.zeros((2, count))
        self.last_step_m = np.zeros((2, count))
        self.may_rest, self.may_go_on, self.rests = np.zeros((3, count), dtype=np.bool_)


def settle_pairs(model: PairModel, lat_deg: FloatArray, lon_deg: FloatArray) -> SettledPairs:
    """The places that the pairs fix, from one place each to start at, shape (n,). [degree]"""
    walk = _Walk(lat_deg.copy(), lon_deg.copy())
    going = np.flatnonzero(np.isfinite(lat_deg) & np.isfinite(lon_deg))
    for _ in range(MOST_STEPS):
        going = going[_off_the_poles(model, walk.lat_deg[going])]
        if not going.size:
            break
        going = _step(model, walk, going)
    rows = np.flatnonzero(walk.rests)
    return _finished(model, walk, rows[_off_the_poles(model, walk.lat_deg[rows])])


def _off_the_poles(model: PairModel, lat_deg: FloatArray) -> BoolArray:
    return np.asarray(np.abs(lat_deg) < (MOST_LAT_DEG if model.north is None else MOST_LAT_OBSERVED_DEG))


def _step(model: PairModel, walk: _Walk, going: NDArray[np.intp]) -> NDArray[np.intp]:
    """Take the rows ``going`` a step on, and give those that have further to go."""
    part = model if going.size == len(walk.lat_deg) else model.rows(going)
    look, slopes = _look_on_the_way(part, walk, going)
    step = _step_of(influence_of(slopes), look)
    length, cost = np.hypot(step[0], step[1]), np.sum((look.residual_deg / part.table.sd_deg) ** 2, axis=0)
    ordinary = _is_ordinary(look) & (length < MOST_STEP_SHARE * look.distance_m.max(axis=0))
    ordinary &= cost < MOST_COST_LEFT * walk.cost[going]
    rests = (length < SETTLED_M) | (cost < NEGLIGIBLE_GAIN)
    surely = (length < SETTLED_M * (1.0 - NEAR_LIMIT)) | (cost < NEGLIGIBLE_GAIN * (1.0 - NEAR_LIMIT))
    walk.doubt_m[going] += np.where(walk.may_rest[going], length, 0.0)
    walk.may_rest[going] |= _may_rest(part, look, length)
    walk.may_go_on[going] = ~surely
    walk.cost[going], walk.rests[going] = cost, rests & ordinary
    walk.last_step_m[:, going] = step
    walk.moved_m[going] += length
    moving = going[ordinary]
    azimuth = np.degrees(np.arctan2(step[1], step[0]))
    walk.lat_deg[moving], walk.lon_deg[moving], _back = direct(
        walk.lat_deg[moving], walk.lon_deg[moving], azimuth[ordinary], length[ordinary]
    )
    return np.asarray(going[ordinary & ~rests])


def _look_on_the_way(part: PairModel, walk: _Walk, going: NDArray[np.intp]) -> tuple[Look, FloatArray]:
    """The pairs as seen from where they are, and the slopes there, with the turn of north as it grows at the start."""
    lat, lon = walk.lat_deg[going], walk.lon_deg[going]
    if part.north is None:
        look = look_from(part, lat, lon)
        return look, slopes_of(part, lat, look, None)
    turn = part.north.turn_deg(lat, lon)
    if walk.turn_slope is None:
        walk.turn_slope = np.zeros((2, len(walk.lat_deg)))
        shift = np.full(going.size, SHIFT_M)
        walk.turn_slope[:, going] = part.north.slope(lat, lon, shift, turn)
    look = look_from(part, lat, lon, turn)
    return look, slopes_of(part, lat, look, walk.turn_slope[:, going])


def _step_of(influence: FloatArray, look: Look) -> FloatArray:
    """Newton's step, north and east, shape (2, n). [metre]"""
    return np.asarray(influence[:, 0] * look.residual_deg[0] + influence[:, 1] * look.residual_deg[1])


def _is_ordinary(look: Look) -> BoolArray:
    """Whether the sights look ahead and are neither too short nor too long."""
    return np.asarray(
        (np.abs(look.residual_deg).max(axis=0) < MOST_TURNED_DEG)
        & (look.distance_m.min(axis=0) > LEAST_SIGHT_M)
        & (look.distance_m.max(axis=0) < MOST_SIGHT_M)
    )


def _may_rest(part: PairModel, look: Look, length: FloatArray) -> BoolArray:
    """Whether the one adjustment may come to rest, with the sights' own standard deviations or with their places' too."""
    table = part.table
    wider = widened_sd_deg(table.sd_deg, turned_by_place_deg(table.place_sd_m, look.distance_m))
    cost = np.sum((look.residual_deg / wider) ** 2, axis=0)
    # Ten hundredths: the distances are those on the way.
    return np.asarray(
        (length < SETTLED_M * (1.0 + NEAR_LIMIT)) | (cost < NEGLIGIBLE_GAIN * (1.0 + 10.0 * NEAR_LIMIT))
    )


def _finished(model: PairModel, walk: _Walk, rows: NDArray[np.intp]) -> SettledPairs:
    part = model.rows(rows)
    lat, lon = walk.lat_deg[rows], walk.lon_deg[rows]
    turn_slope, shared_sd = None, np.zeros(rows.size)
    if part.north is None:
        look = look_from(part, lat, lon)
    else:
        turn, shared_sd = part.north.turn_and_sd_deg(lat, lon)
        look = look_from(part, lat, lon, turn)
        turn_slope = _slope_at_last(part, walk, rows, look, turn, shared_sd)
    slopes = slopes_of(part, lat, look, turn_slope)
    influence = influence_of(slopes)
    settled = SettledPairs(rows, lat, lon, look, slopes, influence, turn_slope, shared_sd)
    left_m = np.hypot(*_step_of(influence, look))
    doubt_m = walk.doubt_m[rows] + np.where(walk.may_go_on[rows], left_m, 0.0)
    if turn_slope is not None and walk.turn_slope is not None:
        # What the last step was off by because the turn of north grew otherwise than at the start.
        misread = np.sum((turn_slope - walk.turn_slope[:, rows]) * walk.last_step_m[:, rows], axis=0)
        doubt_m += np.hypot(*influence.sum(axis=1)) * np.abs(misread)
    return taken(settled, _is_ordinary(look) & (doubt_m < MOST_DOUBT_M))


def _slope_at_last(
    part: PairModel,
    walk: _Walk,
    rows: NDArray[np.intp],
    look: Look,
    turn_deg: FloatArray,
    shared_sd_deg: FloatArray,
) -> FloatArray | None:
    """How the turn of north grows where the rows have come to rest: by both sides where it does not turn gently."""
    if part.north is None or walk.turn_slope is None:
        return None
    slope = walk.turn_slope[:, rows]
    lat, lon = walk.lat_deg[rows], walk.lon_deg[rows]
    gentle = (
        (shared_sd_deg < GENTLE_SD_DEG) & (np.abs(lat) < GENTLE_LAT_DEG) & ~part.north.is_national(rows.size)
    )
    changed = np.flatnonzero(gentle & (walk.moved_m[rows] * look.distance_m.max(axis=0) > UNCHANGED_M2))
    if changed.size:
        shift = np.full(changed.size, SHIFT_M)
        north = taken(part.north, changed)
        slope[:, changed] = north.slope(lat[changed], lon[changed], shift, turn_deg[changed])
    sharp = np.flatnonzero(~gentle)
    if sharp.size:
        shift = DERIVATIVE_SHARE * look.distance_m[:, sharp].min(axis=0)
        slope[:, sharp] = taken(part.north, sharp).slope(lat[sharp], lon[sharp], shift)
    return slope
