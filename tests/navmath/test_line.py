import dataclasses
import math

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.angle import normalise_signed
from threenorths_service.navmath.errors import DateOutsideModelError, OutOfRangeError
from threenorths_service.navmath.grids.ellipsoid import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M
from threenorths_service.navmath.grids.grid import convergence_and_scale, to_grid
from threenorths_service.navmath.lines.line import line_between
from threenorths_service.navmath.magnetism.magnetic import declination_at

GEOD = pyproj.Geod(ellps="WGS84")
PUBLISHED = {row["quantity"]: row["value"] for row in rows("grid_line_examples")}
YEAR = 2026.5

ON_THE_GRID = (
    "grid_distance_m",
    "grid_azimuth_deg",
    "grid_back_azimuth_deg",
    "mean_scale_factor",
    "line_of_sight_grid_azimuth_deg",
)
AZIMUTHS = (
    "true_azimuth_deg",
    "true_back_azimuth_deg",
    "grid_azimuth_deg",
    "grid_back_azimuth_deg",
    "line_of_sight_grid_azimuth_deg",
    "magnetic_azimuth_deg",
    "magnetic_back_azimuth_deg",
)
#: Grid coordinates of up to 10,000 km are rounded to 1 nm, twice; our series and the library's differ by 5 nm.
GRID_NOISE_M = 1e-8


def sexagesimal_deg(text):
    degrees, minutes, seconds = text.split()
    size = float(degrees.lstrip("-")) + float(minutes) / 60.0 + float(seconds) / 3600.0
    return -size if degrees.startswith("-") else size


def off_deg(one_deg, other_deg):
    return np.abs(normalise_signed(np.subtract(one_deg, other_deg)))


def turn_deg(noise_m, distance_m):
    """How far a line turns when its ends move by the noise, and a few roundings of numbers under 360."""
    return np.degrees(2 * noise_m / distance_m) + 2e-13


def published_places():
    return [sexagesimal_deg(PUBLISHED[name]) for name in ("lat1", "lon1", "lat2", "lon2")]


# The published line is on GRS 80, whose flattening differs from that of WGS 84 so little that over its 55 km nothing
# moves by as much as a micrometre.
def test_the_published_line_of_a_national_survey():
    zone = int(PUBLISHED["zone"])
    line = line_between(*published_places())
    # Half a digit of each distance; and of the places, 0.000005 seconds of arc are 0.15 mm.
    assert line.distance_m == pytest.approx(float(PUBLISHED["distance_m"]), abs=0.0005 + 4e-4, rel=0)
    assert line.grid_distance_m == pytest.approx(
        float(PUBLISHED["grid_distance_m"]), abs=0.0005 + 4e-4, rel=0
    )
    assert line.mean_scale_factor == pytest.approx(float(PUBLISHED["line_scale_factor"]), abs=0.5e-8, rel=0)
    # Half a hundredth of a second, and 0.4 mm at 55 km. The back azimuths are printed sums of two rounded angles.
    tolerance_deg = 0.005 / 3600.0 + math.degrees(4e-4 / 54_972.0)
    assert off_deg(line.true_azimuth_deg, sexagesimal_deg(PUBLISHED["true_azimuth"])) < tolerance_deg
    assert (
        off_deg(line.true_back_azimuth_deg, sexagesimal_deg(PUBLISHED["true_back_azimuth"])) < tolerance_deg
    )
    sight_deg = sexagesimal_deg(PUBLISHED["line_of_sight_grid_azimuth"])
    assert off_deg(line.line_of_sight_grid_azimuth_deg, sight_deg) < tolerance_deg
    back_deg = sexagesimal_deg(PUBLISHED["grid_back_azimuth"])
    assert off_deg(line.grid_back_azimuth_deg, back_deg) < 2 * tolerance_deg
    assert off_deg(line.grid_azimuth_deg, back_deg + 180.0) < 2 * tolerance_deg
    # The other way the line of sight leaves from the second place, on the same grid.
    back = line_between(*published_places()[2:], *published_places()[:2], zone=zone, south=True)
    sight_back_deg = sexagesimal_deg(PUBLISHED["line_of_sight_grid_back_azimuth"])
    assert off_deg(back.line_of_sight_grid_azimuth_deg, sight_back_deg) < 2 * tolerance_deg


