import math

import numpy as np
import pytest

from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.magnetism.magnetic import declination_at, field_at
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight

YEAR = 2026.9
LAT, LON = 62.93, 13.30
#: Two known places some 4 km from the place sought, which see it, or are seen from it, nearly at a right angle.
KNOWN = [tuple(float(value) for value in direct(LAT, LON, azimuth, 4000.0)[:2]) for azimuth in (20.0, 115.0)]


def sights(
    operation,
    *,
    errors_deg=(0.0, 0.0),
    shared_deg=0.0,
    sd_deg=1.0,
    known=KNOWN,
    place_sd_m=0.0,
    north="magnetic",
):
    """Sights to or from the place, each with its own error and one that all share."""
    taken = []
    for (lat, lon), error in zip(known, errors_deg, strict=True):
        there, back, _ = (float(value) for value in inverse(lat, lon, LAT, LON))
        at = (lat, lon) if operation is intersect else (LAT, LON)
        azimuth = there if operation is intersect else back
        turn = float(declination_at(*at, YEAR)) if north == "magnetic" else 0.0
        bearing = azimuth - turn + error + shared_deg
        taken.append(Sight(lat, lon, bearing % 360.0, sd_deg, place_sd_m))
    return taken


def inside(fix):
    """Whether the true place lies in the fix's 95 % ellipse."""
    azimuth, _, distance = (float(value) for value in inverse(fix.lat_deg, fix.lon_deg, LAT, LON))
    off = distance * np.array([math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))])
    return off @ np.linalg.solve(fix.covariance_m2, off) <= -2.0 * math.log(0.05)


@pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
def test_the_declination_s_own_error_is_in_the_ellipse(operation):
    # Sights far better than the declination: nearly all the error is the one they share.
    declination_sd_deg = float(field_at(LAT, LON, YEAR).declination_sd_deg)
    rng = np.random.default_rng(7)
    covered = 0
    for shared_deg in rng.normal(0.0, declination_sd_deg, 200):
        errors_deg = rng.normal(0.0, 0.2, 2)
        taken = sights(operation, errors_deg=errors_deg, shared_deg=shared_deg, sd_deg=0.2)
        covered += inside(operation(taken, "magnetic", decimal_year=YEAR))
    # 95 % of 200 are 190, with a standard deviation of 3.1; an ellipse half as long again would cover 199.
    assert 180 <= covered <= 197


@pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
def test_no_number_of_sights_averages_the_declination_out(operation):
    many = [sight for sight in sights(operation, sd_deg=1.0) for _ in range(25)]
    fix = operation(many, "magnetic", decimal_year=YEAR)
    true = operation([Sight(s.lat_deg, s.lon_deg, s.bearing_deg, s.sd_deg) for s in many], "true")
    shared_m = math.radians(float(field_at(LAT, LON, YEAR).declination_sd_deg)) * 4000.0
    assert fix.ellipse.semi_major_m > 2.4 * shared_m
    assert true.ellipse.semi_major_m < fix.ellipse.semi_major_m


def test_true_bearings_share_no_error():
    fix = intersect(sights(intersect, north="true"), "true")
    # The lines cross at 95 degrees, 4 km off: one degree is 69.8 m across each, 2.4477 of them the 95 % half-axis.
    across_m = 4000.0 * math.radians(1.0) * 2.447747
    assert fix.ellipse.semi_minor_m == pytest.approx(
        across_m / math.sqrt(1 + math.cos(math.radians(85))), rel=0.01
    )


def test_a_coarse_known_place_makes_its_sight_less_sure():
    # A square of 1 km: 288.7 m is its standard deviation each way, 4.13 degrees over 4 km.
    fine, coarse = sights(resect)[0], sights(resect, place_sd_m=1000.0 / math.sqrt(12.0))[1]
    fix = resect([fine, coarse], "magnetic", decimal_year=YEAR)
    assert fix.sd_deg[0] == 1.0
    assert fix.sd_deg[1] == pytest.approx(math.hypot(1.0, math.degrees(288.675 / 4000.0)), rel=1e-3)
    assert "coarse_reference" in [caution.code for caution in fix.cautions]


def test_a_square_of_a_metre_changes_nothing():
    fix = resect(sights(resect, place_sd_m=1.0 / math.sqrt(12.0)), "magnetic", decimal_year=YEAR)
    assert list(fix.sd_deg) == [1.0, 1.0]
    assert "coarse_reference" not in [caution.code for caution in fix.cautions]


