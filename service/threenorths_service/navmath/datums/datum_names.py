"""Names and codes of datums, as people write them, to the rows of `data/datums.csv`."""

from __future__ import annotations

import csv
import difflib
import unicodedata
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from ..errors import UnknownDatumError

__all__ = ["DatumRow", "datum_row", "find_row", "read_heading", "read_table"]

#: Usual names that the EPSG dataset does not list: common practice, no source. Those of two datums name both.
USUAL_NAMES = {
    "NAD 1927": (4267,),
    "North American 1927": (4267,),
    "NAD 1983": (4269,),
    "North American 1983": (4269,),
    "European 1950": (4230,),
    "ED 1950": (4230,),
    "European 1979": (4668,),
    "GB36": (4277,),
    "OSGB": (4277,),
    "Ordnance Survey 1936": (4277,),
    "Australian Geodetic 1966": (4202,),
    "Australian Geodetic 1984": (4203,),
    "Geocentric Datum of Australia 1994": (4283,),
    "Geocentric Datum of Australia 2020": (7844,),
    "New Zealand 1949": (4272,),
    "NZGD 1949": (4272,),
    "NZGD 2000": (4167,),
    "South American 1969": (4618,),
    "SAD 1969": (4618,),
    "Provisional South American 1956": (4248,),
    "WGS": (4322, 4326),
    "WGS 1984": (4326,),
    "WGS 1972": (4322,),
    "SK-42": (4284,),
    "System 42": (4178, 4179, 4284),
    "Old Hawaiian": (4135,),
    "Swiss": (4149,),
    "Rijksdriehoek": (4289,),
    "Belge 72": (4313,),
    "Hermannskogel": (3906, 4312),
    "Ireland 1965": (4299, 4300),
    "Indian": (4131, 4239, 4240),
}

#: Of a longer text no more is compared with the names, to find those that are near.
LONGEST_NAME = 100


@dataclass(frozen=True, slots=True)
class DatumRow:
    """One row of the table of datums."""

    code: int
    name: str
    ellipsoid: str
    semi_major_axis_m: float
    inverse_flattening: float
    prime_meridian_deg: float
    #: The datum whose operations to WGS 84 this one uses: its own code mostly.
    operations_of: int


def _lines(name: str) -> list[str]:
    return (files("threenorths_service.navmath") / "data" / name).read_text(encoding="utf-8").splitlines()


def read_heading(name: str) -> str:
    """The first line of a table of ``data/``: where it comes from."""
    return _lines(name)[0]


def read_table(name: str) -> list[dict[str, str]]:
    """The rows of a table of ``data/``."""
    return list(csv.DictReader(_lines(name)[1:]))


def _key(name: str) -> str:
    """What is the same in all spellings of a name: its letters and digits, without case and accents.

    A plus is one of them, since CH1903 and CH1903+ are two datums.
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    return "".join(character for character in plain if character.isalnum() or character == "+")


@cache
def _rows() -> dict[int, DatumRow]:
    return {
        int(row["code"]): DatumRow(
            int(row["code"]),
            row["name"],
            row["ellipsoid"],
            float(row["semi_major_axis_m"]),
            float(row["inverse_flattening"]),
            float(row["prime_meridian_deg"]),
            int(row["operations_of"] or row["code"]),
        )
        for row in read_table("datums.csv")
    }


@cache
def _codes_by_key() -> dict[str, tuple[int, ...]]:
    """The codes that a name may mean. A datum's own name goes before a usual one, and that before an alias of the dataset."""
    table = read_table("datums.csv")
    found: dict[str, set[int]] = {}
    for row in table:
        for alias in filter(None, row["other_names"].split("|")):
            found.setdefault(_key(alias), set()).add(int(row["code"]))
    found.update({_key(name): set(codes) for name, codes in USUAL_NAMES.items()})
    found.update({_key(row["name"]): {int(row["code"])} for row in table})
    for row in table:
        for code in (row["code"], *row["other_codes"].split()):
            found[code] = found[f"epsg{code}"] = {int(row["code"])}
    return {key: tuple(sorted(codes)) for key, codes in found.items()}


def datum_row(code: int) -> DatumRow:
    """The row of an EPSG code that stands in the table; another code is a ``KeyError``."""
    return _rows()[code]


def find_row(name_or_code: str) -> DatumRow:
    """The row that a name or an EPSG code means.

    Raises
    ------
    UnknownDatumError
        None does, or more than one: ``allowed`` names those that are near, or all of them.
    """
    rows, codes_by_key = _rows(), _codes_by_key()
    key = _key(name_or_code)
    codes = codes_by_key.get(key, ())
    if len(codes) == 1:
        return rows[codes[0]]
    if codes:
        message = f"{name_or_code!r} is the name of more than one datum"
    else:
        message = f"{name_or_code!r} is no datum that is known"
        names = [name for name in codes_by_key if not name.removeprefix("epsg").isdigit()]
        near = difflib.get_close_matches(key[:LONGEST_NAME], names, n=5)
        codes = tuple(dict.fromkeys(code for match in near for code in codes_by_key[match]))
    allowed = " or ".join(f"{rows[code].name} (EPSG:{code})" for code in codes)
    raise UnknownDatumError(
        message,
        member="datum",
        value=name_or_code,
        allowed=allowed or "a name as in the margin of a sheet, or a code as in EPSG:4230",
    )
