"""Shift grids that an operator has provided: which files are there.

A grid is a file of the PROJ data packages (GeoTIFF, ``.tif``) or the NTv2 file of the mapping agency (``.gsb``). It is
looked for by its name in the folders of the environment variable ``PROJ_DATA``, in pyproj's own data folder, and in
pyproj's folder of the user (``PROJ_USER_WRITABLE_DIRECTORY`` moves that). Nothing is ever fetched: an operation whose grids
are not all there is passed over. What was found is remembered until the process ends. Only grids are taken from
``PROJ_DATA``: a folder of another release of PROJ does no harm.
"""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

from pyproj.datadir import get_data_dir, get_user_data_dir  # type: ignore[attr-defined]

__all__ = ["grid_path"]


def _folders() -> tuple[Path, ...]:
    places = (os.environ.get("PROJ_DATA", ""), get_data_dir(), get_user_data_dir())
    return tuple(Path(folder) for place in places for folder in place.split(os.pathsep) if folder)


@cache
def grid_path(names: tuple[str, ...]) -> Path | None:
    """The file of a grid, by the first of its ``names`` that stands in a folder; ``None`` where there is none."""
    candidates = (folder / name for folder in _folders() for name in names)
    return next((path for path in candidates if path.is_file()), None)
