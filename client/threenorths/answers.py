"""What the answers of several operations share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["AnglesUsed", "Azimuth", "Caution", "MagneticModel", "North", "Unit"]

#: What a direction is measured from. It is never guessed.
North = Literal["true", "grid", "magnetic"]

#: A magnetic model: the World Magnetic Model 2025, or the International Geomagnetic Reference Field, for old sheets.
MagneticModel = Literal["IGRF-14", "WMM2025"]

#: Division of the circle: 360 degrees, 6400 NATO mils, the 6300 and 6000 divisions, 400 gradians.
Unit = Literal["deg", "mil", "mil_6300", "mil_6000", "grad"]


@dataclass(frozen=True, slots=True)
class Caution:
    """What an answer cannot know well: a stable code, and a sentence."""

    code: str
    message: str


@dataclass(frozen=True, slots=True)
class AnglesUsed:
    """The angles between the norths that an answer used, east positive; ``None`` where one is not known. [degree]

    ``declination_deg`` is from true to magnetic north, ``convergence_deg`` from true to grid north, and
    ``grid_magnetic_angle_deg`` from grid to magnetic north. ``source`` is ``model``, ``given`` or ``sheet``.
    """

    declination_deg: float | None
    convergence_deg: float | None
    grid_magnetic_angle_deg: float | None
    source: str


@dataclass(frozen=True, slots=True)
class Azimuth:
    """One direction from one north in every notation, clockwise, never the full circle; with the opposite one."""

    azimuth_deg: float
    azimuth_mil: float
    azimuth_mil_6300: float
    azimuth_mil_6000: float
    azimuth_grad: float
    azimuth_dms: str
    azimuth_quadrant: str
    back_azimuth_deg: float
    back_azimuth_mil: float
