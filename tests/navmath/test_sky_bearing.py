import numpy as np
import pytest

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.skies.sky_bearing import (
    BODIES,
    HIGHEST_SIGHTED_DEG,
    SIGHTED_PARTS,
    SkyStatus,
    sighted_azimuth,
    sky_bearing,
)
from threenorths_service.navmath.skies.sky_horizon import refracted_altitude
from threenorths_service.navmath.skies.sky_time import END_MOMENT, FIRST_MOMENT, decimal_years
from threenorths_service.navmath.skies.sky_twilight import twilights

NOON = np.datetime64("2025-06-21T12:00")
NIGHT = np.datetime64("2025-12-21T22:00")


def random_rows(count, seed=20250621):
    """Places even over the globe, and moments from 1900 to 2049."""
    random = np.random.default_rng(seed)
    lat = np.degrees(np.arcsin(random.uniform(-1, 1, count)))
    span_ms = int((END_MOMENT - FIRST_MOMENT) / np.timedelta64(1, "ms"))
    moment = FIRST_MOMENT + random.integers(0, span_ms, count).astype("timedelta64[ms]")
    return lat, random.uniform(-180, 180, count), moment


def apart(one, other):
    return np.abs((one - other + 180) % 360 - 180)


@pytest.mark.parametrize("body", BODIES)
def test_scalars_and_arrays_give_the_same(body):
    lat, lon, moment = random_rows(20)
    together = sky_bearing(body, lat, lon, moment)
    for index in range(20):
        alone = sky_bearing(body, lat[index], lon[index], moment[index])
        for name in together.__slots__:
            # The sums of the theory are taken in another order: 1e-9 degree.
            assert getattr(alone, name) == pytest.approx(getattr(together, name)[index], abs=1e-9)
    assert np.shape(sky_bearing(body, 50.0, 8.0, NOON).true_azimuth_deg) == ()
    assert sky_bearing(body, [[50.0], [51.0]], [8.0, 9.0, 10.0], NOON).status.shape == (2, 3)
    assert sky_bearing(body, np.empty(0), 8.0, NOON).status.shape == (0,)


@pytest.mark.parametrize("body", BODIES)
def test_every_value_is_finite_and_in_its_range(body):
    lat, lon, moment = random_rows(3000)
    lat[:4] = 90, -90, 90, -90
    found = sky_bearing(body, lat, lon, moment)
    assert all(np.all(np.isfinite(getattr(found, name))) for name in found.__slots__)
    assert np.all((found.true_azimuth_deg >= 0) & (found.true_azimuth_deg < 360))
    assert np.all((found.greatest_error_deg > 0) & (found.greatest_error_deg <= 180))


@pytest.mark.parametrize("body", BODIES)
def test_the_antimeridian_is_one_meridian(body):
    east, west = (sky_bearing(body, [-40.0, 10.0], lon, NOON) for lon in (180.0, -180.0))
    np.testing.assert_allclose(east.true_azimuth_deg, west.true_azimuth_deg, atol=1e-9)


@pytest.mark.parametrize("lat", [90.0, -90.0])
def test_at_a_pole_azimuths_are_counted_from_the_longitude_given(lat):
    # A step of longitude turns the meridian away from the sun by as much: the other way at the other pole.
    found = sky_bearing("sun", lat, [0.0, 30.0], NOON)
    turned = found.true_azimuth_deg[1] - found.true_azimuth_deg[0]
    assert apart(turned, 30.0 * np.sign(lat)) < 1e-9
    assert found.altitude_deg[0] == pytest.approx(found.altitude_deg[1], abs=1e-9)


def test_the_poles_meridian_is_the_limit_of_that_beside_it():
    near, at = sky_bearing("moon", [89.9999999, 90.0], 25.0, NOON).true_azimuth_deg
    assert apart(near, at) < 1e-5


def test_the_zenith_has_an_answer_that_says_it_is_none():
    # The sun within a thousandth of a degree of overhead: found on the meridian by its own altitude.
    lats = np.linspace(23.0, 24.0, 2001)
    seen = sky_bearing("sun", lats, -0.53, np.datetime64("2025-06-21T12:04"))
    top = int(np.argmax(seen.altitude_deg))
    assert seen.status[top] == SkyStatus.TOO_HIGH
    assert seen.greatest_error_deg[top] > 1.0
    assert seen.altitude_deg[top] <= 90.0


@pytest.mark.parametrize("body", BODIES)
def test_the_change_in_a_minute_is_that_between_two_moments(body):
    lat, lon, moment = random_rows(2000)
    moment = np.clip(moment, FIRST_MOMENT + np.timedelta64(1, "m"), END_MOMENT - np.timedelta64(1, "m"))
    middle = sky_bearing(body, lat, lon, moment)
    half = np.timedelta64(30, "s")
    before, after = (sky_bearing(body, lat, lon, moment + way * half) for way in (-1, 1))
    between = after.true_azimuth_deg - before.true_azimuth_deg
    sighted = middle.altitude_deg < HIGHEST_SIGHTED_DEG
    # The body's own way is taken by its mean, along the equator: the moon goes as much as 0.01 degree a minute, and that
    # can be half as much off; the sun 0.0007, of which its way north or south is 0.0003.
    tolerance = {"sun": 3e-4, "moon": 0.0055, "polaris": 1e-6}[body] / np.cos(np.radians(middle.altitude_deg))
    assert np.all((apart(between, middle.change_deg_per_min) < tolerance)[sighted])


