"""Lines and rings of a request: as a list of positions, or as GeoJSON (RFC 7946)."""

from __future__ import annotations

import math
from typing import Any

from marshmallow import ValidationError

from .fields import Complaint, Member
from .places import PlaceReader
from .request_schemas import Position

__all__ = ["MOST_COORDINATES", "MOST_POSITIONS", "GivenLine", "GivenRing", "places_of"]

#: Each position of a list is read like any other; a GeoJSON coordinate costs nothing of the kind.
MOST_POSITIONS, MOST_COORDINATES = 500, 5000

#: Latitude and longitude. [degree]
LatLon = tuple[float, float]


class GivenLine(Member):
    """A line: positions in order, or a GeoJSON LineString. Only the shape is checked; `places_of` reads it."""

    TYPE, FEWEST = "LineString", 2

    def __init__(self, description: str, **options: Any) -> None:
        allowed = (
            f"a list of {self.FEWEST} to {MOST_POSITIONS} positions, or a GeoJSON {self.TYPE} of {self.FEWEST} to "
            f"{MOST_COORDINATES} coordinates"
        )
        super().__init__(description, allowed=allowed, **options)
        self._position = Position(description)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        if isinstance(value, dict):
            return self._coordinates(value)
        if not isinstance(value, list):
            raise self.refuse(f"This is neither a list nor a GeoJSON {self.TYPE}.", "wrong_type")
        if not self.FEWEST <= len(value) <= MOST_POSITIONS:
            raise self.refuse(f"This list has {len(value)}.", "out_of_range")
        loaded, complaints = [], {}
        for index, position in enumerate(value):
            try:
                loaded.append(self._position.deserialize(position))
            except ValidationError as error:
                complaints[index] = error.messages
        if complaints:
            raise ValidationError(complaints)
        return loaded

    def _coordinates(self, value: dict[str, Any]) -> list[LatLon]:
        """The coordinates of a GeoJSON object, latitude first."""
        if value.get("type") != self.TYPE or set(value) - {"type", "coordinates", "bbox"}:
            raise self.refuse(f"This is no GeoJSON {self.TYPE}.", "wrong_type")
        given = self._of_type(value.get("coordinates"))
        if not isinstance(given, list) or not self.FEWEST <= len(given) <= MOST_COORDINATES:
            raise self.refuse("It has no such list of coordinates.", "out_of_range")
        return [self._lat_lon(position) for position in given]

    def _of_type(self, coordinates: Any) -> Any:
        return coordinates

    def _lat_lon(self, position: Any) -> LatLon:
        numbers: list[Any] = position if isinstance(position, list) and len(position) in (2, 3) else [None]
        if any(isinstance(number, bool) or not isinstance(number, (int, float)) for number in numbers):
            raise self.refuse("A coordinate is no longitude and latitude.", "wrong_type")
        lon_deg, lat_deg = float(numbers[0]), float(numbers[1])
        if not (math.isfinite(lon_deg) and -180.0 <= lon_deg <= 180.0 and -90.0 <= lat_deg <= 90.0):
            message = Complaint(
                "A coordinate is out of range.",
                code="out_of_range",
                allowed="longitude from -180 to 180, then latitude from -90 to 90",
            )
            raise ValidationError([message])
        return lat_deg, lon_deg


class GivenRing(GivenLine):
    """An area: the positions around it, closed or not, or a GeoJSON Polygon without holes."""

    TYPE, FEWEST = "Polygon", 3

    def _of_type(self, coordinates: Any) -> Any:
        one_ring = isinstance(coordinates, list) and len(coordinates) == 1
        return coordinates[0] if one_ring else None


def places_of(line: list[Any], member: str, reader: PlaceReader) -> list[LatLon]:
    """Latitude and longitude on WGS 84 of each point of a loaded line; errors name the point under ``member``."""
    points = []
    for index, point in enumerate(line):
        if isinstance(point, tuple):
            points.append(point)
        else:
            place = reader.read(point, f"{member}/{index}")
            points.append((place.lat_deg, place.lon_deg))
    return points
