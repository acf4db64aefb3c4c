"""Convergence and scale of the transverse Mercator projection, by Krueger's series.

Source: C. F. F. Karney, "Transverse Mercator with an accuracy of a few nanometers," J. Geodesy, vol. 85, no. 8,
pp. 475-485, 2011, doi:10.1007/s00190-011-0445-3. Equation numbers below are of that paper.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .angle import FloatArray
from .ellipsoid import ECCENTRICITY, ECCENTRICITY_SQUARED, THIRD_FLATTENING

__all__ = ["convergence_and_unit_scale"]

_N = THIRD_FLATTENING

#: Eq. (14): the rectifying radius over the semi-major axis.
_RECTIFYING_RADIUS = (1.0 + _N**2 / 4.0 + _N**4 / 64.0 + _N**6 / 256.0) / (1.0 + _N)

#: Eq. (35): alpha_1 to alpha_6, the coefficients of the forward series, to the sixth order in n.
_ALPHA = (
    _N / 2 - 2 * _N**2 / 3 + 5 * _N**3 / 16 + 41 * _N**4 / 180 - 127 * _N**5 / 288 + 7891 * _N**6 / 37800,
    13 * _N**2 / 48 - 3 * _N**3 / 5 + 557 * _N**4 / 1440 + 281 * _N**5 / 630 - 1983433 * _N**6 / 1935360,
    61 * _N**3 / 240 - 103 * _N**4 / 140 + 15061 * _N**5 / 26880 + 167603 * _N**6 / 181440,
    49561 * _N**4 / 161280 - 179 * _N**5 / 168 + 6601661 * _N**6 / 7257600,
    34729 * _N**5 / 80640 - 3418889 * _N**6 / 1995840,
    212378941 * _N**6 / 319334400,
)


def convergence_and_unit_scale(
    lat_deg: ArrayLike, lon_difference_deg: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Convergence, and point scale factor for a scale of 1 on the central meridian.

    Parameters
    ----------
    lat_deg : array_like
        Geodetic latitude on WGS 84, in [-90, 90]. [degree]
    lon_difference_deg : array_like
        Longitude less that of the central meridian, in [-180, 180). The series lose accuracy slowly away from it:
        they hold to 1e-9 degree and 1e-11 within 40 degrees of longitude. [degree]

    Returns
    -------
    convergence_deg, unit_scale : ndarray of the broadcast shape
        The convergence is from true north to grid north, east positive. [degree] Multiply the scale by that of the
        central meridian (0.9996 for UTM).
    """
    latitude = np.radians(lat_deg)
    difference = np.radians(lon_difference_deg)
    sine, cosine = np.sin(latitude), np.cos(latitude)
    east, north = np.sin(difference), np.cos(difference)

    # Eqs (7) to (9), multiplied through by cos(latitude), which keeps the pole finite: `height` and `radius` are the
    # tangent and the secant of the conformal latitude, times that cosine.
    stretch = np.sinh(ECCENTRICITY * np.arctanh(ECCENTRICITY * sine))
    height = sine * np.sqrt(1.0 + stretch * stretch) - stretch
    radius = np.hypot(height, cosine)
    squared = height * height + (cosine * north) ** 2

    # Eqs (24) and (25): from the ellipsoid to the projection without the series.
    spherical_convergence = np.arctan2(height * east, radius * north)
    spherical_scale = np.sqrt((1.0 - ECCENTRICITY_SQUARED * sine * sine) / squared)

    # Eq. (10) put into the double angles of eq. (11), so that no angle need be worked out.
    cos_2xi = ((cosine * north) ** 2 - height * height) / squared
    sin_2xi = 2.0 * height * cosine * north / squared
    cosh_2eta = 1.0 + 2.0 * (cosine * east) ** 2 / squared
    sinh_2eta = 2.0 * east * cosine * radius / squared
    slope = _series_slope(cos_2xi * cosh_2eta - 1j * (sin_2xi * sinh_2eta))

    # Eqs (23), (26) and (27).
    convergence_deg = np.degrees(spherical_convergence - np.angle(slope))
    return convergence_deg, _RECTIFYING_RADIUS * np.abs(slope) * spherical_scale


def _series_slope(cos_2zeta: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Derivative of the series of eq. (11), 1 + sum of 2 j alpha_j cos(2 j zeta'), summed by Clenshaw's recurrence.

    It is p' - i q' of eq. (26).
    """
    following, current = 0.0 * cos_2zeta, 0.0 * cos_2zeta
    for order in range(len(_ALPHA), 0, -1):
        coefficient = 2 * order * _ALPHA[order - 1]
        following, current = current, 2.0 * cos_2zeta * current - following + coefficient
    return np.asarray(1.0 + cos_2zeta * current - following)
