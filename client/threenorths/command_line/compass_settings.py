"""`threenorths compass-settings`"""

from __future__ import annotations

from typing import Any

import click

from ..client import Client
from ..compass_settings import CompassSetting, Setting, Turn
from . import words
from .bearings import angle_rows
from .options import angle_options, north_option, number_or_text, place_options, unit_option, with_sheet
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["compass_settings"]


def _tables(answer: CompassSetting) -> Tables:
    follows = answer.purpose == "follow_bearing"
    other_label = "Just as good" if answer.tie else "Next nearest"
    bezel: Rows = [
        ("Turn the bezel", f"{_turned(answer)} from its index"),
        ("That sets", _what_is_set(answer, follows)),
        (other_label, f"{_turned(answer.other_setting)}: {_what_is_set(answer.other_setting, follows)}"),
    ]
    if answer.short_way is not None and answer.short_way != Turn(answer.clicks, answer.turn):
        bezel.append(("The shorter way round", _turned(answer.short_way)))
    return [table for table in (bezel, _other_compasses(answer), _angles(answer)) if table]


def _angles(answer: CompassSetting) -> Rows:
    """The angles used. A magnetic bearing may have been set without any."""
    used = answer.angles
    known = used.declination_deg, used.convergence_deg, used.grid_magnetic_angle_deg
    return [] if known == (None, None, None) else angle_rows(used, answer.declination_sd_deg)


def _other_compasses(answer: CompassSetting) -> Rows:
    rows: Rows = []
    if answer.plain_compass_deg is not None:
        rows.append(("With no bezel, follow", f"{words.azimuth(answer.plain_compass_deg)} degrees"))
    if answer.declination_scale_deg is not None:
        rows.append(("On a declination scale, set", words.east_west(answer.declination_scale_deg)))
    if answer.adjusted_compass_deg is not None:
        rows.append(("and then follow", f"{words.azimuth(answer.adjusted_compass_deg)} degrees"))
    if answer.map_oriented_dial_deg is not None:
        rows.append(("The map is oriented at", f"{words.azimuth(answer.map_oriented_dial_deg)} degrees"))
    return rows


def _turned(turn: Turn) -> str:
    if turn.clicks == 0:
        return "no click"
    return f"{turn.clicks} click{'' if turn.clicks == 1 else 's'} {turn.turn}"


def _what_is_set(setting: Setting, follows: bool) -> str:
    angle = (
        f"{words.azimuth(setting.set_deg)} degrees magnetic" if follows else words.east_west(setting.set_deg)
    )
    missed = words.side(setting.residual_deg, "over", "under")
    if missed == words.degrees(0.0):
        return f"{angle}, just what is wanted"
    side = "right" if setting.off_line_m_per_km > 0.0 else "left"
    off_line = words.length_m(abs(setting.off_line_m_per_km))
    return f"{angle}, {missed}: {off_line} to the {side} after a kilometre"


@operation_command(
    "compass-settings",
    _tables,
    examples=(
        "threenorths compass-settings 60 --north grid --grid-magnetic-angle-deg 8",
        'threenorths compass-settings --position "33V VE 12345 67890" --date today',
    ),
)
@click.argument("bearing", type=number_or_text, metavar="[BEARING]", required=False)
@north_option(required=False)
@unit_option()
@click.option("--click-deg", type=float, help="What one click of the bezel turns; 3 degrees unless said.")
@angle_options
@place_options
def compass_settings(client: Client, bearing: float | str | None, **arguments: Any) -> CompassSetting:
    """Clicks of a bezel, and readings to follow.

    With a BEARING from --north the compass is set to follow it; without one, to set off the grid-magnetic angle. The
    angles between the norths come from just one source: --position with --date, the angles themselves, or the --sheet
    options; a magnetic bearing needs none.
    """
    return client.compass_settings.find(bearing, **with_sheet(arguments))
