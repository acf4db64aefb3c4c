"""How far fixes of two sights in columns may be from single ones, for the tests of batches.

The place is that of the single fix to a micrometre, and the ellipse to a share that `tests/navmath/test_sight_pairs.py`
derives: derivatives by differences over twice 3e-4 of the shortest sight, between places whose last digits are 1.6 nm, are
off by 4e-6 of a sight of a metre, and twice that is allowed; over 400 km the earth's bend leaves 3e-8; flat crossings
amplify. All texts are the same.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import orjson

from threenorths_service.batch.answers import JSON_TYPE, AnswerColumn
from threenorths_service.operations.sights import FixAnswerSchema

FIXES = ("intersections", "resections")

MOVED_M = 1e-6
#: The least radius that the ellipsoid is curved by. [metre]
RADIUS_M = 6_335_000.0


def moves_of(answer: Mapping[str, Any]) -> dict[str, float]:
    """By how much each number of an answer may be off before it is rounded; the answer is by path, its lists as JSON."""
    distances_m, sd_deg = orjson.loads(answer["distances_m"]), orjson.loads(answer["sd_deg"])
    shortest_m, crossing = min(distances_m), math.radians(answer["crossing_angle_deg"])
    lat = math.degrees(MOVED_M / RADIUS_M)
    lon = lat / math.cos(math.radians(answer["position.lat_deg"]))
    turned = math.degrees(MOVED_M / shortest_m)
    share = (3e-8 + 8e-6 / shortest_m) / math.sin(crossing)
    major, minor = answer["ellipse.semi_major_m"], answer["ellipse.semi_minor_m"]
    varied = 2 * share * (answer["covariance_m2.north_north"] + answer["covariance_m2.east_east"])
    # A covariance that is off turns the axes by as much over the difference of its eigenvalues.
    axes = math.degrees(2 * share * (major**2 + minor**2) / (major**2 - minor**2)) if major > minor else 180.0
    return {
        "position.lat_deg": lat,
        "position.lon_deg": lon,
        **{
            f"position.{name}": 1.001 * MOVED_M  # a grid stretches what is at its edge
            for name in (
                "utm.easting_m",
                "utm.northing_m",
                "ups.easting_m",
                "ups.northing_m",
                "east_of_central_meridian_m",
            )
        },
        # Grid north turns by no more than the meridians do.
        "position.convergence_deg": lon,
        # The scale grows with the square of the distance from the central meridian, over a million metres in UPS.
        "position.point_scale_factor": MOVED_M * 1e6 / RADIUS_M**2,
        **{f"covariance_m2.{name}": varied for name in ("north_north", "north_east", "east_east")},
        "ellipse.semi_major_m": share * major,
        "ellipse.semi_minor_m": share * major,
        "ellipse.major_axis_azimuth_deg": axes,
        "crossing_angle_deg": 2 * turned,
        "residuals_deg": turned,
        "distances_m": MOVED_M,
        "sd_deg": max(sd_deg) * MOVED_M / shortest_m,
    }


def is_alike(column: AnswerColumn, got: Any, wanted: Any, moves: Mapping[str, float]) -> bool:
    """Whether a cell is what is wanted: the same, or numbers as near as they move by, and a unit of the last digit."""
    if repr(got) == repr(wanted):
        return True
    moved = moves.get(column.path)
    if moved is None or got is None or wanted is None:
        return False
    numbers, others, places = [got], [wanted], column.places
    if column.arrow_type == JSON_TYPE:
        numbers, others = orjson.loads(got), orjson.loads(wanted)
        places = FixAnswerSchema().fields[column.path].inner.places  # type: ignore[attr-defined]
    assert places is not None
    most = 10.0**-places + moved
    off = [abs(number - other) for number, other in zip(numbers, others, strict=True)]
    if column.circle is not None:
        off = [min(each, column.circle - each) for each in off]
    # What decimals themselves are off by as doubles.
    return max(off) <= most + 4.0 * math.ulp(max(map(abs, others)) + 1.0)
