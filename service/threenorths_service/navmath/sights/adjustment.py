"""Weighted least squares for a place from bearings: the core that intersection and resection share.

The unknowns are a shift of the place, north and east, and, where asked for, the compass error. The shift is laid off
as a geodesic from the last place, and every reading is predicted through the exact geodesic, so the poles and the
antimeridian are places like any other. Gauss-Newton with a halved step wherever a whole one does not help: E. M.
Mikhail, "Observations and Least Squares", 1976 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..lines.geodesic import COINCIDENT_M, direct

__all__ = [
    "DERIVATIVE_SHARE",
    "NEGLIGIBLE_GAIN",
    "RADIAN_DEG",
    "SETTLED_M",
    "Adjustment",
    "Model",
    "Predict",
    "adjust",
    "costs",
    "one_sd_m",
    "wrap_line",
]

#: Takes candidate places, latitudes and longitudes of shape (k,) in degrees; gives the readings of a faultless
#: compass and the distances of the known places, both of shape (k, n). [degree], [metre]
Predict = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]

#: The adjustment has settled when its step is shorter than this. [metre]
SETTLED_M = 2e-5
#: It has settled too when the step is a ten-thousandth of a standard deviation, which takes this off the cost: sights
#: that contradict each other settle slowly, and the last digits of the geodesics never let a very flat crossing rest.
NEGLIGIBLE_GAIN = 1e-8
MOST_STEPS = 30
MOST_HALVINGS = 8

#: A step must take this share off the cost of what it would if the readings turned evenly along it.
LEAST_HELP = 0.1

#: Shifts for the numeric derivatives, as a share of the shortest sight: the derivatives are good to about 1e-7.
DERIVATIVE_SHARE = 3e-4

#: With every sight given the same weight, a singular value this much smaller than the largest is noise of the
#: derivatives: the geometry is singular.
SINGULAR_RATIO = 2e-6
#: The same where sights of very different lengths and weights are solved for: the rounding alone.
ROUNDING_RATIO = 1e-13

#: Degrees in a radian: the scale that puts the compass error on a level with the shifts.
RADIAN_DEG = float(np.degrees(1.0))


@dataclass(frozen=True, slots=True)
class Model:
    """What was read, how well, and how it would read from any place; arrays of shape (n,). [degree]"""

    predict: Predict
    reading_deg: FloatArray
    sd_deg: FloatArray
    solve_compass_error: bool = False

    @property
    def unknowns(self) -> int:
        """How many numbers are solved for."""
        return 3 if self.solve_compass_error else 2


@dataclass(frozen=True, slots=True)
class Adjustment:
    """Where an adjustment ended.

    ``residuals_deg``, observed less computed, in (-180, 180], shape (n,); ``distances_m`` to the known places, shape
    (n,); ``covariance`` of north, east [metre] and the compass error [degree] before any look at the residuals,
    shape (2, 2) or (3, 3), or ``None`` where the geometry is singular; ``influence``, what an error of a degree in
    each reading does to the unknowns, shape (2, n) or (3, n); ``hat``, what the readings over their standard deviations
    are fitted by, shape (n, n); ``redundancy``, the share of each sight's own error that its residual shows, in [0, 1],
    shape (n,); ``cost``, the sum of the squares of the residuals over
    their standard deviations, each line taken both ways; ``settled``, whether it came to rest.
    """

    lat_deg: float
    lon_deg: float
    compass_error_deg: float
    residuals_deg: FloatArray
    distances_m: FloatArray
    covariance: FloatArray | None
    influence: FloatArray
    hat: FloatArray
    redundancy: FloatArray
    cost: float
    settled: bool


@dataclass(frozen=True, slots=True)
class _Trial:
    """The sights as seen from one candidate place."""

    lat_deg: float
    lon_deg: float
    compass_error_deg: float
    residuals_deg: FloatArray
    distances_m: FloatArray
    cost: float


def wrap_line(angle_deg: FloatArray) -> FloatArray:
    """The smallest turn between lines that run both ways, in (-90, 90]. [degree]"""
    return normalise_signed(2.0 * angle_deg) / 2.0


def costs(
    model: Model, lat_deg: FloatArray, lon_deg: FloatArray, *, directed: bool = False
) -> tuple[FloatArray, FloatArray]:
    """How badly candidate places fit the readings, and the compass error that suits each best.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray, shape (k,)
        The candidates. [degree]
    directed : bool
        Whether a sight must point at its mark, not only run through it.

    Returns
    -------
    cost, compass_error_deg : ndarray, shape (k,)
    """
    turns = model.reading_deg - model.predict(lat_deg, lon_deg)[0]
    error = np.zeros(len(turns))
    if model.solve_compass_error:
        error = _mean_turn(turns, model.sd_deg)
    misses = turns - error[:, None]
    misses = normalise_signed(misses) if directed else wrap_line(misses)
    return np.sum((misses / model.sd_deg) ** 2, axis=1), error


def adjust(model: Model, lat_deg: float, lon_deg: float, compass_error_deg: float = 0.0) -> Adjustment:
    """Move a place, and the compass error where the model has one, to the least cost near the start.

    The sights are taken as lines that run both ways, so that a reversed bearing shows as a residual beyond 90
    degrees instead of bending the fix.
    """
    here = _try(model, lat_deg, lon_deg, compass_error_deg)
    settled = False
    for _ in range(MOST_STEPS):
        if np.min(here.distances_m) < COINCIDENT_M:
            break
        step, gain = _least_squares_step(model, here)
        if _length(step, here) < SETTLED_M or gain < NEGLIGIBLE_GAIN:
            here = _step(model, here, step)
            settled = True
            break
        there = _walk(model, here, step, gain)
        if there is None:
            break
        here = there
    return _finish(model, here, settled)


def one_sd_m(covariance: FloatArray) -> float:
    """The longer semi-axis of the place's ellipse of one standard deviation. [metre]"""
    return float(np.sqrt(np.linalg.eigvalsh(covariance[:2, :2])[-1]))


