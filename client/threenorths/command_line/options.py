"""Options that several commands share, and how their texts are read."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import IO, Any, TypeVar, get_args

import click

from ..angle_sources import AnglesFrom
from ..answers import MagneticModel, North, Unit

__all__ = [
    "Decorated",
    "angle_options",
    "date_option",
    "model_option",
    "moment_option",
    "north_option",
    "number_option",
    "number_or_text",
    "place_options",
    "position_argument",
    "position_text",
    "sheet_in",
    "unit_option",
    "with_sheet",
]

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

_PLAIN_NUMBER = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")


def position_text(text: str) -> str:
    """A position, which the service reads; without the blank that `running.Command` may have set before it."""
    return text.strip()


def number_or_text(text: str) -> float | str:
    """A number where the text is a plain one; any other text as it is, for the service to read."""
    stripped = text.strip()
    return float(stripped) if _PLAIN_NUMBER.fullmatch(stripped) else stripped


def position_argument(name: str, metavar: str | None = None) -> Callable[[Decorated], Decorated]:
    """A position as an argument; it is quoted where it has blanks."""
    return click.argument(name, type=position_text, metavar=metavar or name.upper())


def north_option(required: bool = True) -> Callable[[Decorated], Decorated]:
    """The north that a bearing is from."""
    return click.option(
        "--north",
        type=click.Choice(get_args(North)),
        required=required,
        help="The north that the bearing is from.",
    )


def unit_option() -> Callable[[Decorated], Decorated]:
    """The unit that a bearing is in."""
    return click.option(
        "--unit",
        type=click.Choice(get_args(Unit)),
        help="Unit of bearings that are plain numbers; degrees unless said. mil is 6400 to the circle.",
    )


def number_option(name: str, use: str) -> Callable[[Decorated], Decorated]:
    """A number."""
    return click.option(f"--{name}", type=float, help=use)


def model_option() -> Callable[[Decorated], Decorated]:
    """The magnetic model."""
    return click.option(
        "--model",
        type=click.Choice(get_args(MagneticModel)),
        help="Magnetic model; unless said WMM2025 for its dates, IGRF-14 for those before, back to 1900.",
    )


def date_option(use: str, required: bool = False) -> Callable[[Decorated], Decorated]:
    """A date."""
    return click.option(
        "--date",
        metavar="YYYY-MM-DD|today",
        required=required,
        help=f"{use} `today` is the service's date in UTC.",
    )


def moment_option(name: str, use: str) -> Callable[[Decorated], Decorated]:
    """A moment that the command cannot do without."""
    return click.option(
        f"--{name}",
        metavar="MOMENT|now",
        required=True,
        help=f"{use} ISO 8601 with an offset from UTC or Z, such as 2026-11-25T17:30+01:00; `now` is the service's clock.",
    )


def angle_options(command: Decorated) -> Decorated:
    """Where the angles between the norths come from: a place and a date, the angles, or a sheet."""
    options = [
        click.option(
            "--position",
            type=position_text,
            metavar="POSITION",
            help="Place to take the angles at, with --date. Quote it.",
        ),
        date_option("Date to take the declination at, or to carry a sheet's angle to."),
        click.option(
            "--height-m", type=float, help="Height of that place above the WGS 84 ellipsoid. [metre]"
        ),
        model_option(),
        click.option(
            "--declination-deg", type=float, help="Angle from true to magnetic north, east positive."
        ),
        click.option("--convergence-deg", type=float, help="Angle from true to grid north, east positive."),
        click.option(
            "--grid-magnetic-angle-deg", type=float, help="Angle from grid to magnetic north, east positive."
        ),
        click.option(
            "--angles-from",
            type=click.Choice(get_args(AnglesFrom)),
            help="Whose angles to use where there is a position as well as a sheet that prints an angle.",
        ),
        click.option(
            "--sheet-grid-magnetic-angle-deg",
            type=float,
            help="The same as a map sheet's margin prints it.",
        ),
        click.option(
            "--sheet-declination-deg", type=float, help="Declination as a sheet's margin prints it."
        ),
        click.option(
            "--sheet-convergence-deg", type=float, help="Convergence as a sheet's margin prints it."
        ),
        click.option(
            "--sheet-year", type=float, help="Year that the sheet's angle is for: 2015.0 is 1 January 2015."
        ),
        click.option(
            "--sheet-annual-change-deg",
            type=float,
            help="Annual change as the margin prints it, eastward positive.",
        ),
    ]
    for option in reversed(options):
        command = option(command)
    return command


def place_options(command: Decorated) -> Decorated:
    """How the positions of a command are read."""
    options = [
        click.option("--datum", help="Datum of the positions, by name or EPSG code, such as ED50."),
        click.option(
            "--near",
            type=position_text,
            metavar="PLACE",
            help="A place that the positions are near to: it tells what a reference without its zone or square means.",
        ),
        click.option("--reach-m", type=float, help="How far from there a position may be. [metre]"),
        click.option(
            "--sheet",
            type=click.File(encoding="utf-8"),
            metavar="FILE",
            help="The map sheet in hand, as the JSON object of a request; - reads it from the standard input.",
        ),
        click.option(
            "--allow-ballpark",
            is_flag=True,
            default=None,
            help="Take a datum over as it stands where no shift from it is known: hundreds of metres wrong perhaps.",
        ),
    ]
    for option in reversed(options):
        command = option(command)
    return command


def with_sheet(arguments: dict[str, Any]) -> dict[str, Any]:
    """The arguments with the file of ``sheet`` read, and what begins with ``sheet_`` put into that sheet."""
    printed = {
        name.removeprefix("sheet_"): value
        for name, value in arguments.items()
        if name.startswith("sheet_") and value is not None
    }
    others = {name: value for name, value in arguments.items() if not name.startswith("sheet_")}
    sheet = {**sheet_in(others.get("sheet")), **printed}
    return {**others, "sheet": sheet or None}


def sheet_in(file: IO[str] | None, hint: str = "--sheet") -> dict[str, Any]:
    """The sheet that a file holds; without a file, nothing."""
    if file is None:
        return {}
    try:
        sheet = json.load(file)
    except ValueError as error:
        raise click.BadParameter(f"the file holds no JSON: {error}", param_hint=hint) from None
    if not isinstance(sheet, dict):
        raise click.BadParameter("the file holds no JSON object.", param_hint=hint)
    return sheet
