"""How many different names the lines of a stream of JSON have, found by a look at their bytes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np

__all__ = ["Names"]

#: More are looked for by an expression, which is faster than to count each.
FEW = 32
#: A text, and the colon that makes it a name. Each text is gone over as a whole, so that none is taken to begin at its end.
_TEXT = re.compile(rb'"((?:[^"\\\n]|\\.)*+)"(\s*+:)?')
#: What could end a name otherwise than a quote and a colon do, or hide where it begins; each behind a byte of it, which is
#: looked for faster.
_OTHERWISE = ((b" ", b'" '), (b"\t", b'"\t'), (b"\r", b'"\r'), (b"\\", b'\\"'))


class Names:
    """The names that were seen in a stream so far."""

    def __init__(self) -> None:
        self._seen: set[bytes] = set()

    def most(self, block: bytes, first: dict[str, Any]) -> int:
        """How many different names the lines of a block have, those within their members too; a few may be too many.

        Mostly lines have the names of ``first``, the first line's object, and of lines before, which is told by counting.
        """
        if len(self._seen) <= FEW:
            self._seen.update(_names_of(first))
        if len(self._seen) <= FEW and not any(byte in block and mark in block for byte, mark in _OTHERWISE):
            known = sum(block.count(b'"%s":' % name) for name in self._seen)
            if known == _ends(block):
                return len(self._seen)
        found = {name for name, colon in _TEXT.findall(block) if colon}
        if len(self._seen) <= FEW:
            self._seen |= found
        return len(found)


def _ends(block: bytes) -> int:
    """How often a quote stands before a colon."""
    marks = np.frombuffer(block, dtype=np.uint8)
    return int(np.count_nonzero((marks[:-1] == ord('"')) & (marks[1:] == ord(":"))))


def _names_of(value: Any) -> Iterator[bytes]:
    if isinstance(value, dict):
        for name, below in value.items():
            yield name.encode()
            yield from _names_of(below)
    elif isinstance(value, list):
        for below in value:
            yield from _names_of(below)
