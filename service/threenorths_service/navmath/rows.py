"""Rows: scalars and arrays that broadcast, worked on as arrays of one dimension."""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["BoolArray", "IntArray", "as_rows", "in_shape"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
Shape = tuple[int, ...]
Scalar = TypeVar("Scalar", bound=np.generic)


def as_rows(*values: ArrayLike) -> tuple[list[NDArray[Any]], Shape]:
    """The values as arrays of one dimension and equal length, and the shape they broadcast to."""
    arrays = [np.asarray(value, dtype=np.float64) for value in values]
    shape = arrays[0].shape
    if any(array.shape != shape for array in arrays):
        arrays = list(np.broadcast_arrays(*arrays))
        shape = arrays[0].shape
    return [array.reshape(-1) for array in arrays], shape


def in_shape(rows: NDArray[Scalar], shape: Shape) -> NDArray[Scalar]:
    """Rows brought back into the shape of the input: a numpy scalar for scalar input."""
    return rows.reshape(shape)[()]
