"""MGRS grid references, read and written, all rows at once.

A reference names a square. It is written by truncation, and read as the square with a point that stands for it: its
centre, or where the edge of the grid zone cuts the centre off, the point nearest to it inside the zone. So what is
read, and written again to the same number of digits, is the same reference.

Source: DMA TM 8358.1, "Datums, Ellipsoids, Grids, and Grid Reference Systems", 1990, chapter 3 (from memory; the tests
check published references, and every square against an independent library).
"""

from __future__ import annotations

from .mgrs_letters import Lettering, lettering_of
from .mgrs_reading import MgrsSquares, read_mgrs, read_mgrs_joined, read_mgrs_text, square_corners
from .mgrs_status import MgrsStatus, mgrs_error
from .mgrs_writing import spaced_mgrs, write_mgrs, write_mgrs_from_grid

__all__ = [
    "Lettering",
    "MgrsSquares",
    "MgrsStatus",
    "lettering_of",
    "mgrs_error",
    "read_mgrs",
    "read_mgrs_joined",
    "read_mgrs_text",
    "spaced_mgrs",
    "square_corners",
    "write_mgrs",
    "write_mgrs_from_grid",
]