def arc_to_chord_deg(start, end, middle_lat_deg):
    """Azimuth of the chord less that of the line of sight, on the transverse Mercator grid: the textbook's (t - T).

    ``-(N2 - N1)(2 E1 + E2) / (6 r^2)``, eastings from the central meridian, r^2 the product of the principal radii of
    curvature in the middle and of the central scale squared. From memory; checked below by a published figure.
    """
    shrink = 1.0 - ECCENTRICITY_SQUARED * math.sin(math.radians(middle_lat_deg)) ** 2
    radii_m2 = SEMI_MAJOR_AXIS_M**2 * (1.0 - ECCENTRICITY_SQUARED) / shrink**2 * 0.9996**2
    eastings_m = 2.0 * (start.easting_m - 500_000.0) + (end.easting_m - 500_000.0)
    return math.degrees((start.northing_m - end.northing_m) * eastings_m / (6.0 * radii_m2))


def test_the_textbooks_arc_to_chord_gives_the_published_one():
    lat1, lon1, lat2, lon2 = published_places()
    start, end = to_grid(lat2, lon2, 55, True), to_grid(lat1, lon1, 55, True)
    expected_deg = sexagesimal_deg(PUBLISHED["arc_to_chord_at_2"])
    # The textbook's next term is some (3 E)^2 / 27 r^2 of it: 7e-4 at 270 km from the central meridian.
    assert arc_to_chord_deg(start, end, (lat1 + lat2) / 2.0) == pytest.approx(
        expected_deg, abs=0.005 / 3600.0, rel=1e-3
    )


@given(st.floats(-78.0, 82.0), st.floats(-3.0, 3.0), st.floats(0.0, 360.0), st.floats(1_000.0, 30_000.0))
def test_the_line_of_sight_leaves_the_chord_by_the_arc_to_chord_angle(
    lat_deg, lon_deg, azimuth_deg, distance_m
):
    end_lon_deg, end_lat_deg, _ = GEOD.fwd(lon_deg + 9.0, lat_deg, azimuth_deg, distance_m)
    line = line_between(lat_deg, lon_deg + 9.0, end_lat_deg, end_lon_deg, zone=32, south=False)
    expected_deg = arc_to_chord_deg(
        to_grid(lat_deg, lon_deg + 9.0, 32, False),
        to_grid(end_lat_deg, end_lon_deg, 32, False),
        (lat_deg + end_lat_deg) / 2.0,
    )
    found_deg = normalise_signed(line.grid_azimuth_deg - line.line_of_sight_grid_azimuth_deg)
    # The textbook leaves out terms of 2 % of a second of arc at 30 km and the zone's edge.
    tolerance_deg = 0.05 / 3600.0 * (distance_m / 30_000.0) ** 2 + 2e-3 * abs(expected_deg)
    assert found_deg == pytest.approx(
        expected_deg, abs=tolerance_deg + turn_deg(GRID_NOISE_M, distance_m), rel=0
    )


@pytest.mark.parametrize(
    "places", [(46.5, 8.0, 46.55, 8.09), (-33.9, 18.4, -33.95, 18.3), (69.0, 19.0, 69.1, 19.0)]
)
def test_the_mean_scale_is_that_of_the_points_on_the_way(places):
    line = line_between(*places)
    lat1, lon1 = places[:2]
    steps = np.linspace(0.0, line.distance_m, 21)
    lon_deg, lat_deg, _ = GEOD.fwd(
        np.full(21, lon1), np.full(21, lat1), np.full(21, line.true_azimuth_deg), steps
    )
    _, scale = convergence_and_scale(lat_deg, lon_deg, to_grid(lat1, lon1).zone, lat1 < 0.0)
    weights = np.array([1.0, *[4.0, 2.0] * 9, 4.0, 1.0])
    # Simpson's rule. The line on the map is longer than its chord by a sixth of its bend squared: 2e-10 for 3e-5.
    assert line.mean_scale_factor == pytest.approx(scale @ weights / weights.sum(), abs=1e-9, rel=0)
    assert line.mean_scale_factor == line.grid_distance_m / line.distance_m


# Lines that leave the zone, cross the equator either way and the antimeridian, and lie by a pole; with the code of the
# registered coordinate system of the first place's grid.
LINES = {
    "within-a-zone": (51.5, -1.25, 51.6, -1.4, 32630),
    "over-a-zone-border": (47.0, 5.95, 47.1, 6.2, 32631),
    "over-the-border-from-the-east": (47.0, 6.1, 47.1, 5.8, 32632),
    "from-the-norwegian-exception": (60.0, 3.1, 60.1, 2.9, 32632),
    "from-the-svalbard-exception": (78.0, 9.2, 78.1, 8.7, 32633),
    "north-over-the-equator": (-0.05, 36.8, 0.05, 36.9, 32737),
    "south-over-the-equator": (0.05, 36.8, -0.05, 36.9, 32637),
    "east-over-the-antimeridian": (-17.0, 179.95, -17.1, -179.9, 32760),
    "west-over-the-antimeridian": (65.0, -179.95, 65.1, 179.9, 32601),
    "longitudes-over-180": (40.0, 238.0, 40.1, 238.1, 32610),
    "out-of-ups": (84.02, 20.0, 83.9, 21.0, 5041),
    "into-ups": (83.95, 20.0, 84.1, 20.5, 32633),
    "over-the-north-pole": (89.95, 10.0, 89.9, -150.0, 5041),
    "near-the-south-pole": (-89.5, 100.0, -89.4, -120.0, 5042),
}


