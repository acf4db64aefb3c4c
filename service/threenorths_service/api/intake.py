"""Taking in the body of a batch: whole, before anything is answered, to disk beyond a small size, its compression undone.

An answer that began while the body still came would block every client that writes before it reads.
"""

from __future__ import annotations

import tempfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO

import pyarrow as pa
from flask import Request

from .problems import BadBodyError
from .zstd_frames import BoundedFrames

__all__ = ["CODINGS", "MAX_BATCH_BYTES", "TakenIn", "take_in"]

#: A batch may not be larger, as it is sent and as it is once its compression is undone. [byte]
MAX_BATCH_BYTES = 4 << 30
#: Up to this size a batch is kept in memory. [byte]
IN_MEMORY_BYTES = 4 << 20
#: From this size on, a body may not be more than `MOST_EXPANSION` times what was sent. [byte]
EXPANSION_BYTES = 64 << 20
#: Rows of figures shrink to a tenth at best; nothing but a trap to a hundredth.
MOST_EXPANSION = 100
PIECE_BYTES = 1 << 18
SMALL_PIECE_BYTES = 1 << 13
_AS_GZIP = 31

#: The compressions that are known, both ways.
CODINGS = ("gzip", "zstd")


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A body that was taken in. ``cut`` says why it ends before its end, if it does."""

    file: BinaryIO
    cut: str | None


class _BreaksOffError(Exception):
    """The compression does not go on as it should."""


class _Counted:
    """The body as it comes, with a count of what came."""

    closed = False

    def __init__(self, stream: Any) -> None:
        self._stream = stream
        self.count = 0

    def read(self, size: int = -1) -> bytes:
        piece: bytes = self._stream.read(PIECE_BYTES if size < 0 else size)
        self.count += len(piece)
        return piece

    def readable(self) -> bool:
        return True

    def close(self) -> None:
        """The server closes it."""


def take_in(request: Request) -> TakenIn:
    """The body of a request. The caller closes the file.

    Raises `BadBodyError` for an empty body, one shorter than its stated length, an unknown compression, one that wants too
    large a window, and one that grows too large once it is undone. werkzeug raises for one that is too large as it is sent.
    """
    coding = request.headers.get("Content-Encoding", "identity").lower()
    if coding not in (*CODINGS, "identity"):
        raise BadBodyError(
            "unsupported_media_type",
            f"the body is coded as {coding}, not as {', '.join(CODINGS)} or as it is",
        )
    request.max_content_length = MAX_BATCH_BYTES
    counted = _Counted(request.stream)
    file: BinaryIO = tempfile.SpooledTemporaryFile(IN_MEMORY_BYTES)  # type: ignore[assignment] # noqa: SIM115 - a file but in name, and outlives this
    try:
        cut = _spool(counted, coding, file)
        if request.content_length is not None and counted.count < request.content_length:
            raise BadBodyError("bad_request", "the body ended before its stated length")
    except BaseException:
        file.close()
        raise
    return TakenIn(file, cut)


def _spool(counted: _Counted, coding: str, file: BinaryIO) -> str | None:
    """Write the body into the file; why it broke off, if it did."""
    size = 0
    cut = None
    try:
        for piece in _pieces(counted, coding):
            size += len(piece)
            most = max(EXPANSION_BYTES, MOST_EXPANSION * counted.count)
            if size > MAX_BATCH_BYTES or (coding != "identity" and size > most):
                raise BadBodyError(
                    "too_large", f"the body has more than {min(most, MAX_BATCH_BYTES)} bytes once unpacked"
                )
            file.write(piece)
    except _BreaksOffError as error:
        cut = f"the {coding} compression breaks off: {error}"
        while counted.read():  # the rest has to be read, or the connection cannot be used again
            pass
    if size == 0:
        raise BadBodyError(
            "empty_body" if counted.count == 0 else "bad_request", cut or "the request has no body"
        )
    return cut


def _pieces(counted: _Counted, coding: str) -> Iterator[bytes]:
    if coding == "gzip":
        yield from _gunzipped(counted)
        return
    if coding == "identity":
        while piece := counted.read(PIECE_BYTES):
            yield piece
        return
    source = pa.CompressedInputStream(pa.PythonFile(BoundedFrames(counted), mode="r"), coding)
    while True:
        try:
            # What is decoded in a call that meets the break is lost with it.
            piece = source.read(SMALL_PIECE_BYTES)
        except OSError as error:
            raise _BreaksOffError(str(error)) from None
        if not piece:
            return
        yield piece


def _gunzipped(counted: _Counted) -> Iterator[bytes]:
    """The members of a gzip file (RFC 1952), of one that breaks off as much as there is. Raises `_BreaksOffError` there."""
    unpacker = zlib.decompressobj(_AS_GZIP)
    while data := counted.read():
        while data:
            if unpacker.eof:
                unpacker = zlib.decompressobj(_AS_GZIP)
            try:
                yield unpacker.decompress(data, PIECE_BYTES)
            except zlib.error as error:
                raise _BreaksOffError(str(error)) from None
            data = unpacker.unused_data if unpacker.eof else unpacker.unconsumed_tail
    if not unpacker.eof:
        raise _BreaksOffError("it ends before its end")
