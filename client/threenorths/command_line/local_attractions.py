"""`threenorths local-attractions`"""

from __future__ import annotations

from typing import Any

import click

from ..client import Client
from ..local_attractions import LocalAttraction
from . import words
from .options import number_option, number_or_text, unit_option
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["local_attractions"]


def _tables(answer: LocalAttraction) -> Tables:
    stations: Rows = [("Station", "read too much by", "give or take", "angle", "")]
    for number, station in enumerate(answer.stations, start=1):
        found = "taken for free" if station.free else "attraction" if station.affected else ""
        stations.append(
            (
                str(number),
                words.signed(station.attraction_deg, 2),
                f"{station.attraction_sd_deg:.2f}",
                words.azimuth(station.angle_deg),
                found,
            )
        )
    legs: Rows = [("Leg", "fails 180 by", "corrected", "agrees")]
    for number, leg in enumerate(answer.legs, start=1):
        agrees = "yes" if leg.agrees else "no"
        legs.append(
            (str(number), words.signed(leg.difference_deg, 2), words.azimuth(leg.corrected_deg), agrees)
        )
    return [stations, legs, _misclosure_rows(answer)]


def _misclosure_rows(answer: LocalAttraction) -> Rows:
    if answer.misclosure_deg is None:
        return []
    return [("Round the traverse", f"{words.signed(answer.misclosure_deg, 2)} degrees, which should be none")]


@operation_command(
    "local-attractions",
    _tables,
    examples=(
        "threenorths local-attractions --leg 96 276 --leg 131 305.5 --leg 82.5 268 --sd-deg 0.5",
        'threenorths local-attractions --closed --sd-deg 0.25 --leg "40 15" "220 15" --leg "160 30" "337 45" '
        '--leg "277 20" "100 05"',
    ),
)
@click.option(
    "--leg",
    "legs",
    nargs=2,
    multiple=True,
    required=True,
    metavar="FORWARD BACK",
    help="A leg's bearings, read at its start and at its end. Repeat it.",
)
@click.option("--closed", is_flag=True, default=None, help="The last leg ends where the first began.")
@unit_option()
@number_option("sd-deg", "Standard deviation of each reading. [degree]")
def local_attractions(client: Client, legs: tuple[tuple[str, str], ...], **arguments: Any) -> LocalAttraction:
    """Iron at a station, found from forward and back bearings along a line.

    All bearings are from one north. What all stations have in common does not show.
    """
    pairs = [(number_or_text(forward), number_or_text(back)) for forward, back in legs]
    return client.local_attractions.find(pairs, **arguments)
