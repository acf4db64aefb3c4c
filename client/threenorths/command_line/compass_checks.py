"""`threenorths compass-checks`"""

from __future__ import annotations

from typing import Any, get_args

import click

from ..answers import North
from ..client import Client
from ..compass_checks import CompassCheck, CompassError, Deviation, KnownReading
from ..sky_bearings import SkyBody
from . import words
from .bearings import angle_rows
from .options import (
    angle_options,
    north_option,
    number_option,
    number_or_text,
    place_options,
    unit_option,
    with_sheet,
)
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["compass_checks"]

BODIES = get_args(SkyBody)
_TO = "to "


def _tables(answer: CompassCheck) -> Tables:
    readings: Rows = [("Reading", "read", "should be", "error", "off the rest")]
    for number, each in enumerate(answer.readings, start=1):
        readings.append(
            (
                str(number),
                words.azimuth(each.reading_deg),
                words.azimuth(each.known_azimuth_deg),
                words.signed(each.error_deg),
                words.signed(each.residual_deg),
            )
        )
    return [
        [*_error_rows(answer, "The compass reads", _found(answer)), *_suspect_rows(answer)],
        readings,
        _deviation_rows(answer.deviation),
        [*angle_rows(answer.angles, None), *_shared_rows(answer.shared_sd_deg)],
    ]


def _found(answer: CompassCheck | CompassError) -> str:
    """What to make of the error; one that changes with the direction is no matter of its mean."""
    if isinstance(answer, CompassCheck) and answer.deviation is not None and answer.deviation.found:
        return "but that changes with the direction, see below"
    return "an error is found" if answer.found else "no error is found that the readings could not explain"


def _error_rows(error: CompassCheck | CompassError, label: str, found: str) -> Rows:
    size = words.side(error.error_deg, "too much", "too little")
    return [(label, f"{size}{words.give_or_take(error.error_sd_deg)}; {found}")]


def _suspect_rows(answer: CompassCheck) -> Rows:
    if answer.suspect is None or answer.without_suspect is None:
        return []
    rest = answer.without_suspect
    return _error_rows(rest, f"Without reading {answer.suspect + 1}", _found(rest))


def _shared_rows(shared_sd_deg: float) -> Rows:
    """What the declination leaves, which no number of readings takes away."""
    return [("All directions share", f"give or take {shared_sd_deg:.1f} degrees")] if shared_sd_deg else []


def _deviation_rows(deviation: Deviation | None) -> Rows:
    """The error by the direction, where it changes by more than chance."""
    if deviation is None or not deviation.found:
        return []
    rows: Rows = [("When it reads", "it is off by", "give or take")]
    for row in deviation.table:
        rows.append((words.azimuth(row.reading_deg), words.signed(row.error_deg), f"{row.error_sd_deg:.1f}"))
    return rows


def _reading(reading: str, known: str) -> KnownReading:
    """A reading from the two texts of its option."""
    text, first = known.strip(), known.partition(" ")[0].lower()
    if first in BODIES:
        return _of_body(number_or_text(reading), first, text.split()[1:])
    if text.lower().startswith(_TO):
        return KnownReading(reading=number_or_text(reading), to=text[len(_TO) :].strip())
    return KnownReading(reading=number_or_text(reading), known_azimuth=number_or_text(text))


def _of_body(reading: float | str, body: Any, rest: list[str]) -> KnownReading:
    if len(rest) not in (1, 2):
        message = (
            f"{' '.join([body, *rest])!r} is no body at a moment: write 'sun shadow 2026-06-14T08:30+02:00'."
        )
        raise click.BadParameter(message, param_hint="--reading")
    part: Any = rest[0] if len(rest) == 2 else None
    return KnownReading(reading=reading, body=body, part=part, moment=rest[-1])


@operation_command(
    "compass-checks",
    _tables,
    examples=(
        "threenorths compass-checks --north magnetic --known-north grid --grid-magnetic-angle-deg 4.5 --reading 43 48.5 "
        "--reading 171.5 176 --reading 284 289.5",
        'threenorths compass-checks --north magnetic --position "33V VE 12345 67890" '
        '--reading 273 "sun shadow 2026-06-14T08:30+02:00" --reading 35 "to 33V VE 14420 70310"',
    ),
)
@click.option(
    "--reading",
    "readings",
    nargs=2,
    multiple=True,
    required=True,
    metavar="READING KNOWN",
    help='What was read, and what it should be: an azimuth; "to PLACE", a mark seen from --position; or "BODY [PART] '
    'MOMENT", BODY being sun, moon or polaris, PART being shadow, left_limb or right_limb. Repeat it.',
)
@north_option()
@click.option(
    "--known-north",
    type=click.Choice(get_args(North)),
    help="The north of known azimuths, where it is another.",
)
@unit_option()
@number_option("reading-sd-deg", "Standard deviation of each reading. [degree]")
@number_option(
    "shared-sd-deg", "Standard deviation of what turns all known directions alike: the declination. [degree]"
)
@number_option("watch-sd-s", "Standard deviation of the watch. [second]")
@angle_options
@place_options
def compass_checks(client: Client, readings: tuple[tuple[str, str], ...], **arguments: Any) -> CompassCheck:
    """A compass's own error, from readings on known directions.

    Never look at the sun, and never sight it through a lens or a mirror: it blinds. Take the shadow of a plumb line.
    """
    return client.compass_checks.find([_reading(*reading) for reading in readings], **with_sheet(arguments))
