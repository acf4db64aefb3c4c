"""Search areas: where somebody overdue on foot may be, as nested areas each with what it means."""

from __future__ import annotations

from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.angle import normalise_azimuth
from ..navmath.errors import (
    AnglesUnreadableError,
    BoundsReversedError,
    DateMissingError,
    DateOutsideModelError,
    LineDoesNotPartError,
    NavigationError,
    NothingLeftError,
    ReachTooLargeError,
    SearchIncompleteError,
    StartExcludedError,
    UnusableShapeError,
)
from ..navmath.places.place import Place
from ..navmath.places.position import describe
from ..navmath.searches.area_limits import AreaLimits, Side
from ..navmath.searches.direction_distribution import (
    ANY_DIRECTION,
    LEAST_DIRECTION_SD_DEG,
    NO_DIRECTION_DEG,
    OTHER_DIRECTIONS_SHARE,
    DirectionDistribution,
    about_direction,
    sd_of_half_angle_deg,
)
from ..navmath.searches.distance_distribution import (
    MOST_HOURS,
    MOST_REACH_M,
    MOST_SPEED_KM_PER_H,
    DistanceDistribution,
    between_bounds,
    from_quantiles,
    reach_m,
)
from ..navmath.searches.search_area import DEFAULT_SHARES, LEAST_SHARE, MOST_SHARE, SearchAreas, search_areas
from ..navmath.searches.start_region import (
    MOST_START_RADIUS_M,
    StartRegion,
    known_by_covariance,
    known_to_radius,
)
from ..navmath.sights.sight import angle_from_true_north
from .fields import Bearing, List, Number
from .north_angles import bearing_in_degrees, date_for_magnetic, magnetic_cautions
from .operation import Example, Operation, RequestSchema
from .places import POSITION_ERRORS, PlaceReader, on_sheet_cautions, reader_of
from .request_schemas import PlacesRequestSchema, Position, date_member, north_member, unit_member
from .search_area_answers import SearchAreasAnswerSchema, areas_answer, areas_feature
from .shapes_given import GivenLine, GivenRing, places_of

__all__ = ["OPERATION"]

MOST_LIMITS = 20


class QuantileSchema(RequestSchema):
    """A share of such people and the straight-line distance within which they were found."""

    share = Number("Share found.", minimum=0.01, maximum=0.99, required=True)
    distance_m = Number(
        "Distance from where they were last known. [m]", minimum=1, maximum=MOST_REACH_M, required=True
    )


class SideOfLineSchema(RequestSchema):
    """The side of a line to keep to."""

    line = GivenLine("The line; it must part the area.", required=True)
    place = Position("A place on the side that the person is on.", required=True)


