"""Convergence and scale of the transverse Mercator projection, by Krueger's series.

Source: C. F. F. Karney, "Transverse Mercator with an accuracy of a few nanometers," J. Geodesy, vol. 85, no. 8,
pp. 475-485, 2011, doi:10.1007/s00190-011-0445-3. Equation numbers below are of that paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray
from .ellipsoid import WGS84_ELLIPSOID, Ellipsoid

__all__ = ["convergence_and_unit_scale"]


@dataclass(frozen=True, slots=True)
class _Series:
    """What the formulas need of one ellipsoid."""

    eccentricity: float
    eccentricity_squared: float
    #: Eq. (14): the rectifying radius over the semi-major axis.
    rectifying_radius: float
    #: Eq. (35): alpha_1 to alpha_6, the coefficients of the forward series, to the sixth order in n.
    alpha: tuple[float, ...]


@cache
def _series(ellipsoid: Ellipsoid) -> _Series:
    n = ellipsoid.third_flattening
    alpha = (
        n / 2 - 2 * n**2 / 3 + 5 * n**3 / 16 + 41 * n**4 / 180 - 127 * n**5 / 288 + 7891 * n**6 / 37800,
        13 * n**2 / 48 - 3 * n**3 / 5 + 557 * n**4 / 1440 + 281 * n**5 / 630 - 1983433 * n**6 / 1935360,
        61 * n**3 / 240 - 103 * n**4 / 140 + 15061 * n**5 / 26880 + 167603 * n**6 / 181440,
        49561 * n**4 / 161280 - 179 * n**5 / 168 + 6601661 * n**6 / 7257600,
        34729 * n**5 / 80640 - 3418889 * n**6 / 1995840,
        212378941 * n**6 / 319334400,
    )
    rectifying_radius = (1.0 + n**2 / 4.0 + n**4 / 64.0 + n**6 / 256.0) / (1.0 + n)
    return _Series(ellipsoid.eccentricity, ellipsoid.eccentricity_squared, rectifying_radius, alpha)


def convergence_and_unit_scale(
    lat_deg: ArrayLike, lon_difference_deg: ArrayLike, ellipsoid: Ellipsoid = WGS84_ELLIPSOID
) -> tuple[FloatArray, FloatArray]:
    """Convergence, and point scale factor for a scale of 1 on the central meridian.

    Parameters
    ----------
    lat_deg : array_like
        Geodetic latitude on a datum of the ellipsoid, in [-90, 90]. [degree]
    lon_difference_deg : array_like
        Longitude less that of the central meridian, in [-180, 180). The series lose accuracy slowly away from it:
        they hold to 1e-9 degree and 1e-11 within 40 degrees of longitude. [degree]
    ellipsoid : Ellipsoid, default WGS 84
        No flatter than those of geodetic datums, whose third flattening is under 0.0018.

    Returns
    -------
    convergence_deg, unit_scale : ndarray of the broadcast shape
        The convergence is from true north to grid north, east positive. [degree] Multiply the scale by that of the
        central meridian (0.9996 for UTM).
    """
    series = _series(ellipsoid)
    latitude = np.radians(lat_deg)
    difference = np.radians(lon_difference_deg)
    sine, cosine = np.sin(latitude), np.cos(latitude)
    east, north = np.sin(difference), np.cos(difference)

    # Eqs (7) to (9), multiplied through by cos(latitude), which keeps the pole finite: `height` and `radius` are the
    # tangent and the secant of the conformal latitude, times that cosine.
    stretch = np.sinh(series.eccentricity * np.arctanh(series.eccentricity * sine))
    height = sine * np.sqrt(1.0 + stretch * stretch) - stretch
    radius = np.sqrt(height * height + cosine * cosine)
    squared = height * height + (cosine * north) ** 2

    # Eq. (25): from the ellipsoid to the projection without the series.
    spherical_scale = np.sqrt((1.0 - series.eccentricity_squared * sine * sine) / squared)

    # Eq. (10) put into the double angles of eq. (11), so that no angle need be worked out.
    cos_2xi = ((cosine * north) ** 2 - height * height) / squared
    sin_2xi = 2.0 * height * cosine * north / squared
    cosh_2eta = 1.0 + 2.0 * (cosine * east) ** 2 / squared
    sinh_2eta = 2.0 * east * cosine * radius / squared
    slope = _series_slope(series.alpha, cos_2xi * cosh_2eta - 1j * (sin_2xi * sinh_2eta))

    # Eqs (23) and (24) with (26) and (27): the angle of radius north + i height east, less that of the slope.
    convergence_deg = np.degrees(
        np.arctan2(
            height * east * slope.real - radius * north * slope.imag,
            radius * north * slope.real + height * east * slope.imag,
        )
    )
    return convergence_deg, series.rectifying_radius * np.abs(slope) * spherical_scale


def _series_slope(alpha: tuple[float, ...], cos_2zeta: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Derivative of the series of eq. (11), 1 + sum of 2 j alpha_j cos(2 j zeta'), summed by Clenshaw's recurrence.

    It is p' - i q' of eq. (26).
    """
    twice = 2.0 * cos_2zeta
    following, current = np.zeros_like(twice), np.zeros_like(twice)
    for order in range(len(alpha), 0, -1):
        coefficient = 2 * order * alpha[order - 1]
        following, current = current, twice * current - (following - coefficient)
    return np.asarray(1.0 + cos_2zeta * current - following)
