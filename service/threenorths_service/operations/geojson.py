"""Shapes of answers as GeoJSON (RFC 7946): longitude first, on WGS84, cut at the antimeridian."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..navmath.places.place import Place
from ..navmath.sheets.outline import Outline, square_outline
from ..navmath.sheets.sheet import Sheet

__all__ = ["outline_geometry", "place_feature", "polygons_geometry", "sheet_feature"]

#: RFC 7946, section 11.2, finds six decimals enough for a decimetre; the square of a metre wants a millimetre.
PLACES = 8


def outline_geometry(outline: Outline) -> dict[str, Any]:
    """An outline as a polygon, or as several where the antimeridian cuts it (section 3.1.9)."""
    rings = [
        ring for ring in outline.rings() if np.ptp(ring[:, 0]) > 0.0
    ]  # one along a meridian holds nothing
    return polygons_geometry([[[_position(lon, lat) for lon, lat in ring]] for ring in rings])


def polygons_geometry(polygons: list[Any]) -> dict[str, Any]:
    """Polygons, each of an exterior ring and holes, as one geometry."""
    if len(polygons) == 1:
        return {"type": "Polygon", "coordinates": polygons[0]}
    return {"type": "MultiPolygon", "coordinates": polygons}


def feature(geometry: dict[str, Any] | None, properties: dict[str, Any]) -> dict[str, Any]:
    """A feature (section 3.2)."""
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def place_feature(answer: dict[str, Any], dumped: dict[str, Any]) -> dict[str, Any]:
    """The square that a position was read from, or its point; the properties are the whole answer."""
    place: Place = answer["place"]
    square = place.square
    if square is None:
        point = {"type": "Point", "coordinates": _position(place.lon_deg, place.lat_deg)}
        return feature(point, dumped)
    corner = (square.corner_easting_m, square.corner_northing_m)
    outline = square_outline(square.zone, square.south, *corner, square.size_m, square.frame)
    return feature(outline_geometry(outline), dumped)


def sheet_feature(answer: dict[str, Any], dumped: dict[str, Any]) -> dict[str, Any]:
    """The outline of a sheet; the properties are the whole answer. Without edges it has no geometry."""
    sheet: Sheet = answer["sheet"]
    geometry = outline_geometry(sheet.edges) if sheet.has_edges else None
    return feature(geometry, dumped)


def _position(lon_deg: float, lat_deg: float) -> list[float]:
    return [round(float(lon_deg), PLACES) + 0.0, round(float(lat_deg), PLACES) + 0.0]
