"""Twilights: how light a day or a night is: sunrise and sunset, the twilights, the moon and the light it gives."""

from __future__ import annotations

import datetime
from enum import IntEnum
from typing import Any

from marshmallow import fields

from ..navmath.cautions import caution
from ..navmath.skies.sky_moonlight import PHASE_NAMES, Moonlight
from ..navmath.skies.sky_twilight import LONGEST_H, LightStatus, SkyEvent, SunLight, Twilights, twilights
from .answer_schemas import CautionedAnswerSchema, ReadPlaceSchema
from .estimates import naming
from .fields import Azimuth, Number, Rounded
from .moments import Moment, MomentText, at_offset_of, read_moment, universal
from .operation import AnswerSchema, Example, Operation
from .places import POSITION_ERRORS, reader_of
from .request_schemas import PlacesRequestSchema, Position
from .sky_given import SKY_YEARS

__all__ = ["OPERATION"]

DEFAULT_HOURS = 24.0
DEFAULT_STEP_MIN = 60.0


def _words(kind: type[IntEnum]) -> list[str]:
    return [each.name.lower() for each in kind]


EVENTS, SUNLIGHTS, MOONLIGHTS, STATUSES = map(_words, (SkyEvent, SunLight, Moonlight, LightStatus))
PHASES = [name.replace(" ", "_") for name in PHASE_NAMES]


def _word(description: str, choices: list[str], **options: Any) -> fields.String:
    return fields.String(required=True, metadata={"description": description, "enum": choices}, **options)


class TwilightRequestSchema(PlacesRequestSchema):
    """A place and a span of time."""

    position = Position("The place.", required=True)
    start = MomentText(
        f"When the span begins: ISO 8601 with an offset from UTC or Z, {SKY_YEARS}, or `now`, which is echoed. All moments "
        "of the answer have its offset. For a night exercise take noon.",
        required=True,
    )
    hours = Number("The span. [h]", minimum=1, maximum=LONGEST_H, load_default=DEFAULT_HOURS)
    step_min = Number("Between the even steps. [min]", minimum=5, maximum=1440, load_default=DEFAULT_STEP_MIN)


class SkyEventSchema(AnswerSchema):
    """What happens at a moment."""

    event = _word(
        "A dawn is when that twilight begins in the morning, a dusk when it ends in the evening.", EVENTS
    )
    moment = Moment("When, to the second; good to half a minute or so, near the poles less.", required=True)


class LightStepSchema(AnswerSchema):
    """The light at an even step."""

    moment = Moment("When.", required=True)
    sunlight = _word("How light it is by the sun alone.", SUNLIGHTS)
    sun_altitude_deg = Rounded("Altitude of the sun's middle as it is seen. [degree]", 2, required=True)
    moon_altitude_deg = Rounded("Altitude of the moon's middle as it is seen. [degree]", 2, required=True)
    moon_true_azimuth_deg = Azimuth(
        "Direction of the moon, from true north. [degree]", places=2, required=True
    )
    moonlight = fields.String(
        required=True,
        allow_none=True,
        metadata={
            "description": "How far the moon lights open ground under a clear sky; null by day, when it does not matter.",
            "enum": [*MOONLIGHTS, None],
        },
    )


class TwilightAnswerSchema(CautionedAnswerSchema):
    """The light over the span."""

    position = fields.Nested(ReadPlaceSchema, required=True)
    start = Moment("When the span begins.", required=True)
    hours = Rounded("The span. [h]", 4, required=True)
    sun_status = _word("Whether the sun crosses the horizon in the span.", STATUSES)
    moon_status = _word("Whether the moon crosses the horizon in the span.", STATUSES)
    lightest = _word("The most light by the sun in the span.", SUNLIGHTS)
    darkest = _word("The least light by the sun in the span.", SUNLIGHTS)
    illuminated_fraction = Rounded(
        "Part of the moon's disk that is lit, 0 to 1, in the middle of the span.", 3, required=True
    )
    moon_phase = _word("The moon's phase in the middle of the span.", PHASES)
    events = fields.List(
        fields.Nested(SkyEventSchema),
        required=True,
        metadata={
            "description": "What happens in the span, in the order of time; a kind that does not happen is not there."
        },
    )
    steps = fields.List(
        fields.Nested(LightStepSchema), required=True, metadata={"description": "The light at even steps."}
    )


