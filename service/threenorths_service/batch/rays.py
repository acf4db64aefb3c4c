"""Rays in columns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..navmath.angle import FloatArray
from ..navmath.cautions import Caution
from ..navmath.directions.bearing import NORTHS
from ..navmath.directions.north import norths_at, norths_doubtful
from ..navmath.lines.ray import Ray, ray_from
from ..navmath.rows import BoolArray
from ..operations.rays import COARSE_M, OPERATION, coarse_cautions
from .caution_columns import said_column
from .columnar import Columnar, Plain
from .dates import date_texts, years_of
from .described import DescribedPlaces
from .north_angles import bearings_in
from .norths import dated, norths_said, read_place
from .place_columns import PlaceColumns, geodetic_places, place_members, places_of
from .plain_members import kinds_of, number_in
from .rows import Rows

__all__ = ["RAYS"]

_MAGNETIC = NORTHS.index("magnetic")
_TURNED = ("lat_deg", "lon_deg", "true_azimuth_deg", "true_back_azimuth_deg")


def answer(rows: Rows) -> Plain:
    """The rays of the rows."""
    start = places_of(rows, "from", on_grid=False)
    bearings = bearings_in(rows, OPERATION.request)
    distance_m, distances_fit = number_in(rows, OPERATION.request, "distance_m")
    years, has_date = years_of(rows), rows.given("date")
    plain = start.plain & bearings.fit & distances_fit
    plain &= dated(years) | (~has_date & (bearings.north != _MAGNETIC))
    found = {name: np.zeros(rows.count) for name in _TURNED}
    magnetic: dict[int, list[Caution]] = {}
    for north, some in kinds_of(np.where(plain, bearings.north, -1)):
        if north < 0:
            continue
        ray = ray_from(
            start.lat_deg[some],
            start.lon_deg[some],
            bearings.azimuth_deg[some],
            NORTHS[north],
            distance_m[some],
            decimal_year=years[some] if north == _MAGNETIC else None,
            zone=start.zone[some],
            south=start.south[some],
        )
        plain[some] = ray.grid_reached
        for name, column in found.items():
            column[some] = np.where(ray.grid_reached, getattr(ray, name), 0.0)
        magnetic.update(_magnetic(start, np.arange(rows.count)[some], years, ray))
    end = geodetic_places(found["lat_deg"], found["lon_deg"])
    return Plain(
        plain,
        {
            **DescribedPlaces(end, start.digits).columns("position."),
            **read_place(start, "from"),
            "true_azimuth_deg": lambda: found["true_azimuth_deg"],
            "true_back_azimuth_deg": lambda: found["true_back_azimuth_deg"],
            "distance_m": lambda: distance_m,
            "date": lambda: date_texts(rows),
            "cautions": lambda: said_column(
                rows.count, start.cautions(), _coarse(start.resolution_m, plain), magnetic
            ),
        },
    )


def _coarse(resolution_m: FloatArray, plain: BoolArray) -> list[tuple[BoolArray, Caution]]:
    """What is to be said of beginnings that are given coarsely, for each size of square."""
    coarse = plain & (resolution_m >= COARSE_M)
    return [
        (coarse & (resolution_m == size_m), each)
        for size_m in np.unique(resolution_m[coarse]).tolist()
        for each in coarse_cautions(size_m)
    ]


def _magnetic(
    start: PlaceColumns, at: NDArray[np.intp], years: FloatArray, ray: Ray
) -> dict[int, list[Caution]]:
    """What is to be said of magnetic north at the beginnings of magnetic rays, by row."""
    if ray.horizontal_nt is None:
        return {}
    at = at[norths_doubtful(start.lat_deg[at], ray.horizontal_nt)]
    lat_deg = start.lat_deg[at]
    norths = norths_at(lat_deg, start.lon_deg[at], years[at])
    said = norths_said(lat_deg, norths, np.ones(at.size, dtype=np.bool_))
    return {int(at[place]): cautions for place, cautions in said.items()}


RAYS = Columnar(
    members=place_members("from") | {"bearing", "unit", "north", "distance_m", "date"},
    usual=(
        "position.lat_deg",
        "position.lon_deg",
        "position.mgrs",
        "true_azimuth_deg",
        "cautions",
    ),
    answer=answer,
)
