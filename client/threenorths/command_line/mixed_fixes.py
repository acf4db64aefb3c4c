"""`threenorths fixes`: a place from any mixture of observations."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import IO, Any

import click

from ..client import Client
from ..fixes import (
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    FixedPlace,
    Fixes,
    LineStoodOn,
    Observation,
)
from . import words
from .fixes import CLOSING, bearing_with_sd, both_ways
from .options import (
    date_option,
    north_option,
    number_option,
    place_options,
    position_text,
    unit_option,
    with_sheet,
)
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["fixes"]


def _tables(answer: Fixes) -> Tables:
    tables = [_place_rows(place, number) for number, place in enumerate(answer.places, start=1)]
    best = answer.places[0] if answer.places else answer.without_suspects
    if best is not None:
        tables.append(_observation_rows(best))
    tables.append(_suspect_rows(answer))
    if answer.without_suspects is not None:
        tables.append(_place_rows(answer.without_suspects, None))
    return tables


def _place_rows(place: FixedPlace, number: int | None) -> Rows:
    label = "Without the suspects" if number is None else "Place" if number == 1 else f"Or place {number}"
    ellipse = place.ellipse
    rows: Rows = [
        (label, place.position.mgrs_spaced),
        ("Latitude, longitude", place.position.written.decimal_degrees),
        ("Known to within", f"{words.length_m(ellipse.semi_major_m)} along {both_ways(ellipse)},"),
        ("", f"{words.length_m(ellipse.semi_minor_m)} across: {ellipse.confidence:.0%} sure"),
    ]
    rows.extend(
        ("Along the line stood on", f"give or take {words.length_m(sd)}") for sd in place.along_line_sd_m
    )
    if place.compass_error_deg is not None:
        error = words.side(place.compass_error_deg, "too high", "too low")
        rows.append(("The compass reads", error + words.give_or_take(place.compass_error_sd_deg)))
    return rows


def _observation_rows(place: FixedPlace) -> Rows:
    rows: Rows = [("Observation", "misses by", "give or take", "distance")]
    for number, each in enumerate(place.observations, start=1):
        if each.residual_deg is not None and each.sd_deg is not None:
            missed, sd = f"{words.signed(each.residual_deg)} degrees", f"{each.sd_deg:.2g}"
        else:
            missed, sd = f"{words.signed(each.residual_m or 0.0)} m", f"{each.sd_m or 0.0:.2g}"
        name = f"{number}, {each.kind.replace('_', ' ')}"
        rows.append((name, missed, sd, words.length_m(each.distance_m)))
    return rows


def _suspect_rows(answer: Fixes) -> Rows:
    rows: Rows = []
    for suspect in answer.suspects:
        rows.append((f"Observation {suspect.observation + 1}", "contradicts the others"))
        if suspect.rivals:
            others = ", ".join(str(rival + 1) for rival in suspect.rivals)
            rows.append(("Or in its stead", f"observation {others}"))
        if not suspect.explanations:
            rows.append(("It may have been", "no slip that was tried"))
        for found in suspect.explanations:
            rows.append(("It may have been", found.explanation))
            left = f"then misses by {abs(found.left_sds):.1f} standard deviations"
            rows.append(
                ("", f"{left}; some slip fits one reading in {1 / max(found.chance, 1e-3):.0f} by chance")
            )
    return rows


def _observations(arguments: dict[str, Any]) -> Iterator[Observation]:
    """The observations of the options, which are taken out of the arguments."""
    for place, text in arguments.pop("bearings_to"):
        bearing, sd_deg = bearing_with_sd(text, "--bearing-to")
        yield BearingTo(position_text(place), bearing, sd_deg=sd_deg)
    for place, text in arguments.pop("bearings_from"):
        bearing, sd_deg = bearing_with_sd(text, "--bearing-from")
        yield BearingFrom(position_text(place), bearing, sd_deg=sd_deg)
    for place, distance_m, sd_m in arguments.pop("distances"):
        yield DistanceTo(position_text(place), distance_m, sd_m)
    for left, right, text in arguments.pop("angles"):
        angle, sd_deg = bearing_with_sd(text, "--angle")
        yield AngleBetween(position_text(left), position_text(right), angle, sd_deg)
    for file in arguments.pop("lines"):
        yield LineStoodOn(_line(file))


def _line(file: IO[str]) -> Any:
    try:
        return json.load(file)
    except ValueError as error:
        raise click.BadParameter(f"the file holds no JSON: {error}", param_hint="--line") from None


@operation_command(
    "fixes",
    _tables,
    CLOSING,
    examples=(
        'threenorths fixes --north magnetic --date today --bearing-to "33V VE 1210 7077" 322 '
        '--distance "33V VE 1660 6422" 2460 75',
    ),
)
@click.option(
    "--bearing-to",
    "bearings_to",
    nargs=2,
    multiple=True,
    metavar="MARK BEARING",
    help='A bearing to a known mark; its standard deviation may follow it: "331 sd 1". Repeat it.',
)
@click.option(
    "--bearing-from",
    "bearings_from",
    nargs=2,
    multiple=True,
    metavar="PLACE BEARING",
    help="A bearing taken at a known place. Repeat it.",
)
@click.option(
    "--distance",
    "distances",
    type=(str, float, float),
    multiple=True,
    metavar="PLACE METRES SD",
    help="A level distance to a known place, with its standard deviation. [metre] Repeat it.",
)
@click.option(
    "--angle",
    "angles",
    nargs=3,
    multiple=True,
    metavar="LEFT RIGHT ANGLE",
    help="The angle from a left mark clockwise to a right one. Repeat it.",
)
@click.option(
    "--line",
    "lines",
    type=click.File(encoding="utf-8"),
    multiple=True,
    metavar="FILE",
    help="GeoJSON LineString of a line stood on, such as a road. Repeat it.",
)
@north_option(required=False)
@unit_option()
@date_option("Date of magnetic bearings, which need one.")
@number_option("sd-deg", "Standard deviation of every bearing and angle that says none. [degree]")
@click.option(
    "--solve-compass-error",
    is_flag=True,
    default=None,
    help="Find an error common to the bearings taken at the unknown place too.",
)
@click.option(
    "--other-mark",
    "other_marks",
    type=position_text,
    multiple=True,
    metavar="PLACE",
    help="A place that may have been taken for one of the marks. Repeat it.",
)
@click.option(
    "--regions", is_flag=True, default=None, help="Give the regions of the likelihood too, in the JSON."
)
@place_options
def fixes(client: Client, other_marks: tuple[str, ...], **arguments: Any) -> Fixes:
    """A place from any mixture of bearings, distances, angles and lines stood on."""
    observations = list(_observations(arguments))
    return client.fixes.find(observations, other_marks=list(other_marks) or None, **with_sheet(arguments))
