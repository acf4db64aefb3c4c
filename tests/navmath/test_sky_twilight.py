import numpy as np
import pytest

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.skies.sky_bearing import SkyStatus, sky_bearing
from threenorths_service.navmath.skies.sky_horizon import refracted_altitude
from threenorths_service.navmath.skies.sky_moonlight import Moonlight, moon_phase, moonlight
from threenorths_service.navmath.skies.sky_twilight import LightStatus, SkyEvent, SunLight, twilights

JUNE, DECEMBER = np.datetime64("2025-06-21T12:00"), np.datetime64("2025-12-21T12:00")


def names(light, row=0):
    return [SkyEvent(event).name for event in light.events.event[light.events.row == row]]


def test_a_night_at_middle_latitudes_has_its_events_in_their_order():
    light = twilights(50.0, 8.0, np.datetime64("2025-10-10T11:00"))
    sun = [name for name in names(light) if not name.startswith("MOON")]
    assert sun == [
        *("SUNSET", "CIVIL_DUSK", "NAUTICAL_DUSK", "ASTRONOMICAL_DUSK"),
        *("ASTRONOMICAL_DAWN", "NAUTICAL_DAWN", "CIVIL_DAWN", "SUNRISE"),
    ]
    assert np.all(np.diff(light.events.moment).astype(int) >= 0)
    assert (light.lightest[0], light.darkest[0]) == (SunLight.DAYLIGHT, SunLight.NIGHT)
    assert light.sun_status[0] == LightStatus.RISES_OR_SETS


@pytest.mark.parametrize(
    ("lat", "start", "status", "lightest", "darkest"),
    [
        (75.0, JUNE, LightStatus.UP_THROUGHOUT, SunLight.DAYLIGHT, SunLight.DAYLIGHT),
        (75.0, DECEMBER, LightStatus.DOWN_THROUGHOUT, SunLight.NAUTICAL_TWILIGHT, SunLight.NIGHT),
        (62.0, JUNE, LightStatus.RISES_OR_SETS, SunLight.DAYLIGHT, SunLight.CIVIL_TWILIGHT),
        (90.0, DECEMBER, LightStatus.DOWN_THROUGHOUT, SunLight.NIGHT, SunLight.NIGHT),
        (-90.0, DECEMBER, LightStatus.UP_THROUGHOUT, SunLight.DAYLIGHT, SunLight.DAYLIGHT),
    ],
)
def test_polar_days_and_nights_are_named(lat, start, status, lightest, darkest):
    light = twilights(lat, 10.0, start)
    assert (light.sun_status[0], light.lightest[0], light.darkest[0]) == (status, lightest, darkest)
    crosses = "SUNRISE" in names(light) or "SUNSET" in names(light)
    assert crosses == (status == LightStatus.RISES_OR_SETS)


def test_the_moon_can_stay_up_or_down_through_a_polar_day():
    starts = np.arange("2025-01-01", "2025-01-29", dtype="datetime64[D]")
    light = twilights(85.0, 0.0, starts)
    assert {LightStatus.UP_THROUGHOUT, LightStatus.DOWN_THROUGHOUT} <= set(light.moon_status)
    for row, status in enumerate(light.moon_status):
        has_events = any(name.startswith("MOON") for name in names(light, row))
        assert has_events == (status == LightStatus.RISES_OR_SETS)


def test_a_day_can_have_no_moonrise_or_two_sunrises():
    # The moon rises some 50 minutes later each day, so that about one day a month has no moonrise.
    starts = np.arange("2025-01-01", "2025-01-31", dtype="datetime64[D]")
    light = twilights(45.0, 0.0, starts)
    rises = [names(light, row).count("MOONRISE") for row in range(len(starts))]
    assert sorted(set(rises)) == [0, 1]
    # 89 N, 20 March 2022: sunrise at 01:39 and again at 23:14, by the US Naval Observatory.
    assert names(twilights(89.0, 30.0, np.datetime64("2022-03-20"))).count("SUNRISE") == 2


def test_events_are_when_the_body_stands_at_its_altitude():
    lat, lon = np.array([0.0, 45.0, -60.0]), np.array([0.0, 100.0, -170.0])
    events = twilights(lat, lon, np.datetime64("2031-04-03T05:00"), hours=48).events
    true_deg = {"SUN": -50 / 60, "CIVIL": -6.0, "NAUTICAL": -12.0, "ASTRONOMICAL": -18.0}
    assert len(events.row) == 3 * 2 * 10  # two days of ten events at each place
    for row, event, moment in zip(events.row, events.event, events.moment, strict=True):
        name = SkyEvent(event).name
        body = "moon" if name.startswith("MOON") else "sun"
        times = moment + np.array([-60, 0, 60]).astype("timedelta64[s]")
        seen = sky_bearing(body, lat[row], lon[row], times)
        before, at, after = seen.altitude_deg
        assert (after > before) == name.endswith(("RISE", "DAWN"))
        up = seen.status != SkyStatus.BELOW_HORIZON
        if name.endswith(("RISE", "SET")):
            # Refraction at the horizon is 34 minutes by definition, and by the formula within half a minute of that.
            assert (up[0], up[2]) == ((False, True) if after > before else (True, False))
        if body == "sun":
            level = true_deg["SUN" if name.startswith("SUN") else name.split("_")[0]]
            # A quarter of a second, in which the sun moves by 0.001 degree.
            assert at == pytest.approx(refracted_altitude(level), abs=0.0015)


