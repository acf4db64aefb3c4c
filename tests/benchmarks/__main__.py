"""Measure everything and print a table of ratios: run ``python -m benchmarks`` in the folder ``tests``."""

from __future__ import annotations

import importlib
import sys

MODULES = (
    "mgrs_read_write",
    "mixed_text",
    "declination",
    "datum_shift",
    "fix",
    "batches",
    "batch_memory",
    "request_throughput",
)


def main(names: list[str]) -> None:
    """Measure the named modules, or all."""
    print(f"{'ratio':>7}  {'aim':>9}  what")
    for name in names or MODULES:
        for ratio in importlib.import_module(f"benchmarks.{name}").measure():
            aim = "" if ratio.aim is None else f"{'>=' if ratio.at_least else '<='} {ratio.aim:g}"
            print(
                f"{ratio.ratio:7.2f}  {aim:>9}  {ratio.name}" + (f" ({ratio.note})" if ratio.note else ""),
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1:])
