"""The dates of a batch, of which there are few different ones."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from marshmallow import ValidationError

from ..navmath.angle import FloatArray
from ..navmath.magnetism.decimal_year import decimal_year
from ..operations.fields import DateText
from .rows import Rows

__all__ = ["date_texts", "years_of"]

_FIELD = DateText("A date.")


def years_of(rows: Rows, member: str = "date") -> FloatArray:
    """The decimal year of each row's date; NaN where it has none, or one that is no date."""
    return _by_text(rows, member)[0]


def date_texts(rows: Rows, member: str = "date") -> pa.Array:
    """The dates as they are echoed; null where there is none."""
    return _by_text(rows, member)[1]


def _by_text(rows: Rows, member: str) -> tuple[FloatArray, pa.Array]:
    coded = pc.dictionary_encode(rows.texts(member))
    years, echoed = [np.nan], [None]
    for text in coded.dictionary.to_pylist():
        try:
            date = _FIELD.deserialize(text)
        except ValidationError:
            years.append(np.nan)
            echoed.append(None)
            continue
        years.append(decimal_year(date))
        echoed.append(date.isoformat())
    places = np.asarray(coded.indices) + 1
    return np.array(years)[places], pa.array(echoed, pa.string()).take(pa.array(places))
