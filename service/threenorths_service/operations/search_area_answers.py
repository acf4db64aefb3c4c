"""What a search-area request is answered with, also as GeoJSON."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from ..navmath.searches.search_area import SearchArea, SearchAreas
from .answer_schemas import CautionedAnswerSchema, ReadPlaceSchema
from .fields import Azimuth, Rounded
from .geojson import polygons_geometry
from .operation import AnswerSchema

__all__ = ["SearchAreasAnswerSchema", "areas_answer", "areas_feature"]


class DirectionReachSchema(AnswerSchema):
    """From where to where an area reaches in one direction from the place last known."""

    true_azimuth_deg = Azimuth("Direction, from true north. [degree]", required=True)
    nearest_m = Rounded("Nearest. [m]", 0, required=True)
    farthest_m = Rounded("Farthest; between the two may be gaps. [m]", 0, required=True)


class SearchAreaSchema(AnswerSchema):
    """One area."""

    share = Rounded(
        "Share of likelihood that it holds; null of the outer bound.", 4, required=True, allow_none=True
    )
    meaning = fields.String(required=True, metadata={"description": "What the area means, in a sentence."})
    area_km2 = Rounded("Size on the ellipsoid, to four figures. [km2]", 9, required=True)
    perimeter_m = Rounded("Length of its edge. [m]", 0, required=True)
    bbox = fields.List(
        Rounded("Degrees. [degree]", 7),
        required=True,
        metadata={
            "description": "West, south, east and north edge; across the antimeridian west is greater than east (RFC 7946, "
            "section 5.2). [degree]"
        },
    )
    reaches = fields.List(
        fields.Nested(DirectionReachSchema),
        required=True,
        metadata={"description": "Its reach in those of sixteen directions in which it lies."},
    )
    cell_m = Rounded(
        "How finely it was worked out; null of the outer bound, which is exact. [m]",
        1,
        required=True,
        allow_none=True,
    )
    polygons = fields.List(
        fields.List(fields.List(fields.List(Rounded("Degrees. [degree]", 7)))),
        required=True,
        metadata={
            "description": "Its polygons, each an exterior ring and holes of longitudes and latitudes, as the coordinates of "
            "a GeoJSON MultiPolygon. [degree]"
        },
    )


class SearchAreasAnswerSchema(CautionedAnswerSchema):
    """Nested areas, and what they rest on."""

    last_known = fields.Nested(ReadPlaceSchema, required=True)
    areas = fields.List(
        fields.Nested(SearchAreaSchema),
        required=True,
        metadata={
            "description": "Areas that hold shares of likelihood, the smallest first: each lies within the next."
        },
    )
    outer_bound = fields.Nested(
        SearchAreaSchema,
        required=True,
        allow_none=True,
        metadata={
            "description": "Everywhere in reach; null where no greatest distance follows from the request."
        },
    )
    assumptions = fields.List(
        fields.String(),
        required=True,
        metadata={
            "description": "The model, in sentences: read them, and ask whether they hold for this person."
        },
    )
    left_out_share = Rounded(
        "Of what distances and directions hold likely, the share that the limits leave out.", 4, required=True
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date of a magnetic direction; null where none was given."},
    )


def areas_answer(found: SearchAreas) -> dict[str, Any]:
    """What was found as `SearchAreasAnswerSchema` has it."""
    return {
        "areas": [_area(area) for area in found.areas],
        "outer_bound": None if found.outer_bound is None else _area(found.outer_bound),
        "assumptions": found.assumptions,
        "left_out_share": found.left_out_share,
    }


def _area(area: SearchArea) -> dict[str, Any]:
    ground = area.ground
    return {
        "share": area.share,
        "meaning": area.meaning,
        # Four figures: it is known to half a per cent.
        "area_km2": float(f"{ground.area_m2 / 1e6:.4g}"),
        "perimeter_m": ground.perimeter_m,
        "bbox": ground.bbox,
        "reaches": area.reaches,
        "cell_m": area.cell_m,
        "polygons": [
            [exterior.tolist(), *(hole.tolist() for hole in holes)] for exterior, holes in ground.polygons
        ],
    }


def areas_feature(_answer: dict[str, Any], dumped: dict[str, Any]) -> dict[str, Any]:
    """A feature collection: one feature an area, the smallest first and the outer bound last."""
    shown = [*dumped["areas"], *([] if dumped["outer_bound"] is None else [dumped["outer_bound"]])]
    features = []
    for area in shown:
        properties = {name: value for name, value in area.items() if name not in ("polygons", "bbox")}
        geometry = polygons_geometry(area["polygons"])
        features.append(
            {"type": "Feature", "bbox": area["bbox"], "geometry": geometry, "properties": properties}
        )
    rest = {name: dumped[name] for name in ("last_known", "assumptions", "left_out_share", "cautions")}
    return {"type": "FeatureCollection", "features": features, **rest}
