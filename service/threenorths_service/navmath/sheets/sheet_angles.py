"""The angles between the norths that a sheet prints, against the magnetic model for its year and for today.

A printed angle is for the sheet's middle. How far off a right one may be follows from the model's standard deviation for its
year, which grows backward, and from the rounding of print.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..angle import FloatArray, normalise_longitude, normalise_signed
from ..directions.bearing import printed_angle_at
from ..directions.printed_angle import CHANGE_STEP_DEG, MODEL_SDS, PRINTED_STEP_DEG, steady_change_sd
from ..grids.datum_grid import DatumGrid
from ..grids.grid import zone_of
from ..magnetism.magnetic import declination_at, field_at, in_model
from .sheet import Sheet
from .sheet_extent import datum_middle, samples

__all__ = [
    "LONGEST_CARRY_YEARS",
    "PRINT_ROUNDING_DEG",
    "AngleToday",
    "ConvergenceOver",
    "PrintedAngle",
    "angle_today",
    "convergence_over",
    "printed_angle",
]

#: How far off rounding in print takes an angle, and its annual change. [degree], [degree a year]
PRINT_ROUNDING_DEG = PRINTED_STEP_DEG / 2.0
CHANGE_ROUNDING_DEG = CHANGE_STEP_DEG / 2.0

#: Declination has turned back on itself within so long at many places, so that no angle is carried further: common
#: practice, no source. [year]
LONGEST_CARRY_YEARS = 60.0


@dataclass(frozen=True, slots=True)
class ConvergenceOver:
    """The convergence of a sheet's grid over it, east positive. [degree]

    ``least_deg`` and ``greatest_deg`` are ``None`` on a sheet around a pole, where it takes every value.
    """

    #: The sheet's, or where it names none that reaches it, that of the zone of its middle.
    grid: DatumGrid
    #: In the order of the sheet's corners.
    corners_deg: tuple[float, ...]
    middle_deg: float
    least_deg: float | None
    greatest_deg: float | None

    @property
    def half_range_deg(self) -> float:
        """How far the convergence goes to either side over the sheet."""
        if self.least_deg is None or self.greatest_deg is None:
            return 180.0
        return (self.greatest_deg - self.least_deg) / 2.0


@dataclass(frozen=True, slots=True)
class AngleToday:
    """The grid-magnetic angle of a sheet on a date, by the model, east positive. [degree]"""

    decimal_year: float
    declination_deg: float
    #: One standard deviation, of the declination and so of the grid-magnetic angle.
    declination_sd_deg: float
    grid_magnetic_angle_deg: float
    annual_change_deg: float
    #: Over the sheet.
    least_deg: float
    greatest_deg: float


@dataclass(frozen=True, slots=True)
class PrintedAngle:
    """A printed angle of magnetic north against the model at the sheet's middle; ``None`` where it cannot be told.

    Differences are the printed less the modelled angle, in (-180, 180]. [degree]
    """

    #: The member of the sheet that is compared.
    member: str
    printed_deg: float
    year: float | None
    #: By the model for the sheet's year, with how far off a right angle may be printed.
    model_deg: float | None
    difference_deg: float | None
    allowance_deg: float | None
    #: By the model today, and the printed angle as it stands against it.
    today_deg: float | None
    stale_deg: float | None
    #: The printed angle carried to today by the sheet's annual change, against the model today.
    carried_deg: float | None
    carried_difference_deg: float | None
    carried_allowance_deg: float | None
    #: How far that leads off the line in a kilometre: of the carried angle, or without one of the printed. From 90 degrees
    #: it leads back. [metre]
    off_line_m_per_km: float | None


def convergence_over(sheet: Sheet) -> ConvergenceOver:
    """The convergence over a sheet with edges: of its grid, or where none is named, of the zone of its middle."""
    grid = _grid(sheet)
    places = np.vstack((sheet.corner_places, datum_middle(sheet)))
    *corners, middle = grid.convergence(*places.T).tolist()
    over = samples(sheet)
    least, greatest = _range_about(middle, grid.convergence(over.datum_lat_deg, over.datum_lon_deg))
    if sheet.edges.holds_pole:
        return ConvergenceOver(grid, tuple(corners), middle, None, None)
    return ConvergenceOver(grid, tuple(corners), middle, least, greatest)


def angle_today(sheet: Sheet, decimal_year: float) -> AngleToday | None:
    """The angles of a sheet with edges on a date; ``None`` where the model does not hold for it."""
    if not in_model(decimal_year):
        return None
    declination, sd, change = _declination(sheet, decimal_year)
    middle = float(normalise_signed(declination - _middle_convergence(sheet)))
    over = samples(sheet)
    convergence = _grid(sheet).convergence(over.datum_lat_deg, over.datum_lon_deg)
    angles = declination_at(over.lat_deg, over.lon_deg, decimal_year) - convergence
    least, greatest = _range_about(middle, angles)
    return AngleToday(decimal_year, declination, sd, middle, change, least, greatest)


def printed_angle(sheet: Sheet, today: AngleToday | None) -> PrintedAngle | None:
    """What a sheet with edges prints of magnetic north, against the model; ``None`` where it prints nothing of it."""
    if sheet.declination_deg is not None:
        member, printed, turn = "declination_deg", sheet.declination_deg, 0.0
    elif sheet.grid_magnetic_angle_deg is not None:
        member, printed, turn = (
            "grid_magnetic_angle_deg",
            sheet.grid_magnetic_angle_deg,
            _middle_convergence(sheet),
        )
    else:
        return None
    model, allowance = _for_year(sheet, turn)
    now = None if today is None else float(normalise_signed(today.declination_deg - turn))
    carried = None if today is None else _carried(sheet, printed, today.decimal_year)
    stale, carried_difference = _difference(printed, now), _difference(carried, now)
    off = stale if carried is None else carried_difference
    return PrintedAngle(
        member=member,
        printed_deg=printed,
        year=sheet.year,
        model_deg=model,
        difference_deg=_difference(printed, model),
        allowance_deg=allowance,
        today_deg=now,
        stale_deg=stale,
        carried_deg=carried,
        carried_difference_deg=carried_difference,
        carried_allowance_deg=None if carried is None or today is None else _carried_allowance(sheet, today),
        off_line_m_per_km=None
        if off is None or abs(off) >= 90.0
        else 1000.0 * math.tan(math.radians(abs(off))),
    )


def _for_year(sheet: Sheet, turn_deg: float) -> tuple[float | None, float | None]:
    """The modelled angle for the sheet's own year, from true north less ``turn_deg``, and how far off a right one may be."""
    if sheet.year is None or not in_model(sheet.year):
        return None, None
    declination, sd, _change = _declination(sheet, sheet.year)
    return float(normalise_signed(declination - turn_deg)), MODEL_SDS * sd + PRINT_ROUNDING_DEG