def test_a_far_east_place_and_one_round_the_world_are_the_same():
    east, west = (twilights(-17.0, lon, JUNE) for lon in (180.0, -180.0))
    assert names(east) == names(west)
    assert np.max(np.abs((east.events.moment - west.events.moment).astype(int))) <= 1


def test_rows_are_answered_as_each_alone():
    lat, lon = np.array([10.0, 55.0, -70.0]), np.array([-100.0, 3.0, 179.0])
    starts = np.array([DECEMBER, JUNE, DECEMBER])
    together = twilights(lat, lon, starts)
    assert np.all(np.diff(together.events.row) >= 0)
    for row in range(3):
        alone = twilights(lat[row], lon[row], starts[row])
        assert names(alone) == names(together, row)
        ours = together.events.moment[together.events.row == row]
        assert np.max(np.abs((alone.events.moment - ours).astype(int)), initial=0) <= 1
        np.testing.assert_array_equal(alone.steps.sunlight[0], together.steps.sunlight[row])
    assert twilights(np.empty(0), 0.0, JUNE).events.event.shape == (0,)


def test_the_steps_agree_with_the_bearing_at_their_moments():
    light = twilights(47.0, 11.0, np.datetime64("2025-10-10T11:00"), hours=24, step_min=30)
    assert light.steps.moment.shape == (1, 49)
    for body, altitudes in (("sun", light.steps.sun_altitude_deg), ("moon", light.steps.moon_altitude_deg)):
        exact = sky_bearing(body, 47.0, 11.0, light.steps.moment[0]).altitude_deg
        # The polynomial between six hours, promised within 0.0001 degree; refraction near the horizon adds a little.
        np.testing.assert_allclose(altitudes[0], exact, atol=2e-4)
    exact = sky_bearing("moon", 47.0, 11.0, light.steps.moment[0]).true_azimuth_deg
    np.testing.assert_allclose(light.steps.moon_true_azimuth_deg[0], exact, atol=3e-4)


def test_the_polynomial_keeps_its_promise_through_the_years():
    random = np.random.default_rng(6)
    starts = np.datetime64("1900-01-01") + random.integers(0, 54_780, 60).astype("timedelta64[D]")
    for hours in (1.0, 24.0, 48.0):
        light = twilights(35.0, 20.0, starts, hours=hours, step_min=hours * 60 / 7)
        exact = sky_bearing("moon", 35.0, 20.0, light.steps.moment)
        np.testing.assert_allclose(light.steps.moon_altitude_deg, exact.altitude_deg, atol=2e-4)


def test_the_steps_tell_the_light_that_the_events_bound():
    light = twilights(50.0, 8.0, np.datetime64("2025-10-10T11:00"), step_min=10)
    sunset = light.events.moment[light.events.event == SkyEvent.SUNSET][0]
    dusk = light.events.moment[light.events.event == SkyEvent.CIVIL_DUSK][0]
    between = (light.steps.moment > sunset) & (light.steps.moment < dusk)
    assert set(light.steps.sunlight[between]) == {SunLight.CIVIL_TWILIGHT}
    assert light.steps.sunlight[light.steps.moment <= sunset].tolist().count(SunLight.DAYLIGHT) > 0


@pytest.mark.parametrize(
    ("fraction", "altitude", "expected"),
    [
        (1.0, -1.0, Moonlight.NONE),
        (1.0, 4.9, Moonlight.NONE),
        (0.05, 60.0, Moonlight.NONE),
        (1.0, 5.0, Moonlight.FAINT),
        (0.39, 60.0, Moonlight.FAINT),
        (0.5, 50.0, Moonlight.FAIR),
        (1.0, 29.9, Moonlight.FAIR),
        (0.8, 30.0, Moonlight.BRIGHT),
    ],
)
def test_moonlight_in_words(fraction, altitude, expected):
    assert moonlight(fraction, altitude) == expected


def test_a_lunation_goes_through_all_phases_in_their_order():
    moments = np.datetime64("2025-01-29T12:36") + np.arange(0, 29 * 24, 6).astype("timedelta64[h]")
    phases = moon_phase(moments)
    assert phases.phase[0] == 0  # New moon of 2025-01-29 12:36 UTC (from memory)
    steps = np.diff(phases.phase) % 8
    assert set(steps) <= {0, 1}
    assert set(phases.phase) == set(range(8))
    assert np.all(np.diff(phases.elongation_deg) > 0)
    assert phases.illuminated_fraction[0] < 0.005
    waxing = phases.elongation_deg < 180
    assert np.all(np.diff(phases.illuminated_fraction[waxing]) > 0)


def test_what_is_out_of_range_is_refused():
    for kwargs, member in (
        ({"hours": 0.0}, "hours"),
        ({"hours": 49.0}, "hours"),
        ({"hours": np.nan}, "hours"),
        ({"step_min": 0.0}, "step_min"),
    ):
        with pytest.raises(OutOfRangeError) as caught:
            twilights(50.0, 8.0, JUNE, **kwargs)
        assert caught.value.member == member
    with pytest.raises(OutOfRangeError):
        twilights(50.0, 8.0, np.datetime64("2049-12-31T06:00"))  # The night would end in 2050.
