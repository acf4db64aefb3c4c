"""Places to start the adjustment of a resection from."""

from __future__ import annotations

from itertools import combinations, islice

import numpy as np

from ..angle import FloatArray
from ..lines.geodesic import direct, inverse
from .adjustment import Model
from .crossing import crossing_places
from .sight import SightTable

__all__ = ["places_all_around", "places_by_angles", "places_by_back_bearings"]

#: Groups of three marks that are tried beside all marks together.
MOST_TRIPLES = 20

#: Rings of places around marks, as multiples of the marks' spread, places on each ring, and marks that get rings.
RINGS = np.geomspace(0.02, 20.0, 12)
PLACES_ON_A_RING = 16
MOST_RINGED_MARKS = 4


def places_by_back_bearings(model: Model, table: SightTable) -> tuple[FloatArray, FloatArray]:
    """Crossings of the back bearings drawn from the marks, shape (k,). [degree]

    A back bearing is known only at the observer. Its direction at the mark is had by carrying it along the geodesic
    from the place supposed, the middle of the marks.
    """
    lat, lon, _spread = _middle(table)
    back_azimuth = inverse(lat, lon, table.lat_deg, table.lon_deg)[1]
    misread = model.reading_deg - model.predict(np.array([lat]), np.array([lon]))[0][0]
    return crossing_places(table.lat_deg, table.lon_deg, back_azimuth + misread)


def places_by_angles(model: Model, table: SightTable) -> tuple[FloatArray, FloatArray]:
    """Places from which the angles between the marks are those read, shape (k,). [degree]

    On a plane around the marks, sights to marks i and j that differ by the angle a put the observer x on a circle:
    ``sin(a) (m_i - x).(m_j - x) = cos(a) (m_i - x)x(m_j - x)``. This is linear in the three numbers ``x.x``, east and
    north of x, so three marks give them at once, and more by least squares. On the danger circle, where all the
    circles are one, the equations are singular and the least-norm answer is but a place to start from.
    """
    middle_lat, middle_lon, spread = _middle(table)
    azimuth, _back, distance = inverse(middle_lat, middle_lon, table.lat_deg, table.lon_deg)
    mark = distance / spread * np.exp(1j * np.radians(90.0 - azimuth))
    whole = tuple(range(len(mark)))
    groups = [whole, *islice(combinations(whole, 3), MOST_TRIPLES if len(whole) > 3 else 0)]
    places = np.array(
        [_place_by_angles(mark[list(group)], model.reading_deg[list(group)]) for group in groups]
    )
    lat, lon, _back = direct(
        middle_lat, middle_lon, 90.0 - np.degrees(np.angle(places)), spread * np.abs(places)
    )
    return lat, lon


def places_all_around(table: SightTable) -> tuple[FloatArray, FloatArray]:
    """Places on rings around the marks, shape (k,): for where north turns so fast that bearings cannot be carried."""
    spread = _middle(table)[2]
    azimuth = np.arange(PLACES_ON_A_RING) * (360.0 / PLACES_ON_A_RING)
    lat, lon, _back = direct(
        table.lat_deg[:MOST_RINGED_MARKS, None, None],
        table.lon_deg[:MOST_RINGED_MARKS, None, None],
        azimuth,
        spread * RINGS[:, None],
    )
    return lat.ravel(), lon.ravel()


def _middle(table: SightTable) -> tuple[float, float, float]:
    """The middle of the marks [degree] and the distance of the mark farthest from it [metre]."""
    azimuth, _back, distance = inverse(table.lat_deg[0], table.lon_deg[0], table.lat_deg, table.lon_deg)
    mean = complex(np.mean(distance * np.exp(1j * np.radians(azimuth))))
    lat, lon, _back = direct(table.lat_deg[0], table.lon_deg[0], np.degrees(np.angle(mean)), abs(mean))
    spread = inverse(lat, lon, table.lat_deg, table.lon_deg)[2]
    return float(lat), float(lon), float(np.max(spread))


def _place_by_angles(mark: FloatArray, reading_deg: FloatArray) -> complex:
    """East + i north of the place that sees the marks, of east + i north, under the readings' differences."""
    first, second = np.array(list(combinations(range(len(mark)), 2))).T
    angle = np.radians(reading_deg[second] - reading_deg[first])
    sine, cosine = np.sin(angle), np.cos(angle)
    total, difference = mark[first] + mark[second], mark[first] - mark[second]
    product = mark[first].conj() * mark[second]
    # In these axes (m_i - x)x(m_j - x) is counted clockwise, as azimuths are: minus the imaginary part.
    equations = np.stack(
        (sine, cosine * difference.imag - sine * total.real, -cosine * difference.real - sine * total.imag),
        axis=1,
    )
    constants = -sine * product.real - cosine * product.imag
    _square, east, north = np.linalg.lstsq(equations, constants, rcond=1e-10)[0]
    return complex(east, north)
