"""Bearings in columns."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from ..navmath.angle import CIRCLE_DIVISIONS, FloatArray, from_degrees
from ..navmath.cautions import caution
from ..navmath.directions.bearing import NORTHS, back_azimuth
from ..operations.bearings import OPERATION
from .angle_texts import dms_texts, quadrant_texts
from .caution_columns import said_column
from .columnar import Columnar, Plain
from .dates import date_texts
from .north_angles import (
    ANGLE_MEMBERS,
    NONE,
    angle_columns,
    angles_answer_columns,
    azimuths_of,
    bearings_in,
)
from .rows import Rows

__all__ = ["BEARINGS"]


def answer(rows: Rows) -> Plain:
    """The bearings of the rows."""
    bearings = bearings_in(rows, OPERATION.request)
    angles = angle_columns(rows, OPERATION.request)
    azimuths, tied = azimuths_of(bearings, angles)
    # Without angles there is nothing else to say than that.
    alone = angles.source == NONE
    columns: dict[str, Callable[[], Any]] = {}
    for north in NORTHS:
        columns.update(_notations(f"{north}.", azimuths[north]))
    columns.update(
        {
            **angles_answer_columns(angles),
            "date": lambda: date_texts(rows),
            "cautions": lambda: said_column(rows.count, angles.said, [(alone, caution("own_north_only"))]),
        }
    )
    return Plain(bearings.fit & angles.plain & tied, columns)


def _notations(prefix: str, azimuth_deg: FloatArray) -> dict[str, Callable[[], Any]]:
    """What makes the columns of `operations.bearings.every_notation`."""
    return {
        **{f"{prefix}azimuth_{unit}": partial(from_degrees, azimuth_deg, unit) for unit in CIRCLE_DIVISIONS},
        f"{prefix}azimuth_dms": lambda: dms_texts(azimuth_deg),
        f"{prefix}azimuth_quadrant": lambda: quadrant_texts(azimuth_deg),
        f"{prefix}back_azimuth_deg": lambda: back_azimuth(azimuth_deg),
        f"{prefix}back_azimuth_mil": lambda: from_degrees(back_azimuth(azimuth_deg), "mil"),
    }


BEARINGS = Columnar(
    members=ANGLE_MEMBERS | {"bearing", "unit", "north"},
    usual=(
        "true.azimuth_deg",
        "grid.azimuth_deg",
        "magnetic.azimuth_deg",
        "angles.declination_deg",
        "angles.convergence_deg",
        "angles.grid_magnetic_angle_deg",
        "cautions",
    ),
    answer=answer,
)
