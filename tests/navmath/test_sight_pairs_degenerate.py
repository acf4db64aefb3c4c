"""Pairs of sights that are degenerate, hard or wrongly given are not plain, and disturb no row beside them."""

import numpy as np
import pytest

from sight_pair_rows import PAIRS_OF, joined, ordinary_pairs, pairs_seen, single_fix
from threenorths_service.navmath.errors import (
    CoincidentPointsError,
    DateMissingError,
    DateOutsideModelError,
    MagneticUselessError,
    OutOfRangeError,
    OutsideGridError,
    ParallelSightsError,
    SightsCrossBehindError,
    UnknownGridError,
)
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.pair_trust import CURVED_OUTLINE, LONG_BY_ALL_ERRORS, LONG_ELLIPSE
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight_pairs import NO_ZONE, intersect_pairs, resect_pairs

OPERATIONS = pytest.mark.parametrize("operation", [intersect, resect], ids=["intersection", "resection"])
YEAR = np.array([2026.0])


def one(
    operation, north="true", place=(47.0, 11.0), polar=((10, 3000), (100, 4000)), sd_deg=1.0, place_sd_m=0.0
):
    """A pair of perfect sights between a place and two known ones at azimuths and distances."""
    azimuth, distance_m = np.array(polar, dtype=float).T[:, :, None]
    lat, lon = np.array(place, dtype=float)[:, None]
    sd = np.broadcast_to(np.atleast_1d(sd_deg).reshape(-1, 1), (2, 1))
    return pairs_seen(operation, north, lat, lon, azimuth, distance_m, sd, place_sd_m, YEAR)


def turned(pairs, sight, by_deg):
    bearing = pairs["bearing_deg"].copy()
    bearing[0, sight] = (bearing[0, sight] + by_deg) % 360.0
    return pairs | {"bearing_deg": bearing}


def with_value(pairs, name, value):
    column = pairs[name].copy()
    column[0, 1] = value
    return pairs | {name: column}


def known_place_twice(operation):
    pairs = one(operation)
    for name in ("lat_deg", "lon_deg"):
        pairs = with_value(pairs, name, pairs[name][0, 0])
    return pairs


def grid_of(operation, zone):
    shape = (1, 2) if operation is intersect else (1,)
    return {"north": "grid", "zone": np.full(shape, zone), "south": np.zeros(shape, dtype=bool)}


#: What makes a row of an operation, and the error that the single function names; `None` where it has an answer.
DEGENERATE = {
    "parallel": (lambda op: one(op, polar=((10, 3000), (10.5, 5000))), ParallelSightsError),
    "face_to_face": (lambda op: one(op, polar=((10, 3000), (190.2, 5000))), ParallelSightsError),
    "reversed": (lambda op: turned(one(op), 1, 180.0), SightsCrossBehindError),
    "both_reversed": (lambda op: turned(turned(one(op), 0, 180.0), 1, 180.0), SightsCrossBehindError),
    "known_place_twice": (known_place_twice, CoincidentPointsError),
    "meets_at_known_place": (lambda op: one(op, polar=((10, 0.0005), (100, 4000))), CoincidentPointsError),
    "nan": (lambda op: with_value(one(op, "magnetic"), "lat_deg", np.nan), OutOfRangeError),
    "latitude": (lambda op: with_value(one(op), "lat_deg", 90.1), OutOfRangeError),
    "longitude": (lambda op: with_value(one(op), "lon_deg", -181.0), OutOfRangeError),
    "bearing": (lambda op: with_value(one(op), "bearing_deg", 361.0), OutOfRangeError),
    "sd_of_nothing": (lambda op: with_value(one(op), "sd_deg", 0.0), OutOfRangeError),
    "sd_too_wide": (lambda op: with_value(one(op), "sd_deg", 46.0), OutOfRangeError),
    "date_missing": (lambda op: one(op, "magnetic") | {"decimal_year": None}, DateMissingError),
    "date_outside": (
        lambda op: one(op, "magnetic") | {"decimal_year": np.array([2031.0])},
        DateOutsideModelError,
    ),
    "magnetic_pole": (lambda op: one(op, "magnetic", (85.8, 139.3)), MagneticUselessError),
    "no_such_grid": (lambda op: one(op) | grid_of(op, 1500), UnknownGridError),
    "grid_beyond_reach": (lambda op: one(op) | grid_of(op, 50), OutsideGridError),
    "national_grid_beyond_reach": (lambda op: one(op) | grid_of(op, 27700), OutsideGridError),
    "very_flat": (lambda op: one(op, polar=((10, 3000), (10.9, 5000)), sd_deg=0.01), None),
    "very_far": (lambda op: one(op, polar=((10, 900_000), (100, 700_000))), None),
    "very_near": (lambda op: one(op, polar=((10, 5), (100, 400))), None),
    "near_a_pole": (lambda op: one(op, place=(89.95, 20.0)), None),
    "round_ellipse": (lambda op: one(op, polar=((10, 3000), (100, 3000))), None),
}