class SearchAreasRequestSchema(PlacesRequestSchema):
    """Somebody overdue: where last known, how far they can be, which way they went, and where they cannot be."""

    last_known = Position("The place last known.", required=True)
    radius_m = Number(
        "How far from there the person may have been, anywhere within as likely. Left out: half the diagonal of the square "
        "that the place was given by. [m]",
        minimum=0,
        maximum=MOST_START_RADIUS_M,
    )
    sd_m = Number(
        "In its place, the standard deviation of a normally distributed error, such as that of a fix. [m]",
        minimum=0.001,
        maximum=5000,
    )
    hours_since = Number("Time since then; needs speeds. [h]", minimum=0.001, maximum=MOST_HOURS)
    least_speed_km_per_h = Number(
        "Slowest, in a straight line. Left out: 0. [km/h]", minimum=0, maximum=MOST_SPEED_KM_PER_H
    )
    likely_speed_km_per_h = Number("Likeliest. [km/h]", minimum=0, maximum=MOST_SPEED_KM_PER_H)
    greatest_speed_km_per_h = Number("Fastest. [km/h]", above=0, maximum=MOST_SPEED_KM_PER_H)
    least_m = Number(
        "In place of time and speeds: least distance. Left out: 0. [m]", minimum=0, maximum=MOST_REACH_M
    )
    likely_m = Number("Likeliest distance. [m]", minimum=0, maximum=MOST_REACH_M)
    greatest_m = Number("Greatest distance. [m]", minimum=1, maximum=1_000_000)
    distance_quantiles = List(
        fields.Nested(QuantileSchema),
        "How far such people were found, from statistics of your own country and kind of person, which the service has none "
        "of. With a greatest distance or speed too, what is beyond that is left out.",
        minimum=2,
        maximum=20,
    )
    direction = Bearing("Direction of travel, in `unit` from `north`; needs a spread.")
    direction_sd_deg = Number(
        "Standard deviation of the direction; 180 says nothing of it. [degree]",
        minimum=LEAST_DIRECTION_SD_DEG,
        maximum=NO_DIRECTION_DEG,
    )
    direction_spread_deg = Number(
        "In its place, the angle to either side that holds `direction_confidence`. [degree]",
        minimum=LEAST_DIRECTION_SD_DEG,
        maximum=NO_DIRECTION_DEG,
    )
    direction_confidence = Number("Share within the spread.", minimum=0.5, maximum=0.999, load_default=0.8)
    other_directions_share = Number(
        f"Share of cases in which the direction of travel says nothing: people turn. Left out: {OTHER_DIRECTIONS_SHARE:g}.",
        minimum=0,
        maximum=1,
    )
    unit = unit_member()
    north = north_member(load_default="true")
    date = date_member("Date of a magnetic direction; required for one.")
    not_crossed = List(
        GivenLine("A line."),
        "Lines that were not crossed, such as a river in flood.",
        minimum=1,
        maximum=MOST_LIMITS,
    )
    excluded = List(
        GivenRing("An area."), "Areas where the person is not, such as lakes.", minimum=1, maximum=MOST_LIMITS
    )
    within = List(
        GivenRing("An area."),
        "Areas that the person has not left, such as a valley.",
        minimum=1,
        maximum=MOST_LIMITS,
    )
    sides = List(
        fields.Nested(SideOfLineSchema),
        "Sides of lines that the person is on.",
        minimum=1,
        maximum=MOST_LIMITS,
    )
    shares = List(
        Number("A share.", minimum=LEAST_SHARE, maximum=MOST_SHARE),
        "Shares of likelihood to give areas for, rising. Left out: 0.5, 0.75 and 0.95.",
        minimum=1,
        maximum=10,
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a search-area request."""
    year = date_for_magnetic(request)
    reader = reader_of(request)
    last_known = reader.read(request["last_known"], "last_known")
    areas = search_areas(
        _start(request, last_known),
        _distances(request),
        _directions(request, last_known, year),
        _limits(request, reader),
        request.get("shares", DEFAULT_SHARES),
    )
    magnetic_year = year if "direction" in request and request["north"] == "magnetic" else None
    answer = {
        "last_known": last_known,
        **areas_answer(areas),
        "date": request.get("date"),
        "cautions": [
            *areas.cautions,
            *last_known.cautions,
            *magnetic_cautions([last_known], magnetic_year),
            *on_sheet_cautions(request, describe(last_known, last_known.own_digits), last_known.own_digits),
        ],
        "place": last_known,
        "found": areas,
    }
    if request["working"]:
        answer["working"] = _working(areas)
    return answer


def _start(request: dict[str, Any], place: Place) -> StartRegion:
    if "sd_m" in request:
        if "radius_m" in request:
            raise _said_twice("how well the place last known is known", "sd_m", "radius_m, or sd_m")
        return known_by_covariance(place.lat_deg, place.lon_deg, np.eye(2) * request["sd_m"] ** 2)
    radius_m = request.get("radius_m", min(place.tolerance_m + place.accuracy_m, MOST_START_RADIUS_M))
    return known_to_radius(place.lat_deg, place.lon_deg, radius_m)


def _said_twice(what: str, member: str, allowed: str) -> SearchIncompleteError:
    return SearchIncompleteError(f"{what} is said twice", member=member, allowed=allowed)


def _distances(request: dict[str, Any]) -> DistanceDistribution:
    """The distances that the request speaks of: by time and speeds, by bounds, or by quantiles."""
    bounds = {name: request.get(f"{name}_m") for name in ("least", "likely", "greatest")}
    speeds = {name: request.get(f"{name}_speed_km_per_h") for name in bounds}
    if "hours_since" in request or any(speed is not None for speed in speeds.values()):
        if (
            "hours_since" not in request
            or all(speed is None for speed in speeds.values())
            or any(bound is not None for bound in bounds.values())
        ):
            raise SearchIncompleteError(
                "speeds go with the time since, and not with distances",
                member="hours_since",
                allowed="hours_since with speeds, or distances",
            )
        bounds = {
            name: None if speed is None else reach_m(request["hours_since"], speed)
            for name, speed in speeds.items()
        }
    if "distance_quantiles" in request:
        for name in ("least", "likely"):
            if bounds[name] is not None:
                raise _said_twice(
                    "the likelihood of distances",
                    f"{name}_m" if speeds[name] is None else f"{name}_speed_km_per_h",
                    "distance_quantiles with a greatest distance or speed only",
                )
        quantiles = [(each["share"], each["distance_m"]) for each in request["distance_quantiles"]]
        try:
            return from_quantiles(quantiles, bounds["greatest"])
        except NavigationError as error:
            error.member = error.member or "distance_quantiles"
            raise
    if bounds["greatest"] is None:
        raise SearchIncompleteError(
            "nothing says how far the person can be",
            allowed="hours_since with greatest_speed_km_per_h, or greatest_m, or distance_quantiles",
        )
    return between_bounds(bounds["least"] or 0.0, bounds["greatest"], bounds["likely"])


def _directions(request: dict[str, Any], place: Place, year: float | None) -> DirectionDistribution:
    if "direction" not in request:
        for member in ("direction_sd_deg", "direction_spread_deg", "other_directions_share"):
            if member in request:
                raise SearchIncompleteError(
                    "it goes with a direction of travel, and none is given",
                    member=member,
                    value=request[member],
                    allowed="direction with it, or neither",
                )
        return ANY_DIRECTION
    bearing_deg = bearing_in_degrees(request["direction"], request["unit"], "direction")
    turn_deg = angle_from_true_north(
        request["north"], place.lat_deg, place.lon_deg, year, place.grid_zone, place.grid_south
    )
    true_azimuth_deg = float(normalise_azimuth(bearing_deg + turn_deg))
    if "direction_sd_deg" in request:
        if "direction_spread_deg" in request:
            raise _said_twice(
                "the spread of the direction",
                "direction_spread_deg",
                "direction_sd_deg, or direction_spread_deg",
            )
        sd_deg = request["direction_sd_deg"]
    elif "direction_spread_deg" in request:
        sd_deg = sd_of_half_angle_deg(request["direction_spread_deg"], request["direction_confidence"])
    else:
        raise SearchIncompleteError(
            "a direction of travel needs its spread: nobody keeps to a line",
            member="direction_sd_deg",
            allowed="direction_sd_deg, or direction_spread_deg",
        )
    share = request.get("other_directions_share", OTHER_DIRECTIONS_SHARE)
    return about_direction(true_azimuth_deg, sd_deg, share)


def _limits(request: dict[str, Any], reader: PlaceReader) -> AreaLimits:
    lines = {
        name: [places_of(line, f"{name}/{index}", reader) for index, line in enumerate(request.get(name, ()))]
        for name in ("not_crossed", "excluded", "within")
    }
    sides = []
    for index, side in enumerate(request.get("sides", ())):
        place = reader.read(side["place"], f"sides/{index}/place")
        line = places_of(side["line"], f"sides/{index}/line", reader)
        sides.append(Side(line, place.lat_deg, place.lon_deg))
    return AreaLimits(**lines, sides=sides)


def _working(areas: SearchAreas) -> list[str]:
    found = [*areas.areas, *([] if areas.outer_bound is None else [areas.outer_bound])]
    return [
        *areas.assumptions,
        *(f"{area.ground.area_m2 / 1e6:,.2f} km2: {area.meaning}" for area in found),
    ]


OPERATION = Operation(
    name="search-areas",
    summary="Where somebody overdue on foot may be",
    description=(
        "Nested areas, each with its stated meaning and its size. The outer bound is geometry: everywhere in reach. Within "
        "it are the smallest areas that hold stated shares of likelihood under a plain model, which the answer says in "
        "sentences: a straight-line distance, by time and speeds, by bounds, or by quantiles that you bring; a direction of "
        "travel with its spread; a place last known with its own uncertainty; and hard limits, such as a river not crossed."
        "\n\n"
        "**It supports a search manager's judgement and never takes its place.** It knows nothing of paths, slopes, going, "
        "weather, shelter, or what a person has in mind, and ships no statistics of lost people. With "
        "`Accept: application/geo+json` the answer is a feature collection (RFC 7946), the smallest area first."
    ),
    request=SearchAreasRequestSchema(),
    answer=SearchAreasAnswerSchema(),
    run=run,
    errors=(
        *POSITION_ERRORS,
        AnglesUnreadableError,
        BoundsReversedError,
        DateMissingError,
        DateOutsideModelError,
        SearchIncompleteError,
        LineDoesNotPartError,
        NothingLeftError,
        ReachTooLargeError,
        StartExcludedError,
        UnusableShapeError,
    ),
    feature=areas_feature,
    examples=(
        Example(
            "by_time_and_speed",
            "Three hours overdue, last seen heading down an invented valley",
            {
                "last_known": "33V VK 1502 7841",
                "hours_since": 3,
                "likely_speed_km_per_h": 1.5,
                "greatest_speed_km_per_h": 4,
                "direction": 140,
                "direction_sd_deg": 40,
                "working": True,
            },
        ),
        Example(
            "by_quantiles_and_a_river",
            "Distances from statistics of one's own, invented, and an invented river in flood to the east",
            {
                "last_known": "33V VK 1502 7841",
                "distance_quantiles": [
                    {"share": 0.25, "distance_m": 700},
                    {"share": 0.5, "distance_m": 1600},
                    {"share": 0.95, "distance_m": 7000},
                ],
                "not_crossed": [["33V VK 17 65", "33V VK 175 785", "33V VK 17 95"]],
            },
        ),
    ),
)