def test_a_body_that_cannot_be_sighted_says_why():
    assert sky_bearing("sun", 50.0, 8.0, NIGHT).status == SkyStatus.BELOW_HORIZON
    assert sky_bearing("polaris", -10.0, 8.0, NIGHT).status == SkyStatus.BELOW_HORIZON
    assert sky_bearing("polaris", 50.0, 8.0, NOON).status == SkyStatus.LOST_IN_DAYLIGHT
    assert sky_bearing("polaris", 50.0, 8.0, NIGHT).status == SkyStatus.IN_SIGHT
    assert sky_bearing("polaris", 80.0, 8.0, NIGHT).status == SkyStatus.TOO_HIGH
    # New moon: 2025-12-20 01:43 UTC (US Naval Observatory, from memory).
    assert sky_bearing("moon", 0.0, 160.0, np.datetime64("2025-12-20T01:43")).status == SkyStatus.TOO_NEAR_SUN


def test_the_sun_sets_where_its_upper_edge_is_gone():
    moments = np.datetime64("2025-03-20T05:00") + np.arange(0, 14 * 3600, 10).astype("timedelta64[s]")
    seen = sky_bearing("sun", 0.0, 0.0, moments)
    up = moments[seen.status != SkyStatus.BELOW_HORIZON]
    # Day and night are equal but for refraction and the disk, 50 minutes of arc on either side with the sun of the mean
    # distance: 6.7 minutes in all, less 0.15 that the sun's day is longer than 24 h in March. The steps are 10 s, and the
    # formula's refraction at the horizon is within half a minute of arc of 34.
    assert (up[-1] - up[0]) / np.timedelta64(1, "m") == pytest.approx(726.5, abs=0.3)


def test_polaris_stands_within_a_degree_and_a_bit_of_north():
    # Its distance from the pole, 0.75 degree in 2000 and 0.62 in 2025, over the cosine of the altitude.
    for year, distance in (("2000-01-01", 0.736), ("2025-01-01", 0.625)):
        moment = np.datetime64(year) + np.arange(0, 1440, 5).astype("timedelta64[m]")
        azimuth = sky_bearing("polaris", 50.0, 0.0, moment).true_azimuth_deg
        assert np.max(apart(azimuth, 0.0)) == pytest.approx(distance / np.cos(np.radians(50)), rel=0.03)


def test_what_is_sighted_turns_the_azimuth():
    sky = sky_bearing("sun", 50.0, 8.0, np.datetime64("2025-06-21T18:00"))
    turned = {part: float(sighted_azimuth(sky, part)) for part in SIGHTED_PARTS}
    assert turned["centre"] == sky.true_azimuth_deg
    assert turned["shadow"] == pytest.approx((sky.true_azimuth_deg + 180) % 360, abs=1e-12)
    assert turned["right_limb"] - turned["centre"] == pytest.approx(sky.limb_offset_deg, abs=1e-9)
    assert turned["centre"] - turned["left_limb"] == pytest.approx(sky.limb_offset_deg, abs=1e-9)
    # The disk is 32 arc minutes wide, and wider in azimuth the higher it stands.
    assert sky.semidiameter_deg == pytest.approx(16 / 60, abs=0.01)
    expected = sky.semidiameter_deg / np.cos(np.radians(sky.altitude_deg))
    assert sky.limb_offset_deg == pytest.approx(expected, rel=1e-3)


def test_the_right_limb_is_the_one_that_the_sun_moves_to_in_the_north():
    # Clockwise is to the right, whichever way one faces.
    north = sky_bearing("sun", 50.0, 8.0, np.datetime64("2025-06-21T09:00"))
    assert north.change_deg_per_min > 0
    assert float(sighted_azimuth(north, "right_limb")) > north.true_azimuth_deg


def test_refraction_is_that_of_the_tables():
    # The Nautical Almanac's table A2 of stars (from memory): 5.3 minutes at an apparent 10 degrees, 1.0 at 45, 0 overhead;
    # printed to 0.1, and the formula is as good.
    true = np.array([10 - 5.3 / 60, 45 - 1.0 / 60, 90.0])
    np.testing.assert_allclose(refracted_altitude(true), [10, 45, 90], atol=0.2 / 60)
    assert refracted_altitude(90.0) == 90.0
    # Out of sight below the horizon it is as a degree below.
    assert refracted_altitude(-50.0) == pytest.approx(-49.0 + refracted_altitude(-1.0), abs=1e-12)
    assert refracted_altitude(-0.5667) == pytest.approx(0.0, abs=1 / 60)


def test_refraction_never_reverses_the_order_of_altitudes():
    altitudes = np.linspace(-90, 90, 100_001)
    assert np.all(np.diff(refracted_altitude(altitudes)) > 0)


def test_moments_outside_what_was_checked_are_refused():
    for moment in ("1899-12-31T23:59:59.999", "2050-01-01", "NaT"):
        with pytest.raises(OutOfRangeError) as caught:
            sky_bearing("sun", 50.0, 8.0, np.datetime64(moment))
        assert caught.value.member == "moment"
    assert np.isfinite(
        sky_bearing("moon", 50.0, 8.0, [FIRST_MOMENT, END_MOMENT - np.timedelta64(1, "ms")]).altitude_deg
    ).all()


@pytest.mark.parametrize(("lat", "lon"), [(90.1, 0.0), (np.nan, 0.0), (0.0, 361.0), (0.0, np.nan)])
def test_what_is_no_place_is_refused(lat, lon):
    with pytest.raises(OutOfRangeError):
        sky_bearing("sun", [50.0, lat], [8.0, lon], NOON)
    with pytest.raises(OutOfRangeError):
        twilights(lat, lon, NOON)


def test_decimal_years_count_the_part_of_the_year():
    moments = np.array(["2025-01-01T00:00", "2028-07-02T00:00", "1900-12-31T12:00"], dtype="datetime64[ms]")
    np.testing.assert_allclose(decimal_years(moments), [2025.0, 2028.5, 1900 + 364.5 / 365], atol=1e-12)