def _carried(sheet: Sheet, printed_deg: float, decimal_year: float) -> float | None:
    if sheet.year is None or sheet.annual_change_deg is None:
        return None
    if abs(decimal_year - sheet.year) > LONGEST_CARRY_YEARS:
        return None
    return float(printed_angle_at(printed_deg, sheet.year, sheet.annual_change_deg, decimal_year))


def _carried_allowance(sheet: Sheet, today: AngleToday) -> float:
    assert sheet.year is not None  # noqa: S101 - it was carried from there
    years = abs(today.decimal_year - sheet.year)
    horizontal_nt = field_at(*sheet.middle(), today.decimal_year).horizontal_nt
    sd = math.hypot(today.declination_sd_deg, float(steady_change_sd(years, horizontal_nt)))
    return MODEL_SDS * sd + PRINT_ROUNDING_DEG + CHANGE_ROUNDING_DEG * years


def _declination(sheet: Sheet, decimal_year: float) -> tuple[float, float, float]:
    """Declination at the sheet's middle, its standard deviation and its annual change. [degree]"""
    field = field_at(*sheet.middle(), decimal_year)
    return float(field.declination_deg), float(field.declination_sd_deg), float(field.declination_change_deg)


def _grid(sheet: Sheet) -> DatumGrid:
    grid = sheet.reaching_grid
    if grid is not None:
        return grid
    lat, lon = datum_middle(sheet)
    from_greenwich = normalise_longitude(lon + sheet.datum.prime_meridian_deg)
    return DatumGrid(int(zone_of(lat, from_greenwich)), lat < 0.0, sheet.datum)


def _middle_convergence(sheet: Sheet) -> float:
    return float(_grid(sheet).convergence(*datum_middle(sheet)))


def _range_about(middle_deg: float, angles_deg: FloatArray) -> tuple[float, float]:
    """The least and the greatest of angles, counted without a jump from that of the middle. [degree]"""
    turns = normalise_signed(angles_deg - middle_deg)
    return middle_deg + float(turns.min()), middle_deg + float(turns.max())


def _difference(angle_deg: float | None, model_deg: float | None) -> float | None:
    if angle_deg is None or model_deg is None:
        return None
    return float(normalise_signed(angle_deg - model_deg))
