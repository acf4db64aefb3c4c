"""Published resections and intersections. They are on a plane: here on the grid, near a central meridian.

There the grid is true to shape, and the line of sight parts from the straight line on the map by no more than
``dN (2 E1 + E2) / (6 R^2)`` (the arc-to-chord correction, DMA TM 8358.2, from memory; E from the central meridian): for
lines of 3 km within 3 km of it 1.1e-7 radian, which moves these places by under a millimetre.
"""

import math

import pytest

from published import rows
from threenorths_service.navmath.errors import DangerCircleError
from threenorths_service.navmath.grids.grid import convergence_and_scale, from_grid, to_grid
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight

ZONE = 33
RESECTIONS = {row["id"]: row for row in rows("resection_examples")}
SURVEY = {row["id"]: row for row in rows("survey_examples")}
ARC_TO_CHORD_M = 1e-3


def on_the_grid(east, north, centre=(0.0, 0.0), south=False):
    """The place at plane coordinates whose centre is put on the central meridian, far north or far south."""
    northing = 7_000_000.0 if not south else 6_000_000.0
    lat, lon = from_grid(ZONE, south, 500_000.0 + east - centre[0], northing + north - centre[1])
    return float(lat), float(lon)


def plane_coordinates(fix, centre=(0.0, 0.0), south=False):
    grid = to_grid(fix.lat_deg, fix.lon_deg, ZONE, south)
    northing = 7_000_000.0 if not south else 6_000_000.0
    return float(grid.easting_m) - 500_000.0 + centre[0], float(grid.northing_m) - northing + centre[1]


def dms(degrees, minutes, seconds):
    return degrees + minutes / 60 + seconds / 3600


@pytest.mark.parametrize("south", [False, True], ids=["north", "south"])
@pytest.mark.parametrize("turned_deg", [0.0, 40.0, -170.0])
def test_the_three_point_resection_from_angles_alone(turned_deg, south):
    # Ferris State University SURE 215: row tienstra-1. The angles BPC 115 05 20 and APB 109 30 45; P to 1e-4.
    assert "115 05 20" in RESECTIONS["tienstra-1"]["observed"]
    assert "2128.3903, 5578.1443" in RESECTIONS["tienstra-1"]["expected"]
    centre = (2100.0, 5600.0)
    marks = [on_the_grid(*mark, centre, south) for mark in ((1000, 5300), (2200, 6300), (3100, 5000))]
    first = turned_deg + 250.0  # any bearing to A: only the angles count
    bearings = (first, first + dms(109, 30, 45), first + dms(109, 30, 45) + dms(115, 5, 20))
    sights = [Sight(*mark, bearing % 360.0, 0.01) for mark, bearing in zip(marks, bearings, strict=True)]
    fix = resect(sights, "grid", zone=ZONE, south=south, solve_compass_error=True)
    assert plane_coordinates(fix, centre, south) == pytest.approx(
        (2128.3903, 5578.1443), abs=1e-4 + ARC_TO_CHORD_M
    )


SYNTHETIC = {
    "synthetic-1": (
        ((500000, 4000000), (501200, 4001500), (503000, 4000200)),
        (258.690067526, 345.963756532, 93.814074834),
        (501500, 4000300),
    ),
    "synthetic-3": (
        ((0, 0), (0, 1000), (1000, 1000)),
        (255.963756532, 284.036243468, 296.565051177),
        (2000, 500),
    ),
}


@pytest.mark.parametrize("case", SYNTHETIC, ids=SYNTHETIC)
@pytest.mark.parametrize("count", [2, 3])
@pytest.mark.parametrize("solve", [False, True], ids=["azimuths", "angles"])
def test_the_constructed_resections(case, count, solve):
    marks, azimuths, place = SYNTHETIC[case]
    assert all(str(azimuth) in RESECTIONS[case]["observed"] for azimuth in azimuths)
    if solve and count == 2:
        return
    turned = 7.5 if solve else 0.0
    sights = [
        Sight(*on_the_grid(*mark, place), (azimuth + turned) % 360.0, 0.1)
        for mark, azimuth in list(zip(marks, azimuths, strict=True))[:count]
    ]
    fix = resect(sights, "grid", zone=ZONE, south=False, solve_compass_error=solve)
    # Angles alone are weaker: the marks of synthetic-3 span 41 degrees, and carry the correction ten times as far.
    assert plane_coordinates(fix, place) == pytest.approx(place, abs=ARC_TO_CHORD_M * (10 if solve else 1))
    if solve:
        assert fix.compass_error_deg == pytest.approx(turned, abs=1e-4)


def test_the_danger_circle_of_the_text():
    # Row danger-circle: A(0,0) B(100,0) C(100,100) and P=(0,100) on their circle, in hundreds of metres here.
    assert "P=(0,100)" in RESECTIONS["danger-circle"]["observed"]
    marks = [on_the_grid(*mark, (5000, 5000)) for mark in ((0, 0), (10000, 0), (10000, 10000))]
    sights = [Sight(*mark, azimuth, 0.5) for mark, azimuth in zip(marks, (180.0, 135.0, 90.0), strict=True)]
    with pytest.raises(DangerCircleError):
        resect(sights, "grid", zone=ZONE, south=False, solve_compass_error=True)


def test_the_bearing_bearing_intersection():
    # J. Mahun, Open Access Surveying Library, COGO: row mahun-LR. Feet, taken for metres: the figure is the same.
    assert "N 836.445 E 1450.051" in SURVEY["mahun-LR"]["expected"]
    centre = (1700.0, 800.0)
    stations = (((2000.0, 1000.0), dms(253, 26, 15)), ((1811.082, 480.951), dms(314, 33, 26)))
    sights = [Sight(*on_the_grid(*place, centre), azimuth, 0.01) for place, azimuth in stations]
    fix = intersect(sights, "grid", zone=ZONE, south=False)
    # Stations and azimuths to 0.001 and 1 second: half of those move the crossing by up to 0.002.
    assert plane_coordinates(fix, centre) == pytest.approx((1450.051, 836.445), abs=2.5e-3)
    scale = float(convergence_and_scale(fix.lat_deg, fix.lon_deg)[1])
    assert fix.distances_m[0] * scale == pytest.approx(573.754, abs=2.5e-3)


def test_the_handbook_s_resection_by_back_azimuths():
    # FM 21-26, para 6-10: a magnetic azimuth to a known point, turned to grid, turned about, and drawn from the point.
    # With a G-M angle of 9 degrees east, 190 magnetic is 199 grid, and its back azimuth 19.
    grid_magnetic_deg, distance_m = 9.0, 3000.0
    place = (0.0, 0.0)
    sights = []
    for magnetic in (190.0, 95.0):
        grid = math.radians(magnetic + grid_magnetic_deg)
        mark = (distance_m * math.sin(grid), distance_m * math.cos(grid))
        sights.append(Sight(*on_the_grid(*mark), magnetic + grid_magnetic_deg, 1.0))
    fix = resect(sights, "grid", zone=ZONE, south=False)
    assert plane_coordinates(fix) == pytest.approx(place, abs=ARC_TO_CHORD_M)
