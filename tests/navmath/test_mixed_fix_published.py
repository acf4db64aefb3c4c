"""The published resections and intersections through the door of mixed observations; see test_fix_published for the plane.

Scale and arc-to-chord of the grid are put into what a distance on the ellipsoid must be, by the coordinates themselves.
"""

import math

import pytest

from published import rows
from threenorths_service.navmath.errors import DangerCircleError
from threenorths_service.navmath.fixes.mixed_fix import fix_from
from threenorths_service.navmath.fixes.observation import AngleBetween, BearingFrom, BearingTo, DistanceTo
from threenorths_service.navmath.grids.grid import from_grid, to_grid
from threenorths_service.navmath.lines.geodesic import inverse

ZONE, NORTHING_M = 33, 7_000_000.0
RESECTIONS = {row["id"]: row for row in rows("resection_examples")}
SURVEY = {row["id"]: row for row in rows("survey_examples")}
#: See test_fix_published.
ARC_TO_CHORD_M = 1e-3


def on_the_grid(east, north, centre=(0.0, 0.0)):
    lat, lon = from_grid(ZONE, False, 500_000.0 + east - centre[0], NORTHING_M + north - centre[1])
    return float(lat), float(lon)


def plane_coordinates(place, centre=(0.0, 0.0)):
    grid = to_grid(place.lat_deg, place.lon_deg, ZONE, False)
    return float(grid.easting_m) - 500_000.0 + centre[0], float(grid.northing_m) - NORTHING_M + centre[1]


def dms(degrees, minutes, seconds):
    return degrees + minutes / 60 + seconds / 3600


def test_the_three_point_resection_from_its_two_angles():
    # Ferris State University SURE 215: row tienstra-1, P to 1e-4. Seen from P the marks stand A, B, C clockwise.
    assert "2128.3903, 5578.1443" in RESECTIONS["tienstra-1"]["expected"]
    centre = (2100.0, 5600.0)
    a, b, c = (on_the_grid(*mark, centre) for mark in ((1000, 5300), (2200, 6300), (3100, 5000)))
    angles = [
        AngleBetween(*a, *b, dms(109, 30, 45), 0.01),
        AngleBetween(*b, *c, dms(115, 5, 20), 0.01),
    ]
    fix = fix_from(angles)
    assert len(fix.places) == 1
    assert plane_coordinates(fix.best, centre) == pytest.approx(
        (2128.3903, 5578.1443), abs=1e-4 + ARC_TO_CHORD_M
    )


def test_the_distances_of_a_published_resection_are_a_trilateration():
    # Row snellius-1: sides BC 320, CA 435, AB 598; PA, PB, PC 844.880591, 571.107418, 835.462796 to 1e-6. The three
    # distances put P where the two published angles, 30 and 15 degrees, are seen.
    row = RESECTIONS["snellius-1"]
    assert row["expected"] == "PA, PB, PC = 844.880591, 571.107418, 835.462796"
    cosine = (435.0**2 + 598.0**2 - 320.0**2) / (2 * 435.0 * 598.0)
    marks = [(0.0, 0.0), (598.0, 0.0), (435.0 * cosine, 435.0 * math.sqrt(1 - cosine**2))]
    a, b, c = (on_the_grid(*mark) for mark in marks)
    # On the central meridian the grid is 0.9996 of the ground.
    lengths = [value / 0.9996 for value in (844.880591, 571.107418, 835.462796)]
    fix = fix_from([DistanceTo(*mark, length, 0.01) for mark, length in zip((a, b, c), lengths, strict=True)])
    place = (fix.best.lat_deg, fix.best.lon_deg)
    to_a, to_b, to_c = (float(inverse(*place, *mark)[0]) for mark in (a, b, c))
    assert abs((to_a - to_c + 180) % 360 - 180) == pytest.approx(30.0, abs=1e-5)
    assert abs((to_b - to_c + 180) % 360 - 180) == pytest.approx(15.0, abs=1e-5)
    # A grid 3e-9 off 0.9996 at 600 m from the meridian, and distances to half a thousandth of a millimetre.
    assert abs(fix.best.residuals).max() < 1e-5


def test_the_danger_circle_of_the_text():
    assert "P=(0,100)" in RESECTIONS["danger-circle"]["observed"]
    a, b, c = (on_the_grid(*mark, (5000, 5000)) for mark in ((0, 0), (10000, 0), (10000, 10000)))
    # From P = (0, 10000): A to the south, B to the south-east, C to the east, so that clockwise C, B, A.
    angles = [AngleBetween(*c, *b, 45.0, 0.5), AngleBetween(*b, *a, 45.0, 0.5)]
    with pytest.raises(DangerCircleError):
        fix_from(angles)


def test_the_bearing_bearing_intersection():
    # J. Mahun, Open Access Surveying Library, COGO: row mahun-LR; stations and azimuths to 0.001 and 1 second.
    assert "N 836.445 E 1450.051" in SURVEY["mahun-LR"]["expected"]
    centre = (1700.0, 800.0)
    stations = (((2000.0, 1000.0), dms(253, 26, 15)), ((1811.082, 480.951), dms(314, 33, 26)))
    bearings = [BearingFrom(*on_the_grid(*p, centre), azimuth, 0.01, "grid", ZONE) for p, azimuth in stations]
    assert plane_coordinates(fix_from(bearings).best, centre) == pytest.approx(
        (1450.051, 836.445), abs=2.5e-3
    )


def test_its_distance_and_either_bearing_are_the_same_place():
    # d1 = 573.754 from the first station: polar with its own azimuth, mixed with the other station's.
    centre = (1700.0, 800.0)
    first, second = on_the_grid(2000.0, 1000.0, centre), on_the_grid(1811.082, 480.951, centre)
    distance = DistanceTo(*first, 573.754 / 0.9996, 0.01)
    polar = fix_from([BearingFrom(*first, dms(253, 26, 15), 0.01, "grid", ZONE), distance])
    mixed = fix_from([BearingFrom(*second, dms(314, 33, 26), 0.01, "grid", ZONE), distance])
    for place in (polar.best, min(mixed.places, key=lambda each: plane_coordinates(each, centre)[0])):
        assert plane_coordinates(place, centre) == pytest.approx((1450.051, 836.445), abs=4e-3)


@pytest.mark.parametrize("solve", [False, True], ids=["azimuths", "angles"])
def test_the_constructed_resection(solve):
    row = RESECTIONS["synthetic-1"]
    assert "P = (501500, 4000300)" in row["expected"]
    marks = ((500000, 4000000), (501200, 4001500), (503000, 4000200))
    azimuths, centre, turned = (
        (258.690067526, 345.963756532, 93.814074834),
        (501500, 4000300),
        7.5 if solve else 0.0,
    )
    assert all(str(azimuth) in row["observed"] for azimuth in azimuths)
    bearings = [
        BearingTo(*on_the_grid(*mark, centre), (azimuth + turned) % 360.0, 0.1, "grid", ZONE, False)
        for mark, azimuth in zip(marks, azimuths, strict=True)
    ]
    fix = fix_from(bearings, solve_compass_error=solve)
    assert plane_coordinates(fix.best, centre) == pytest.approx(centre, abs=ARC_TO_CHORD_M)
