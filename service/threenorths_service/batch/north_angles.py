"""The angles between the norths of many rows, and bearings turned by them, as `operations.north_angles` has one row's."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import pyarrow as pa
from marshmallow import Schema

from ..navmath.angle import CIRCLE_DIVISIONS, FloatArray, to_degrees
from ..navmath.cautions import Caution
from ..navmath.directions.bearing import (
    NORTHS,
    NorthAngles,
    angles_agree,
    azimuths_from,
    complete_angles,
)
from ..navmath.directions.north import norths_at
from ..navmath.rows import BoolArray, IntArray
from ..operations.north_angles import GIVEN_ANGLES
from .caution_columns import joined
from .dates import years_of
from .norths import STAND_IN_YEAR, dated, norths_said
from .place_columns import place_members, places_of
from .plain_members import Some, choices_in, groups_of, kinds_of, number_in, numbers_in
from .rows import Rows

__all__ = [
    "ANGLE_MEMBERS",
    "AngleColumns",
    "Bearings",
    "angle_columns",
    "angles_answer_columns",
    "azimuths_of",
    "bearings_in",
    "dates_fit",
]

#: The members that angles are taken from in a plain way: without a sheet, another datum or a named model.
ANGLE_MEMBERS = place_members("position") | {"date", "height_m", *GIVEN_ANGLES}

#: By `AngleColumns.source`.
SOURCES = pa.array(["none", "given", "model"])
NONE, GIVEN, MODEL = range(3)

_DEGREES_OF_UNIT = np.array([to_degrees(1.0, unit) for unit in CIRCLE_DIVISIONS])
_CIRCLE_OF_UNIT = np.array(list(CIRCLE_DIVISIONS.values()))


@dataclass(frozen=True, slots=True)
class Bearings:
    """The bearings of rows in degrees, and the number of their north in `NORTHS`, -1 where none is named.

    ``fit`` are the rows that have a bearing that is a number of its unit's circle, or none; ``given`` those that have one.
    """

    azimuth_deg: FloatArray
    north: IntArray
    given: BoolArray
    fit: BoolArray


@dataclass(slots=True)
class AngleColumns:
    """`operations.north_angles.AngleSource` by columns, NaN for what is not known; nothing where ``plain`` is false."""

    plain: BoolArray
    declination_deg: FloatArray
    convergence_deg: FloatArray
    grid_magnetic_angle_deg: FloatArray
    declination_sd_deg: FloatArray
    source: IntArray
    said: dict[int, list[Caution]]

    def angles_at(self, some: Some) -> NorthAngles:
        """The angles of some rows."""
        return NorthAngles(
            self.declination_deg[some], self.convergence_deg[some], self.grid_magnetic_angle_deg[some]
        )


def bearings_in(rows: Rows, schema: Schema, member: str = "bearing") -> Bearings:
    """The numeric bearings that the rows have for a member, with their units and norths."""
    unit, units_fit = choices_in(rows, schema, "unit")
    north, norths_fit = choices_in(rows, schema, "north")
    bearing, own = numbers_in(rows, member)
    given = rows.given(member)
    # A unit that is none has the number -1, which is some other unit's: its row is not plain.
    fit = own & (bearing >= 0.0) & (bearing <= _CIRCLE_OF_UNIT[unit])
    bearing = np.where(fit, bearing, 0.0)
    if not schema.fields[member].required:
        fit |= ~given
    return Bearings(bearing * _DEGREES_OF_UNIT[unit], north, given, fit & units_fit & norths_fit)


def dates_fit(rows: Rows, years: FloatArray) -> BoolArray:
    """Which rows have a date that is one, or none; ``years`` are those of `years_of`."""
    return ~np.isnan(years) | ~rows.given("date")


def angle_columns(rows: Rows, schema: Schema) -> AngleColumns:
    """The angles of the rows, each from the one source that it names; without one, none are known."""
    angles = {name: number_in(rows, schema, name) for name in GIVEN_ANGLES}
    height_m, plain = number_in(rows, schema, "height_m")
    years = years_of(rows)
    plain = plain & dates_fit(rows, years)
    for _values, fits in angles.values():
        plain &= fits
    placed = _any_given(rows, place_members("position"))
    stated = _any_given(rows, GIVEN_ANGLES)
    plain &= ~(placed & stated)
    found = AngleColumns(
        plain=plain,
        declination_deg=np.full(rows.count, np.nan),
        convergence_deg=np.full(rows.count, np.nan),
        grid_magnetic_angle_deg=np.full(rows.count, np.nan),
        declination_sd_deg=np.full(rows.count, np.nan),
        source=np.where(placed, MODEL, np.where(stated, GIVEN, NONE)),
        said={},
    )
    if stated.any():
        _complete(found, rows, {name: values for name, (values, _fits) in angles.items()}, plain & stated)
    if placed.any():
        _model(found, rows, placed, years, height_m)
    return found


def azimuths_of(bearings: Bearings, angles: AngleColumns) -> tuple[dict[str, FloatArray], BoolArray]:
    """The bearings from each north, NaN where the angles do not reach; and which rows `azimuths_from` takes."""
    turned = {name: np.full(bearings.north.size, np.nan) for name in NORTHS}
    for north, some in kinds_of(bearings.north):
        if north < 0:
            continue
        part = azimuths_from(bearings.azimuth_deg[some], NORTHS[north], angles.angles_at(some))
        for name, column in turned.items():
            column[some] = getattr(part, name)
    reached = np.sum([~np.isnan(column) for column in turned.values()], axis=0)
    return turned, (angles.source == NONE) | (reached > 1)


def angles_answer_columns(angles: AngleColumns) -> dict[str, Callable[[], Any]]:
    """What makes the columns of the angles used, as `operations.bearings.angles_answer` answers them."""
    return {
        **{f"angles.{name}": partial(getattr, angles, name) for name in GIVEN_ANGLES},
        "angles.source": lambda: SOURCES.take(pa.array(angles.source)),
        "declination_sd_deg": lambda: angles.declination_sd_deg,
    }


def _any_given(rows: Rows, paths: frozenset[str] | tuple[str, ...]) -> BoolArray:
    given = np.zeros(rows.count, dtype=np.bool_)
    for path in paths:
        if rows.has(path):
            given |= rows.given(path)
    return given


def _complete(found: AngleColumns, rows: Rows, angles: dict[str, FloatArray], stated: BoolArray) -> None:
    """Put in the angles that are given, and the third from any two."""
    for present, some in groups_of(*(rows.given(name) & stated for name in GIVEN_ANGLES)):
        given = {name: angles[name][some] for name, here in zip(GIVEN_ANGLES, present, strict=True) if here}
        if not given:
            continue
        if all(present):
            agree = angles_agree(**given)
            found.plain[some] &= agree
            given["grid_magnetic_angle_deg"] = np.where(
                agree, given["grid_magnetic_angle_deg"], given["declination_deg"] - given["convergence_deg"]
            )
        completed = complete_angles(**given)
        for name in GIVEN_ANGLES:
            values = getattr(completed, name)
            if values is not None:
                getattr(found, name)[some] = values


def _model(
    found: AngleColumns, rows: Rows, placed: BoolArray, years: FloatArray, height_m: FloatArray
) -> None:
    """Put in the angles of the model and the grid at the places that are given."""
    at = np.flatnonzero(placed)
    whole = at.size == rows.count
    some: Some = slice(None) if whole else at
    places = places_of(rows if whole else rows.taken(at), "position", on_grid=False)
    plain = found.plain[some] & places.plain & dated(years[some])
    years, height_m = np.where(plain, years[some], STAND_IN_YEAR), np.where(plain, height_m[some], 0.0)
    norths = norths_at(places.lat_deg, places.lon_deg, years, height_m, zone=places.zone, south=places.south)
    found.plain[some] = plain
    for name in (*GIVEN_ANGLES, "declination_sd_deg"):
        getattr(found, name)[some] = getattr(norths, name)
    said = joined(places.cautions(), norths_said(places.lat_deg, norths, plain))
    found.said.update({int(at[row]): cautions for row, cautions in said.items()})