def run(request: dict[str, Any]) -> dict[str, Any]:
    """Answer a twilight request."""
    start = read_moment(request["start"], "start")
    place = reader_of(request).read(request["position"], "position")
    with naming({"moment": "start"}):
        light = twilights(
            place.lat_deg, place.lon_deg, universal(start), request["hours"], request["step_min"]
        )
    events = _events(light, start)
    answer = {
        "position": place,
        "start": start,
        "hours": request["hours"],
        "sun_status": STATUSES[light.sun_status[0]],
        "moon_status": STATUSES[light.moon_status[0]],
        "lightest": SUNLIGHTS[light.lightest[0]],
        "darkest": SUNLIGHTS[light.darkest[0]],
        "illuminated_fraction": light.illuminated_fraction[0],
        "moon_phase": PHASES[light.phase[0]],
        "events": events,
        "steps": _steps(light, start),
        "cautions": [*place.cautions, caution("level_horizon")],
    }
    if request["working"]:
        answer["working"] = _working(answer)
    return answer


def _events(light: Twilights, start: datetime.datetime) -> list[dict[str, Any]]:
    return [
        {"event": EVENTS[event], "moment": at_offset_of(start, moment)}
        for event, moment in zip(light.events.event, light.events.moment, strict=True)
    ]


def _steps(light: Twilights, start: datetime.datetime) -> list[dict[str, Any]]:
    steps = light.steps
    return [
        {
            "moment": at_offset_of(start, steps.moment[0, index]),
            "sunlight": SUNLIGHTS[steps.sunlight[0, index]],
            "sun_altitude_deg": steps.sun_altitude_deg[0, index],
            "moon_altitude_deg": steps.moon_altitude_deg[0, index],
            "moon_true_azimuth_deg": steps.moon_true_azimuth_deg[0, index],
            "moonlight": None
            if steps.sunlight[0, index] == SunLight.DAYLIGHT
            else MOONLIGHTS[steps.moonlight[0, index]],
        }
        for index in range(steps.moment.shape[1])
    ]


def _working(answer: dict[str, Any]) -> list[str]:
    return [
        "the sun's middle is 0.833 degrees below a level horizon when it rises or sets, and 6, 12 and 18 below at the ends "
        "of civil, nautical and astronomical twilight",
        *(
            f"{each['moment']:%Y-%m-%d %H:%M:%S}: {each['event'].replace('_', ' ')}"
            for each in answer["events"]
        ),
        f"by the sun it is at most {answer['lightest'].replace('_', ' ')}, at least {answer['darkest'].replace('_', ' ')}",
        f"the moon: {answer['moon_phase'].replace('_', ' ')}, {100 * answer['illuminated_fraction']:.0f} per cent lit",
    ]


OPERATION = Operation(
    name="twilights",
    summary="How light a night is: sunset, twilights, moonrise and moonlight",
    description=(
        "The light over up to 48 hours at a place: sunrise, sunset, the civil, nautical and astronomical twilights by the "
        "definitions of the US Naval Observatory, moonrise, moonset, the moon's phase, and at even steps how light it is by "
        "the sun and by the moon. Where the sun or the moon does not cross the horizon its status says whether it is up or "
        "down throughout.\n\n"
        "Times hold for a level horizon and usual air; among hills and in woods it is dark sooner. Moonlight in words is for "
        "open ground under a clear sky, by common practice."
    ),
    request=TwilightRequestSchema(),
    answer=TwilightAnswerSchema(),
    run=run,
    errors=POSITION_ERRORS,
    examples=(
        Example(
            "night_exercise",
            "From noon to noon at an invented camp",
            {
                "position": "33V VK 12345 67890",
                "start": "2026-11-24T12:00:00+01:00",
                "step_min": 180,
                "working": True,
            },
        ),
        Example(
            "polar_night",
            "An invented hut where the sun stays down",
            {"position": "35X MG 123 678", "start": "2026-12-20T12:00Z", "step_min": 360},
        ),
    ),
)
