"""Weighted least squares for a place from mixed observations, from several starts at once.

Gauss-Newton with the damping of D. W. Marquardt, "An Algorithm for Least-Squares Estimation of Nonlinear Parameters",
Journal of the Society for Industrial and Applied Mathematics 11(2), 431-441, 1963, doi:10.1137/0111030: a step that does not
help is tried again shorter and nearer to the steepest descent, so that the cost never grows and the search always ends. The
shift is laid off as a geodesic from the last place, so the poles and the antimeridian are places like any other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..lines.geodesic import direct
from ..rows import BoolArray
from .observation_model import Evaluation, evaluate, exact_rays, wrapped
from .observation_table import ObservationTable
from .observed_north import ObservedNorth
from .search_plane import ComplexArray

__all__ = [
    "NEGLIGIBLE_GAIN",
    "ROUGH_GAIN",
    "Trial",
    "Weighing",
    "adjust_all",
    "normal_matrix",
    "weighted_design",
]

#: A trial has settled when its step is shorter than this [metre], or would take off less than the second from its cost.
SETTLED_M = 2e-5
NEGLIGIBLE_GAIN = 1e-8
#: The same of an adjustment that another will follow.
ROUGH_GAIN = 0.01
MOST_STEPS = 40

#: The first damping, as a share of the normal matrix's diagonal; by what it falls or grows; and its bounds.
FIRST_DAMPING = 1e-6
EASED, TIGHTENED = 0.03, 10.0
LEAST_DAMPING, MOST_DAMPING = 1e-12, 1e8
#: Where no observation moves with an unknown at all, it still has a weight.
LEAST_LEVEL = 1e-100


@dataclass(frozen=True, slots=True)
class Weighing:
    """How much each observation counts in each trial: standard deviations, shape (n,), and 0 or 1, shape (k, n) or (1, n)."""

    sd: FloatArray
    counts: FloatArray
    solve_compass_error: bool


@dataclass(frozen=True, slots=True)
class Trial:
    """k places on their way to the least cost, each from its own start; arrays of shape (k,).

    ``offset_m``, north + i east, from where its norths were taken; ``cost``, the weighted square sum of the misses, bearings
    taken for lines that run both ways; ``settled``, whether it came to rest.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    compass_error_deg: FloatArray
    offset_m: ComplexArray
    cost: FloatArray
    settled: BoolArray
    evaluation: Evaluation


def adjust_all(
    table: ObservationTable,
    north: ObservedNorth,
    weighing: Weighing,
    lat_deg: FloatArray,
    lon_deg: FloatArray,
    compass_error_deg: FloatArray,
    offset_m: ComplexArray | None = None,
    negligible_gain: float = NEGLIGIBLE_GAIN,
) -> Trial:
    """Each start moved to the least cost near it.

    Bearings are taken for lines that run both ways, so that a reversed one shows as a miss beyond 90 degrees instead of
    bending the place. ``offset_m`` says how far the starts lie from where ``north`` was taken; not at all, left out.
    A step that would take less than ``negligible_gain`` off the cost is the last, and left to whoever asked for more.
    """
    offset = np.zeros(len(lat_deg), dtype=np.complex128) if offset_m is None else offset_m
    here = _try(table, north, weighing, lat_deg, lon_deg, compass_error_deg, offset)
    damping = np.full(len(lat_deg), FIRST_DAMPING)
    for _ in range(MOST_STEPS):
        step, gain = _step(here, table, weighing, damping)
        length = np.abs(step[:, 0] + 1j * step[:, 1])
        rests = here.settled | ((length < SETTLED_M) & (damping < 1.0)) | (gain < negligible_gain)
        if negligible_gain > NEGLIGIBLE_GAIN and rests.all():
            return _settled(here, rests)  # the adjustment that follows takes the step
        there = _moved(table, north, weighing, here, step)
        helps = ~here.settled & (there.cost <= here.cost)
        here = _chosen(helps, there, here, rests | (damping >= MOST_DAMPING))
        if here.settled.all():
            break
        damping = np.clip(np.where(helps, damping * EASED, damping * TIGHTENED), LEAST_DAMPING, MOST_DAMPING)
    return here


def weighted_design(table: ObservationTable, evaluation: Evaluation, weighing: Weighing) -> FloatArray:
    """The derivatives over the standard deviations, with a column for the compass error where it is solved for."""
    weight = (weighing.counts / weighing.sd)[:, :, None]
    design = evaluation.design
    if weighing.solve_compass_error:
        shared = np.broadcast_to(table.same_compass[:, None].astype(np.float64), (*design.shape[:2], 1))
        design = np.concatenate((design, shared), axis=2)
    return design * weight


