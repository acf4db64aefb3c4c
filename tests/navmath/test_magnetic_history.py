"""The IGRF-14 against published values and a library, where it joins, and how it and the WMM2025 are chosen between."""

from __future__ import annotations

import datetime
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.angle import normalise_signed
from threenorths_service.navmath.errors import DateOutsideModelError
from threenorths_service.navmath.magnetism.magnetic import (
    MODELS,
    MagneticField,
    check_date,
    core_sd,
    declination_at,
    declination_sd,
    field_at,
    in_model,
    model_at,
)
from threenorths_service.navmath.magnetism.magnetic_choice import choice_of
from threenorths_service.navmath.magnetism.magnetic_synthesis import (
    CHUNK_ROWS,
    REFERENCE_RADIUS_M,
    local_vectors,
)

TABLE = rows("igrf14_test_values")
GEOCENTRIC = [row for row in TABLE if row["frame"] == "geocentric"]
GEODETIC = [row for row in TABLE if row["frame"] == "geodetic"]
LIBRARY = rows("igrf14_ppigrf_values")

VECTOR = ("north_nt", "east_nt", "down_nt")
KNOTS = np.arange(1900.0, 2031.0, 5.0)

# Printed to 0.01 nT, and found to be reproduced to 0.010 by whoever took the rows: half the last digit and that.
GEOCENTRIC_TOLERANCE_NT = 0.015
# As the table's own column of digits says. What we find is one factor in all its rows, as of a reference radius 2.5 m
# smaller, and 0.011 nT around that; neither the geocentric rows nor the library have it. Its cause was not found.
GEODETIC_TOLERANCE_NT = 0.1
# Printed to 0.001 nT; the library's turn between geodetic and geocentric is off by some 1e-8, which is 0.0004 nT.
LIBRARY_TOLERANCE_NT = 1e-3

latitudes = st.floats(-90, 90)
longitudes = st.floats(-180, 180)
years = st.floats(1900, 2030)


def vectors_at(*columns):
    """North, east and down by the IGRF, with none of the limits of height that `field_at` keeps to."""
    places = np.array(columns)
    choice = choice_of("IGRF-14")
    stretch = choice.stretch_of(places[2], places[2].min(), places[2].max())
    return local_vectors(places, choice.stretches, stretch, wanted=1)[0]


def columns_of(table, *names):
    return np.array([[float(row[name]) for name in names] for row in table]).T


def geocentric_vector(row):
    """North, east and down on the sphere."""
    colatitude, lon = np.radians(float(row["colatitude_deg"])), np.radians(float(row["lon_deg"]))
    radius = 1000 * float(row["radius_km_or_height_km"]) / REFERENCE_RADIUS_M
    out = np.array([np.sin(colatitude) * np.cos(lon), np.sin(colatitude) * np.sin(lon), np.cos(colatitude)])
    south = np.array(
        [np.cos(colatitude) * np.cos(lon), np.cos(colatitude) * np.sin(lon), -np.sin(colatitude)]
    )
    east = np.array([-np.sin(lon), np.cos(lon), 0.0])
    year = np.array([float(row["date_decimal_year"])])
    choice = choice_of("IGRF-14")
    stretch = choice.stretches[choice.stretch_of(year, year[0], year[0])]
    harmonics = stretch.harmonics_of(1).at(*(radius * out)[:, np.newaxis])
    along_axes = stretch.along_axes(harmonics, year)[0, :, 0]
    return np.array([-south @ along_axes, east @ along_axes, -out @ along_axes])


def test_the_tables_are_there():
    assert (len(GEOCENTRIC), len(GEODETIC), len(LIBRARY)) == (12, 63, 164)


@pytest.mark.parametrize("row", GEOCENTRIC, ids=lambda row: row["date_decimal_year"])
def test_the_geocentric_values_of_the_british_geological_survey(row):
    published = [float(row[name]) for name in ("X_nT", "Y_nT", "Z_nT")]
    assert geocentric_vector(row) == pytest.approx(published, abs=GEOCENTRIC_TOLERANCE_NT)


def test_the_geodetic_values_of_the_official_program():
    colatitude, lon, year, height_km = columns_of(
        GEODETIC, "colatitude_deg", "lon_deg", "date_decimal_year", "radius_km_or_height_km"
    )
    published = columns_of(GEODETIC, "X_nT", "Y_nT", "Z_nT", "F_nT")
    ours = vectors_at(90 - colatitude, lon, year, 1000 * height_km)
    ours = np.vstack((ours, np.linalg.norm(ours, axis=0)))
    assert np.abs(ours - published).max() < GEODETIC_TOLERANCE_NT


def test_values_of_a_library_all_over_the_world_and_the_century():
    # 2,000 more rows, not kept here, agreed as well: to 0.0004 nT, and in the east component to 6e-11.
    lat, lon, year, height_km = columns_of(
        LIBRARY, "lat_deg", "lon_deg", "decimal_year", "height_km_ellipsoid"
    )
    field = field_at(lat, lon, year, 1000 * height_km, "IGRF-14")
    theirs = columns_of(LIBRARY, "X_nT", "Y_nT", "Z_nT")
    for name, values in zip(VECTOR, theirs, strict=True):
        assert np.abs(getattr(field, name) - values).max() < LIBRARY_TOLERANCE_NT
    assert lat.min() < -85
    assert lat.max() > 85