@OPERATIONS
@pytest.mark.parametrize(("row", "error"), DEGENERATE.values(), ids=DEGENERATE)
def test_such_a_row_is_not_plain_and_disturbs_none_beside_it(operation, row, error):
    bad = row(operation)
    if error is None:
        single_fix(operation, bad, 0)
    else:
        with pytest.raises(error):
            single_fix(operation, bad, 0)
    good = ordinary_pairs(np.random.default_rng(8), 20, operation, bad["north"], bad["zone"] is not None)
    if bad["decimal_year"] is None:
        good = good | {"decimal_year": None}
    fixes = PAIRS_OF[operation](**joined(good, bad, good))
    assert not fixes.plain[20]
    assert np.isnan([fixes.lat_deg[20], fixes.ellipse.semi_major_m[20], *fixes.residuals_deg[20]]).all()
    alone = PAIRS_OF[operation](**good)
    for part in (slice(0, 20), slice(21, 41)):
        assert (fixes.plain[part] == alone.plain).all()
        # The last digit may move with the number of rows.
        np.testing.assert_allclose(fixes.lat_deg[part], alone.lat_deg, rtol=1e-13)
        np.testing.assert_allclose(fixes.covariance_m2[part], alone.covariance_m2, rtol=1e-6)


def test_a_negative_square_is_not_plain():
    # The single functions do not look: `Sight` is made by us. A column may come from anywhere.
    assert not intersect_pairs(**with_value(one(intersect), "place_sd_m", -1.0)).plain[0]


def test_a_resection_whose_zone_is_in_doubt_is_not_plain():
    pairs = one(resect, "grid", (60.0, 11.99), ((20, 3000), (80, 8000)), sd_deg=3.0)
    assert "zone_in_doubt" in [each.code for each in single_fix(resect, pairs, 0).cautions]
    assert not resect_pairs(**pairs).plain[0]
    # With the zone named there is no doubt.
    assert resect_pairs(**pairs | {"zone": np.array([32])}).plain[0]


#: Rows with each caution that depends on numbers: what makes them, the codes in order, and the code of weak geometry.
CAUTIONED = {
    "none": (lambda op: one(op), ["no_check"], 0),
    "flat_crossing": (
        lambda op: one(op, polar=((10, 3000), (30, 3500)), sd_deg=0.1),
        ["flat_crossing", "no_check"],
        0,
    ),
    "long_ellipse": (
        lambda op: one(op, polar=((10, 1000), (100, 24_000)), sd_deg=1.5),
        ["no_check", "weak_geometry"],
        LONG_ELLIPSE,
    ),
    "curved_outline": (
        lambda op: one(op, polar=((10, 3000), (50, 3500)), sd_deg=4.0),
        ["no_check", "weak_geometry"],
        CURVED_OUTLINE,
    ),
    "coarse_reference": (
        lambda op: one(op, sd_deg=0.5, place_sd_m=np.array([[2.9], [290.0]])),
        ["no_check", "coarse_reference"],
        0,
    ),
    # The declination is known to 3.5 degrees there, the sights to less.
    "long_by_declination": (
        lambda op: one(
            op, "magnetic", (84.0, 165.0), ((10, 3000), (157, 3500)), 0.3, np.array([[0.0], [29.0]])
        ),
        ["no_check", "coarse_reference", "weak_geometry"],
        LONG_BY_ALL_ERRORS,
    ),
}


