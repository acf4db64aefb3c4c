"""The magnetic models that ship with the package, read from their published files and checked to be whole."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from functools import cache
from importlib import resources
from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from .magnetic_model import DeclinationError, MagneticModel, Stretch

__all__ = ["IGRF14_FILE", "WMM2025_FILE", "load_models", "read_igrf14", "read_wmm"]

WMM2025_FILE = "WMM2025.COF"
IGRF14_FILE = "IGRF14.shc"

#: Degree and length of a World Magnetic Model, and the row that ends its file (by its first digits).
WMM_DEGREE = 12
WMM_YEARS_HELD = 5
WMM_END_OF_FILE = "9999"

#: Error model of the WMM2025 technical report, as two libraries give it (pygeomag 1.1.0 and the crate
#: world_magnetic_model 0.2.0). It covers the model's ageing, and the rock and currents that it leaves out.
WMM_DECLINATION_ERROR = DeclinationError(surroundings_deg_nt=5417.0)

#: The IGRF's degree, and the first and last year of its 14th generation, with a model every five years.
IGRF_DEGREE = 13
IGRF14_KNOTS = tuple(float(year) for year in range(1900, 2031, 5))
IGRF_COMMENT = "#"

#: Standard deviation of the east component at stations on the ground from 1980 to 2021: C. D. Beggan, "Evidence-based
#: uncertainty estimates for the International Geomagnetic Reference Field," Earth, Planets and Space 74, 17, 2022,
#: doi:10.1186/s40623-022-01572-y, abstract and table 1. It holds the rock, and not the magnetic storms. [nT]
IGRF_EAST_SD_NT = 136.0

#: Error of the east component of the main field itself. F. J. Lowes, "An estimate of the errors of the IGRF/DGRF fields
#: 1945-2000," Earth, Planets and Space 52, 1207-1211, 2000, finds rms errors of the whole vector "from a few hundred to a
#: few nanotesla". Taken here: 300 nT in 1945, and from 1980, when satellites had measured the whole field, none beyond the
#: above; half of the vector is in the east component, as of any internal field on average over the sphere. The models of
#: 1900 to 1940 are not definitive; 400 nT in 1900 is a guess, from no source. [year], [nT]
IGRF_CORE_YEARS = (1900.0, 1945.0, 1980.0)
IGRF_CORE_EAST_NT = (200.0, 150.0, 0.0)


@cache
def load_models() -> Mapping[str, MagneticModel]:
    """The models that ship with the package by their names, the one that holds first coming first; read once."""
    models = read_igrf14(_file_text(IGRF14_FILE)), read_wmm(_file_text(WMM2025_FILE))
    return MappingProxyType({model.name: model for model in models})


def read_wmm(text: str) -> MagneticModel:
    """A World Magnetic Model from the text of its coefficient file.

    Raises
    ------
    ValueError
        A row is missing, doubled, out of order or no row at all, or the file does not end as it should.
    """
    header, *lines = text.splitlines()
    epoch, name, _released = header.split()
    rows = [line.split() for line in lines if not line.startswith(WMM_END_OF_FILE)]
    if len(rows) == len(lines):
        raise ValueError("the coefficient file has no closing line: it was cut short")
    expected = [(n, m) for n in range(1, WMM_DEGREE + 1) for m in range(n + 1)]
    _check_keys(rows, expected)
    main = np.zeros((WMM_DEGREE + 1, WMM_DEGREE + 1), dtype=np.complex128)
    change = np.zeros_like(main)
    for (n, m), row in zip(expected, rows, strict=True):
        g, h, g_change, h_change = (float(number) for number in row[2:])
        main[n, m] = complex(g, -h)
        change[n, m] = complex(g_change, -h_change)
    first_year = int(float(epoch))
    return MagneticModel(
        name=name.replace("-", ""),
        first_date=datetime.date(first_year, 1, 1),
        last_date=datetime.date(first_year + WMM_YEARS_HELD - 1, 12, 31),
        stretches=(Stretch(float(first_year), float(epoch), main, change),),
        declination_error=WMM_DECLINATION_ERROR,
    )


def read_igrf14(text: str) -> MagneticModel:
    """The 14th generation of the International Geomagnetic Reference Field from the text of its file.

    Between the years of two models the coefficients change evenly with the decimal year, and from the last of them on by
    the secular variation that is forecast, as in the official program, igrf14syn. The file's last column is that forecast.

    Raises
    ------
    ValueError
        A row is missing, doubled, out of order or of another length, or the years are not those of the 14th generation.
    """
    _sizes, years, *lines = [line for line in text.splitlines() if not line.startswith(IGRF_COMMENT)]
    knots = tuple(float(year) for year in years.split())
    if knots != IGRF14_KNOTS:
        raise ValueError("the coefficients are not those of the years 1900 to 2030, every five")
    rows = [line.split() for line in lines]
    # An order below 0 marks h of that order.
    keys = [(n, m) for n in range(1, IGRF_DEGREE + 1) for o in range(n + 1) for m in ((o, -o) if o else (o,))]
    _check_keys(rows, keys)
    at_knots = np.zeros((len(knots), IGRF_DEGREE + 1, IGRF_DEGREE + 1), dtype=np.complex128)
    for (n, m), row in zip(keys, rows, strict=True):
        values = np.array([float(number) for number in row[2:]])
        if values.shape != (len(knots),):
            raise ValueError(f"the coefficients of degree {n}, order {m} are not {len(knots)}")
        at_knots[:, n, abs(m)] += values if m >= 0 else -1j * values
    return MagneticModel(
        name="IGRF-14",
        first_date=datetime.date(int(knots[0]), 1, 1),
        last_date=datetime.date(int(knots[-1]) - 1, 12, 31),
        stretches=tuple(
            _stretch(first, last, *pair)
            for (first, last), pair in zip(pairwise(knots), pairwise(at_knots), strict=True)
        ),
        declination_error=DeclinationError(
            surroundings_deg_nt=float(np.degrees(IGRF_EAST_SD_NT)),
            core_years=IGRF_CORE_YEARS,
            core_deg_nt=tuple(np.degrees(IGRF_CORE_EAST_NT).tolist()),
        ),
    )


def _stretch(
    first: float, last: float, at_first: NDArray[np.complex128], at_last: NDArray[np.complex128]
) -> Stretch:
    """From one model to the next; degrees that neither has are left away, which is a third less work before 1995."""
    degree = int(np.flatnonzero((at_first != 0).any(axis=1) | (at_last != 0).any(axis=1))[-1])
    kept = slice(degree + 1)
    main = at_first[kept, kept]
    return Stretch(first, first, main, (at_last[kept, kept] - main) / (last - first))


def _check_keys(rows: list[list[str]], expected: list[tuple[int, int]]) -> None:
    if [(int(row[0]), int(row[1])) for row in rows] != expected:
        raise ValueError(
            f"the coefficients are not those of degrees 1 to {expected[-1][0]}, each once and in order"
        )


def _file_text(name: str) -> str:
    return resources.files("threenorths_service.navmath").joinpath("data", name).read_text(encoding="ascii")
