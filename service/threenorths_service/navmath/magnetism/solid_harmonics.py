"""Solid harmonics in Cartesian coordinates, and the gradient of a series of them.

The exterior solid harmonic of degree n and order m is ``P_nm(sin latitude) (cos m lon + i sin m lon) / r**(n + 1)``.
Cunningham's recursion builds it from x, y and z alone, and the derivatives of those of degree n are combinations of
those of degree n + 1, so nothing is divided by the cosine of a latitude and no place is singular, the poles included.

References: L. E. Cunningham, "On the computation of the spherical harmonic terms needed during the numerical
integration of the orbital motion of an artificial satellite," Celestial Mechanics 2, 207-216, 1970,
doi:10.1007/BF01227506. O. Montenbruck and E. Gill, "Satellite Orbits," Springer, 2000, sections 3.2.4 and 3.2.5,
eqs. (3.29)-(3.33) (cited from memory; the tests check the result against closed forms and finite differences).

Here each harmonic is divided by ``(2n - 1)!! / (n - m)!``. That makes its leading coefficient 1, which keeps the
numbers small and takes one multiplication out of every step; `gradient_matrix` puts the factors back.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray

__all__ = ["SolidHarmonics", "gradient_matrix"]

CACHE_LINE_BYTES = 64


class SolidHarmonics:
    """Every solid harmonic from degree 0 to ``degree``, at least 1, with leading coefficient 1, of so many places at a time.

    The memory that it works in is kept from one call to the next, and lies on cache lines.
    """

    def __init__(self, degree: int, places: int) -> None:
        first = _first_terms(degree + 1)
        self._degree = degree
        self.places = places
        self._harmonics = _on_cache_lines(first[-1], 2, places)
        self._highest_orders = [end - 1 for end in first[1:]]
        self._inverse_square, self._scaled_z = _on_cache_lines(places), _on_cache_lines(places)
        self._factors = _recursion_factors(degree)
        self._scaled_factors = _on_cache_lines(len(self._factors), 1, places)
        of_degree = [self._harmonics[first[n] : first[n + 1]] for n in range(degree + 1)]
        second_terms = _on_cache_lines(degree - 1, 2, places)
        self._first_step = of_degree[0], of_degree[1][:1]
        #: Of the step to each further degree: what is multiplied by z, and into what; what is multiplied by which factors,
        #: and into what; and what that is taken from.
        self._steps = [
            (
                *(of_degree[n - 1], of_degree[n][:n]),
                *(of_degree[n - 2], self._scaled_factors[first[n - 2] : first[n - 1]], second_terms[: n - 1]),
                of_degree[n][: n - 1],
            )
            for n in range(2, degree + 1)
        ]

    def at(self, x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
        """The harmonics at the places.

        Parameters
        ----------
        x, y, z : array, shape (places,)
            Coordinates in units of the reference radius, away from the origin.

        Returns
        -------
        array, shape ((degree + 1) * (degree + 2), places)
            Degree by degree, order by order, the real part above the imaginary part. It is written over by the next call.
        """
        inverse_square = np.divide(1.0, x * x + y * y + z * z, out=self._inverse_square)
        scaled_z = np.multiply(z, inverse_square, out=self._scaled_z)
        sectoral = _powers(x * inverse_square, y * inverse_square, self._degree)
        inverse = np.sqrt(inverse_square)
        self._harmonics[self._highest_orders, 0] = sectoral.real * inverse
        self._harmonics[self._highest_orders, 1] = sectoral.imag * inverse

        np.multiply(self._factors, inverse_square, out=self._scaled_factors)
        before, first_term = self._first_step
        np.multiply(before, scaled_z, out=first_term)
        for before, first_term, two_before, factors, second_term, lower in self._steps:
            np.multiply(before, scaled_z, out=first_term)
            lower -= np.multiply(factors, two_before, out=second_term)
        return self._harmonics.reshape(-1, x.size)


def gradient_matrix(coefficients: NDArray[np.complex128]) -> FloatArray:
    """What turns solid harmonics into the gradient of the series that ``coefficients`` are of.

    Parameters
    ----------
    coefficients : complex array, shape (degree + 1, degree + 1)
        Schmidt semi-normalised, ``g - i h`` at ``[n, m]``: the series is the sum of
        ``r**-(n + 1) (g cos m lon + h sin m lon) S_nm(sin latitude)``, r in units of the reference radius.

    Returns
    -------
    array, shape (3, (degree + 2) * (degree + 3))
        Times `SolidHarmonics` of one degree more, it gives the derivatives along x, y and z, per reference radius.
    """
    size = coefficients.shape[0]
    gradient = np.zeros((3, size + 1, size + 1), dtype=np.complex128)
    for n in range(size):
        for m in range(n + 1):
            weight = coefficients[n, m] * _schmidt_factor(n, m)
            gradient[2, n + 1, m] -= (n - m + 1) * weight
            above = -weight if m == 0 else -weight / 2.0
            gradient[:2, n + 1, m + 1] += above, -1j * above
            if m > 0:
                below = (n - m + 2) * (n - m + 1) * weight / 2.0
                gradient[:2, n + 1, m - 1] += below, 1j * below
    columns = [gradient[:, n, m] * _leading_coefficient(n, m) for n in range(size + 1) for m in range(n + 1)]
    # Re(c Z) = Re c Re Z - Im c Im Z, for the two rows that each harmonic Z has.
    return np.stack([part for column in columns for part in (column.real, -column.imag)], axis=1)


def _on_cache_lines(*shape: int) -> FloatArray:
    """An array not yet filled that begins on a cache line, as numpy's do not: arithmetic on it is a fifth faster."""
    line = CACHE_LINE_BYTES // 8
    count = math.prod(shape)
    memory = np.empty(count + line - 1)
    start = -(memory.ctypes.data // 8) % line
    return memory[start : start + count].reshape(shape)


def _powers(real: FloatArray, imaginary: FloatArray, highest: int) -> NDArray[np.complex128]:
    """Powers 0 to ``highest`` of complex numbers, those known doubled at every step; shape (highest + 1, rows)."""
    powers = np.empty((highest + 1, real.size), dtype=np.complex128)
    powers[0] = 1.0
    powers.real[1] = real
    powers.imag[1] = imaginary
    known = 1
    while known < highest:
        more = min(known, highest - known)
        np.multiply(powers[1 : more + 1], powers[known], out=powers[known + 1 : known + more + 1])
        known += more
    return powers


@cache
def _first_terms(degrees: int) -> list[int]:
    """Where each degree begins in the terms of all degrees, orders from 0 to the degree, and where the last ends."""
    return [n * (n + 1) // 2 for n in range(degrees + 1)]


@cache
def _recursion_factors(degree: int) -> FloatArray:
    """Factors of degree n - 2, orders 0 to n - 2, in the step to degree n, for n from 2; shaped to broadcast."""
    factors: list[float] = [
        ((n - 1) ** 2 - m**2) / ((2 * n - 1) * (2 * n - 3))
        for n in range(2, degree + 1)
        for m in range(n - 1)
    ]
    return np.array(factors)[:, np.newaxis, np.newaxis]


def _leading_coefficient(n: int, m: int) -> float:
    return math.prod(range(1, 2 * n, 2)) / math.factorial(n - m)


def _schmidt_factor(n: int, m: int) -> float:
    doubled = 1 if m == 0 else 2
    return math.sqrt(doubled * math.factorial(n - m) / math.factorial(n + m))
