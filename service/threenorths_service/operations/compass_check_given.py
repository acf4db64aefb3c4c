"""What a compass check is given: readings, and the direction that each should have been."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from marshmallow import fields

from ..navmath.cautions import Caution
from ..navmath.compasses.compass_check import SD_RANGE_DEG
from ..navmath.directions.bearing import NORTHS, azimuths_from
from ..navmath.errors import (
    AnglesMissingError,
    BodyBelowHorizonError,
    CoincidentPointsError,
    MembersConflictError,
    MembersMissingError,
    NavigationError,
)
from ..navmath.lines.geodesic import COINCIDENT_M, inverse
from ..navmath.places.place import Place
from ..navmath.sights.sight import DEFAULT_SD_DEG
from ..navmath.skies.sky_bearing import WATCH_SD_S, sighted_azimuth, sighted_azimuth_sd, sky_bearing
from .fields import Bearing, Choice, List, Number
from .moments import MomentText, read_moment, universal
from .north_angles import AngleSource, bearing_in_degrees
from .operation import RequestSchema
from .places import PlaceReader
from .request_schemas import AnglesRequestSchema, Position, north_member, unit_member
from .sky_given import SKY_YEARS, body_member, check_part, part_member, sky_cautions, watch_sd_member

__all__ = [
    "KNOWN_SD_DEG",
    "MOST_APART_DAYS",
    "CompassCheckRequestSchema",
    "KnownDirection",
    "KnownDirections",
    "check_readings",
]

#: More readings than anybody takes by hand; it bounds the work of one request.
MOST_READINGS = 100

#: One declination serves all readings: in a year it changes by a tenth of a degree or two in most places, less than a
#: compass is read to. A leap year, so that the same day of the next year still goes. [day]
MOST_APART_DAYS = 366

#: A known azimuth measured with a protractor: read to half a degree (common practice, no source). [degree]
KNOWN_SD_DEG = 0.5

#: Lower than this nobody sights a body. From the highest summit the horizon of the sea dips by 2.8 degrees (1.77 minutes of
#: arc times the root of the height in metres, the common rule, from memory), and the edge of a disk is 0.3 above its middle.
#: The height given is not asked: it is 0 where it was left out. [degree]
LOWEST_SIGHTED_DEG = -3.0

WAYS = ("known_azimuth", "to", "body")
SKY_MEMBERS = ("moment", "part")


def _sd(description: str, minimum: float = SD_RANGE_DEG[0]) -> Number:
    return Number(f"{description} [degree]", minimum=minimum, maximum=SD_RANGE_DEG[1])


class KnownReadingSchema(RequestSchema):
    """A reading, and the direction that it should have been, told in one of three ways."""

    reading = Bearing("What the compass read, in `unit` from `north`.", required=True)
    known_azimuth = Bearing("First way: the direction itself, in `unit` from `known_north`.")
    to = Position("Second way: a mark whose place is known, sighted from `position`.")
    body = body_member("Third way: a body in the sky, sighted from `position` at `moment`.")
    moment = MomentText(
        f"When the body was sighted: ISO 8601 with an offset from UTC or Z, {SKY_YEARS}, or `now`. The body must not be over "
        f"{-LOWEST_SIGHTED_DEG:g} degrees below the horizon then; and where `north` or `known_north` is magnetic, a moment "
        f"over {MOST_APART_DAYS} days from the date of the declination is refused."
    )
    part = part_member()
    reading_sd_deg = _sd("Standard deviation of this reading. Left out: the request's.")
    known_sd_deg = _sd(
        f"Standard deviation of the direction that is known. Left out: {KNOWN_SD_DEG:g} of an azimuth, as by a protractor; "
        "of a mark what the squares of the two places make of it; of a body what the watch makes of it.",
        0,
    )


class CompassCheckRequestSchema(AnglesRequestSchema):
    """Readings of one compass on known directions."""

    readings = List(
        fields.Nested(KnownReadingSchema), "The readings.", minimum=1, maximum=MOST_READINGS, required=True
    )
    north = north_member(required=True)
    known_north = Choice("The north that known azimuths are measured from. Left out: `north`.", NORTHS)
    unit = unit_member()
    position = Position(
        "Where the readings were taken: marks and bodies need it, and its convergence and modelled declination are used; "
        "needs `date`, or the moment of a body. Without `date` the first body's date is taken for all."
    )
    reading_sd_deg = _sd(
        f"Standard deviation of every reading that names none. Left out: {DEFAULT_SD_DEG:g}, for a hand-held sighting "
        "compass."
    )
    shared_sd_deg = _sd(
        "Standard deviation of what turns all known directions alike: that of the declination. Left out: the model's own, or "
        f"{KNOWN_SD_DEG:g} where the declination is given or a sheet's; 0 where none is used.",
        0,
    )
    watch_sd_s = watch_sd_member()


@dataclass(frozen=True, slots=True)
class KnownDirection:
    """One direction that a reading should have been, from the north of the compass, and where it comes from."""

    azimuth_deg: float
    sd_deg: float
    from_north: str
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class KnownDirections:
    """Finds the known direction of each reading of one request."""

    request: dict[str, Any]
    source: AngleSource
    reader: PlaceReader
    position: Place | None

    def of(self, index: int) -> KnownDirection:
        """The direction that belongs to a reading; errors name the member of it that is wrong."""
        reading = self.request["readings"][index]
        try:
            if "known_azimuth" in reading:
                return self._by_azimuth(reading)
            return self._by_mark(reading) if "to" in reading else self._by_body(reading)
        except NavigationError as error:
            raise error.within(f"readings/{index}") from None

    def _by_azimuth(self, reading: dict[str, Any]) -> KnownDirection:
        known_deg = bearing_in_degrees(reading["known_azimuth"], self.request["unit"], "known_azimuth")
        north = self.request.get("known_north", self.request["north"])
        return self._known(known_deg, north, KNOWN_SD_DEG, reading)

    def _by_mark(self, reading: dict[str, Any]) -> KnownDirection:
        here, mark = self._here(), self.reader.read(reading["to"], "to")
        azimuth_deg, _back, distance_m = inverse(here.lat_deg, here.lon_deg, mark.lat_deg, mark.lon_deg)
        if distance_m < COINCIDENT_M:
            raise CoincidentPointsError("the mark is where the readings were taken", member="to")
        sd_deg = math.degrees(math.atan2(math.hypot(here.sd_m, mark.sd_m), float(distance_m)))
        return self._known(float(azimuth_deg), "true", min(sd_deg, SD_RANGE_DEG[1]), reading, mark.cautions)

    def _by_body(self, reading: dict[str, Any]) -> KnownDirection:
        body = reading["body"]
        moment = read_moment(reading["moment"], "moment")
        here = self._here()
        sky = sky_bearing(body, here.lat_deg, here.lon_deg, universal(moment), self.request["height_m"])
        _check_up(body, float(sky.altitude_deg), reading["moment"])
        sd_deg = float(sighted_azimuth_sd(sky, self.request.get("watch_sd_s", WATCH_SD_S)))
        cautions = tuple(sky_cautions(body, sky))
        azimuth_deg = float(sighted_azimuth(sky, reading.get("part", "centre")))
        return self._known(azimuth_deg, "true", min(sd_deg, SD_RANGE_DEG[1]), reading, cautions)

    def _known(
        self,
        azimuth_deg: float,
        from_north: str,
        sd_deg: float,
        reading: dict[str, Any],
        cautions: tuple[Caution, ...] = (),
    ) -> KnownDirection:
        """The direction turned to the compass's own north."""
        north = self.request["north"]
        if from_north != north:
            turned = getattr(azimuths_from(azimuth_deg, from_north, self.source.angles), north)
            if turned is None:
                raise AnglesMissingError(
                    f"nothing given ties {from_north} north to {north} north",
                    allowed="a position and a date, or the angles, or a sheet",
                )
            azimuth_deg = float(turned)
        return KnownDirection(azimuth_deg, reading.get("known_sd_deg", sd_deg), from_north, cautions)

    def _here(self) -> Place:
        assert self.position is not None  # noqa: S101 - `check_readings` has seen to it
        return self.position


