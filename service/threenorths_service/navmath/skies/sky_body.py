"""Where the sun, the moon and Polaris are, seen from the middle of the earth.

Positions are from the theories of the IAU's SOFA collection, through the library ERFA: the earth of J.-L. Simon and
others (VSOP2000, `epv00`), the moon of J. Meeus, "Astronomical Algorithms", chapter 47 (`moon98`), precession and nutation
IAU 2000B (`c2i00b`). Nothing is read from a file.
"""

from __future__ import annotations

import erfa
import numpy as np

from ..angle import FloatArray
from .sky_time import J2000_DAY

__all__ = ["BODIES", "RADIUS_M", "geocentric_vectors", "to_intermediate"]

BODIES = ("sun", "moon", "polaris")

#: Mean radius of the disk: the IAU's nominal solar radius (resolution B3, 2015); the moon's mean radius (from memory).
#: A star has no disk. [metre]
RADIUS_M = {"sun": 695_700_000.0, "moon": 1_737_400.0, "polaris": 0.0}

#: Polaris (HIP 11767), ICRS, epoch 2000.0: F. van Leeuwen, "Validation of the new Hipparcos reduction", Astronomy and
#: Astrophysics 474, 2007, doi:10.1051/0004-6361:20078357, as encyclopedias print it: 02 31 49.09, +89 15 50.8, +44.48 and
#: -11.85 mas a year, parallax 7.54 mas, -17 km/s. Its companion moves it by under 0.2 arc second.
_POLARIS_RIGHT_ASCENSION_RAD = np.radians(15.0 * (2.0 + 31.0 / 60.0 + 49.09 / 3600.0))
_POLARIS_DECLINATION_RAD = np.radians(89.0 + 15.0 / 60.0 + 50.8 / 3600.0)
_MAS_RAD = np.radians(1.0 / 3_600_000.0)
_POLARIS_EAST_RAD_PER_YEAR = 44.48 * _MAS_RAD / np.cos(_POLARIS_DECLINATION_RAD)
_POLARIS_NORTH_RAD_PER_YEAR = -11.85 * _MAS_RAD
_POLARIS_PARALLAX_ARCSEC = 0.00754
_POLARIS_KM_PER_S = -17.0

_AU_M = float(erfa.DAU)
_LIGHT_M_PER_S = float(erfa.CMPS)
_S_PER_DAY = 86_400.0
_DAYS_PER_YEAR = 365.25


def geocentric_vectors(body: str, terrestrial: FloatArray) -> FloatArray:
    """Apparent vectors from the earth's centre in the directions of the ICRS, shape (n, 3). [metre]

    Parameters
    ----------
    body : str
        One of `BODIES`.
    terrestrial : array, shape (n,)
        Days of terrestrial time since `sky_time.J2000_DAY`.

    Notes
    -----
    Aberration is in, which for the sun is the way of its light as well. Left out are the sun's bending of light, under 2 arc
    seconds, and the 1.3 s that light takes from the moon, 0.7 arc second: its theory is good to 10.
    """
    if body == "moon":
        # It goes round the sun with the earth, so there is no aberration.
        return np.asarray(erfa.moon98(J2000_DAY, terrestrial)["p"] * _AU_M)
    heliocentric, barycentric = erfa.epv00(J2000_DAY, terrestrial)
    to_sun = -heliocentric["p"]
    sun_au = np.linalg.norm(to_sun, axis=-1)
    if body == "sun":
        direction, distance_m = to_sun / sun_au[:, None], sun_au * _AU_M
    else:
        direction = _polaris(terrestrial, barycentric["p"])
        distance_m = np.full_like(sun_au, _AU_M / np.radians(_POLARIS_PARALLAX_ARCSEC / 3600.0))
    velocity = barycentric["v"] * (_AU_M / _S_PER_DAY / _LIGHT_M_PER_S)
    slowness = np.sqrt(1.0 - np.sum(velocity**2, axis=-1))
    return np.asarray(erfa.ab(direction, velocity, sun_au, slowness) * distance_m[:, None])


def to_intermediate(vectors: FloatArray, terrestrial: FloatArray) -> FloatArray:
    """The vectors turned to the true equator of their date and the celestial intermediate origin, shape (n, 3).

    From there the earth rotation angle leads on to the meridian of a place.
    """
    return np.asarray(np.einsum("nij,nj->ni", erfa.c2i00b(J2000_DAY, terrestrial), vectors))


def _polaris(terrestrial: FloatArray, earth_au: FloatArray) -> FloatArray:
    return np.asarray(
        erfa.pmpx(
            _POLARIS_RIGHT_ASCENSION_RAD,
            _POLARIS_DECLINATION_RAD,
            _POLARIS_EAST_RAD_PER_YEAR,
            _POLARIS_NORTH_RAD_PER_YEAR,
            _POLARIS_PARALLAX_ARCSEC,
            _POLARIS_KM_PER_S,
            terrestrial / _DAYS_PER_YEAR,
            earth_au,
        )
    )
