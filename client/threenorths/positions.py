"""Positions: read in any written form, given in every form."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal, Unpack

from .answers import Caution
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import Position, PositionInput
from .to_json import given, position_json

__all__ = [
    "Alternative",
    "ExpectedPlace",
    "LocalPosition",
    "PositionOperations",
    "PositionRead",
    "Shift",
    "Take",
]

#: What of a grid reference's square is taken for the position.
Take = Literal["centre", "corner"]


@dataclass(frozen=True, slots=True)
class Shift:
    """How a place came from ``datum`` to WGS 84, and where it is on that datum. [degree], [metre]"""

    datum: str
    datum_epsg: int
    lat_deg: float
    lon_deg: float
    operation: str
    accuracy_m: float
    ballpark: bool


@dataclass(frozen=True, slots=True)
class LocalPosition:
    """A place on the datum and the grid of the map in hand. [degree], [metre]

    ``zone``, 0 for UPS, and ``hemisphere`` are ``None`` on a national grid, whose code is ``epsg``; ``reference`` is ``None``
    on a grid that is written without letters.
    """

    datum: str
    datum_epsg: int
    lat_deg: float
    lon_deg: float
    grid: str
    zone: int | None
    hemisphere: str | None
    epsg: int | None
    easting_m: float
    northing_m: float
    reference: str | None
    convergence_deg: float
    point_scale_factor: float
    operation: str | None
    accuracy_m: float | None


@dataclass(frozen=True, slots=True)
class ExpectedPlace:
    """A place against where it was expected; what was not said is ``None``. [metre], [degree]"""

    fits: bool
    near_distance_m: float | None
    near_true_azimuth_deg: float | None
    outside_sheet_m: float | None


@dataclass(frozen=True, slots=True)
class Alternative:
    """A place that a likely slip would have meant: ``slip`` is its code. [degree], [metre]"""

    slip: str
    explanation: str
    read_as: str
    datum: str
    lat_deg: float
    lon_deg: float
    distance_m: float


@dataclass(frozen=True, slots=True)
class PositionRead(Position):
    """A position in every form, and how it was read.

    ``form`` is ``mgrs``, ``utm``, ``ups``, ``latitude_longitude``, ``national_reference`` or ``projected``; ``read_as`` what
    was understood, in words that can be read in one way only; ``resolution_m`` how finely it was given, ``None`` for an
    object. ``shift`` is ``None`` of a place given on WGS 84, ``local`` where the map in hand has WGS 84 with UTM or UPS, and
    ``expected`` where nothing was said of where to look. ``alternatives`` are nearest first.
    """

    form: str
    read_as: str
    resolution_m: float | None
    shift: Shift | None
    local: LocalPosition | None
    expected: ExpectedPlace | None
    alternatives: tuple[Alternative, ...]
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class PositionOperations(Operations):
    """``client.positions``"""

    def read(
        self,
        position: PositionInput,
        digits: int | None = None,
        take: Take | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> PositionRead:
        """Read a position and give it in every form.

        ``digits``, 0 to 5, is how finely the grid reference is written: 5 names a square of 1 m, 0 one of 100 km.
        ``take`` says what of a grid reference's square is the position, by the service's default its centre. `PlaceOptions`
        are what more can be said of how the position is read: its ``datum``, the ``sheet`` in hand, and a place that it is
        ``near`` to, within ``reach_m``, which tell what a reference without its zone or square means.

        Raises `NoAnswerError`, with code ``ambiguous_position`` and all ``readings`` for a text that can be read in
        more than one way, ``unreadable_position``, ``nothing_in_reach``, ``square_not_in_zone``, ``outside_grid``,
        ``outside_datum_area``, ``ballpark_shift``, ``unknown_datum``, ``unknown_grid``, ``inconsistent_sheet`` or
        ``out_of_range``.
        """
        return self._ask(PositionRead, "positions", _members(position, digits, take, working, places))

    def feature(
        self,
        position: PositionInput,
        digits: int | None = None,
        take: Take | None = None,
        *,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> dict[str, Any]:
        """The same answered as a GeoJSON feature (RFC 7946): the square of a reference, or the point.

        Arguments and errors are those of `read`; the feature's ``properties`` are its answer.
        """
        return self._ask_feature("positions", _members(position, digits, take, working, places))


def _members(
    position: PositionInput,
    digits: int | None,
    take: Take | None,
    working: bool | None,
    places: PlaceOptions,
) -> dict[str, Any]:
    return given(
        position=position_json(position, "position"),
        digits=digits,
        take=take,
        working=working,
        **place_members(places),
    )
