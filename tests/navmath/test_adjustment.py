"""The core of the fixes against closed forms, and against an adjustment on a plane done another way."""

import math

import numpy as np
import pytest

from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.sights.adjustment import Model, adjust, costs, wrap_line
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight

PLACE = (47.0, 11.0)


def seen_from(polar, errors_deg=(0.0,) * 9, sd_deg=(1.0,) * 9):
    """Sights toward the place from where it is seen at azimuths (from the place) and distances."""
    sights = []
    for (azimuth, distance_m), error, sd in zip(polar, errors_deg, sd_deg, strict=False):
        lat, lon, back = (float(value) for value in direct(*PLACE, azimuth, distance_m))
        sights.append(Sight(lat, lon, (back + error) % 360.0, sd))
    return sights


def offset_m(fix):
    """North and east of the true place at which the fix lies."""
    azimuth, _, distance = (float(value) for value in inverse(*PLACE, fix.lat_deg, fix.lon_deg))
    return distance * np.array([math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))])


def model_of(sights, solve_compass_error=False):
    lat, lon, bearing, sd = np.array([(s.lat_deg, s.lon_deg, s.bearing_deg, s.sd_deg) for s in sights]).T

    def predict(lat_deg, lon_deg):
        azimuth, _, distance = inverse(lat, lon, lat_deg[:, None], lon_deg[:, None])
        return azimuth, distance

    return Model(predict, bearing, sd, solve_compass_error)


@pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
def test_two_sights_at_a_right_angle_have_the_covariance_of_two_strips(operation):
    # The sight along north bounds the place to the east, by its distance times its standard deviation, and the other
    # to the north. The derivatives are good to 1e-7, and a geodesic of 3 km differs from a plane's line by 1e-7.
    polar, sd_deg = [(0.0, 2000.0), (90.0, 3000.0)], (0.5, 2.0)
    sights = seen_from(polar, sd_deg=sd_deg)
    if operation is resect:
        sights = [
            Sight(s.lat_deg, s.lon_deg, azimuth, s.sd_deg)
            for s, (azimuth, _) in zip(sights, polar, strict=True)
        ]
    fix = operation(sights, "true")
    expected = np.diag([(3000.0 * math.radians(2.0)) ** 2, (2000.0 * math.radians(0.5)) ** 2])
    # At the observer's own place, the direction of north turns by tan(latitude) / R a metre as it moves east.
    turning = 3000.0 * math.tan(math.radians(PLACE[0])) / 6.4e6 if operation is resect else 0.0
    slack = expected.max() * (1e-6 + 2.5 * turning)
    assert fix.covariance_m2 == pytest.approx(expected, rel=0, abs=slack)
    # Of the long axis, which lies north and south.
    assert math.sin(math.radians(fix.ellipse.major_axis_azimuth_deg)) == pytest.approx(0.0, abs=0.01)


def plane_adjustment(polar, errors_deg, sd_deg):
    """One linear least-squares solution on a plane: north and east of the true place, and the residuals."""
    azimuth, distance = np.radians([a for a, _ in polar]), np.array([d for _, d in polar])
    # Seen from the known place the sought one lies in the opposite direction; moved north and east by x, it turns by:
    design = np.degrees(np.stack((np.sin(azimuth), -np.cos(azimuth)), axis=1) / distance[:, None])
    weight = np.diag(np.array(sd_deg) ** -2.0)
    normal = design.T @ weight @ design
    moved = np.linalg.solve(normal, design.T @ weight @ errors_deg)
    return moved, errors_deg - design @ moved, np.linalg.inv(normal)


