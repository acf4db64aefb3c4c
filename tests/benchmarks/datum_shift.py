"""Shifting places between datums, against the bare pipeline of pyproj on the same arrays.

The places lie over Spain, where four operations meet; the bare pipeline is the one of the mainland for all of them.
`python -m benchmarks.datum_shift`, from the folder of the tests.
"""

from __future__ import annotations

import numpy as np
from pyproj import Transformer

from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.datum_shift import from_wgs84, shifted_to_wgs84, to_wgs84
from threenorths_service.navmath.datums.datum_table import operations_of

from .ratio import Ratio, best_of

__all__ = ["main", "measure"]

PLACES = 1_000_000
PLACES_ONE_AT_A_TIME = 500
ROUNDS = 3
MAINLAND = "1633"
ARRAY_AIM = 8.0


def measure() -> list[Ratio]:
    """How many times as long a shift takes as the pipeline alone."""
    random = np.random.default_rng(1)
    lat_deg, lon_deg = random.uniform(36.0, 43.7, PLACES), random.uniform(-9.0, 3.0, PLACES)
    datum = find_datum("ED50")
    steps = next(o.pipeline for o in operations_of(datum.epsg).operations if o.code == MAINLAND)
    bare = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"{steps} +step +proj=unitconvert +xy_in=rad +xy_out=deg"
    )
    few = list(zip(lat_deg[:PLACES_ONE_AT_A_TIME].tolist(), lon_deg.tolist(), strict=False))
    there, back, pipeline, singly, bare_singly = best_of(
        [
            lambda: to_wgs84(datum, lat_deg, lon_deg),
            lambda: from_wgs84(datum, lat_deg, lon_deg),
            lambda: bare.transform(lon_deg, lat_deg),
            lambda: [shifted_to_wgs84(datum, lat, lon) for lat, lon in few],
            lambda: [bare.transform(lon, lat) for lat, lon in few],
        ],
        ROUNDS,
    )
    one_us = 1e6 * singly / PLACES_ONE_AT_A_TIME
    return [
        Ratio(
            "shift to WGS 84 to bare pyproj", there / pipeline, ARRAY_AIM, False, f"{there:.2f} s a million"
        ),
        Ratio("shift from WGS 84 to bare pyproj", back / pipeline, None, note=f"{back:.2f} s a million"),
        Ratio(
            "shift of one place to bare pyproj", singly / bare_singly, None, note=f"{one_us:.0f} us a call"
        ),
    ]


def main() -> None:
    """Print what was measured."""
    for ratio in measure():
        print(f"{ratio.name}: {ratio.ratio:.1f} times as long ({ratio.note})")


if __name__ == "__main__":
    main()
