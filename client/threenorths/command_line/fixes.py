"""`threenorths intersections` and `threenorths resections`: the fixes of bearings alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeVar

import click

from ..client import Client
from ..sights import Ellipse, Fix, SightFrom, SightTo
from . import words
from .options import (
    date_option,
    north_option,
    number_or_text,
    place_options,
    position_text,
    unit_option,
    with_sheet,
)
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["CLOSING", "bearing_with_sd", "both_ways", "intersections", "resections"]

CLOSING = (
    "Check this fix against the map and the ground before anybody acts on it. The search manager in charge, local rules "
    "and trained people on the spot have the last word."
)

Decorated = TypeVar("Decorated", bound=Callable[..., Any])
Sight = TypeVar("Sight", SightFrom, SightTo)

_BEARING_WITH_SD = re.compile(r"(?P<bearing>.*\S)\s+sd\s+(?P<sd_deg>[0-9.]+)", re.IGNORECASE)


def _tables(answer: Fix) -> Tables:
    ellipse = answer.ellipse
    fix: Rows = [
        ("Grid reference", answer.position.mgrs_spaced),
        ("Latitude, longitude", answer.position.written.decimal_degrees),
        ("Known to within", f"{words.length_m(ellipse.semi_major_m)} along {both_ways(ellipse)},"),
        ("", f"{words.length_m(ellipse.semi_minor_m)} across:"),
        ("", f"{ellipse.confidence:.0%} sure, if no sight is a blunder"),
        ("The lines cross at", words.degrees(answer.crossing_angle_deg)),
        *_compass_error(answer),
        ("Sights to spare", str(answer.degrees_of_freedom)),
    ]
    return [fix, _sight_rows(answer)]


def _sight_rows(answer: Fix) -> Rows:
    places = 1 if min(answer.sd_deg) >= 0.1 else 3
    rows: Rows = [("Sight", "misses by, degrees", "give or take", "distance")]
    sights = zip(answer.residuals_deg, answer.sd_deg, answer.distances_m, strict=True)
    for number, (residual, sd, distance) in enumerate(sights, start=1):
        rows.append((str(number), words.signed(residual, places), f"{sd:.2g}", words.length_m(distance)))
    return rows


def both_ways(ellipse: Ellipse) -> str:
    """The two ways of the longer axis."""
    there = round(ellipse.major_axis_azimuth_deg) % 180
    return f"{there} and {there + 180} degrees true"


def _compass_error(answer: Fix) -> Rows:
    if answer.compass_error_deg is None:
        return []
    error = words.side(answer.compass_error_deg, "too high", "too low")
    return [("The compass reads", error + words.give_or_take(answer.compass_error_sd_deg))]


def _sights(kind: type[Sight], texts: tuple[tuple[str, str], ...]) -> list[Sight]:
    return [_sight(kind, place, bearing) for place, bearing in texts]


def _sight(kind: type[Sight], place: str, text: str) -> Sight:
    return kind(position_text(place), *bearing_with_sd(text, "--sight"))


def bearing_with_sd(text: str, hint: str) -> tuple[float | str, float | None]:
    """A bearing, and its own standard deviation where one follows it."""
    match = _BEARING_WITH_SD.fullmatch(text.strip())
    if match is None:
        return number_or_text(text), None
    sd_deg = number_or_text(match["sd_deg"])
    if isinstance(sd_deg, str):
        raise click.BadParameter(f"{sd_deg!r} is no standard deviation in degrees.", param_hint=hint)
    return number_or_text(match["bearing"]), sd_deg


def _sight_options(place: str) -> Callable[[Decorated], Decorated]:
    """The options of a fix; ``place`` says what is known of a sight."""

    def decorate(command: Decorated) -> Decorated:
        options = [
            click.option(
                "--sight",
                "sights",
                nargs=2,
                multiple=True,
                required=True,
                metavar="PLACE BEARING",
                help=f"{place}, and the bearing read. Repeat it. A bearing's own standard deviation in degrees may follow "
                'it: "331 sd 1". Quote what has blanks.',
            ),
            north_option(),
            unit_option(),
            date_option("Date of magnetic bearings, which need one."),
            click.option(
                "--sd-deg", type=float, help="Standard deviation of every sight that says none. [degree]"
            ),
        ]
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


@operation_command(
    "intersections",
    _tables,
    CLOSING,
    examples=(
        'threenorths intersections --north magnetic --date today --sight "33V VE 1200 6500" 52 '
        '--sight "33V VE 1710 6480" "331 sd 1"',
    ),
)
@_sight_options("A known place that a bearing was taken at")
@place_options
def intersections(client: Client, sights: tuple[tuple[str, str], ...], **arguments: Any) -> Fix:
    """An unknown place from bearings taken at known places."""
    return client.intersections.fix(_sights(SightFrom, sights), **with_sheet(arguments))


@operation_command(
    "resections",
    _tables,
    CLOSING,
    examples=(
        'threenorths resections --north magnetic --date today --solve-compass-error --sight "33V VE 1200 6500" 227 '
        '--sight "33V VE 1710 6480" 128 --sight "33V VE 1460 7110" 354',
    ),
)
@_sight_options("A known mark that a bearing was taken to")
@click.option(
    "--solve-compass-error",
    is_flag=True,
    default=None,
    help="Find an error common to all the readings too; it needs three sights, well spread.",
)
@place_options
def resections(client: Client, sights: tuple[tuple[str, str], ...], **arguments: Any) -> Fix:
    """Your own place from bearings taken to known marks."""
    return client.resections.fix(_sights(SightTo, sights), **with_sheet(arguments))
