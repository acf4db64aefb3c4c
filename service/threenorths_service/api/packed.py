"""The pieces of an answer compressed as they come."""

from __future__ import annotations

import zlib
from collections.abc import Iterator

import pyarrow as pa

from ..batch.sink import Sink

__all__ = ["packed"]

#: The fastest: what is sent once is not worth more.
LEVEL = 1
_AS_GZIP = 31


def packed(pieces: Iterator[bytes], coding: str) -> Iterator[bytes]:
    """The pieces in ``gzip`` or ``zstd``, each sent as soon as it is there."""
    return _gzip(pieces) if coding == "gzip" else _zstd(pieces)


def _gzip(pieces: Iterator[bytes]) -> Iterator[bytes]:
    packer = zlib.compressobj(LEVEL, zlib.DEFLATED, _AS_GZIP)
    for piece in pieces:
        yield packer.compress(piece) + packer.flush(zlib.Z_SYNC_FLUSH)
    yield packer.flush()


def _zstd(pieces: Iterator[bytes]) -> Iterator[bytes]:
    sink = Sink()
    stream = pa.CompressedOutputStream(pa.PythonFile(sink, mode="w"), "zstd")
    for piece in pieces:
        stream.write(piece)
        stream.flush()
        yield sink.taken()
    stream.close()
    yield sink.taken()
