"""What the messages of an Arrow IPC stream take in memory, told by their heads: before a body is read and anything unpacked.

pyarrow reads a message whole and unpacks all its buffers, and can be given no bound. Only sizes are looked at here: whether a
message makes sense is for pyarrow to say.

Source: Arrow columnar format 1.5, "Serialization and Interprocess Communication (IPC)" with its parts "Encapsulated message
format" and "Compression"; the tables of Apache Arrow's ``format/Message.fbs`` and ``format/Schema.fbs``, laid out as
"FlatBuffers Internals" says.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import BinaryIO

__all__ = ["ArrowGauge", "MessageError"]

_CONTINUES = b"\xff\xff\xff\xff"
#: Kinds of `MessageHeader`.
_DICTIONARY, _RECORDS = 2, 3
#: How Arrow 0.17 said in its custom metadata that buffers are compressed, which pyarrow reads still, of this version alone.
_OLD_COMPRESSION, _OLD_VERSION = b"ARROW:experimental_compression", 3
_PAIR = struct.Struct("<qq")


class MessageError(Exception):
    """The head of a message is cut off, or points out of itself."""


@dataclass(frozen=True, slots=True)
class _Message:
    """A message as far as it matters here. ``taken`` is what it takes in memory. [byte]"""

    kind: int
    taken: int
    stop: int
    dictionary: int = 0
    is_delta: bool = False


class ArrowGauge:
    """How much memory the next record batch takes.

    Parameters
    ----------
    file : BinaryIO
        A stream of messages; its place is where the next begins, and is put back.
    most : int
        What is to be bounded by. [byte] Counting ends once it is exceeded.
    """

    def __init__(self, file: BinaryIO, most: int) -> None:
        self._file = file
        self._most = most
        #: What each dictionary takes that is kept, by its number.
        self._dictionaries: dict[int, int] = {}

    def message(self) -> int:
        """What the next message takes, whichever it is; 0 at the end. [byte] Raises `MessageError` for a malformed head."""
        start = self._file.tell()
        try:
            message = _next_message(self._file, self._most)
        finally:
            self._file.seek(start)
        return 0 if message is None else message.taken

    def record_batch(self) -> int:
        """What is taken once the next record batch is read, with all dictionaries so far; without one if none follows. [byte]

        To be asked once before each is read. Raises `MessageError` for a malformed head.
        """
        start = self._file.tell()
        kept = sum(self._dictionaries.values())
        try:
            while (message := _next_message(self._file, self._most)) is not None:
                if message.kind != _DICTIONARY or kept + message.taken > self._most:
                    return kept + message.taken
                before = self._dictionaries.get(message.dictionary, 0)
                self._dictionaries[message.dictionary] = message.taken + (before if message.is_delta else 0)
                kept += message.taken - (0 if message.is_delta else before)
                self._file.seek(message.stop)
        finally:
            self._file.seek(start)
        return kept


def _next_message(file: BinaryIO, most: int) -> _Message | None:
    """The message that begins here, or none at the end of the stream. The file is left anywhere."""
    mark = file.read(4)
    if not mark:
        return None
    if mark == _CONTINUES:  # else of a writer before Arrow 0.15, which begins with the length
        mark = file.read(4)
    if len(mark) < 4:
        raise MessageError("it ends within the length of a message's head")
    size = int.from_bytes(mark, "little", signed=True)
    if size == 0:
        return None
    if size < 0:
        raise MessageError(f"the head of a message has {size} bytes")
    if size > most:
        return _Message(0, size, file.tell() + size)
    head = file.read(size)
    if len(head) < size:
        raise MessageError("it ends within the head of a message")
    return _measured(head, file, most)


def _measured(head: bytes, file: BinaryIO, most: int) -> _Message:
    """The message of a head; the file is where its body begins."""
    begins = file.tell()
    root = _number(head, 0, 4)
    kind = _value(head, root, 1, 1)
    body = _value(head, root, 3, 8)
    if body < 0:
        raise MessageError(f"the body of a message has {body} bytes")
    stop = begins + body
    table = _pointed(head, root, 2)
    number, is_delta = 0, False
    if kind == _DICTIONARY and table is not None:
        number, is_delta = _value(head, table, 0, 8), bool(_value(head, table, 2, 1))
        table = _pointed(head, table, 1)
    if kind not in (_DICTIONARY, _RECORDS) or table is None or body > most:
        return _Message(kind, len(head) + body, stop, number, is_delta)
    values = max((length for length, _nulls in _pairs(head, table, 1)), default=0)
    buffers = _pairs(head, table, 2)
    stored = sum(max(length, 0) for _offset, length in buffers)
    unpacked = 0
    of_old = _value(head, root, 0, 2) == _OLD_VERSION and _OLD_COMPRESSION in head
    if of_old or _field(head, table, 3) is not None:
        unpacked = sum(_unpacked(file, begins, body, offset, length) for offset, length in buffers)
    # Buffers may lie over each other, and are copied where the byte order is another. A null takes no byte until it is
    # written out.
    taken = max(len(head) + max(body, stored) + unpacked, values)
    return _Message(kind, taken, stop, number, is_delta)


def _unpacked(file: BinaryIO, begins: int, body: int, offset: int, length: int) -> int:
    """What a compressed buffer becomes: its first 8 bytes say it, or -1 that it is not compressed. [byte]"""
    if length < 8:
        return 0
    if not 0 <= offset <= body - 8:
        raise MessageError(f"a buffer lies at byte {offset} of a body of {body}")
    file.seek(begins + offset)
    return max(int.from_bytes(file.read(8), "little", signed=True), 0)


def _number(head: bytes, at: int, size: int, *, signed: bool = False) -> int:
    """The whole number of ``size`` bytes at a place of the head. Raises `MessageError` outside of it."""
    if not 0 <= at <= len(head) - size:
        raise MessageError("the head of a message points out of itself")
    return int.from_bytes(head[at : at + size], "little", signed=signed)


def _field(head: bytes, table: int, slot: int) -> int | None:
    """Where the field of a table stands, if it has it: its vtable lists the offsets behind its own size and the table's."""
    vtable = table - _number(head, table, 4, signed=True)
    entry = 4 + 2 * slot
    if entry >= _number(head, vtable, 2):
        return None
    offset = _number(head, vtable + entry, 2)
    return table + offset if offset else None


def _value(head: bytes, table: int, slot: int, size: int) -> int:
    """The whole number of a field; 0 if the table has it not."""
    at = _field(head, table, slot)
    return 0 if at is None else _number(head, at, size, signed=True)


def _pointed(head: bytes, table: int, slot: int) -> int | None:
    """Where that stands which a field points at."""
    at = _field(head, table, slot)
    return None if at is None else at + _number(head, at, 4)


def _pairs(head: bytes, table: int, slot: int) -> list[tuple[int, int]]:
    """A vector of structures of two whole numbers of 8 bytes; none if the table has it not."""
    at = _pointed(head, table, slot)
    if at is None:
        return []
    start = at + 4
    stop = start + _PAIR.size * _number(head, at, 4)
    if stop > len(head):
        raise MessageError("the head of a message points out of itself")
    return [(first, second) for first, second in _PAIR.iter_unpack(head[start:stop])]
