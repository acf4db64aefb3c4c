"""`threenorths travel-times`"""

from __future__ import annotations

from typing import Any

from ..client import Client
from ..travel_times import TravelTime
from . import words
from .options import number_option
from .running import operation_command
from .tables import Rows, Tables

__all__ = ["travel_times"]


def _tables(answer: TravelTime) -> Tables:
    rows: dict[str, tuple[str, ...]] = {
        "distance_m": (
            "Distance, level",
            words.length_with_sd_m(answer.distance_m, answer.distance_sd_m),
        ),
        "time_min": (
            "Time",
            f"{words.minutes(answer.time_min)}, give or take {words.minutes(answer.time_sd_min)}",
        ),
        "speed_km_per_h": (
            "Speed",
            f"{answer.speed_km_per_h:.1f} km/h, give or take {answer.speed_sd_km_per_h:.1f} km/h",
        ),
    }
    paces: Rows = []
    if answer.paces is not None and answer.paces_per_min is not None:
        paces = [("Paces", f"{answer.paces:,.0f}", f"{answer.paces_per_min:.0f} a minute")]
    found = rows.pop(answer.found)
    return [[found], [*rows.values(), *paces]]


@operation_command(
    "travel-times",
    _tables,
    examples=(
        "threenorths travel-times --distance-m 2400 --speed-km-per-h 4",
        "threenorths travel-times --time-min 25 --paces-per-min 52 --paces-per-100-m 64",
    ),
)
@number_option("distance-m", "Level distance. [metre]")
@number_option("distance-paces", "Level distance in paces, with --paces-per-100-m.")
@number_option("time-min", "Time. [minute]")
@number_option("speed-km-per-h", "Speed. [kilometre an hour]")
@number_option("paces-per-min", "Paces a minute in place of the speed, with --paces-per-100-m.")
@number_option("paces-per-100-m", "The walker's own count over 100 m of like ground.")
@number_option("distance-sd-m", "Standard deviation of the distance. [metre]")
@number_option("time-sd-min", "Standard deviation of the time. [minute]")
@number_option("speed-sd-km-per-h", "Standard deviation of the speed. [kilometre an hour]")
def travel_times(client: Client, **arguments: Any) -> TravelTime:
    """Distance, time and speed on the flat; any two of the three give the third.

    What slope, going, load, darkness and rests add to a time is not in it.
    """
    return client.travel_times.solve(**arguments)
