"""The corners of map sheets: which there are, how each is given, and whether they lie as they are named."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from ..angle import normalise_signed
from ..errors import InconsistentSheetError

__all__ = ["CORNER_NAMES", "Corner", "all_four", "check_order", "corners_in_order", "geodetic", "on_grid"]

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


def corners_in_order(corners: Iterable[Corner]) -> tuple[Corner, ...]:
    """The corners in the order of `CORNER_NAMES`: the south-west and the north-east one, or all four, given in one way.

    Raises `InconsistentSheetError` for any other.
    """
    given = tuple(sorted(corners, key=lambda corner: CORNER_NAMES.index(corner.name)))
    if tuple(corner.name for corner in given) not in (CORNER_NAMES, CORNER_NAMES[::2]):
        raise _wrong_corners("a sheet has its south-west and its north-east corner, or all four")
    by_angles = [None not in (corner.lat_deg, corner.lon_deg) for corner in given]
    by_grid = [None not in (corner.easting_m, corner.northing_m) for corner in given]
    if all(by_angles) == all(by_grid):
        raise _wrong_corners("the corners are not all given in one way")
    return given


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


def all_four(given: tuple[Corner, ...]) -> tuple[Corner, ...]:
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
        east, north = on_grid(corner)
        return east - on_grid(origin)[0], north
    lat, lon = geodetic(corner)
    return float(normalise_signed(lon - geodetic(origin)[1])), lat


def geodetic(corner: Corner) -> tuple[float, float]:
    """Latitude and longitude of a corner that was placed. [degree]"""
    assert corner.lat_deg is not None and corner.lon_deg is not None  # noqa: PT018, S101 - it was placed
    return corner.lat_deg, corner.lon_deg


def on_grid(corner: Corner) -> tuple[float, float]:
    """Easting and northing of a corner that was given on a grid. [metre]"""
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
