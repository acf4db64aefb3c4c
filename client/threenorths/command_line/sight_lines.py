"""`threenorths sight-lines`"""

from __future__ import annotations

import re
from typing import IO, Any

import click

from ..client import Client
from ..sight_lines import HiddenStretch, SightLine
from . import words
from .options import number_option, place_options, position_text, with_sheet
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["sight_lines"]

CLOSING = (
    "Look along the line itself before anybody relies on it: the profile knows of no forest, building, haze or person in "
    "the way."
)

_VERDICTS = {
    "visible": "seen",
    "not_visible": "not seen",
    "too_close_to_tell": "too close to tell",
}
_BETWEEN_NUMBERS = re.compile(r"[\s,;]+")


def _tables(answer: SightLine) -> Tables:
    side = "over" if answer.clearance_m >= 0.0 else "under"
    place = words.length_m(answer.obstruction_distance_m)
    clearance = words.length_with_sd_m(abs(answer.clearance_m), answer.clearance_sd_m)
    sight: Rows = [
        ("The target is", _VERDICTS.get(answer.verdict, answer.verdict)),
        ("The line passes", f"{clearance}, {side} the ground {place} off"),
    ]
    heights: Rows = [
        ("Above the ground", "by the heights as they stand", "to be sure"),
        _height_row("Target seen from", answer.least_target_height_m, answer.sure_target_height_m),
        _height_row("Eye sees it from", answer.least_observer_height_m, answer.sure_observer_height_m),
    ]
    hidden: Rows = [
        *_stretch_rows("Dead ground", answer.dead_ground),
        *_stretch_rows("Target hidden", answer.target_hidden),
    ]
    return [sight, heights, hidden]


def _height_row(label: str, least_m: float, sure_m: float | None) -> tuple[str, ...]:
    return (label, _above(least_m), "over 1,000 m" if sure_m is None else _above(sure_m))


def _above(height_m: float) -> str:
    return "the ground" if height_m == 0.0 else words.length_m(height_m)


def _stretch_rows(label: str, stretches: tuple[HiddenStretch, ...]) -> Rows:
    texts = [f"{words.length_m(each.from_m)} to {words.length_m(each.to_m)}" for each in stretches] or [
        "none"
    ]
    return [(label if number == 0 else "", text) for number, text in enumerate(texts)]


def _profile(file: IO[str]) -> list[tuple[float, float]]:
    """The points that a file holds, one a line: its distance and its height."""
    points = []
    for number, line in enumerate(file, start=1):
        if not line.strip():
            continue
        try:
            distance_m, height_m = (float(part) for part in _BETWEEN_NUMBERS.split(line.strip()))
        except ValueError:
            raise click.BadParameter(
                f"line {number} is not two numbers, a distance and a height.", param_hint="FILE"
            ) from None
        points.append((distance_m, height_m))
    return points


@operation_command(
    "sight-lines",
    _tables,
    CLOSING,
    examples=("threenorths sight-lines profile.txt --contour-interval-m 10 --target-height-m 3",),
)
@click.argument("profile", type=click.File(encoding="utf-8"), metavar="FILE")
@number_option("contour-interval-m", "Contour interval that the heights were read from. [metre]")
@number_option("height-sd-m", "In place of it: standard deviation of the heights. [metre]")
@number_option("observer-height-m", "Height of the eye above the ground. [metre]")
@number_option("target-height-m", "Height of the target above the ground. [metre]")
@number_option("refraction-k", "Coefficient of refraction.")
@number_option("refraction-k-sd", "Standard deviation of the coefficient of refraction.")
@number_option("height-correlation-m", "Distance over which errors of the heights are alike. [metre]")
@number_option("radius-m", "Radius of the earth along the line. [metre]")
@click.option(
    "--position",
    type=position_text,
    metavar="POSITION",
    help="The observer's place, which tells the radius with --azimuth-deg. Quote it.",
)
@number_option("azimuth-deg", "Direction of the line from true north. [degree]")
@place_options
def sight_lines(client: Client, profile: IO[str], **arguments: Any) -> SightLine:
    """Whether one place sees another over the ground between.

    FILE has a point of the ground on each line, from the observer to the target: its distance from the observer and its
    height, in metres. - reads it from the standard input. How well the heights are known has to be said.
    """
    return client.sight_lines.check(_profile(profile), **with_sheet(arguments))
