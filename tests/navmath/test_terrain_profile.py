import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.terrain_profile import (
    LONGEST_PROFILE_M,
    MEAN_RADIUS_M,
    curvature_and_refraction_m,
    radius_along_m,
    skyline,
    terrain_profile,
)


def test_the_mean_radius_is_the_one_that_is_published():
    # H. Moritz, "Geodetic Reference System 1980", J. Geodesy 74, 2000: R1 = 6371008.7714 m; WGS 84 agrees to 0.1 mm.
    assert pytest.approx(6_371_008.7714, abs=2e-4) == MEAN_RADIUS_M


@given(st.floats(-89, 89), st.floats(0, 360))
def test_the_radius_along_a_line_turns_the_vertical_as_the_geodesic_does(lat_deg, azimuth_deg):
    # A short geodesic sinks from the plane of its start by s^2 / (2 R): by geocentric coordinates, with no radius in it.
    from_lat, length = np.radians(lat_deg), 20_000.0
    lon, lat, _ = Geod(ellps="WGS84").fwd(0.0, lat_deg, azimuth_deg, length)
    a, e2 = 6378137.0, 0.0066943799901413165

    def geocentric(lat_rad, lon_rad):
        n = a / np.sqrt(1 - e2 * np.sin(lat_rad) ** 2)
        return np.array(
            [
                n * np.cos(lat_rad) * np.cos(lon_rad),
                n * np.cos(lat_rad) * np.sin(lon_rad),
                n * (1 - e2) * np.sin(lat_rad),
            ]
        )

    up = np.array([np.cos(from_lat), 0.0, np.sin(from_lat)])
    drop = -(geocentric(np.radians(lat), np.radians(lon)) - geocentric(from_lat, 0.0)) @ up
    # The third-order term of the ellipsoid is e^2 s^3 / (2 a^2) at most: 0.7 mm in 31 m.
    assert radius_along_m(lat_deg, azimuth_deg) == pytest.approx(length**2 / (2 * drop), rel=5e-5)


def test_the_mean_radius_serves_any_line_to_its_stated_part():
    lat, azimuth = np.meshgrid(np.linspace(-90, 90, 37), np.linspace(0, 180, 13))
    assert np.max(np.abs(radius_along_m(lat, azimuth) / MEAN_RADIUS_M - 1)) < 0.006


def test_without_refraction_the_fall_is_that_of_a_sphere():
    # Exactly it is R (1 / cos(d / R) - 1); the next term is 5 d^4 / (24 R^3) of which the d^4 / (8 R^3) is stated.
    distance = np.array([1e3, 1e4, 1e5])
    exact = MEAN_RADIUS_M * (1 / np.cos(distance / MEAN_RADIUS_M) - 1)
    np.testing.assert_allclose(
        curvature_and_refraction_m(distance, refraction_k=0),
        exact,
        atol=1e-8,
        rtol=5 / 12 * (1e5 / MEAN_RADIUS_M) ** 2,
    )


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=8), st.floats(0, 30), st.floats(-1, 0.9))
def test_the_skyline_is_the_highest_of_many_places_between(heights, observer, refraction):
    distance = np.linspace(0, 20_000, len(heights))
    profile = terrain_profile(distance, heights, refraction_k=refraction)
    eye = heights[0] + observer
    found = skyline(profile, eye)
    for index in range(len(heights) - 1):
        between = np.linspace(max(distance[index], 1.0), distance[index + 1], 4001)
        ground = np.interp(between, distance, heights) - profile.bend_per_m * between**2
        slope = (ground - eye) / between
        # Sampling every metre or five can only miss the top by little, and on the low side.
        assert np.max(slope) <= found.slope[index] + 1e-12
        if observer > 1.0:
            assert np.max(slope) == pytest.approx(found.slope[index], abs=1e-6)


@pytest.mark.parametrize(
    ("distance", "height", "options", "member"),
    [
        ([0], [5], {}, "distance_m"),
        (0, 5, {}, "distance_m"),
        ([1, 2], [5, 5], {}, "distance_m"),
        ([0, 2, 2], [5, 5, 5], {}, "distance_m"),
        ([0, 1e-320], [5, 9], {}, "distance_m"),
        ([0, 3, 2], [5, 5, 5], {}, "distance_m"),
        ([0, 2], [5, 5, 5], {}, "height_m"),
        ([0, 2], 5, {}, "height_m"),
        ([0, 2], [5, np.nan], {}, "height_m"),
        ([0, np.nan], [5, 5], {}, "distance_m"),
        ([0, LONGEST_PROFILE_M + 1], [5, 5], {}, "distance_m"),
        ([0, 2], [5, 5], {"refraction_k": 1.0}, "refraction_k"),
        ([0, 2], [5, 5], {"radius_m": 0.0}, "radius_m"),
    ],
)
def test_what_is_no_profile_is_named(distance, height, options, member):
    with pytest.raises(OutOfRangeError) as caught:
        terrain_profile(distance, height, **options)
    assert caught.value.member == member
