"""Libraries that only some calls need, loaded when one is made. The client installs and imports without them."""

from __future__ import annotations

import importlib
from typing import Any

from .errors import ArgumentError

__all__ = ["library"]

#: The extra that brings pyarrow.
_EXTRA = "'threenorths[arrow]'"


def library(name: str, use: str) -> Any:
    """The module ``name``. Raises `ArgumentError`, saying what needs it and how to install it, where it is missing."""
    try:
        return importlib.import_module(name)
    except ImportError as error:
        package = name.partition(".")[0]
        wanted = _EXTRA if package == "pyarrow" else f"{_EXTRA} {package}"
        raise ArgumentError(f"{use} needs {package}, which is missing here: pip install {wanted}") from error
