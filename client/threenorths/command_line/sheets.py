"""`threenorths sheets`"""

from __future__ import annotations

from typing import IO, Any

import click

from ..client import Client
from ..sheets import SheetChecked
from . import words
from .options import date_option, sheet_in
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["sheets"]


def _tables(answer: SheetChecked) -> Tables:
    title = " ".join(part for part in (answer.number, answer.name) if part)
    sheet: Rows = [("Sheet", title)] if title else []
    sheet.append(("Datum", answer.datum))
    if answer.middle is not None:
        middle = words.latitude_longitude(answer.middle.lat_deg, answer.middle.lon_deg)
        sheet.append(("Middle, on WGS84", middle))
    if answer.area_km2 is not None:
        sheet.append(("Area", f"{answer.area_km2:,.1f} square kilometres"))
    if answer.squares:
        sheet.append(("Squares of 100 km", ", ".join(answer.squares)))
    return [
        sheet,
        _side_rows(answer),
        _angle_rows(answer),
        _printed_rows(answer),
        _finding_rows(answer),
    ]


def _side_rows(answer: SheetChecked) -> Rows:
    rows: Rows = [("Side", "on the ground", "on the grid", "on the sheet")] if answer.sides else []
    for side in answer.sides:
        on_grid = "-" if side.grid_m is None else words.length_m(side.grid_m)
        on_paper = "-" if side.paper_mm is None else f"{side.paper_mm:.1f} mm"
        rows.append((side.name, words.length_m(side.ground_m), on_grid, on_paper))
    return rows


def _angle_rows(answer: SheetChecked) -> Rows:
    rows: Rows = []
    if answer.convergence is not None:
        rows.append(("Convergence", f"{words.east_west(answer.convergence.middle_deg, 2)} at the middle"))
    today = answer.today
    if today is not None and answer.date is not None:
        give_or_take = words.give_or_take(today.declination_sd_deg)
        rows.append(
            (
                f"Grid-magnetic angle on {answer.date}",
                words.east_west(today.grid_magnetic_angle_deg) + give_or_take,
            )
        )
        rows.append(("Annual change", words.side(today.annual_change_deg, "eastward", "westward", places=2)))
    return rows


def _printed_rows(answer: SheetChecked) -> Rows:
    printed, carried = answer.printed, answer.carried
    if printed is None:
        return []
    rows: Rows = [("Printed angle", words.east_west(printed.printed_deg, 2))]
    if printed.model_deg is not None:
        rows.append(("By the model for its year", words.east_west(printed.model_deg, 2)))
    if carried is not None:
        for label, estimate in (
            ("Carried by the sheet", carried.by_sheet),
            ("Carried by the model", carried.by_model),
            ("By the model alone", carried.model_alone),
        ):
            if estimate is not None:
                give_or_take = words.give_or_take(estimate.sd_deg)
                rows.append((label, words.east_west(estimate.angle_deg, 2) + give_or_take))
    if printed.off_line_m_per_km is not None:
        rows.append(
            ("It leads off the line by", f"{words.length_m(printed.off_line_m_per_km)} in a kilometre")
        )
    return rows


def _finding_rows(answer: SheetChecked) -> Rows:
    if not answer.findings:
        return [("Findings", "none")]
    return [("Finding", finding.message) for finding in answer.findings]


def _feature(client: Client, sheet: IO[str], **arguments: Any) -> dict[str, Any]:
    return client.sheets.feature(sheet_in(sheet, "FILE"), **arguments)


@operation_command(
    "sheets",
    _tables,
    feature=_feature,
    examples=("threenorths sheets sheet.json --date today",),
)
@click.argument("sheet", type=click.File(encoding="utf-8"), metavar="FILE")
@date_option("Date of the angle of today; without one there is none.")
@click.option(
    "--allow-ballpark",
    is_flag=True,
    default=None,
    help="Take a datum over as it stands where no shift from it is known: hundreds of metres wrong perhaps.",
)
def sheets(client: Client, sheet: IO[str], **arguments: Any) -> SheetChecked:
    """Whether a map sheet makes sense, and what its angle is today.

    FILE holds the sheet as the JSON object of a request; - reads it from the standard input.
    """
    return client.sheets.check(sheet_in(sheet, "FILE"), **arguments)
