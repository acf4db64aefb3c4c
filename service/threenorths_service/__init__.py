"""Navigation mathematics for map and compass, and the HTTP service that answers with it."""

from importlib.metadata import version

__all__ = ["__version__"]

__version__: str = version("threenorths")
