"""Where Arrow writes to, so that what it wrote can be sent on piece by piece."""

from __future__ import annotations

import io
from typing import Any

__all__ = ["Sink"]


class Sink(io.RawIOBase):
    """A file in memory from which what was written is taken out."""

    def __init__(self) -> None:
        super().__init__()
        self._pieces: list[bytes] = []

    def writable(self) -> bool:
        """As files of Arrow are asked."""
        return True

    def write(self, data: Any) -> int:
        """Keep a copy of ``data`` until it is taken."""
        self._pieces.append(bytes(data))
        return len(self._pieces[-1])

    def taken(self) -> bytes:
        """What was written since the last time."""
        taken = b"".join(self._pieces)
        self._pieces.clear()
        return taken
