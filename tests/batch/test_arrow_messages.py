"""Arrow streams compressed within, and what their messages take in memory: told by their heads, whatever these say."""

from __future__ import annotations

import io
import struct
from contextlib import suppress
from itertools import pairwise
from typing import Any

import polars as pl
import pyarrow as pa
import pyarrow.ipc as arrow_ipc
import pytest

from arrow_streams import starts_of, written
from batch_rows import decoded
from threenorths_service.batch import arrow_rows
from threenorths_service.batch.arrow_messages import ArrowGauge, MessageError
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.chunks import Source
from threenorths_service.batch.faults import BatchError
from threenorths_service.batch.plan import plan_of
from threenorths_service.batch.stream import ARROW, answer_stream

POSITIONS = BATCHED["positions"]
PLAN = plan_of(POSITIONS, COLUMNAR["positions"], ("lat_deg", "lon_deg"))
MOST = 1 << 40
ROWS = 60
TABLE = pa.table(
    {
        "position": [f"33V VK {10_000 + 37 * row} 67890" for row in range(ROWS)],
        "note": pa.array([f"hut {row % 3}" for row in range(ROWS)]).dictionary_encode(),
        "weight": pa.array([None if row % 7 == 0 else row / 4 for row in range(ROWS)]),
        "list": pa.array([[row, None] for row in range(ROWS)]),
        "view": pa.array([f"a text longer than a view holds {row}" for row in range(ROWS)], pa.string_view()),
    }
)


def answers_to(stream: bytes) -> list[dict[str, Any]]:
    return decoded(b"".join(answer_stream(Source(io.BytesIO(stream), POSITIONS), PLAN, ARROW, ARROW)), ARROW)


def taken_at(stream: bytes, start: int) -> int:
    """What is taken with the next record batch from a place of a stream."""
    file = io.BytesIO(stream)
    file.seek(start)
    taken = ArrowGauge(file, MOST).record_batch()
    assert file.tell() == start
    return taken


def replaced(stream: bytes, old: bytes, new: bytes) -> bytes:
    assert stream.count(old) == 1
    return stream.replace(old, new)


@pytest.mark.parametrize("compression", ["lz4", "zstd"])
def test_what_is_compressed_within_is_answered_as_it_is_without(compression):
    assert answers_to(written(TABLE, compression=compression)) == answers_to(written(TABLE))


@pytest.mark.parametrize("compression", ["uncompressed", "lz4", "zstd"])
def test_streams_of_data_frames_are_answered(compression):
    sink = io.BytesIO()
    pl.from_arrow(TABLE).write_ipc_stream(sink, compression=compression)
    rows = answers_to(sink.getvalue())
    assert [row["answer.lat_deg"] for row in rows] == [
        row["answer.lat_deg"] for row in answers_to(written(TABLE))
    ]


def test_a_batch_takes_its_message_and_with_compression_what_its_buffers_become():
    table = pa.table({"a": pa.array([0.0] * 1000), "b": pa.array([None, *range(999)], pa.int64())})
    plain, packed = written(table, 1000), written(table, 1000, compression="zstd")
    start, end = starts_of(plain)[1:]
    assert taken_at(plain, start) == end - start - 8  # but for the mark and the length before it
    start, end = starts_of(packed)[1:]
    raw = sum(buffer.size for column in table.columns for buffer in column.chunk(0).buffers() if buffer)
    assert end - start - 8 + 8 * 1000 * 2 < taken_at(packed, start) <= end - start - 8 + raw
    assert taken_at(packed, end) == 0


def test_what_does_not_shrink_is_counted_once():
    value = struct.Struct("<Q")
    noise = b"".join(value.pack(row * 0x9E3779B97F4A7C15 % 2**64) for row in range(1000))
    table = pa.table({"a": pa.Array.from_buffers(pa.uint64(), 1000, [None, pa.py_buffer(noise)])})
    kept = written(table, 1000, compression=pa.Codec("lz4"))
    assert struct.pack("<q", -1) not in kept
    start, end = starts_of(kept)[1:]
    taken = taken_at(kept, start)
    # As writers may that spare themselves a compression in vain: the length is -1.
    assert taken_at(replaced(kept, struct.pack("<q", 8000), struct.pack("<q", -1)), start) == taken - 8000
    assert taken - 8000 == end - start - 8


