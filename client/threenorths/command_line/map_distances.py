"""`threenorths map-distances`"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from ..client import Client
from ..map_distances import MapDistance
from . import words
from .options import number_or_text
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["map_distances"]

Decorated = TypeVar("Decorated", bound=Callable[..., Any])


def _tables(answer: MapDistance) -> Tables:
    rows = [*_on_the_map(answer), *_on_the_ground(answer), *_on_the_slope(answer)]
    return [rows]


def _on_the_map(answer: MapDistance) -> Rows:
    if answer.scale is None or answer.map_mm is None or answer.map_in is None:
        return []
    return [
        ("Scale", f"1:{answer.scale:,.0f}"),
        ("On the map", f"{answer.map_mm:.1f} mm", f"{answer.map_in:.2f} in"),
    ]


def _on_the_ground(answer: MapDistance) -> Rows:
    metric = (words.length_m(answer.ground_m), f"{answer.ground_km:,.3f} km")
    other = (f"{answer.ground_yd:,.0f} yd", f"{answer.ground_ft:,.0f} ft")
    miles = (f"{answer.ground_mi:,.2f} statute miles", f"{answer.ground_nmi:,.2f} nautical miles")
    return [
        ("On the ground, level", *metric),
        ("", *other),
        ("", *miles),
        *_paces("Paces, level", answer.ground_paces),
    ]


def _on_the_slope(answer: MapDistance) -> Rows:
    rows: Rows = []
    if answer.slope_m is not None:
        rows.append(("Along the slope", words.length_m(answer.slope_m)))
    rows += _paces("Paces along the slope", answer.slope_paces)
    if answer.rise_m is not None:
        rows.append((f"{'Rise' if answer.rise_m >= 0.0 else 'Fall'}", words.length_m(abs(answer.rise_m))))
    if answer.gradient_percent is not None and answer.gradient_deg is not None:
        way = "uphill" if answer.gradient_percent >= 0.0 else "downhill"
        gradient = f"{abs(answer.gradient_percent):.0f} per cent {way}"
        rows.append(("Gradient", gradient, words.degrees(answer.gradient_deg)))
    return rows


def _paces(label: str, paces: float | None) -> Rows:
    return [] if paces is None else [(label, f"{paces:,.0f}")]


def _length(name: str, what: str) -> Callable[[Decorated], Decorated]:
    return click.option(name, type=float, help=what)


@operation_command(
    "map-distances",
    _tables,
    examples=(
        "threenorths map-distances --scale 1:25,000 --map-mm 87",
        "threenorths map-distances --ground-km 1.2 --gradient-percent 18 --paces-per-100-m 66",
    ),
)
@click.option("--scale", type=number_or_text, metavar="SCALE", help="Scale of the map: 25000, or 1:25,000.")
@_length("--map-mm", "Length on the map. [millimetre]")
@_length("--map-cm", "Length on the map. [centimetre]")
@_length("--map-in", "Length on the map. [inch]")
@_length("--ground-m", "Level length on the ground. [metre]")
@_length("--ground-km", "Level length on the ground. [kilometre]")
@_length("--ground-ft", "Level length on the ground. [international foot]")
@_length("--ground-yd", "Level length on the ground. [yard]")
@_length("--ground-mi", "Level length on the ground. [statute mile]")
@_length("--ground-nmi", "Level length on the ground. [nautical mile]")
@_length("--ground-paces", "Level length on the ground in paces, with --paces-per-100-m.")
@_length(
    "--paces-per-100-m", "The walker's own count over 100 m of like ground; it adds paces to the answer."
)
@_length("--slope-m", "Length along the slope. [metre]")
@_length("--rise-m", "Height gained; lost is negative. [metre]")
@_length("--gradient-percent", "Rise over level length; downhill is negative. [per cent]")
@_length("--gradient-deg", "Angle of the slope; downhill is negative. [degree]")
def map_distances(client: Client, **arguments: Any) -> MapDistance:
    """Scale, map length and ground length, and slopes.

    Any two of the three give the third; a gradient or a rise adds the slope. Give each length in one unit only.
    """
    return client.map_distances.solve(**arguments)
