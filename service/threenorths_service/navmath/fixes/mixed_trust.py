"""How far a place fixed by mixed observations is to be trusted: covariance, residuals and what they lead to expect.

As in `fix_trust`: the observations are weighed by their own standard deviations with those of their known places; errors
that several share, the declination's and a known place's own, enter by the propagation of covariance. With the design A, the
weights W and the covariance C of the readings, the influence is ``H = (A'WA)^-1 A'W``, the covariance of the unknowns
``H C H'`` and that of the residuals ``(I - A H) C (I - A H)'``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray
from ..errors import MagneticUselessError
from ..magnetism.magnetic import field_at
from ..sights.fix_trust import MOST_DECLINATION_SD_DEG
from ..sights.sight import SD_RANGE_DEG
from .observation import BearingFrom, BearingTo
from .observation_model import DEGREES, Rays
from .observation_table import ObservationTable

__all__ = [
    "Trust",
    "place_loadings",
    "shared_declination_sd",
    "trust_in",
    "variance_factor_limit",
    "widened_sd",
]

#: The standard normal deviate that one in a hundred exceeds.
ONE_IN_A_HUNDRED = 2.3263
#: A normal matrix, of unknowns on one scale, with a smaller share than this in a direction knows nothing of it.
SINGULAR_SHARE = 1e-13


@dataclass(frozen=True, slots=True)
class Trust:
    """What is known of one place's errors, n observations and u unknowns: north, east [metre], the compass error [degree].

    ``covariance``, shape (u, u); ``influence``, what a unit of each reading's error does to the unknowns, shape (u, n);
    ``reading_covariance`` and ``residual_covariance``, shape (n, n); ``redundancy``, the share of each reading's own error
    that its residual shows, shape (n,).
    """

    covariance: FloatArray
    influence: FloatArray
    reading_covariance: FloatArray
    residual_covariance: FloatArray
    redundancy: FloatArray


def place_loadings(table: ObservationTable, rays: Rays) -> FloatArray:
    """What one standard deviation of each known place, north and east, adds to the readings, shape (n, 2 m).

    Of one candidate's rays, shape (1, m). What is seen from or of the same place twice has one error.
    """
    known = np.flatnonzero(table.place_sd_m > 0.0)
    loadings = np.zeros((table.count, 2 * len(table.place_sd_m)))
    if not known.size:
        return loadings
    azimuth, distance = np.radians(rays.azimuth_deg[0]), np.maximum(rays.distance_m[0], 1e-3)
    across = DEGREES * np.stack((-np.sin(azimuth), np.cos(azimuth)), axis=1) / distance[:, None]
    along = np.stack((np.cos(azimuth), np.sin(azimuth)), axis=1)
    owner = np.concatenate((np.arange(table.count), table.angle, table.line))
    for column in known.tolist():
        row = int(owner[column])
        if row in table.distance:
            effect = along[column]
        else:
            effect = -across[column] if row in table.angle and column < table.count else across[column]
        first = _same_place(table, column)
        loadings[row, 2 * first : 2 * first + 2] += table.place_sd_m[column] * effect
    return loadings


def _same_place(table: ObservationTable, column: int) -> int:
    """The first column with the very same place, which has the same error."""
    same = (table.lat_deg == table.lat_deg[column]) & (table.lon_deg == table.lon_deg[column])
    return int(np.argmax(same & (table.place_sd_m > 0.0)))


def widened_sd(table: ObservationTable, loadings: FloatArray) -> FloatArray:
    """The standard deviations with those of the known places."""
    sd = np.sqrt(table.sd**2 + np.sum(loadings**2, axis=1))
    widened: FloatArray = np.where(table.circle == 360.0, np.minimum(sd, SD_RANGE_DEG[1]), sd)
    return widened


def shared_declination_sd(
    table: ObservationTable, lat_deg: float, lon_deg: float, decimal_year: float | None
) -> FloatArray:
    """What one standard deviation of the declination adds to each reading, shape (n,). [degree]

    One compass's error that is solved for takes the declination's with it.

    Raises
    ------
    MagneticUselessError
        It is known to no better than `MOST_DECLINATION_SD_DEG`.
    """
    magnetic = [
        isinstance(each, BearingTo | BearingFrom) and each.north == "magnetic" for each in table.observations
    ]
    touched = np.array(magnetic) & ~table.same_compass
    if decimal_year is None or not touched.any():
        return np.zeros(table.count)
    rows = table.frm[touched[table.frm]]
    lat, lon = table.lat_deg[rows], table.lon_deg[rows]
    if touched[table.to].any():
        lat, lon = np.append(lat, lat_deg), np.append(lon, lon_deg)
    sd = float(np.max(field_at(lat, lon, decimal_year).declination_sd_deg))
    if sd > MOST_DECLINATION_SD_DEG:
        raise MagneticUselessError(
            f"the declination is known to {sd:.0f} degrees only, so near the magnetic pole",
            member="observations",
            value="magnetic",
            allowed="bearings from true or grid north, such as from the sun",
        )
    return np.where(touched, sd, 0.0)


def trust_in(
    design: FloatArray, sd: FloatArray, reading_covariance: FloatArray, scale: FloatArray
) -> Trust | None:
    """The trust in a place, or ``None`` where the geometry leaves a direction unknown.

    Parameters
    ----------
    design : ndarray, shape (n, u)
        Derivatives of the readings by the unknowns.
    sd : ndarray, shape (n,)
        By which they were weighed.
    scale : ndarray, shape (u,)
        What puts the unknowns on a level: the distance of the known places and a radian.
    """
    weighed = design / sd[:, None]
    normal = weighed.T @ weighed
    level = normal * np.outer(scale, scale)
    values = np.linalg.eigvalsh(level)
    if not values[0] > SINGULAR_SHARE * values[-1]:
        return None
    influence = np.linalg.solve(level, (weighed * scale).T) * scale[:, None] / sd
    rest = np.eye(len(sd)) - design @ influence
    return Trust(
        covariance=influence @ reading_covariance @ influence.T,
        influence=influence,
        reading_covariance=reading_covariance,
        residual_covariance=rest @ reading_covariance @ rest.T,
        redundancy=np.clip(np.diagonal(rest), 0.0, 1.0),
    )


def variance_factor_limit(degrees_of_freedom: int) -> float:
    """What the variance factor exceeds once in a hundred times: the approximation of Wilson and Hilferty, see `fix_trust`."""
    spread = 2.0 / (9.0 * degrees_of_freedom)
    return (1.0 - spread + ONE_IN_A_HUNDRED * math.sqrt(spread)) ** 3
