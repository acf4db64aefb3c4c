"""The command line: a command for each operation of the service, named as its path."""

from __future__ import annotations

import io
import sys

import click

from .batches import batch
from .bearings import bearings
from .checks import checks
from .compass_checks import compass_checks
from .compass_settings import compass_settings
from .fixes import intersections, resections
from .gradients import gradients
from .heights import heights
from .lines import lines, rays
from .local_attractions import local_attractions
from .map_distances import map_distances
from .mil_relations import mil_relations
from .mixed_fixes import fixes
from .norths import norths
from .positions import positions
from .reckonings import reckonings
from .search_areas import search_areas
from .service import service
from .sheets import sheets
from .sight_lines import sight_lines
from .sky_bearings import sky_bearings
from .travel_times import travel_times
from .twilights import twilights
from .widths import widths

__all__ = ["main"]


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(package_name="threenorths", message="threenorths %(version)s")
def main() -> None:
    """Navigation mathematics for map and compass, asked of a threenorths service.

    Directions are degrees clockwise from the named north; east and north are positive. The numbers are an aid to trained
    people with a map, a compass and their own eyes on the ground, and replace none of these: mind the cautions, and check
    every answer against the map.

    Exit codes: 0 an answer, 2 input that is wrong or has no answer, 3 no service, 1 anything else.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal or a pipe that knows no degree sign is to show the rest, not to end the program.
            stream.reconfigure(errors="replace")


for command in (
    positions,
    sheets,
    norths,
    bearings,
    compass_settings,
    map_distances,
    lines,
    rays,
    reckonings,
    fixes,
    intersections,
    resections,
    search_areas,
    widths,
    heights,
    mil_relations,
    travel_times,
    gradients,
    sight_lines,
    compass_checks,
    local_attractions,
    sky_bearings,
    twilights,
    checks,
    batch,
    service,
):
    main.add_command(command)
