"""Batches in process and on a cluster: record batches or frames in, the same with their answers out.

`answer_batches` is what Spark calls on the record batches of a partition (``mapInArrow``), and `answer_frame` what Dask calls
on a partition (``map_partitions``). Both run the plan that the endpoint of batches runs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from .arrow_rows import TableColumns
from .asked import members_of_values, plan_asked
from .catalogue import BATCHED
from .chunks import ROWS_AT_ONCE
from .written import TableSchema

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["answer_batches", "answer_frame", "answer_schema", "answer_table"]


def answer_batches(
    operation: str,
    batches: Iterable[pa.RecordBatch],
    *,
    columns: Sequence[str] | None = None,
    members: Mapping[str, Any] | None = None,
) -> Iterator[pa.RecordBatch]:
    """The record batches, of one schema, with the columns of the answers and the errors added.

    Parameters
    ----------
    operation : str
        Name of an operation of `catalogue.BATCHED`, such as ``"positions"``.
    batches : iterable of RecordBatch
        Columns named by the members' paths; the caller's own are carried through. Large ones are answered in parts.
    columns : sequence of str, optional
        The answer's members that are wanted, by path, or ``"all"``; by default the usual ones. Cautions always come too.
    members : mapping, optional
        Members that all rows have, by path; a row's own goes before. Each is of a type that its column might be of.

    Raises
    ------
    KeyError
        No batches are taken of the operation.
    BatchError
        The columns that are wanted, the members, or a column's name or type are wrong. What is wrong with a row is told in
        its columns ``error.…``.
    """
    plan = plan_asked(BATCHED[operation], columns)
    common = members_of_values(plan.operation, members or {})
    row, table, schema = 1, None, None
    for batch in batches:
        if table is None:
            table = TableColumns(plan.operation, common, batch.schema)
            schema = TableSchema(table.types, plan, plain=True)
        assert schema is not None  # noqa: S101 - it was made with the table
        for start in range(0, max(batch.num_rows, 1), ROWS_AT_ONCE):
            chunk = table.chunk(batch.slice(start, ROWS_AT_ONCE), row + start)
            yield schema.batch(chunk, plan.answer(chunk.rows))
        row += batch.num_rows


def answer_schema(operation: str, schema: pa.Schema, *, columns: Sequence[str] | None = None) -> pa.Schema:
    """The schema of what `answer_batches` gives for batches of ``schema``; parameters and errors are its own."""
    plan = plan_asked(BATCHED[operation], columns)
    return TableSchema(TableColumns(plan.operation, {}, schema).types, plan, plain=True).arrow


def answer_table(operation: str, table: pa.Table, **options: Any) -> pa.Table:
    """A table answered; parameters and errors are those of `answer_batches`."""
    schema = answer_schema(operation, table.schema, columns=options.get("columns"))
    return pa.Table.from_batches(answer_batches(operation, table.to_batches(), **options), schema)


def answer_frame(frame: pd.DataFrame, operation: str, **options: Any) -> pd.DataFrame:
    """A pandas frame with the columns of the answers and the errors added; its own and its index are as they were.

    Whole numbers and flags are of types that know nulls, whether there are any or not: a partition is like the others.
    Parameters and errors are those of `answer_batches`.
    """
    import pandas as pd

    answered = answer_table(operation, pa.Table.from_pandas(frame, preserve_index=False), **options)
    names = answered.column_names
    own = [name for name in names if name in frame.columns]
    nullable = {pa.int64(): pd.Int64Dtype(), pa.bool_(): pd.BooleanDtype()}
    added = answered.drop_columns(own).to_pandas(types_mapper=nullable.get)
    return frame[own].assign(**{name: added[name].array for name in added.columns})[names]
