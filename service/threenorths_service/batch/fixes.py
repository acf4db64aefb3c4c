"""Intersections and resections of two sights in columns.

The numbers are those of `navmath.sights.sight_pairs`, which sums otherwise than the single fix. Most are the same to the last
digit. The place may differ by up to a micrometre, mostly by nanometres, and with it the last digit of what hangs on it. The
ellipse may differ by a share of 3e-8 and, of a shortest sight of s metres, 8e-6 / s, over the sine of the crossing angle,
and the covariance by twice that: of large ones by several units of the last digit. Grid references, cautions and all other
texts are the same: where a figure of one hangs on so little, the row is left to the single fix.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial
from typing import Any, cast

import numpy as np
import orjson
import pyarrow as pa
from marshmallow import fields as schema_fields
from numpy.typing import NDArray

from ..navmath.angle import FloatArray
from ..navmath.directions.bearing import NORTHS
from ..navmath.rows import BoolArray, IntArray
from ..navmath.sights.ellipse import CONFIDENCE, Ellipse
from ..navmath.sights.sight import DEFAULT_SD_DEG
from ..navmath.sights.sight_pairs import NO_ZONE, PairFixes, intersect_pairs, resect_pairs
from ..operations.fields import Rounded
from ..operations.request_schemas import north_member, unit_member
from ..operations.sights import FixAnswerSchema, FixRequestSchema, SightRequestSchema
from .answers import JSON_TYPE
from .columnar import Columnar, Plain
from .dates import date_texts, years_of
from .described import DescribedPlaces
from .fix_cautions import FixCautions, magnetic_said
from .north_angles import bearings_in
from .norths import dated
from .place_columns import FINEST_DIGITS, PlaceColumns, geodetic_places, place_members, places_of
from .plain_members import Some, kinds_of, number_in
from .rounding import rounded
from .rows import Rows

__all__ = ["INTERSECTIONS", "RESECTIONS"]

_MAGNETIC, _GRID = NORTHS.index("magnetic"), NORTHS.index("grid")
_SIGHTS = range(2)
#: By `PlaceColumns.form`.
GEODETIC = 1
_SHARED = ("unit", "north")

#: Less than this from the edge of a square [metre] or of a grid zone or band [degree], a place is left to the single fix; so
#: is one with an ellipse that is within so small a share of another square.
EDGE_M = 1e-5
EDGE_DEG = 1e-8
EDGE_SHARE = 1e-4
#: The edges of zones and bands are at multiples of these. [degree]
BANDS_DEG, ZONES_DEG = 4.0, 3.0

_ANSWER = FixAnswerSchema()
#: Sides of squares from 10 m on. [metre]
_SIDES_M = 10.0 ** np.arange(1, FINEST_DIGITS + 1)


class _SightSchema(SightRequestSchema):
    """A sight with what it has in common with the other."""

    unit = unit_member()
    north = north_member(required=True)


_SIGHT, _FIX = _SightSchema(), FixRequestSchema()


@dataclass(frozen=True, slots=True)
class _Given:
    """The sights of rows: columns of shape (n, 2) and, of what both have in common, (n,). Nothing where not ``plain``."""

    plain: BoolArray
    places: tuple[PlaceColumns, PlaceColumns]
    bearing_deg: FloatArray
    sd_deg: FloatArray
    default_sd: BoolArray
    north: IntArray
    years: FloatArray

    def of_places(self, name: str, some: Some = slice(None)) -> NDArray[Any]:
        """What both known places have of one kind, of some rows."""
        return np.stack([getattr(each, name)[some] for each in self.places], axis=-1)


#: The fixes of some rows, from the north that has that number in `NORTHS`.
Fit = Callable[[_Given, Some, int], PairFixes]


def answer(rows: Rows, place: str, fit: Fit, *, magnetic_at_known: bool) -> Plain:
    """The fixes of the rows; ``place`` is the member of the known place.

    Magnetic north is read at the place sought and, with ``magnetic_at_known``, judged at the known ones as well.
    """
    given = _given(rows, place)
    fixes = _fixed(given, fit)
    there = geodetic_places(fixes.lat_deg, fixes.lon_deg)
    digits = _digits_of(fixes.ellipse.semi_major_m)
    plain = fixes.plain & _written_alike(fixes, there, digits)
    known = given.places if magnetic_at_known else ()

    def cautions() -> pa.Array | str:
        judged = [(each.lat_deg, each.lon_deg) for each in (*known, there)]
        magnetic = magnetic_said(judged, given.years, np.flatnonzero(plain & (given.north == _MAGNETIC)))
        return FixCautions(plain, given.places, given.default_sd, magnetic, fixes).column()

    return Plain(
        plain,
        {
            **DescribedPlaces(there, digits).columns("position."),
            "covariance_m2.north_north": lambda: fixes.covariance_m2[:, 0, 0],
            "covariance_m2.north_east": lambda: fixes.covariance_m2[:, 0, 1],
            "covariance_m2.east_east": lambda: fixes.covariance_m2[:, 1, 1],
            "ellipse.semi_major_m": lambda: fixes.ellipse.semi_major_m,
            "ellipse.semi_minor_m": lambda: fixes.ellipse.semi_minor_m,
            "ellipse.major_axis_azimuth_deg": lambda: fixes.ellipse.major_axis_azimuth_deg,
            "ellipse.confidence": lambda: CONFIDENCE,
            "crossing_angle_deg": lambda: fixes.crossing_angle_deg,
            "residuals_deg": lambda: _lists("residuals_deg", fixes.residuals_deg),
            "distances_m": lambda: _lists("distances_m", fixes.distances_m),
            "sd_deg": lambda: _lists("sd_deg", fixes.sd_deg),
            "degrees_of_freedom": lambda: 0,
            "variance_factor": lambda: None,
            "compass_error_deg": lambda: None,
            "compass_error_sd_deg": lambda: None,
            "date": lambda: date_texts(rows),
            "cautions": cautions,
        },
    )


def _given(rows: Rows, place: str) -> _Given:
    first, second = (places_of(rows, f"sights.{index}.{place}", on_grid=False) for index in _SIGHTS)
    sights = [_sight_rows(rows, index) for index in _SIGHTS]
    bearings = [bearings_in(each, _SIGHT) for each in sights]
    sds = [number_in(each, _SIGHT, "sd_deg") for each in sights]
    common_sd_deg, common_fits = number_in(rows, _FIX, "sd_deg")
    years, has_date, north = years_of(rows), rows.given("date"), bearings[0].north
    plain = common_fits & (north >= 0) & (dated(years) | (~has_date & (north != _MAGNETIC)))
    for each, bearing, (_sd_deg, fits) in zip((first, second), bearings, sds, strict=True):
        plain &= each.plain & bearing.fit & bearing.given & fits
    sd_deg = np.stack([each for each, _fits in sds], axis=-1)
    sd_deg = np.where(np.isnan(sd_deg), common_sd_deg[:, None], sd_deg)
    default_sd = np.asarray(np.isnan(sd_deg))
    return _Given(
        plain=plain,
        places=(first, second),
        bearing_deg=np.stack([each.azimuth_deg for each in bearings], axis=-1),
        sd_deg=np.where(default_sd, DEFAULT_SD_DEG, sd_deg),
        default_sd=np.asarray(default_sd.any(axis=-1)),
        north=north,
        years=years,
    )


def _sight_rows(rows: Rows, index: int) -> Rows:
    """The members of one sight as those of rows, with what they are read by."""
    prefix = f"sights.{index}."

    def of_sight(members: Mapping[str, Any]) -> dict[str, Any]:
        own = {path.removeprefix(prefix): each for path, each in members.items() if path.startswith(prefix)}
        return own | {name: members[name] for name in _SHARED if name in members}

    return replace(rows, columns=of_sight(rows.columns), common=of_sight(rows.common))


def _fixed(given: _Given, fit: Fit) -> PairFixes:
    """The fixes of all rows, those of one north at a time."""
    parts: list[tuple[PairFixes, Some]] = []
    for north, some in kinds_of(np.where(given.plain, given.north, -1)):
        if north < 0:
            continue
        part = fit(given, some, north)
        if isinstance(some, slice):
            return part
        parts.append((part, some))
    if not parts:
        parts.append((_no_fixes(), np.empty(0, dtype=np.intp)))
    return cast(PairFixes, _whole(parts, given.plain.size))


def _intersected(given: _Given, some: Some, north: int) -> PairFixes:
    pairs = _pairs(given, some, north)
    if north == _GRID:
        pairs |= {name: given.of_places(name, some) for name in ("zone", "south")}
    return intersect_pairs(**pairs)


def _resected(given: _Given, some: Some, north: int) -> PairFixes:
    pairs = _pairs(given, some, north)
    if north == _GRID:
        # Marks given on one grid are on one sheet, and so is the observer.
        zones, souths = given.of_places("zone", some), given.of_places("south", some)
        named = (given.of_places("form", some) != GEODETIC).all(axis=-1)
        alike = named & (zones[:, 0] == zones[:, 1]) & (souths[:, 0] == souths[:, 1])
        pairs |= {"zone": np.where(alike, zones[:, 0], NO_ZONE), "south": souths[:, 0]}
    return resect_pairs(**pairs)


def _pairs(given: _Given, some: Some, north: int) -> dict[str, Any]:
    """The sights of some rows as `sight_pairs` takes them."""
    return {
        "lat_deg": given.of_places("lat_deg", some),
        "lon_deg": given.of_places("lon_deg", some),
        "bearing_deg": given.bearing_deg[some],
        "sd_deg": given.sd_deg[some],
        "place_sd_m": given.of_places("sd_m", some),
        "north": NORTHS[north],
        "decimal_year": given.years[some] if north == _MAGNETIC else None,
    }


def _no_fixes() -> PairFixes:
    nothing = np.empty((0, 2))
    return intersect_pairs(nothing, nothing, nothing, nothing, nothing, "true")


def _whole(parts: Sequence[tuple[Any, Some]], count: int) -> Any:
    """The columns of so many rows, from those of some rows each, with what stands where a row is not plain."""
    first = parts[0][0]
    whole: dict[str, Any] = {}
    for each in fields(first):
        value = getattr(first, each.name)
        if isinstance(value, Ellipse):
            whole[each.name] = _whole([(getattr(part, each.name), some) for part, some in parts], count)
        elif isinstance(value, np.ndarray):
            column = np.full((count, *value.shape[1:]), np.nan if value.dtype.kind == "f" else 0, value.dtype)
            for part, some in parts:
                column[some] = getattr(part, each.name)
            whole[each.name] = column
    return replace(first, **whole)


def _digits_of(semi_major_m: FloatArray) -> IntArray:
    """As `place.digits_for` of half the semi-axis; `FINEST_DIGITS` where there is none."""
    digits = FINEST_DIGITS - np.searchsorted(_SIDES_M, semi_major_m / 2.0, side="right")
    return np.where(np.isnan(semi_major_m), FINEST_DIGITS, digits)


def _written_alike(fixes: PairFixes, there: PlaceColumns, digits: IntArray) -> BoolArray:
    """Where the single fix surely lies in the same square, and its square is surely of the same size."""
    half_m = fixes.ellipse.semi_major_m / 2.0
    alike = (np.abs(half_m[:, None] / _SIDES_M - 1.0) > EDGE_SHARE).all(axis=-1)
    side_m = np.asarray(10.0 ** (FINEST_DIGITS - digits), dtype=np.float64)
    for coordinate_m in (there.easting_m, there.northing_m):
        alike &= _off_edges(coordinate_m, side_m, EDGE_M)
    alike &= _off_edges(there.lat_deg, BANDS_DEG, EDGE_DEG)
    return alike & _off_edges(there.lon_deg, ZONES_DEG, EDGE_DEG)


def _off_edges(values: FloatArray, step: FloatArray | float, least: float) -> BoolArray:
    """Which values are more than that off every multiple of a step."""
    return np.asarray(np.abs(values - step * np.rint(values / step)) > least)


def _lists(member: str, values: FloatArray) -> pa.Array:
    """The lists of a member that has one number a sight, as JSON."""
    field = cast(Rounded, cast(schema_fields.List[Any], _ANSWER.fields[member]).inner)
    pairs = rounded(values, field.places)
    texts = orjson.dumps(np.ascontiguousarray(pairs), option=orjson.OPT_SERIALIZE_NUMPY).decode()
    lists = [f"[{pair}]" for pair in texts[2:-2].split("],[")] if len(pairs) else []
    return pa.ExtensionArray.from_storage(JSON_TYPE, pa.array(lists, pa.string()))


def _members(place: str) -> frozenset[str]:
    members = {"north", "unit", "date", "sd_deg"}
    for index in _SIGHTS:
        members |= {f"sights.{index}.bearing", f"sights.{index}.sd_deg"}
        members |= place_members(f"sights.{index}.{place}")
    return frozenset(members)


def _columnar(place: str, fit: Fit, *, magnetic_at_known: bool) -> Columnar:
    return Columnar(
        members=_members(place),
        usual=(
            "position.lat_deg",
            "position.lon_deg",
            "position.mgrs",
            "ellipse.semi_major_m",
            "ellipse.semi_minor_m",
            "ellipse.major_axis_azimuth_deg",
            "crossing_angle_deg",
            "cautions",
        ),
        answer=partial(answer, place=place, fit=fit, magnetic_at_known=magnetic_at_known),
    )


INTERSECTIONS = _columnar("from", _intersected, magnetic_at_known=True)
RESECTIONS = _columnar("to", _resected, magnetic_at_known=False)
