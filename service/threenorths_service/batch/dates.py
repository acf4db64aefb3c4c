"""The dates of a batch, of which there are few different ones."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from marshmallow import ValidationError

from ..navmath.angle import FloatArray
from ..navmath.magnetism.decimal_year import decimal_year
from ..navmath.rows import IntArray
from ..operations.fields import DateText
from .rows import Rows

__all__ = ["date_texts", "years_of"]

_FIELD = DateText("A date.")
_LENGTH = len("2026-11-25")


def years_of(rows: Rows, member: str = "date") -> FloatArray:
    """The decimal year of each row's date; NaN where it has none, or one that is no date."""
    places, read = _by_text(rows, member)
    return np.array([np.nan, *(year for year, _text in read)])[places]


def date_texts(rows: Rows, member: str = "date") -> pa.Array:
    """The dates as they are echoed; null where there is none."""
    places, read = _by_text(rows, member)
    return pa.array([None, *(text for _year, text in read)], pa.string()).take(pa.array(places))


def _by_text(rows: Rows, member: str) -> tuple[IntArray, list[tuple[float, str | None]]]:
    """The number of each row's text, from 1, and what each text was read as."""
    coded = pc.dictionary_encode(rows.texts(member))
    # What is no date is not worth keeping, and a day that is today must not be kept for tomorrow.
    texts = coded.dictionary.to_pylist()
    read = [_read(text) if len(text) == _LENGTH else _read.__wrapped__(text) for text in texts]
    return np.asarray(coded.indices) + 1, read


@lru_cache(maxsize=100_000)
def _read(text: str) -> tuple[float, str | None]:
    """The decimal year of a date and the date as it is echoed; of what is no date, nothing."""
    try:
        date = _FIELD.deserialize(text)
    except ValidationError:
        return np.nan, None
    return decimal_year(date), date.isoformat()
