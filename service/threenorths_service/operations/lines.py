"""Lines: direction and distance between two places."""

from __future__ import annotations

from typing import Any

import numpy as np
from marshmallow import fields
from numpy.typing import ArrayLike

from ..navmath.angle import FloatArray, normalise_signed
from ..navmath.cautions import Caution, caution
from ..navmath.errors import CoincidentPointsError, DateOutsideModelError
from ..navmath.lines.geodesic import COINCIDENT_M
from ..navmath.lines.line import Line, line_between
from ..navmath.magnetism.decimal_year import decimal_year
from ..navmath.magnetism.magnetic import check_date
from .answer_schemas import CautionedAnswerSchema, ReadPlaceSchema
from .fields import Azimuth, Rounded
from .north_angles import magnetic_cautions
from .operation import Example, Operation
from .places import POSITION_ERRORS, reader_of
from .request_schemas import PlacesRequestSchema, Position, date_member

__all__ = [
    "NOTICEABLE_DEG",
    "ON_ELLIPSOID",
    "ON_GRID",
    "OPERATION",
    "UNSURE_DEG",
    "coarse_cautions",
    "map_cautions",
    "off_by_squares_m",
    "parted_deg",
    "turned_by_deg",
]

#: Map line and line of sight further apart than this are worth a caution: a tenth of what a hand compass can tell
#: (read to half a degree at best; common practice, no source). [degree]
NOTICEABLE_DEG = 0.05
#: What a compass can be read to: directions less sure than this are worth a caution. [degree]
UNSURE_DEG = 0.5


class LineRequestSchema(PlacesRequestSchema):
    """Two places."""

    from_ = Position("Where the line begins. Its grid zone is the line's.", data_key="from", required=True)
    to = Position("Where the line ends.", required=True)
    date = date_member("Date of the magnetic azimuths; left out, they are null.")


