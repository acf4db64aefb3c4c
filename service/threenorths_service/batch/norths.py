"""Norths in columns."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pyarrow as pa

from ..navmath.cautions import Caution
from ..navmath.datums.datum import WGS84
from ..navmath.directions.north import Norths, cautions_at, norths_at, norths_doubtful
from ..navmath.magnetism.magnetic import MAXIMUM_HEIGHT_M, MINIMUM_HEIGHT_M
from ..navmath.magnetism.magnetic_choice import choice_of
from ..navmath.rows import BoolArray
from ..operations.norths import NORTH_MEMBERS
from .caution_columns import joined, said_column
from .columnar import Columnar, Plain
from .dates import date_texts, years_of
from .place_columns import PlaceColumns, place_members, places_of
from .rows import Rows

__all__ = ["NORTHS", "dated", "norths_said", "read_place"]

#: A date that stands in where a row has none that a model holds for. Its answers are not looked at.
STAND_IN_YEAR = 2025.0
MODEL_NAMES = pa.array([model.name for model in choice_of().models])


def answer(rows: Rows) -> Plain:
    """The norths of the rows."""
    places = places_of(rows, "position", on_grid=False)
    years = years_of(rows)
    height_m = rows.numbers("height_m", 0.0)
    plain = places.plain & dated(years) & (height_m >= MINIMUM_HEIGHT_M) & (height_m <= MAXIMUM_HEIGHT_M)
    years, height_m = np.where(plain, years, STAND_IN_YEAR), np.where(plain, height_m, 0.0)
    norths = norths_at(places.lat_deg, places.lon_deg, years, height_m, zone=places.zone, south=places.south)
    return Plain(
        plain,
        {
            **{name: partial(getattr, norths, name) for name in NORTH_MEMBERS},
            "model": lambda: MODEL_NAMES.take(pa.array(choice_of().model_of(years))),
            "date": lambda: date_texts(rows),
            "decimal_year": lambda: years,
            "height_m": lambda: height_m,
            **read_place(places, "position"),
            "cautions": lambda: said_column(
                rows.count, joined(places.cautions(), norths_said(places.lat_deg, norths, plain))
            ),
        },
    )


def dated(years: np.ndarray) -> BoolArray:
    """The dates that some magnetic model holds for."""
    choice = choice_of()
    held: BoolArray = (years >= choice.first_year) & (years < choice.last_year)
    return held


def read_place(places: PlaceColumns, root: str) -> dict[str, Callable[[], Any]]:
    """What makes the columns of a place of the request as it was read, behind its name."""
    return {
        f"{root}.lat_deg": lambda: places.lat_deg,
        f"{root}.lon_deg": lambda: places.lon_deg,
        f"{root}.resolution_m": lambda: places.resolution_m,
        f"{root}.datum": lambda: WGS84.name,
        f"{root}.accuracy_m": lambda: 0.0,
    }


def norths_said(lat_deg: np.ndarray, norths: Norths, plain: BoolArray) -> dict[int, list[Caution]]:
    """What is to be said of the magnetic and true norths there, by row."""
    rows = np.flatnonzero(norths_doubtful(lat_deg, norths.horizontal_nt) & plain)
    numbers = (lat_deg[rows], norths.horizontal_nt[rows], norths.declination_sd_deg[rows])
    columns = (column.tolist() for column in (rows, *numbers))
    return {row: cautions_at(*here) for row, *here in zip(*columns, strict=True)}


NORTHS = Columnar(
    members=place_members("position") | {"date", "height_m"},
    usual=(
        "declination_deg",
        "declination_sd_deg",
        "convergence_deg",
        "grid_magnetic_angle_deg",
        "annual_change_deg",
        "model",
        "cautions",
    ),
    answer=answer,
)
