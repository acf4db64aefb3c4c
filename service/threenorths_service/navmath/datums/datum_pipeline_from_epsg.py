"""Operations of the EPSG dataset as explicit PROJ pipelines, for `datum_table_from_epsg`.

A pipeline takes longitude and latitude from Greenwich in radians on one ellipsoid to those on another. Heights are taken as
0 on both, as the methods "(geog2D domain)" of the dataset do.

Source: IOGP Publication 373-7-2, "Coordinate Conversions and Transformations including Formulas", for the meaning of the
methods; the PROJ documentation for their names there.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

__all__ = ["Figure", "Pipelines"]

#: The convention of the rotations, by method; `None` where there are none.
HELMERT_METHODS = {
    "Geocentric translations (geog2D domain)": None,
    "Position Vector transformation (geog2D domain)": "position_vector",
    "Coordinate Frame rotation (geog2D domain)": "coordinate_frame",
    "Molodensky-Badekas (CF geog2D domain)": "coordinate_frame",
    "Molodensky-Badekas (PV geog2D domain)": "position_vector",
}
GRID_METHODS = {"NTv2", "NADCON"}
#: Units of length in metres, of angle in seconds of arc, and of scale in parts per million, by EPSG code.
UNITS = {
    9001: 1.0,
    1025: 0.001,
    9104: 1.0,
    1031: 0.001,
    9101: 206_264.806_247_096_36,
    9109: 0.206_264_806_247_096_36,
    9113: 0.324,
    9201: 1e6,
    9202: 1.0,
    1028: 0.001,
}
#: Degrees in the units of prime meridians and of offsets: degree, grad, second, and sexagesimal degrees, which are unpacked.
DEGREES_IN_UNIT = {9102: 1.0, 9105: 0.9, 9104: 1.0 / 3600.0}
SEXAGESIMAL_DEGREES = 9110


@dataclass(frozen=True, slots=True)
class Figure:
    """Ellipsoid and prime meridian of a datum."""

    name: str
    semi_major_axis_m: float
    inverse_flattening: float
    prime_meridian_deg: float

    @property
    def parameters(self) -> str:
        """As a pipeline has them."""
        return f"+a={self.semi_major_axis_m!r} +rf={self.inverse_flattening!r}"


def _degrees(value: float, unit: int) -> float:
    if unit != SEXAGESIMAL_DEGREES:
        return value * DEGREES_IN_UNIT[unit]
    packed = round(abs(value) * 1e10)
    degrees, rest = divmod(packed, 10**10)
    minutes, seconds = divmod(rest, 10**8)
    angle = degrees + minutes / 60.0 + seconds / 1e6 / 3600.0
    return -angle if value < 0.0 else angle


def _number(value: float) -> str:
    """A number without the noise that a change of its unit brings in."""
    return f"{value:.13g}"


class Pipelines:
    """Makes pipelines from an open ``proj.db``."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database

    def ellipsoid(self, datum: int) -> Figure:
        """The ellipsoid and prime meridian of a datum, by the code of its coordinate reference system."""
        found = self._database.execute(
            """SELECT ellipsoid.name, semi_major_axis * unit.conv_factor AS a, inv_flattening AS rf,
                semi_minor_axis * unit.conv_factor AS b, longitude, meridian.uom_code AS meridian_unit
            FROM geodetic_crs crs JOIN geodetic_datum datum ON datum.auth_name = 'EPSG' AND datum.code = crs.datum_code
            JOIN ellipsoid ON ellipsoid.auth_name = 'EPSG' AND ellipsoid.code = datum.ellipsoid_code
            JOIN unit_of_measure unit ON unit.auth_name = 'EPSG' AND unit.code = ellipsoid.uom_code
            JOIN prime_meridian meridian ON meridian.auth_name = 'EPSG' AND meridian.code = datum.prime_meridian_code
            WHERE crs.auth_name = 'EPSG' AND crs.code = ?""",
            (datum,),
        ).fetchone()
        a, b = found["a"], found["b"]
        flattened = found["rf"] or (float("inf") if b is None or a == b else a / (a - b))
        meridian_deg = round(_degrees(found["longitude"], found["meridian_unit"]), 12)
        return Figure(found["name"], a, flattened, meridian_deg)

    def of(self, operation: int, source: int, target: int) -> tuple[str, str] | None:
        """Pipeline and grids of an operation from datum to datum, or ``None`` where a method is not one that is pinned.

        In the pipeline a grid stands as ``{0}``, ``{1}``; the names that its file may have are separated by ``|``, and the
        grids by ``;``.
        """
        steps = [
            code
            for (code,) in self._database.execute(
                """SELECT step_code FROM concatenated_operation_step
                WHERE operation_auth_name = 'EPSG' AND operation_code = ? ORDER BY step_number""",
                (operation,),
            )
        ] or [operation]
        here = source
        parts: list[str] = []
        grids: list[str] = []
        for step in steps:
            ends = self._ends(step)
            if ends is None or here not in ends:
                return None
            back = here != ends[0]
            part = self._step(step, ends, back, grids)
            if part is None:
                return None
            parts.append(part)
            here = ends[0] if back else ends[1]
        return (" ".join(parts).strip(), ";".join(grids)) if here == target else None

    def _ends(self, step: int) -> tuple[int, int] | None:
        return self._database.execute(  # type: ignore[no-any-return]  # sqlite3 rows are Any
            """SELECT source_crs_code, target_crs_code FROM coordinate_operation_view
            WHERE auth_name = 'EPSG' AND code = ?""",
            (step,),
        ).fetchone()

    def _step(self, step: int, ends: tuple[int, int], back: bool, grids: list[str]) -> str | None:
        """One step of a pipeline; the names of its grid, if it has one, go to the end of ``grids``."""
        part = self._helmert(step, ends, back)
        if part is None:
            part = self._offset(step, back)
        if part is None and (named := self._grid(step)):
            part = f"+step {'+inv ' if back else ''}+proj=hgridshift +grids={{{len(grids)}}}"
            grids.append("|".join(named))
        return part

    def _helmert(self, step: int, ends: tuple[int, int], back: bool) -> str | None:
        row = self._database.execute(
            "SELECT * FROM helmert_transformation WHERE auth_name = 'EPSG' AND code = ?", (step,)
        ).fetchone()
        if row is None or row["method_name"] not in HELMERT_METHODS or row["rate_tx"] is not None:
            return None
        convention = HELMERT_METHODS[row["method_name"]]
        unit = UNITS[row["translation_uom_code"]]
        values = {axis: row[f"t{axis}"] * unit for axis in "xyz"}
        if convention is not None:
            values |= {f"r{axis}": row[f"r{axis}"] * UNITS[row["rotation_uom_code"]] for axis in "xyz"}
            values["s"] = row["scale_difference"] * UNITS[row["scale_difference_uom_code"]]
        pivoted = row["px"] is not None
        if pivoted:
            values |= {f"p{axis}": row[f"p{axis}"] for axis in "xyz"}
        start, end = (self.ellipsoid(code) for code in ends)
        if not any(values.values()) and start.parameters == end.parameters:
            return ""
        method = "molobadekas" if pivoted else "helmert"
        named = "".join(f" +{name}={_number(value)}" for name, value in values.items())
        turned = f" +convention={convention}" if convention else ""
        if back:
            start, end = end, start
        return (
            f"+step +proj=push +v_3 +step +proj=cart {start.parameters} "
            f"+step {'+inv ' if back else ''}+proj={method}{named}{turned} "
            f"+step +inv +proj=cart {end.parameters} +step +proj=pop +v_3"
        )

    def _offset(self, step: int, back: bool) -> str | None:
        row = self._database.execute(
            """SELECT * FROM other_transformation WHERE auth_name = 'EPSG' AND code = ?
            AND method_name IN ('Geographic2D offsets', 'Longitude rotation')""",
            (step,),
        ).fetchone()
        if row is None:
            return None
        offsets = {
            "dlat" if "Latitude" in row[f"param{number}_name"] else "dlon": 3600.0
            * _degrees(row[f"param{number}_value"], row[f"param{number}_uom_code"])
            for number in (1, 2)
            if row[f"param{number}_name"] is not None
        }
        named = " ".join(f"+{name}={_number(seconds)}" for name, seconds in offsets.items())
        return f"+step {'+inv ' if back else ''}+proj=geogoffset {named}"

    def _grid(self, step: int) -> list[str] | None:
        """The names that the file of a grid may have, or ``None`` of no operation with a grid that can be used."""
        row = self._database.execute(
            "SELECT method_name, grid_name FROM grid_transformation WHERE auth_name = 'EPSG' AND code = ?",
            (step,),
        ).fetchone()
        if row is None or row["method_name"] not in GRID_METHODS:
            return None
        other = self._database.execute(
            """SELECT proj_grid_name, old_proj_grid_name FROM grid_alternatives
            WHERE original_grid_name = ? AND proj_method = 'hgridshift' AND NOT inverse_direction""",
            (row["grid_name"],),
        ).fetchone()
        names = [name for name in other or () if name]
        if row["method_name"] == "NTv2":
            names.append(row["grid_name"])
        return list(dict.fromkeys(names)) or None
