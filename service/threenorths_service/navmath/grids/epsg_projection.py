"""What the EPSG dataset says of a projected coordinate reference system, and which of them are grids to work on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError, ProjError

from ..angle import FloatArray
from ..errors import UnknownGridError
from ..rows import BoolArray

__all__ = ["EpsgArea", "EpsgProjection", "read_projection"]

_ALLOWED = "the code of a projected coordinate reference system of the EPSG dataset, such as 27700 or 32632"

#: Methods that the library takes for others: it leaves out this one's turn by 29", and is 745 m off in its published
#: example. `tests/navmath/test_projected_grid.py` will say when that is over.
_MISTAKEN_METHODS = frozenset({"Lambert Conic Conformal (2SP Belgium)"})


@dataclass(frozen=True, slots=True)
class EpsgArea:
    """The area that a coordinate reference system is for, and the box round it. [degree]

    Longitudes are from Greenwich. Where the box crosses the antimeridian, its west is greater than its east.
    """

    name: str
    south_deg: float
    west_deg: float
    north_deg: float
    east_deg: float

    @property
    def width_deg(self) -> float:
        """From the western edge to the eastern one. [degree]"""
        return self.east_deg - self.west_deg + (360.0 if self.east_deg < self.west_deg else 0.0)

    def contains(self, lat_deg: FloatArray, lon_deg: FloatArray, margin_deg: float) -> BoolArray:
        """Whether each place lies in the box or no further than the margin from it."""
        # NaN fails every comparison.
        with np.errstate(invalid="ignore"):
            from_edge_deg = (lon_deg - self.west_deg + margin_deg) % 360.0
        high_enough = lat_deg >= max(self.south_deg - margin_deg, -90.0)
        low_enough = lat_deg <= min(self.north_deg + margin_deg, 90.0)
        return high_enough & low_enough & (from_edge_deg <= self.width_deg + 2.0 * margin_deg)

    def sample(self) -> tuple[FloatArray, FloatArray]:
        """Latitudes and longitudes of 25 places spread over the inside of the box."""
        parts = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
        lat, lon = np.meshgrid(
            self.south_deg + parts * (self.north_deg - self.south_deg),
            self.west_deg + parts * self.width_deg,
        )
        return lat.ravel(), lon.ravel()


@dataclass(frozen=True, slots=True)
class EpsgProjection:
    """A projected CRS: from its geographic CRS to easting and northing, in the units that the dataset has."""

    name: str
    #: Code of the geographic CRS that it projects.
    geographic_epsg: int
    area: EpsgArea
    unit_name: str
    unit_m: float
    northing_first: bool
    #: From longitude and latitude to easting and northing, in that order.
    transformer: Transformer
    angle_unit_deg: float


def read_projection(epsg: int) -> EpsgProjection:
    """The projected CRS of a code.

    Raises
    ------
    UnknownGridError
        As for `projected_grid.projected_grid`.
    """
    system = _projected_system(epsg)
    _check_axes(epsg, system)
    base, area = system.geodetic_crs, system.area_of_use
    geographic_epsg = None if base is None else base.to_epsg()
    # The library gives an area without a box the bounds of -1000.
    if base is None or area is None or geographic_epsg is None or area.south < -90.0:
        raise _unknown(
            epsg, f"the dataset has no datum for EPSG:{epsg}, {system.name}, or no bounds of its area"
        )
    transformer = _transformer(epsg, base, system)
    unit = system.axis_info[0]
    return EpsgProjection(
        name=system.name,
        geographic_epsg=geographic_epsg,
        area=EpsgArea(area.name, area.south, area.west, area.north, area.east),
        unit_name=unit.unit_name,
        unit_m=unit.unit_conversion_factor,
        northing_first=unit.direction == "north" and system.axis_info[1].direction == "east",
        transformer=transformer,
        angle_unit_deg=float(np.degrees(base.axis_info[0].unit_conversion_factor)),
    )


def _transformer(epsg: int, base: CRS, system: CRS) -> Transformer:
    """Between a CRS and its own base there is the projection and nothing else."""
    cannot = _unknown(epsg, f"EPSG:{epsg}, {system.name}, cannot be computed here")
    if system.coordinate_operation is None or system.coordinate_operation.method_name in _MISTAKEN_METHODS:
        raise cannot
    try:
        return Transformer.from_crs(base, system, always_xy=True)
    except ProjError as error:
        raise cannot from error


def _projected_system(epsg: int) -> CRS:
    try:
        system = CRS.from_epsg(epsg)
    except CRSError as error:
        raise _unknown(epsg, f"the EPSG dataset has no coordinate reference system {epsg}") from error
    if system.type_name != "Projected CRS":
        raise _unknown(
            epsg, f"EPSG:{epsg}, {system.name}, is no grid of easting and northing: {system.type_name}"
        )
    if len(system.axis_info) != 2:
        raise _unknown(epsg, f"EPSG:{epsg}, {system.name}, has heights beside its easting and northing")
    return system


def _check_axes(epsg: int, system: CRS) -> None:
    """Refuse a grid whose numbers, read as east and north, would name another place.

    About a pole both axes point along a meridian, so the dataset calls both of them north, or south; as the library
    orders them, the second is the first turned by a quarter to the left, as a northing is from an easting.
    """
    directions = [axis.direction for axis in system.axis_info]
    about_pole = directions in (["north", "north"], ["south", "south"])
    if not about_pole and sorted(directions) != ["east", "north"]:
        raise _unknown(
            epsg,
            f"the axes of EPSG:{epsg}, {system.name}, point {' and '.join(directions)}, not east and north",
        )


def _unknown(epsg: int, message: str) -> UnknownGridError:
    return UnknownGridError(message, member="epsg", value=epsg, allowed=_ALLOWED)