@OPERATIONS
@pytest.mark.parametrize(("row", "codes", "weak"), CAUTIONED.values(), ids=CAUTIONED)
def test_each_caution_is_told_in_the_single_function_s_words(operation, row, codes, weak):
    pairs = row(operation)
    fixes, fix = PAIRS_OF[operation](**pairs), single_fix(operation, pairs, 0)
    assert fixes.plain[0]
    assert [each.code for each in fix.cautions] == codes
    assert fixes.cautions_of(0) == fix.cautions
    assert fixes.weak_geometry[0] == weak
    assert fixes.flat_crossing[0] == ("flat_crossing" in codes)
    assert fixes.coarse[0].any() == ("coarse_reference" in codes)


@pytest.mark.parametrize("pairs_of", [intersect_pairs, resect_pairs])
@pytest.mark.parametrize("north", ["true", "grid", "magnetic"])
def test_no_rows_have_no_answers(pairs_of, north):
    none = np.empty((0, 2))
    fixes = pairs_of(none, none, none, none, none, north, np.empty(0))
    assert fixes.plain.shape == (0,)
    assert fixes.covariance_m2.shape == (0, 2, 2)
    assert fixes.sd_deg.shape == (0, 2)


@OPERATIONS
def test_one_number_stands_for_all_rows(operation):
    pairs = ordinary_pairs(np.random.default_rng(9), 30, operation, "magnetic")
    columns = pairs | {
        "sd_deg": np.ones((30, 2)),
        "place_sd_m": np.zeros((30, 2)),
        "decimal_year": np.full(30, 2026.5),
    }
    whole = PAIRS_OF[operation](**columns)
    short = PAIRS_OF[operation](**pairs | {"sd_deg": 1.0, "place_sd_m": 0.0, "decimal_year": 2026.5})
    assert whole.plain.any()
    np.testing.assert_array_equal(whole.covariance_m2, short.covariance_m2)


@OPERATIONS
def test_a_zone_that_is_not_given_is_the_row_s_own(operation):
    pairs = ordinary_pairs(np.random.default_rng(10), 200, operation, "grid", named=True)
    unnamed = pairs | {"zone": None, "south": None}
    half = np.arange(200) % 2 == 0
    mixed = pairs | {
        "zone": np.where(half.reshape(-1, *[1] * (pairs["zone"].ndim - 1)), pairs["zone"], NO_ZONE)
    }
    named, own, both = (PAIRS_OF[operation](**each) for each in (pairs, unnamed, mixed))
    np.testing.assert_allclose(both.lat_deg, np.where(half, named.lat_deg, own.lat_deg), rtol=1e-13)
    if operation is resect:
        assert (both.grid_zone == np.where(half, NO_ZONE, own.grid_zone)).all()
        assert (own.grid_zone[own.plain] > 0).all()


def test_without_a_zone_the_hemisphere_beside_it_says_nothing():
    # On UPS South a place at 82 S; the false that stands in for its hemisphere is that of UPS North.
    pairs = one(intersect, "grid", (-82.0, 40.0))
    stand_in = pairs | {"zone": np.full((1, 2), NO_ZONE), "south": np.zeros((1, 2), dtype=bool)}
    fixes = intersect_pairs(**stand_in)
    assert fixes.plain[0]
    assert fixes.lat_deg[0] == pytest.approx(-82.0, abs=1e-9)


@pytest.mark.parametrize("pairs_of", [intersect_pairs, resect_pairs])
def test_what_cannot_be_meant_is_refused(pairs_of):
    three = np.ones((4, 3))
    with pytest.raises(ValueError, match="shape"):
        pairs_of(three, three, three, three, three, "true")
    two = np.ones((4, 2))
    with pytest.raises(ValueError, match="north must be"):
        pairs_of(two, two, two, two, two, "south")