def test_small_errors_move_the_fix_as_on_a_plane():
    polar = [(10.0, 2000.0), (75.0, 3500.0), (160.0, 1500.0), (290.0, 2500.0)]
    errors_deg, sd_deg = np.array([0.02, -0.03, 0.01, 0.025]), (0.5, 1.0, 2.0, 1.0)
    fix = intersect(seen_from(polar, errors_deg, sd_deg), "true")
    moved, residuals, covariance = plane_adjustment(polar, errors_deg, sd_deg)
    # A metre over 1500 is 7e-4: its square, times the two metres or so that the fix moves, is left out on the plane.
    assert offset_m(fix) == pytest.approx(moved, abs=2e-3)
    assert fix.residuals_deg == pytest.approx(residuals, abs=1e-4)
    assert fix.covariance_m2 == pytest.approx(covariance, rel=2e-3)
    weighted = float(np.sum((fix.residuals_deg / sd_deg) ** 2))
    assert fix.variance_factor == pytest.approx(weighted / 2)
    assert fix.degrees_of_freedom == 2


def test_a_residual_is_observed_less_computed():
    polar = [(0.0, 2000.0), (90.0, 2000.0), (225.0, 2000.0)]
    fix = intersect(seen_from(polar, (0.0, 0.0, 2.0), (0.001, 0.001, 5.0)), "true")
    assert fix.residuals_deg == pytest.approx([0.0, 0.0, 2.0], abs=1e-4)


@pytest.mark.parametrize("start", [(40.0, 900.0), (200.0, 1500.0), (300.0, 5000.0)])
def test_it_settles_from_a_poor_start(start):
    model = model_of(seen_from([(10.0, 2000.0), (100.0, 3000.0), (230.0, 2500.0)]))
    lat, lon, _ = (float(value) for value in direct(*PLACE, *start))
    found = adjust(model, lat, lon)
    assert found.settled
    assert float(inverse(*PLACE, found.lat_deg, found.lon_deg)[2]) < 1e-4
    assert found.cost < 1e-12


def test_it_stops_at_a_known_place_where_the_sight_has_no_direction():
    sights = seen_from([(10.0, 2000.0), (100.0, 3000.0)])
    found = adjust(model_of(sights), sights[0].lat_deg, sights[0].lon_deg)
    assert not found.settled
    assert found.covariance is None


def test_sights_in_one_line_have_no_covariance():
    model = model_of(seen_from([(30.0, 2000.0), (30.0, 3000.0)]))
    assert adjust(model, *PLACE).covariance is None


def test_the_redundancies_share_out_the_degrees_of_freedom():
    # The trace of the hat matrix is the number of unknowns.
    polar = [(10.0, 2000.0), (75.0, 3500.0), (160.0, 1500.0), (290.0, 2500.0), (200.0, 900.0)]
    found = adjust(model_of(seen_from(polar)), *PLACE)
    assert found.redundancy.sum() == pytest.approx(3.0, abs=1e-9)


@pytest.mark.parametrize(
    ("angle", "wrapped"),
    [(0.0, 0.0), (90.0, 90.0), (-90.0, 90.0), (91.0, -89.0), (180.0, 0.0), (359.0, -1.0)],
)
def test_lines_run_both_ways(angle, wrapped):
    assert float(wrap_line(np.float64(angle))) == pytest.approx(wrapped, abs=1e-12)


def test_the_cost_of_a_reversed_sight_counts_only_when_directed():
    sights = seen_from([(10.0, 2000.0), (100.0, 3000.0)], (0.0, 180.0))
    here = (np.array([PLACE[0]]), np.array([PLACE[1]]))
    assert costs(model_of(sights), *here)[0] == pytest.approx([0.0], abs=1e-12)
    assert costs(model_of(sights), *here, directed=True)[0] == pytest.approx([180.0**2])


@pytest.mark.parametrize("error_deg", [0.0, 5.0, -60.0, 100.0, 180.0, -170.0])
def test_the_compass_error_takes_the_sense_that_most_sights_share(error_deg):
    errors = (error_deg, error_deg + 180.0, error_deg)
    model = model_of(seen_from([(10.0, 2000.0), (130.0, 3000.0), (250.0, 2500.0)], errors), True)
    found = costs(model, np.array([PLACE[0]]), np.array([PLACE[1]]))[1]
    assert np.cos(np.radians(found - error_deg)) == pytest.approx([1.0])
