import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.angle import (
    CIRCLE_DIVISIONS,
    from_degrees,
    normalise_azimuth,
    normalise_longitude,
    normalise_signed,
    to_degrees,
)

angles = st.floats(-1e6, 1e6, allow_nan=False)


@pytest.mark.parametrize(
    ("angle", "expected"), [(0, 0), (360, 0), (-0.0, 0), (-1e-17, 0), (359.5 + 1, 0.5), (-1, 359), (720, 0)]
)
def test_an_azimuth_is_brought_into_the_circle(angle, expected):
    azimuth = float(normalise_azimuth(angle))
    assert azimuth == expected
    assert not np.signbit(azimuth)


@pytest.mark.parametrize(("angle", "expected"), [(180, 180), (-180, 180), (181, -179), (-0.0, 0), (540, 180)])
def test_a_signed_angle_is_brought_into_the_half_open_half_circles(angle, expected):
    signed = float(normalise_signed(angle))
    assert signed == expected
    assert not (signed == 0 and np.signbit(signed))


@pytest.mark.parametrize(
    ("lon", "expected"), [(180, -180), (-180, -180), (359, -1), (190, -170), (12.3456789, 12.3456789)]
)
def test_a_longitude_is_brought_into_its_range(lon, expected):
    assert float(normalise_longitude(lon)) == expected


@given(angles)
def test_normalised_angles_keep_their_ranges(angle):
    assert 0.0 <= normalise_azimuth(angle) < 360.0
    assert -180.0 < normalise_signed(angle) <= 180.0
    assert -180.0 <= normalise_longitude(angle) < 180.0


@given(st.floats(0, 360), st.sampled_from(sorted(CIRCLE_DIVISIONS)))
def test_every_division_of_the_circle_turns_back(angle, unit):
    assert to_degrees(from_degrees(angle, unit), unit) == pytest.approx(angle, abs=1e-12)


def test_the_divisions_are_the_published_ones():
    # FM 3-25.26, para 6-1: 6400 mils and 400 grads to the circle; 1 degree is 17.78 mils, printed to 0.01.
    assert from_degrees(360, "mil") == 6400
    assert from_degrees(1, "mil") == pytest.approx(17.78, abs=0.005)
    assert from_degrees(90, "grad") == 100
