"""How the readings of pairs of sights depend on the places sought, in rows.

What one adjustment does by numbers, `adjustment`, is here in closed form. A place that moves by p across a line of
sight of length s turns it, at the far end, by ``p / m``, and at its own end by ``p M / m``, where the reduced length m
is ``sin(k s) / k`` and the geodesic scale M is ``cos(k s)`` on a surface of curvature k squared: C. F. F. Karney,
"Algorithms for geodesics", Journal of Geodesy 87(1), 43-55, 2013, doi:10.1007/s00190-012-0578-z, section 3. The
curvature varies along the line; its value in the middle of the line, for M a third of the way along, leaves over 400 km
an error of 1e-8 of the whole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..grids.ellipsoid import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M
from ..grids.projected_grid import FIRST_EPSG_CODE
from ..lines.geodesic import COINCIDENT_M, inverse
from ..magnetism.magnetic import field_at
from ..rows import BoolArray, IntArray
from .adjustment import DERIVATIVE_SHARE, RADIAN_DEG
from .pair_table import PairTable, Rows, taken
from .sight import angle_from_true_north

__all__ = [
    "Look",
    "ObserverNorth",
    "PairModel",
    "influence_of",
    "look_from",
    "meridians_turn",
    "moved_by",
    "slopes_of",
]


@dataclass(frozen=True, slots=True)
class ObserverNorth:
    """The north that readings are from at the place sought; columns of shape (n,), ``None`` where not needed."""

    north: str
    decimal_year: FloatArray | None = None
    zone: IntArray | None = None
    south: BoolArray | None = None

    def is_national(self, count: int) -> BoolArray:
        """Which of so many rows are of a national grid."""
        return np.zeros(count, dtype=np.bool_) if self.zone is None else self.zone >= FIRST_EPSG_CODE

    def turn_deg(self, lat_deg: FloatArray, lon_deg: FloatArray) -> FloatArray:
        """From true north to the named one at places of shape (..., n), east positive."""
        return angle_from_true_north(self.north, lat_deg, lon_deg, self.decimal_year, self.zone, self.south)

    def turn_and_sd_deg(self, lat_deg: FloatArray, lon_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The same, and the standard deviation that all readings share by it."""
        if self.north != "magnetic" or self.decimal_year is None:
            return self.turn_deg(lat_deg, lon_deg), np.zeros(lat_deg.shape)
        field = field_at(lat_deg, lon_deg, self.decimal_year)
        return field.declination_deg, field.declination_sd_deg

    def slope(
        self,
        lat_deg: FloatArray,
        lon_deg: FloatArray,
        shift_m: FloatArray,
        here_deg: FloatArray | None = None,
    ) -> FloatArray:
        """What the turn grows by to the north and to the east, shape (2, n). [degree / metre]

        By differences over twice the shift or, with the turn ``here_deg`` given, over the shift for half the work.
        """
        if self.north == "true":
            return np.zeros((2, *lat_deg.shape))
        zero = np.zeros_like(shift_m)
        ahead = self.turn_deg(
            *moved_by(lat_deg, lon_deg, *np.array([(shift_m, zero), (zero, shift_m)]).swapaxes(0, 1))
        )
        if here_deg is not None:
            return normalise_signed(ahead - here_deg) / shift_m
        back = self.turn_deg(
            *moved_by(lat_deg, lon_deg, *np.array([(-shift_m, zero), (zero, -shift_m)]).swapaxes(0, 1))
        )
        return normalise_signed(ahead - back) / (2.0 * shift_m)


@dataclass(frozen=True, slots=True)
class PairModel:
    """Pairs and how they read: ``reading_deg`` of shape (2, n), from true north where they were read at the known places
    (``north`` is ``None``), else from the ``north`` at the place sought.
    """

    table: PairTable
    reading_deg: FloatArray
    north: ObserverNorth | None = None

    def rows(self, rows: Rows) -> PairModel:
        """The model of some of the rows."""
        north = None if self.north is None else taken(self.north, rows)
        return PairModel(taken(self.table, rows), self.reading_deg[:, rows], north)


@dataclass(frozen=True, slots=True)
class Look:
    """Pairs as seen from a place each: columns of shape (2, n). Observed less computed, in (-180, 180] [degree]; the
    distance [metre]; the true azimuth from the place sought toward the known one [degree].
    """

    residual_deg: FloatArray
    distance_m: FloatArray
    azimuth_deg: FloatArray