@pytest.mark.parametrize("pole", [90.0, -90.0])
def test_at_a_pole_the_field_is_one_vector_whatever_meridian_it_is_seen_from(pole):
    lon = np.array([0.0, 45.0, 90.0, 180.0, -90.0, -180.0, 359.0])
    for year in (1900.0, 1947.3, 1996.0, 2024.9):
        at, near = (field_at(lat, lon, year) for lat in (pole, pole * (1 - 1e-9 / 90)))
        turn = np.radians(lon) * np.sign(pole)
        north, east = at.north_nt[0], at.east_nt[0]
        assert at.north_nt == pytest.approx(north * np.cos(turn) - east * np.sin(turn), abs=1e-9)
        assert at.east_nt == pytest.approx(east * np.cos(turn) + north * np.sin(turn), abs=1e-9)
        # The field changes by under 0.1 nT a metre anywhere; 1e-9 degree of latitude is 0.1 mm.
        for name in VECTOR:
            assert getattr(near, name) == pytest.approx(getattr(at, name), abs=1e-4)


@pytest.mark.parametrize("knot", KNOTS[1:-1])
def test_nothing_jumps_where_one_model_of_the_igrf_hands_over_to_the_next(knot):
    lat, lon = np.linspace(-90, 90, 40), np.linspace(-180, 180, 40)
    before, at = field_at(lat, lon, knot - 1e-6, 0.0, "IGRF-14"), field_at(lat, lon, knot, 0.0, "IGRF-14")
    # The field changes by under 300 nT a year anywhere.
    for name in VECTOR:
        assert np.abs(getattr(at, name) - getattr(before, name)).max() < 3e-4


@given(latitudes, longitudes, st.sampled_from(list(pairwise(KNOTS))), st.floats(0, 1))
def test_between_two_models_the_field_changes_evenly_with_the_decimal_year(lat, lon, knots, part):
    first, last = knots
    year = first + part * (last - first)
    ends = field_at(lat, lon, np.array(knots), 0.0, "IGRF-14")
    between = field_at(lat, lon, year, 0.0, "IGRF-14")
    for name in VECTOR:
        at_first, at_last = getattr(ends, name)
        assert getattr(between, name) == pytest.approx(at_first + part * (at_last - at_first), abs=1e-7)


@given(latitudes, longitudes, st.sampled_from(list(KNOTS[:-1])), st.floats(0, 4.99))
def test_the_annual_change_is_that_of_the_five_years_that_the_date_lies_in(lat, lon, knot, within):
    field = field_at(lat, lon, knot + within, 0.0, "IGRF-14")
    ends = field_at(lat, lon, np.array([knot, knot + 5]), 0.0, "IGRF-14")
    for name in VECTOR:
        at_first, at_last = getattr(ends, name)
        change = getattr(field, name.replace("_nt", "_change_nt"))
        assert change == pytest.approx((at_last - at_first) / 5, abs=1e-7)


def test_each_date_is_of_its_own_model():
    year = np.array([[1900.0, 1999.5], [np.nextafter(2025.0, 0), 2025.0], [2026.3, 2030.0]])
    assert model_at(year).tolist() == [["IGRF-14", "IGRF-14"], ["IGRF-14", "WMM2025"], ["WMM2025", "WMM2025"]]
    assert str(model_at(1987.0)) == "IGRF-14"
    together = field_at(47.0, 8.0, year, 400.0)
    for place in np.ndindex(year.shape):
        named = field_at(47.0, 8.0, year[place], 400.0, str(model_at(year[place])))
        for name in MagneticField.__slots__:
            # Rows of one chunk are summed in another order alone than among others.
            assert getattr(together, name)[place] == pytest.approx(getattr(named, name), abs=1e-9)


def test_no_year_is_of_two_stretches():
    for model in (None, *MODELS):
        assert (np.diff(choice_of(model).stretch_years) > 0).all()


def test_a_name_is_kept_to():
    by_date, by_name = (field_at(47.0, 8.0, 2027.0, 0.0, model) for model in (None, "IGRF-14"))
    assert by_date.north_nt != by_name.north_nt
    assert field_at(47.0, 8.0, 2027.0, 0.0, "WMM2025") == by_date
    assert declination_at(47.0, 8.0, 2027.0, 0.0, "IGRF-14") == by_name.declination_deg
    with pytest.raises(KeyError):
        field_at(47.0, 8.0, 2027.0, 0.0, "WMM2020")


