"""`threenorths sky-bearings`"""

from __future__ import annotations

from typing import Any, get_args

import click

from ..client import Client
from ..sky_bearings import SkyBearing, SkyBody, SkyPart
from . import words
from .options import model_option, moment_option, number_option, place_options, position_argument, with_sheet
from .positions import read_place_rows
from .running import operation_command
from .tables import Tables

__all__ = ["sky_bearings"]

_PARTS = {
    "centre": "its middle",
    "left_limb": "its left edge",
    "right_limb": "its right edge",
    "shadow": "the shadow it casts",
}


def _tables(answer: SkyBearing) -> Tables:
    true_sd = words.give_or_take(answer.true_azimuth_sd_deg)
    declination = words.east_west(answer.declination_deg) + words.give_or_take(answer.declination_sd_deg)
    return [
        [*read_place_rows(answer.position), ("Moment", words.moment(answer.moment))],
        [
            (
                answer.body.capitalize(),
                f"{_PARTS.get(answer.part, answer.part)}; {words.spoken(answer.status)}",
            ),
            ("True", words.azimuth(answer.true_azimuth_deg) + true_sd),
            ("Grid", words.azimuth(answer.grid_azimuth_deg) + true_sd),
            (
                "Magnetic",
                words.azimuth(answer.magnetic_azimuth_deg)
                + words.give_or_take(answer.magnetic_azimuth_sd_deg),
            ),
            ("Changes by", f"{words.signed(answer.change_deg_per_min, 2)} degrees a minute"),
            ("Altitude", words.side(answer.altitude_deg, "above the horizon", "below the horizon")),
        ],
        [("Declination", declination), ("Convergence", words.east_west(answer.convergence_deg))],
    ]


@operation_command(
    "sky-bearings",
    _tables,
    "Compass error: what was read less the magnetic direction above.",
    examples=(
        'threenorths sky-bearings sun "33V VE 12345 67890" --moment 2026-06-14T08:30+02:00 --part shadow',
        'threenorths sky-bearings polaris "33V VE 12345 67890" --moment now',
    ),
)
@click.argument("body", type=click.Choice(get_args(SkyBody)))
@position_argument("position")
@moment_option("moment", "When it is sighted.")
@click.option(
    "--part",
    type=click.Choice(get_args(SkyPart)),
    help="What of it is sighted; its middle unless said. Take the shadow of a plumb line for the sun.",
)
@number_option("height-m", "Height above the WGS 84 ellipsoid. [metre]")
@number_option("watch-sd-s", "Standard deviation of the watch. [second]")
@model_option()
@place_options
def sky_bearings(client: Client, body: SkyBody, position: str, **arguments: Any) -> SkyBearing:
    """The bearing of the sun, the moon or Polaris, to check a compass by.

    Never look at the sun, and never sight it through a lens or a mirror: it blinds. Take the shadow of a plumb line.
    """
    return client.sky_bearings.at(body, position, **with_sheet(arguments))
