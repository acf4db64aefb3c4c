"""Pairs of sights in rows: each row that is called plain has the single functions' answer, member by member.

THREENORTHS_FUZZ_FIXES says how many rows of each kind are compared; 3000 where it is not set.
"""

import os

import numpy as np
import pytest

from sight_pair_rows import (
    PAIRS_OF,
    all_sorts_of_pairs,
    ordinary_pairs,
    pairs_at_zone_edges,
    pairs_seen,
    row_of,
    single_fix,
)
from threenorths_service.navmath.errors import NavigationError
from threenorths_service.navmath.grids.grid import zone_of
from threenorths_service.navmath.lines.geodesic import inverse
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight_pairs import NO_ZONE

ROWS = int(os.environ.get("THREENORTHS_FUZZ_FIXES", "3000"))

OPERATIONS = pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
NORTHS = pytest.mark.parametrize(
    ("north", "named"),
    [("true", False), ("grid", False), ("grid", True), ("magnetic", False)],
    ids=["true", "own_grid", "named_grid", "magnetic"],
)


def check_plain_rows(operation, pairs, more_blur=0.0):
    """Compare each plain row with the single answer; the share of rows that are plain."""
    fixes = PAIRS_OF[operation](**pairs)
    for row in np.flatnonzero(fixes.plain).tolist():
        check_row(fixes, row, single_fix(operation, pairs, row), more_blur)
    return float(np.mean(fixes.plain))


def check_row(fixes, row, fix, more_blur=0.0):
    shortest_m = fix.distances_m.min()
    # The single adjustment settles to 0.02 mm and takes one step more; with nanometres of the last digits of places, which
    # a crossing of a degree makes 57 times as much, and what the last step may be off by, under a micrometre.
    assert inverse(fix.lat_deg, fix.lon_deg, fixes.lat_deg[row], fixes.lon_deg[row])[2] < 1e-6
    np.testing.assert_allclose(fixes.distances_m[row], fix.distances_m, rtol=0, atol=1e-6)
    # A micrometre turns a sight by as much of a radian over its length.
    turned_deg = np.degrees(1e-6 / shortest_m)
    np.testing.assert_allclose(fixes.residuals_deg[row], fix.residuals_deg, rtol=0, atol=turned_deg)
    assert fixes.crossing_angle_deg[row] == pytest.approx(fix.crossing_angle_deg, abs=2 * turned_deg)
    # The turn by a known place's square is its size over a distance that is a micrometre off.
    np.testing.assert_allclose(fixes.sd_deg[row], fix.sd_deg, rtol=1e-6 / shortest_m + 1e-12)
    # The single derivatives are differences over twice 3e-4 of the shortest sight, between places whose last digits are
    # 1.6 nm: 4e-6 of a sight of a metre, and twice that; over 400 km the earth's bend leaves 3e-8; flat crossings amplify.
    blur = (3e-8 + 8e-6 / shortest_m + more_blur) / np.sin(np.radians(fix.crossing_angle_deg))
    major_m, minor_m = fix.ellipse.semi_major_m, fix.ellipse.semi_minor_m
    assert fixes.ellipse.semi_major_m[row] == pytest.approx(major_m, rel=blur)
    assert fixes.ellipse.semi_minor_m[row] == pytest.approx(minor_m, abs=blur * major_m)
    np.testing.assert_allclose(
        fixes.covariance_m2[row], fix.covariance_m2, rtol=0, atol=2 * blur * np.trace(fix.covariance_m2)
    )
    # A covariance that is off turns the axes by as much over the difference of its eigenvalues.
    axes_off = abs(fixes.ellipse.major_axis_azimuth_deg[row] - fix.ellipse.major_axis_azimuth_deg)
    turned = 2 * blur * (major_m**2 + minor_m**2) / (major_m**2 - minor_m**2)
    assert min(axes_off, 180 - axes_off) < np.degrees(turned)
    assert fixes.ellipse.confidence == fix.ellipse.confidence
    assert fixes.cautions_of(row) == fix.cautions
    assert fixes.grid_zone[row] == (NO_ZONE if fix.grid_zone is None else fix.grid_zone)
    assert (fix.degrees_of_freedom, fix.variance_factor, fix.compass_error_deg) == (0, None, None)


