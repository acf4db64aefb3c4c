"""`threenorths twilights`"""

from __future__ import annotations

from typing import Any

from ..client import Client
from ..twilights import Twilights
from . import words
from .options import moment_option, number_option, place_options, position_argument, with_sheet
from .positions import read_place_rows
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["twilights"]


def _tables(answer: Twilights) -> Tables:
    moon = f"{words.spoken(answer.moon_phase)}, {100 * answer.illuminated_fraction:.0f} per cent lit"
    steps: Rows = [("At", "by the sun", "the sun", "the moon", "at", "moonlight")]
    for step in answer.steps:
        steps.append(
            (
                words.moment(step.moment),
                words.spoken(step.sunlight),
                words.signed(step.sun_altitude_deg, 0),
                words.signed(step.moon_altitude_deg, 0),
                words.azimuth(step.moon_true_azimuth_deg),
                "-" if step.moonlight is None else step.moonlight,
            )
        )
    return [
        [
            *read_place_rows(answer.position),
            ("From", f"{words.moment(answer.start)}, for {answer.hours:g} hours"),
            ("Sun", words.spoken(answer.sun_status)),
            ("Moon", f"{words.spoken(answer.moon_status)}; {moon}"),
            ("Darkest", words.spoken(answer.darkest)),
        ],
        [(words.spoken(each.event).capitalize(), words.moment(each.moment)) for each in answer.events],
        steps,
    ]


@operation_command(
    "twilights",
    _tables,
    examples=(
        'threenorths twilights "33V VE 12345 67890" --start 2026-11-24T12:00+01:00',
        'threenorths twilights "33V VE 12345 67890" --start now --hours 12 --step-min 30',
    ),
)
@position_argument("position")
@moment_option(
    "start", "When the span begins; for a night exercise noon. All moments are given by its clock."
)
@number_option("hours", "The span. [hour]")
@number_option("step-min", "Between the even steps. [minute]")
@place_options
def twilights(client: Client, position: str, **arguments: Any) -> Twilights:
    """How light a night is: sunset, twilights, moonrise and moonlight.

    Altitudes are in degrees above a level horizon, the moon's direction from true north.
    """
    return client.twilights.over(position, **with_sheet(arguments))
