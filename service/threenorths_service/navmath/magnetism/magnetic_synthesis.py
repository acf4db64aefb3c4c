"""The vector of a magnetic model at places and dates: each row by the model and the years that its own date lies in.

The series is summed in Cartesian coordinates (`SolidHarmonics`), so the poles are places like any other; only the
last turn to local north, east and down uses the longitude given. At a pole, north and east are those of that
meridian.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..angle import FloatArray
from ..grids.ellipsoid import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS_M
from .magnetic_model import Stretch
from .solid_harmonics import SolidHarmonics, gradient_matrix

__all__ = ["REFERENCE_RADIUS_M", "StretchField", "local_vectors"]

#: The sphere that the coefficients refer to, the geomagnetic reference radius: WMM2025 technical report, and the IGRF.
REFERENCE_RADIUS_M = 6_371_200.0

#: Rows worked on at a time: measured. Fewer pay more for calls, more fall out of the processor's cache; and from 521
#: rows of degree 13 on OpenBLAS shares the product out over threads, which then wait for each other on a busy machine.
CHUNK_ROWS = 512

#: Elements that numpy may buffer. With no more than a chunk's it does not copy an array that is broadcast over orders,
#: which takes an eighth off the whole.
BUFFER_ELEMENTS = 512


#: As many as single requests have, for which to make room takes half as long as to sum them.
FEW_ROWS = 16


class _Kept(threading.local):
    """What one thread keeps, by degree and number of rows."""

    def __init__(self) -> None:
        self.harmonics: dict[tuple[int, int], SolidHarmonics] = {}


_KEPT = _Kept()


@dataclass(frozen=True)
class StretchField:
    """What turns harmonics into the field of one stretch of a model. Worked out when it is first asked for."""

    stretch: Stretch

    @cached_property
    def _matrix(self) -> FloatArray:
        """The main field above its annual change, along x, y and z; the field is the gradient's negative.

        Two rows of nothing make them eight, as which they are multiplied a quarter faster than as six.
        """
        main, change = gradient_matrix(self.stretch.main), gradient_matrix(self.stretch.change)
        return -np.concatenate((main, change, np.zeros((2, main.shape[1]))))

    def harmonics_of(self, rows: int) -> SolidHarmonics:
        """What `along_axes` sums, for so many rows at a time; each thread keeps its own for the usual numbers of rows."""
        degree = self.stretch.main.shape[0]
        if FEW_ROWS < rows != CHUNK_ROWS:
            return SolidHarmonics(degree, rows)
        kept = _KEPT.harmonics
        if (degree, rows) not in kept:
            kept[degree, rows] = SolidHarmonics(degree, rows)
        return kept[degree, rows]

    def along_axes(self, harmonics: FloatArray, decimal_year: FloatArray) -> FloatArray:
        """The field and its annual change along the Earth's axes, shape (2, 3, rows). [nT], [nT a year]

        ``harmonics`` are those of `harmonics_of` at places in units of `REFERENCE_RADIUS_M`.
        """
        field = (self._matrix @ harmonics)[:6].reshape(2, 3, -1)
        field[0] += (decimal_year - self.stretch.epoch) * field[1]
        return field


def local_vectors(
    rows: FloatArray, fields: tuple[StretchField, ...], field_of_row: NDArray[np.intp] | int, wanted: int
) -> FloatArray:
    """The field, and its annual change if two vectors are wanted, along local north, east and down.

    Parameters
    ----------
    rows : array, shape (4, rows)
        Geodetic latitude and longitude [degree], decimal year, height above the ellipsoid [metre].
    field_of_row : int array of shape (rows,), or an int
        Which of ``fields`` each row is of; or all rows.

    Returns
    -------
    array, shape (wanted, 3, rows)
        [nT], [nT a year].
    """
    vectors = np.empty((wanted, 3, rows.shape[1]))
    with _buffer_of(BUFFER_ELEMENTS):
        if isinstance(field_of_row, int):
            _fill(vectors, rows, fields[field_of_row])
        else:
            for field, members in _rows_by_field(field_of_row):
                of_field = np.empty((wanted, 3, members.size))
                _fill(of_field, rows.take(members, axis=1), fields[field])
                vectors[:, :, members] = of_field
    return vectors


def _fill(vectors: FloatArray, rows: FloatArray, field: StretchField) -> None:
    """Put the vectors of rows of one field into ``vectors``, shape (wanted, 3, rows).

    One row alone is multiplied and summed in another order by the libraries, which can turn its last digit. It goes beside
    itself, so that a place has the same field alone as among others.
    """
    count = rows.shape[1]
    if count == 1:
        beside = np.empty((*vectors.shape[:2], 2))
        _fill(beside, np.repeat(rows, 2, axis=1), field)
        vectors[...] = beside[:, :, :1]
        return
    # A last chunk of one row is taken together with the one before.
    starts = [start for start in range(0, count, CHUNK_ROWS) if start == 0 or start < count - 1]
    harmonics: SolidHarmonics | None = None
    for start, end in zip(starts, [*starts[1:], count], strict=True):
        if harmonics is None or harmonics.places != end - start:
            harmonics = field.harmonics_of(end - start)
        _chunk_vectors(rows[:, start:end], field, harmonics, vectors[:, :, start:end])


def _rows_by_field(field_of_row: NDArray[np.intp]) -> Iterator[tuple[int, NDArray[np.intp]]]:
    """Each field that rows are of, with those rows."""
    order = np.argsort(field_of_row, kind="stable")
    present, starts = np.unique(field_of_row[order], return_index=True)
    yield from zip(present.tolist(), np.split(order, starts[1:]), strict=True)


@contextmanager
def _buffer_of(elements: int) -> Iterator[None]:
    usual = np.setbufsize(elements)
    try:
        yield
    finally:
        np.setbufsize(usual)


def _chunk_vectors(
    rows: FloatArray, field: StretchField, harmonics: SolidHarmonics, vectors: FloatArray
) -> None:
    """`_fill` for so few rows that all stays in the processor's cache."""
    lat_deg, lon_deg, decimal_year, height_m = rows
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    sin_lat, cos_lat, sin_lon, cos_lon = np.sin(lat), np.cos(lat), np.sin(lon), np.cos(lon)
    normal = SEMI_MAJOR_AXIS_M / np.sqrt(1.0 - ECCENTRICITY_SQUARED * sin_lat * sin_lat)
    from_axis = (normal + height_m) * cos_lat / REFERENCE_RADIUS_M
    from_equator = (normal * (1.0 - ECCENTRICITY_SQUARED) + height_m) * sin_lat / REFERENCE_RADIUS_M
    summed = harmonics.at(from_axis * cos_lon, from_axis * sin_lon, from_equator)
    along = field.along_axes(summed, decimal_year)[: len(vectors)]
    along_x, along_y, along_z = along[:, 0], along[:, 1], along[:, 2]
    outward = cos_lon * along_x + sin_lon * along_y
    np.subtract(cos_lat * along_z, sin_lat * outward, out=vectors[:, 0])
    np.subtract(cos_lon * along_y, sin_lon * along_x, out=vectors[:, 1])
    np.subtract(-cos_lat * outward, sin_lat * along_z, out=vectors[:, 2])
