"""The map sheet of a request, from what its margin says to the edges it has."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ..navmath.datums.datum import WGS84, Datum, find_datum
from ..navmath.datums.frame import Frame
from ..navmath.errors import InconsistentSheetError, NavigationError, UnreadablePositionError
from ..navmath.grids.projected_grid import projected_grid
from ..navmath.sheets.sheet import CORNER_NAMES, Corner, Sheet
from ..navmath.texts.position_text import WGS84_MARK, read_position_text

__all__ = ["sheet_of", "usable_sheet_of"]

_PLAIN_MEMBERS = (
    "name",
    "number",
    "scale",
    "contour_interval_m",
    "grid_magnetic_angle_deg",
    "declination_deg",
    "convergence_deg",
    "year",
    "annual_change_deg",
)
#: A grid as `Sheet` has it: its zone, or its EPSG code, and whether it is of the southern hemisphere.
_SheetGrid = tuple[int, bool]


def usable_sheet_of(given: dict[str, Any], allow_ballpark: bool) -> Sheet:
    """The sheet, for places to be read on; errors, also of its corners, are under ``sheet``."""
    sheet = sheet_of(given, allow_ballpark)
    if sheet.fault is not None:
        raise sheet.fault.within("sheet")
    return sheet


def sheet_of(given: dict[str, Any], allow_ballpark: bool) -> Sheet:
    """The sheet that a loaded `request_schemas.SheetRequestSchema` describes; what its corners have wrong is in its `fault`.

    Raises
    ------
    NavigationError
        The datum, the grid or a corner names nothing that is known, or these contradict each other; under ``sheet``.
    """
    try:
        grid = _grid(given["grid"]) if "grid" in given else None
        datum = _datum(given.get("datum"), grid)
        corners = [
            _corner(name, given["corners"][name], datum)
            for name in CORNER_NAMES
            if name in given.get("corners", {})
        ]
        grid = _grid_of_corners(grid, [own for _corner_given, own in corners])
        sheet = Sheet(
            **{name: given[name] for name in _PLAIN_MEMBERS if name in given},
            datum=_datum(given.get("datum"), grid),
            grid_zone=None if grid is None else grid[0],
            grid_south=grid is not None and grid[1],
            squares=tuple(
                _square_letters(square, f"squares/{index}")
                for index, square in enumerate(given.get("squares", ()))
            ),
        )
        if not corners:
            return sheet
        return sheet.with_corners([corner for corner, _own in corners], allow_ballpark=allow_ballpark)
    except NavigationError as error:
        raise error.within("sheet") from None


def _square_letters(square: str, member: str) -> str:
    """A square of 100 km as `Sheet` has it: its letters, without the grid zone or the name of a grid before them."""
    letters = "".join(square.upper().split()[-1:]).lstrip("0123456789")[-2:]
    if not letters.isascii() or not letters.isalpha():
        raise UnreadablePositionError(
            f"{square!r} names no square of 100 km",
            member=member,
            value=square,
            allowed="its letters, as in VK, 33V VK or British grid SK",
        )
    return letters


def _grid(given: dict[str, Any]) -> _SheetGrid:
    if "epsg" in given:
        try:
            return projected_grid(given["epsg"]).epsg, False
        except NavigationError as error:
            error.member = "grid/epsg"
            raise
    return given.get("zone", 0), given["hemisphere"] == "south"


def _datum(name: str | None, grid: _SheetGrid | None) -> Datum:
    """The datum that is named, or that a national grid brings; both must be one."""
    named = None
    if name is not None:
        try:
            named = find_datum(name)
        except NavigationError as error:
            error.member = "datum"
            raise
    own = projected_grid(grid[0]).datum if grid is not None and grid[0] > 60 else None
    if named is not None and own is not None and named.epsg != own.epsg:
        raise InconsistentSheetError(
            f"the grid of the sheet is on {own.name}, not on {named.name}",
            member="datum",
            value=name,
            allowed=f"{own.name}, or leave it out",
        )
    return named or own or WGS84


def _corner(name: str, position: str | dict[str, Any], datum: Datum) -> tuple[Corner, _SheetGrid | None]:
    """A corner on the sheet's datum, and the grid that it was given on, if on one."""
    try:
        if isinstance(position, dict):
            return _corner_of_object(name, position, datum)
        return _corner_of_text(name, position, datum)
    except NavigationError as error:
        raise error.within(f"corners/{name}") from None


def _corner_of_object(name: str, position: dict[str, Any], datum: Datum) -> tuple[Corner, _SheetGrid | None]:
    if "datum" in position and find_datum(position["datum"]).epsg != datum.epsg:
        error = _on_other_datum(datum, position["datum"])
        error.member = "datum"
        raise error
    if "lat_deg" in position:
        return Corner(name, position["lat_deg"], position["lon_deg"]), None
    coordinates_m = (position["easting_m"], position["northing_m"])
    if "epsg" in position:
        grid: _SheetGrid = (position["epsg"], False)
    else:
        grid = (position.get("zone", 0), position["hemisphere"] == "south")
    return Corner(name, easting_m=coordinates_m[0], northing_m=coordinates_m[1]), grid


def _corner_of_text(name: str, text: str, datum: Datum) -> tuple[Corner, _SheetGrid | None]:
    """Of a grid reference, its south-west corner: sheets end at grid lines."""
    # Its numbers are wanted as they stand, whether or not there is a way from them to WGS 84.
    as_it_stands = Frame(replace(datum, epsg=WGS84.epsg))
    reading = read_position_text(text, as_it_stands)
    if reading.read_as.endswith(WGS84_MARK) and datum.epsg != WGS84.epsg:
        raise _on_other_datum(datum, WGS84.name)
    if reading.zone is None or reading.easting_m is None or reading.northing_m is None:
        return Corner(name, reading.lat_deg, reading.lon_deg), None
    easting_m, northing_m = reading.easting_m, reading.northing_m
    if reading.square is not None:
        easting_m, northing_m = reading.square.corner_easting_m, reading.square.corner_northing_m
    return Corner(name, easting_m=easting_m, northing_m=northing_m), (reading.zone, bool(reading.south))


def _on_other_datum(datum: Datum, named: str) -> InconsistentSheetError:
    return InconsistentSheetError(
        f"a corner is on the datum of its sheet, which is {datum.name}",
        value=named,
        allowed=f"{datum.name}, or leave it out",
    )


def _grid_of_corners(named: _SheetGrid | None, own: list[_SheetGrid | None]) -> _SheetGrid | None:
    """The sheet's grid: the one that is named, or that all the corners given on a grid are on."""
    grids = {grid for grid in own if grid is not None}
    if named is not None:
        grids.add(named)
    if len(grids) > 1:
        raise InconsistentSheetError(
            "the corners are not all on the grid of the sheet",
            member="corners",
            allowed="corners by latitude and longitude, or all on one grid",
        )
    return grids.pop() if grids else None
