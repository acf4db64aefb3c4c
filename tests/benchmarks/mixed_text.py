"""Reading mixed texts of positions in bulk, one after another, against bare readers that know the form beforehand.

A tenth of the texts are of each of ten forms, of places spread evenly over the middle latitudes. The references stand
against a loop over the `mgrs` library, decimal degrees against a regular expression with two calls of `float`; neither
looks whether there is another reading. `python -m benchmarks.mixed_text`, from the folder of the tests.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import mgrs
import numpy as np

from threenorths_service.navmath.grids.grid import to_grid
from threenorths_service.navmath.grids.zones import zone_of
from threenorths_service.navmath.references.mgrs import spaced_mgrs, write_mgrs
from threenorths_service.navmath.texts.position_text import read_position_text
from threenorths_service.navmath.texts.position_written import (
    write_decimal_degrees,
    write_degrees_minutes,
    write_degrees_minutes_seconds,
)

from .ratio import Ratio, best_of

__all__ = ["main", "measure"]

TEXTS = 20_000
ROUNDS = 3

_FIGURES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")
_DECIMAL_DEGREES = re.compile(r"\s*(-?[0-9.]+)\s*,\s*(-?[0-9.]+)\s*")


def _texts() -> dict[str, list[str]]:
    """By form, as many texts of each, of places of their own."""
    random = np.random.default_rng(1)
    return {name: [write(*place) for place in _places(random)] for name, write in _FORMS.items()}


def _places(random: np.random.Generator) -> list[tuple[float, float]]:
    count = TEXTS // len(_FORMS)
    return list(
        zip(random.uniform(-60, 60, count).tolist(), random.uniform(-180, 180, count).tolist(), strict=True)
    )


def _reference(lat_deg: float, lon_deg: float) -> str:
    return str(write_mgrs(lat_deg, lon_deg))


def _utm(lat_deg: float, lon_deg: float, figures: str = "d") -> str:
    zone, south = int(zone_of(lat_deg, lon_deg)), lat_deg < 0.0
    place = to_grid(lat_deg, lon_deg, zone, south)
    easting, northing = format(int(place.easting_m), figures), format(int(place.northing_m), figures)
    return f"zone {zone} {'south' if south else 'north'} {easting} mE {northing} mN"


def _said(lat_deg: float, lon_deg: float) -> str:
    halves = ((lat_deg, "north", "south"), (lon_deg, "east", "west"))
    return ", ".join(
        f"{' '.join('decimal' if sign == '.' else _FIGURES[int(sign)] for sign in f'{abs(angle_deg):.4f}')} "
        f"{positive if angle_deg >= 0.0 else negative}"
        for angle_deg, positive, negative in halves
    )


_FORMS: dict[str, Callable[[float, float], str]] = {
    "references": _reference,
    "references with spaces": lambda lat, lon: spaced_mgrs(_reference(lat, lon)),
    "UTM": _utm,
    "UTM with marks of thousands": lambda lat, lon: _utm(lat, lon, ",d"),
    "decimal degrees": lambda lat, lon: f"{lat:.6f}, {lon:.6f}",
    "decimal degrees with letters": write_decimal_degrees,
    "decimal commas": lambda lat, lon: f"{lat:.6f} {lon:.6f}".replace(".", ","),
    "degrees and minutes": write_degrees_minutes,
    "degrees, minutes and seconds": write_degrees_minutes_seconds,
    "words": _said,
}


def _read(texts: list[str]) -> None:
    for text in texts:
        read_position_text(text)


def _read_bare(texts: list[str]) -> list[tuple[float, float]]:
    """Decimal degrees as a program reads them that expects nothing else."""
    places = []
    for text in texts:
        found = _DECIMAL_DEGREES.fullmatch(text)
        if found is not None:
            places.append((float(found[1]), float(found[2])))
    return places


def measure() -> list[Ratio]:
    """How many times as long mixed texts take as the bare readers of one form each."""
    by_form = _texts()
    library = mgrs.MGRS()
    references, degrees = by_form["references"], by_form["decimal degrees"]
    ours, of_library, of_degrees, bare = best_of(
        [
            lambda: [_read(texts) for texts in by_form.values()],
            lambda: [library.toLatLon(text) for text in references],
            lambda: _read(degrees),
            lambda: _read_bare(degrees),
        ],
        ROUNDS,
    )
    each = ours / TEXTS
    note = f"{1.0 / each:.0f} texts a second"
    return [
        Ratio(
            "Mixed texts read, to references by the library",
            each / (of_library / len(references)),
            None,
            note=note,
        ),
        Ratio(
            "Decimal degrees read, to bare floats",
            of_degrees / bare,
            None,
            note=_per_second(degrees, of_degrees),
        ),
    ]


def _per_second(texts: list[str], seconds: float) -> str:
    return f"{len(texts) / seconds:.0f} texts a second"


def main() -> None:
    """Print what was measured, and each form by itself."""
    for ratio in measure():
        print(f"{ratio.name}: {ratio.ratio:.1f} ({ratio.note})")
    for name, texts in _texts().items():
        (seconds,) = best_of([lambda texts=texts: _read(texts)], ROUNDS)
        print(f"  {name}: {_per_second(texts, seconds)}, such as {texts[0]}")


if __name__ == "__main__":
    main()
