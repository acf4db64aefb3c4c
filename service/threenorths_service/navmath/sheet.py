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

from .angle import FloatArray, normalise_longitude, normalise_signed
from .datum import WGS84, Datum
from .errors import InconsistentSheetError, NavigationError
from .frame import Frame
from .grid import check_ups, check_utm, from_grid
from .outline import Outline, along_graticule, along_grid
from .rows import BoolArray
from .zones import check_places

__all__ = ["CORNER_NAMES", "Corner", "Sheet"]

#: In the order of an outline, counter-clockwise.
CORNER_NAMES = ("south_west", "south_east", "north_east", "north_west")


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of a sheet, given by latitude and longitude or on the sheet's grid; the sheet completes it.

    ``lat_deg`` and ``lon_deg`` are on the sheet's datum. Those on WGS 84 are ``None`` until the edges are known. [degree]
    """

    name: str
    lat_deg: float | None = None
    lon_deg: float | None = None
    #: Only of a corner that was given on the grid. [metre]
    easting_m: float | None = None
    northing_m: float | None = None
    wgs84_lat_deg: float | None = None
    wgs84_lon_deg: float | None = None


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

    def with_corners(self, corners: Iterable[Corner], *, allow_ballpark: bool = False) -> Sheet:
        """The sheet with its corners: the south-west and the north-east one, or all four.

        What the corners themselves have wrong does not raise: the sheet then has no outline, and a ``fault``.
        ``allow_ballpark`` is as in `Frame`.

        Raises
        ------
        InconsistentSheetError
            Others than these corners were given, or not all of them in one way, or on a grid that is not known.
        """
        given = self._in_order(corners)
        frame = Frame(self.datum, allow_ballpark)
        try:
            complete = tuple(self._placed(corner, frame) for corner in _four(given))
            check_order(complete)
            outline = self._outline(complete, frame)
        except NavigationError as fault:
            return replace(self, corners=given, outline=None, fault=fault)
        return replace(self, corners=complete, outline=outline, fault=None)

    def _in_order(self, corners: Iterable[Corner]) -> tuple[Corner, ...]:
        given = tuple(sorted(corners, key=lambda corner: CORNER_NAMES.index(corner.name)))
        if tuple(corner.name for corner in given) not in (CORNER_NAMES, CORNER_NAMES[::2]):
            raise _wrong_corners("a sheet has its south-west and its north-east corner, or all four")
        geodetic = all(None not in (corner.lat_deg, corner.lon_deg) for corner in given)
        on_grid = all(None not in (corner.easting_m, corner.northing_m) for corner in given)
        if geodetic == on_grid:
            raise _wrong_corners("the corners are not all given in one way")
        if on_grid and self.grid_zone is None:
            raise _wrong_corners("the corners are given on a grid that is not named")
        return given

    def _placed(self, corner: Corner, frame: Frame) -> Corner:
        """The corner with its latitude and longitude on the datum and on WGS 84."""
        try:
            lat, lon = self._lat_lon(corner)
            wgs84_lat, wgs84_lon, _shift = frame.on_wgs84(lat, lon)
        except NavigationError as error:
            raise error.within(f"corners/{corner.name}") from None
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
        assert easting is not None and northing is not None and zone is not None  # noqa: PT018, S101 - see _in_order
        if zone == 0:
            check_ups(self.grid_south, easting, northing)
        elif zone <= 60:
            check_utm(zone, self.grid_south, easting, northing)
        lat, lon = from_grid(zone, self.grid_south, easting, northing, ellipsoid=self.datum.ellipsoid)
        return float(lat), float(lon)

    def _outline(self, corners: tuple[Corner, ...], frame: Frame) -> Outline:
        if self.grid_zone is None or corners[0].easting_m is None:
            return along_graticule([_geodetic(corner) for corner in corners], frame)
        return along_grid(self.grid_zone, self.grid_south, [_on_grid(corner) for corner in corners], frame)


def check_order(corners: tuple[Corner, ...]) -> None:
    """Raise `InconsistentSheetError` unless the four corners lie as their names say, with no corner turned in."""
    places = np.array([_plane(corner, corners[0]) for corner in corners])
    south_west, south_east, north_east, north_west = places
    orders = (
        ("south_west", "west", "south_east", south_east[0] - south_west[0]),
        ("north_west", "west", "north_east", north_east[0] - north_west[0]),
        ("south_west", "south", "north_west", north_west[1] - south_west[1]),
        ("south_east", "south", "north_east", north_east[1] - south_east[1]),
    )
    for one, side, other, difference in orders:
        if not difference > 0.0:
            message = f"the {_words(one)} corner is not {side} of the {_words(other)} corner"
            raise InconsistentSheetError(
                message, member=f"corners/{one}", allowed="corners that lie as named"
            )
    sides = np.roll(places, -1, axis=0) - places
    turns = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
    if not np.all(turns > 0.0):
        name = corners[(int(np.argmin(turns)) + 1) % 4].name
        message = f"the edges of the sheet turn inward at its {_words(name)} corner"
        raise InconsistentSheetError(
            message, member=f"corners/{name}", allowed="four corners bulging outward"
        )


def _four(given: tuple[Corner, ...]) -> tuple[Corner, ...]:
    """All four corners, from the south-west and the north-east one if these are alone."""
    if len(given) == 4:
        return given
    south_west, north_east = given
    south_east = replace(
        south_west, name="south_east", lon_deg=north_east.lon_deg, easting_m=north_east.easting_m
    )
    north_west = replace(
        north_east, name="north_west", lon_deg=south_west.lon_deg, easting_m=south_west.easting_m
    )
    return south_west, south_east, north_east, north_west


def _plane(corner: Corner, origin: Corner) -> tuple[float, float]:
    """East and north of a corner from the origin: metres on the grid, or degrees."""
    if corner.easting_m is not None:
        east, north = _on_grid(corner)
        return east - _on_grid(origin)[0], north
    lat, lon = _geodetic(corner)
    return float(normalise_signed(lon - _geodetic(origin)[1])), lat


def _geodetic(corner: Corner) -> tuple[float, float]:
    assert corner.lat_deg is not None and corner.lon_deg is not None  # noqa: PT018, S101 - it was placed
    return corner.lat_deg, corner.lon_deg


def _on_grid(corner: Corner) -> tuple[float, float]:
    assert corner.easting_m is not None and corner.northing_m is not None  # noqa: PT018, S101 - it was given so
    return corner.easting_m, corner.northing_m


def _words(name: str) -> str:
    return name.replace("_", "-")


def _wrong_corners(message: str) -> InconsistentSheetError:
    return InconsistentSheetError(
        message,
        member="corners",
        allowed="south_west and north_east, or all four, each by lat_deg and lon_deg or by easting_m and northing_m",
    )
