"""Map sheets: what the margin says of the grid, the datum, the edges and the angles between the norths.

A sheet's edges follow from its corners. Corners given by latitude and longitude are joined straight in these, as meridians
and parallels are; corners given on the grid are joined straight on the grid. Two corners, south-west and north-east, tell
the other two.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from ..angle import FloatArray, normalise_longitude
from ..datums.datum import WGS84, Datum
from ..datums.frame import Frame
from ..errors import InconsistentSheetError, NavigationError
from ..grids.datum_grid import DatumGrid
from ..grids.grid import check_ups, check_utm
from ..grids.projected_grid import FIRST_EPSG_CODE, projected_grid
from ..grids.zones import check_places
from ..rows import BoolArray
from .outline import Outline, along_graticule, along_grid
from .sheet_corners import CORNER_NAMES, Corner, all_four, check_order, corners_in_order, geodetic, on_grid

__all__ = ["CORNER_NAMES", "Corner", "Sheet"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A map sheet; ``None`` and empty for what is not known of it. Angles are degrees, east positive.

    ``grid_zone`` is 0 for UPS, 1 to 60 for UTM, or the EPSG code of a projected coordinate reference system, which must be
    on ``datum``. ``squares`` are the letters of the 100 km squares that the sheet names. Corners are put on by
    `with_corners`, which also makes the outline, on WGS 84, or tells in ``fault`` why there is none.
    """

    name: str | None = None
    number: str | None = None
    scale: float | None = None
    datum: Datum = WGS84
    grid_zone: int | None = None
    grid_south: bool = False
    squares: tuple[str, ...] = ()
    contour_interval_m: float | None = None
    grid_magnetic_angle_deg: float | None = None
    declination_deg: float | None = None
    convergence_deg: float | None = None
    year: float | None = None
    annual_change_deg: float | None = None
    corners: tuple[Corner, ...] = ()
    outline: Outline | None = None
    fault: NavigationError | None = None

    @property
    def has_edges(self) -> bool:
        """Whether it is known where the sheet ends."""
        return self.outline is not None

    @property
    def edges(self) -> Outline:
        """The outline, which everything below needs.

        Raises
        ------
        NavigationError
            There is none: the sheet's own ``fault``, or `InconsistentSheetError` where no corners were given.
        """
        if self.outline is None:
            raise self.fault or InconsistentSheetError(
                "the sheet has no edges", member="corners", allowed="two corners, or four"
            )
        return self.outline

    def contains(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> BoolArray:
        """Which places, on WGS 84, are on the sheet or its edge; as `Outline.contains`."""
        return self.edges.contains(lat_deg, lon_deg)

    def outside_m(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatArray:
        """How far places, on WGS 84, are from the sheet, 0 on it; as `Outline.outside_m`. [metre]"""
        return self.edges.outside_m(lat_deg, lon_deg)

    def middle(self) -> tuple[float, float]:
        """Latitude and longitude of the sheet's middle, on WGS 84. [degree]"""
        return self.edges.middle()

    @property
    def radius_m(self) -> float:
        """How far the farthest corner is from the middle. [metre]"""
        return self.edges.radius_m

    @property
    def prints_angle(self) -> bool:
        """Whether the margin ties magnetic north to another north."""
        return self.grid_magnetic_angle_deg is not None or self.declination_deg is not None

    @property
    def on_grid(self) -> bool:
        """Whether the corners were given on the grid, so that the edges are grid lines."""
        return bool(self.corners) and all(corner.easting_m is not None for corner in self.corners)

    @property
    def corner_places(self) -> FloatArray:
        """Latitudes and longitudes of the corners on the sheet's datum, shape (4, 2). [degree] Needs edges."""
        return np.array([geodetic(corner) for corner in self.corners])

    @property
    def wgs84_corner_places(self) -> FloatArray:
        """Latitudes and longitudes of the corners on WGS 84, shape (4, 2). [degree] Needs edges."""
        places = [(corner.wgs84_lat_deg, corner.wgs84_lon_deg) for corner in self.corners]
        return np.array(places, dtype=np.float64)

    @property
    def grid(self) -> DatumGrid | None:
        """The grid that the sheet names, on its datum."""
        return None if self.grid_zone is None else DatumGrid(self.grid_zone, self.grid_south, self.datum)

    @property
    def reaching_grid(self) -> DatumGrid | None:
        """The grid that the sheet names, if it reaches all the corners. Needs edges."""
        grid = self.grid
        return grid if grid is not None and grid.reaches(*self.corner_places.T).all() else None

    @property
    def corner_grid_places(self) -> FloatArray | None:
        """Eastings and northings of the corners, shape (4, 2), on the `reaching_grid`. [metre] Needs edges."""
        grid = self.reaching_grid
        if grid is None:
            return None
        if self.on_grid:
            return np.array([on_grid(corner) for corner in self.corners])
        return np.column_stack(grid.to_grid(*self.corner_places.T))

    def with_corners(self, corners: Iterable[Corner], *, allow_ballpark: bool = False) -> Sheet:
        """The sheet with its corners: the south-west and the north-east one, or all four.

        What the corners themselves have wrong does not raise: the sheet then has no outline, and a ``fault``.
        ``allow_ballpark`` is as in `Frame`.

        Raises
        ------
        InconsistentSheetError
            Others than these corners were given, or not all of them in one way, or on a grid that is not known.
        """
        given = corners_in_order(corners)
        if self.grid_zone is None and given[0].easting_m is not None:
            raise InconsistentSheetError(
                "the corners are given on a grid that is not named", member="grid", allowed="the sheet's grid"
            )
        frame = Frame(self.datum, allow_ballpark)
        try:
            self._check_datum()
            complete = tuple(self._placed(corner, frame) for corner in all_four(given))
            check_order(complete)
            outline = self._outline(complete, frame)
        except NavigationError as fault:
            return replace(self, corners=given, outline=None, fault=fault)
        return replace(self, corners=complete, outline=outline, fault=None)

    def _check_datum(self) -> None:
        """Raise `InconsistentSheetError` where the grid stands on another datum than the sheet."""
        if self.grid_zone is None or self.grid_zone < FIRST_EPSG_CODE:
            return
        grid = projected_grid(self.grid_zone)
        if grid.datum.epsg != self.datum.epsg:
            raise InconsistentSheetError(
                f"{grid.name} stands on {grid.datum.name}, and the sheet on {self.datum.name}",
                member="datum",
                value=self.datum.name,
                allowed=grid.datum.name,
            )

    def _placed(self, corner: Corner, frame: Frame) -> Corner:
        """The corner with its latitude and longitude on the datum and on WGS 84."""
        try:
            lat, lon = self._lat_lon(corner)
        except NavigationError as error:
            raise error.within(f"corners/{corner.name}") from None
        wgs84_lat, wgs84_lon, _shift = frame.on_wgs84(lat, lon)
        return replace(
            corner,
            lat_deg=lat,
            lon_deg=lon,
            wgs84_lat_deg=wgs84_lat,
            wgs84_lon_deg=float(normalise_longitude(wgs84_lon)),
        )

    def _lat_lon(self, corner: Corner) -> tuple[float, float]:
        if corner.lat_deg is not None and corner.lon_deg is not None:
            check_places(np.array([corner.lat_deg]), np.array([corner.lon_deg]))
            return corner.lat_deg, corner.lon_deg
        easting, northing, zone = corner.easting_m, corner.northing_m, self.grid_zone
        assert easting is not None and northing is not None and zone is not None  # noqa: PT018, S101 - see `corners_in_order`
        if zone == 0:
            check_ups(self.grid_south, easting, northing)
        elif zone < FIRST_EPSG_CODE:
            check_utm(zone, self.grid_south, easting, northing)
        lat, lon = DatumGrid(zone, self.grid_south, self.datum).from_grid(easting, northing)
        return float(lat), float(lon)

    def _outline(self, corners: tuple[Corner, ...], frame: Frame) -> Outline:
        if self.grid_zone is None or corners[0].easting_m is None:
            return along_graticule([geodetic(corner) for corner in corners], frame)
        return along_grid(self.grid_zone, self.grid_south, [on_grid(corner) for corner in corners], frame)