class LineAnswerSchema(CautionedAnswerSchema):
    """The line from each north at both ends, and its lengths."""

    distance_m = Rounded("Shortest distance on the ellipsoid. [m]", 4, required=True)
    true_azimuth_deg = Azimuth("Azimuth at the beginning, from true north. [degree]", required=True)
    true_back_azimuth_deg = Azimuth("Azimuth back, from true north at the end. [degree]", required=True)
    grid_azimuth_deg = Azimuth(
        "Azimuth of the straight line on the map, in the grid zone of the beginning; null beyond its reach. [degree]",
        required=True,
        allow_none=True,
    )
    grid_back_azimuth_deg = Azimuth(
        "Azimuth back along the straight line on the map; null likewise. [degree]",
        required=True,
        allow_none=True,
    )
    grid_distance_m = Rounded(
        "Length by grid coordinates; null likewise. [m]", 4, required=True, allow_none=True
    )
    mean_scale_factor = Rounded(
        "Length by grid coordinates over distance on the ellipsoid; null likewise.",
        10,
        required=True,
        allow_none=True,
    )
    magnetic_azimuth_deg = Azimuth(
        "Azimuth at the beginning, from magnetic north there; null without a date. [degree]",
        required=True,
        allow_none=True,
    )
    magnetic_back_azimuth_deg = Azimuth(
        "Azimuth back, from magnetic north at the end; null without a date. [degree]",
        required=True,
        allow_none=True,
    )
    date = fields.Date(
        required=True,
        allow_none=True,
        metadata={"description": "Date of the magnetic azimuths; null where none was given."},
    )
    from_ = fields.Nested(ReadPlaceSchema, data_key="from", required=True)
    to = fields.Nested(ReadPlaceSchema, required=True)


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a line request."""
    date = request.get("date")
    if date is not None:
        check_date(date)
    year = None if date is None else decimal_year(date)
    reader = reader_of(request)
    start, end = reader.read(request["from_"], "from"), reader.read(request["to"], "to")
    line = line_between(
        start.lat_deg,
        start.lon_deg,
        end.lat_deg,
        end.lon_deg,
        decimal_year=year,
        zone=start.grid_zone,
        south=start.grid_south,
    )
    if not line.distinct:
        raise CoincidentPointsError(
            "the two places are the same, so no direction from one to the other is defined",
            member="to",
            value=request["to"],
            allowed=f"a place at least {COINCIDENT_M} m from the first",
        )
    reached, off_m = bool(line.grid_reached), off_by_squares_m(start.sd_m, end.sd_m)
    answer = {
        **{name: getattr(line, name) for name in ON_ELLIPSOID},
        **{name: getattr(line, name) if reached else None for name in ON_GRID},
        "date": date,
        "from_": start,
        "to": end,
        "cautions": [
            *start.cautions,
            *end.cautions,
            *coarse_cautions(float(off_m), float(turned_by_deg(off_m, line.distance_m))),
            *magnetic_cautions([start, end], year),
            *map_cautions(reached, float(parted_deg(line))),
        ],
    }
    if request["working"]:
        answer["working"] = _working(line, reached)
    return answer


ON_ELLIPSOID = (
    "distance_m",
    "true_azimuth_deg",
    "true_back_azimuth_deg",
    "magnetic_azimuth_deg",
    "magnetic_back_azimuth_deg",
)
ON_GRID = ("grid_azimuth_deg", "grid_back_azimuth_deg", "grid_distance_m", "mean_scale_factor")


def parted_deg(line: Line) -> FloatArray:
    """How far the straight line on the map and the line of sight part at the beginning; NaN beyond the grid. [degree]"""
    return np.abs(normalise_signed(line.grid_azimuth_deg - line.line_of_sight_grid_azimuth_deg))


def map_cautions(reached: bool, apart_deg: float) -> list[Caution]:
    """What is to be said of a line on the map: where the grid does not reach it, and by how much it parts from the sight."""
    if not reached:
        return [caution("grid_not_reached")]
    if apart_deg <= NOTICEABLE_DEG:
        return []
    return [
        caution(
            "long_line",
            f"Over this length the straight line on the map and the line of sight part by {apart_deg:.2f} degrees at the "
            "beginning.",
        )
    ]


def off_by_squares_m(start_sd_m: ArrayLike, end_sd_m: ArrayLike) -> FloatArray:
    """How far the squares that its places were given by may put a line off. [metre]"""
    return np.hypot(start_sd_m, end_sd_m)


def turned_by_deg(off_m: ArrayLike, distance_m: ArrayLike) -> FloatArray:
    """How far that turns a line of such a length. [degree]"""
    return np.degrees(np.arctan2(off_m, distance_m))


def coarse_cautions(off_m: float, turned_deg: float) -> list[Caution]:
    """What is to be said where a line is turned by more than can be overlooked."""
    if turned_deg <= UNSURE_DEG:
        return []
    return [
        caution(
            "coarse_reference",
            f"The places are given so coarsely that the line is known to {turned_deg:.1f} degrees and {off_m:,.0f} m only "
            "(one standard deviation).",
        )
    ]


def _working(line: Line, reached: bool) -> list[str]:
    steps = [
        f"on the ellipsoid: {float(line.distance_m):,.1f} m at true azimuth {float(line.true_azimuth_deg):.3f} degrees, "
        f"back {float(line.true_back_azimuth_deg):.3f} from true north at the end"
    ]
    if reached:
        steps.append(
            f"by grid coordinates: {float(line.grid_distance_m):,.1f} m at grid azimuth "
            f"{float(line.grid_azimuth_deg):.3f} degrees; mean scale factor {float(line.mean_scale_factor):.6f}"
        )
    if line.magnetic_azimuth_deg is not None and line.declination_deg is not None:
        steps.append(
            f"magnetic = true - D = {float(line.true_azimuth_deg):.3f} - ({float(line.declination_deg):+.3f}) "
            f"= {float(line.magnetic_azimuth_deg):.3f} degrees"
        )
    return steps


OPERATION = Operation(
    name="lines",
    summary="Direction and distance between two places",
    description=(
        "True azimuths and distance on the ellipsoid (geodesic), grid azimuth and distance by coordinates in the grid zone "
        "of the first place, also across zone boundaries and the antimeridian, and magnetic azimuths with a date. Back "
        "azimuths are measured from the north at the far end. Distances are level: not along the ground's ups and downs."
    ),
    request=LineRequestSchema(),
    answer=LineAnswerSchema(),
    run=run,
    errors=(*POSITION_ERRORS, CoincidentPointsError, DateOutsideModelError),
    examples=(
        Example(
            "hut_to_ford",
            "Between two invented places",
            {"from": "33V VK 12345 67890", "to": "33V VK 15020 66410", "date": "2026-11-25"},
        ),
        Example(
            "across_a_zone",
            "From zone 32 into zone 33",
            {"from": "32V PK 8000 5000", "to": {"lat_deg": 60.05, "lon_deg": 12.3}, "working": True},
        ),
    ),
)
