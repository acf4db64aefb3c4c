"""A compass's error that changes with the direction: iron that is carried, or a bent needle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_signed

__all__ = ["FEWEST_READINGS", "WIDEST_GAP_DEG", "Deviation", "deviation_of", "error_at"]

#: The three coefficients are told from so many readings on, with no part of the horizon so wide left out: common practice.
FEWEST_READINGS = 5
WIDEST_GAP_DEG = 120.0

#: Chance alone gives the two coefficients a weighted square sum beyond this in one case of a hundred: chi-square with two
#: degrees of freedom, ``-2 ln 0.01``.
_FOUND_COST = 9.21
_ROUNDING_DEG = 1e-9


@dataclass(frozen=True, slots=True)
class Deviation:
    """The error as ``constant + sine * sin(reading) + cosine * cos(reading)``, and whether the last two are found. [degree]

    With the sign turned these are the coefficients A, B and C of US National Geospatial-Intelligence Agency, "Handbook of
    Magnetic Compass Adjustment", 2004 (formerly Pub. 226), chapter V: A constant, from a turned scale or a wrong
    declination; B greatest east and west, C greatest north and south, from iron that turns with the compass.
    ``covariance`` is that of the three, shape (3, 3) [square degree], widened where the readings disagree.
    """

    constant_deg: float
    sine_deg: float
    cosine_deg: float
    covariance: FloatArray
    found: bool


def deviation_of(reading_deg: FloatArray, error_deg: FloatArray, sd_deg: FloatArray) -> Deviation | None:
    """The coefficients by least squares from errors of shape (n,) that do not leap by 360 degrees; ``None`` from too few
    readings, or with a wider gap than `WIDEST_GAP_DEG` between neighbours around the horizon.
    """
    if len(reading_deg) < FEWEST_READINGS or _widest_gap(reading_deg) > WIDEST_GAP_DEG + _ROUNDING_DEG:
        return None
    design = _design(reading_deg) / sd_deg[:, None]
    normal = design.T @ design
    coefficients = np.linalg.solve(normal, design.T @ (error_deg / sd_deg))
    misfit = error_deg / sd_deg - design @ coefficients
    factor = max(1.0, float(misfit @ misfit) / (len(reading_deg) - design.shape[1]))
    covariance = np.linalg.inv(normal) * factor
    cost = float(coefficients[1:] @ np.linalg.solve(covariance[1:, 1:], coefficients[1:]))
    constant, sine, cosine = coefficients.tolist()
    return Deviation(constant, sine, cosine, covariance, cost > _FOUND_COST)


def error_at(deviation: Deviation, reading_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """The compass's error at readings, in (-180, 180], and its standard deviation. Subtract it from the reading. [degree]"""
    design = _design(np.asarray(reading_deg, dtype=np.float64))
    coefficients = np.array([deviation.constant_deg, deviation.sine_deg, deviation.cosine_deg])
    variance = np.einsum("...i,ij,...j->...", design, deviation.covariance, design)
    return normalise_signed(design @ coefficients), np.sqrt(variance)


def _design(reading_deg: FloatArray) -> FloatArray:
    turn = np.radians(reading_deg)
    return np.stack([np.ones_like(turn), np.sin(turn), np.cos(turn)], axis=-1)


def _widest_gap(reading_deg: FloatArray) -> float:
    around = np.sort(reading_deg % 360.0)
    return float(np.max(np.diff(around, append=around[0] + 360.0)))
