"""Search areas: where somebody overdue on foot may be, as nested areas each with what it means."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Unpack

from .answers import Caution, North, Unit
from .caller import Operations
from .place_options import PlaceOptions, place_members
from .places import PositionInput, ReadPlace
from .to_json import DateInput, given, position_json

__all__ = ["LineInput", "SearchArea", "SearchAreaOperations", "SearchAreas", "Side", "line_json"]

#: A line or the edge of an area: positions in order, or a GeoJSON LineString or Polygon.
LineInput = Sequence[PositionInput] | Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Side:
    """The side of a line that a place lies on."""

    line: LineInput
    place: PositionInput


@dataclass(frozen=True, slots=True)
class DirectionReach:
    """From where to where an area reaches in one direction. [degree], [metre]"""

    true_azimuth_deg: float
    nearest_m: float
    farthest_m: float


@dataclass(frozen=True, slots=True)
class SearchArea:
    """One area: ``share`` of likelihood that it holds, ``None`` of the outer bound, and its ``meaning`` in a sentence.

    ``polygons`` are as the coordinates of a GeoJSON MultiPolygon, longitude first. [degree], [square kilometre], [metre]
    """

    share: float | None
    meaning: str
    area_km2: float
    perimeter_m: float
    bbox: tuple[float, ...]
    reaches: tuple[DirectionReach, ...]
    cell_m: float | None
    polygons: tuple[tuple[tuple[tuple[float, ...], ...], ...], ...] = field(repr=False)


@dataclass(frozen=True, slots=True)
class SearchAreas:
    """Nested areas, the smallest first, and the ``assumptions`` that they rest on.

    They support a search manager's judgement and never take its place.
    """

    last_known: ReadPlace
    areas: tuple[SearchArea, ...]
    outer_bound: SearchArea | None
    assumptions: tuple[str, ...]
    left_out_share: float
    date: datetime.date | None
    cautions: tuple[Caution, ...]
    working: tuple[str, ...] | None = None
    raw_json: str = field(default="", repr=False, compare=False)


class SearchAreaOperations(Operations):
    """``client.search_areas``"""

    def find(
        self,
        last_known: PositionInput,
        *,
        radius_m: float | None = None,
        sd_m: float | None = None,
        hours_since: float | None = None,
        least_speed_km_per_h: float | None = None,
        likely_speed_km_per_h: float | None = None,
        greatest_speed_km_per_h: float | None = None,
        least_m: float | None = None,
        likely_m: float | None = None,
        greatest_m: float | None = None,
        distance_quantiles: Sequence[tuple[float, float]] | None = None,
        direction: float | str | None = None,
        direction_sd_deg: float | None = None,
        direction_spread_deg: float | None = None,
        direction_confidence: float | None = None,
        other_directions_share: float | None = None,
        unit: Unit | None = None,
        north: North | None = None,
        date: DateInput | None = None,
        not_crossed: Sequence[LineInput] | None = None,
        excluded: Sequence[LineInput] | None = None,
        within: Sequence[LineInput] | None = None,
        sides: Sequence[Side] | None = None,
        shares: Sequence[float] | None = None,
        working: bool | None = None,
        **places: Unpack[PlaceOptions],
    ) -> SearchAreas:
        """Where somebody may be who was last known at a place, as nested areas.

        How far is said by ``hours_since`` and speeds, by distances, or by ``distance_quantiles``, pairs of a share and the
        distance within which that share was found. A ``direction`` needs its spread. [metre], [hour], [km/h], [degree]

        Raises `NoAnswerError`: ``search_incomplete``, ``bounds_reversed``, ``reach_too_large``, ``start_excluded``,
        ``line_does_not_part``, ``nothing_left``, ``unusable_shape``, and those of `RayOperations.follow`.
        """
        arguments = {name: value for name, value in locals().items() if name not in ("self", "places")}
        return self._ask(SearchAreas, "search-areas", _members(arguments, places))

    def feature(self, last_known: PositionInput, **arguments: Any) -> dict[str, Any]:
        """The same answered as a GeoJSON feature collection, the smallest area first; arguments are those of `find`."""
        places: Any = {
            name: arguments.pop(name) for name in PlaceOptions.__annotations__ if name in arguments
        }
        return self._ask_feature("search-areas", _members({"last_known": last_known, **arguments}, places))


def _members(arguments: dict[str, Any], places: PlaceOptions) -> dict[str, Any]:
    """The members of a request, lines and quantiles as it has them."""
    members = dict(arguments)
    members["last_known"] = position_json(arguments["last_known"], "last_known")
    for name in ("not_crossed", "excluded", "within"):
        lines = arguments.get(name)
        if lines is not None:
            members[name] = [line_json(line, f"{name}[{index}]") for index, line in enumerate(lines)]
    if arguments.get("sides") is not None:
        members["sides"] = [
            {
                "line": line_json(side.line, f"sides[{index}].line"),
                "place": position_json(side.place, f"sides[{index}].place"),
            }
            for index, side in enumerate(arguments["sides"])
        ]
    if arguments.get("distance_quantiles") is not None:
        members["distance_quantiles"] = [
            {"share": share, "distance_m": distance_m}
            for share, distance_m in arguments["distance_quantiles"]
        ]
    return given(**members, **place_members(places))


def line_json(line: LineInput, member: str) -> Any:
    """A line as a request has it."""
    if isinstance(line, Mapping):
        return dict(line)
    return [position_json(point, f"{member}[{index}]") for index, point in enumerate(line)]