@OPERATIONS
@NORTHS
def test_ordinary_rows_are_plain_and_have_the_single_answer(operation, north, named):
    pairs = ordinary_pairs(np.random.default_rng(1), ROWS // 8, operation, north, named)
    assert check_plain_rows(operation, pairs) > 0.95


@OPERATIONS
@NORTHS
def test_what_is_plain_among_all_sorts_of_rows_has_the_single_answer(operation, north, named):
    pairs = all_sorts_of_pairs(np.random.default_rng(2), ROWS // 8, operation, north, named)
    assert check_plain_rows(operation, pairs) > 0.4


def test_at_the_edges_of_zones_a_plain_resection_has_found_the_single_zone():
    pairs = pairs_at_zone_edges(np.random.default_rng(3), ROWS // 4, resect, "grid")
    assert check_plain_rows(resect, pairs) > 0.4
    fixes = PAIRS_OF[resect](**pairs)
    of_mark = zone_of(pairs["lat_deg"], pairs["lon_deg"])
    # Some were found on the grid of neither mark, and some on that of the second.
    plain = fixes.plain & (fixes.grid_zone != of_mark[:, 0])
    assert np.any(plain & (fixes.grid_zone == of_mark[:, 1]))
    assert np.any(plain & (fixes.grid_zone != of_mark[:, 1]))


@OPERATIONS
@pytest.mark.parametrize(("code", "lat", "lon"), [(2056, 46.9, 8.2), (27700, 53.0, -2.0), (3067, 65.0, 26.0)])
def test_on_national_grids_a_plain_row_has_the_single_answer(operation, code, lat, lon):
    rng, count = np.random.default_rng(4), 40
    polar = rng.uniform(0, 120, count), 10 ** rng.uniform(2.7, 4, (2, count))
    zone = np.full(count, code) if operation is resect else np.full((2, count), code)
    pairs = pairs_seen(
        operation,
        "grid",
        lat + rng.uniform(-0.3, 0.3, count),
        lon + rng.uniform(-0.3, 0.3, count),
        np.stack((polar[0], polar[0] + rng.uniform(30, 150, count))),
        polar[1],
        0.5,
        0.0,
        np.full(count, 2026.0),
        zone,
        np.zeros(zone.shape, dtype=bool),
        rng,
    )
    # Their convergence is a difference itself, to 1e-10 degree: over twice 3e-4 of a sight, beside one 20 times as long.
    more_blur = np.radians(1e-10) / 6e-4 * 20.0
    assert check_plain_rows(operation, pairs, more_blur) > 0.9


#: Rows that once were called plain and were not: known places, bearings, standard deviations, squares; and the north.
MISTAKEN = {
    # A narrow ellipse of 21 km, along whose axis the meridians turn by more than the finer sight's standard deviation.
    "narrow_ellipse": (
        (-42.07820752, -38.69520974),
        (-134.91567062, -135.09934859),
        (225.55973393, 312.41958433),
        (1.84429702, 0.00355454),
        (32.24267455, 0.0),
        "true",
    ),
    # The fix on the zone next door is weighed with the squares as seen from this fix, and then touches its zone.
    "zone_next_door": (
        (20.05457456, 22.26312674),
        (101.93977915, 100.35333184),
        (205.70360745, 325.10311627),
        (0.00248971, 0.00266102),
        (22.98786736, 156.75058543),
        "grid",
    ),
}


@pytest.mark.parametrize("mistaken", MISTAKEN.values(), ids=MISTAKEN)
def test_rows_that_were_mistaken_for_plain(mistaken):
    *columns, north = mistaken
    names = ("lat_deg", "lon_deg", "bearing_deg", "sd_deg", "place_sd_m")
    pairs = dict(zip(names, (np.array([column]) for column in columns), strict=True))
    check_plain_rows(resect, pairs | {"north": north, "decimal_year": None, "zone": None, "south": None})


@OPERATIONS
@NORTHS
def test_a_row_among_many_is_as_it_is_alone(operation, north, named):
    pairs = all_sorts_of_pairs(np.random.default_rng(5), 60, operation, north, named)
    fixes = PAIRS_OF[operation](**pairs)
    for row in range(60):
        alone = PAIRS_OF[operation](**row_of(pairs, row))
        assert alone.plain[0] == fixes.plain[row]
        # Sines and matrix products of many numbers may differ in their last digit from those of few.
        for name in ("lat_deg", "lon_deg", "covariance_m2", "distances_m", "sd_deg"):
            np.testing.assert_allclose(
                getattr(alone, name)[0], getattr(fixes, name)[row], rtol=1e-6, atol=1e-10
            )


@OPERATIONS
def test_where_the_single_function_names_an_error_the_row_is_not_plain(operation):
    pairs = all_sorts_of_pairs(np.random.default_rng(6), 400, operation, "magnetic")
    plain, refused = PAIRS_OF[operation](**pairs).plain, 0
    for row in range(400):
        try:
            single_fix(operation, pairs, row)
        except NavigationError:
            refused += 1
            assert not plain[row]
    assert refused > 40
