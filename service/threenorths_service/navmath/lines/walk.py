"""The legs of a walk laid off on the ellipsoid, each from the place that the one before it ended at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_signed
from ..directions.bearing import back_azimuth
from ..errors import OutOfRangeError, OutsideGridError
from ..magnetism.magnetic import declination_at
from .leg import Leg
from .ray import Ray, ray_from

__all__ = ["Walk", "lay_off"]

#: The leg of a back bearing is turned until it is seen from its end within this of what was read. [degree]
SETTLED_DEG = 1e-10
MOST_TURNS = 20


@dataclass(frozen=True, slots=True)
class Walk:
    """The n + 1 places of a walk, its start first, and its n legs.

    ``lat_deg``, ``lon_deg`` of the places. ``azimuth_deg`` of each leg from true north at its start, and
    ``back_azimuth_deg`` at its end, back. ``turned_deg``, by how much azimuths from true north at each place are greater
    than on a plane that is rolled along the walk from its start, where they are the same. [degree]
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    azimuth_deg: FloatArray
    back_azimuth_deg: FloatArray
    turned_deg: FloatArray

    @property
    def plane_azimuth_deg(self) -> FloatArray:
        """Azimuths of the legs on the plane of the walk, shape (n,). [degree]"""
        return self.azimuth_deg - self.turned_deg[:-1]


def lay_off(
    lat_deg: float, lon_deg: float, legs: Sequence[Leg], decimal_year: float | None, zone: int, south: bool
) -> Walk:
    """The walk from a start, longitude in [-180, 180) [degree], with the grid of all grid legs.

    Raises
    ------
    OutsideGridError
        A grid leg begins or ends beyond the reach of its grid.
    OutOfRangeError
        No direction of a leg fits its back bearing, so near a pole.
    DateMissingError, DateOutsideModelError
        As for `ray.ray_from`.
    """
    lats, lons, rays = [lat_deg], [lon_deg], []
    for index, leg in enumerate(legs):
        ray = _ray_of(lats[-1], lons[-1], leg, decimal_year, zone, south, f"legs/{index}")
        if not ray.grid_reached:
            raise OutsideGridError(
                f"legs/{index} begins or ends beyond the reach of the grid that its bearing is from",
                member=f"legs/{index}",
                value=leg.bearing_deg,
                allowed="grid bearings of the map in hand, or true or magnetic ones",
            )
        lats.append(float(ray.lat_deg))
        lons.append(float(ray.lon_deg))
        rays.append(ray)
    azimuth_deg = np.array([ray.true_azimuth_deg for ray in rays])
    back_deg = np.array([ray.true_back_azimuth_deg for ray in rays])
    turns_deg = normalise_signed(back_azimuth(back_deg) - azimuth_deg)
    return Walk(np.array(lats), np.array(lons), azimuth_deg, back_deg, np.append(0.0, np.cumsum(turns_deg)))


def _ray_of(
    lat_deg: float,
    lon_deg: float,
    leg: Leg,
    decimal_year: float | None,
    zone: int,
    south: bool,
    member: str,
) -> Ray:
    """One leg; that of a back bearing is turned until, seen from its end, it has the bearing that was read."""
    azimuth_deg = float(back_azimuth(leg.bearing_deg)) if leg.back else leg.bearing_deg
    for _ in range(MOST_TURNS):
        ray = ray_from(lat_deg, lon_deg, azimuth_deg, leg.north, leg.length_m, decimal_year, zone, south)
        if not leg.back or leg.north == "grid":
            return ray  # A grid leg is straight on the map: its back azimuth is just opposite.
        seen_deg = ray.true_back_azimuth_deg
        if leg.north == "magnetic" and decimal_year is not None:
            seen_deg = seen_deg - declination_at(ray.lat_deg, ray.lon_deg, decimal_year)
        miss_deg = float(normalise_signed(leg.bearing_deg - seen_deg))
        if abs(miss_deg) < SETTLED_DEG:
            return ray
        azimuth_deg += miss_deg
    raise OutOfRangeError(
        f"so near a pole no direction of {member} settles on its back bearing",
        member=f"{member}/bearing_deg",
        value=leg.bearing_deg,
        allowed="a bearing taken at the start of the leg",
    )
