"""The places that fit mixed observations: settled from their starts, sorted out, and told apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..grids.zones import zone_of
from ..lines.geodesic import COINCIDENT_M
from ..rows import BoolArray, IntArray
from .mixed_adjustment import NEGLIGIBLE_GAIN, ROUGH_GAIN, Trial, Weighing, adjust_all
from .mixed_start import AGREEING_SDS, Starts, starts_all_around, starts_by_pairs
from .mixed_trust import place_loadings, widened_sd
from .observation_model import Rays
from .observation_table import ObservationTable
from .observed_north import ObservedNorth, norths_around
from .search_plane import ComplexArray

__all__ = ["FITTING_COST", "Problem", "Settled", "rays_of", "settle_again", "settle_all"]

#: Starts that are followed: with nothing to spare every crossing is a place of its own; else those that agree best.
MOST_EXACT_STARTS = 24
MOST_STARTS = 3
MOST_STARTS_AROUND = 8
#: Starts nearer to each other than this share of their distance from the known places lead to the same place.
APART_SHARE = 0.05
#: Places are the same where they are nearer to each other than the first, or where no observation tells them apart by more
#: than the second share of its standard deviation: an adjustment that settles leaves about 1e-4.
SAME_M, SAME_SDS = 1e-3, 0.01
#: The cost that one in a hundred good fits exceeds with one observation to spare and more; with none, what is still called
#: a fit. The chi-square quantile of two degrees of freedom, ``-2 ln 0.01``.
FITTING_COST = 9.21
#: No line of sight is longer than a quarter of the way round the globe. [metre]
FARTHEST_M = 10_000_000.0
#: A place that the observations not tied to a known one tell from it by less than so much of their standard deviations is
#: that known place; or, where all are tied to it, by less than the length.
AT_PLACE_SDS, AT_PLACE_M = 1e-3, 1e-3
#: Norths are taken again where the place moved on by more than this. [metre]
NORTH_MOVED_M = 2_000.0
MOST_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Problem:
    """Observations to be fitted: their table, the date of magnetic bearings, and whether the compass error is unknown."""

    table: ObservationTable
    decimal_year: float | None
    solve_compass_error: bool

    @property
    def unknowns(self) -> int:
        """How many numbers are solved for."""
        return 3 if self.solve_compass_error else 2

    @property
    def spare(self) -> int:
        """How many observations there are beyond those needed."""
        return self.table.count - self.unknowns


@dataclass(frozen=True, slots=True)
class Settled:
    """k places settled on, the best first, with the norths taken at them and the standard deviations they were weighed by.

    ``directed``, the misses over the standard deviations with every bearing looking one way, shape (k, n); ``fits``, which
    of them are answers.
    """

    trial: Trial
    north: ObservedNorth
    sd: FloatArray
    directed: FloatArray
    away: BoolArray
    at_place: BoolArray
    fits: BoolArray
    zone_changed: bool


def settle_all(problem: Problem) -> Settled:
    """The places that fit, from the crossings of each two observations or, where those lead nowhere, from all around."""
    table = problem.table
    plane_lat, plane_lon = np.array([table.plane.lat_deg]), np.array([table.plane.lon_deg])
    north = norths_around(table, plane_lat, plane_lon, problem.decimal_year)
    starts = starts_by_pairs(table, north, table.sd)
    settled = None
    if starts.score.size:
        most = MOST_STARTS if problem.spare else MOST_EXACT_STARTS
        settled = _settle(problem, north, _apart(problem, starts, most))
    if settled is None or not settled.fits.any():
        around = _apart(problem, starts_all_around(table, north, table.sd), MOST_STARTS_AROUND)
        again = _settle(problem, north, around)
        settled = again if settled is None or again.fits.any() else settled
    return settled


def settle_again(problem: Problem, place: Settled, index: int, counts: FloatArray) -> Settled:
    """Settled anew with other observations counted, shape (k, n) of 0 and 1, in the order of these rows.

    Each starts from the place given and from where most observations agree, and takes what fits the better.
    """
    table, trial, k = problem.table, place.trial, len(counts)
    north = place.north.only(index)
    plane_lat, plane_lon = np.array([table.plane.lat_deg]), np.array([table.plane.lon_deg])
    agreed = starts_by_pairs(
        table, norths_around(table, plane_lat, plane_lon, problem.decimal_year), place.sd
    )
    agreed = agreed.only(np.arange(min(1, len(agreed.score))))
    here = (trial.lat_deg[index], trial.lon_deg[index], trial.compass_error_deg[index])
    there = (agreed.lat_deg, agreed.lon_deg, agreed.compass_error_deg)
    lat, lon, error = (np.repeat(np.append(*pair), k) for pair in zip(here, there, strict=True))
    away = table.plane.project(lat, lon)[0] - table.plane.project(here[0], here[1])[0]
    starts = len(lat) // k
    weighing = Weighing(place.sd, np.tile(counts, (starts, 1)), problem.solve_compass_error)
    moved = adjust_all(table, north, weighing, lat, lon, error, away)
    best = np.argmin(moved.cost.reshape(starts, k), axis=0) * k + np.arange(k)
    moved = _rows(moved, best)
    at_place = _at_known_place(table, moved, place.sd)
    away_from = (table.period == 180.0) & (np.abs(moved.evaluation.misses) > 90.0)
    directed = moved.evaluation.misses / place.sd
    fits = moved.settled & ~at_place
    return Settled(moved, north, place.sd, directed, away_from, at_place, fits, zone_changed=False)


def _apart(problem: Problem, starts: Starts, most: int) -> Starts:
    """The best starts that are not near each other."""
    chosen: list[int] = []
    reach = APART_SHARE * np.abs(starts.point[:, None] - problem.table.point).min(axis=1, initial=1e7)
    if not problem.spare:
        reach = np.minimum(reach, 1e-6 * reach + SAME_M)
    free = np.ones(len(starts.point), dtype=np.bool_)
    while len(chosen) < most and free.any():
        index = int(np.argmax(free))
        chosen.append(index)
        free &= np.abs(starts.point - starts.point[index]) > reach[index]
    return starts.only(np.array(chosen))


def _settle(problem: Problem, north: ObservedNorth, starts: Starts) -> Settled:
    """Adjusted by the norths of the middle, then by those of the places found, and by the known places' own errors there."""
    table = problem.table
    counts = np.ones((1, table.count))
    weighing = Weighing(table.sd, counts, problem.solve_compass_error)
    trial = adjust_all(
        table,
        north,
        weighing,
        starts.lat_deg,
        starts.lon_deg,
        starts.compass_error_deg,
        starts.point,
        ROUGH_GAIN if table.norths else NEGLIGIBLE_GAIN,
    )
    zone_changed = False
    if table.norths:
        trial, north, zone_changed = _with_own_norths(problem, trial, weighing)
    sd = widened_sd(table, place_loadings(table, rays_of(trial, int(np.argmin(trial.cost)))))
    if np.any(sd > table.sd * 1.001):
        weighing = Weighing(sd, counts, problem.solve_compass_error)
        trial = adjust_all(
            table, north, weighing, trial.lat_deg, trial.lon_deg, trial.compass_error_deg, trial.offset_m
        )
    return _judged(problem, trial, north, sd, counts, zone_changed)


