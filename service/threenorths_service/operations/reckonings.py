"""Reckonings: where a walk of legs leads, how far that is to be trusted, and how it closes on a known end."""

from __future__ import annotations

from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.cautions import Caution, caution
from ..navmath.errors import (
    AnglesUnreadableError,
    DateMissingError,
    DateOutsideModelError,
    LengthsInconsistentError,
    LengthsMissingError,
    MagneticUselessError,
    NavigationError,
    NoLegsError,
    OutsideGridError,
    WalkUnclosableError,
)
from ..navmath.lines.leg import HEADING_SD_RANGE_DEG, LENGTH_SD_RATIO_RANGE, LONGEST_LEG_M, Leg, leg_of
from ..navmath.lines.reckoning import Reckoning, reckon
from ..navmath.lines.reckoning_errors import ReckoningErrors
from ..navmath.lines.traverse import Closure, close
from ..navmath.places.place import Place, digits_for, place_from_geodetic
from ..navmath.places.position import describe
from .estimates import default_sd_cautions, naming
from .fields import Bearing, Flag, List, Number
from .map_distances import STEEP_GRADIENT
from .north_angles import bearing_in_degrees, date_for_magnetic
from .operation import Example, Operation, RequestSchema
from .places import POSITION_ERRORS, on_sheet_cautions, reader_of
from .reckoning_answers import ReckoningAnswerSchema, closure_answer, legs_answer
from .request_schemas import PlacesRequestSchema, Position, date_member, north_member, unit_member

__all__ = ["OPERATION"]

#: More legs than anybody walks in a day; it bounds the work of one request.
MOST_LEGS = 200
_DEFAULTS = ReckoningErrors()
_LONGEST = f"{LONGEST_LEG_M / 1000:g} km"


def _ratio(description: str, default: float, minimum: float = LENGTH_SD_RATIO_RANGE[0]) -> Number:
    return Number(f"{description} Left out: {default:g}.", minimum=minimum, maximum=LENGTH_SD_RATIO_RANGE[1])


class LegRequestSchema(RequestSchema):
    """One leg, straight from one turning point to the next; its length is told in one way."""

    bearing = Bearing("Direction of the leg, in `unit` from `north`.", required=True)
    back = Flag(
        "Whether the bearing was read at the leg's end, looking back to its start.", load_default=False
    )
    distance_m = Number("Length. [m]", minimum=0, maximum=LONGEST_LEG_M)
    paces = Number(
        f"Length in the walker's paces, at most {_LONGEST}; needs `paces_per_100_m`.",
        minimum=0,
        maximum=1_000_000,
    )
    time_min = Number(
        f"Time walked, rests taken off, for at most {_LONGEST}; needs `speed_km_per_h`. [min]",
        minimum=0,
        maximum=100_000,
    )
    speed_km_per_h = Number("Speed of this leg. Left out: the request's. [km/h]", minimum=0.01, maximum=1000)
    gradient_percent = Number(
        "Rise over level length, uphill positive: the length is then along the slope, and is levelled. [per cent]",
        minimum=-200,
        maximum=200,
        load_default=0.0,
    )
    heading_sd_deg = Number(
        "Standard deviation of this leg's direction. Left out: the request's. [degree]",
        minimum=HEADING_SD_RANGE_DEG[0],
        maximum=HEADING_SD_RANGE_DEG[1],
    )
    length_sd_ratio = Number(
        "Standard deviation of this leg's length, over it. Left out: the request's.",
        minimum=LENGTH_SD_RATIO_RANGE[0],
        maximum=LENGTH_SD_RATIO_RANGE[1],
    )


class ReckoningRequestSchema(PlacesRequestSchema):
    """A start and the legs walked from it."""

    start = Position("Where the walk begins. Its grid is that of grid legs.", required=True)
    start_sd_m = Number(
        "Standard deviation of the start to the north and to the east. Left out: what the square that it was given by and "
        "its datum make of it. [m]",
        minimum=0,
        maximum=100_000,
    )
    legs = List(
        fields.Nested(LegRequestSchema), "The legs in order.", minimum=1, maximum=MOST_LEGS, required=True
    )
    end = Position("A known place that the walk ended at; the start itself of a closed loop.")
    end_sd_m = Number(
        "Standard deviation of that place, likewise; without `end` it has no effect. [m]",
        minimum=0,
        maximum=100_000,
    )
    unit = unit_member()
    north = north_member(required=True)
    date = date_member("Date of magnetic bearings; required for them.")
    paces_per_100_m = Number("The walker's own count over 100 m of like ground.", minimum=20, maximum=500)
    speed_km_per_h = Number("Speed of every leg that names none. [km/h]", minimum=0.01, maximum=1000)
    heading_sd_deg = Number(
        f"Standard deviation of the direction of each leg by itself. Left out: {_DEFAULTS.heading_sd_deg:g}, for a walker "
        "from mark to mark. [degree]",
        minimum=HEADING_SD_RANGE_DEG[0],
        maximum=HEADING_SD_RANGE_DEG[1],
    )
    compass_sd_deg = Number(
        f"Standard deviation of what turns all the legs alike, such as iron carried. Left out: {_DEFAULTS.compass_sd_deg:g}. "
        "The declination's own is added for magnetic legs. [degree]",
        minimum=0,
        maximum=HEADING_SD_RANGE_DEG[1],
    )
    length_sd_ratio = _ratio(
        "Standard deviation of the length of each leg by itself, over it.", _DEFAULTS.length_sd_ratio
    )
    scale_sd_ratio = _ratio(
        "Standard deviation of what all lengths have too much or too little, over them: a wrong pace count.",
        _DEFAULTS.scale_sd_ratio,
        0,
    )
    timed_length_sd_ratio = _ratio(
        "The same of each leg by the watch, beside the speed's own.", _DEFAULTS.timed_length_sd_ratio
    )
    timed_scale_sd_ratio = _ratio(
        "The same of the speed of all legs by the watch.", _DEFAULTS.timed_scale_sd_ratio, 0
    )


