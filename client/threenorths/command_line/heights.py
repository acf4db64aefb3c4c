"""`threenorths heights`"""

from __future__ import annotations

from typing import Any, get_args

import click

from ..client import Client
from ..heights import Height, HeightMethod
from . import words
from .options import number_option
from .running import operation_command
from .tables import Tables

__all__ = ["heights"]


def _tables(answer: Height) -> Tables:
    distance = words.length_with_sd_m(answer.distance_m, answer.distance_sd_m)
    return [
        [
            ("Height", words.length_with_sd_m(answer.height_m, answer.height_sd_m)),
            ("Shadow" if answer.method == "shadow" else "Distance, level", distance),
        ]
    ]


@operation_command(
    "heights",
    _tables,
    examples=(
        "threenorths heights top_and_base --distance-m 60 --top-deg 25 --base-deg 4",
        "threenorths heights shadow --shadow-m 21 --stick-m 1.5 --stick-shadow-m 1.8",
    ),
)
@click.argument("method", type=click.Choice(get_args(HeightMethod)))
@number_option("distance-m", "Level distance to the object. [metre]")
@number_option("distance-paces", "Level distance to the object in paces, with --paces-per-100-m.")
@click.option(
    "--distance-along-ground",
    is_flag=True,
    default=None,
    help="The distance was measured along the sloping ground, from the feet to the base.",
)
@number_option("top-deg", "Angle of elevation of the top. [degree]")
@number_option("base-deg", "Angle of elevation of the base, down negative. [degree]")
@number_option("eye-height-m", "Height of the eye above the feet. [metre]")
@number_option("base-rise-m", "How far the base lies above the feet, below negative. [metre]")
@number_option("apart-m", "Level distance between the two stations. [metre]")
@number_option("apart-paces", "Level distance between the two stations in paces, with --paces-per-100-m.")
@number_option("near-top-deg", "Angle of the top from the nearer station. [degree]")
@number_option("near-base-deg", "Angle of the base from the nearer station. [degree]")
@number_option("far-top-deg", "Angle of the top from the farther station. [degree]")
@number_option("far-base-deg", "Angle of the base from the farther station. [degree]")
@number_option("near-above-far-m", "How far the nearer eye is above the farther one. [metre]")
@number_option("shadow-m", "Length of the object's shadow. [metre]")
@number_option("shadow-paces", "Length of the object's shadow in paces, with --paces-per-100-m.")
@number_option("stick-m", "Height of the upright stick. [metre]")
@number_option("stick-shadow-m", "Length of the stick's shadow at the same time. [metre]")
@number_option("stick-distance-m", "Distance of the stick from the eye. [metre]")
@number_option("paces-per-100-m", "The walker's own count over 100 m of like ground.")
@number_option("distance-sd-m", "Standard deviation of the distance. [metre]")
@number_option("apart-sd-m", "Standard deviation of the distance between the stations. [metre]")
@number_option("shadow-sd-m", "Standard deviation of the shadow. [metre]")
@number_option("stick-sd-m", "Standard deviation of each length at the stick. [metre]")
@number_option("eye-height-sd-m", "Standard deviation of the height of the eye. [metre]")
@number_option("base-rise-sd-m", "Standard deviation of the base's rise. [metre]")
@number_option("near-above-far-sd-m", "Standard deviation of the stations' difference in height. [metre]")
@number_option("angle-sd-deg", "Standard deviation of each angle. [degree]")
def heights(client: Client, method: HeightMethod, **arguments: Any) -> Height:
    """Height of a tower, tree or cliff.

    top takes the angle of the top alone; top_and_base those of both, on any slope; two_stations and
    two_stations_and_base the same from two places in line with it; shadow its shadow beside a stick's; stick its top
    sighted over a stick.
    """
    return client.heights.find(method, **arguments)
