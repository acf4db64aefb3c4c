"""Sheets: whether a map sheet makes sense, what it covers, and what its angle is today."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from .answers import Caution
from .caller import Operations
from .sheet_given import Sheet, sheet_json
from .to_json import DateInput, given

__all__ = ["SheetChecked", "SheetOperations"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that cannot be right, or is right no more; ``member`` is what of the sheet it is about."""

    code: str
    message: str
    member: str | None


@dataclass(frozen=True, slots=True)
class PlaceOnSheet:
    """A place on WGS 84. [degree]"""

    lat_deg: float
    lon_deg: float


@dataclass(frozen=True, slots=True)
class CornerOfSheet:
    """A corner of the neatline, on WGS 84 and on the sheet's own datum. [degree]"""

    name: str
    lat_deg: float
    lon_deg: float
    datum_lat_deg: float
    datum_lon_deg: float


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the neatline: on the ellipsoid, by grid coordinates, and on the printed sheet."""

    name: str
    ground_m: float
    grid_m: float | None
    paper_mm: float | None


@dataclass(frozen=True, slots=True)
class ConvergenceOver:
    """Convergence over the sheet of the grid ``zone``, 0 for UPS or an EPSG code; east positive. [degree]"""

    zone: int
    corners_deg: tuple[float, ...]
    middle_deg: float
    least_deg: float | None
    greatest_deg: float | None


@dataclass(frozen=True, slots=True)
class AngleToday:
    """The angles at the sheet's middle on the date, by the model; ``grid_magnetic_angle_deg`` is what to use. [degree]"""

    declination_deg: float
    declination_sd_deg: float
    grid_magnetic_angle_deg: float
    annual_change_deg: float
    least_deg: float
    greatest_deg: float


@dataclass(frozen=True, slots=True)
class PrintedAngle:
    """The printed angle against the model; differences are the printed or carried less the modelled. [degree]"""

    member: str
    printed_deg: float
    year: float | None
    model_deg: float | None
    difference_deg: float | None
    allowance_deg: float | None
    today_deg: float | None
    stale_deg: float | None
    carried_deg: float | None
    carried_difference_deg: float | None
    carried_allowance_deg: float | None
    off_line_m_per_km: float | None


@dataclass(frozen=True, slots=True)
class EstimatedAngle:
    """An angle as a compass would find it, with its standard deviation; east positive. [degree]"""

    angle_deg: float
    sd_deg: float


@dataclass(frozen=True, slots=True)
class CarriedAngle:
    """The printed angle carried to the date: by the sheet's annual change, by the model's, and the model alone."""

    years: float
    by_sheet: EstimatedAngle | None
    by_model: EstimatedAngle
    model_alone: EstimatedAngle


@dataclass(frozen=True, slots=True)
class SheetChecked:
    """What a sheet comes to; ``None`` and empty for what its edges, its scale or the date do not tell."""

    name: str | None
    number: str | None
    datum: str
    datum_epsg: int
    findings: tuple[Finding, ...]
    corners: tuple[CornerOfSheet, ...]
    middle: PlaceOnSheet | None
    sides: tuple[Side, ...]
    diagonals_m: tuple[float, ...]
    area_km2: float | None
    contour_interval_m: float | None
    zones: tuple[int, ...]
    squares: tuple[str, ...]
    convergence: ConvergenceOver | None
    today: AngleToday | None
    printed: PrintedAngle | None
    carried: CarriedAngle | None
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class SheetOperations(Operations):
    """``client.sheets``"""

    def check(
        self,
        sheet: Sheet | Mapping[str, Any],
        date: DateInput | None = None,
        *,
        allow_ballpark: bool | None = None,
        working: bool | None = None,
    ) -> SheetChecked:
        """Whether a sheet makes sense; with a ``date``, also what its grid-magnetic angle is then.

        What is wrong with it is under ``findings`` and is no error. Raises `NoAnswerError`: ``inconsistent_sheet``,
        ``unknown_datum``, ``unknown_grid``, ``date_outside_model``, or any that `PositionOperations.read` has for a corner.
        """
        members = given(sheet=sheet_json(sheet), date=date, allow_ballpark=allow_ballpark, working=working)
        return self._ask(SheetChecked, "sheets", members)

    def feature(
        self,
        sheet: Sheet | Mapping[str, Any],
        date: DateInput | None = None,
        *,
        allow_ballpark: bool | None = None,
        working: bool | None = None,
    ) -> dict[str, Any]:
        """The same answered as a GeoJSON feature (RFC 7946): the sheet's outline, with no geometry where it has no edges.

        Arguments and errors are those of `check`; the feature's ``properties`` are its answer.
        """
        members = given(sheet=sheet_json(sheet), date=date, allow_ballpark=allow_ballpark, working=working)
        return self._ask_feature("sheets", members)
