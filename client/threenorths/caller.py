"""What every group of operations asks the service through."""

from __future__ import annotations

from typing import Any, TypeVar

from .replies import read_answer, read_feature
from .to_json import encode
from .transport import GEOJSON, Transport

__all__ = ["Operations"]

Result = TypeVar("Result")


class Operations:
    """Base of the groups: one path of the service."""

    def __init__(self, transport: Transport) -> None:
        self._transport = transport

    def _ask(self, kind: type[Result], operation: str, members: dict[str, Any]) -> Result:
        """Send ``members`` to ``/v1/<operation>`` and read the answer as a ``kind``.

        Raises `ArgumentError`, `TransportError`, `ResponseError` or `ApiError`.
        """
        return read_answer(kind, self._transport.send("POST", f"/v1/{operation}", encode(members)))

    def _ask_feature(self, operation: str, members: dict[str, Any]) -> dict[str, Any]:
        """The same answered as a GeoJSON feature; errors are those of `_ask`."""
        body = encode(members)
        return read_feature(self._transport.send("POST", f"/v1/{operation}", body, accept=GEOJSON))

    def _get(self, kind: type[Result], path: str) -> Result:
        return read_answer(kind, self._transport.send("GET", path))
