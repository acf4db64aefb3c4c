"""Lines in columns."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from ..navmath.angle import FloatArray
from ..navmath.cautions import Caution
from ..navmath.directions.north import Norths, norths_at, norths_doubtful
from ..navmath.lines.line import Line, line_between
from ..operations.lines import (
    NOTICEABLE_DEG,
    ON_ELLIPSOID,
    ON_GRID,
    UNSURE_DEG,
    coarse_cautions,
    map_cautions,
    off_by_squares_m,
    parted_deg,
    turned_by_deg,
)
from ..operations.north_angles import worst_cautions
from .caution_columns import joined, said_column
from .columnar import Columnar, Plain
from .dates import date_texts, years_of
from .norths import dated, read_place
from .place_columns import PlaceColumns, place_members, places_of
from .plain_members import Some, groups_of
from .rounding import rounded
from .rows import Rows

__all__ = ["LINES"]


def answer(rows: Rows) -> Plain:
    """The lines of the rows."""
    start, end = places_of(rows, "from", on_grid=False), places_of(rows, "to", on_grid=False)
    years, has_date = years_of(rows), rows.given("date")
    plain = start.plain & end.plain & (dated(years) | ~has_date)
    found = {name: np.full(rows.count, np.nan) for name in (*ON_ELLIPSOID, *ON_GRID)}
    apart, reached = np.full(rows.count, np.nan), np.zeros(rows.count, dtype=np.bool_)
    magnetic: dict[int, list[Caution]] = {}
    for (with_date, fits), some in groups_of(has_date, plain):
        if not fits:
            continue
        line = _line(start, end, some, years[some] if with_date else None)
        for name, column in found.items():
            values = getattr(line, name)
            if values is not None:
                column[some] = values
        plain[some], reached[some], apart[some] = line.distinct, line.grid_reached, parted_deg(line)
        magnetic.update(_magnetic(start, end, np.arange(rows.count)[some], years, line))
    coarse = _coarse(start, end, found["distance_m"])
    said = joined(start.cautions(), end.cautions(), coarse, magnetic)
    beyond = [(plain & ~reached, each) for each in map_cautions(False, np.nan)]
    parted = np.flatnonzero(plain & (apart > NOTICEABLE_DEG)).tolist()
    on_map = {row: map_cautions(True, float(apart[row])) for row in parted}
    return Plain(
        plain,
        {
            **{name: partial(found.__getitem__, name) for name in found},
            "date": lambda: date_texts(rows),
            **read_place(start, "from"),
            **read_place(end, "to"),
            "cautions": lambda: said_column(rows.count, said, beyond, on_map),
        },
    )


def _line(start: PlaceColumns, end: PlaceColumns, some: Some, years: FloatArray | None) -> Line:
    return line_between(
        start.lat_deg[some],
        start.lon_deg[some],
        end.lat_deg[some],
        end.lon_deg[some],
        decimal_year=years,
        zone=start.zone[some],
        south=start.south[some],
    )


def _coarse(start: PlaceColumns, end: PlaceColumns, distance_m: FloatArray) -> dict[int, list[Caution]]:
    """What the squares that the places were given by leave in doubt, by row."""
    off_m = off_by_squares_m(start.sd_m, end.sd_m)
    turned_deg = turned_by_deg(off_m, distance_m)
    coarse = np.flatnonzero(turned_deg > UNSURE_DEG)
    said: dict[int, list[Caution]] = {}
    alike: dict[tuple[float, float], list[Caution]] = {}
    # They tell the angle to a tenth of a degree, so that few of them differ.
    told = zip(
        coarse.tolist(),
        off_m[coarse].tolist(),
        turned_deg[coarse].tolist(),
        rounded(turned_deg[coarse], 1).tolist(),
        strict=True,
    )
    for row, off, turned, tenths in told:
        if (off, tenths) not in alike:
            alike[off, tenths] = coarse_cautions(off, turned)
        said[row] = alike[off, tenths]
    return said


def _magnetic(
    start: PlaceColumns, end: PlaceColumns, at: NDArray[np.intp], years: FloatArray, line: Line
) -> dict[int, list[Caution]]:
    """What is to be said of magnetic north at the ends of the lines of some rows, by row."""
    if line.horizontal_nt is None or line.back_horizontal_nt is None:
        return {}
    doubtful = norths_doubtful(start.lat_deg[at], line.horizontal_nt)
    doubtful |= norths_doubtful(end.lat_deg[at], line.back_horizontal_nt)
    at = at[doubtful]
    lat_deg = np.stack((start.lat_deg[at], end.lat_deg[at]))
    norths = norths_at(lat_deg, np.stack((start.lon_deg[at], end.lon_deg[at])), years[at])
    said = {}
    for place, row in enumerate(at.tolist()):
        here = Norths(**{name: getattr(norths, name)[:, place] for name in Norths.__slots__})
        said[row] = worst_cautions(lat_deg[:, place], here)
    return said


LINES = Columnar(
    members=place_members("from") | place_members("to") | {"date"},
    usual=(
        "distance_m",
        "true_azimuth_deg",
        "grid_azimuth_deg",
        "grid_distance_m",
        "magnetic_azimuth_deg",
        "cautions",
    ),
    answer=answer,
)
