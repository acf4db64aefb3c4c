"""The likelihood of places around a fix: by how much worse than the best they fit the observations.

With the misses r and their covariance C, errors that observations share included, the cost ``r' C^-1 r`` is minus twice the
logarithm of the likelihood but for a constant. Its rise over the least follows chi-square of two degrees of freedom at the
true place, also where the ellipse's straight lines do not hold: S. S. Wilks, "The Large-Sample Distribution of the Likelihood
Ratio for Testing Composite Hypotheses", Annals of Mathematical Statistics 9(1), 60-62, 1938, doi:10.1214/aoms/1177732360.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..angle import FloatArray
from .fixed_place import FixedPlace
from .line_stood_on import Stretches
from .mixed_solution import Problem
from .observation_model import RADIUS_M, evaluate, plane_rays
from .observation_table import ObservationTable
from .search_plane import ComplexArray, SearchPlane

__all__ = ["Likelihood", "chi_square_of_two", "ellipse_shares", "likelihood_about"]

#: Steps toward the most likely place, from a fix that is weighed without what its observations share.
MOST_STEPS = 12
#: It is found when a step takes less than this off the cost.
NEGLIGIBLE_GAIN = 1e-9
#: Where an ellipse is held against the likelihood: at the ends of its axes and between.
POINTS_ON_ELLIPSE = 16


def chi_square_of_two(confidence: float) -> float:
    """The chi-square quantile of two degrees of freedom, in closed form."""
    return -2.0 * math.log1p(-confidence)


@dataclass(frozen=True, slots=True)
class Likelihood:
    """Costs of places on the plane about a fix, whose point there is 0.

    ``whitening``, shape (n, n), makes the misses independent and of standard deviation 1 and takes out what a compass error
    that is solved for explains; ``least``, the least cost, at the point ``peak``. The norths and the known places' errors
    are those at the fix.
    """

    table: ObservationTable
    place: FixedPlace
    whitening: FloatArray
    peak: complex
    least: float

    def whitened(self, point: ComplexArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Independent misses (k, n), how they change by a metre north and east (k, n, 2), and distances (k, m) of points."""
        turn = _turn_of(self.table.plane.lat_deg, point)
        lat = np.clip(self.table.plane.lat_deg + np.degrees(point.real / RADIUS_M), -90.0, 90.0)
        error = np.full(len(point), self.place.compass_error_deg or 0.0)
        rays = plane_rays(self.table, point, turn)
        found = evaluate(self.table, rays, lat, self.place.north, point, error)
        return found.misses @ self.whitening.T, -(self.whitening @ found.design), rays.distance_m

    def mixed(self, near: FloatArray) -> FloatArray:
        """For each independent miss the greatest of values at the known places, shape (k, m), of directions it is made of."""
        table = self.table
        own = near[:, : table.count].copy()
        own[:, table.angle] = np.maximum(own[:, table.angle], near[:, table.right])
        own[:, np.concatenate((table.distance, table.line))] = 0.0
        made_of = np.abs(self.whitening) > 1e-9 * np.abs(self.whitening).max(axis=1, keepdims=True)
        greatest: FloatArray = np.where(made_of, own[:, None, :], 0.0).max(axis=2)
        return greatest

    def rise(self, point: ComplexArray) -> FloatArray:
        """The cost over the least, shape (k,)."""
        misses = self.whitened(point)[0]
        rise: FloatArray = np.einsum("kn,kn->k", misses, misses) - self.least
        return rise


def likelihood_about(problem: Problem, place: FixedPlace, factor: float = 1.0) -> Likelihood:
    """The likelihood about a fixed place, its variances multiplied by ``factor``.

    The most likely place differs a little from the fix where observations share errors, since the fix weighs them singly.
    """
    start = _costs_about(problem, place, factor)
    peak, least = _peak_of(start)
    return replace(start, peak=peak, least=least)


def _costs_about(problem: Problem, place: FixedPlace, factor: float) -> Likelihood:
    """The same without its peak."""
    table = _recentred(problem.table, SearchPlane(place.lat_deg, place.lon_deg))
    whitening = np.linalg.inv(np.linalg.cholesky(place.trust.reading_covariance * factor))
    if problem.solve_compass_error:
        shared = whitening @ table.same_compass.astype(np.float64)
        whitening -= np.outer(shared, shared @ whitening) / (shared @ shared)
    return Likelihood(table, place, whitening, 0.0, 0.0)


def ellipse_shares(problem: Problem, place: FixedPlace) -> tuple[float, float]:
    """The least and the most that the cost rises on a place's ellipse, as a share of what it should rise all along it.

    1 and 1 where the lines of position are straight and parallel over the ellipse.
    """
    ellipse = place.ellipse
    turn = np.linspace(0.0, 2.0 * np.pi, POINTS_ON_ELLIPSE, endpoint=False)
    axis = np.exp(1j * np.radians(ellipse.major_axis_azimuth_deg))
    point = axis * (ellipse.semi_major_m * np.cos(turn) + 1j * ellipse.semi_minor_m * np.sin(turn))
    cost = _costs_about(problem, place, 1.0).rise(np.append(point, 0.0))
    share = (cost[:-1] - cost[-1]) / chi_square_of_two(ellipse.confidence)
    return float(share.min()), float(share.max())


def _recentred(table: ObservationTable, plane: SearchPlane) -> ObservationTable:
    point, turn = plane.project(table.lat_deg, table.lon_deg)
    lines = tuple(
        Stretches(each.lat_deg, each.lon_deg, plane.project(each.lat_deg, each.lon_deg)[0])
        for each in table.lines
    )
    return replace(table, plane=plane, point=point, turn_deg=turn, lines=lines)


def _turn_of(lat_deg: float, point: ComplexArray) -> FloatArray:
    """By how much an azimuth on the plane is more than the true one, at points of it, as on a sphere. [degree]

    It differs from the ellipsoid's by a three-hundredth of itself.
    """
    latitude, azimuth, arc = math.radians(lat_deg), np.angle(point), np.abs(point) / RADIUS_M
    ahead = math.cos(latitude) * np.cos(arc) * np.cos(azimuth) - math.sin(latitude) * np.sin(arc)
    there = np.arctan2(math.cos(latitude) * np.sin(azimuth), ahead)
    turn: FloatArray = np.degrees(np.angle(np.exp(1j * (azimuth - there))))
    return turn


def _peak_of(likelihood: Likelihood) -> tuple[complex, float]:
    """The most likely point near the fix, by Gauss-Newton with halved steps, and its cost."""
    point = np.zeros(1, dtype=np.complex128)
    misses, design, _distance = likelihood.whitened(point)
    cost = float(np.sum(misses**2))
    for _ in range(MOST_STEPS):
        north, east = np.linalg.lstsq(design[0], -misses[0], rcond=1e-12)[0]
        trials = point + (north + 1j * east) * 0.5 ** np.arange(8)
        costs = np.sum(likelihood.whitened(trials)[0] ** 2, axis=1)
        best = int(np.argmin(costs))
        gain = cost - float(costs[best])
        if gain <= 0.0:
            break
        point, cost = trials[best : best + 1], float(costs[best])
        if gain < NEGLIGIBLE_GAIN:
            break
        misses, design, _distance = likelihood.whitened(point)
    return complex(point[0]), cost