@pytest.mark.parametrize("places", LINES.values(), ids=LINES.keys())
def test_every_member_against_the_projection_library(places):
    lat1, lon1, lat2, lon2, code = places
    line = line_between(lat1, lon1, lat2, lon2, YEAR)
    assert line.distinct
    assert line.grid_reached
    true_deg, back_deg, distance_m = GEOD.inv(lon1, lat1, lon2, lat2)
    # The library wraps longitudes over 180 by a rounding of 3e-14 degrees.
    assert line.distance_m == pytest.approx(distance_m, abs=1e-8, rel=0)
    assert off_deg(line.true_azimuth_deg, true_deg) < 1e-12
    assert off_deg(line.true_back_azimuth_deg, back_deg) < 1e-12
    system = pyproj.Transformer.from_crs(4326, code, always_xy=True)
    (east1, east2), (north1, north2) = system.transform([lon1, lon2], [lat1, lat2])
    chord_m = math.hypot(east2 - east1, north2 - north1)
    chord_deg = math.degrees(math.atan2(east2 - east1, north2 - north1))
    assert line.grid_distance_m == pytest.approx(chord_m, abs=2 * GRID_NOISE_M, rel=0)
    assert off_deg(line.grid_azimuth_deg, chord_deg) < turn_deg(GRID_NOISE_M, chord_m)
    assert off_deg(line.grid_back_azimuth_deg, chord_deg + 180.0) < turn_deg(GRID_NOISE_M, chord_m)
    assert line.mean_scale_factor == pytest.approx(
        chord_m / distance_m, abs=4 * GRID_NOISE_M / distance_m, rel=0
    )
    convergence_deg = pyproj.Proj(code).get_factors(lon1, lat1).meridian_convergence
    # The library finds the convergence by differences: 3e-10 degrees, and more by a pole.
    assert off_deg(line.line_of_sight_grid_azimuth_deg, true_deg - convergence_deg) < 1e-8
    assert line.declination_deg == declination_at(lat1, lon1, YEAR)
    assert line.back_declination_deg == declination_at(lat2, lon2, YEAR)
    assert off_deg(line.magnetic_azimuth_deg, true_deg - line.declination_deg) < 1e-12
    assert off_deg(line.magnetic_back_azimuth_deg, back_deg - line.back_declination_deg) < 1e-12
    for name in AZIMUTHS:
        assert 0.0 <= getattr(line, name) < 360.0


def test_one_grid_serves_both_ends_wherever_the_line_lies():
    places = (10.0, 179.99, 10.02, -179.98)
    over = line_between(*places)
    # The grid depends on the longitude from the central meridian alone: 30 zones on it is the same.
    inland = line_between(10.0, -0.01, 10.02, 0.02)
    for name in ON_THE_GRID:
        # 3e-14 degrees of either longitude's rounding are 3 nm.
        assert getattr(over, name) == pytest.approx(getattr(inland, name), abs=6e-9, rel=0)


def test_the_grid_is_that_of_the_first_place():
    places = (47.0, 5.95, 47.1, 6.2)
    for name in ON_THE_GRID:
        own, first, second = (
            getattr(line_between(*places, zone=zone, south=south), name)
            for zone, south in ((None, None), (31, False), (32, False))
        )
        assert own == first != second


def test_a_southern_zone_holds_north_of_the_equator():
    places = (0.05, 36.8, -0.05, 36.9)
    north, south = (line_between(*places, zone=37, south=south) for south in (False, True))
    for name in ON_THE_GRID:
        # Only the false northing differs: each end's rounding at 10,000 km, 1 nm.
        assert getattr(north, name) == pytest.approx(getattr(south, name), abs=2e-9, rel=0)


