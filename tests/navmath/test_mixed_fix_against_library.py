"""Random mixed fixes against least squares on geodesics of geographiclib, with derivatives by differences."""

import numpy as np
import pytest

from mixed_observations import least_squares_by_library, off_m, perfect, random_observations
from threenorths_service.navmath.errors import NavigationError
from threenorths_service.navmath.fixes.mixed_fix import fix_from

CASES = 60


@pytest.mark.parametrize("seed", range(4))
def test_the_least_squares_place_and_its_covariance_are_the_library_s(seed):
    rng, compared, unanswered = np.random.default_rng(seed), 0, []
    for _ in range(CASES // 4):
        place = (rng.uniform(-85.0, 85.0), rng.uniform(-180.0, 180.0))
        observations = random_observations(rng, place, int(rng.integers(4, 8)))
        try:
            fix = fix_from(observations)
        except NavigationError as error:  # a road along a sight and the like
            unanswered.append(error.code)
            continue
        lat, lon, cost, covariance = least_squares_by_library(place, observations)
        # It settles within 1e-4 of a standard deviation; the least cost is flat there to 1e-8.
        assert fix.best.cost <= cost + 1e-6
        if fix.best.cost < cost - 1e-3:
            continue  # the library was started at the true place, and another fits better
        compared += 1
        assert off_m(fix.best, (lat, lon)) < 1e-3 * np.sqrt(np.trace(covariance))
        assert fix.best.covariance_m2 == pytest.approx(covariance, rel=0, abs=1e-3 * np.abs(covariance).max())
    assert set(unanswered) <= {"parallel_sights", "observations_touch", "danger_circle", "no_solution"}
    assert compared >= 0.8 * CASES / 4


def test_over_a_thousand_kilometres_the_covariance_is_still_the_library_s():
    # The derivatives are a sphere's, good to three parts in a thousand of the ellipsoid's at any length.
    place = (47.0, 11.0)
    made = [
        perfect("to", place, 20.0, 1_000_000.0, sd=0.1),
        perfect("from", place, 110.0, 1_500_000.0, sd=0.1),
    ]
    fix = fix_from([*made, perfect("distance", place, 200.0, 800_000.0, sd=0.1)])
    covariance = least_squares_by_library(
        place, [*made, perfect("distance", place, 200.0, 800_000.0, sd=0.1)]
    )[3]
    assert off_m(fix.best, place) < 0.1
    assert fix.best.covariance_m2 == pytest.approx(covariance, rel=0, abs=4e-3 * np.abs(covariance).max())
