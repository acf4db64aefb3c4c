"""`threenorths gradients`"""

from __future__ import annotations

from typing import Any, get_args

import click

from ..client import Client
from ..gradients import Gradient, GradientMethod
from . import words
from .options import number_option, number_or_text
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["gradients"]


def _tables(answer: Gradient) -> Tables:
    way = "downhill" if answer.gradient_percent < 0.0 else "uphill"
    spread = "" if answer.gradient_sd_percent is None else f", give or take {answer.gradient_sd_percent:.1f}"
    slope: Rows = [
        ("Gradient", f"{abs(answer.gradient_percent):.1f}{spread} per cent {way}"),
        ("", words.degrees(answer.gradient_deg), f"{abs(answer.gradient_mil):.0f} mils"),
    ]
    if answer.run_per_rise is not None:
        slope.append(("", f"1 in {abs(answer.run_per_rise):,.1f}"))
    lengths: Rows = [
        ("Fall" if answer.rise_m < 0.0 else "Rise", words.length_m(abs(answer.rise_m))),
        ("On the ground, level", words.length_m(answer.ground_m)),
        ("Along the slope", words.length_m(answer.slope_m)),
    ]
    return [slope, lengths, _spacing(answer), _steepest(answer)]


def _spacing(answer: Gradient) -> Rows:
    if answer.spacing_m is None:
        return []
    on_map = () if answer.spacing_mm is None else (f"{answer.spacing_mm:.2f} mm on the map",)
    return [("Contours lie apart", words.length_m(answer.spacing_m), *on_map)]


def _steepest(answer: Gradient) -> Rows:
    place = answer.steepest
    if place is None:
        return []
    way = "downhill" if place.gradient_percent < 0.0 else "uphill"
    return [
        ("Steepest", f"from {place.from_mm:.1f} to {place.to_mm:.1f} mm along the line"),
        (
            "",
            f"{abs(place.gradient_percent):.0f}, give or take {place.gradient_sd_percent:.0f} per cent {way}, "
            f"{words.degrees(place.gradient_deg)}",
        ),
    ]


@operation_command(
    "gradients",
    _tables,
    examples=(
        "threenorths gradients rise --contours 7 --contour-interval-m 20 --map-mm 18 --scale 1:50,000",
        "threenorths gradients crossings --scale 25000 --crossing 0 840 --crossing 2.5 820 --crossing 3.6 800",
    ),
)
@click.argument("method", type=click.Choice(get_args(GradientMethod)))
@number_option("rise-m", "Height gained, lost negative. [metre]")
@number_option("contours", "Contour intervals climbed, down negative, with --contour-interval-m.")
@number_option("contour-interval-m", "Contour interval. [metre]")
@number_option("ground-m", "Level length on the ground. [metre]")
@number_option("map-mm", "Length on the map, with --scale. [millimetre]")
@number_option("spacing-mm", "Distance between neighbouring contours on the map. [millimetre]")
@click.option(
    "--crossing",
    "crossings",
    nargs=2,
    multiple=True,
    type=float,
    metavar="MM HEIGHT",
    help="Millimetres along a line on the map, and the height of the contour there in metres. Repeat it.",
)
@click.option("--scale", type=number_or_text, metavar="SCALE", help="Scale of the map: 25000, or 1:25,000.")
@number_option("rise-sd-m", "Standard deviation of the rise. [metre]")
@number_option("ground-sd-m", "Standard deviation of --ground-m. [metre]")
@number_option("map-sd-mm", "Standard deviation of a reading on the map. [millimetre]")
def gradients(
    client: Client, method: GradientMethod, crossings: tuple[tuple[float, float], ...], **arguments: Any
) -> Gradient:
    """Gradient and contours.

    rise takes a rise or a count of contours over a length; spacing how far apart contours lie on the map; crossings
    finds the steepest place of a line on the map.
    """
    return client.gradients.find(method, crossings=crossings or None, **arguments)
