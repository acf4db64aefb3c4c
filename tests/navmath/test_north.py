from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.directions.north import Norths, norths_at, norths_cautions
from threenorths_service.navmath.errors import DateOutsideModelError, OutOfRangeError
from threenorths_service.navmath.grids.grid import convergence_and_scale
from threenorths_service.navmath.magnetism.magnetic import field_at

GRID_VARIATIONS = [row for row in rows("wmm2025_test_values") if row["GV_deg"]]
ZONES = [row for row in rows("wmm2025_examples") if row["quantity"] == "zone"]
CODES = {"none": [], "caution": ["magnetic_caution"], "blackout": ["magnetic_blackout"]}

UTM, UPS = {"zone": None}, {"zone": 0}


def codes(lat_deg: float, norths: Norths) -> list[str]:
    return [caution.code for caution in norths_cautions(lat_deg, norths)]


def test_the_report_s_grid_variations_are_there():
    assert len(GRID_VARIATIONS) == 8


@pytest.mark.parametrize(
    "row", GRID_VARIATIONS, ids=lambda row: f"{row['lat_deg']},{row['date_decimal_year']}"
)
def test_the_report_s_grid_variation_is_our_grid_magnetic_angle_on_the_polar_grid(row):
    # WMM2025 report, column GV: magnetic north from the north of the polar stereographic grid, to 0.01 degree.
    lat, lon = float(row["lat_deg"]), float(row["lon_deg"])
    height_m = 1000 * float(row["height_km_wgs84_ellipsoid"])
    norths = norths_at(lat, lon, float(row["date_decimal_year"]), height_m, zone=0, south=lat < 0)
    assert norths.grid_magnetic_angle_deg == pytest.approx(float(row["GV_deg"]), abs=0.005)
    assert norths.declination_deg == pytest.approx(float(row["D_deg"]), abs=0.005)


@given(st.floats(-90, 90), st.floats(-180, 180), st.floats(2025, 2030), st.sampled_from([UTM, UPS]))
def test_the_grid_magnetic_angle_is_declination_less_convergence(lat, lon, year, grid):
    norths = norths_at(lat, lon, year, **grid)
    assert norths.convergence_deg == convergence_and_scale(lat, lon, **grid)[0]
    assert -180 < norths.grid_magnetic_angle_deg <= 180
    turns = (norths.declination_deg - norths.convergence_deg - norths.grid_magnetic_angle_deg) / 360
    assert turns == pytest.approx(round(turns), abs=1e-12)


def test_a_difference_of_over_half_a_turn_comes_back_into_the_half_circles():
    # Declination 57.87 is published for this place (published/wmm2025_test_values.csv); on the polar grid the
    # convergence is the longitude turned round, -178, so that the difference is 235.87 before it comes back.
    norths = norths_at(-63.0, 178.0, 2027.0, 12_000.0, zone=0, south=True)
    assert norths.convergence_deg == pytest.approx(-178.0, abs=1e-9)
    assert norths.grid_magnetic_angle_deg == pytest.approx(57.87 + 178 - 360, abs=0.005)


def test_the_rest_is_the_field_s_own():
    norths, field = norths_at(47.0, 8.0, 2026.2, 600.0), field_at(47.0, 8.0, 2026.2, 600.0)
    assert norths.annual_change_deg == field.declination_change_deg
    for name in ("declination_deg", "declination_sd_deg", "inclination_deg", "horizontal_nt", "total_nt"):
        assert getattr(norths, name) == getattr(field, name)


def test_the_grid_in_use_may_be_another_than_the_place_s_own():
    # 12 degrees east is the border of zones 32 and 33, three degrees from either's meridian.
    own, other = norths_at(47.0, 12.0, 2026.0), norths_at(47.0, 12.0, 2026.0, zone=32)
    assert own.convergence_deg == pytest.approx(-other.convergence_deg, abs=1e-9)
    assert own.convergence_deg < 0 < other.convergence_deg
    assert own.declination_deg == other.declination_deg


