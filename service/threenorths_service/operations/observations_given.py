"""Observations of a request: what was seen, measured or stood on, and with which standard deviation."""

from __future__ import annotations

from typing import Any, ClassVar

from ..navmath.cautions import Caution, caution
from ..navmath.errors import AnglesMissingError
from ..navmath.fixes.observation import (
    DEFAULT_LINE_SD_M,
    LENGTH_RANGE_M,
    SD_RANGE_M,
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    LineStoodOn,
    Observation,
)
from ..navmath.places.place import Place
from ..navmath.sights.sight import DEFAULT_SD_DEG, SD_RANGE_DEG
from .fields import Bearing, Choice, Number
from .north_angles import bearing_in_degrees
from .operation import RequestSchema
from .places import PlaceReader
from .request_schemas import OneOf, Position, north_member
from .shapes_given import GivenLine, places_of

__all__ = ["ObservationGiven", "ObservationReader", "north_of"]


def _sd_deg() -> Number:
    return Number(
        f"Standard deviation. Left out: the request's, or {DEFAULT_SD_DEG:g}. [degree]",
        minimum=SD_RANGE_DEG[0],
        maximum=SD_RANGE_DEG[1],
    )


def _sd_m(description: str, **options: Any) -> Number:
    return Number(f"{description} [m]", minimum=SD_RANGE_M[0], maximum=SD_RANGE_M[1], **options)


class BearingToMarkSchema(RequestSchema):
    """A bearing read at the unknown place to a known mark."""

    kind = Choice("What was observed.", ("bearing_to",), required=True)
    to = Position("The mark.", required=True)
    bearing = Bearing("The bearing as read, in `unit`.", required=True)
    north = north_member()
    sd_deg = _sd_deg()


class BearingFromPlaceSchema(RequestSchema):
    """A bearing read at a known place to the unknown one."""

    kind = Choice("What was observed.", ("bearing_from",), required=True)
    from_ = Position("Where it was read.", data_key="from", required=True)
    bearing = Bearing("The bearing as read, in `unit`.", required=True)
    north = north_member()
    sd_deg = _sd_deg()


class DistanceToPlaceSchema(RequestSchema):
    """A level distance between the unknown place and a known one."""

    kind = Choice("What was observed.", ("distance",), required=True)
    to = Position("The known place.", required=True)
    distance_m = Number(
        "The distance. [m]", minimum=LENGTH_RANGE_M[0], maximum=LENGTH_RANGE_M[1], required=True
    )
    sd_m = _sd_m("Its standard deviation: paced, some 3 per cent of it.", required=True)


class AngleBetweenMarksSchema(RequestSchema):
    """The angle at the unknown place from a left mark clockwise to a right one; it needs no compass."""

    kind = Choice("What was observed.", ("angle",), required=True)
    left = Position("The left mark.", required=True)
    right = Position("The right mark.", required=True)
    angle = Bearing("The angle as read, in `unit`.", required=True)
    sd_deg = _sd_deg()


class LineStoodOnSchema(RequestSchema):
    """A line that the unknown place lies on: a road, a stream, a ridge."""

    kind = Choice("What was observed.", ("line",), required=True)
    line = GivenLine("The line.", required=True)
    sd_m = _sd_m(
        f"Standard deviation across the line. Left out: {DEFAULT_LINE_SD_M:g}, for a line of a 1:50,000 map.",
        load_default=DEFAULT_LINE_SD_M,
    )


