"""`threenorths widths`"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, get_args

import click

from ..client import Client
from ..widths import WalkedAngle, Width, WidthMethod
from . import words
from .options import number_option, number_or_text, unit_option
from .running import operation_command
from .tables import Tables

__all__ = ["widths"]

Decorated = TypeVar("Decorated", bound=Callable[..., Any])


def _tables(answer: Width) -> Tables:
    return [
        [
            ("Width", words.length_with_sd_m(answer.width_m, answer.width_sd_m)),
            ("From the start", words.length_with_sd_m(answer.from_start_m, answer.from_start_sd_m)),
            ("From the end", words.length_with_sd_m(answer.from_end_m, answer.from_end_sd_m)),
            ("The lines cross at", words.degrees(answer.crossing_angle_deg)),
            ("Base", words.length_m(answer.base_m)),
        ]
    ]


def _direction(name: str, use: str) -> Callable[[Decorated], Decorated]:
    return click.option(name, type=number_or_text, metavar="BEARING", help=use)


@operation_command(
    "widths",
    _tables,
    examples=(
        "threenorths widths two_bearings --base-m 75 --base-azimuth 90 --start-bearing 38 --end-bearing 338",
        "threenorths widths walked_angle --base-paces 30 --paces-per-100-m 62 --walked-angle 45",
    ),
)
@click.argument("method", type=click.Choice(get_args(WidthMethod)))
@number_option("base-m", "Level length of the base. [metre]")
@number_option("base-paces", "Level length of the base in paces, with --paces-per-100-m.")
@number_option("paces-per-100-m", "The walker's own count over 100 m of like ground.")
@_direction("--base-azimuth", "Direction of the base from its start.")
@_direction("--start-bearing", "Direction of the mark from the start of the base.")
@_direction("--end-bearing", "Direction of the mark from the end of the base.")
@_direction("--river-azimuth", "Direction of the bank, either way; left out, the base lies along it.")
@unit_option()
@click.option(
    "--walked-angle",
    type=click.Choice(get_args(WalkedAngle)),
    help="Angle at the end of a base that was walked till the mark stood so: 63_26 is 63 degrees 26 minutes.",
)
@number_option("set-back-m", "How far the start stands back from the near edge. [metre]")
@number_option("base-sd-m", "Standard deviation of the base. [metre]")
@number_option("bearing-sd-deg", "Standard deviation of each direction. [degree]")
def widths(client: Client, method: WidthMethod, **arguments: Any) -> Width:
    """Width of a river that is not crossed.

    The base is measured along the near bank; take all directions from one north. two_bearings has the mark's bearings
    from both ends, offset a base turned off at 90 degrees from the mark and the bearing from its end, walked_angle a base
    walked so until the mark stood at a named angle.
    """
    return client.widths.find(method, **arguments)
