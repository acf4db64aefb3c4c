"""`threenorths bearings`, and how the angles between the norths are printed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from ..answers import AnglesUsed, Azimuth
from ..bearings import Bearing
from ..client import Client
from . import words
from .options import angle_options, north_option, number_or_text, place_options, unit_option, with_sheet
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["angle_rows", "bearings"]

_SOURCES = {
    "model": "by the magnetic model and the grid at the position",
    "given": "as given",
    "sheet": "from the sheet's margin",
}


def angle_rows(angles: AnglesUsed, declination_sd_deg: float | None) -> Rows:
    """The angles between the norths that an answer used, and where they come from; nothing where it used none."""
    if angles.source == "none":
        return []
    source = _SOURCES.get(angles.source, angles.source)
    declination = words.east_west(angles.declination_deg) + words.give_or_take(declination_sd_deg)
    return [
        ("Declination", declination),
        ("Convergence", words.east_west(angles.convergence_deg)),
        ("Grid-magnetic angle", f"{words.east_west(angles.grid_magnetic_angle_deg)}; {source}"),
    ]


def _tables(answer: Bearing) -> Tables:
    columns = (answer.true, answer.grid, answer.magnetic)

    def row(label: str, write: Callable[[Azimuth], str]) -> tuple[str, ...]:
        return (label, *("-" if azimuth is None else write(azimuth) for azimuth in columns))

    directions = [
        ("From north", "true", "grid", "magnetic"),
        row("Degrees", lambda azimuth: words.azimuth(azimuth.azimuth_deg)),
        row("Back, degrees", lambda azimuth: words.azimuth(azimuth.back_azimuth_deg)),
        row("Mils, 6400", lambda azimuth: words.mils(azimuth.azimuth_mil, 6400)),
        row("Back, mils, 6400", lambda azimuth: words.mils(azimuth.back_azimuth_mil, 6400)),
        row("Mils, 6300", lambda azimuth: words.mils(azimuth.azimuth_mil_6300, 6300)),
        row("Mils, 6000", lambda azimuth: words.mils(azimuth.azimuth_mil_6000, 6000)),
        row("Gradians", lambda azimuth: words.gradians(azimuth.azimuth_grad)),
        row("Degrees, minutes, seconds", lambda azimuth: azimuth.azimuth_dms),
        row("Quadrant", lambda azimuth: azimuth.azimuth_quadrant),
    ]
    return [directions, angle_rows(answer.angles, answer.declination_sd_deg)]


@operation_command(
    "bearings",
    _tables,
    examples=(
        'threenorths bearings 78 --north magnetic --position "33V VE 12345 67890" --date today',
        "threenorths bearings 190 --north magnetic --grid-magnetic-angle-deg -4.5",
    ),
)
@click.argument("bearing", type=number_or_text, metavar="BEARING")
@north_option()
@unit_option()
@angle_options
@place_options
def bearings(client: Client, bearing: float | str, **arguments: Any) -> Bearing:
    """Turn a bearing between the norths and into every notation.

    BEARING is a number in --unit, or a text in degrees such as "45 30 15" or "N 45 E". The angles between the norths
    come from just one source: --position with --date, the angles themselves, or the --sheet options. East is positive,
    so 4 degrees west is -4.
    """
    return client.bearings.convert(bearing, **with_sheet(arguments))
