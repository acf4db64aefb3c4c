"""The sky against PyEphem: VSOP87 and the moon of M. Chapront-Touze and J. Chapront, other theories and other code.

The tolerances are the two theories' own errors. Of the moon they hold a second cause: time. The two libraries foretell the
earth's turning up to 2049 otherwise, by up to 25 s, in which the moon moves by 0.004 degree.
"""

import math

import ephem
import numpy as np
import pytest

from threenorths_service.navmath.skies.sky_body import BODIES, geocentric_vectors, to_intermediate
from threenorths_service.navmath.skies.sky_horizon import Observers, horizontal
from threenorths_service.navmath.skies.sky_time import terrestrial_days, universal_days

COUNT = 2000
TOLERANCE_DEG = {"sun": 0.001, "moon": 0.008, "polaris": 0.0005}
EPHEM_DAY_ZERO = np.datetime64("1899-12-31T12:00:00.000")

random = np.random.default_rng(1950)
MOMENTS = np.datetime64("1950-01-01T00:00:00.000") + random.integers(0, 36_524 * 86_400_000, COUNT).astype(
    "timedelta64[ms]"
)
LAT = np.degrees(np.arcsin(random.uniform(-1, 1, COUNT)))
LON = random.uniform(-180, 180, COUNT)
LAT[:40] = np.repeat([90.0, -90.0], 20)
LON[40:80] = np.repeat([180.0, -180.0], 20)
POLARIS = "Polaris,f|S|F7,2:31:49.09|44.48,89:15:50.8|-11.85,1.98,2000"


def by_library(body):
    observer, azimuth, altitude = ephem.Observer(), np.empty(COUNT), np.empty(COUNT)
    observer.pressure, observer.elevation = 0, 0
    target = {"sun": ephem.Sun, "moon": ephem.Moon, "polaris": lambda: ephem.readdb(POLARIS)}[body]()
    for index in range(COUNT):
        observer.lat, observer.lon = math.radians(LAT[index]), math.radians(LON[index])
        observer.date = (MOMENTS[index] - EPHEM_DAY_ZERO) / np.timedelta64(1, "D")
        target.compute(observer)
        azimuth[index], altitude[index] = math.degrees(target.az), math.degrees(target.alt)
    return azimuth, altitude


@pytest.mark.parametrize("body", BODIES)
def test_directions_agree_with_the_second_library(body):
    azimuth, altitude = by_library(body)
    universal = universal_days(MOMENTS)
    terrestrial = terrestrial_days(universal)
    vectors = to_intermediate(geocentric_vectors(body, terrestrial), terrestrial)
    found = horizontal(vectors, Observers(universal, LAT, LON, np.zeros(COUNT)))
    turned = (found.true_azimuth_deg - azimuth + 180) % 360 - 180
    across = np.abs(turned) * np.cos(np.radians(altitude))
    assert across.max() < TOLERANCE_DEG[body]
    assert np.abs(found.true_altitude_deg - altitude).max() < TOLERANCE_DEG[body]
