"""One place that fits mixed observations, with all that is known of its errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_longitude
from ..sights.compass_error import stretch
from ..sights.ellipse import Ellipse, ellipse_of
from .mixed_solution import Problem, Settled, rays_of
from .mixed_trust import Trust, place_loadings, shared_declination_sd, trust_in
from .observation_model import DEGREES
from .observed_north import ObservedNorth

__all__ = ["FixedPlace", "fixed_place", "stretch_of"]

#: A residual that shows less than this share of its reading's own variance shows nothing, and is not standardised.
LEAST_SHOWN = 1e-6


@dataclass(frozen=True, slots=True)
class FixedPlace:
    """A place fixed by n observations; arrays of shape (n,) unless said otherwise.

    ``lat_deg``, ``lon_deg`` [degree]; ``covariance_m2`` of its north and east errors, shape (2, 2), and ``ellipse``, both by
    the stated standard deviations and the errors that observations share. ``residuals``, read less computed, and ``sd``, the
    standard deviations used, those of known places put in: in degrees of angles and metres of lengths. ``standardised``, the
    residuals over their own standard deviations, 0 where nothing shows. ``redundancy``, the share of each reading's error
    that its residual shows. ``distances_m`` to the known places, of an angle to the left mark and of a line to the nearest
    stretch's beginning. ``along_line_sd_m``, the standard deviation along each line stood on, in the order of these.
    ``compass_error_deg`` and ``compass_error_sd_deg``, ``None`` unless solved for. ``cost``, the weighted square sum of the
    residuals. ``trust``, ``loadings`` and ``north`` are for those who compute on.
    """

    lat_deg: float
    lon_deg: float
    covariance_m2: FloatArray
    ellipse: Ellipse
    residuals: FloatArray
    standardised: FloatArray
    sd: FloatArray
    redundancy: FloatArray
    distances_m: FloatArray
    along_line_sd_m: tuple[float, ...]
    compass_error_deg: float | None
    compass_error_sd_deg: float | None
    cost: float
    design: FloatArray
    trust: Trust
    north: ObservedNorth


def fixed_place(
    problem: Problem, settled: Settled, index: int, counts: FloatArray | None = None
) -> FixedPlace | None:
    """One of the places settled on, or ``None`` where the observations leave a direction unknown.

    ``counts``, shape (n,) of 0 and 1, leaves observations out. They keep their residuals.

    Raises
    ------
    MagneticUselessError
        From `shared_declination_sd`.
    """
    table, trial = problem.table, settled.trial
    lat, lon = float(trial.lat_deg[index]), float(trial.lon_deg[index])
    rays = rays_of(trial, index)
    loadings = place_loadings(table, rays)
    shared = shared_declination_sd(table, lat, lon, problem.decimal_year)
    covariance = np.diag(table.sd**2) + loadings @ loadings.T + np.outer(shared, shared)
    design = trial.evaluation.design[index]
    farthest = float(rays.distance_m.max())
    scale = np.array([farthest, farthest])
    if problem.solve_compass_error:
        design = np.column_stack((design, table.same_compass.astype(np.float64)))
        scale = np.append(scale, DEGREES)
    weighing_sd = settled.sd if counts is None else np.where(counts > 0.0, settled.sd, 1e30)
    trust = trust_in(design, weighing_sd, covariance, scale)
    if trust is None or np.sqrt(np.linalg.eigvalsh(trust.covariance[:2, :2])[-1]) > farthest:
        return None
    residuals = trial.evaluation.misses[index]
    return FixedPlace(
        lat_deg=lat,
        lon_deg=float(normalise_longitude(lon)),
        covariance_m2=trust.covariance[:2, :2],
        ellipse=ellipse_of(trust.covariance[:2, :2]),
        residuals=residuals,
        standardised=_standardised(residuals, trust),
        sd=settled.sd,
        redundancy=trust.redundancy,
        distances_m=rays.distance_m[0, : table.count],
        along_line_sd_m=_along_lines(problem, design, trust),
        compass_error_deg=float(trial.compass_error_deg[index]) if problem.solve_compass_error else None,
        compass_error_sd_deg=float(np.sqrt(trust.covariance[2, 2])) if problem.solve_compass_error else None,
        cost=float(np.sum((residuals / weighing_sd) ** 2)),
        design=design,
        trust=trust,
        north=settled.north.only(index),
    )


def _standardised(residuals: FloatArray, trust: Trust) -> FloatArray:
    """The residuals over their standard deviations.

    W. Baarda, "A testing procedure for use in geodetic networks", Netherlands Geodetic Commission, Publications on Geodesy,
    New Series 2(5), 1968 (from memory); the covariance of the residuals is that of correlated readings.
    """
    own, shown = np.diagonal(trust.reading_covariance), np.diagonal(trust.residual_covariance)
    shows = shown > LEAST_SHOWN * own
    return np.where(shows, residuals / np.sqrt(np.where(shows, shown, 1.0)), 0.0)


def _along_lines(problem: Problem, design: FloatArray, trust: Trust) -> tuple[float, ...]:
    """The standard deviation along each line: its derivative by the place is the unit vector across it."""
    across = design[problem.table.line, :2]
    along = np.stack((-across[:, 1], across[:, 0]), axis=1)
    variance = np.einsum("li,ij,lj->l", along, trust.covariance[:2, :2], along)
    return tuple(np.sqrt(variance).tolist())


def stretch_of(place: FixedPlace) -> float:
    """How many times as long the ellipse is as it would be if the compass error were known; 1 where it is."""
    return 1.0 if place.compass_error_deg is None else stretch(place.trust.covariance)