def test_thousands_of_rows_of_all_years_in_any_order_keep_their_own_place_and_date():
    random = np.random.default_rng(4)
    count = 30 * CHUNK_ROWS
    lat, lon = random.uniform(-90, 90, count), random.uniform(-180, 180, count)
    year, height = random.uniform(1900, 2030, count), random.uniform(-1_000, 850_000, count)
    field = field_at(lat, lon, year, height)
    for row in random.integers(0, count, 60):
        alone = field_at(lat[row], lon[row], year[row], height[row])
        for name in MagneticField.__slots__:
            assert getattr(field, name)[row] == pytest.approx(getattr(alone, name), abs=1e-8)


def test_the_two_models_agree_within_their_standard_deviations_while_both_hold():
    random = np.random.default_rng(5)
    lat = np.degrees(np.arcsin(random.uniform(-1, 1, 5_000)))
    lon, year = random.uniform(-180, 180, 5_000), random.uniform(2025, 2030, 5_000)
    wmm, igrf = (field_at(lat, lon, year, 0.0, model) for model in ("WMM2025", "IGRF-14"))
    apart = np.abs(normalise_signed(wmm.declination_deg - igrf.declination_deg))
    # Both are models of the same core: they are far nearer to each other than to the rock and storms around a compass.
    assert (apart < 0.5 * wmm.declination_sd_deg).all()
    usual = wmm.horizontal_nt > 6000
    assert apart[usual].max() < 0.5


@given(st.floats(0, 60_000), years)
def test_a_declination_of_the_igrf_is_never_said_to_be_surer_than_one_of_the_wmm(horizontal, year):
    assert declination_sd(horizontal, year, "IGRF-14") >= declination_sd(horizontal, 2027.0, "WMM2025")


@given(st.floats(0, 60_000), years, years)
def test_the_further_back_the_less_sure(horizontal, one, other):
    earlier, later = sorted((one, other))
    assert declination_sd(horizontal, earlier) >= declination_sd(horizontal, later)
    assert core_sd(horizontal, earlier) >= core_sd(horizontal, later)
    assert core_sd(horizontal, earlier) <= declination_sd(horizontal, earlier)


@pytest.mark.parametrize(
    ("year", "across_nt"),
    [
        (1900.0, np.hypot(136, 200)),
        (1945.0, np.hypot(136, 150)),
        (1962.5, np.hypot(136, 75)),
        (1980.0, 136),
        (2024.0, 136),
    ],
)
def test_the_standard_deviation_before_2025(year, across_nt):
    # 136 nT: C. D. Beggan, 2022, doi:10.1186/s40623-022-01572-y. The rest is ours: magnetic_coefficients says why.
    assert declination_sd(20_000.0, year) == pytest.approx(np.hypot(0.26, np.degrees(across_nt) / 20_000))


def test_the_standard_deviation_covers_the_one_that_was_found_on_the_ground():
    # "0.39" degrees in declination, for the whole world's stations of 1980 to 2021 together: table 1 of the same paper, as
    # a public repository cites it. The mean station's horizontal field is some 20,000 nT (from memory).
    assert declination_sd(20_000.0, [1980.0, 2000.0, 2021.0]).min() > 0.39


def test_the_main_field_s_error_covers_what_its_models_scatter_by():
    # An error of its own in each model of the IGRF makes the second difference of three models sqrt(6) times as large as
    # itself. What the true field does is in it as well, so this is the most the error can be. Half is in the east component.
    stretches = MODELS["IGRF-14"].stretches
    degree = np.arange(11)[:, np.newaxis]
    for earlier, later in pairwise(stretches[:15]):
        second = 5 * (later.change - earlier.change)
        vector_nt = np.sqrt(np.sum((degree + 1) * np.abs(second) ** 2) / 6)
        assert vector_nt / 2 < np.radians(MODELS["IGRF-14"].declination_error.core_at(later.epoch))


def test_which_dates_hold():
    dates = [1899.999, 1900.0, 2024.99, 2025.0, 2030.0, 2030.001, np.nan]
    assert in_model(dates).tolist() == [False, True, True, True, True, False, False]
    assert in_model(dates, "WMM2025").tolist() == [False, False, False, True, True, False, False]
    assert in_model(dates, "IGRF-14").tolist() == [False, True, True, True, True, False, False]


@pytest.mark.parametrize("date", ["1899-12-31", "2030-01-01"])
@pytest.mark.parametrize("model", [None, "IGRF-14"])
def test_a_date_of_no_model_is_a_named_error_that_says_when_which_holds(date, model):
    with pytest.raises(DateOutsideModelError) as caught:
        check_date(datetime.date.fromisoformat(date), model)
    assert (caught.value.member, caught.value.value) == ("date", date)
    assert caught.value.allowed.startswith("1900-01-01 to 2029-12-31")
    if model is None:
        assert caught.value.allowed.endswith(": IGRF-14 from 1900-01-01, WMM2025 from 2025-01-01")
    for name in ("World Magnetic Model 2025 holds from 2025-01-01", "IGRF-14 from 1900-01-01"):
        assert name in caught.value.explanation


@pytest.mark.parametrize("year", [1899.99, 2030.01, np.nan])
def test_no_name_is_given_for_a_date_of_no_model(year):
    with pytest.raises(DateOutsideModelError) as caught:
        model_at([2000.0, year])
    assert caught.value.member == "decimal_year"
