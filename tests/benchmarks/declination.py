"""Declination in bulk and at one place, against wmm-calculator (arrays) and pygeomag (one place at a time).

Every row has its own place, height and date; wmm-calculator is asked for declination alone, the least it can be asked.
`python -m benchmarks.declination`, from the folder of the tests.
"""

from __future__ import annotations

import warnings

import numpy as np
from numpy.typing import NDArray
from pygeomag import GeoMag
from wmm import wmm_calc

from threenorths_service.navmath.magnetism.magnetic import declination_at

from .ratio import Ratio, best_of

__all__ = ["main", "measure"]

PLACES = 400_000
PLACES_ONE_AT_A_TIME = 500
ROUNDS = 7
ARRAY_AIM = 8.0
SCALAR_AIM = 80.0


def measure() -> list[Ratio]:
    """How many times as fast a declination is had as from the libraries."""
    random = np.random.default_rng(1)
    # Away from the poles, where one library is wrong.
    lat_deg, lon_deg = random.uniform(-60.0, 75.0, PLACES), random.uniform(-180.0, 180.0, PLACES)
    year, height_m = random.uniform(2025.0, 2030.0, PLACES), random.uniform(0.0, 4_000.0, PLACES)
    columns = (lat_deg, lon_deg, year, height_m)
    few = [tuple(row) for row in np.stack(columns, axis=1)[:PLACES_ONE_AT_A_TIME].tolist()]
    old_year = random.uniform(1900.0, 2025.0, PLACES)
    library = GeoMag()
    ours, old, by_array, ours_singly, singly = best_of(
        [
            lambda: declination_at(*columns),
            lambda: declination_at(lat_deg, lon_deg, old_year, height_m),
            lambda: _wmm_calculator(*columns),
            lambda: [declination_at(*row) for row in few],
            lambda: [
                library.calculate(glat=row[0], glon=row[1], time=row[2], alt=row[3] / 1e3) for row in few
            ],
        ],
        ROUNDS,
    )
    ours, old, by_array = ours / PLACES, old / PLACES, by_array / PLACES
    ours_singly, singly = ours_singly / PLACES_ONE_AT_A_TIME, singly / PLACES_ONE_AT_A_TIME
    bulk = f"{1e6 * ours:.2f} us a row"
    return [
        Ratio(
            "declination against wmm-calculator",
            by_array / ours,
            ARRAY_AIM,
            note=f"{bulk}, {1e6 * by_array:.2f} us",
        ),
        Ratio(
            "declination against pygeomag",
            singly / ours,
            SCALAR_AIM,
            note=f"{bulk}, {1e6 * singly:.0f} us a call",
        ),
        Ratio(
            "declination of 1900 to 2024 against 2025 on",
            ours / old,
            None,
            note=f"{1e6 * old:.2f} us a row, each of its own date",
        ),
        Ratio(
            "declination of one place", singly / ours_singly, None, note=f"{1e6 * ours_singly:.0f} us a call"
        ),
    ]


def _wmm_calculator(
    lat_deg: NDArray[np.float64],
    lon_deg: NDArray[np.float64],
    year: NDArray[np.float64],
    height_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    library = wmm_calc()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # it prints every row where the horizontal field is weak
        library.setup_time(dyear=year)
        library.setup_env(lat_deg, lon_deg, height_m / 1e3)
        declination: NDArray[np.float64] = library.get_Bdec()
    return declination


def main() -> None:
    """Print what was measured."""
    for ratio in measure():
        print(f"{ratio.name}: {ratio.ratio:.1f} times as fast, aim {ratio.aim} ({ratio.note})")


if __name__ == "__main__":
    main()
