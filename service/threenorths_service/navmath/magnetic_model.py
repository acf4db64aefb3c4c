"""The World Magnetic Model's coefficients, read from the published file and checked to be whole."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

__all__ = ["COEFFICIENT_FILE", "MagneticModel", "load_model", "read_model"]

COEFFICIENT_FILE = "WMM2025.COF"

#: The model's degree, the years it holds, and the row that ends its file (by its first digits).
DEGREE = 12
YEARS_HELD = 5
END_OF_FILE = "9999"


@dataclass(frozen=True, slots=True)
class MagneticModel:
    """A magnetic model at its epoch, with its dates.

    ``main`` [nT] and ``change`` [nT a year] hold the Schmidt semi-normalised coefficients as complex numbers
    ``g - i h`` at ``[degree, order]``, 0 where there is none: the real part of one times a complex harmonic
    ``cos + i sin`` is then its term of the series.
    """

    name: str
    epoch: float
    first_date: datetime.date
    last_date: datetime.date
    main: NDArray[np.complex128]
    change: NDArray[np.complex128]


@cache
def load_model() -> MagneticModel:
    """The model that ships with the package, read once."""
    file = resources.files(__package__).joinpath("data", COEFFICIENT_FILE)
    return read_model(file.read_text(encoding="ascii"))


def read_model(text: str) -> MagneticModel:
    """A model from the text of its coefficient file.

    Raises
    ------
    ValueError
        A row is missing, doubled, out of order or no row at all, or the file does not end as it should.
    """
    header, *lines = text.splitlines()
    epoch, name, _released = header.split()
    rows = [line.split() for line in lines if not line.startswith(END_OF_FILE)]
    if len(rows) == len(lines):
        raise ValueError("the coefficient file has no closing line: it was cut short")
    expected = [(n, m) for n in range(1, DEGREE + 1) for m in range(n + 1)]
    if [(int(row[0]), int(row[1])) for row in rows] != expected:
        raise ValueError(f"the coefficients are not those of degrees 1 to {DEGREE}, each once and in order")
    main = np.zeros((DEGREE + 1, DEGREE + 1), dtype=np.complex128)
    change = np.zeros_like(main)
    for (n, m), row in zip(expected, rows, strict=True):
        g, h, g_change, h_change = (float(number) for number in row[2:])
        main[n, m] = complex(g, -h)
        change[n, m] = complex(g_change, -h_change)
    first_year = int(float(epoch))
    return MagneticModel(
        name=name.replace("-", ""),
        epoch=float(epoch),
        first_date=datetime.date(first_year, 1, 1),
        last_date=datetime.date(first_year + YEARS_HELD - 1, 12, 31),
        main=main,
        change=change,
    )
