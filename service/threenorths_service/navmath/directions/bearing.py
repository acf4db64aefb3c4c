"""Directions turned between true, grid and magnetic north.

All angles are degrees, east positive: declination D from true to magnetic north, convergence C from true to grid
north, grid-magnetic angle G from grid to magnetic north. They are tied by ``G = D - C`` (US Army TC 3-25.26, para
6-8 to 6-11, states the rule by the sign of G).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_azimuth, normalise_signed
from ..errors import AnglesMissingError, InconsistentAnglesError
from ..rows import BoolArray

__all__ = [
    "NORTHS",
    "OLD_SHEET_YEARS",
    "Azimuths",
    "NorthAngles",
    "angles_agree",
    "azimuths_from",
    "back_azimuth",
    "complete_angles",
    "printed_angle_at",
]

NORTHS = ("true", "grid", "magnetic")

#: A declination diagram older than this "may be unreliable": US Army TC 3-25.26, para 6-11.
OLD_SHEET_YEARS = 20.0

#: Three angles given together agree when G is within this of D - C. Sheets print to half a degree or a minute.
AGREEMENT_DEG = 0.01

_NO_TURN = np.asarray(0.0)


@dataclass(frozen=True, slots=True)
class NorthAngles:
    """The angles between the norths at a place; ``None`` for what is not known. [degree], east positive."""

    declination_deg: FloatArray | None = None
    convergence_deg: FloatArray | None = None
    grid_magnetic_angle_deg: FloatArray | None = None


@dataclass(frozen=True, slots=True)
class Azimuths:
    """One direction from each north; ``None`` where the angles known do not reach. [degree], in [0, 360)."""

    true: FloatArray | None
    grid: FloatArray | None
    magnetic: FloatArray | None


def back_azimuth(azimuth_deg: ArrayLike) -> FloatArray:
    """The opposite direction, from the same north at the same place. [degree], in [0, 360)."""
    return normalise_azimuth(np.add(azimuth_deg, 180.0))


def complete_angles(
    declination_deg: ArrayLike | None = None,
    convergence_deg: ArrayLike | None = None,
    grid_magnetic_angle_deg: ArrayLike | None = None,
) -> NorthAngles:
    """The third of the angles between the norths from any two; one alone stays alone.

    Raises
    ------
    InconsistentAnglesError
        All three are given and differ from ``G = D - C`` by more than `AGREEMENT_DEG`.
    """
    declination, convergence, grid_magnetic = declination_deg, convergence_deg, grid_magnetic_angle_deg
    if declination is not None and convergence is not None:
        difference = normalise_signed(np.subtract(declination, convergence))
        if grid_magnetic is not None and not np.all(angles_agree(declination, convergence, grid_magnetic)):
            raise _disagreement(difference, grid_magnetic)
        grid_magnetic = difference
    elif grid_magnetic is not None and convergence is not None:
        declination = normalise_signed(np.add(grid_magnetic, convergence))
    elif grid_magnetic is not None and declination is not None:
        convergence = normalise_signed(np.subtract(declination, grid_magnetic))
    return NorthAngles(_signed(declination), _signed(convergence), _signed(grid_magnetic))


def angles_agree(
    declination_deg: ArrayLike, convergence_deg: ArrayLike, grid_magnetic_angle_deg: ArrayLike
) -> BoolArray:
    """Whether three angles given together are of one place: `complete_angles` refuses those that are not."""
    difference = normalise_signed(np.subtract(declination_deg, convergence_deg))
    agree: BoolArray = (
        np.abs(normalise_signed(np.subtract(difference, grid_magnetic_angle_deg))) <= AGREEMENT_DEG
    )
    return agree


def azimuths_from(azimuth_deg: ArrayLike, north: str, angles: NorthAngles) -> Azimuths:
    """A direction measured from ``north`` ("true", "grid" or "magnetic"), as measured from each north.

    Parameters
    ----------
    azimuth_deg : array_like
        Degrees clockwise from ``north``; broadcasts with the angles.
    angles : NorthAngles
        What is known; a north that it does not tie to ``north`` is answered ``None``.

    Raises
    ------
    AnglesMissingError
        Angles are known, but none of them ties ``north`` to another north.
    """
    declination, convergence = angles.declination_deg, angles.convergence_deg
    grid_magnetic = angles.grid_magnetic_angle_deg
    turns: dict[str, dict[str, FloatArray | None]] = {
        "true": {"true": _NO_TURN, "grid": _negative(convergence), "magnetic": _negative(declination)},
        "grid": {"true": convergence, "grid": _NO_TURN, "magnetic": _negative(grid_magnetic)},
        "magnetic": {"true": declination, "grid": grid_magnetic, "magnetic": _NO_TURN},
    }
    turned = {
        target: None if turn is None else normalise_azimuth(np.add(azimuth_deg, turn))
        for target, turn in turns[north].items()
    }
    known = any(angle is not None for angle in (declination, convergence, grid_magnetic))
    if known and sum(value is not None for value in turned.values()) == 1:
        raise AnglesMissingError(
            f"nothing given ties {north} north to another north",
            allowed="a position and a date, or the angles, or a sheet",
        )
    return Azimuths(**turned)


def printed_angle_at(
    printed_angle_deg: ArrayLike,
    printed_year: ArrayLike,
    annual_change_deg: ArrayLike,
    decimal_year: ArrayLike,
) -> FloatArray:
    """A sheet's printed angle carried to a date by the sheet's own annual change, east positive. [degree]"""
    return normalise_signed(
        np.add(printed_angle_deg, np.multiply(annual_change_deg, np.subtract(decimal_year, printed_year)))
    )


def _disagreement(difference_deg: FloatArray, grid_magnetic_angle_deg: ArrayLike) -> InconsistentAnglesError:
    return InconsistentAnglesError(
        f"declination less convergence is {float(np.ravel(difference_deg)[0]):g} degrees, "
        f"not the grid-magnetic angle given",
        member="grid_magnetic_angle_deg",
        value=float(np.ravel(grid_magnetic_angle_deg)[0]),
        allowed=f"declination less convergence, to within {AGREEMENT_DEG} degree",
    )


def _signed(angle_deg: ArrayLike | None) -> FloatArray | None:
    return None if angle_deg is None else normalise_signed(angle_deg)


def _negative(value: FloatArray | None) -> FloatArray | None:
    return None if value is None else np.negative(value)
