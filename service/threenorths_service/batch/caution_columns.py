"""Cautions of many rows, most of which have none or all the same."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import orjson
import pyarrow as pa

from ..navmath.cautions import Caution
from ..navmath.rows import BoolArray
from .answers import JSON_TYPE

__all__ = ["Said", "cautions_text", "joined", "said_column"]

#: Cautions by row, in the order in which they are said.
Said = Mapping[int, list[Caution]]
_NOTHING: list[Caution] = []


def joined(*parts: Said) -> dict[int, list[Caution]]:
    """What several parts of an answer say, row by row, the first part first."""
    whole: dict[int, list[Caution]] = {}
    for part in parts:
        for row, said in part.items():
            whole[row] = [*whole[row], *said] if row in whole else said
    return whole


def said_column(
    count: int, said: Said, kinds: Iterable[tuple[BoolArray, Caution]] = (), then: Said | None = None
) -> pa.Array | str:
    """The column of cautions: what is ``said`` of a row, then those of the ``kinds`` that it is of, then what ``then`` says.

    A caution of a kind reads the same in every row, so that a row costs no more for it than one without.
    """
    kinds = [(mask, each) for mask, each in kinds if mask.any()]
    then = then or {}
    codes = np.zeros(count, dtype=np.int64)
    for place, (mask, _each) in enumerate(kinds):
        codes += mask.astype(np.int64) << place
    own = set(said) | set(then)
    if not own and (codes == codes[:1]).all():
        return cautions_text(_of_kind(kinds, int(codes[0]))) if count else "[]"
    texts = [cautions_text(_of_kind(kinds, code)) for code in range(1 << len(kinds))]
    # Rows that share their list of cautions, as many do, share its text.
    places: dict[tuple[int, int, int], int] = {}
    rows = np.fromiter(own, np.intp, len(own))
    for row, code in zip(rows.tolist(), codes[rows].tolist(), strict=True):
        before, after = said.get(row, _NOTHING), then.get(row, _NOTHING)
        key = (id(before), code, id(after))
        if key not in places:
            places[key] = len(texts)
            texts.append(cautions_text([*before, *_of_kind(kinds, code), *after]))
        codes[row] = places[key]
    return pa.ExtensionArray.from_storage(JSON_TYPE, pa.array(texts, pa.string()).take(pa.array(codes)))


def _of_kind(kinds: list[tuple[BoolArray, Caution]], code: int) -> list[Caution]:
    return [each for place, (_mask, each) in enumerate(kinds) if code >> place & 1]


def cautions_text(said: list[Caution]) -> str:
    """The cautions of a row as the JSON of an answer."""
    return orjson.dumps([{"code": each.code, "message": each.message} for each in said]).decode()