class ObservationGiven(OneOf):
    """One observation, of the kind that it names."""

    FORMS: ClassVar[tuple[RequestSchema, ...]] = (
        BearingToMarkSchema(),
        BearingFromPlaceSchema(),
        DistanceToPlaceSchema(),
        AngleBetweenMarksSchema(),
        LineStoodOnSchema(),
    )
    KINDS = ("bearing_to", "bearing_from", "distance", "angle", "line")

    def __init__(self, description: str, **options: Any) -> None:
        allowed = f"an object whose kind is one of {', '.join(self.KINDS)}"
        super().__init__(description, allowed=allowed, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> dict[str, Any]:
        if not isinstance(value, dict) or value.get("kind") not in self.KINDS:
            raise self.refuse("This is no observation of a known kind.", "wrong_type")
        return self.load_form(self.FORMS[self.KINDS.index(value["kind"])], value)


def north_of(request: dict[str, Any], observation: dict[str, Any], index: int) -> str | None:
    """The north that a bearing is from: its own, or the request's."""
    if "bearing" not in observation:
        return None
    north: str | None = observation.get("north", request.get("north"))
    if north is None:
        raise AnglesMissingError(
            "the bearing's north is not said",
            member=f"observations/{index}/north",
            allowed="true, grid or magnetic, here or for the whole request",
        )
    return north


class ObservationReader:
    """Reads the observations of one request, and remembers their places."""

    def __init__(self, request: dict[str, Any], reader: PlaceReader) -> None:
        self.request = request
        self.reader = reader
        self.places: list[Place] = []
        self.cautions: list[Caution] = []
        self._marks = {
            index: reader.read(given["to"], f"observations/{index}/to")
            for index, given in enumerate(request["observations"])
            if given["kind"] == "bearing_to"
        }
        self._grid = self._grid_of_marks()

    def observation(self, given: dict[str, Any], index: int) -> Observation:
        """One observation as the mathematics takes it."""
        where = f"observations/{index}"
        kind = given["kind"]
        if kind in ("bearing_to", "bearing_from"):
            return self._bearing(given, where, index)
        if kind == "distance":
            place = self._read(given["to"], f"{where}/to")
            return DistanceTo(place.lat_deg, place.lon_deg, given["distance_m"], given["sd_m"], place.sd_m)
        if kind == "angle":
            left, right = (self._read(given[side], f"{where}/{side}") for side in ("left", "right"))
            return AngleBetween(
                left.lat_deg,
                left.lon_deg,
                right.lat_deg,
                right.lon_deg,
                bearing_in_degrees(given["angle"], self.request["unit"], f"{where}/angle"),
                self._sd_deg(given),
                left.sd_m,
                right.sd_m,
            )
        line = places_of(given["line"], f"{where}/line", self.reader)
        lat_deg, lon_deg = zip(*line, strict=True)
        return LineStoodOn(lat_deg, lon_deg, given["sd_m"])

    def _bearing(self, given: dict[str, Any], where: str, index: int) -> Observation:
        to_mark = given["kind"] == "bearing_to"
        place = self._marks[index] if to_mark else self.reader.read(given["from_"], f"{where}/from")
        self.places.append(place)
        north = north_of(self.request, given, index)
        bearing_deg = bearing_in_degrees(given["bearing"], self.request["unit"], f"{where}/bearing")
        # Whoever reads a grid bearing reads it on the sheet in hand: at a known place its own, else that of the marks.
        grid = self._grid if to_mark else (place.grid_zone, place.grid_south)
        zone, south = (grid or (None, None)) if north == "grid" else (None, None)
        kind = BearingTo if to_mark else BearingFrom
        return kind(
            place.lat_deg,
            place.lon_deg,
            bearing_deg,
            self._sd_deg(given),
            north or "true",
            zone,
            south,
            place.sd_m,
        )

    def _read(self, position: Any, member: str) -> Place:
        place = self.reader.read(position, member)
        self.places.append(place)
        return place

    def _sd_deg(self, given: dict[str, Any]) -> float:
        sd_deg: float | None = given.get("sd_deg", self.request.get("sd_deg"))
        if sd_deg is None:
            message = f"No standard deviation was given for a bearing or an angle: {DEFAULT_SD_DEG:g} degrees was taken."
            self.cautions.append(caution("default_sd", message))
            return DEFAULT_SD_DEG
        return sd_deg

    def _grid_of_marks(self) -> tuple[int, bool] | None:
        """The one grid that all marks of bearings were given on, and so that of the sheet in hand; or none."""
        grids = {
            (mark.grid_zone, mark.grid_south) if mark.grid_named else None for mark in self._marks.values()
        }
        return grids.pop() if len(grids) == 1 else None