def check_readings(request: dict[str, Any]) -> None:
    """See that each reading tells its direction in just one way, and with all that this needs.

    Raises `MembersMissingError` or `MembersConflictError`.
    """
    for index, reading in enumerate(request["readings"]):
        try:
            _check_way(reading)
        except NavigationError as error:
            raise error.within(f"readings/{index}") from None
        if "known_azimuth" not in reading and "position" not in request:
            raise MembersMissingError(
                "a mark or a body is sighted from a place", member="position", allowed="a position"
            )


def _check_up(body: str, altitude_deg: float, moment: str) -> None:
    """A sight of a body far below the horizon is a wrong hour or offset, not an error of the compass."""
    if altitude_deg < LOWEST_SIGHTED_DEG:
        raise BodyBelowHorizonError(
            f"{body} stood {-altitude_deg:.1f} degrees below the horizon then: is the hour or its offset from UTC wrong?",
            member="moment",
            value=moment,
            allowed=f"a moment when the body is at most {-LOWEST_SIGHTED_DEG:g} degrees below the horizon",
        )


def _check_way(reading: dict[str, Any]) -> None:
    told = [name for name in WAYS if name in reading]
    ways = "just one of known_azimuth, to, and body with moment"
    if not told:
        raise MembersMissingError("nothing says what the reading should have been", allowed=ways)
    if len(told) > 1:
        raise MembersConflictError(
            f"the direction is told by {' and by '.join(told)}",
            member=told[1],
            value=reading[told[1]],
            allowed=ways,
        )
    if "body" in reading:
        if "moment" not in reading:
            raise MembersMissingError("a body is sighted at a moment", member="moment", allowed="a moment")
        check_part(reading["body"], reading.get("part", "centre"), "part")
        return
    for name in SKY_MEMBERS:
        if name in reading:
            raise MembersConflictError(
                f"{name} is of a body in the sky", member=name, value=reading[name], allowed="with body"
            )