ERROR_MEMBERS = (
    "heading_sd_deg",
    "compass_sd_deg",
    "length_sd_ratio",
    "scale_sd_ratio",
    "timed_length_sd_ratio",
    "timed_scale_sd_ratio",
)
#: Steeper than this a measured slope is hard to walk straight, and pace counts are little use; as of map distances.
STEEP_PERCENT = 100 * STEEP_GRADIENT


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a reckoning request."""
    year = date_for_magnetic(request)
    reader = reader_of(request)
    start = reader.read(request["start"], "start")
    legs = [_leg(request, index) for index in range(len(request["legs"]))]
    with naming(_request_names(len(legs))):
        reckoning = reckon(
            start.lat_deg,
            start.lon_deg,
            legs,
            errors=ReckoningErrors(**{name: request[name] for name in ERROR_MEMBERS if name in request}),
            start_covariance_m2=_covariance(request.get("start_sd_m", start.sd_m)),
            decimal_year=year,
            zone=start.grid_zone,
            south=start.grid_south,
        )
    cautions = [*start.cautions, *_walking_cautions(request)]
    closure = None
    if "end" in request:
        end = reader.read(request["end"], "end")
        closure = close(reckoning, end.lat_deg, end.lon_deg, _covariance(request.get("end_sd_m", end.sd_m)))
        cautions += [*end.cautions, *closure.cautions]
    last = _place(reckoning, start)
    cautions += on_sheet_cautions(request, last, _digits(reckoning, start))
    answer = {
        "start": start,
        "position": last,
        "legs": legs_answer(reckoning),
        "closure": None if closure is None else closure_answer(closure),
        "walked_m": reckoning.walked_m[-1],
        "date": request.get("date"),
        "cautions": list(dict.fromkeys([*cautions, *reckoning.cautions])),
    }
    if request["working"]:
        answer["working"] = _working(request, reckoning, closure, last.mgrs_spaced)
    return answer


def _leg(request: dict[str, Any], index: int) -> Leg:
    leg = request["legs"][index]
    where = f"legs/{index}"
    bearing_deg = bearing_in_degrees(leg["bearing"], request["unit"], f"{where}/bearing")
    told = {name: leg[name] for name in ("distance_m", "paces", "time_min") if name in leg}
    if "paces" in told:
        told["paces_per_100_m"] = request.get("paces_per_100_m")
    if "time_min" in told:
        told["speed_km_per_h"] = leg.get("speed_km_per_h", request.get("speed_km_per_h"))
    try:
        return leg_of(
            bearing_deg,
            **told,
            gradient=leg["gradient_percent"] / 100.0,
            north=request["north"],
            back=leg["back"],
            heading_sd_deg=leg.get("heading_sd_deg"),
            length_sd_ratio=leg.get("length_sd_ratio"),
        )
    except NavigationError as error:
        # The count is of the walker, so it stands beside the legs.
        raise error if error.member == "paces_per_100_m" else error.within(where) from None


def _request_names(count: int) -> dict[str, str]:
    """For `naming`: what the mathematics calls the members of the legs."""
    return {
        own: name
        for index in range(count)
        for own, name in (
            (f"legs/{index}/bearing_deg", f"legs/{index}/bearing"),
            (f"legs/{index}/north", "north"),
        )
    }


def _walking_cautions(request: dict[str, Any]) -> list[Caution]:
    """What is to be said of how the legs were walked."""
    legs = request["legs"]
    cautions = []
    if any("paces" in leg for leg in legs):
        cautions.append(caution("paces_vary"))
    if any(abs(leg["gradient_percent"]) > STEEP_PERCENT for leg in legs):
        cautions.append(caution("steep_gradient"))
    return [*cautions, *default_sd_cautions(request, _defaults_used(legs))]


def _defaults_used(legs: list[dict[str, Any]]) -> dict[str, str]:
    """Words for the standard deviations of the walk that some leg rests on, by the member that would give each."""
    timed = [leg for leg in legs if "time_min" in leg]
    measured = [leg for leg in legs if "time_min" not in leg]
    words = {"compass_sd_deg": f"{_DEFAULTS.compass_sd_deg:g} degrees for the compass"}
    if any("heading_sd_deg" not in leg for leg in legs):
        words["heading_sd_deg"] = f"{_DEFAULTS.heading_sd_deg:g} degrees for the direction of each leg"
    if any("length_sd_ratio" not in leg for leg in measured):
        words["length_sd_ratio"] = f"{_DEFAULTS.length_sd_ratio:.0%} for each length"
    if measured:
        what = "the count" if any("paces" in leg for leg in measured) else "what all lengths share"
        words["scale_sd_ratio"] = f"{_DEFAULTS.scale_sd_ratio:.0%} for {what}"
    if any("length_sd_ratio" not in leg for leg in timed):
        words["timed_length_sd_ratio"] = f"{_DEFAULTS.timed_length_sd_ratio:.0%} for each length by the watch"
    if timed:
        words["timed_scale_sd_ratio"] = f"{_DEFAULTS.timed_scale_sd_ratio:.0%} for the speed"
    return {name: words[name] for name in ERROR_MEMBERS if name in words}


def _covariance(sd_m: float) -> Any:
    return np.eye(2) * sd_m**2


def _place(reckoning: Reckoning, start: Place) -> Any:
    """The end of the walk in every form, written no finer than it is known."""
    place = place_from_geodetic(float(reckoning.walk.lat_deg[-1]), float(reckoning.walk.lon_deg[-1]))
    return describe(place, _digits(reckoning, start))


def _digits(reckoning: Reckoning, start: Place) -> int:
    known_m = float(reckoning.ellipse.semi_major_m[-1]) / 2.0
    return min(digits_for(known_m), start.own_digits)


def _working(
    request: dict[str, Any], reckoning: Reckoning, closure: Closure | None, reference: str
) -> list[str]:
    steps = [
        f"leg {number}: {request['north']} bearing {leg.bearing_deg:.1f} degrees{' read back' if leg.back else ''} is "
        f"{reckoning.walk.azimuth_deg[number - 1]:.1f} true; {leg.length_m:,.0f} m level; {reckoning.walked_m[number]:,.0f} "
        f"m so far, known to {reckoning.ellipse.semi_major_m[number]:,.0f} m"
        for number, leg in enumerate(reckoning.legs, start=1)
    ]
    steps.append(f"the walk leads to {reference}")
    if closure is not None:
        missed = closure.misclosure
        ratio = "" if missed.one_in is None else f", 1 in {missed.one_in:,.0f} of the way"
        within = "within" if missed.explained else "more than"
        steps.append(
            f"it misses the known end by {missed.north_m:+.1f} m north and {missed.east_m:+.1f} m east: "
            f"{missed.distance_m:.1f} m{ratio}, {within} what the stated errors explain"
        )
        steps.append("compass rule: each turning point is moved by its share of the way walked up to it")
    return steps


OPERATION = Operation(
    name="reckonings",
    summary="Where a walk of legs leads, and how it closes",
    description=(
        "Dead reckoning: from a start along legs by bearing and distance, paces or time, on the ellipsoid, a magnetic "
        "bearing with the declination at each leg's own start and a grid bearing as the straight line on the map. Each "
        "turning point has its ellipse, from the errors of each leg and from those that all legs share, which grow with "
        "the way.\n\n"
        "With a known `end` it is a traverse: its misclosure, whether the stated errors explain that, the turning points "
        "adjusted by the compass rule and by least squares, and the one compass error and the one error of the pace count "
        "that would explain all of it. A closed loop ends at its start."
    ),
    request=ReckoningRequestSchema(),
    answer=ReckoningAnswerSchema(),
    run=run,
    errors=(
        *POSITION_ERRORS,
        AnglesUnreadableError,
        DateMissingError,
        DateOutsideModelError,
        LengthsInconsistentError,
        LengthsMissingError,
        MagneticUselessError,
        NoLegsError,
        OutsideGridError,
        WalkUnclosableError,
    ),
    examples=(
        Example(
            "in_cloud",
            "Three legs by compass and paces in cloud, invented",
            {
                "start": "33V VK 1234 8012",
                "legs": [
                    {"bearing": 96, "paces": 410},
                    {"bearing": 140, "paces": 275},
                    {"bearing": 118, "paces": 600, "gradient_percent": -12},
                ],
                "north": "magnetic",
                "date": "2026-11-25",
                "paces_per_100_m": 64,
                "working": True,
            },
        ),
        Example(
            "closed_on_a_bridge",
            "An invented walk that ended at a bridge on the map",
            {
                "start": "33V VK 12340 80120",
                "legs": [{"bearing": 90, "distance_m": 800}, {"bearing": 180, "distance_m": 600}],
                "end": "33V VK 13180 79540",
                "north": "grid",
            },
        ),
    ),
)