FOUR = [
    tuple(float(value) for value in direct(LAT, LON, azimuth, 4000.0)[:2])
    for azimuth in (20.0, 115.0, 200.0, 300.0)
]


def test_sights_that_disagree_widen_the_ellipse():
    agreeing = resect(sights(resect, errors_deg=(1, -1, 1, -1), known=FOUR, north="true"), "true")
    errors_deg = np.array([1, -1, 1, -1]) * 6.0
    disagreeing = resect(sights(resect, errors_deg=errors_deg, known=FOUR, north="true"), "true")
    assert "sights_disagree" not in [caution.code for caution in agreeing.cautions]
    assert "sights_disagree" in [caution.code for caution in disagreeing.cautions]
    # The residuals are six times as large, and so is the ellipse.
    wider = disagreeing.ellipse.semi_major_m / agreeing.ellipse.semi_major_m
    assert wider == pytest.approx(math.sqrt(disagreeing.variance_factor), rel=0.02)
    assert disagreeing.variance_factor > 10


@pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
def test_sights_to_one_coarse_place_share_its_error(operation):
    # Each of two places is known to a square of 300 m, and sighted four times.
    rng, covered = np.random.default_rng(5), 0
    for _ in range(200):
        taken = []
        for sight in sights(operation, north="true", sd_deg=0.5):
            lat, lon, _ = direct(sight.lat_deg, sight.lon_deg, 0.0, rng.uniform(-150, 150))
            lat, lon, _ = direct(lat, lon, 90.0, rng.uniform(-150, 150))
            for _ in range(4):
                bearing = (sight.bearing_deg + rng.normal(0, 0.5)) % 360.0
                taken.append(Sight(float(lat), float(lon), bearing, 0.5, 300.0 / math.sqrt(12.0)))
        covered += inside(operation(taken, "true"))
    assert 180 <= covered <= 199  # an even spread in a square reaches less far than a normal one


@pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
def test_an_error_that_all_share_is_no_disagreement(operation):
    # The declination 0.47 degrees off, one standard deviation, and sights of 0.3: a fault in none of them.
    rng = np.random.default_rng(9)
    declination_sd_deg = float(field_at(LAT, LON, YEAR).declination_sd_deg)
    accused = 0
    for _ in range(200):
        errors_deg, shared_deg = rng.normal(0, 0.3, 4), rng.normal(0, declination_sd_deg)
        taken = sights(operation, errors_deg=errors_deg, shared_deg=shared_deg, sd_deg=0.3, known=FOUR)
        fix = operation(taken, "magnetic", decimal_year=YEAR)
        accused += "sights_disagree" in [caution.code for caution in fix.cautions]
    # One in a hundred by design, and a little more where one shared error makes most of the residuals: 12 of 200 at most.
    assert accused <= 12


def test_a_compass_error_is_as_unsure_as_the_disagreement_makes_it():
    errors_deg = np.array([1, -1, 1, -1]) * 4.0
    agreeing = resect(
        sights(resect, errors_deg=errors_deg / 8, known=FOUR, north="true"), "true", solve_compass_error=True
    )
    disagreeing = resect(
        sights(resect, errors_deg=errors_deg, known=FOUR, north="true"), "true", solve_compass_error=True
    )
    wider = disagreeing.compass_error_sd_deg / agreeing.compass_error_sd_deg
    assert wider == pytest.approx(math.sqrt(disagreeing.variance_factor), rel=0.1)


def test_an_ellipse_that_the_declination_makes_long_is_cautioned():
    # 84 N 170 E: the declination is known to 3.6 degrees, the sights to 0.5.
    lat, lon = 84.0, 170.0
    marks = [
        tuple(float(value) for value in direct(lat, lon, azimuth, 3000.0)[:2]) for azimuth in (20.0, 50.0)
    ]
    turn = float(declination_at(lat, lon, YEAR))
    taken = [Sight(*mark, (float(inverse(lat, lon, *mark)[0]) - turn) % 360.0, 0.5) for mark in marks]
    fix = resect(taken, "magnetic", decimal_year=YEAR)
    true = resect([Sight(s.lat_deg, s.lon_deg, (s.bearing_deg + turn) % 360.0, 0.5) for s in taken], "true")
    assert "weak_geometry" not in [caution.code for caution in true.cautions]
    if fix.ellipse.semi_major_m > 1500.0:
        assert "weak_geometry" in [caution.code for caution in fix.cautions]
    assert fix.ellipse.semi_major_m > 1.5 * true.ellipse.semi_major_m
