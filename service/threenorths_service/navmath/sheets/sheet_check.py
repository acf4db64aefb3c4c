"""Whether a map sheet makes sense: what follows from what its margin says, and every contradiction in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..errors import (
    BallparkShiftError,
    InconsistentSheetError,
    NavigationError,
    OutsideDatumAreaError,
    OutsideGridError,
)
from ..grids.grid import zone_of
from .sheet import Sheet
from .sheet_angle_findings import angle_findings
from .sheet_angles import (
    AngleToday,
    ConvergenceOver,
    PrintedAngle,
    angle_today,
    convergence_over,
    printed_angle,
)
from .sheet_extent import Side, datum_middle, diagonals_m, sides, squares_touched, zones_touched
from .sheet_findings import Finding, finding

__all__ = ["SheetReport", "check_sheet"]

#: Longer or shorter than this no sheet is printed to be carried. Common practice, no source. [millimetre]
LONGEST_ON_PAPER_MM = 2000.0
SHORTEST_ON_PAPER_MM = 50.0

#: Opposite sides and the diagonals may differ by this beyond what the meridians explain: edges that follow neither the
#: grid nor the meridians quite. A corner that is a minute wrong passes it on sheets up to three degrees wide. Common
#: practice, no source.
UNEQUAL_SHARE = 0.005


@dataclass(frozen=True, slots=True)
class SheetReport:
    """What a sheet comes to; ``None`` and empty for what its edges, its scale or the date do not tell."""

    findings: tuple[Finding, ...]
    #: Latitude and longitude, on WGS 84. [degree]
    middle: tuple[float, float] | None = None
    sides: tuple[Side, ...] = ()
    #: From the south-west and from the south-east corner. [metre]
    diagonals_m: tuple[float, float] | None = None
    area_km2: float | None = None
    zones: tuple[int, ...] = ()
    squares: tuple[str, ...] = ()
    convergence: ConvergenceOver | None = None
    today: AngleToday | None = None
    printed: PrintedAngle | None = None


def check_sheet(sheet: Sheet, decimal_year_today: float | None = None) -> SheetReport:
    """Everything that follows from a sheet, and what is wrong with it.

    Parameters
    ----------
    sheet : Sheet
        With what is known of it. Without edges only the printed angles are checked, against each other.
    decimal_year_today : float, optional
        For the angle of today; without it, or outside the magnetic model, none is given.
    """
    if not sheet.has_edges:
        return SheetReport((*_fault_findings(sheet.fault), *angle_findings(sheet, None, None)))
    all_sides, diagonals, squares = sides(sheet), diagonals_m(sheet), squares_touched(sheet)
    convergence = convergence_over(sheet)
    today = None if decimal_year_today is None else angle_today(sheet, decimal_year_today)
    printed = printed_angle(sheet, today)
    findings = (
        *_shape_findings(sheet, all_sides, diagonals),
        *_size_findings(all_sides),
        *_grid_findings(sheet),
        *_square_findings(sheet, squares),
        *angle_findings(sheet, convergence, printed),
    )
    return SheetReport(
        findings=findings,
        middle=sheet.middle(),
        sides=all_sides,
        diagonals_m=diagonals,
        area_km2=sheet.edges.area_m2 / 1e6,
        zones=zones_touched(sheet),
        squares=squares,
        convergence=convergence,
        today=today,
        printed=printed,
    )


def _fault_findings(fault: NavigationError | None) -> Iterator[Finding]:
    """Why the corners of a sheet make no outline."""
    if fault is None:
        return
    if isinstance(fault, OutsideGridError):
        code = "corner_outside_grid"
    elif isinstance(fault, OutsideDatumAreaError):
        code = "outside_datum_area"
    elif isinstance(fault, BallparkShiftError):
        code = "datum_shift_unknown"
    elif isinstance(fault, InconsistentSheetError):
        code = "grid_on_other_datum" if fault.member == "datum" else "corners_out_of_order"
    else:
        code = "corner_unusable"
    yield finding(code, str(fault), fault.member)


def _shape_findings(
    sheet: Sheet, all_sides: tuple[Side, ...], diagonals: tuple[float, float]
) -> Iterator[Finding]:
    """Pairs of opposite sides and of diagonals that should be equal, the meridians' drawing together allowed for."""
    south, east, north, west = (side.ground_m for side in all_sides)
    lat = np.radians(sheet.corner_places[:, 0])
    eccentricity_squared = sheet.datum.ellipsoid.eccentricity_squared
    around = np.cos(lat) / np.sqrt(1.0 - eccentricity_squared * np.sin(lat) ** 2)
    drawn_together = float((around[2] + around[3]) / (around[0] + around[1]))
    pairs = (
        ("the north and the south side", north, south, drawn_together),
        ("the west and the east side", west, east, 1.0),
        ("the diagonals", *diagonals, 1.0),
    )
    for what, one, other, explained in pairs:
        low, high = min(explained, 1.0) - UNEQUAL_SHARE, max(explained, 1.0) + UNEQUAL_SHARE
        if not low * other <= one <= high * other:
            message = (
                f"{what} are {one:.0f} m and {other:.0f} m: they differ by more than the meridians explain"
            )
            yield finding("sides_unequal", message, "corners")


def _size_findings(all_sides: tuple[Side, ...]) -> Iterator[Finding]:
    on_paper = [side.paper_mm for side in all_sides if side.paper_mm is not None]
    if not on_paper:
        return
    longest = max(on_paper)
    message = f"at this scale the longest side of the sheet is {longest:.0f} mm"
    if longest > LONGEST_ON_PAPER_MM:
        yield finding("too_large_on_paper", f"{message}, over {LONGEST_ON_PAPER_MM:g}", "scale")
    elif longest < SHORTEST_ON_PAPER_MM:
        yield finding("too_small_on_paper", f"{message}, under {SHORTEST_ON_PAPER_MM:g}", "scale")


def _grid_findings(sheet: Sheet) -> Iterator[Finding]:
    grid = sheet.grid
    if grid is None:
        return
    if sheet.reaching_grid is None:
        message = "the sheet lies outside what its grid reaches"
        yield finding("corner_outside_grid", message, "grid")
    if grid.is_national:
        return
    lat, lon = datum_middle(sheet)
    of_middle = int(zone_of(lat, grid.from_greenwich(lon)))
    if of_middle != grid.zone:
        named = _zone_words(grid.zone)
        message = f"the sheet's middle lies in {_zone_words(of_middle)}, and its grid is that of {named}"
        yield finding("other_grid_zone", message, "grid")
    elif (lat < 0.0) != grid.south:
        message = f"the sheet's middle is at latitude {lat:.2f}, and its grid is that of the other hemisphere"
        yield finding("other_hemisphere", message, "grid")


def _square_findings(sheet: Sheet, squares: tuple[str, ...]) -> Iterator[Finding]:
    """Squares that the sheet names by their letters, with or without the grid zone."""
    known = {part for touched in squares for part in (touched.lstrip("0"), touched[-2:])}
    for index, name in enumerate(sheet.squares):
        letters = "".join(name.split()).upper()
        if letters.lstrip("0") not in known:
            message = f"the sheet does not reach the square {letters}; it reaches {', '.join(squares)}"
            yield finding("square_not_touched", message, f"squares/{index}")


def _zone_words(zone: int) -> str:
    return f"zone {zone}" if zone else "UPS"