def test_from_the_poles_themselves():
    north = line_between(90.0, 0.0, 89.9, 45.0)
    # On UPS north the meridian of 180 degrees points up the map; on UPS south that of nought does.
    assert north.true_azimuth_deg == pytest.approx(135.0, abs=1e-12)
    assert north.grid_azimuth_deg == pytest.approx(135.0, abs=1e-10)
    assert north.line_of_sight_grid_azimuth_deg == pytest.approx(135.0, abs=1e-12)
    turned = line_between(90.0, 30.0, 89.9, 45.0)
    assert turned.true_azimuth_deg == pytest.approx(165.0, abs=1e-12)
    assert turned.line_of_sight_grid_azimuth_deg == pytest.approx(135.0, abs=1e-12)
    south = line_between(-90.0, 30.0, -89.9, 45.0)
    assert south.true_azimuth_deg == pytest.approx(15.0, abs=1e-12)
    assert south.grid_azimuth_deg == pytest.approx(45.0, abs=1e-10)
    assert south.line_of_sight_grid_azimuth_deg == pytest.approx(45.0, abs=1e-12)
    assert south.true_back_azimuth_deg == 180.0


@pytest.mark.parametrize(
    "places",
    [(47.0, 3.0, 47.0, 24.0), (47.0, 3.0, -47.0, -176.0), (89.0, 0.0, 69.0, 0.0), (-85.0, 0.0, 85.0, 0.0)],
)
def test_beyond_the_grid_nothing_is_said_on_the_grid(places):
    line = line_between(*places, YEAR)
    assert not line.grid_reached
    assert np.isnan([getattr(line, name) for name in ON_THE_GRID]).all()
    others = {field.name for field in dataclasses.fields(line)} - set(ON_THE_GRID)
    assert np.isfinite([getattr(line, name) for name in others]).all()


def test_a_forced_zone_far_from_the_start_is_not_reached():
    assert not line_between(47.0, 3.0, 47.0, 9.0, zone=35, south=False).grid_reached
    assert not line_between(47.0, 9.0, 47.0, 3.0, zone=35, south=False).grid_reached


def test_between_equal_places_there_is_no_direction():
    line = line_between(47.0, 8.0, 47.0, 8.0, YEAR)
    assert not line.distinct
    assert line.grid_reached
    assert (line.distance_m, line.grid_distance_m) == (0.0, 0.0)
    assert np.isnan([getattr(line, name) for name in (*AZIMUTHS, "mean_scale_factor")]).all()
    assert line.declination_deg == line.back_declination_deg == declination_at(47.0, 8.0, YEAR)


def test_a_millimetre_tells_two_places_apart():
    degree_m = 111_170.0  # of the meridian at 47 degrees, from memory
    line = line_between(47.0, 8.0, 47.0 + np.array([0.0009, 0.0011]) / degree_m, 8.0)
    assert line.distinct.tolist() == [False, True]
    assert np.isnan(line.true_azimuth_deg).tolist() == [True, False]


def test_without_a_date_nothing_is_magnetic():
    line = line_between(47.0, 8.0, 47.1, 8.1)
    assert line.declination_deg is line.back_declination_deg is None
    assert line.magnetic_azimuth_deg is line.magnetic_back_azimuth_deg is None


def test_arrays_are_what_each_row_would_be_alone():
    lat1, lon1, lat2, lon2 = (
        np.array([*column, same])
        for column, same in zip(
            list(zip(*LINES.values(), strict=True))[:4], (1.0, 2.0, 1.0, 2.0), strict=True
        )
    )
    lines = line_between(lat1, lon1, lat2, lon2, YEAR)
    for row in range(lat1.size):
        alone = line_between(lat1[row], lon1[row], lat2[row], lon2[row], YEAR)
        for field in dataclasses.fields(lines):
            together = getattr(lines, field.name)
            assert together.shape == lat1.shape
            # Vector instructions may round a last digit otherwise.
            np.testing.assert_allclose(
                together[row], getattr(alone, field.name), rtol=1e-15, atol=2e-12, err_msg=field.name
            )


def test_places_broadcast():
    lines = line_between(47.0, 8.0, [[47.1], [47.2]], [8.0, 8.1, 8.2], YEAR)
    assert lines.grid_azimuth_deg.shape == lines.true_azimuth_deg.shape == (2, 3)
    assert lines.magnetic_back_azimuth_deg.shape == lines.distinct.shape == (2, 3)


@pytest.mark.parametrize("places", [(91.0, 0.0, 0.0, 0.0), (0.0, 0.0, -91.0, 0.0), (0.0, 360.0, 0.0, 0.0)])
def test_no_place_of_this_world_is_an_error(places):
    with pytest.raises(OutOfRangeError):
        line_between(*places)


def test_a_date_beyond_the_magnetic_model_is_an_error():
    with pytest.raises(DateOutsideModelError):
        line_between(47.0, 8.0, 47.1, 8.1, 2031.0)
