"""The datums of the EPSG dataset, with the names and codes that each has, for `datum_table_from_epsg`."""

from __future__ import annotations

import sqlite3

from .datum_pipeline_from_epsg import Pipelines

__all__ = ["DATUM_COLUMNS", "datum_table_row", "datums_of", "twins_of"]

#: Frames that are held to another one closer than anybody walks, by the beginning of their name, and the datum whose
#: operations they use. To WGS 84: NGA.STND.0036_1.0.0_WGS84, 2014, section 2, by which its realisations follow the ITRF
#: within centimetres; that leaves the motion of the plates since a frame's epoch, up to 2 m. The national ones: from memory.
HELD_TO = {
    "ITRF": 4326,
    "IGS": 4326,
    "IGb": 4326,
    "China Geodetic Coordinate System 2000": 4326,
    "ATRF2014": 4326,
    "PZ-90.": 4326,
    "ONGD17": 4326,
    "SRGI2013": 4326,
    "REDGEOMIN": 4326,
    "CR-SIRGAS": 4326,
    "ETRS89/DREF91": 4258,
    "SIRGAS-CON": 4674,
    "SIRGAS-Chile": 4674,
    "NAD83(CSRS": 4617,
    "NAD83(FBN)": 4269,
    "NAD83(CORS96)": 4269,
    "NAD83(HARN Corrected)": 4269,
}
DATUM_COLUMNS = (
    "code",
    "name",
    "other_names",
    "other_codes",
    "ellipsoid",
    "semi_major_axis_m",
    "inverse_flattening",
    "prime_meridian_deg",
    "operations_of",
)


def datums_of(database: sqlite3.Connection) -> list[sqlite3.Row]:
    """Every datum that is not deprecated, by rule 1."""
    return database.execute(
        """SELECT crs.code, crs.name, crs.datum_code, datum.name AS datum_name, crs.coordinate_system_code AS axes
        FROM geodetic_crs crs JOIN geodetic_datum datum ON datum.auth_name = 'EPSG' AND datum.code = crs.datum_code
        WHERE crs.auth_name = 'EPSG' AND crs.type = 'geographic 2D' AND NOT crs.deprecated ORDER BY crs.code"""
    ).fetchall()


def twins_of(database: sqlite3.Connection, datums: list[sqlite3.Row]) -> dict[int, int]:
    """By code, the datum whose operations another one uses, by rule 5."""
    twins: dict[int, int] = {}
    by_datum: dict[int, int] = {}
    for datum in datums:
        first = by_datum.setdefault(datum["datum_code"], datum["code"])
        if first != datum["code"]:
            by_latitude_first = "(lon-lat)" in datum["name"]
            twins[datum["code"] if by_latitude_first else first] = (
                first if by_latitude_first else datum["code"]
            )
    members = database.execute(
        "SELECT member_code, ensemble_code FROM geodetic_datum_ensemble_member WHERE ensemble_auth_name = 'EPSG'"
    )
    for member, ensemble in members:
        if member in by_datum and ensemble in by_datum:
            twins[by_datum[member]] = by_datum[ensemble]
    for datum in datums:
        for beginning, other in HELD_TO.items():
            if datum["name"].startswith(beginning) and datum["code"] != other:
                twins.setdefault(datum["code"], other)
        if (greenwich := _on_greenwich(database, datum)) is not None:
            twins[datum["code"]] = greenwich
    return twins


def _on_greenwich(database: sqlite3.Connection, datum: sqlite3.Row) -> int | None:
    """The datum that another one differs from by its prime meridian alone: of several the one of the same name."""
    if Pipelines(database).ellipsoid(datum["code"]).prime_meridian_deg == 0.0:
        return None
    found = database.execute(
        """SELECT crs.code, crs.name FROM other_transformation op
        JOIN geodetic_crs crs ON crs.auth_name = 'EPSG' AND crs.code = op.target_crs_code
        WHERE op.auth_name = 'EPSG' AND op.method_name = 'Longitude rotation' AND NOT op.deprecated
        AND op.source_crs_code = ?""",
        (datum["code"],),
    ).fetchall()
    same = [code for code, name in found if datum["name"].startswith(f"{name} (")]
    first: int | None = (same or [code for code, _ in found] or [None])[0]
    return first


def _names(database: sqlite3.Connection, datum: sqlite3.Row) -> list[str]:
    """The further names of a datum: its aliases, the name of its reference frame and the aliases of that."""
    aliases = database.execute(
        """SELECT alt_name FROM alias_name WHERE auth_name = 'EPSG' AND source IN ('EPSG', 'PROJ')
        AND (table_name = 'geodetic_crs' AND code = ? OR table_name = 'geodetic_datum' AND code = ?)""",
        (datum["code"], datum["datum_code"]),
    )
    names = [datum["datum_name"].removesuffix(" ensemble"), *(name for (name,) in aliases)]
    return sorted({name for name in names if not name.isdigit() and name != datum["name"]})


def datum_table_row(
    database: sqlite3.Connection, datum: sqlite3.Row, twin: int | str
) -> dict[str, str | int | float]:
    """One row of the table: ``twin`` is the datum whose operations it uses, if it has none of its own."""
    figure = Pipelines(database).ellipsoid(datum["code"])
    others = database.execute(
        """SELECT code FROM geodetic_crs WHERE auth_name = 'EPSG' AND datum_code = ? AND type = 'geographic 3D'
        AND NOT deprecated ORDER BY code""",
        (datum["datum_code"],),
    )
    plain = "(lon-lat)" not in datum["name"]
    return {
        "code": datum["code"],
        "name": datum["name"],
        "other_names": "|".join(_names(database, datum)) if plain else "",
        "other_codes": " ".join(str(code) for (code,) in others) if plain else "",
        "ellipsoid": figure.name,
        "semi_major_axis_m": figure.semi_major_axis_m,
        "inverse_flattening": figure.inverse_flattening,
        "prime_meridian_deg": figure.prime_meridian_deg,
        "operations_of": twin,
    }
