"""`threenorths search-areas`"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import IO, Any

import click

from ..client import Client
from ..search_areas import SearchArea, SearchAreas, Side
from . import words
from .options import (
    Decorated,
    date_option,
    north_option,
    number_option,
    number_or_text,
    place_options,
    position_argument,
    position_text,
    unit_option,
    with_sheet,
)
from .positions import read_place_rows
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["search_areas"]

CLOSING = "This supports the search manager's judgement and never takes its place."


def _tables(answer: SearchAreas) -> Tables:
    found: Rows = [("Holds", "size", "reaches")]
    for area in answer.areas:
        found.append((f"{100 * (area.share or 0.0):g} per cent", *_size(area)))
    if answer.outer_bound is not None:
        found.append(("everywhere in reach", *_size(answer.outer_bound)))
    assumptions: Rows = [("Assumed", sentence) for sentence in answer.assumptions]
    return [read_place_rows(answer.last_known, "Last known"), found, assumptions]


def _size(area: SearchArea) -> tuple[str, str]:
    farthest = max(area.reaches, key=lambda reach: reach.farthest_m, default=None)
    reach = "-"
    if farthest is not None:
        reach = f"{farthest.farthest_m / 1000:,.1f} km at {words.azimuth(farthest.true_azimuth_deg)} true"
    return f"{area.area_km2:,.2f} square kilometres", reach


def _quantile(text: str) -> tuple[float, float]:
    share, separator, distance = text.partition(":")
    try:
        if separator:
            return float(share), float(distance)
    except ValueError:
        pass
    raise click.BadParameter(f"{text!r} is no quantile: write 0.5:1600.", param_hint="--quantile")


def _shape(file: IO[str], hint: str) -> Any:
    try:
        return json.load(file)
    except ValueError as error:
        raise click.BadParameter(f"the file holds no JSON: {error}", param_hint=hint) from None


def _request(arguments: dict[str, Any]) -> dict[str, Any]:
    """The options as the client takes them."""
    others = dict(arguments)
    for name in ("not_crossed", "excluded", "within"):
        files = others.pop(name)
        others[name] = [_shape(file, f"--{name.replace('_', '-')}") for file in files] or None
    others["sides"] = [Side(_shape(file, "--side"), place) for file, place in others["sides"]] or None
    others["distance_quantiles"] = [_quantile(text) for text in others["distance_quantiles"]] or None
    others["shares"] = list(others["shares"]) or None
    return with_sheet(others)


def _feature(client: Client, last_known: str, **arguments: Any) -> dict[str, Any]:
    return client.search_areas.feature(last_known, **_request(arguments))


def _shape_option(name: str, use: str) -> Callable[[Decorated], Decorated]:
    return click.option(
        f"--{name}", type=click.File(encoding="utf-8"), multiple=True, metavar="FILE", help=use
    )


@operation_command(
    "search-areas",
    _tables,
    CLOSING,
    feature=_feature,
    examples=(
        'threenorths search-areas "33V VE 1234 6789" --hours-since 3 --likely-speed-km-per-h 1.5 '
        "--greatest-speed-km-per-h 4 --direction 140 --direction-sd-deg 40",
        'threenorths search-areas "33V VE 1234 6789" --quantile 0.25:700 --quantile 0.5:1600 --quantile 0.95:7000',
    ),
)
@position_argument("last_known", "PLACE")
@number_option("radius-m", "How far from there the person may have been. [metre]")
@number_option("sd-m", "In its place, the standard deviation of the place's error. [metre]")
@number_option("hours-since", "Time since then; needs speeds. [hour]")
@number_option("least-speed-km-per-h", "Slowest, in a straight line. [km/h]")
@number_option("likely-speed-km-per-h", "Likeliest. [km/h]")
@number_option("greatest-speed-km-per-h", "Fastest. [km/h]")
@number_option("least-m", "In place of time and speeds: least distance. [metre]")
@number_option("likely-m", "Likeliest distance. [metre]")
@number_option("greatest-m", "Greatest distance. [metre]")
@click.option(
    "--quantile",
    "distance_quantiles",
    multiple=True,
    metavar="SHARE:METRES",
    help="A share of such people and how far off they were found, from your own statistics. Repeat it.",
)
@click.option(
    "--direction",
    type=number_or_text,
    metavar="BEARING",
    help="Direction of travel; needs a spread. It is from true north unless --north says otherwise.",
)
@number_option("direction-sd-deg", "Its standard deviation. [degree]")
@number_option("direction-spread-deg", "In its place, the angle to either side that holds the next. [degree]")
@number_option("direction-confidence", "Share within the spread.")
@number_option("other-directions-share", "Share of cases in which the direction says nothing.")
@unit_option()
@north_option(required=False)
@date_option("Date of a magnetic direction, which needs one.")
@_shape_option("not-crossed", "GeoJSON LineString of a line that was not crossed. Repeat it.")
@_shape_option("excluded", "GeoJSON Polygon where the person is not. Repeat it.")
@_shape_option("within", "GeoJSON Polygon that the person has not left. Repeat it.")
@click.option(
    "--side",
    "sides",
    type=(click.File(encoding="utf-8"), position_text),
    multiple=True,
    metavar="FILE PLACE",
    help="GeoJSON LineString of a line, and a place on the side of it that the person is on. Repeat it.",
)
@click.option(
    "--share", "shares", type=float, multiple=True, help="Share of likelihood to give an area for. Repeat it."
)
@place_options
def search_areas(client: Client, last_known: str, **arguments: Any) -> SearchAreas:
    """Where somebody overdue on foot may be, as nested areas."""
    return client.search_areas.find(last_known, **_request(arguments))
