"""Lines of a stream of JSON, and the object that each is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, BinaryIO

import numpy as np
import orjson
import pyarrow as pa
import pyarrow.compute as pc

from ..navmath.rows import BoolArray, IntArray

__all__ = [
    "LONGEST_LINE_BYTES",
    "MOST_BRACKETS",
    "blocks_of",
    "brackets",
    "lines_of",
    "object_of",
    "shown",
    "why_no_object",
]

BLOCK_BYTES = 1 << 20
#: As long as the body of a single request may be.
LONGEST_LINE_BYTES = 1 << 20
QUOTED_CHARACTERS = 200
#: Of more, numpy counts a byte in a tenth of the time.
LONG_BYTES = 2000
BOM = b"\xef\xbb\xbf"
#: A line nested deeper is no row of anything; it would exhaust the stack of what reads it. With no more brackets than the
#: second, a line is not deep enough for that, however it is nested.
DEEPEST, MOST_BRACKETS = 100, 1000


def blocks_of(file: BinaryIO) -> Iterator[tuple[bytes, int, bool]]:
    """The stream in blocks of whole lines, with where each begins; and whether its last line is ended."""
    file.seek(0)
    offset, pending = 0, b""
    if file.read(len(BOM)) == BOM:
        offset = len(BOM)
    file.seek(offset)
    while True:
        more = file.read(BLOCK_BYTES)
        block = pending + more
        end = block.rfind(b"\n") + 1
        if not more:
            if block:
                yield block, offset, False
            return
        if len(block) - end > LONGEST_LINE_BYTES:
            if end:
                yield block[:end], offset, True
                offset += end
            # As much of it as is quoted; being cut, it is no object.
            yield block[end : end + QUOTED_CHARACTERS] + b"\n", offset, True
            skipped, pending = _rest_of_line(file)
            offset += len(block) - end + skipped
            continue
        pending = block[end:]
        if end:
            yield block[:end], offset, True
            offset += end


def _rest_of_line(file: BinaryIO) -> tuple[int, bytes]:
    """How much more belongs to a line, and what was read behind it."""
    skipped = 0
    while more := file.read(BLOCK_BYTES):
        end = more.find(b"\n") + 1
        if end:
            return skipped + end, more[end:]
        skipped += len(more)
    return skipped, b""


def lines_of(block: bytes) -> tuple[pa.BinaryArray, IntArray]:
    """The lines of a block that are not blank, without their ends, and where each begins."""
    starts, ends = _bounds(block)
    # No text of JSON has a line end in it, so that those of some systems can be made those of the others.
    plain = block.replace(b"\r\n", b"\n") if b"\r" in block else block
    bytes_, (firsts, behind) = np.frombuffer(plain, dtype=np.uint8), _bounds(plain)
    first, last = bytes_[np.minimum(firsts, len(plain) - 1)], bytes_[np.maximum(behind - 1, 0)]
    if np.all((first == ord("{")) & (last == ord("}"))):
        return _cut(plain, firsts, behind), starts
    texts = [block[start:end].strip() for start, end in zip(starts.tolist(), ends.tolist(), strict=True)]
    kept: BoolArray = np.array([bool(text) for text in texts], dtype=np.bool_)
    return pa.array([text for text in texts if text], pa.binary()), starts[kept]


def _bounds(block: bytes) -> tuple[IntArray, IntArray]:
    """Where each line begins, and where it ends."""
    ends = np.flatnonzero(np.frombuffer(block, dtype=np.uint8) == ord("\n"))
    if not block.endswith(b"\n"):
        ends = np.append(ends, len(block))
    return np.concatenate(([0], ends[:-1] + 1)), ends


def _cut(block: bytes, starts: IntArray, ends: IntArray) -> pa.BinaryArray:
    """The lines as one array over the block itself: each is followed by the byte that ends it, which is then cut off."""
    offsets = np.append(starts, ends[-1] + 1).astype(np.int32)
    padded = block if block.endswith(b"\n") else block + b"\n"
    whole = pa.Array.from_buffers(
        pa.binary(), len(starts), [None, pa.py_buffer(offsets), pa.py_buffer(padded)]
    )
    return pc.binary_slice(whole, 0, -1)


def shown(line: bytes) -> str:
    """As much of a line as is quoted in an error."""
    text = line.decode("utf-8", "replace")
    return text if len(text) <= QUOTED_CHARACTERS else f"{text[:QUOTED_CHARACTERS]}…"


def object_of(line: bytes) -> dict[str, Any] | None:
    """The line's object; ``None`` where it is none, or longer than a single request may be."""
    if len(line) > LONGEST_LINE_BYTES:
        return None
    try:
        value = orjson.loads(line)
    except orjson.JSONDecodeError:
        return None
    if not isinstance(value, dict) or (brackets(line) > DEEPEST and _is_deep(value)):
        return None
    return value


def why_no_object(line: bytes) -> str:
    """Why `object_of` has none."""
    if len(line) > LONGEST_LINE_BYTES:
        return f"the line is longer than {LONGEST_LINE_BYTES} bytes"
    try:
        value = orjson.loads(line)
    except orjson.JSONDecodeError as error:
        return f"the line is no JSON object: {error.msg} at its character {error.colno}"
    return (
        f"nested deeper than {DEEPEST}"
        if isinstance(value, dict)
        else "the line is no JSON object, but another value"
    )


def brackets(text: bytes) -> int:
    """How many objects and lists it opens, or has the marks of in its texts."""
    if len(text) < LONG_BYTES:
        return text.count(b"{") + text.count(b"[")
    marks = np.frombuffer(text, dtype=np.uint8)
    return int(np.count_nonzero(marks == ord("{"))) + int(np.count_nonzero(marks == ord("[")))


def _is_deep(value: Any) -> bool:
    """Whether it is nested deeper than `DEEPEST`."""
    level = [value]
    for _ in range(DEEPEST):
        level = [
            below
            for each in level
            if isinstance(each, (dict, list))
            for below in (each.values() if isinstance(each, dict) else each)
        ]
    return bool(level)
