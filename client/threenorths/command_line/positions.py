"""`threenorths positions`, and how every command prints a place."""

from __future__ import annotations

from typing import Any, get_args

import click

from ..client import Client
from ..places import Position, ReadPlace, UpsCoordinates, UtmCoordinates
from ..positions import PositionRead, Take
from . import words
from .options import place_options, position_argument, with_sheet
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["place_rows", "positions", "read_place_rows"]

#: The datum of all answers.
WGS84 = "WGS84"


def place_rows(place: Position, label: str = "Grid reference") -> Rows:
    """A place on its grid and by latitude and longitude."""
    return [
        (label, f"{place.mgrs_spaced}, a square of {place.square_m:,.0f} m"),
        ("Latitude, longitude", place.written.decimal_degrees),
    ]


def read_place_rows(place: ReadPlace, label: str = "Place") -> Rows:
    """A place of the request: what was understood, and where that is."""
    rows: Rows = [(label, place.read_as)]
    if place.datum != WGS84:
        rows.append(("On the datum", f"{place.datum}, good to {words.length_m(place.accuracy_m)} on {WGS84}"))
    return [*rows, ("Latitude, longitude", words.latitude_longitude(place.lat_deg, place.lon_deg))]


def _tables(answer: PositionRead) -> Tables:
    return [
        [
            ("Read as", answer.read_as),
            *_given_to(answer),
            *_shift_rows(answer),
            *place_rows(answer),
            ("", answer.written.degrees_minutes),
            ("", answer.written.degrees_minutes_seconds),
            *_grid_rows(answer),
            ("Convergence", f"{words.east_west(answer.convergence_deg)}; from true to grid north"),
            ("Point scale factor", words.factor(answer.point_scale_factor)),
        ],
        _local_rows(answer),
        _expected_rows(answer),
        _alternative_rows(answer),
    ]


def _shift_rows(answer: PositionRead) -> Rows:
    shift = answer.shift
    if shift is None:
        return []
    return [
        ("On the datum", f"{shift.datum}, {words.latitude_longitude(shift.lat_deg, shift.lon_deg)}"),
        ("Brought to WGS84 by", f"{shift.operation}, good to {words.length_m(shift.accuracy_m)}"),
    ]


def _local_rows(answer: PositionRead) -> Rows:
    local = answer.local
    if local is None:
        return []
    rows: Rows = [
        ("On its own grid", f"{local.grid}, {local.datum}"),
        ("Easting, northing", f"{local.easting_m:.1f} m E, {local.northing_m:.1f} m N"),
    ]
    if local.reference is not None:
        rows.append(("Reference", local.reference))
    return [*rows, ("Convergence", f"{words.east_west(local.convergence_deg)}; from true to its grid north")]


def _expected_rows(answer: PositionRead) -> Rows:
    expected = answer.expected
    if expected is None:
        return []
    rows: Rows = [("Where it was expected", "yes" if expected.fits else "no")]
    if expected.near_distance_m is not None:
        toward = words.azimuth(expected.near_true_azimuth_deg)
        rows.append(
            ("From the place near", f"{words.length_m(expected.near_distance_m)} at {toward} degrees true")
        )
    if expected.outside_sheet_m:
        rows.append(("Off the sheet by", words.length_m(expected.outside_sheet_m)))
    return rows


def _alternative_rows(answer: PositionRead) -> Rows:
    rows: Rows = [("If", "it is", "distance")] if answer.alternatives else []
    for other in answer.alternatives:
        rows.append((other.explanation, other.read_as, words.length_m(other.distance_m)))
    return rows


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


def _feature(client: Client, position: str, **arguments: Any) -> dict[str, Any]:
    return client.positions.feature(position, **with_sheet(arguments))


@operation_command(
    "positions",
    _tables,
    feature=_feature,
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
@place_options
def positions(client: Client, position: str, **arguments: Any) -> PositionRead:
    """Read a written position and give it in every form.

    POSITION is a grid reference, UTM or UPS coordinates, or latitude and longitude. Quote a position that has blanks.
    """
    return client.positions.read(position, **with_sheet(arguments))