def _mean_turn(turns_deg: FloatArray, sd_deg: FloatArray) -> FloatArray:
    """The compass error that suits most of each row's lines, and of its two senses the one that more sights share."""
    weight = sd_deg**-2
    doubled = np.exp(1j * np.radians(2.0 * turns_deg)) @ weight
    error = np.degrees(np.angle(doubled)) / 2.0
    sense = np.cos(np.radians(turns_deg - error[:, None])) @ weight
    return normalise_signed(np.where(sense < 0.0, error + 180.0, error))


def _try(model: Model, lat_deg: float, lon_deg: float, compass_error_deg: float) -> _Trial:
    readings, distances = model.predict(np.array([lat_deg]), np.array([lon_deg]))
    residuals = normalise_signed(model.reading_deg - readings[0] - compass_error_deg)
    cost = float(np.sum((wrap_line(residuals) / model.sd_deg) ** 2))
    return _Trial(lat_deg, lon_deg, compass_error_deg, residuals, distances[0], cost)


def _design(model: Model, here: _Trial) -> tuple[FloatArray, FloatArray]:
    """Derivatives of the readings over their standard deviations, and the scale of each unknown.

    Column j is what one ``scale[j]`` of the unknown does: a shift by the shortest sight, or one radian.
    """
    shortest = float(np.min(here.distances_m))
    shift = DERIVATIVE_SHARE * shortest
    lat, lon, _back = direct(here.lat_deg, here.lon_deg, np.array([0.0, 180.0, 90.0, 270.0]), shift)
    readings, _distances = model.predict(lat, lon)
    columns = [normalise_signed(readings[0] - readings[1]), normalise_signed(readings[2] - readings[3])]
    columns = [column / (2.0 * DERIVATIVE_SHARE) for column in columns]
    scale = [shortest, shortest]
    if model.solve_compass_error:
        columns.append(np.full(len(model.sd_deg), RADIAN_DEG))
        scale.append(RADIAN_DEG)
    return np.stack(columns, axis=1) / model.sd_deg[:, None], np.array(scale)


def _least_squares_step(model: Model, here: _Trial) -> tuple[FloatArray, float]:
    """The Gauss-Newton step, north, east [metre] and compass error [degree], and what it should take off the cost.

    The step is cut to the length of the farthest sight, and the gain with it.
    """
    design, scale = _design(model, here)
    misses = wrap_line(here.residuals_deg) / model.sd_deg
    unscaled = np.linalg.lstsq(design, misses, rcond=ROUNDING_RATIO)[0]
    step = np.zeros(3)
    step[: len(scale)] = scale * unscaled
    gain = float(np.sum((design @ unscaled) ** 2))
    cut = min(1.0, float(np.max(here.distances_m)) / _length(step, here))
    return cut * step, cut * gain


def _length(step: FloatArray, here: _Trial) -> float:
    """How far a step moves the place or, by a turn of the compass, the end of the shortest sight. [metre]"""
    turned = np.min(here.distances_m) * step[2] / RADIAN_DEG
    return max(float(np.sqrt(step[0] ** 2 + step[1] ** 2 + turned**2)), 1e-12)


def _step(model: Model, here: _Trial, step: FloatArray) -> _Trial:
    azimuth = np.degrees(np.arctan2(step[1], step[0]))
    lat, lon, _back = direct(here.lat_deg, here.lon_deg, azimuth, np.hypot(step[0], step[1]))
    return _try(model, float(lat), float(lon), float(normalise_signed(here.compass_error_deg + step[2])))


def _walk(model: Model, here: _Trial, step: FloatArray, gain: float) -> _Trial | None:
    """The place a step away, the step halved until it helps as it should; ``None`` where no step does."""
    share = 1.0
    for _ in range(MOST_HALVINGS):
        there = _step(model, here, share * step)
        if there.cost < here.cost - LEAST_HELP * share * gain:
            return there
        share /= 2.0
    return None


def _finish(model: Model, here: _Trial, settled: bool) -> Adjustment:
    """The covariance and the redundancies at the last place, from the singular values of the design."""
    sights = len(model.sd_deg)
    covariance, redundancy = None, np.zeros(sights)
    influence, hat = np.zeros((model.unknowns, sights)), np.eye(sights)
    if np.min(here.distances_m) >= COINCIDENT_M:
        design, scale = _design(model, here)
        left, values, right = np.linalg.svd(design, full_matrices=False)
        redundancy = np.clip(1.0 - np.sum(left**2, axis=1), 0.0, 1.0)
        lengths = np.maximum(np.linalg.norm(design, axis=1, keepdims=True), np.finfo(np.float64).tiny)
        even = np.linalg.svd(design / lengths, compute_uv=False)
        if even[-1] > SINGULAR_RATIO * even[0]:
            root = (right.T / values) * scale[:, None]
            covariance = root @ root.T
            influence, hat = root @ left.T / model.sd_deg, left @ left.T
    return Adjustment(
        here.lat_deg,
        here.lon_deg,
        here.compass_error_deg,
        here.residuals_deg,
        here.distances_m,
        covariance,
        influence,
        hat,
        redundancy,
        here.cost,
        settled,
    )
