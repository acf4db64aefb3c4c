"""Whole numbers written in figures, a column of them at once: read, and written with a fixed number of digits."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from ..rows import IntArray

__all__ = ["figures_of", "numbers_of"]


def numbers_of(figures: NDArray[np.str_], most_digits: int) -> tuple[IntArray, IntArray]:
    """The number that each text is, 0 for an empty one, and how many figures it has: -1 where it is none, or too long.

    Only the figures 0 to 9 count, for a text in other alphabets' figures was not read by the reader of this one.
    """
    longest = int(figures.dtype.itemsize // 4)
    codes = np.ascontiguousarray(figures).view(np.uint32).reshape(len(figures), longest).astype(np.int64)
    is_figure = (codes >= ord("0")) & (codes <= ord("9"))
    digits = np.count_nonzero(is_figure, axis=1)
    number = np.zeros(len(figures), dtype=np.int64)
    for place in range(min(longest, most_digits)):
        number = np.where(is_figure[:, place], number * 10 + codes[:, place] - ord("0"), number)
    bad = (digits > most_digits) | (digits != np.strings.str_len(figures))
    return number, np.where(bad, -1, digits)


@cache
def figures_of(digits: int) -> NDArray[np.str_]:
    """Every number of so many digits, in order, with leading zeros."""
    return np.strings.zfill(np.arange(10**digits).astype(f"U{digits}"), digits)