def test_dictionaries_count_as_long_as_they_are_kept():
    def batch(texts: list[str]) -> pa.RecordBatch:
        return pa.record_batch({"note": pa.array(texts).dictionary_encode()})

    def tale(second: list[str], **options: Any) -> list[int]:
        """What each of three record batches takes, the last two of the same texts; and all messages behind the schema."""
        sink = io.BytesIO()
        first = ["x" * 1000, "y"]
        schema = batch(first).schema
        with arrow_ipc.new_stream(sink, schema, options=arrow_ipc.IpcWriteOptions(**options)) as stream:
            for texts in (first, second, second):
                stream.write_batch(batch(texts))
        starts = starts_of(sink.getvalue())
        _schema, *sizes = (stop - start - 8 for start, stop in pairwise(starts))
        file = io.BytesIO(sink.getvalue())
        gauge = ArrowGauge(file, MOST)
        taken = []
        for place in (1, 3, 5):  # each behind the record batch before
            file.seek(starts[place])
            taken.append(gauge.record_batch())
        return [*taken, *sizes]

    first, second, third, one, rows, other, more_rows, last_rows = tale(["z" * 500])
    assert (first, second, third) == (one + rows, other + more_rows, other + last_rows)
    texts = ["x" * 1000, "y", "z" * 500]
    first, second, third, one, rows, other, more_rows, last_rows = tale(texts, emit_dictionary_deltas=True)
    assert (first, second, third) == (one + rows, one + other + more_rows, one + other + last_rows)


def test_a_dictionary_that_is_given_up_at_once_is_too_large_all_the_same():
    def messages(text: str) -> list[bytes]:
        stream = written(pa.table({"note": pa.array([text]).dictionary_encode()}))
        return [stream[start:stop] for start, stop in pairwise(starts_of(stream))]

    _schema, large, _rows = messages("x" * 10_000)
    _schema, small, rows = messages("y")
    file = io.BytesIO(large + small + rows)
    assert ArrowGauge(file, 5000).record_batch() > 10_000
    assert ArrowGauge(file, 20_000).record_batch() < 5000


def test_buffers_that_lie_over_each_other_count_each():
    table = pa.table({"a": [0.5] * 1000, "b": [0.5] * 1000})
    stream = written(table, 1000)
    start, end = starts_of(stream)[1:]
    stream = replaced(
        stream[:end], struct.pack("<4q", 8000, 0, 8000, 8000), struct.pack("<4q", 8000, 0, 0, 8000)
    )
    stream = replaced(stream, struct.pack("<q", 16000), struct.pack("<q", 8000))[:-8000] + stream[-8:]
    assert arrow_ipc.open_stream(stream[:-8]).read_next_batch() == table.to_batches()[0]
    assert taken_at(stream, start) == end - start - 8
    # None makes up for another by a length below 0.
    stream = replaced(stream, struct.pack("<4q", 8000, 0, 0, 8000), struct.pack("<4q", 8000, -8000, 0, 8000))
    assert taken_at(stream, start) == end - start - 8


def test_the_compression_of_the_first_days_is_seen():
    table = pa.table({"a": pa.array([10**12] * 100, pa.int64())})
    for version, taken in (("V4", 10**12), ("V5", 0)):
        sink = io.BytesIO()
        options = arrow_ipc.IpcWriteOptions(metadata_version=arrow_ipc.MetadataVersion[version])
        with arrow_ipc.new_stream(sink, table.schema, options=options) as stream:
            stream.write_batch(
                table.to_batches()[0], custom_metadata={"ARROW:experimental_compression": "zstd"}
            )
        assert taken_at(sink.getvalue(), starts_of(sink.getvalue())[1]) // 10**12 == taken // 10**12


def test_streams_of_before_the_mark_of_a_message_are_answered():
    assert answers_to(written(TABLE, use_legacy_format=True)[:-4] + arrow_rows.END_MARK) == answers_to(
        written(TABLE)
    )


@pytest.mark.parametrize("compression", [None, "zstd"])
def test_a_batch_that_takes_too_much_breaks_the_stream_off_there(compression, monkeypatch):
    small, large = TABLE.slice(0, 20), pa.concat_tables([TABLE] * 40).combine_chunks()
    sink = io.BytesIO()
    options = arrow_ipc.IpcWriteOptions(compression=compression, unify_dictionaries=False)
    with arrow_ipc.new_stream(sink, TABLE.schema, options=options) as stream:
        stream.write_table(small)
        at = sink.tell()
        stream.write_table(large)
        stream.write_table(small)
    monkeypatch.setattr(arrow_rows, "MOST_BATCH_BYTES", 100_000)
    rows = answers_to(sink.getvalue())
    assert rows[:-1] == answers_to(written(small))
    assert (rows[-1]["error.code"], rows[-1]["error.row"], rows[-1]["error.byte"]) == (
        "malformed_stream",
        21,
        at,
    )
    assert rows[-1]["error.text"].endswith(
        "the record batch would take 1 MB, at most 0 MB are taken; send it in smaller ones"
    )
    assert len(sink.getvalue()) - at < 100_000 or compression is None


