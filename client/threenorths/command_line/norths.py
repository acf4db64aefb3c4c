"""`threenorths norths`"""

from __future__ import annotations

from typing import Any

import click

from ..client import Client
from ..norths import Norths
from . import words
from .options import date_option, model_option, place_options, position_argument, with_sheet
from .positions import read_place_rows
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["norths"]


def _tables(answer: Norths) -> Tables:
    give_or_take = words.give_or_take(answer.declination_sd_deg)
    change = words.side(answer.annual_change_deg, "eastward", "westward", places=2)
    dip = words.side(answer.inclination_deg, "below the horizontal", "above the horizontal")
    place = [
        *read_place_rows(answer.position),
        ("Date", f"{answer.date.isoformat()}, by the model {answer.model}"),
    ]
    declination = f"{words.east_west(answer.declination_deg)}{give_or_take}"
    grid_magnetic = f"{words.east_west(answer.grid_magnetic_angle_deg)}{give_or_take}"
    angles: Rows = [
        ("Declination", declination, "from true to magnetic north"),
        ("Convergence", words.east_west(answer.convergence_deg), "from true to grid north"),
        ("Grid-magnetic angle", grid_magnetic, "from grid to magnetic north"),
        ("Annual change", change, "of the declination"),
    ]
    field: Rows = [
        ("Dip", dip),
        ("Horizontal field", f"{answer.horizontal_nt:,.0f} nanotesla"),
        ("Total field", f"{answer.total_nt:,.0f} nanotesla"),
    ]
    return [place, angles, field]


@operation_command("norths", _tables, examples=('threenorths norths "33V VE 12345 67890" --date today',))
@position_argument("position")
@date_option("Date of the declination.", required=True)
@model_option()
@click.option("--height-m", type=float, help="Height above the WGS 84 ellipsoid. [metre]")
@place_options
def norths(client: Client, position: str, **arguments: Any) -> Norths:
    """The three norths at a place on a date.

    "Give or take" is one standard deviation of the model. Iron, rock and power lines nearby can turn a needle further.
    """
    return client.norths.at(position, **with_sheet(arguments))
