"""`threenorths positions`, and how every command prints a place."""

from __future__ import annotations

from typing import Any, get_args

import click

from ..client import Client
from ..places import Position, ReadPlace, UpsCoordinates, UtmCoordinates
from ..positions import PositionRead, Take
from . import words
from .options import position_argument
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["place_rows", "positions", "read_place_rows"]


def place_rows(place: Position, label: str = "Grid reference") -> Rows:
    """A place on its grid and by latitude and longitude."""
    return [
        (label, f"{place.mgrs_spaced}, a square of {place.square_m:,.0f} m"),
        ("Latitude, longitude", place.written.decimal_degrees),
    ]


def read_place_rows(place: ReadPlace, label: str = "Place") -> Rows:
    """A place of the request: what was understood, and where that is."""
    return [
        (label, place.read_as),
        ("Latitude, longitude", words.latitude_longitude(place.lat_deg, place.lon_deg)),
    ]


def _tables(answer: PositionRead) -> Tables:
    return [
        [
            ("Read as", answer.read_as),
            *_given_to(answer),
            *place_rows(answer),
            ("", answer.written.degrees_minutes),
            ("", answer.written.degrees_minutes_seconds),
            *_grid_rows(answer),
            ("Convergence", f"{words.east_west(answer.convergence_deg)}; from true to grid north"),
            ("Point scale factor", words.factor(answer.point_scale_factor)),
        ]
    ]


def _given_to(answer: PositionRead) -> Rows:
    return [] if answer.resolution_m is None else [("Given to", words.length_m(answer.resolution_m))]


def _grid_rows(place: Position) -> Rows:
    """The place on UTM or UPS, to a decimetre so that a square's centre shows as one."""
    utm, ups = place.utm, place.ups
    rows: Rows = []
    if utm is not None:
        rows.append(("UTM", f"zone {utm.zone}{utm.band}, {_coordinates(utm)}"))
    if ups is not None:
        rows.append(("UPS", f"{ups.band}, {_coordinates(ups)}"))
    if place.central_meridian_deg is not None and place.east_of_central_meridian_m is not None:
        meridian = words.east_west(place.central_meridian_deg, places=0)
        side = "east" if place.east_of_central_meridian_m >= 0.0 else "west"
        off = words.length_m(abs(place.east_of_central_meridian_m))
        rows.append(("Central meridian", f"{meridian}; the place is {off} {side} of it"))
    return rows


def _coordinates(grid: UtmCoordinates | UpsCoordinates) -> str:
    return f"{grid.easting_m:.1f} m E, {grid.northing_m:.1f} m N, {grid.hemisphere}ern hemisphere"


@operation_command(
    "positions",
    _tables,
    examples=(
        'threenorths positions "33V VE 123 678"',
        'threenorths positions "-33.9, 18.4" --digits 4',
    ),
)
@position_argument("position")
@click.option(
    "--digits",
    type=int,
    help="Digits a side to write the grid reference with: 5 is a square of 1 m, 0 one of 100 km.",
)
@click.option(
    "--take",
    type=click.Choice(get_args(Take)),
    help="What of a grid reference's square to take; its centre unless said.",
)
def positions(client: Client, position: str, **arguments: Any) -> PositionRead:
    """Read a written position and give it in every form.

    POSITION is a grid reference, UTM or UPS coordinates, or latitude and longitude. Quote a position that has blanks.
    """
    return client.positions.read(position, **arguments)
