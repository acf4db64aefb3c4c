"""The service itself: which version runs, and whether it is ready."""

from __future__ import annotations

from dataclasses import dataclass

from .caller import Operations
from .errors import ServiceError

__all__ = ["ServiceOperations"]


@dataclass(frozen=True, slots=True)
class _Version:
    version: str


@dataclass(frozen=True, slots=True)
class _Status:
    status: str


class ServiceOperations(Operations):
    """``client.service``"""

    def version(self) -> str:
        """The version of the service that answers."""
        return self._get(_Version, "/version").version

    def ready(self) -> bool:
        """Whether the service can answer: it is asked to compute known answers.

        Raises `TransportError` where there is no service to ask.
        """
        try:
            return self._get(_Status, "/readyz").status == "ready"
        except ServiceError:
            return False
