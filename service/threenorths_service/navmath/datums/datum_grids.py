"""Shift grids that an operator has provided: which files are there.

A grid is a file of the PROJ data packages (GeoTIFF, ``.tif``) or the NTv2 file of the mapping agency (``.gsb``). It is
looked for by its name in the folders of the environment variable ``PROJ_DATA``, in pyproj's own data folder, and in
pyproj's folder of the user (``PROJ_USER_WRITABLE_DIRECTORY`` moves that). Nothing is ever fetched: an operation whose grids
are not all there is passed over, as is a file that cannot be read as a grid. What was found is remembered until the process
ends. Only grids are taken from ``PROJ_DATA``: a folder of another release of PROJ does no harm.
"""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

from pyproj import Transformer
from pyproj.datadir import get_data_dir, get_user_data_dir  # type: ignore[attr-defined]  # pyproj re-exports it untold
from pyproj.exceptions import ProjError

__all__ = ["grid_path", "in_pipeline"]


def in_pipeline(path: Path) -> str:
    """The path of a grid as a pipeline has it."""
    return f'"{path}"'


def _folders() -> tuple[Path, ...]:
    places = (os.environ.get("PROJ_DATA", ""), get_data_dir(), get_user_data_dir())
    return tuple(Path(folder) for place in places for folder in place.split(os.pathsep) if folder)


def _is_grid(path: Path) -> bool:
    if not path.is_file():
        return False
    try:
        Transformer.from_pipeline(f"+proj=hgridshift +grids={in_pipeline(path)}")
    except ProjError:
        return False
    return True


@cache
def grid_path(names: tuple[str, ...]) -> Path | None:
    """The file of a grid, by the first of its ``names`` that stands in a folder; ``None`` where there is none."""
    candidates = (folder.absolute() / name for folder in _folders() for name in names)
    return next(filter(_is_grid, candidates), None)
