"""`threenorths reckonings`"""

from __future__ import annotations

import re
from typing import Any

import click

from ..client import Client
from ..reckonings import Closure, Leg, Reckoning
from . import words
from .options import (
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
from .positions import place_rows, read_place_rows
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["reckonings"]

CLOSING = "A reckoned place is no fix: check it against the map and the ground, and take a sight as soon as one is to be had."
_LENGTH = re.compile(r"(?P<number>[0-9]+\.?[0-9]*)\s*(?P<unit>m|paces|min)", re.IGNORECASE)
_MEMBERS = {"m": "distance_m", "paces": "paces", "min": "time_min"}


def _tables(answer: Reckoning) -> Tables:
    legs: Rows = [("Leg", "true", "length", "so far", "known to", "back to the start")]
    for number, leg in enumerate(answer.legs, start=1):
        legs.append(
            (
                str(number),
                words.azimuth(leg.true_azimuth_deg),
                words.length_m(leg.length_m),
                words.length_m(leg.walked_m),
                words.length_m(leg.ellipse.semi_major_m),
                f"{words.length_m(leg.to_start_m)} at {words.azimuth(leg.to_start_true_azimuth_deg)} true",
            )
        )
    ends = [*read_place_rows(answer.start, "Start"), *place_rows(answer.position, "Leads to")]
    return [ends, legs, _closure_rows(answer.closure)]


def _closure_rows(closure: Closure | None) -> Rows:
    if closure is None:
        return []
    missed = closure.misclosure
    ratio = "" if missed.one_in is None else f", 1 in {missed.one_in:,.0f} of the way"
    rows: Rows = [
        ("Misses the known end by", f"{words.length_m(missed.distance_m)}{ratio}"),
        ("The stated errors explain it", "yes" if missed.explained else "no"),
    ]
    why = closure.explanation
    if why is not None:
        compass = words.side(why.compass_error_deg, "too high", "too low") + words.give_or_take(
            why.compass_error_sd_deg
        )
        rows.append(("Explained by bearings", compass))
        length = f"{100 * why.length_error_ratio:+.1f} per cent, give or take {100 * why.length_error_sd_ratio:.1f}"
        rows.append(("and by lengths", length))
    return rows


def _leg(bearing: str, text: str) -> Leg:
    match = _LENGTH.fullmatch(text.strip())
    if match is None:
        raise click.BadParameter(f"{text!r} is no length: write 350m, 240paces or 12min.", param_hint="--leg")
    length: dict[str, Any] = {_MEMBERS[match["unit"].lower()]: float(match["number"])}
    return Leg(bearing=number_or_text(bearing), **length)


@operation_command(
    "reckonings",
    _tables,
    CLOSING,
    examples=(
        'threenorths reckonings "33V VE 1234 6789" --north magnetic --date today --paces-per-100-m 64 '
        "--leg 96 410paces --leg 140 275paces",
        'threenorths reckonings "33V VE 12340 67890" --north grid --leg 90 800m --leg 180 600m --end "33V VE 13180 67310"',
    ),
)
@position_argument("start")
@click.option(
    "--leg",
    "legs",
    nargs=2,
    multiple=True,
    required=True,
    metavar="BEARING LENGTH",
    help="A leg: its bearing, and 350m, 240paces or 12min. Repeat it.",
)
@north_option()
@unit_option()
@date_option("Date of magnetic bearings, which need one.")
@click.option("--end", type=position_text, metavar="PLACE", help="A known place that the walk ended at.")
@number_option("start-sd-m", "Standard deviation of the start. [metre]")
@number_option("end-sd-m", "Standard deviation of the known end. [metre]")
@number_option("paces-per-100-m", "Your count over 100 m of like ground.")
@number_option("speed-km-per-h", "Speed of legs by time. [km/h]")
@number_option("heading-sd-deg", "Standard deviation of the direction of each leg. [degree]")
@number_option("compass-sd-deg", "Standard deviation of what turns all legs alike. [degree]")
@number_option("length-sd-ratio", "Standard deviation of each leg's length, over it.")
@number_option("scale-sd-ratio", "Standard deviation of what all lengths have too much, over them.")
@number_option("timed-length-sd-ratio", "Standard deviation of each length by the watch, over it.")
@number_option("timed-scale-sd-ratio", "Standard deviation of the speed of all legs by the watch, over it.")
@place_options
def reckonings(client: Client, start: str, legs: tuple[tuple[str, str], ...], **arguments: Any) -> Reckoning:
    """Where a walk of legs leads, and how it closes on a known end."""
    return client.reckonings.walk(start, [_leg(*leg) for leg in legs], **with_sheet(arguments))
