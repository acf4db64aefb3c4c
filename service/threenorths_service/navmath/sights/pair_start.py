"""Places to start from for pairs of sights, in rows: the same as those that one pair is started from."""

from __future__ import annotations

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..lines.geodesic import direct, inverse
from ..rows import BoolArray
from .crossing import LEAST_PARALLEL_DEG, geodetic_of, great_circles
from .pair_model import PairModel

__all__ = ["crossing_of_lines", "place_by_back_bearings", "surely_not_parallel"]

#: By so much more than it must at least, a crossing is surely no parallel.
SURELY = 1.0 + 1e-6


def crossing_of_lines(
    lat_deg: FloatArray, lon_deg: FloatArray, true_azimuth_deg: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Where two lines each cross, as `crossing.crossing_places` has it; arguments of shape (2, n), in degrees.

    Returns
    -------
    lat_deg, lon_deg, angle_deg : ndarray, shape (n,)
        The angle between the lines there is in [0, 90]; at nothing, the place means nothing.
    """
    place, normal = great_circles(lat_deg, lon_deg, true_azimuth_deg)
    crossing = np.cross(normal[0], normal[1])
    sine = np.linalg.norm(crossing, axis=1)
    backward = np.einsum("ij,ij->i", crossing, place[0] + place[1]) < 0.0
    cosine = np.einsum("ij,ij->i", normal[0], normal[1])
    toward = np.where(backward, -1.0, 1.0) / np.maximum(sine, np.finfo(np.float64).tiny)
    lat, lon = geodetic_of(crossing * toward[:, None])
    return lat, lon, np.degrees(np.arctan2(sine, np.abs(cosine)))


def surely_not_parallel(line_angle_deg: FloatArray, sd_deg: FloatArray) -> BoolArray:
    """Which rows `crossing.check_not_parallel` surely lets pass."""
    return np.asarray(
        line_angle_deg > SURELY * np.maximum(np.hypot(sd_deg[0], sd_deg[1]), LEAST_PARALLEL_DEG)
    )


def place_by_back_bearings(model: PairModel) -> tuple[FloatArray, FloatArray]:
    """Where the back bearings drawn from two marks cross, as `resection_start.places_by_back_bearings` has it."""
    table, north = model.table, model.north
    if north is None:
        raise ValueError("the readings were not made at the place sought")
    azimuth, _back, apart = inverse(table.lat_deg[0], table.lon_deg[0], table.lat_deg[1], table.lon_deg[1])
    lat, lon, _back = direct(table.lat_deg[0], table.lon_deg[0], azimuth, apart / 2.0)
    forward, back_azimuth, _distance = inverse(lat, lon, table.lat_deg, table.lon_deg)
    misread = normalise_signed(model.reading_deg - (forward - north.turn_deg(lat, lon)))
    return crossing_of_lines(table.lat_deg, table.lon_deg, back_azimuth + misread)[:2]
