"""`threenorths mil-relations`"""

from __future__ import annotations

from typing import Any, get_args

import click

from ..client import Client
from ..mil_relations import MilRelation, MilUnit
from . import words
from .options import number_option
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["mil_relations"]

_UNITS = {
    "mil": "mils of 6400",
    "mil_6300": "mils of 6300",
    "mil_6000": "mils of 6000",
    "mrad": "milliradians",
}


def _tables(answer: MilRelation) -> Tables:
    unit, rule = _UNITS.get(answer.unit, answer.unit), answer.rule_of_thumb
    angle = f"{answer.angle:.1f}, give or take {answer.angle_sd:.1f} {unit}"
    exactly = {
        "width_m": ("Width", words.length_with_sd_m(answer.width_m, answer.width_sd_m)),
        "distance_m": ("Distance", words.length_with_sd_m(answer.distance_m, answer.distance_sd_m)),
        "angle": ("Angle", angle),
    }
    by_rule = {
        "width_m": words.length_m(rule.width_m),
        "distance_m": words.length_m(rule.distance_m),
        "angle": f"{rule.angle:.1f} {unit}",
    }
    difference = f"{words.signed(answer.difference_percent)} per cent off"
    found: Rows = [
        (*exactly[answer.found], "exactly"),
        ("", by_rule[answer.found], f"by the rule, {difference}"),
    ]
    return [found, [row for name, row in exactly.items() if name != answer.found]]


@operation_command(
    "mil-relations",
    _tables,
    examples=(
        "threenorths mil-relations --width-m 8 --angle 12",
        "threenorths mil-relations --distance-m 2400 --angle 85 --unit mrad",
    ),
)
@number_option("width-m", "Width, or height, across the line of sight. [metre]")
@number_option("distance-m", "Distance to it. [metre]")
@number_option("angle", "Angle between its edges, in --unit.")
@click.option(
    "--unit",
    type=click.Choice(get_args(MilUnit)),
    help="Unit of the angle: mils of 6400 unless said, of 6300 or 6000, or milliradians.",
)
@number_option("width-sd-m", "Standard deviation of the width. [metre]")
@number_option("distance-sd-m", "Standard deviation of the distance. [metre]")
@number_option("angle-sd", "Standard deviation of the angle, in --unit.")
def mil_relations(client: Client, **arguments: Any) -> MilRelation:
    """Width, distance and angle of what is seen; any two of the three give the third."""
    return client.mil_relations.solve(**arguments)
