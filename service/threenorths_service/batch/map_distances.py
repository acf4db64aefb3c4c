"""Map distances in columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from marshmallow import ValidationError

from ..navmath.angle import FloatArray
from ..navmath.cautions import caution
from ..navmath.errors import LengthsInconsistentError, LengthsMissingError
from ..navmath.estimates.map_distance import lengths_possible, solve_map_distance
from ..navmath.rows import BoolArray
from ..operations.fields import LARGEST_SCALE, Number
from ..operations.map_distances import OPERATION, in_range, in_units, is_steep, lengths_of
from .caution_columns import said_column
from .columnar import Columnar, Plain
from .plain_members import Some, groups_of, number_in, numbers_in
from .rows import Rows

__all__ = ["MAP_DISTANCES"]

_NUMBERS = tuple(name for name, field in OPERATION.request.fields.items() if isinstance(field, Number))
_ANSWERS = tuple(name for name in OPERATION.answer.fields if name not in ("cautions", "working"))


@dataclass(frozen=True, slots=True)
class Distances:
    """The answers of all rows by member, NaN for what could not be told; and which slopes are steep."""

    plain: BoolArray
    columns: dict[str, FloatArray]
    steep: BoolArray


def answer(rows: Rows) -> Plain:
    """The distances of the rows."""
    rows = _with_scale_read(rows)
    numbers, plain = _numbers(rows)
    given = {name: rows.given(name) & plain for name in numbers}
    none = np.zeros(rows.count, dtype=np.bool_)
    found = Distances(plain, {name: np.full(rows.count, np.nan) for name in _ANSWERS}, none.copy())
    for present, some in groups_of(*given.values()) if given else ():
        names = [name for name, here in zip(given, present, strict=True) if here]
        _solve({name: numbers[name][some] for name in names}, some, found)
    if not given:
        plain[:] = False
    kinds = (
        (found.steep, caution("steep_gradient")),
        (given.get("paces_per_100_m", none), caution("paces_vary")),
    )
    return Plain(
        plain,
        {
            **{name: partial(found.columns.__getitem__, name) for name in _ANSWERS},
            "cautions": lambda: said_column(rows.count, {}, kinds),
        },
    )


def _with_scale_read(rows: Rows) -> Rows:
    """The rows with the scale as a number where it is written as on a sheet for all of them at once."""
    text = rows.common.get("scale")
    if not isinstance(text, str):
        return rows
    try:
        scale = OPERATION.request.fields["scale"].deserialize(text)
    except ValidationError:
        return rows
    return replace(rows, common={**rows.common, "scale": scale})


def _numbers(rows: Rows) -> tuple[dict[str, FloatArray], BoolArray]:
    """The numbers of each member that any row has, and which rows fit what the schema allows."""
    numbers: dict[str, FloatArray] = {}
    plain = np.ones(rows.count, dtype=np.bool_)
    if rows.has("scale"):
        numbers["scale"], own = numbers_in(rows, "scale")
        within = (numbers["scale"] >= 1.0) & (numbers["scale"] <= LARGEST_SCALE)
        plain &= own & (within | ~rows.given("scale"))
    for name in _NUMBERS:
        if rows.has(name):
            numbers[name], fits = number_in(rows, OPERATION.request, name)
            plain &= fits
    return numbers, plain


def _solve(request: Mapping[str, FloatArray], some: Some, found: Distances) -> None:
    """Put in what follows for some rows that all give the same members."""
    try:
        lengths = lengths_of(request)
        possible = np.broadcast_to(lengths_possible(**lengths), found.plain[some].shape)
        if not possible.all():
            found.plain[some] &= possible
            at = np.arange(found.plain.size)[some][possible]
            _solve({name: values[possible] for name, values in request.items()}, at, found)
            return
        solved = solve_map_distance(**lengths)
        with np.errstate(over="ignore"):  # of lengths out of range, which is looked at next
            answers = in_units(solved, request.get("paces_per_100_m"))
    except (LengthsInconsistentError, LengthsMissingError):
        found.plain[some] = False
        return
    fits = in_range(solved)
    found.plain[some] &= fits
    for name, values in answers.items():
        if values is not None:
            found.columns[name][some] = np.where(fits, values, np.nan)
    if solved.gradient is not None:
        found.steep[some] = is_steep(solved.gradient)


MAP_DISTANCES = Columnar(
    members=frozenset({"scale", *_NUMBERS}),
    usual=(
        "scale",
        "map_mm",
        "ground_m",
        "slope_m",
        "rise_m",
        "gradient_percent",
        "ground_paces",
        "cautions",
    ),
    answer=answer,
)
