"""Models of the magnetic field: for which years each holds, of which coefficients, and how good its declination is."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray

__all__ = ["DeclinationError", "MagneticModel", "Stretch"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Years in which a model's coefficients change at a steady rate.

    ``main`` [nT] at ``epoch`` and ``change`` [nT a year] hold the Schmidt semi-normalised coefficients as complex numbers
    ``g - i h`` at ``[degree, order]``, 0 where there is none: the real part of one times a complex harmonic
    ``cos + i sin`` is then its term of the series.
    """

    first_year: float
    epoch: float
    main: NDArray[np.complex128]
    change: NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class DeclinationError:
    """What a model's declination misses, as fields across the needle: times 1 / H they are angles. [degree nT]

    ``surroundings_deg_nt`` is of what the model leaves out or averages, which is the same in any year; ``core_deg_nt`` is
    the error of the main field itself at ``core_years``, on straight lines in between and level beyond.
    """

    surroundings_deg_nt: float
    core_years: tuple[float, ...] = (0.0,)
    core_deg_nt: tuple[float, ...] = (0.0,)

    def core_at(self, decimal_year: ArrayLike) -> FloatArray:
        """The error of the main field in each year. [degree nT]"""
        return np.interp(np.asarray(decimal_year, dtype=np.float64), self.core_years, self.core_deg_nt)


@dataclass(frozen=True, slots=True)
class MagneticModel:
    """A magnetic model with its dates. Its stretches follow each other without a gap, the first year first."""

    name: str
    first_date: datetime.date
    last_date: datetime.date
    stretches: tuple[Stretch, ...]
    declination_error: DeclinationError

    @property
    def first_year(self) -> float:
        """The model's first instant as a decimal year."""
        return float(self.first_date.year)

    @property
    def last_year(self) -> float:
        """The model's last instant as a decimal year: the end of 31 December."""
        return float(self.last_date.year + 1)
