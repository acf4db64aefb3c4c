import numpy as np
import pytest

from threenorths_service.navmath.compasses.compass_check import check_compass
from threenorths_service.navmath.directions.north import norths_at
from threenorths_service.navmath.errors import DateOutsideModelError
from threenorths_service.navmath.skies.sky_bearing import sighted_azimuth, sighted_azimuth_sd, sky_bearing
from threenorths_service.navmath.skies.sky_north import azimuths_at

LAT, LON = 47.5, 11.1
MORNING = np.datetime64("2026-07-01T05:00") + np.arange(0, 240, 30).astype("timedelta64[m]")


def test_the_three_azimuths_differ_by_the_angles_between_the_norths():
    sky = sky_bearing("sun", LAT, LON, MORNING)
    azimuths, norths = azimuths_at(sky.true_azimuth_deg, LAT, LON, MORNING)
    expected = norths_at(LAT, LON, 2026.5)
    np.testing.assert_allclose(norths.declination_deg, expected.declination_deg, atol=0.01)
    np.testing.assert_allclose(azimuths.magnetic, sky.true_azimuth_deg - norths.declination_deg)
    np.testing.assert_allclose(azimuths.grid, sky.true_azimuth_deg - norths.convergence_deg)
    assert azimuths.true.shape == azimuths.magnetic.shape == MORNING.shape


def test_a_compass_is_checked_by_the_shadow_with_no_map():
    # An invented compass that reads 2.5 degrees too much, on the shadow of a plumb line through a morning.
    sky = sky_bearing("sun", LAT, LON, MORNING)
    azimuths, norths = azimuths_at(sighted_azimuth(sky, "shadow"), LAT, LON, MORNING)
    check = check_compass(
        azimuths.magnetic + 2.5,
        azimuths.magnetic,
        1.0,
        sighted_azimuth_sd(sky),
        float(norths.declination_sd_deg.max()),
    )
    assert check.error_deg == pytest.approx(2.5)
    # Eight readings of a degree, and the declination that they share.
    assert check.error_sd_deg == pytest.approx(
        np.hypot(1 / np.sqrt(8), norths.declination_sd_deg.max()), rel=0.01
    )
    assert check.found


def test_a_late_watch_turns_the_known_azimuth():
    sky = sky_bearing("sun", LAT, LON, MORNING)
    minute_late = sighted_azimuth_sd(sky, 60.0)
    np.testing.assert_allclose(minute_late, np.abs(sky.change_deg_per_min), rtol=0.01)
    assert np.all(sighted_azimuth_sd(sky, 0.0) < 0.01)


def test_years_that_the_magnetic_model_does_not_hold_for_are_refused():
    moment = np.datetime64("2030-06-01T12:00")
    sky = sky_bearing("sun", LAT, LON, moment)
    with pytest.raises(DateOutsideModelError):
        azimuths_at(sky.true_azimuth_deg, LAT, LON, moment)