def test_a_dictionary_that_takes_too_much_breaks_the_stream_off(monkeypatch):
    table = pa.table({"position": ["33VVK12"], "note": pa.array(["x" * 200_000]).dictionary_encode()})
    monkeypatch.setattr(arrow_rows, "MOST_BATCH_BYTES", 100_000)
    for options in ({}, {"compression": "lz4"}):
        (row,) = answers_to(written(table, **options))
        assert row["error.code"] == "malformed_stream"
        assert "would take 1 MB" in row["error.text"]


def test_nulls_without_end_break_the_stream_off():
    nulls = pa.ListArray.from_arrays(pa.array([0, 2**31 - 2], pa.int32()), pa.nulls(2**31 - 2))
    (row,) = answers_to(written(pa.table({"position": ["33VVK12"], "list": nulls})))
    assert "would take 2148 MB, at most 256 MB are taken" in row["error.text"]


def test_a_schema_that_takes_too_much_is_refused(monkeypatch):
    stream = written(TABLE.replace_schema_metadata({"note": "x" * 200_000}))
    assert len(answers_to(stream)) == ROWS
    monkeypatch.setattr(arrow_rows, "MOST_BATCH_BYTES", 100_000)
    with pytest.raises(BatchError, match="the Arrow schema would take 1 MB") as raised:
        answers_to(stream)
    assert raised.value.code == "malformed_header"


def measured(stream: bytes, start: int) -> None:
    """Take the measure of a message that may be damaged: that succeeds, or fails in the one way."""
    for ask in (ArrowGauge.message, ArrowGauge.record_batch):
        file = io.BytesIO(stream)
        file.seek(start)
        with suppress(MessageError):
            assert ask(ArrowGauge(file, MOST)) >= 0
        assert file.tell() == start


@pytest.mark.parametrize("compression", [None, "zstd"])
def test_a_message_cut_at_any_byte_or_with_any_bit_turned_fails_in_one_way(compression):
    stream = written(TABLE, compression=compression)
    for start in starts_of(stream)[:3]:  # the schema, a dictionary, a record batch
        head = 8 + int.from_bytes(stream[start + 4 : start + 8], "little")
        for at in range(start, start + head):
            if at > start:
                with pytest.raises(MessageError, match="it ends within"):
                    ArrowGauge(io.BytesIO(stream[start:at]), MOST).message()
            for bit in range(8):
                damaged = bytearray(stream)
                damaged[at] ^= 1 << bit
                measured(bytes(damaged), start)
            for value in (b"\xff", b"\x7f"):
                measured(stream[:at] + value * 8 + stream[at + 8 :], start)


@pytest.mark.parametrize(
    ("head", "told"),
    [
        (b"\xff\xff\xff\x7f" + bytes(12), "points out of itself"),
        (b"\x04\x00\x00\x00\xff\xff\xff\x7f" + bytes(8), "points out of itself"),
        (b"\x04\x00\x00\x00\x00\x00\x00\x80" + bytes(8), "points out of itself"),
        (b"\x04", "points out of itself"),
    ],
)
def test_a_head_that_points_out_of_itself_is_malformed(head, told):
    with pytest.raises(MessageError, match=told):
        ArrowGauge(io.BytesIO(b"\xff\xff\xff\xff" + len(head).to_bytes(4, "little") + head), MOST).message()


def test_lengths_that_no_message_has_are_told_without_reading_on():
    with pytest.raises(MessageError, match="has -2 bytes"):
        ArrowGauge(io.BytesIO(b"\xfe\xff\xff\xff" + bytes(100)), MOST).message()
    # A head, and a body with a buffer at its end, of the most bytes that can be told.
    assert ArrowGauge(io.BytesIO(b"\xff\xff\xff\x7f" + bytes(100)), 1 << 20).message() == 2**31 - 1
    stream = written(pa.table({"a": [0.0] * 1000, "b": [0.0] * 1000}), compression="zstd")
    start, end = starts_of(stream)[1:3]
    message = arrow_ipc.read_message(stream[start:])
    for told, most in ((message.body.size, 2**63 - 1), (message.body.size // 2, 2**63 - 9)):
        stream = (
            stream[:start]
            + stream[start:end].replace(struct.pack("<q", told), struct.pack("<q", most))
            + stream[end:]
        )
    assert taken_at(stream, start) > 2**62


@pytest.mark.parametrize("compression", [None, "lz4"])
def test_a_stream_with_a_damaged_head_gives_what_came_before(compression):
    stream = written(TABLE, compression=compression)
    expected = answers_to(stream)
    starts = starts_of(stream)
    third = starts[3]  # behind the schema, a dictionary and a record batch
    head = 8 + int.from_bytes(stream[third + 4 : third + 8], "little")
    broken = 0
    for at in range(third, third + head):
        damaged = bytearray(stream)
        damaged[at] ^= 0xFF
        rows = answers_to(bytes(damaged))
        assert rows[:20] == expected[:20]
        broken += rows[-1].get("error.code") == "malformed_stream"
    assert broken > head / 3
