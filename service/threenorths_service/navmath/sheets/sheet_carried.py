"""The angle that a sheet prints, carried to a date at the sheet's middle: by its own annual change and by the model."""

from __future__ import annotations

from ..directions.printed_angle import CarriedAngle, carry_printed_angle
from ..magnetism.magnetic import in_model
from .sheet import Sheet
from .sheet_angles import convergence_over

__all__ = ["carried_angle"]


def carried_angle(sheet: Sheet, decimal_year: float) -> CarriedAngle | None:
    """The printed declination, or else the printed grid-magnetic angle, carried to ``decimal_year``.

    ``None`` of a sheet without edges, without such an angle or its year, and where a model does not hold for either year.
    """
    if not sheet.has_edges or not sheet.prints_angle or sheet.year is None:
        return None
    if not (in_model(sheet.year) and in_model(decimal_year)):
        return None
    if sheet.declination_deg is not None:
        printed_deg, convergence_deg = sheet.declination_deg, 0.0
    else:
        assert sheet.grid_magnetic_angle_deg is not None  # noqa: S101 - it prints one of the two
        printed_deg, convergence_deg = sheet.grid_magnetic_angle_deg, convergence_over(sheet).middle_deg
    return carry_printed_angle(
        *sheet.middle(),
        printed_deg,
        sheet.year,
        sheet.annual_change_deg,
        decimal_year,
        convergence_deg=convergence_deg,
    )