def _with_own_norths(problem: Problem, trial: Trial, weighing: Weighing) -> tuple[Trial, ObservedNorth, bool]:
    """Adjusted again with the norths of the places found, until these stay where they are."""
    zone_changed = False
    for round_ in range(MOST_ROUNDS):
        north = norths_around(problem.table, trial.lat_deg, trial.lon_deg, problem.decimal_year)
        trial = adjust_all(
            problem.table, north, weighing, trial.lat_deg, trial.lon_deg, trial.compass_error_deg
        )
        moved = north.zone is not None and bool(np.any(_zone_at(trial.lat_deg, trial.lon_deg) != north.zone))
        zone_changed |= moved and round_ > 0
        if not moved and np.max(np.abs(trial.offset_m)) < NORTH_MOVED_M:
            break
    return trial, north, zone_changed


def _zone_at(lat_deg: FloatArray, lon_deg: FloatArray) -> IntArray:
    """The zone that each place lies in by the rule, shape (k,)."""
    return np.atleast_1d(zone_of(lat_deg, lon_deg))


def rays_of(trial: Trial, index: int) -> Rays:
    """The rays of one place."""
    rays = trial.evaluation.rays
    one = slice(index, index + 1)
    return Rays(rays.azimuth_deg[one], rays.back_azimuth_deg[one], rays.distance_m[one])


