"""Fixes of ten sights, against the handling of one line in the same process: `python -m benchmarks.fix` in `tests`.

The line is the first example of `/v1/lines`, from the parsed body to the dumped answer. The fixes are the mathematics alone,
places given as numbers; and the operations, which read and write ten positions and observations as well.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from threenorths_service.navmath.fixes.checked_fix import checked_fix
from threenorths_service.navmath.fixes.observation import BearingFrom, BearingTo, DistanceTo, Observation
from threenorths_service.navmath.lines.geodesic import direct
from threenorths_service.navmath.magnetism.magnetic import declination_at
from threenorths_service.operations.catalogue import OPERATIONS

from .ratio import Ratio, best_of

__all__ = ["main", "measure"]

PLACE = (62.9, 13.3)
YEAR, DATE = 2026.9, "2026-11-25"
SIGHTS = 10
ROUNDS = 60
AIM = 3.0


def measure() -> list[Ratio]:
    """How many times as long as a line each fix takes."""
    request = dict(OPERATION["lines"].examples[0].request)
    runs: dict[str, Callable[[], object]] = {
        "line": lambda: OPERATION["lines"].answer_to(request),
        **{f"fix of ten: {name}": _fix(made) for name, made in observations().items()},
        **{
            f"/v1/{name}, ten magnetic sights": _operation(name)
            for name in ("intersections", "resections", "fixes")
        },
    }
    line, *others = best_of(list(runs.values()), ROUNDS)
    return [
        Ratio(
            name,
            seconds / line,
            AIM,
            at_least=False,
            note=f"{1e3 * seconds:.2f} ms, a line {1e3 * line:.2f} ms",
        )
        for name, seconds in zip(list(runs)[1:], others, strict=True)
    ]


OPERATION = {operation.name: operation for operation in OPERATIONS}


def rays() -> list[tuple[float, float, float, float, float, float]]:
    """Ten rays about the place: latitude, longitude and bearing back of their ends, azimuth, length, and a random error."""
    random = np.random.default_rng(1)
    azimuth, distance = np.linspace(0.0, 330.0, SIGHTS), np.linspace(2_000.0, 6_000.0, SIGHTS)
    lat, lon, back = direct(*PLACE, azimuth, distance)
    columns = np.stack((lat, lon, back, azimuth, distance, random.normal(size=SIGHTS)), axis=1)
    return [tuple(row) for row in columns.tolist()]


def observations() -> dict[str, list[Observation]]:
    """Ten observations of several sorts."""
    declination = float(declination_at(*PLACE, YEAR))
    true: list[Observation] = [BearingTo(lat, lon, (to + e) % 360.0) for lat, lon, _, to, _, e in rays()]
    magnetic: list[Observation] = [
        BearingTo(lat, lon, (to - declination + e) % 360.0, north="magnetic")
        for lat, lon, _, to, _, e in rays()
    ]
    back: list[Observation] = [BearingFrom(lat, lon, (b + e) % 360.0) for lat, lon, b, _, _, e in rays()]
    far: list[Observation] = [DistanceTo(lat, lon, d + 20.0 * e, 20.0) for lat, lon, _, _, d, e in rays()]
    mixed = [(magnetic, back, far)[index % 3][index] for index in range(SIGHTS)]
    return {"true bearings": true, "magnetic bearings": magnetic, "distances": far, "mixed": mixed}


def _fix(made: list[Observation]) -> Callable[[], object]:
    return lambda: checked_fix(made, YEAR)


def _operation(name: str) -> Callable[[], object]:
    """The operation on ten magnetic sights, of which each known place is given by latitude and longitude."""
    declination = float(declination_at(*PLACE, YEAR))
    place, read = ("from", 2) if name == "intersections" else ("to", 3)
    sights: list[dict[str, Any]] = [
        {place: {"lat_deg": ray[0], "lon_deg": ray[1]}, "bearing": (ray[read] - declination + ray[5]) % 360.0}
        for ray in rays()
    ]
    request = {"sights": sights, "north": "magnetic", "date": DATE}
    if name == "fixes":
        observations = [{"kind": "bearing_to", **sight} for sight in sights]
        request = {"observations": observations, "north": "magnetic", "date": DATE}
    return lambda: OPERATION[name].answer_to(request)


def main() -> None:
    """Print what was measured."""
    for ratio in measure():
        print(f"{ratio.name}: {ratio.ratio:.2f} times a line, aim {ratio.aim} ({ratio.note})")


if __name__ == "__main__":
    main()
