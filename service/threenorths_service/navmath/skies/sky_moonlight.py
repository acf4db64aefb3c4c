"""The moon's phase and the light it gives."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import erfa
import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth
from ..rows import IntArray, in_shape
from .sky_body import geocentric_vectors
from .sky_time import J2000_DAY, moments, terrestrial_days, universal_days

__all__ = ["PHASE_NAMES", "MoonPhase", "Moonlight", "moon_phase", "moonlight"]

#: By the angle from the sun round to the moon, in eighths of the circle that the four principal phases stand in the middle
#: of. These are named within half a day of their moment only: 6 degrees (common practice, no source).
PHASE_NAMES = (
    *("new moon", "waxing crescent", "first quarter", "waxing gibbous"),
    *("full moon", "waning gibbous", "last quarter", "waning crescent"),
)
_PRINCIPAL_WITHIN_DEG = 6.0


class Moonlight(IntEnum):
    """How far the moon lights open ground under a clear sky, in words: common practice, no source.

    NONE: it is down, under 5 degrees high, or less than a tenth of it is lit. FAINT: under 15 degrees, or less than four
    tenths. FAIR: under 30 degrees, or less than eight tenths. BRIGHT: higher and fuller than that. Half a moon gives about a
    tenth of the light of the full one. Cloud, trees and a slope that faces away take of it.
    """

    NONE = 0
    FAINT = 1
    FAIR = 2
    BRIGHT = 3


#: From these altitudes and lit fractions on the light is FAINT, FAIR, BRIGHT. [degree], [1]
_ALTITUDE_STEPS_DEG = np.array([5.0, 15.0, 30.0])
_FRACTION_STEPS = np.array([0.1, 0.4, 0.8])


@dataclass(frozen=True, slots=True)
class MoonPhase:
    """The phase at moments: arrays of one shape, or numpy scalars.

    ``illuminated_fraction`` of the disk in [0, 1]; ``elongation_deg`` in [0, 360), the ecliptic longitude of the moon less
    that of the sun: 0 new, 90 first quarter, 180 full; ``phase``, an index of `PHASE_NAMES`.
    """

    illuminated_fraction: FloatArray
    elongation_deg: FloatArray
    phase: IntArray


def moon_phase(moment: ArrayLike) -> MoonPhase:
    """The moon's phase as seen from the earth's centre; from a place on it the fraction differs by under 0.01.

    Raises
    ------
    OutOfRangeError
        A moment is before 1900 or after 2049.
    """
    given = moments(moment)
    terrestrial = terrestrial_days(universal_days(given.reshape(-1)))
    moon, sun = geocentric_vectors("moon", terrestrial), geocentric_vectors("sun", terrestrial)
    to_sun = sun - moon
    # The moon shows us the lit half as far as sun and earth stand on one side of it.
    cosine = -np.sum(to_sun * moon, axis=-1) / (
        np.linalg.norm(to_sun, axis=-1) * np.linalg.norm(moon, axis=-1)
    )
    elongation = normalise_azimuth(
        _ecliptic_longitude(moon, terrestrial) - _ecliptic_longitude(sun, terrestrial)
    )
    return MoonPhase(
        illuminated_fraction=in_shape((1.0 + cosine) / 2.0, given.shape),
        elongation_deg=in_shape(elongation, given.shape),
        phase=in_shape(_phase(elongation), given.shape),
    )


def moonlight(illuminated_fraction: ArrayLike, altitude_deg: ArrayLike) -> IntArray:
    """The light in words, values of `Moonlight`, by the lit fraction and the altitude, which broadcast."""
    by_height = np.searchsorted(_ALTITUDE_STEPS_DEG, altitude_deg, side="right")
    by_fraction = np.searchsorted(_FRACTION_STEPS, illuminated_fraction, side="right")
    return np.minimum(by_height, by_fraction)


def _ecliptic_longitude(vectors: FloatArray, terrestrial: FloatArray) -> FloatArray:
    """From the equinox of the date; of the difference alone use is made. [degree]"""
    turned = np.einsum("nij,nj->ni", erfa.ecm06(J2000_DAY, terrestrial), vectors)
    return np.asarray(np.degrees(np.arctan2(turned[:, 1], turned[:, 0])))


def _phase(elongation_deg: FloatArray) -> IntArray:
    quarter = np.floor((elongation_deg + 45.0) / 90.0)
    past = elongation_deg - 90.0 * quarter
    eighth = 2.0 * quarter + np.where(np.abs(past) <= _PRINCIPAL_WITHIN_DEG, 0.0, np.sign(past))
    return np.asarray(eighth % len(PHASE_NAMES), dtype=np.int64)
