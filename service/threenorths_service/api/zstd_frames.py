"""The frames of a zstd body followed as they come, so that none is decoded whose window takes too much memory.

pyarrow's decoder takes windows of 128 MiB and can be told no less; it takes frames from before RFC 8878 too, with windows of
their own. Source: RFC 8878 section 3.1, and RFC 9659 for the bound.
"""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

from .problems import BadBodyError

__all__ = ["MOST_WINDOW_BYTES", "BoundedFrames"]

#: Over HTTP a frame may not need a larger window, says RFC 9659; zstd makes larger ones from level 20 on, and by ``--long``.
#: [byte]
MOST_WINDOW_BYTES = 8 << 20

_MAGIC = 0xFD2FB528
_SKIPPABLE = range(0x184D2A50, 0x184D2A60)
#: The kind of a block that holds one byte, however often it stands for it.
_REPEATED = 1
#: Bytes of the content's size, and of the dictionary's number, by their flags.
_SIZE_BYTES, _DICTIONARY_BYTES = (0, 2, 4, 8), (0, 1, 2, 4)


class BoundedFrames:
    """A zstd body as it comes, as a file to pyarrow.

    Reading raises `BadBodyError` before a frame whose window is too large, and OSError before what is no frame; what comes
    before is given first.
    """

    closed = False

    def __init__(self, stream: Any) -> None:
        self._stream = stream
        self._frames = _frames()
        self._wanted = next(self._frames)
        self._seen = bytearray()
        self._wrong: Exception | None = None

    def read(self, size: int = -1) -> bytes:
        """The next bytes, about ``size``."""
        if self._wrong is not None:
            raise self._wrong
        piece: bytes = self._stream.read(size)
        whole = self._follow(piece)
        if self._wrong is None:
            return piece
        if whole == 0:  # nothing would be the end of the body
            raise self._wrong
        return piece[:whole]

    def readable(self) -> bool:
        """As files are asked."""
        return True

    def close(self) -> None:
        """The body is closed by others."""

    def _follow(self, piece: bytes) -> int:
        """How much of the piece may be decoded: up to the header of a frame that may not, all if there is none."""
        at = whole = 0
        while at < len(piece):
            if self._wanted < 0:
                step = min(-self._wanted, len(piece) - at)
                self._wanted += step
                at += step
                if self._wanted < 0:
                    break
            else:
                step = self._wanted - len(self._seen)
                self._seen += piece[at : at + step]
                at += step
                if len(self._seen) < self._wanted:
                    break
            try:
                self._wanted = self._frames.send(bytes(self._seen))
            except (OSError, BadBodyError) as error:
                self._wrong = error
                return whole
            self._seen.clear()
            whole = at
        return len(piece)


def _frames() -> Generator[int, bytes]:
    """Yields how many bytes it wants to see next, and is sent them; less than 0 if it only wants them gone by."""
    while True:
        magic = int.from_bytes((yield 4), "little")
        if magic in _SKIPPABLE:
            yield -int.from_bytes((yield 4), "little")
            continue
        if magic != _MAGIC:
            raise OSError("what comes is no frame of zstd")
        (flags,) = yield 1
        single, checksum = bool(flags & 32), bool(flags & 4)
        size_bytes = _SIZE_BYTES[flags >> 6] or int(single)
        before = int(not single) + _DICTIONARY_BYTES[flags & 3]
        fields = yield before + size_bytes
        # A single segment is its own window. That a size of 2 bytes counts from 256 makes no difference here.
        stated = int.from_bytes(fields[before:], "little")
        window = stated if single else (8 + (fields[0] & 7)) << (7 + (fields[0] >> 3))
        if window > MOST_WINDOW_BYTES:
            raise BadBodyError(
                "bad_request",
                f"the zstd compression needs a window of {-(-window >> 20)} MiB, and {MOST_WINDOW_BYTES >> 20} MiB are the "
                "most over HTTP (RFC 9659): compress with a level up to 19, without long distances",
            )
        last = False
        while not last:
            block = int.from_bytes((yield 3), "little")
            last, kind, size = bool(block & 1), block >> 1 & 3, block >> 3
            yield -(1 if kind == _REPEATED else size)
        if checksum:
            yield -4
