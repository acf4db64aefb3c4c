"""The sky against published tables: every row of published/sky_examples.csv, with its own tolerance."""

import numpy as np
import pytest

from published import rows
from threenorths_service.navmath.skies.sky_bearing import sky_bearing
from threenorths_service.navmath.skies.sky_body import geocentric_vectors, to_intermediate
from threenorths_service.navmath.skies.sky_horizon import Observers, horizontal
from threenorths_service.navmath.skies.sky_moonlight import PHASE_NAMES, moon_phase
from threenorths_service.navmath.skies.sky_time import terrestrial_days, universal_days
from threenorths_service.navmath.skies.sky_twilight import LightStatus, SkyEvent, twilights

NREL_HEIGHT_M = 1830.14
ROWS = rows("sky_examples")
EVENTS = [row for row in ROWS if row["kind"] in SkyEvent.__members__]
PHASES = [row for row in ROWS if row["kind"] in ("illuminated_fraction", "elongation_deg")]


DIRECTIONS = {
    kind: [row for row in ROWS if row["kind"] == kind]
    for kind in ("sun_azimuth_deg", "sun_true_altitude_deg")
}


def ids(table):
    return [row["id"] for row in table]


def place_of(row):
    """Latitude, longitude, and the height that one of the sources gives."""
    return float(row["lat_deg"]), float(row["lon_deg"]), NREL_HEIGHT_M if row["id"].startswith("spa") else 0.0


@pytest.mark.parametrize("row", DIRECTIONS["sun_azimuth_deg"], ids=ids(DIRECTIONS["sun_azimuth_deg"]))
def test_the_suns_azimuth_is_the_published_one(row):
    lat, lon, height = place_of(row)
    found = sky_bearing("sun", lat, lon, np.datetime64(row["moment"]), height).true_azimuth_deg
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize(
    "row", DIRECTIONS["sun_true_altitude_deg"], ids=ids(DIRECTIONS["sun_true_altitude_deg"])
)
def test_the_suns_altitude_is_the_published_one(row):
    universal = universal_days(np.array([np.datetime64(row["moment"], "ms")]))
    terrestrial = terrestrial_days(universal)
    vectors = to_intermediate(geocentric_vectors("sun", terrestrial), terrestrial)
    observers = Observers(universal, *(np.array([value]) for value in place_of(row)))
    found = horizontal(vectors, observers).true_altitude_deg[0]
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", EVENTS, ids=ids(EVENTS))
def test_events_of_published_tables(row):
    printed = np.datetime64(row["moment"], "ms")
    light = twilights(float(row["lat_deg"]), float(row["lon_deg"]), printed - np.timedelta64(3, "h"), hours=6)
    same = light.events.moment[light.events.event == SkyEvent[row["kind"]]]
    off_s = np.abs((same - printed) / np.timedelta64(1, "s"))
    assert off_s.min() <= float(row["tolerance"])


@pytest.mark.parametrize("row", PHASES, ids=ids(PHASES))
def test_phases_of_published_tables(row):
    found = getattr(moon_phase(np.datetime64(row["moment"])), row["kind"])
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_the_phases_have_their_names():
    names = [
        PHASE_NAMES[moon_phase(np.datetime64(moment)).phase] for moment in ("2018-09-16T23:15", "2018-09-25")
    ]
    assert names == ["first quarter", "full moon"]


def test_there_are_as_many_events_near_the_pole_as_the_table_has():
    # 89 N, 30 E, 15 to 28 March 2022: six sunrises and five sunsets, and then the sun stays up.
    starts = np.arange("2022-03-15", "2022-03-28", dtype="datetime64[D]")
    events = twilights(89.0, 30.0, starts).events.event
    assert (np.sum(events == SkyEvent.SUNRISE), np.sum(events == SkyEvent.SUNSET)) == (6, 5)


@pytest.mark.parametrize(
    ("date", "rises", "sets"),
    # 70 N, 0 E, days of universal time: US Naval Observatory, as the rows "polar-edge" of the table.
    [
        ("2025-05-15", 1, 1),
        ("2025-05-16", 1, 0),
        ("2025-07-29", 1, 1),
        ("2025-11-24", 1, 1),
        ("2025-11-25", 0, 0),
        ("2026-01-16", 0, 0),
        ("2026-01-17", 1, 1),
    ],
)
def test_the_polar_day_and_night_begin_and_end_on_the_published_dates(date, rises, sets):
    light = twilights(70.0, 0.0, np.datetime64(date))
    events = light.events.event
    assert (np.sum(events == SkyEvent.SUNRISE), np.sum(events == SkyEvent.SUNSET)) == (rises, sets)
    expected = LightStatus.RISES_OR_SETS if rises else LightStatus.DOWN_THROUGHOUT
    assert light.sun_status[0] == expected
