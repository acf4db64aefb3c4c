"""`threenorths checks`"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, get_args

import click

from ..answers import North, Unit
from ..checks import CheckedReport
from ..client import Client
from . import words
from .options import (
    Decorated,
    angle_options,
    north_option,
    number_option,
    number_or_text,
    place_options,
    position_text,
    unit_option,
    with_sheet,
)
from .positions import read_place_rows
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["checks"]


def _tables(answer: CheckedReport) -> Tables:
    verdict: Rows = [("Verdict", words.spoken(answer.verdict)), ("", answer.reason)]
    return [verdict, _miss_rows(answer), _slip_rows(answer), *_place_rows(answer)]


def _miss_rows(answer: CheckedReport) -> Rows:
    rows: Rows = []
    if answer.distance_m is not None:
        toward = f" at {words.azimuth(answer.true_azimuth_deg)} degrees true"
        rows.append(
            (
                "Off by",
                f"{words.length_m(answer.distance_m)}{toward if answer.true_azimuth_deg is not None else ''}",
            )
        )
    if answer.difference_deg is not None:
        rows.append(("Off by", f"{words.signed(answer.difference_deg)} degrees, clockwise positive"))
    if answer.expected_azimuth_deg is not None:
        rows.append(("Expected", f"{words.azimuth(answer.expected_azimuth_deg)} degrees"))
    for label, outside_m in (("area", answer.outside_area_m), ("sheet", answer.outside_sheet_m)):
        if outside_m:
            rows.append((f"Off the {label} by", words.length_m(outside_m)))
    return rows


def _slip_rows(answer: CheckedReport) -> Rows:
    rows: Rows = [("If", "it would be", "off by")] if answer.slips else []
    for slip in answer.slips:
        left = "-"
        if slip.distance_m is not None:
            left = words.length_m(slip.distance_m)
        elif slip.difference_deg is not None:
            left = f"{words.signed(slip.difference_deg)} degrees"
        rows.append((slip.explanation, slip.without_slip, left))
    if answer.slips and answer.slip_chance is not None:
        rows.append(
            ("Some slip fits by chance in", f"{100.0 * answer.slip_chance:.0f} cases of a hundred", "")
        )
    return rows


def _place_rows(answer: CheckedReport) -> list[Rows]:
    places = (("Reported", answer.reported), ("Expected", answer.expected))
    return [read_place_rows(place, label) for label, place in places if place is not None]


def _place_option(name: str, use: str) -> Callable[[Decorated], Decorated]:
    return click.option(f"--{name}", type=position_text, metavar="PLACE", help=use)


def _bearing_option(name: str, use: str) -> Callable[[Decorated], Decorated]:
    return click.option(f"--{name}", type=number_or_text, metavar="BEARING", help=use)


@operation_command(
    "checks",
    _tables,
    examples=(
        'threenorths checks --reported "33V VE 1325 6789" --expected "33V VE 12345 67890" --tolerance-m 100 --digits 4',
        "threenorths checks --reported-bearing 258 --expected-bearing 78 --north magnetic --tolerance-deg 3",
    ),
)
@_place_option("reported", "The position reported.")
@_place_option("expected", "The place that it should be, with --tolerance-m.")
@number_option("tolerance-m", "How far from there is still right. [metre]")
@click.option(
    "--area",
    type=click.File(encoding="utf-8"),
    metavar="FILE",
    help="GeoJSON Polygon that the position must be in.",
)
@click.option("--digits", type=int, help="Digits a side of a grid reference at least: 5 is 1 m, 0 is 100 km.")
@number_option("resolution-m", "How finely the position must be written, at most. [metre]")
@_bearing_option("reported-bearing", "In place of a position, the bearing reported.")
@_bearing_option("expected-bearing", "The bearing that it should be, with --tolerance-deg.")
@_place_option("expected-from", "In its place, where the bearing was taken.")
@_place_option("expected-to", "What the bearing was taken to.")
@number_option("tolerance-deg", "How far from the bearing expected is still right. [degree]")
@north_option(required=False)
@unit_option()
@click.option(
    "--expected-north",
    type=click.Choice(get_args(North)),
    help="The north that the bearing expected is from; unless said that of the report.",
)
@click.option(
    "--expected-unit",
    type=click.Choice(get_args(Unit)),
    help="Unit of the bearing expected; unless said that of the report.",
)
@angle_options
@place_options
def checks(client: Client, **arguments: Any) -> CheckedReport:
    """A reported position or bearing against what was expected, and the slip that explains a miss.

    A position is held against a place, an area, the edges of --sheet, and the precision demanded; a bearing against another
    or the bearing from one place to another.
    """
    area = arguments.pop("area")
    if area is not None:
        try:
            arguments["area"] = json.load(area)
        except ValueError as error:
            raise click.BadParameter(f"the file holds no JSON: {error}", param_hint="--area") from None
    return client.checks.check(**with_sheet(arguments))
