"""Batches in process: record batches as Spark's ``mapInArrow`` hands them over, and frames as Dask's ``map_partitions`` does.

Spark itself is not among what the tests install, for it needs Java: what is tested is what it promises to call with, an
iterator over the record batches of a partition, and what it wants back, record batches of the schema that it was told.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

from frame_rows import ROWS, TABLES, answered_over_http, norths, positions
from threenorths_service.batch.catalogue import BATCHED
from threenorths_service.batch.chunks import ROWS_AT_ONCE
from threenorths_service.batch.faults import FAULT_TYPES, BatchError
from threenorths_service.batch.frames import answer_batches, answer_frame, answer_schema, answer_table

LAT_LON = ("lat_deg", "lon_deg")


def in_batches(table: pa.Table, *sizes: int) -> Iterator[pa.RecordBatch]:
    """The table as an iterator over record batches of these sizes, and one of what is left."""
    whole = table.combine_chunks().to_batches()[0]
    start = 0
    for size in (*sizes, table.num_rows - sum(sizes)):
        yield whole.slice(start, size)
        start += size


@pytest.mark.parametrize("operation", TABLES)
def test_record_batches_of_any_size_are_answered_as_the_whole_table_is(operation):
    table = TABLES[operation]()
    whole = answer_table(operation, table)
    faults = whole["error.code"].drop_null()
    assert 0 < len(faults) < ROWS, "good rows and bad ones"
    promised = answer_schema(operation, table.schema)
    answered = list(answer_batches(operation, in_batches(table, 1, 0, 40, 7)))
    assert [batch.num_rows for batch in answered] == [1, 0, 40, 7, ROWS - 48]
    for batch in answered:
        assert batch.schema.equals(promised)
        batch.validate(full=True)
    assert pa.Table.from_batches(answered).equals(whole)
    # Rows count through the partition.
    bad = np.flatnonzero(whole["error.code"].is_valid().to_numpy())
    assert whole["error.row"].drop_null().to_pylist() == (bad + 1).tolist()


@pytest.mark.parametrize("operation", TABLES)
def test_a_table_is_answered_as_the_endpoint_answers_its_stream(operation):
    table = TABLES[operation]()
    query = "summary=false" if operation == "checks" else ""
    assert answered_over_http(operation, table, query).equals(answer_table(operation, table))


@pytest.mark.parametrize("operation", BATCHED)
def test_the_schema_is_that_of_the_answers_with_plain_types_for_every_operation(operation):
    table = pa.table({"id": pa.array([7], pa.int32()), "note": ["top"]})
    promised = answer_schema(operation, table.schema)
    answered = answer_table(operation, table)
    assert answered.schema.equals(promised)
    assert promised.names[:2] == ["id", "note"]
    assert promised.names[-len(FAULT_TYPES) :] == list(FAULT_TYPES)
    assert not [field for field in promised if isinstance(field.type, pa.BaseExtensionType)]
    assert answered["error.code"].null_count == 0  # a row with no member at all


def test_a_partition_without_batches_or_without_rows_has_an_answer_without_rows():
    schema = positions().schema
    assert list(answer_batches("positions", iter(()))) == []
    (empty,) = answer_batches("positions", iter([pa.RecordBatch.from_pylist([], schema)]))
    assert empty.num_rows == 0
    assert empty.schema.equals(answer_schema("positions", schema))
    assert answer_table("positions", positions().slice(0, 0)).schema.equals(empty.schema)


def test_a_batch_is_answered_before_the_next_is_asked_for():
    taken = []

    def batches() -> Iterator[pa.RecordBatch]:
        for place, batch in enumerate(in_batches(positions(), 10, 10)):
            taken.append(place)
            yield batch

    answered = answer_batches("positions", batches(), columns=LAT_LON)
    assert taken == []
    next(answered)
    assert taken == [0]


def test_a_large_batch_is_answered_in_parts_and_counts_on():
    rows = ROWS_AT_ONCE + 10
    (batch,) = pa.table(
        {"position.lat_deg": np.full(rows, 61.5), "position.lon_deg": np.linspace(8.0, 9.0, rows)}
    ).to_batches()
    batch = pa.RecordBatch.from_arrays(
        [pa.array([*[61.5] * (rows - 1), 91.0]), batch.column(1)], batch.schema.names
    )
    parts = list(answer_batches("positions", [batch], columns=LAT_LON))
    assert [part.num_rows for part in parts] == [ROWS_AT_ONCE, 10]
    assert parts[-1]["error.row"].drop_null().to_pylist() == [rows]


# What is wrong with a batch as a whole, by its name.


def test_an_unknown_operation_and_an_unknown_column_of_its_answer_are_named():
    for call in (
        answer_table,
        lambda name, table, **options: answer_frame(table.to_pandas(), name, **options),
    ):
        with pytest.raises(KeyError, match="bearing_checks"):
            call("bearing_checks", positions())
        with pytest.raises(BatchError, match="latitude") as caught:
            call("positions", positions(), columns=["latitude"])
        assert caught.value.code == "unknown_column"


@pytest.mark.parametrize(
    ("columns", "code", "column"),
    [
        ({"position": [61.5]}, "wrong_column_type", "position"),
        ({"position.lat_deg": ["61.5"], "position.lon_deg": [8.5]}, "wrong_column_type", "position.lat_deg"),
        ({"position": ["33V VK 12 67"], "digits": [True]}, "wrong_column_type", "digits"),
        ({"positon": ["33V VK 12 67"]}, "unknown_column", "positon"),
        ({"position.lat": [61.5]}, "unknown_column", "position.lat"),
        ({"lat_deg": [61.5], "lon_deg": [8.5]}, "unknown_column", "lat_deg"),
        ({"position": ["33V VK 12 67"], "error.code": ["x"]}, "reserved_column", "error.code"),
    ],
)
def test_a_wrong_column_is_named_before_anything_is_answered(columns, code, column):
    table = pa.table(columns)
    for call in (
        lambda: answer_table("positions", table),
        lambda: answer_schema("positions", table.schema),
        lambda: next(answer_batches("positions", iter(table.to_batches()))),
        lambda: answer_frame(table.to_pandas(), "positions"),
        lambda: answer_frame(table.slice(0, 0).to_pandas(types_mapper=pd.ArrowDtype), "positions"),
    ):
        with pytest.raises(BatchError) as caught:
            call()
        assert (caught.value.code, caught.value.column) == (code, column)


@pytest.mark.parametrize(
    ("members", "code", "column"),
    [
        ({"digits": "3"}, "wrong_type", "digits"),
        ({"digits": True}, "wrong_type", "digits"),
        ({"digits": 2.5}, "wrong_type", "digits"),
        ({"digits": 2**70}, "out_of_range", "digits"),
        ({"digits": None}, "null_member", "digits"),
        ({"digits": [3]}, "wrong_type", "digits"),
        ({"digits": object()}, "wrong_type", "digits"),
        ({"digits": np.datetime64("2026-11-25")}, "wrong_type", "digits"),
        ({"sheet.spheroid": "GRS 80"}, "unknown_member", "sheet.spheroid"),
        ({"sheet": {"spheroid": "GRS 80"}}, "unknown_member", "sheet.spheroid"),
        ({"dat": "2026-11-25"}, "unknown_member", "dat"),
        ({"position": "33V", "position.lat_deg": 1.0}, "given_twice", "position"),
        ({"position": {"lat_deg": 1.0}, "position.lat_deg": 1.0}, "given_twice", "position.lat_deg"),
        ({"position.lat_deg": float("nan")}, "wrong_type", "position.lat_deg"),
        ({"sheet.squares": "[VK]"}, "malformed_json", "sheet.squares"),
    ],
)
def test_a_wrong_member_that_all_rows_have_is_named_before_anything_is_answered(members, code, column):
    table = positions()
    for call in (
        lambda: answer_table("positions", table, members=members),
        lambda: next(answer_batches("positions", iter(table.to_batches()), members=members)),
        lambda: answer_frame(frame_of(table), "positions", members=members),
    ):
        with pytest.raises(BatchError) as caught:
            call()
        assert (caught.value.code, caught.value.column) == (code, column)
        assert column in str(caught.value)


def test_a_number_is_no_text_though_the_text_says_one():
    table = norths()
    with pytest.raises(BatchError, match="height_m: This is not a number") as caught:
        answer_table("norths", table, members={"height_m": "100"})
    assert (caught.value.code, caught.value.column) == ("wrong_type", "height_m")


@pytest.mark.parametrize(
    ("member", "alike"),
    [
        (
            {"height_m": 100.0},
            [{"height_m": 100}, {"height_m": np.float32(100)}, {"height_m": np.int16(100)}],
        ),
        (
            {"date": "2026-11-25"},
            [
                {"date": datetime.date(2026, 11, 25)},
                {"date": pd.Timestamp("2026-11-25")},
            ],
        ),
        ({"sheet.squares": ["VK"]}, [{"sheet.squares": '["VK"]'}, {"sheet": {"squares": ["VK"]}}]),
        (
            {"near.lat_deg": 61.5, "near.lon_deg": 8.5},
            [{"near": {"lat_deg": 61.5, "lon_deg": 8.5}}],
        ),
    ],
    ids=["numbers", "dates", "lists", "objects"],
)
def test_a_member_that_all_rows_have_is_read_as_their_own_column_is(member, alike):
    table = norths().drop_columns(["date"])
    date = {"date": "2026-11-25"}
    expected = answer_table("norths", table, members=date | member)
    assert expected["error.code"].null_count > 0
    for members in alike:
        assert answer_table("norths", table, members=date | members).equals(expected), members


def test_columns_may_be_all_of_them():
    table = positions()
    whole = answer_table("positions", table, columns=["all"])
    assert {"answer.mgrs", "answer.utm.zone"} <= set(whole.column_names)
    assert "answer.working" not in whole.column_names
    assert answer_table("positions", table, columns="all").equals(whole)
    assert answer_table("positions", table, columns=["mgrs", "all"]).equals(whole)
    assert answer_table("positions", table, columns="lon_deg,lat_deg").equals(
        answer_table("positions", table, columns=LAT_LON)
    )
    assert [
        name for name in answer_table("positions", table, columns=[]).column_names if "answer" in name
    ] == ["answer.cautions"]


# Frames.


def frame_of(table: pa.Table) -> pd.DataFrame:
    return table.drop_columns([name for name in ("tags", "id") if name in table.column_names]).to_pandas()


def same(answered: pd.DataFrame, table: pa.Table) -> bool:
    """Whether a frame says what a table does, null for null."""
    return bool(pa.Table.from_pandas(answered, table.schema, preserve_index=False).equals(table))


@pytest.mark.parametrize("operation", TABLES)
def test_a_frame_is_answered_as_its_table_is(operation):
    frame = frame_of(TABLES[operation]())
    table = answer_table(operation, pa.Table.from_pandas(frame, preserve_index=False))
    answered = answer_frame(frame, operation)
    assert list(answered.columns) == table.column_names
    assert same(answered, table)


@pytest.mark.parametrize(
    "index",
    [
        pd.Index(["b", "a", "a"], name="walker"),
        pd.Index([30, 10, 20]),
        pd.MultiIndex.from_tuples([(1, "x"), (1, "y"), (2, "x")], names=["day", "leg"]),
        pd.date_range("2026-11-25", periods=3, freq="h", name="time"),
    ],
    ids=["texts given twice", "numbers out of order", "of two levels", "times"],
)
def test_the_index_of_a_frame_is_kept(index):
    frame = pd.DataFrame({"position": ["33V VK 12 67", "nowhere", "33V VK 13 68"]}, index=index)
    before = frame.copy()
    answered = answer_frame(frame, "positions")
    pd.testing.assert_index_equal(answered.index, index)
    assert list(answered.columns)[:2] == ["position", "answer.lat_deg"]  # and no column is made of it
    assert answered["error.row"].dropna().tolist() == [2]
    pd.testing.assert_frame_equal(frame, before)  # the caller's own is left alone


@pytest.mark.parametrize("missing", [None, float("nan"), pd.NA], ids=["None", "NaN", "NA"])
def test_what_pandas_has_for_missing_is_a_member_that_is_not_there(missing):
    frame = pd.DataFrame(
        {
            "position": pd.Series(["33V VK 12345 67890", missing], dtype="string"),
            "position.lat_deg": pd.Series([missing, 61.5], dtype="Float64"),
            "position.lon_deg": [float("nan"), 8.5],
            "digits": pd.Series([3, missing], dtype="Int64"),
        }
    )
    answered = answer_frame(frame, "positions", columns=["mgrs", "lat_deg"])
    assert answered["error.code"].isna().all(), answered["error.text"].tolist()
    assert answered["answer.mgrs"].tolist()[0] == "33VVK123678"
    assert answered["answer.lat_deg"].tolist()[1] == 61.5


def test_a_nan_in_arrows_own_types_is_a_number_that_is_none():
    # Arrow tells a NaN from a null, and pandas' Arrow types do.
    numbers = pa.array([float("nan"), None, 61.5])
    frame = pd.DataFrame({"position.lat_deg": pd.Series(numbers, dtype=pd.ArrowDtype(pa.float64()))})
    frame["position.lon_deg"] = 8.5
    answered = answer_frame(frame, "positions")
    table = answer_table("positions", pa.table({"position.lat_deg": numbers, "position.lon_deg": [8.5] * 3}))
    assert answered["error.code"].isna().tolist() == [False, False, True]
    assert answered["error.text"].tolist()[:2] == table["error.text"].to_pylist()[:2]
    assert answered["error.text"].tolist()[0] != answered["error.text"].tolist()[1]


def test_categories_are_read_as_what_they_stand_for():
    texts = ["33V VK 12 67", "nowhere", None, "33V VK 12 67"]
    frame = pd.DataFrame(
        {"position": pd.Categorical(texts), "kind": pd.Categorical(["hut", "ford", None, "hut"])}
    )
    answered = answer_frame(frame, "positions")
    table = answer_table("positions", pa.table({"position": texts}))
    assert same(answered.astype({"position": object})[table.column_names], table)
    assert answered["kind"].dtype == frame["kind"].dtype


def test_dates_may_be_texts_dates_or_moments_that_begin_a_day():
    texts = ["2026-11-25", "1962-07-01"]
    places: dict[str, Any] = {"position.lat_deg": [61.5, -33.0], "position.lon_deg": [8.5, 151.0]}
    of_texts = answer_frame(pd.DataFrame({**places, "date": texts}), "norths")
    of_dates = answer_frame(
        pd.DataFrame({**places, "date": [datetime.date.fromisoformat(text) for text in texts]}), "norths"
    )
    assert of_texts["error.code"].isna().all()
    answers = [name for name in of_texts.columns if name.startswith("answer.")]
    pd.testing.assert_frame_equal(of_dates[answers], of_texts[answers])
    of_moments = answer_frame(pd.DataFrame({**places, "date": pd.to_datetime(texts)}), "norths")
    pd.testing.assert_frame_equal(of_moments[answers], of_texts[answers])
    noon = [datetime.datetime(2026, 11, 25, 12), datetime.datetime(1962, 7, 1)]
    answered = answer_frame(pd.DataFrame({**places, "date": noon}), "norths")
    assert answered["error.code"].tolist()[0] == "wrong_type"
    assert answered["error.code"].isna().tolist() == [False, True]


def test_members_that_all_rows_have_go_behind_a_rows_own():
    frame = pd.DataFrame(
        {"position": ["33V VK 12345 67890"] * 2, "digits": pd.Series([2, None], dtype="Int64")}
    )
    answered = answer_frame(frame, "positions", columns=["mgrs"], members={"digits": 4})
    assert answered["answer.mgrs"].tolist() == ["33VVK1267", "33VVK12346789"]


def test_a_frame_without_rows_has_every_column():
    frame = frame_of(positions())
    empty = answer_frame(frame[:0], "positions")
    assert len(empty) == 0
    assert list(empty.columns) == list(answer_frame(frame, "positions").columns)


def test_the_callers_own_columns_are_as_they_were():
    frame = pd.DataFrame(
        {
            "id": pd.array([2**60 + 1, None], dtype="Int64"),
            "position": ["33V VK 12 67", "nowhere"],
            "tags": pd.Series([[1, None], None], dtype=pd.ArrowDtype(pa.list_(pa.int32()))),
        }
    )
    answered = answer_frame(frame, "positions")
    pd.testing.assert_frame_equal(answered[["id", "position", "tags"]], frame)


def test_partitions_are_of_the_same_types_whether_they_have_bad_rows_or_none():
    frame = TABLES["checks"]().to_pandas()
    options: dict[str, Any] = {"columns": ["verdict", "within_tolerance", "distance_m"]}
    bad = answer_frame(frame, "checks", **options)["error.code"].notna()
    types = answer_frame(frame, "checks", **options).dtypes
    for part in (frame[bad], frame[~bad], frame[:0]):
        pd.testing.assert_series_equal(answer_frame(part, "checks", **options).dtypes, types)