@pytest.mark.parametrize(
    ("place", "shape"),
    [
        ({"lat_deg": 47.0, "lon_deg": 8.0, "decimal_year": 2026.0}, ()),
        ({"lat_deg": 47.0, "lon_deg": 8.0, "decimal_year": [2025.0, 2026.0, 2027.0]}, (3,)),
        ({"lat_deg": [[47.0], [48.0]], "lon_deg": [8.0, 9.0, 10.0], "decimal_year": 2026.0}, (2, 3)),
        (
            {"lat_deg": 47.0, "lon_deg": 8.0, "decimal_year": 2026.0, "zone": [31, 32, 33], "south": False},
            (3,),
        ),
    ],
)
def test_every_angle_has_the_broadcast_shape(place, shape):
    norths = norths_at(**place)
    assert {np.shape(getattr(norths, field.name)) for field in dataclasses.fields(norths)} == {shape}


@pytest.mark.parametrize("row", ZONES, ids=lambda row: f"{row['lat_deg']},{row['lon_deg']},{row['value']}")
def test_cautions_of_the_published_places(row):
    lat = float(row["lat_deg"])
    height_m = 1000 * float(row["height_km_ellipsoid"])
    norths = norths_at(lat, float(row["lon_deg"]), float(row["decimal_year"]), height_m)
    assert codes(lat, norths) == CODES[row["value"]]


@pytest.mark.parametrize(
    ("horizontal_nt", "expected"),
    [
        (1999.99, ["magnetic_blackout"]),
        (2000.0, ["magnetic_caution"]),
        (5999.99, ["magnetic_caution"]),
        (6000.0, []),
    ],
)
def test_a_zone_begins_at_its_own_lower_end(horizontal_nt, expected):
    # MIL-PRF-89500B: blackout H < 2000 nT, caution 2000 nT <= H < 6000 nT.
    norths = dataclasses.replace(norths_at(80.0, 0.0, 2026.0), horizontal_nt=np.float64(horizontal_nt))
    assert codes(80.0, norths) == expected


def test_a_caution_says_how_strong_the_field_is_and_how_far_to_trust_it():
    norths = dataclasses.replace(norths_at(80.0, 0.0, 2026.0), horizontal_nt=np.float64(1999.9))
    (caution,) = norths_cautions(80.0, norths)
    assert caution.message.startswith(
        "The horizontal field is 1999 nT, under 2000 nT: a magnetic compass is of no use here"
    )
    assert f"standard deviation of {norths.declination_sd_deg:.1f} degrees" in caution.message


@pytest.mark.parametrize(
    ("lat_deg", "expected"),
    [
        (90.0, ["at_pole", "magnetic_blackout"]),
        (89.9999, ["at_pole", "magnetic_blackout"]),
        (89.99, ["magnetic_blackout"]),
        (-90.0, ["at_pole"]),  # the south magnetic pole is far from the south pole, where a compass works
        (-89.99, []),
    ],
)
def test_at_a_pole_a_caution_says_so(lat_deg, expected):
    assert codes(lat_deg, norths_at(lat_deg, 45.0, 2026.0)) == expected


def test_norths_of_the_last_century_are_those_of_the_igrf():
    norths, field = norths_at(47.0, 8.0, 1950.5, 600.0), field_at(47.0, 8.0, 1950.5, 600.0, "IGRF-14")
    assert norths.declination_deg == field.declination_deg
    assert norths.declination_sd_deg == field.declination_sd_deg
    assert norths.convergence_deg == norths_at(47.0, 8.0, 2026.0).convergence_deg


def test_the_model_of_the_norths_can_be_named():
    norths = norths_at(47.0, 8.0, 2026.0, model="IGRF-14")
    assert norths.declination_deg == field_at(47.0, 8.0, 2026.0, model="IGRF-14").declination_deg
    assert norths.declination_deg != norths_at(47.0, 8.0, 2026.0).declination_deg
    with pytest.raises(DateOutsideModelError):
        norths_at(47.0, 8.0, 1990.0, model="WMM2025")


def test_outside_the_model_there_are_no_norths():
    with pytest.raises(DateOutsideModelError):
        norths_at(47.0, 8.0, 2031.0)
    with pytest.raises(DateOutsideModelError):
        norths_at(47.0, 8.0, 1899.0)
    with pytest.raises(OutOfRangeError):
        norths_at(91.0, 8.0, 2026.0)
