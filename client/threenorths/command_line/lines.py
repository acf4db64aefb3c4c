"""`threenorths lines` and `threenorths rays`: from place to place, and from a place along a bearing."""

from __future__ import annotations

from typing import Any

import click

from ..client import Client
from ..lines import Line
from ..rays import Ray
from . import words
from .options import (
    date_option,
    north_option,
    number_or_text,
    place_options,
    position_argument,
    unit_option,
    with_sheet,
)
from .positions import place_rows, read_place_rows
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["lines", "rays"]


def _line_tables(answer: Line) -> Tables:
    ends = [*read_place_rows(answer.from_, "From"), *read_place_rows(answer.to, "To")]
    directions: Rows = [
        ("From north", "true", "grid", "magnetic"),
        (
            "There, degrees",
            words.azimuth(answer.true_azimuth_deg),
            words.azimuth(answer.grid_azimuth_deg),
            words.azimuth(answer.magnetic_azimuth_deg),
        ),
        (
            "Back, degrees",
            words.azimuth(answer.true_back_azimuth_deg),
            words.azimuth(answer.grid_back_azimuth_deg),
            words.azimuth(answer.magnetic_back_azimuth_deg),
        ),
    ]
    lengths: Rows = [("Distance, level", words.length_m(answer.distance_m))]
    if answer.grid_distance_m is not None and answer.mean_scale_factor is not None:
        lengths.append(("By grid coordinates", words.length_m(answer.grid_distance_m)))
        lengths.append(("Mean scale factor", words.factor(answer.mean_scale_factor)))
    if answer.date is not None:
        lengths.append(("Magnetic on", answer.date.isoformat()))
    return [ends, directions, lengths]


def _ray_tables(answer: Ray) -> Tables:
    ray: Rows = [
        ("True azimuth", f"{words.azimuth(answer.true_azimuth_deg)} degrees"),
        ("True azimuth back", f"{words.azimuth(answer.true_back_azimuth_deg)} degrees"),
        ("Distance, level", words.length_m(answer.distance_m)),
    ]
    return [place_rows(answer.position, "Ends at"), [*read_place_rows(answer.from_, "From"), *ray]]


@operation_command(
    "lines",
    _line_tables,
    examples=('threenorths lines "33V VE 12345 67890" "33V VE 15020 66410" --date today',),
)
@position_argument("from_", "FROM")
@position_argument("to")
@date_option("Date of magnetic directions; without one there are none.")
@place_options
def lines(client: Client, from_: str, to: str, **arguments: Any) -> Line:
    """Direction and distance between two places.

    Back azimuths are from the north at the far end. Quote positions that have blanks.
    """
    return client.lines.between(from_, to, **with_sheet(arguments))


@operation_command(
    "rays",
    _ray_tables,
    examples=(
        'threenorths rays "33V VE 12345 67890" --bearing 118 --north magnetic --distance-m 2500 --date today',
        'threenorths rays "33V VE 12345 67890" --bearing 2100 --unit mil --north grid --distance-m 800',
    ),
)
@position_argument("from_", "FROM")
@click.option(
    "--bearing",
    type=number_or_text,
    metavar="BEARING",
    required=True,
    help="A number in --unit, or a text in degrees such as `N 45 E`.",
)
@north_option()
@click.option("--distance-m", type=float, required=True, help="Level distance to go. [metre]")
@unit_option()
@date_option("Date of a magnetic bearing, which needs one.")
@place_options
def rays(client: Client, from_: str, bearing: float | str, **arguments: Any) -> Ray:
    """The place at the end of a bearing and a distance."""
    return client.rays.follow(from_, bearing, **with_sheet(arguments))
