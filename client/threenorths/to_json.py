"""From arguments to the bytes of a request."""

from __future__ import annotations

import dataclasses
import datetime
import json
from collections.abc import Mapping, Sequence
from typing import Any

from .errors import ArgumentError
from .places import (
    LatLon,
    Position,
    PositionInput,
    Projected,
    ReadPlace,
    Ups,
    UpsCoordinates,
    Utm,
    UtmCoordinates,
)

__all__ = ["DateInput", "MomentInput", "encode", "given", "moment_json", "pairs_json", "position_json"]

#: A calendar date, its ISO 8601 text, or ``"today"``: the service's date in UTC, which the answer echoes.
DateInput = str | datetime.date

#: A moment that knows its offset from UTC, its ISO 8601 text with that, or ``"now"``: the service's clock, which the answer
#: echoes.
MomentInput = str | datetime.datetime


def given(**members: Any) -> dict[str, Any]:
    """The members that were given: ``None`` leaves one to the service. A trailing underscore is taken off a name."""
    return {name.removesuffix("_"): value for name, value in members.items() if value is not None}


def position_json(position: PositionInput, member: str) -> str | dict[str, Any]:
    """A position as a request has it. Raises `ArgumentError`, naming ``member``, where it is none."""
    match position:
        case str():
            return position
        case Mapping():
            return dict(position)
        case Position() | ReadPlace():
            return {"lat_deg": position.lat_deg, "lon_deg": position.lon_deg, "datum": "WGS84"}
        case LatLon() | Projected():
            return given(**dataclasses.asdict(position))
        case Utm():
            return given(grid="utm", **dataclasses.asdict(position))
        case Ups():
            return given(grid="ups", **dataclasses.asdict(position))
        case UtmCoordinates():
            return {"grid": "utm", "zone": position.zone, **_grid_json(position), "datum": "WGS84"}
        case UpsCoordinates():
            return {"grid": "ups", **_grid_json(position), "datum": "WGS84"}
    raise ArgumentError(
        f"{member} is no position but {position!r}; use a text, an object of its members, LatLon, Utm, Ups, Projected, or a "
        "position out of an answer"
    )


def moment_json(moment: MomentInput, member: str) -> str:
    """A moment as a request has it. Raises `ArgumentError`, naming ``member``, where it is none or has no offset from UTC."""
    if isinstance(moment, str):
        return moment
    if isinstance(moment, datetime.datetime) and moment.utcoffset() is not None:
        return moment.isoformat(timespec="milliseconds")
    raise ArgumentError(
        f"{member} is no moment with its offset from UTC but {moment!r:.100}; use a datetime with a time zone, or a text "
        "such as 2026-11-25T17:30:00+01:00"
    )


def pairs_json(
    pairs: Sequence[tuple[float, float]], member: str, names: tuple[str, str]
) -> list[dict[str, float]]:
    """Pairs of numbers as objects with these names. Raises `ArgumentError`, naming ``member``, where one is no pair."""
    objects = []
    for index, pair in enumerate(pairs):
        try:
            first, second = pair
        except (TypeError, ValueError):
            raise ArgumentError(
                f"{member}[{index}] is no pair of {' and '.join(names)} but {pair!r:.100}"
            ) from None
        objects.append({names[0]: first, names[1]: second})
    return objects


def encode(members: dict[str, Any]) -> bytes:
    """The body of a request. Bytes, so that it can be sent again: a generator would be sent empty the second time.

    Raises `ArgumentError` where JSON cannot hold a value, such as a number that is not finite.
    """
    try:
        return json.dumps(members, allow_nan=False, default=_encode_other).encode()
    except (TypeError, ValueError) as error:
        raise ArgumentError(f"the request cannot be written as JSON: {error}") from None


def _grid_json(place: UtmCoordinates | UpsCoordinates) -> dict[str, Any]:
    return {
        "hemisphere": place.hemisphere,
        "easting_m": place.easting_m,
        "northing_m": place.northing_m,
    }


def _encode_other(value: Any) -> str:
    if isinstance(value, datetime.datetime):
        # Its date is of some time zone; which one the model is to be taken at is for the caller to say.
        raise TypeError("a moment is no calendar date; give its .date()")
    if isinstance(value, datetime.date):
        return value.isoformat()
    raise TypeError(f"{value!r:.100} is neither a number, a text nor a date")
