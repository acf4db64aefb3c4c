"""Sights: a bearing read between a known place and the place sought, with how far it is to be trusted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..angle import FloatArray, normalise_azimuth, normalise_longitude
from ..cautions import sight_name
from ..directions.bearing import NORTHS
from ..errors import (
    CoincidentPointsError,
    DateMissingError,
    OutOfRangeError,
    OutsideGridError,
    TooFewSightsError,
)
from ..grids.grid import convergence_and_scale, within_reach
from ..lines.geodesic import COINCIDENT_M, inverse
from ..magnetism.magnetic import declination_at

__all__ = [
    "DEFAULT_SD_DEG",
    "SD_RANGE_DEG",
    "Sight",
    "SightTable",
    "angle_from_true_north",
    "check_grid_reaches",
    "distinct_places",
    "table_of",
]

#: Standard deviation of one bearing taken with a hand-held sighting compass. Reading to the nearest degree (US Army
#: TC 3-25.26, para 6-8) leaves 0.29, and the unsteady hand and local iron about 1.5 (common practice, no source); their
#: root sum of squares is 1.5. The declination's own error is not in it: `fix_trust` adds that. [degree]
DEFAULT_SD_DEG = 1.5

#: Standard deviations that are accepted: from that of a surveyor's theodolite to that of a pointed arm. [degree]
SD_RANGE_DEG = (0.001, 45.0)


@dataclass(frozen=True, slots=True)
class Sight:
    """One sight. The known place is the observer of an intersection, the mark of a resection.

    ``lat_deg``, ``lon_deg`` of the known place; ``bearing_deg`` as read, clockwise from the north that the caller
    names beside the sights; ``sd_deg``, its standard deviation. [degree] ``place_sd_m``, the standard deviation of the
    known place to the north and to the east. [metre]
    """

    lat_deg: float
    lon_deg: float
    bearing_deg: float
    sd_deg: float = DEFAULT_SD_DEG
    place_sd_m: float = 0.0


@dataclass(frozen=True, slots=True)
class SightTable:
    """Checked sights as columns of shape (n,), named as in `Sight`; bearings in [0, 360)."""

    lat_deg: FloatArray
    lon_deg: FloatArray
    bearing_deg: FloatArray
    sd_deg: FloatArray


def table_of(sights: Sequence[Sight], needed: int) -> SightTable:
    """The sights as columns.

    Raises
    ------
    TooFewSightsError
        There are fewer than ``needed``.
    OutOfRangeError
        A number of a sight is not finite or out of its range; the member is such as ``sights/1/sd_deg``.
    """
    if len(sights) < needed:
        raise TooFewSightsError(
            f"{len(sights)} given where {needed} are needed",
            member="sights",
            value=len(sights),
            allowed=f"at least {needed} sights",
        )
    for index, sight in enumerate(sights):
        _check_sight(sight, f"sights/{index}")
    columns = np.array([(s.lat_deg, s.lon_deg, s.bearing_deg, s.sd_deg) for s in sights], dtype=np.float64).T
    return SightTable(columns[0], normalise_longitude(columns[1]), normalise_azimuth(columns[2]), columns[3])


def distinct_places(table: SightTable, needed: int) -> NDArray[np.bool_]:
    """Which pairs of sights are tied to two places, not to one; shape (n, n).

    Several sights from or to one place are welcome beside others.

    Raises
    ------
    CoincidentPointsError
        There are fewer than ``needed`` different places; it names two sights that share one.
    """
    distance = inverse(table.lat_deg[:, None], table.lon_deg[:, None], table.lat_deg, table.lon_deg)[2]
    apart = distance >= COINCIDENT_M
    shared = np.tril(~apart, -1)
    repeated = np.any(shared, axis=1)
    if np.count_nonzero(~repeated) < needed:
        later = int(np.flatnonzero(repeated)[0])
        earlier = int(np.flatnonzero(shared[later])[0])
        raise CoincidentPointsError(
            f"{sight_name(earlier)} and {sight_name(later)} are tied to the same place",
            member=f"sights/{later}",
            allowed=f"{needed} or more places at least {COINCIDENT_M} m apart",
            details={"sights": [earlier, later]},
        )
    return apart


def check_grid_reaches(table: SightTable, zone: ArrayLike, south: ArrayLike | None) -> None:
    """Raise `OutsideGridError`, naming the sight, for a known place beyond the reach of the grid that is given."""
    hemisphere = table.lat_deg < 0.0 if south is None else south
    beyond = np.flatnonzero(~within_reach(table.lat_deg, table.lon_deg, zone, hemisphere))
    if beyond.size:
        index = int(beyond[0])
        raise OutsideGridError(
            f"the place of {sight_name(index)} is beyond the reach of the grid that its bearing is said to be from",
            member=f"sights/{index}",
            value=int(np.broadcast_to(zone, table.lat_deg.shape)[index]),
            allowed="the grid that the bearing was read on",
        )


def angle_from_true_north(
    north: str,
    lat_deg: ArrayLike,
    lon_deg: ArrayLike,
    decimal_year: ArrayLike | None = None,
    zone: ArrayLike | None = None,
    south: ArrayLike | None = None,
) -> FloatArray:
    """The angle from true north to the named north at places, east positive. [degree]

    Parameters
    ----------
    north : str
        One of `NORTHS`.
    lat_deg, lon_deg : array_like
        The places, which broadcast. [degree]
    decimal_year : float, optional
        Needed for magnetic north.
    zone, south : array_like, optional
        The grid meant by grid north; by the zone rule at each place where none is given. Beyond the area of a national
        grid, its north at the nearest place in there.

    Raises
    ------
    DateMissingError
        Magnetic north is named without a date.
    """
    if north not in NORTHS:
        raise ValueError(f"north must be one of {NORTHS}, not {north!r}")
    if north == "true":
        return np.zeros(np.broadcast(lat_deg, lon_deg).shape)
    if north == "grid":
        return convergence_and_scale(lat_deg, lon_deg, zone, south, nearby=True)[0]
    if decimal_year is None:
        raise DateMissingError("magnetic bearings need a date", member="date", allowed="an ISO 8601 date")
    return declination_at(lat_deg, lon_deg, decimal_year)


def _check_sight(sight: Sight, member: str) -> None:
    least_sd, most_sd = SD_RANGE_DEG
    _check_range(sight.lat_deg, -90.0, 90.0, f"{member}/lat_deg")
    _check_range(sight.lon_deg, -180.0, 360.0, f"{member}/lon_deg")
    _check_range(sight.bearing_deg, -360.0, 360.0, f"{member}/bearing_deg")
    _check_range(sight.sd_deg, least_sd, most_sd, f"{member}/sd_deg")


def _check_range(value: float, least: float, most: float, member: str) -> None:
    if not (math.isfinite(value) and least <= value <= most):
        raise OutOfRangeError(
            f"{value} is outside [{least:g}, {most:g}]",
            member=member,
            value=value,
            allowed=f"a number in [{least:g}, {most:g}] degrees",
        )