def _judged(
    problem: Problem,
    trial: Trial,
    north: ObservedNorth,
    sd: FloatArray,
    counts: FloatArray,
    zone_changed: bool,
) -> Settled:
    """Which of the places are answers: those that fit, lie ahead, and not at a known place; the best first."""
    table, misses = problem.table, trial.evaluation.misses
    directed = misses / sd
    bearing = table.period == 180.0
    away = bearing & (np.abs(misses) > 90.0) & (counts > 0.0)
    at_place = _at_known_place(table, trial, sd)
    far = trial.evaluation.rays.distance_m.max(axis=1) > FARTHEST_M
    fits = trial.settled & ~at_place & ~far
    spare = counts.sum(axis=1) - problem.unknowns
    exact = np.broadcast_to(spare <= 0, fits.shape)
    fits &= ~(exact & ((trial.cost > FITTING_COST) | away.any(axis=1)))
    agreement = (np.log1p((directed / AGREEING_SDS) ** 2) * counts).sum(axis=1)
    order = np.lexsort((agreement, ~fits))
    order = order[_distinct(table, trial, sd, order, fits)]
    return Settled(
        _rows(trial, order),
        _north_rows(north, order),
        sd,
        directed[order],
        away[order],
        at_place[order],
        fits[order],
        zone_changed,
    )


def _at_known_place(table: ObservationTable, trial: Trial, sd: FloatArray) -> BoolArray:
    """Whether a place is a known one that a direction is tied to, as near as the other observations can tell.

    So near, that direction turns with the last digits, and the adjustment creeps on.
    """
    directed = np.concatenate((table.to, table.frm, table.angle, table.right))
    if not directed.size:
        return np.zeros(len(trial.lat_deg), dtype=np.bool_)
    owner = np.concatenate((table.to, table.frm, table.angle, table.angle))
    distance = trial.evaluation.rays.distance_m[:, directed]
    nearest = distance.min(axis=1)
    there = table.point[directed[distance.argmin(axis=1)]]
    rate = np.linalg.norm(trial.evaluation.design, axis=2) / sd
    elsewhere = np.abs(table.point[directed] - there[:, None]) > COINCIDENT_M
    once = len(directed) - len(table.right)  # the right marks come last, and their angles a second time
    rate[:, owner[:once]] *= elsewhere[:, :once]
    rate[:, table.angle] *= elsewhere[:, once:]
    others = rate.max(axis=1)
    reach_m = np.where(others > 0.0, AT_PLACE_SDS / np.where(others > 0.0, others, 1.0), AT_PLACE_M)
    at_place: BoolArray = nearest < reach_m
    return at_place


def _distinct(
    table: ObservationTable, trial: Trial, sd: FloatArray, order: IntArray, fits: BoolArray
) -> list[int]:
    """Positions in the order of those that no earlier one repeats, as near as the observations can tell."""
    point: ComplexArray = table.plane.project(trial.lat_deg, trial.lon_deg)[0]
    kept: list[int] = []
    for position, index in enumerate(order.tolist()):
        rate = trial.evaluation.design[index] / sd[:, None]
        others = order[kept]
        away = point[others] - point[index]
        turned = np.abs(np.outer(away.real, rate[:, 0]) + np.outer(away.imag, rate[:, 1])).max(
            axis=1, initial=0.0
        )
        same = ((turned < SAME_SDS) | (np.abs(away) < SAME_M)) & (fits[others] == fits[index])
        if not same.any():
            kept.append(position)
    return kept


def _rows(trial: Trial, order: IntArray) -> Trial:
    evaluation, rays = trial.evaluation, trial.evaluation.rays
    return Trial(
        trial.lat_deg[order],
        trial.lon_deg[order],
        trial.compass_error_deg[order],
        trial.offset_m[order],
        trial.cost[order],
        trial.settled[order],
        type(evaluation)(
            evaluation.misses[order],
            evaluation.design[order],
            Rays(rays.azimuth_deg[order], rays.back_azimuth_deg[order], rays.distance_m[order]),
        ),
    )


def _north_rows(north: ObservedNorth, order: IntArray) -> ObservedNorth:
    if len(north.turn_deg) == 1:
        return north
    zone = None if north.zone is None else north.zone[order]
    return ObservedNorth(north.turn_deg[order], north.gradient[order], zone)
