"""Grids of the EPSG dataset: the projected coordinate reference system of any national or local grid, by its code.

A grid stands on a datum of its own, and everything here is on that datum: latitudes and longitudes are its own, and
longitudes count from its own prime meridian (that of Paris, say), east positive. The way to WGS 84 is `datum_shift`.
Coordinates are in metres, easting and northing, whatever unit and order the dataset has for the grid.

A projection goes on far beyond the area that its grid is for, and gives numbers there that no sheet has: ask
`ProjectedGrid.contains` first.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from pyproj import Transformer
from pyproj.enums import TransformDirection

from ..angle import FloatArray, normalise_longitude, normalise_signed
from ..datums.datum import Datum, find_datum
from ..errors import OutOfRangeError, OutsideGridError, UnknownDatumError, UnknownGridError
from ..rows import BoolArray, as_rows, in_shape
from .epsg_projection import EpsgArea, read_projection
from .zones import check_places

__all__ = ["AREA_MARGIN_DEG", "FIRST_EPSG_CODE", "ProjectedGrid", "projected_grid"]

#: The lowest code that the EPSG dataset gives out. Whole numbers below it can name UTM zones.
FIRST_EPSG_CODE = 1024

#: How far beyond the box round its area a grid is used: sheets print it over the edge, as they do that of a UTM zone.
#: Common practice, no source. [degree]
AREA_MARGIN_DEG = 0.5

#: Grid coordinates that do not come back to themselves within this lie on no part of the projection. [metre]
_SAME_PLACE_M = 1.0

#: Step of the numerical derivatives: long against the rounding of the projection, short against its bends. [degree]
_STEP_DEG = 0.005
#: Weights of the derivative by differences over two steps either way; its error goes with the step's fourth power.
_STEPS, _WEIGHTS = np.array([-2.0, -1.0, 1.0, 2.0]), np.array([1.0, -8.0, 8.0, -1.0]) / 12.0

#: Grids kept ready. Each takes some tens of kilobytes, and there are several thousand.
_GRIDS_KEPT = 256


@dataclass(frozen=True, slots=True)
class ProjectedGrid:
    """One grid. Its functions take arrays that broadcast and give arrays of that shape, or numpy scalars."""

    #: Code of the projected CRS.
    epsg: int
    name: str
    datum: Datum
    area: EpsgArea
    #: The unit that the dataset has for its coordinates, and its length. [metre]
    unit_name: str
    unit_m: float
    #: Whether the dataset has the northing before the easting.
    northing_first: bool
    _projection: Transformer = field(repr=False, compare=False)
    #: The unit of latitude and longitude that the projection takes. [degree]
    _angle_unit_deg: float = field(repr=False, compare=False)

    @property
    def area_name(self) -> str:
        """The area that the grid is for, in words."""
        return self.area.name

    def to_grid(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Easting and northing of each place. [metre]

        Parameters
        ----------
        lat_deg, lon_deg : array_like
            On the grid's datum, the latitude in [-90, 90] and the longitude in [-180, 360). [degree]

        Raises
        ------
        OutOfRangeError
            Any latitude or longitude is out of range or NaN.
        OutsideGridError
            Any place has no image on the projection at all.
        """
        (lat, lon), shape = as_rows(lat_deg, lon_deg)
        check_places(lat, lon)
        easting_m, northing_m = self._forward(lat, lon)
        self._check(np.isfinite(easting_m) & np.isfinite(northing_m))
        return in_shape(easting_m, shape), in_shape(northing_m, shape)

    def from_grid(self, easting_m: ArrayLike, northing_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of grid coordinates on the grid's datum, the longitude in [-180, 180). [degree]

        Raises
        ------
        OutOfRangeError
            Any coordinate is infinite or NaN.
        OutsideGridError
            Any coordinates lie on no part of the projection.
        """
        (easting, northing), shape = as_rows(easting_m, northing_m)
        finite = np.isfinite(easting) & np.isfinite(northing)
        if not finite.all():
            raise OutOfRangeError(
                "a grid coordinate is no number", member="easting_m", allowed="finite numbers"
            )
        lon, lat = self._transformed(easting / self.unit_m, northing / self.unit_m, back=True)
        lat, lon = lat * self._angle_unit_deg, lon * self._angle_unit_deg
        # The inverse goes round the earth more than once, and answers far-off coordinates with a place that has others.
        there_easting_m, there_northing_m = self._forward(lat, lon)
        self._check(np.hypot(there_easting_m - easting, there_northing_m - northing) <= _SAME_PLACE_M)
        return in_shape(lat, shape), in_shape(normalise_longitude(lon), shape)

    def convergence_and_scale(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Convergence and point scale factor at each place.

        Parameters and errors are those of `to_grid`.

        Returns
        -------
        convergence_deg, scale : ndarray of the broadcast shape
            The convergence is from true north to grid north, east positive, in (-180, 180]. [degree] At a pole it is that
            of the longitude given. Both are those of the meridian: on a grid that keeps angles, as sheets for use on foot
            do, of every direction; on another, `largest_angle_error_deg` says how far others are off.
        """
        (lat, lon), shape = as_rows(lat_deg, lon_deg)
        check_places(lat, lon)
        east, north = self._meridian(lat, lon)
        convergence_deg = normalise_signed(-np.degrees(np.arctan2(east, north)))
        return in_shape(convergence_deg + 0.0, shape), in_shape(np.hypot(east, north), shape)

    def contains(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> BoolArray:
        """Whether each place of the grid's datum lies in the box round the area of the grid, or within
        `AREA_MARGIN_DEG` of it. NaN does not.
        """
        (lat, lon), shape = as_rows(lat_deg, lon_deg)
        inside = self.area.contains(lat, lon + self.datum.prime_meridian_deg, AREA_MARGIN_DEG)
        return in_shape(inside, shape)

    def largest_angle_error_deg(self) -> float:
        """The most that an angle measured on the grid is off, of 25 places over its area. [degree]

        Some millionths on a grid that keeps angles, a few hundredths on old grids of small countries by Cassini's
        projection, whole degrees on maps of continents that keep areas.

        Source: J. P. Snyder, "Map Projections: A Working Manual", USGS Professional Paper 1395, 1987, eq. (4-9).
        """
        lat, lon = self.area.sample()
        lon = normalise_longitude(lon - self.datum.prime_meridian_deg)
        east, north = self._meridian(lat, lon)
        parallel_east, parallel_north = self._parallel(lat, lon)
        # Where angles are kept, the parallel is the meridian turned by a quarter, and the first of these is nothing.
        difference = np.hypot(parallel_east - north, parallel_north + east)
        total = np.hypot(parallel_east + north, parallel_north - east)
        return float(np.degrees(2.0 * np.arcsin(difference / total)).max())

    def _meridian(self, lat: FloatArray, lon: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What one metre northward on the ground is on the grid. [metre]"""
        most_deg = 90.0 - 2.0 * _STEP_DEG
        lat = np.clip(lat, -most_deg, most_deg)
        east, north = self._derivative(
            lat[:, None] + _STEPS * _STEP_DEG, np.broadcast_to(lon[:, None], (len(lon), 4))
        )
        ellipsoid = self.datum.ellipsoid
        slimming = 1.0 - ellipsoid.eccentricity_squared * np.sin(np.radians(lat)) ** 2
        radius_m = ellipsoid.semi_major_axis_m * (1.0 - ellipsoid.eccentricity_squared) / slimming**1.5
        return east / radius_m, north / radius_m

    def _parallel(self, lat: FloatArray, lon: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What one metre eastward on the ground is on the grid. [metre]"""
        east, north = self._derivative(
            np.broadcast_to(lat[:, None], (len(lat), 4)), lon[:, None] + _STEPS * _STEP_DEG
        )
        ellipsoid = self.datum.ellipsoid
        slimming = 1.0 - ellipsoid.eccentricity_squared * np.sin(np.radians(lat)) ** 2
        radius_m = ellipsoid.semi_major_axis_m / np.sqrt(slimming) * np.cos(np.radians(lat))
        return east / radius_m, north / radius_m

    def _derivative(self, lat: FloatArray, lon: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Change of easting and northing along rows of four places, a step apart but for the middle. [metre a radian]"""
        easting_m, northing_m = self._forward(lat.reshape(-1), lon.reshape(-1))
        self._check(np.isfinite(easting_m) & np.isfinite(northing_m))
        weights = _WEIGHTS / np.radians(_STEP_DEG)
        return easting_m.reshape(-1, 4) @ weights, northing_m.reshape(-1, 4) @ weights

    def _forward(self, lat: FloatArray, lon: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Easting and northing of rows, infinite where there are none. [metre]"""
        easting, northing = self._transformed(lon / self._angle_unit_deg, lat / self._angle_unit_deg)
        return easting * self.unit_m, northing * self.unit_m

    def _transformed(
        self, first: FloatArray, second: FloatArray, *, back: bool = False
    ) -> tuple[FloatArray, FloatArray]:
        direction = TransformDirection.INVERSE if back else TransformDirection.FORWARD
        if first.shape == (1,):
            # The library would take an array of one for a number, by a conversion that numpy has deprecated.
            one, other = self._projection.transform(first.item(), second.item(), direction=direction)
            return np.array([one]), np.array([other])
        one, other = self._projection.transform(first, second, direction=direction)
        return one, other

    def _check(self, on_the_projection: BoolArray) -> None:
        if not on_the_projection.all():
            raise OutsideGridError(
                f"the place lies outside all that {self.name} can show", allowed=f"places in {self.area_name}"
            )


@lru_cache(maxsize=_GRIDS_KEPT)
def projected_grid(epsg: int) -> ProjectedGrid:
    """The grid of a projected CRS of the EPSG dataset, by its code.

    Codes that the dataset has deprecated are read too, where their datum is still one: old sheets do not change.

    Raises
    ------
    UnknownGridError
        The code is none of the dataset, or not that of a projected CRS; or its axes do not point east and north, or what it
        stands for cannot be computed here.
    """
    projection = read_projection(epsg)
    try:
        datum = find_datum(str(projection.geographic_epsg))
    except UnknownDatumError as error:
        message = f"EPSG:{epsg}, {projection.name}, stands on a datum that the dataset has withdrawn"
        raise UnknownGridError(message, member="epsg", value=epsg) from error
    return ProjectedGrid(
        epsg=epsg,
        name=projection.name,
        datum=datum,
        area=projection.area,
        unit_name=projection.unit_name,
        unit_m=projection.unit_m,
        northing_first=projection.northing_first,
        _projection=projection.transformer,
        _angle_unit_deg=projection.angle_unit_deg,
    )