def look_from(
    model: PairModel, lat_deg: FloatArray, lon_deg: FloatArray, turn_deg: FloatArray | None = None
) -> Look:
    """The pairs as seen from places of shape (n,); the turn of north there may be given where it is known."""
    table = model.table
    if model.north is None:
        azimuth, back_azimuth, distance = inverse(table.lat_deg, table.lon_deg, lat_deg, lon_deg)
        turn, toward = np.zeros(azimuth.shape), back_azimuth
    else:
        azimuth, _back, distance = inverse(lat_deg, lon_deg, table.lat_deg, table.lon_deg)
        turn, toward = model.north.turn_deg(lat_deg, lon_deg) if turn_deg is None else turn_deg, azimuth
    residual = normalise_signed(model.reading_deg - (azimuth - turn))
    # What is nearer is the known place itself, and no length to divide by.
    return Look(residual, np.maximum(distance, COINCIDENT_M), toward)


def slopes_of(model: PairModel, lat_deg: FloatArray, look: Look, turn_slope: FloatArray | None) -> FloatArray:
    """What the readings grow by as the places move north and east: shape (2 ways, 2 sights, n). [degree / metre]

    The one adjustment has them from differences over a share of the shortest sight, ``(d / s)^2 (3 u^2 - v^2) / 3`` more
    than the derivative for a move u along and v across: the same here, so that both agree to their last digits.
    """
    azimuth = np.radians(look.azimuth_deg)
    sine, cosine = np.sin(azimuth), np.cos(azimuth)
    share = (DERIVATIVE_SHARE * look.distance_m.min(axis=0) / look.distance_m) ** 2
    turned = RADIAN_DEG * _turned_across(model, lat_deg, look.distance_m)
    north = turned * sine * (1.0 + share * (cosine**2 - sine**2 / 3.0))
    east = -turned * cosine * (1.0 + share * (sine**2 - cosine**2 / 3.0))
    if turn_slope is not None:
        north -= turn_slope[0]
        east += meridians_turn(lat_deg) - turn_slope[1]
    return np.stack((north, east))


def influence_of(slopes: FloatArray) -> FloatArray:
    """What an error of each reading does to the place: the inverse of the slopes, shape (2 ways, 2 sights, n). [m/degree]"""
    (north_first, north_second), (east_first, east_second) = slopes
    determinant = north_first * east_second - north_second * east_first
    inverted = np.array([(east_second, -east_first), (-north_second, north_first)])
    influence = np.full_like(inverted, np.nan)
    np.divide(inverted, determinant, out=influence, where=determinant != 0.0)
    return influence


def moved_by(
    lat_deg: FloatArray, lon_deg: FloatArray, north_m: FloatArray, east_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Places some metres off, away from the poles: a square of the move over the earth's radius is left out."""
    lat = np.radians(lat_deg)
    slimming = 1.0 - ECCENTRICITY_SQUARED * np.sin(lat) ** 2
    across_m = SEMI_MAJOR_AXIS_M / np.sqrt(slimming)
    along_m = across_m * (1.0 - ECCENTRICITY_SQUARED) / slimming
    lon = lon_deg + np.degrees(east_m / (across_m * np.cos(lat)))
    lon = lon - 360.0 * (lon >= 180.0) + 360.0 * (lon < -180.0)
    return lat_deg + np.degrees(north_m / along_m), lon


def _turned_across(model: PairModel, lat_deg: FloatArray, distance_m: FloatArray) -> FloatArray:
    """How much the readings turn for a move across the line, shape (2, n). [radian / metre]"""
    known = model.table.lat_deg
    middle = (distance_m**2) * _curvature((lat_deg + known) / 2.0)
    # The series of x / sin(x) and of cos(x).
    turned = (1.0 + middle / 6.0 + middle**2 * (7.0 / 360.0)) / distance_m
    if model.north is None:
        return turned
    third = (distance_m**2) * _curvature((2.0 * lat_deg + known) / 3.0)
    return turned * (1.0 - third / 2.0 + third**2 / 24.0)


def _curvature(lat_deg: FloatArray) -> FloatArray:
    """The Gaussian curvature of the ellipsoid, the reciprocal of the product of its two radii. [1 / square metre]"""
    slimming = 1.0 - ECCENTRICITY_SQUARED * np.sin(np.radians(lat_deg)) ** 2
    return slimming**2 / (SEMI_MAJOR_AXIS_M**2 * (1.0 - ECCENTRICITY_SQUARED))


def meridians_turn(lat_deg: FloatArray) -> FloatArray:
    """How much a direction's true azimuth grows as one goes east, the meridians drawing together. [degree / metre]"""
    lat = np.radians(lat_deg)
    across_m = SEMI_MAJOR_AXIS_M / np.sqrt(1.0 - ECCENTRICITY_SQUARED * np.sin(lat) ** 2)
    return RADIAN_DEG * np.tan(lat) / across_m
