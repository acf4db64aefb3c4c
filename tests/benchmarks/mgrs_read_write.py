"""Reading and writing MGRS references in bulk, against a loop over the `mgrs` library.

Reading goes from texts to latitudes and longitudes, writing from these to texts; to five digits a side, of places spread
evenly over the earth. `python -m benchmarks.mgrs_read_write`, from the folder of the tests.
"""

from __future__ import annotations

import mgrs
import numpy as np

from threenorths_service.navmath.references.mgrs import read_mgrs, write_mgrs

from .ratio import Ratio, best_of

__all__ = ["main", "measure"]

PLACES = 200_000
ROUNDS = 7
READING_AIM = 4.0
WRITING_AIM = 2.5


def measure() -> list[Ratio]:
    """How many times as fast a reference is read and written as in the loop."""
    random = np.random.default_rng(1)
    lat_deg = np.degrees(np.arcsin(random.uniform(-1.0, 1.0, PLACES)))
    lon_deg = random.uniform(-180.0, 180.0, PLACES)
    texts = write_mgrs(lat_deg, lon_deg).tolist()
    places = list(zip(lat_deg.tolist(), lon_deg.tolist(), strict=True))
    library = mgrs.MGRS()
    ours, theirs = best_of(
        [lambda: read_mgrs(texts), lambda: [library.toLatLon(text) for text in texts]], ROUNDS
    )
    reading = Ratio("MGRS read", theirs / ours, READING_AIM, note=_per_reference(ours, theirs))
    ours, theirs = best_of(
        [lambda: write_mgrs(lat_deg, lon_deg), lambda: [library.toMGRS(*place) for place in places]], ROUNDS
    )
    writing = Ratio("MGRS written", theirs / ours, WRITING_AIM, note=_per_reference(ours, theirs))
    return [reading, writing]


def _per_reference(ours: float, theirs: float) -> str:
    return f"{1e9 * ours / PLACES:.0f} ns a reference, the library {1e9 * theirs / PLACES:.0f} ns"


def main() -> None:
    """Print what was measured."""
    for ratio in measure():
        print(f"{ratio.name}: {ratio.ratio:.1f} times as fast, aim {ratio.aim} ({ratio.note})")


if __name__ == "__main__":
    main()
