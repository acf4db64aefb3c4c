"""Numbers of an answer rounded as `operations.fields.Rounded` rounds one, all rows at once."""

from __future__ import annotations

import numpy as np

from ..navmath.angle import FloatArray

__all__ = ["rounded"]


def rounded(values: FloatArray, places: int, circle: float | None = None) -> FloatArray:
    """Each value as Python's ``round`` has it, never -0.0; with ``circle``, what comes out as the full circle is 0.

    A double times a power of ten is off by half a unit of its last place, which decides only where the product lies
    midway between two whole numbers but for as much. Those rows, one in thousands, are rounded one by one. The quotient of
    a whole number and a power of ten to 22 is the double nearest to that decimal: what ``round`` gives.
    """
    factor = 10.0**places
    scaled = values * factor
    whole = np.rint(scaled)
    answer: FloatArray = whole / factor
    off_midway = np.abs(np.abs(scaled - whole) - 0.5)
    # Beyond 2^52 there is nothing after the point, and the product would no longer be whole.
    doubtful = np.flatnonzero((off_midway <= 2.0 * np.spacing(np.abs(scaled))) | (np.abs(scaled) >= 2.0**52))
    if doubtful.size:
        answer[doubtful] = [round(value, places) for value in values[doubtful].tolist()]
    answer += 0.0
    if circle is not None:
        answer[answer == circle] = 0.0
    return answer
