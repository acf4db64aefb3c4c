"""Estimates in the field against published worked examples: every row of published/estimate_examples.csv.

Lengths are in the unit of the source: every formula but those of the earth's curvature is alike in any unit.
"""

import numpy as np
import pytest

from published import rows
from threenorths_service.navmath.estimates.dead_ground import dead_ground
from threenorths_service.navmath.estimates.gradient import contour_spacing, gradient_between
from threenorths_service.navmath.estimates.height_by_angles import (
    height_by_top,
    height_by_top_and_base,
    height_from_two_stations,
    height_from_two_stations_seeing_the_base,
)
from threenorths_service.navmath.estimates.height_by_proportion import height_by_shadow, height_by_stick
from threenorths_service.navmath.estimates.mil_relation import solve_mil_relation
from threenorths_service.navmath.estimates.offset_width import width_by_offset, width_by_two_bearings
from threenorths_service.navmath.estimates.sight_line import sight_line
from threenorths_service.navmath.estimates.terrain_profile import curvature_and_refraction_m
from threenorths_service.navmath.estimates.travel_time import pace_speed_km_per_h, solve_travel

FOOT_M, MILE_KM, NAUTICAL_MILE_M = 0.3048, 1.609344, 1852.0


def pace_speed_mph(paces_per_min, pace_in):
    return pace_speed_km_per_h(paces_per_min, 100 / (pace_in * 0.0254)) / MILE_KM


def contour_spacing_in(interval_ft, gradient_deg, scale):
    spacing = contour_spacing(interval_ft * FOOT_M, np.tan(np.radians(gradient_deg)), scale)
    return spacing.map_mm / 25.4


def obstruction_clearance_m(start_m, obstruction_m, end_m, near_m, far_m, refraction_k):
    # A peak: the ground on both sides of it lies far below.
    length, valley = near_m + far_m, min(start_m, end_m) - 200
    distance = [0, 0.1 * near_m, 0.9 * near_m, near_m, near_m + 0.1 * far_m, length - 0.1 * far_m, length]
    height = [start_m, valley, valley, obstruction_m, valley, valley, end_m]
    line = sight_line(
        distance, height, height_sd_m=0, observer_height_m=0, target_height_m=0, refraction_k=refraction_k
    )
    assert line.obstruction_distance_m == near_m
    return line.clearance_m


def horizon_nmi(eye_ft, refraction_k, radius_nmi):
    (beyond,) = dead_ground(
        [0, 100_000],
        [0, 0],
        observer_height_m=eye_ft * FOOT_M,
        refraction_k=refraction_k,
        radius_m=radius_nmi * NAUTICAL_MILE_M,
    )
    return beyond.from_m / NAUTICAL_MILE_M


FORMULAS = {
    formula.__name__: formula
    for formula in (
        width_by_two_bearings,
        width_by_offset,
        height_by_top,
        height_by_top_and_base,
        height_from_two_stations,
        height_from_two_stations_seeing_the_base,
        height_by_shadow,
        height_by_stick,
        solve_mil_relation,
        gradient_between,
        curvature_and_refraction_m,
        pace_speed_mph,
        contour_spacing_in,
        obstruction_clearance_m,
        horizon_nmi,
    )
}


@pytest.mark.parametrize("row", rows("estimate_examples"), ids=lambda row: row["id"])
def test_a_published_example(row):
    inputs = {name: float(value) for name, value in (part.split("=") for part in row["inputs"].split(";"))}
    answer = FORMULAS[row["formula"]](**inputs)
    found = getattr(answer, row["member"], answer)
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


# Rows mil-calc-* of published/handbook_examples.csv: arithmetic, to the digits printed there. Their chord has its ends at the
# distance; an object that stands square with its middle there is longer by the cosine of half the angle.
@pytest.mark.parametrize(
    ("distance", "mils", "rule", "chord"),
    [(2000, 100, 200, 196.271), (1000, 1, 1, 0.982), (3000, 25, 75, 73.629)],
)
def test_the_handbook_s_mil_relation_and_the_exact_one(distance, mils, rule, chord):
    found = solve_mil_relation(distance_m=distance, angle=mils)
    assert found.rule_of_thumb == rule
    assert found.width_m * np.cos(np.pi * mils / 6400) == pytest.approx(chord, abs=0.0005)
    # 1.86 per cent too large, less a third of the square of half the angle: 0.08 per cent at 100 mils.
    assert found.difference_percent == pytest.approx(
        1.86, abs=0.005 + 100 * (np.pi * mils / 6400) ** 2 / 3 * 1.02
    )


def test_the_handbook_s_rate_of_march():
    # Army task 071-329-1006, row pace-rate of published/handbook_examples.csv: 3,000 m an hour.
    assert solve_travel(distance_m=3000, time_min=60).speed_km_per_h == pytest.approx(3.0, rel=1e-12)
