"""Compass settings in columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from ..navmath.angle import FloatArray
from ..navmath.cautions import caution
from ..navmath.directions.compass_setting import (
    Turn,
    bezel_for_azimuth,
    bezel_for_grid_magnetic_angle,
    map_oriented_dial_deg,
    shorter_clicks,
)
from ..navmath.rows import BoolArray, IntArray
from ..operations.compass_settings import OPERATION, PURPOSES, TURNS
from .caution_columns import said_column
from .columnar import Columnar, Plain
from .north_angles import ANGLE_MEMBERS, angle_columns, angles_answer_columns, azimuths_of, bearings_in
from .plain_members import groups_of, number_in
from .rows import Rows

__all__ = ["COMPASS_SETTINGS"]

_PURPOSES, _TURNS = pa.array(PURPOSES), pa.array(TURNS)
_CLOCKWISE, _COUNTERCLOCKWISE, _NO_TURN = (
    TURNS.index(word) for word in ("clockwise", "counterclockwise", "none")
)


@dataclass(frozen=True, slots=True)
class Bezels:
    """`BezelSetting` by rows, of which some follow a bearing and some set off an angle."""

    nearest: Turn
    other: Turn
    tie: BoolArray


def answer(rows: Rows) -> Plain:
    """The settings of the rows."""
    bearings = bearings_in(rows, OPERATION.request)
    angles = angle_columns(rows, OPERATION.request)
    azimuths, tied = azimuths_of(bearings, angles)
    click_deg, clicks_fit = number_in(rows, OPERATION.request, "click_deg")
    followed = bearings.given
    set_off = angles.grid_magnetic_angle_deg
    wanted = np.where(followed, azimuths["magnetic"], set_off)
    # A bearing needs its north, without which it is NaN, and the angle that ties it to magnetic north.
    plain = bearings.fit & angles.plain & clicks_fit & ~np.isnan(wanted)
    plain &= np.where(followed, tied, True)
    wanted, click_deg = np.where(plain, wanted, 0.0), np.where(plain, click_deg, 3.0)
    bezels = _bezels(wanted, click_deg, followed)
    columns: dict[str, Callable[[], Any]] = {
        "purpose": lambda: _PURPOSES.take(pa.array((~followed).astype(np.int8))),
        **_setting("", bezels.nearest),
        "tie": lambda: bezels.tie,
        **_setting("other_setting.", bezels.other),
        **_short_way(bezels.nearest, click_deg),
        "plain_compass_deg": lambda: np.where(followed, azimuths["magnetic"], np.nan),
        "declination_scale_deg": lambda: set_off,
        "adjusted_compass_deg": lambda: np.where(followed, azimuths["grid"], np.nan),
        "map_oriented_dial_deg": lambda: map_oriented_dial_deg(set_off),
        **angles_answer_columns(angles),
        "cautions": lambda: said_column(rows.count, angles.said, [(bezels.tie, caution("click_tie"))]),
    }
    return Plain(plain, columns)


def _bezels(wanted_deg: FloatArray, click_deg: FloatArray, followed: BoolArray) -> Bezels:
    nearest, other = (_unturned(wanted_deg.size) for _ in range(2))
    tie = np.zeros(wanted_deg.size, dtype=np.bool_)
    for (follow,), some in groups_of(followed):
        bezel = (bezel_for_azimuth if follow else bezel_for_grid_magnetic_angle)(
            wanted_deg[some], click_deg[some]
        )
        tie[some] = bezel.tie
        for whole, part in ((nearest, bezel.nearest), (other, bezel.other)):
            for field in fields(Turn):
                getattr(whole, field.name)[some] = getattr(part, field.name)
    return Bezels(nearest, other, tie)


def _unturned(count: int) -> Turn:
    return Turn(np.zeros(count, dtype=np.int64), *(np.zeros(count) for _ in range(3)))


def _setting(prefix: str, turn: Turn) -> dict[str, Callable[[], Any]]:
    return {
        f"{prefix}clicks": lambda: np.abs(turn.clicks),
        f"{prefix}turn": lambda: _ways(turn.clicks),
        f"{prefix}set_deg": lambda: turn.set_deg,
        f"{prefix}residual_deg": lambda: turn.residual_deg,
        f"{prefix}off_line_m_per_km": lambda: turn.off_line_m_per_km,
    }


def _short_way(turn: Turn, click_deg: FloatArray) -> dict[str, Callable[[], Any]]:
    """What makes the columns of the shorter way round, null where there is none."""

    def where_there_is_one(column_of: Callable[[IntArray], pa.Array]) -> pa.Array:
        clicks, divides = shorter_clicks(turn.clicks, click_deg)
        column = column_of(clicks)
        return pc.if_else(pa.array(divides), column, pa.scalar(None, column.type))

    return {
        "short_way.clicks": lambda: where_there_is_one(lambda clicks: pa.array(np.abs(clicks))),
        "short_way.turn": lambda: where_there_is_one(_ways),
    }


def _ways(clicks: IntArray) -> pa.StringArray:
    """Which way each turn is, as an answer names it."""
    ways = np.where(clicks == 0, _NO_TURN, np.where(clicks > 0, _COUNTERCLOCKWISE, _CLOCKWISE))
    return _TURNS.take(pa.array(ways))


COMPASS_SETTINGS = Columnar(
    members=ANGLE_MEMBERS | {"bearing", "unit", "north", "click_deg"},
    usual=(
        "clicks",
        "turn",
        "set_deg",
        "residual_deg",
        "off_line_m_per_km",
        "tie",
        "plain_compass_deg",
        "cautions",
    ),
    answer=answer,
)