def normal_matrix(design: FloatArray) -> FloatArray:
    """The design times itself transposed, shape (k, u, u)."""
    return np.swapaxes(design, 1, 2) @ design


def _try(
    table: ObservationTable,
    north: ObservedNorth,
    weighing: Weighing,
    lat: FloatArray,
    lon: FloatArray,
    error: FloatArray,
    offset: ComplexArray,
) -> Trial:
    evaluation = evaluate(table, exact_rays(table, lat, lon), lat, north, offset, error)
    weighted = wrapped(evaluation.misses, table.period) * (weighing.counts / weighing.sd)
    cost = np.einsum("kn,kn->k", weighted, weighted)
    return Trial(lat, lon, error, offset, cost, np.zeros(len(lat), dtype=np.bool_), evaluation)


def _step(
    here: Trial, table: ObservationTable, weighing: Weighing, damping: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The damped step, north, east [metre] and compass error [degree], shape (k, 3), and what it should take off the cost.

    The shift is cut to the distance of the farthest known place.
    """
    design = weighted_design(table, here.evaluation, weighing)
    misses = wrapped(here.evaluation.misses, table.period) * (weighing.counts / weighing.sd)
    normal = normal_matrix(design)
    slope = np.einsum("knu,kn->ku", design, misses)
    damped = normal.copy()
    diagonal = np.einsum("kuu->ku", damped)
    # North and east are damped alike, so that a direction in which nothing is known is held still by the other.
    level = np.maximum(diagonal, LEAST_LEVEL)
    level[:, :2] = level[:, :2].max(axis=1, keepdims=True)
    diagonal += np.maximum(damping, LEAST_DAMPING)[:, None] * level
    solved = np.linalg.solve(damped, slope[:, :, None])[:, :, 0]
    gain = np.einsum("ku,ku->k", solved, slope)
    longest = here.evaluation.rays.distance_m.max(axis=1)
    length = np.maximum(np.hypot(solved[:, 0], solved[:, 1]), 1e-12)
    cut = np.minimum(1.0, longest / length)
    step = np.zeros((len(solved), 3))
    step[:, : solved.shape[1]] = cut[:, None] * solved
    return step, cut * gain


def _moved(
    table: ObservationTable, north: ObservedNorth, weighing: Weighing, here: Trial, step: FloatArray
) -> Trial:
    shift = step[:, 0] + 1j * step[:, 1]
    lat, lon, _back = direct(here.lat_deg, here.lon_deg, np.degrees(np.angle(shift)), np.abs(shift))
    error = wrapped(here.compass_error_deg + step[:, 2], np.full(len(lat), 360.0))
    return _try(table, north, weighing, lat, lon, error, here.offset_m + shift)


def _chosen(there_it_is: BoolArray, there: Trial, here: Trial, settled: BoolArray) -> Trial:
    """Trial by trial the one place or the other."""
    if there_it_is.all():
        return _settled(there, settled)
    if not there_it_is.any():
        return _settled(here, settled)

    def pick(one: FloatArray, other: FloatArray) -> FloatArray:
        return np.where(there_it_is.reshape(-1, *[1] * (one.ndim - 1)), one, other)

    rays = type(here.evaluation.rays)(
        pick(there.evaluation.rays.azimuth_deg, here.evaluation.rays.azimuth_deg),
        pick(there.evaluation.rays.back_azimuth_deg, here.evaluation.rays.back_azimuth_deg),
        pick(there.evaluation.rays.distance_m, here.evaluation.rays.distance_m),
    )
    return Trial(
        pick(there.lat_deg, here.lat_deg),
        pick(there.lon_deg, here.lon_deg),
        pick(there.compass_error_deg, here.compass_error_deg),
        np.where(there_it_is, there.offset_m, here.offset_m),
        pick(there.cost, here.cost),
        settled,
        Evaluation(
            pick(there.evaluation.misses, here.evaluation.misses),
            pick(there.evaluation.design, here.evaluation.design),
            rays,
        ),
    )


def _settled(trial: Trial, settled: BoolArray) -> Trial:
    return Trial(
        trial.lat_deg,
        trial.lon_deg,
        trial.compass_error_deg,
        trial.offset_m,
        trial.cost,
        settled,
        trial.evaluation,
    )
