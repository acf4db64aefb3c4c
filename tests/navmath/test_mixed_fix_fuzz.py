"""Thousands of geometries, most of them awkward: each has a fix of finite numbers or a named error, never anything else.

THREENORTHS_FUZZ_FIXES says how many; 500 where it is not set.
"""

import math
import os
from collections import Counter

import numpy as np
import pytest

from mixed_observations import seen
from threenorths_service.navmath.errors import NavigationError
from threenorths_service.navmath.fixes.checked_fix import checked_fix
from threenorths_service.navmath.fixes.mixed_region import fix_regions
from threenorths_service.navmath.fixes.observation import (
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    LineStoodOn,
)

CASES = int(os.environ.get("THREENORTHS_FUZZ_FIXES", "500"))
GROUPS = 5
#: Errors that say nothing of the geometry would hide a fault.
EXPECTED = {
    "too_few_observations",
    "coincident_points",
    "parallel_sights",
    "sights_cross_behind",
    "danger_circle",
    "compass_error_unsolvable",
    "magnetic_useless",
    "no_solution",
    "observations_do_not_meet",
    "observations_touch",
    "outside_grid",
    "out_of_range",
}
LATITUDES = (0.0, 56.0, 63.9999, 84.0, -80.0, 89.9, 90.0, -90.0, -45.0)
LONGITUDES = (0.0, 180.0, -180.0, 179.9999, 6.0, 11.9999, 359.9)
LENGTHS_M = (0.001, 1.0, 500.0, 3_000.0, 3_000.0, 30_000.0, 400_000.0, 9_000_000.0)
AZIMUTHS = (0.0, 90.0, 180.0, 270.0, 360.0, 45.0)
SDS = (0.001, 0.3, 1.0, 1.0, 5.0, 45.0)


class Awkward:
    """Draws what is asked for from exact and special values as often as from any."""

    def __init__(self, rng):
        self.rng = rng
        self.place = (self.pick(LATITUDES, -90.0, 90.0), self.pick(LONGITUDES, -180.0, 180.0))
        self.known = []

    def pick(self, special, least, most):
        if self.rng.random() < 0.4:
            return float(self.rng.choice(special))
        return float(self.rng.uniform(least, most))

    def length(self):
        return self.pick(LENGTHS_M, 100.0, 20_000.0)

    def azimuth(self):
        return self.pick(AZIMUTHS, 0.0, 360.0)

    def mark(self):
        """A known place: a former one, the place itself, a pole, or the end of a ray; with its ray from the place."""
        chance = self.rng.random()
        if chance < 0.12 and self.known:
            return self.known[int(self.rng.integers(len(self.known)))]
        azimuth, length = self.azimuth(), self.length()
        lat, lon, back = seen(self.place, azimuth, length)
        if chance < 0.16:
            lat, lon = self.place
        elif chance < 0.18:
            lat = math.copysign(90.0, self.place[0])
        self.known.append((lat, lon, back, azimuth, length))
        return self.known[-1]

    def wrong(self, scale):
        """No error, a likely one, or a wild one."""
        return self.rng.choice([0.0, self.rng.normal() * scale, self.rng.uniform(-180.0, 180.0) * scale])

    def observation(self):
        lat, lon, back, azimuth, length = self.mark()
        sd = float(self.rng.choice(SDS))
        north = str(self.rng.choice(["true", "true", "grid", "magnetic"]))
        place_sd = float(self.rng.choice([0.0, 0.0, 30.0, 3_000.0]))
        kind = self.rng.integers(5)
        if kind == 0:
            return BearingTo(lat, lon, (azimuth + self.wrong(sd)) % 360.0, sd, north, place_sd_m=place_sd)
        if kind == 1:
            return BearingFrom(lat, lon, (back + self.wrong(sd)) % 360.0, sd, north, place_sd_m=place_sd)
        if kind == 2:
            distance = min(max(abs(length + self.wrong(10.0)), 0.001), 1e7)
            return DistanceTo(
                lat, lon, distance, float(self.rng.choice([0.001, 1.0, 50.0, 10_000.0])), place_sd
            )
        if kind == 3:
            other = self.mark()
            angle = (other[3] - azimuth + self.wrong(sd)) % 360.0
            return AngleBetween(lat, lon, other[0], other[1], angle, sd, place_sd, 0.0)
        corners = [self.mark() for _ in range(int(self.rng.integers(2, 7)))]
        return LineStoodOn(
            tuple(c[0] for c in corners),
            tuple(c[1] for c in corners),
            float(self.rng.choice([0.01, 10.0, 500.0])),
        )


def finite(place):
    numbers = [place.lat_deg, place.lon_deg, place.ellipse.semi_major_m, place.ellipse.semi_minor_m]
    arrays = [
        place.covariance_m2,
        place.residuals,
        place.standardised,
        place.redundancy,
        place.along_line_sd_m,
    ]
    return np.isfinite(numbers).all() and all(np.isfinite(each).all() for each in arrays)


@pytest.mark.parametrize("group", range(GROUPS))
def test_every_geometry_has_a_fix_or_a_named_error(group):
    answers = Counter()
    for case in range(CASES // GROUPS):
        rng = np.random.default_rng([group, case])
        awkward = Awkward(rng)
        observations = [awkward.observation() for _ in range(int(rng.integers(1, 8)))]
        try:
            checked = checked_fix(observations, 2026.9, bool(rng.random() < 0.2))
            whole = checked.fix or checked.without
            # Regions are slow beside the fix: of some only.
            regions = fix_regions(whole).regions if whole is not None and case % 5 == 0 else ()
        except NavigationError as error:
            answers[error.code] += 1
            continue
        answers["fix"] += 1
        places = [*checked.fix.places] if checked.fix else [checked.verdict.without]
        assert all(finite(place) for place in places), (group, case)
        assert all(math.isfinite(each.area_m2) for each in regions), (group, case)
    assert set(answers) <= EXPECTED | {"fix"}
    assert answers["fix"] > 0.25 * CASES / GROUPS, answers
