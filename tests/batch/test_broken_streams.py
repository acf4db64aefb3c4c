"""Streams that are cut, and rows that are bad, wherever that may be: what is good is answered, and nothing else is lost."""

from __future__ import annotations

import io
import random
from dataclasses import replace
from decimal import Decimal
from typing import Any

import orjson
import pyarrow as pa
import pyarrow.ipc as arrow_ipc
import pyarrow.json as arrow_json
import pytest
from marshmallow import ValidationError

from batch_rows import decoded, encoded
from threenorths_service.batch.arrow_rows import MOST_SPREAD_BYTES, ArrowReader
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.chunks import CELLS_AT_ONCE, Source
from threenorths_service.batch.csv_rows import BLOCK_BYTES, CsvReader
from threenorths_service.batch.faults import BatchError
from threenorths_service.batch.ndjson_lines import LONGEST_LINE_BYTES
from threenorths_service.batch.ndjson_rows import NdjsonReader
from threenorths_service.batch.plan import plan_of
from threenorths_service.batch.stream import ARROW, CSV, MEDIA, NDJSON, answer_stream
from threenorths_service.navmath.errors import NavigationError
from threenorths_service.operations.faults import faults_of

POSITIONS = BATCHED["positions"]
PLAN = plan_of(POSITIONS, COLUMNAR["positions"], ("lat_deg", "lon_deg"))
ROWS = 23
BODIES = [{"position": f"33V VK {10_000 + 37 * row} 67890", "note": f'top "{row}", é'} for row in range(ROWS)]


def answers_to(stream: bytes, medium: str, cut: str | None = None) -> list[dict[str, Any]]:
    source = Source(io.BytesIO(stream), POSITIONS, cut=cut)
    return decoded(b"".join(answer_stream(source, PLAN, medium, medium)), medium)


def code_of(row: dict[str, Any]) -> Any:
    return row["error"]["code"] if "error" in row else row.get("error.code")


def where_broken(row: dict[str, Any]) -> tuple[int, int]:
    told = row.get("error") or {name.partition(".")[2]: value for name, value in row.items()}
    return int(told["row"]), int(told["byte"])


@pytest.mark.parametrize("medium", [NDJSON, CSV])
def test_a_stream_of_lines_cut_at_any_byte_gives_what_came_before(medium):
    whole = encoded(POSITIONS, BODIES, medium)
    expected = answers_to(whole, medium)
    header = 0 if medium == NDJSON else whole.index(b"\n") + 1
    for end in range(header + 1, len(whole)):
        rows = answers_to(whole[:end], medium)
        complete = whole[header:end].count(b"\n")
        assert rows[:complete] == expected[:complete], end
        last_line = whole[:end].rpartition(b"\n")[2]
        if not last_line:
            assert len(rows) == complete
            continue
        assert len(rows) == complete + 1
        if medium == NDJSON and last_line.endswith(b"}"):
            assert rows[-1] == expected[complete]  # whole but for its line end
        elif medium == NDJSON:
            assert code_of(rows[-1]) == "malformed_stream"
            assert where_broken(rows[-1]) == (complete + 1, end - len(last_line))
        else:
            # A record may end with the stream. One without all its cells is bad, and one whose quotes are open breaks it off.
            assert code_of(rows[-1]) in {"malformed_row", "malformed_stream", "unreadable_position", None}, (
                end
            )


def test_an_arrow_stream_cut_at_any_byte_gives_the_batches_before_and_says_that_it_breaks_off():
    whole = encoded(POSITIONS, BODIES, ARROW)
    expected = answers_to(whole, ARROW)
    assert len(expected) == ROWS
    schema_ends = 8 + int.from_bytes(whole[4:8], "little")
    answered = set()
    for end in range(len(whole)):
        if end < schema_ends:
            with pytest.raises(BatchError, match="does not begin with an Arrow schema"):
                answers_to(whole[:end], ARROW)
            continue
        rows = answers_to(whole[:end], ARROW)
        assert code_of(rows[-1]) == "malformed_stream", end
        assert where_broken(rows[-1])[0] == len(rows)
        assert rows[:-1] == expected[: len(rows) - 1]
        answered.add(len(rows) - 1)
    assert answered == {0, 5, 10, 15, 20, 23}  # batches of five


@pytest.mark.parametrize("medium", MEDIA)
def test_the_reason_why_a_stream_was_cut_stands_in_its_last_record(medium):
    rows = answers_to(
        encoded(POSITIONS, BODIES, medium)[: None if medium != ARROW else -8], medium, "it was torn"
    )
    assert len(rows) == ROWS + 1
    assert code_of(rows[-1]) == "malformed_stream"
    text = rows[-1]["error"]["text"] if medium == NDJSON else rows[-1]["error.text"]
    assert text.endswith("it was torn")


@pytest.mark.parametrize("bad", [[0], [ROWS - 1], [0, 1, ROWS - 1], range(ROWS), []], ids=str)
@pytest.mark.parametrize("medium", MEDIA)
def test_bad_rows_first_last_and_everywhere_leave_the_others_be(medium, bad):
    bodies = [{**body, "position": "nowhere"} if row in bad else body for row, body in enumerate(BODIES)]
    expected = answers_to(encoded(POSITIONS, BODIES, medium), medium)
    rows = answers_to(encoded(POSITIONS, bodies, medium), medium)
    assert len(rows) == ROWS
    for number, row in enumerate(rows):
        if number in bad:
            assert code_of(row) == "unreadable_position"
            assert (row["note"], int(row["id"])) == (bodies[number]["note"], number)
        else:
            assert row == expected[number]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (b"rubbish", "malformed_row"),
        (b"[1]", "malformed_row"),
        (b'"text"', "malformed_row"),
        (b'{"position":NaN}', "malformed_row"),
        (b'{"position":"\\ud800"}', "malformed_row"),
        (b'{"position":"33V\xff"}', "malformed_row"),
        (b"{}", "missing_member"),
        (b"{ }", "missing_member"),
        (b'{"position":null}', "missing_member"),
        (b'{"position":5}', "wrong_type"),
        (b'{"position":{}}', "missing_member"),
        (b'{"position":{"lat_deg":61.5,"lon_deg":8.5,"datun":"ED50"}}', "unknown_member"),
        (b'{"position":{"lat_deg":1e400,"lon_deg":8.5}}', "malformed_row"),
        (b'{"position":{"lat_deg":"61.5","lon_deg":8.5}}', "wrong_type"),
        (b'{"position":"33VVK12","digits":"2"}', "wrong_type"),
        (b'{"position":"33VVK12","digits":2.5}', "wrong_type"),
        (b'{"position":"33VVK12","digits":12345678901234567890123}', "out_of_range"),
        (b'{"positoin":"33VVK12"}', "unknown_member"),
        (b'{"position":"33VVK12","answer":{}}', "reserved_column"),
    ],
)
@pytest.mark.parametrize("at", [0, 3, 6])
def test_a_bad_line_is_a_bad_row_wherever_it_stands(line, code, at):
    lines = [b'{"position":"33VVK12","note":1}'] * 6
    lines.insert(at, line)
    rows = answers_to(b"\n".join(lines) + b"\n", NDJSON)
    assert [code_of(row) for row in rows] == [code if row == at else None for row in range(7)]


def test_lines_of_different_types_are_each_read_for_what_they_are():
    lines = [
        b'{"position":"33VVK12","note":1}',
        b'{"position":{"lat_deg":61,"lon_deg":8},"note":"one"}',
        b'{"note":[1,{"a":null}],"position":{"zone":33,"hemisphere":"north","easting_m":5e5,"northing_m":6800000}}\r',
        b"   ",
        b' {"position":"33VVK12"} ',
    ]
    rows = answers_to(b"\xef\xbb\xbf" + b"\n".join(lines), NDJSON)
    assert [code_of(row) for row in rows] == [None] * 4
    assert [row.get("note") for row in rows] == [1, "one", [1, {"a": None}], None]
    assert rows[0]["answer"] == rows[3]["answer"]


@pytest.mark.parametrize("lone", [b"", b"\r"])
def test_lines_that_end_as_those_of_other_systems_are_the_same_lines(lone):
    """A carriage return alone is white space of JSON, and ends no line."""
    lines = [
        b'{"position":"33VVK12",' + lone + b'"more":1,"note":"a\\r\\nb"}',
        b'{"position":"nowhere","note":"c"}',
    ] * 3
    unix, other = b"\n".join([*lines, b""]), b"\r\n".join([*lines, b""])
    for medium in MEDIA:
        rows, same = (
            decoded(
                b"".join(answer_stream(Source(io.BytesIO(each), POSITIONS), PLAN, NDJSON, medium)), medium
            )
            for each in (other, unix)
        )
        assert rows == same
        assert [row["note"] for row in rows] == ["a\r\nb", "c"] * 3
        assert [str(row.get("more")) for row in rows] == ["1", "None"] * 3
    assert where_broken(answers_to(other[:-5], NDJSON)[-1]) == (6, other.rindex(b"{"))


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_cells_in_quotes_may_hold_all_that_parts_cells(ending):
    note = f'one, "two"{ending}three'
    quoted = note.replace('"', '""')
    stream = f'position,note{ending}33VVK12,"{quoted}"{ending}"33VVK34",5\' 10"{ending}'.encode() * 1
    rows = answers_to(stream, CSV)
    assert [row["note"] for row in rows] == [note, "5' 10\""]
    assert [code_of(row) for row in rows] == [None, None]


def test_a_record_with_too_few_or_too_many_cells_is_a_bad_row():
    rows = answers_to(b"id,position\n1,33VVK12\n2\n3,33VVK12,more\n4,33V\xffVK12\n5,33VVK12\n", CSV)
    assert [code_of(row) for row in rows] == [None, "malformed_row", "malformed_row", "malformed_row", None]
    assert "3 cells" in rows[2]["error.text"]


def test_records_longer_than_a_block_are_whole(monkeypatch):
    monkeypatch.setattr("threenorths_service.batch.csv_rows.BLOCK_BYTES", 64)
    monkeypatch.setattr("threenorths_service.batch.ndjson_lines.BLOCK_BYTES", 64)
    bodies = [{**body, "note": '"\n' * 200} for body in BODIES]
    for medium in (CSV, NDJSON):
        rows = answers_to(encoded(POSITIONS, bodies, medium), medium)
        assert [row["note"] for row in rows] == ['"\n' * 200] * ROWS
        assert not any(code_of(row) for row in rows)


@pytest.mark.parametrize(
    ("header", "code"),
    [
        (b"", "malformed_header"),
        (b"\xff\xfe\n", "malformed_header"),
        (b"position,\n", "malformed_header"),
        (b"position,id,position\n", "duplicate_column"),
        (b"position,answer.lat_deg\n", "reserved_column"),
        (b"position,error\n", "reserved_column"),
        (b"positon\n", "unknown_column"),
        (b"position.lat\n", "unknown_column"),
        (b"lat_deg,lon_deg\n", "unknown_column"),
    ],
)
def test_a_wrong_header_is_refused_before_any_row(header, code):
    with pytest.raises(BatchError) as raised:
        answers_to(header + b"33VVK12\n", CSV) if header else answers_to(header, CSV)
    assert raised.value.code == code


def arrow_stream(table: pa.Table) -> bytes:
    sink = pa.BufferOutputStream()
    with arrow_ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    return sink.getvalue().to_pybytes()


def test_columns_of_arrow_are_of_their_members_types_or_refused():
    with pytest.raises(BatchError) as raised:
        answers_to(arrow_stream(pa.table({"position": [1.5]})), ARROW)
    assert (raised.value.code, raised.value.column) == ("wrong_column_type", "position")


def test_structs_dictionaries_and_other_widths_of_arrow_are_taken_as_they_mean():
    place = pa.struct({"lat_deg": pa.float32(), "lon_deg": pa.float64()})
    table = pa.table(
        {
            "position": pa.array([{"lat_deg": 61.5, "lon_deg": 8.25}, None], place),
            "digits": pa.array([3, 2], pa.int8()),
            "own": pa.array(["a", "b"]).dictionary_encode(),
            "list": pa.array([[1, 2], None]),
        }
    )
    rows = answers_to(arrow_stream(table), ARROW)
    assert rows[0]["answer.lat_deg"] == 61.5
    assert code_of(rows[1]) == "missing_member"
    assert [row["own"] for row in rows] == ["a", "b"]
    exact = pa.array([Decimal("61.50"), Decimal("90.25"), None], pa.decimal128(10, 2))
    exact_table = pa.table({"position.lat_deg": exact, "position.lon_deg": [8.25] * 3, "digits": exact})
    rows = answers_to(arrow_stream(exact_table.slice(0, 1).drop_columns("digits")), ARROW)
    assert rows[0]["answer.lat_deg"] == 61.5
    rows = answers_to(arrow_stream(exact_table), ARROW)
    assert [code_of(row) for row in rows] == ["wrong_type", "out_of_range", "missing_member"]
    assert "61.5" in rows[0]["error.text"]
    texts = pa.table({"position": pa.array(["33VVK12", "33VVK34"]).dictionary_encode()})
    assert not any(code_of(row) for row in answers_to(arrow_stream(texts), ARROW))


def test_a_nan_is_a_number_that_is_none_and_no_null():
    table = pa.table({"position.lat_deg": [float("nan"), 61.5], "position.lon_deg": [8.5, 8.5]})
    rows = answers_to(arrow_stream(table), ARROW)
    assert [code_of(row) for row in rows] == ["wrong_type", None]


@pytest.mark.parametrize("medium", MEDIA)
@pytest.mark.parametrize("other", MEDIA)
def test_an_answer_in_another_medium_is_the_same_answer(medium, other):
    bodies = [*BODIES, {"position": "nowhere", "note": "none"}]
    stream = encoded(POSITIONS, bodies, medium)
    source = Source(io.BytesIO(stream), POSITIONS)
    rows = decoded(b"".join(answer_stream(source, PLAN, medium, other)), other)
    expected = answers_to(encoded(POSITIONS, bodies, NDJSON), NDJSON)
    for row, wanted in zip(rows, expected, strict=True):
        assert (int(row["id"]), row["note"], row["position"]) == (
            wanted["id"],
            wanted["note"],
            wanted["position"],
        )
        assert code_of(row) == code_of(wanted)
        if "answer" in wanted:
            lat_deg = row["answer"]["lat_deg"] if other == NDJSON else float(row["answer.lat_deg"])
            assert lat_deg == wanted["answer"]["lat_deg"]


@pytest.mark.parametrize("block_bytes", [16, 64, 1 << 20])
@pytest.mark.parametrize(
    ("stray", "why"),
    [
        ('33VVK34,"b', "a quoted cell is not closed"),
        ('33VVK34,"b" c', "text stands behind the closing quote"),
        ('33VVK34,"b""', "a quoted cell is not closed"),
        ('"33VVK34,b', "a quoted cell is not closed"),
    ],
)
def test_a_stray_quote_costs_the_line_that_it_stands_on(stray, why, block_bytes, monkeypatch):
    monkeypatch.setattr("threenorths_service.batch.csv_rows.BLOCK_BYTES", block_bytes)
    before, behind = ["33VVK12,a", '33VVK12,"a\nb"'], ["33VVK56,c", "33VVK78,d", "33VVK90,e"]
    rows = answers_to("\n".join(["position,note", *before, stray, *behind]).encode(), CSV)
    assert [code_of(row) for row in rows] == [None, None, "malformed_row", None, None, None]
    assert [row.get("note") for row in rows[3:]] == ["c", "d", "e"]
    assert why in rows[2]["error.text"]
    assert stray in rows[2]["error.text"]
    assert int(rows[2]["error.row"]) == 3


def test_a_stray_quote_and_a_closed_one_far_behind_swallow_nothing_between():
    lines = ['33VVK12,"open', *["33VVK12,x"] * 50, '33VVK12,"closed"', "33VVK12,x"]
    rows = answers_to("\n".join(["position,note", *lines, ""]).encode(), CSV)
    assert [code_of(row) for row in rows] == ["malformed_row"] + [None] * 52


def test_an_open_quote_before_more_than_a_record_may_hold_swallows_nothing(monkeypatch):
    monkeypatch.setattr("threenorths_service.batch.csv_rows.BLOCK_BYTES", 100)
    monkeypatch.setattr("threenorths_service.batch.csv_rows.LONGEST_RECORD_BYTES", 300)
    lines = ["33VVK12,a", '33VVK12,"open', *["33VVK12,x"] * 90]
    stream = "\n".join(["position,note", *lines]).encode()
    rows = answers_to(stream, CSV)
    assert [code_of(row) for row in rows] == [None, "malformed_row"] + [None] * 90
    # Nor is more of it kept than that.
    file = io.BytesIO(stream)
    chunks = CsvReader(Source(file, POSITIONS)).chunks()
    assert next(chunks).rows.count == 1
    assert file.tell() < 500
    assert list(next(chunks).rows.faults) == [0]
    assert file.tell() < 500


@pytest.mark.parametrize("note", ["first\nsecond", "\nsecond"])
def test_a_quote_before_a_comma_opens_no_cell(note):
    """In a block of its own, whose last line it is on, a cell that goes on would be taken for one that ends there."""
    record = f'33V VE 12345 67890,9","{note}"\n'.encode()
    filler = b"33VVK12,a,b\n"
    at = BLOCK_BYTES - len(b"position,mine,note\n") - record.index(b"\n") - 1
    stream = (
        b"position,mine,note\n" + filler * (at // len(filler)) + b"33VVK12," + b"a" * (at % len(filler) + 3)
    )
    rows = answers_to(stream + b",b\n" + record + filler, CSV)
    assert [row["note"] for row in rows[-2:]] == [note, "b"]
    assert not any(code_of(row) for row in rows)


def test_a_failure_in_the_columns_costs_no_row_its_answer():
    stream = encoded(POSITIONS, BODIES, NDJSON)
    expected = answers_to(stream, NDJSON)

    def fail(_rows):
        raise FloatingPointError("broken for the test")

    columnar = replace(COLUMNAR["positions"], answer=fail)
    source = Source(io.BytesIO(stream), POSITIONS)
    rows = decoded(b"".join(answer_stream(source, replace(PLAN, columnar=columnar), NDJSON, NDJSON)), NDJSON)
    assert rows == expected


@pytest.mark.parametrize("within", ["note", "position", "sheet"])
@pytest.mark.parametrize("at", [0, 1])
def test_what_is_nested_too_deep_is_a_bad_row(within, at):
    deep = b'{"position":"33VVK12","%s":' % within.encode() + b'{"a":' * 5000 + b"1" + b"}" * 5001
    lines = [b'{"position":"33VVK12"}'] * 2
    lines.insert(at, deep)
    rows = answers_to(b"\n".join(lines), NDJSON)
    assert [code_of(row) for row in rows] == ["malformed_row" if row == at else None for row in range(3)]


def test_what_is_nested_less_deep_is_carried_through():
    note: Any = 1
    for _ in range(60):
        note = [{"a": note}] if _ % 2 else {"b": note}
    stream = orjson.dumps({"position": "33VVK12", "note": note}) + b"\n"
    assert answers_to(stream, NDJSON)[0]["note"] == note
    source = Source(io.BytesIO(stream), POSITIONS)
    (row,) = decoded(b"".join(answer_stream(source, PLAN, NDJSON, CSV)), CSV)
    assert code_of(row) is None


@pytest.mark.parametrize("other", MEDIA)
def test_columns_of_any_type_of_arrow_are_carried_through(other):
    table = pa.table(
        {
            "position": ["33VVK12", "33VVK34"],
            "interval": pa.array([(1, 2, 3), None], pa.month_day_nano_interval()),
            "lapse": pa.array([5, None], pa.duration("ms")),
            "price": pa.array(["1.50", None], pa.string()).cast(pa.decimal128(5, 2)),
            "moment": pa.array([0, None], pa.timestamp("us", "UTC")),
            "bytes": pa.array([b"ab", None]),
            "nothing": pa.nulls(2),
        }
    )
    source = Source(io.BytesIO(arrow_stream(table)), POSITIONS)
    rows = decoded(b"".join(answer_stream(source, PLAN, ARROW, other)), other)
    assert [code_of(row) for row in rows] == [None, None]
    assert {"interval", "lapse", "price", "moment", "bytes"} <= set(rows[0])


def test_brackets_within_texts_do_not_hide_how_deep_a_line_is():
    deep = b'{"position":"33VVK12","note":' + b'{"z":"}","a":' * 40_000 + b"1" + b"}" * 40_001
    rows = answers_to(b'{"position":"33VVK12"}\n' + deep + b"\n", NDJSON)
    assert [code_of(row) for row in rows] == [None, "malformed_row"]


def answered_as(operation, body, medium, common=None):
    """The rows of a stream of any operation, answered."""
    source = Source(io.BytesIO(body), BATCHED[operation], common or {})
    plan = plan_of(BATCHED[operation], COLUMNAR[operation])
    return decoded(b"".join(answer_stream(source, plan, medium, medium)), medium)


@pytest.mark.parametrize("name", ["POSITION", "Position", " position", "position "])
def test_a_name_that_is_a_members_but_for_its_case_or_its_blanks_is_refused(name):
    with pytest.raises(BatchError) as raised:
        answers_to(f"{name},position.lat_deg\nx,1\n".encode(), CSV)
    assert raised.value.code == "unknown_column"
    rows = answers_to(orjson.dumps({"position": "33VVK12", "DIGITS": 1}) + b"\n", NDJSON)
    assert code_of(rows[0]) == "unknown_member"


def test_an_angle_that_an_operation_does_not_take_is_refused():
    body = b"from,bearing,north,distance_m,date,declination_deg\n33VVK1267,10,magnetic,100,2026-11-25,5\n"
    with pytest.raises(BatchError):
        answered_as("rays", body, CSV)


def test_an_empty_cell_of_a_flag_is_not_there():
    rows = answers_to(b"position,allow_ballpark\n33VVK12,\n33VVK12,TRUE\n33VVK12,yes\n", CSV)
    assert [code_of(row) for row in rows] == [None, None, "wrong_type"]


@pytest.mark.parametrize(
    ("column", "code"),
    [
        (pa.array([2**64 - 1, 3], pa.uint64()), "out_of_range"),
        (pa.array([float("inf"), 3.0]), "wrong_type"),
        (pa.array([2.5, 3.0]), "wrong_type"),
        (pa.array([1e300, 3.0]), "out_of_range"),
    ],
)
def test_a_number_that_does_not_fit_its_column_is_a_bad_row(column, code):
    rows = answers_to(arrow_stream(pa.table({"position": ["33VVK12345678"] * 2, "digits": column})), ARROW)
    assert code_of(rows[0]) == code
    assert code_of(rows[1]) is None


def test_columns_of_one_name_are_refused_in_arrow_too():
    table = pa.Table.from_arrays(
        [pa.array(["33VVK12"]), pa.array(["33VVK34"])], names=["position", "position"]
    )
    with pytest.raises(BatchError) as raised:
        answers_to(arrow_stream(table), ARROW)
    assert raised.value.code == "duplicate_column"


def test_a_stream_behind_a_stream_is_told():
    stream = encoded(POSITIONS, BODIES, ARROW)
    rows = answers_to(stream + stream, ARROW)
    assert len(rows) == ROWS + 1
    assert code_of(rows[-1]) == "malformed_stream"


@pytest.mark.parametrize("medium", [NDJSON, CSV])
def test_the_last_line_of_a_stream_that_is_known_to_be_cut_is_not_answered(medium):
    whole = encoded(POSITIONS, [{"position": "33VVK1234567890"}] * 3, medium).rstrip()
    end = len(whole) if medium == NDJSON else len(whole) - 4  # a shorter reference is a reference too
    rows = answers_to(whole[:end], medium, "it was torn")
    assert [code_of(row) for row in rows] == [None, None, "malformed_stream"]


def test_a_null_within_a_list_is_not_there():
    sights = [
        {"from": "33V VK 123 678", "bearing": 45, "sd_deg": None},
        {"from": "33V VK 150 678", "bearing": "N 40 W"},
    ]
    rows = answered_as("intersections", orjson.dumps({"sights": sights, "north": "grid"}) + b"\n", NDJSON)
    assert code_of(rows[0]) is None


@pytest.mark.parametrize(
    "tail", [b" " * (3 << 20), b'{"position":"33VVK12","note":"' + b"x" * (3 << 20) + b'"}']
)
def test_a_line_that_is_too_long_costs_the_others_nothing(tail):
    line = b'{"position":"33VVK12"}'
    rows = answers_to(b"\n".join([line, line, tail, line, line]) + b"\n", NDJSON)
    codes = [code_of(row) for row in rows]
    assert codes == [None] * 4 if tail.isspace() else [None, None, "malformed_row", None, None]


def test_a_lone_carriage_return_and_an_inch_mark_break_nothing_off():
    rows = answers_to(b'id,position,note\n1,33VVK12,5" na\ril\n2,33VVK12,"a"\n3,33VVK12,5"\n', CSV)
    assert [row["id"] for row in rows if code_of(row) is None] == ["1", "2", "3"]


def test_a_quote_within_a_cell_does_not_hide_a_cell_that_goes_on(monkeypatch):
    monkeypatch.setattr("threenorths_service.batch.csv_rows.BLOCK_BYTES", 40)
    lines = [f'{row},33VVK12,a"b,"one\ntwo"' for row in range(50)]
    rows = answers_to(("id,position,size,note\n" + "\n".join(lines) + "\n").encode(), CSV)
    assert [row["id"] for row in rows] == [str(row) for row in range(50)]
    assert {row["note"] for row in rows} == {"one\ntwo"}


def test_lists_of_the_address_and_of_a_row_are_put_together():
    body = orjson.dumps(
        {
            "sights": [
                {"from": "33V VK 1200 6500", "bearing": 52},
                {"from": "33V VK 1710 6480", "bearing": 331},
            ],
            "north": "grid",
        }
    )
    common = {"sights.0.sd_deg": 3.0, "sights.1.sd_deg": 3.0}
    (row,) = answered_as("intersections", body + b"\n", NDJSON, common)
    (default,) = answered_as("intersections", body + b"\n", NDJSON)
    assert row["answer"]["ellipse"]["semi_major_m"] > 1.5 * default["answer"]["ellipse"]["semi_major_m"]


def test_objects_over_lines_are_no_rows():
    body = b'{"position":"33VVK12"}\n{"position":"33VVK12"}{"position":"33VVK34"}\n{"position":\n"33VVK12"}\n'
    assert [code_of(row) for row in answers_to(body, NDJSON)] == [None, *["malformed_row"] * 3]


def test_what_belongs_to_the_other_kind_of_check_is_looked_at_in_columns_too():
    place = {"reported": "33V VK 12345 67890", "expected": "33V VK 12345 67890", "tolerance_m": 10}
    bearing = {"reported_bearing": 10, "expected_bearing": 10, "north": "grid", "tolerance_deg": 1}
    bodies = [
        {**place, "date": "rubbish"},
        {**place, "north": "up"},
        {**place, "declination_deg": 181},
        {**place, "position": "nowhere", "date": "2026-11-25"},
        {**bearing, "tolerance_m": -180},
        place,
        bearing,
    ]
    rows = answered_as("checks", encoded(BATCHED["checks"], bodies, NDJSON), NDJSON)
    for row, body in zip(rows, bodies, strict=True):
        try:
            BATCHED["checks"].answer_to(body)
            expected = None
        except (NavigationError, ValidationError) as error:
            expected = faults_of(error)[0]["code"]
        assert code_of(row) == expected


def test_the_first_rows_are_sent_before_the_last_are_answered(monkeypatch):
    clock = iter(range(10_000))
    monkeypatch.setattr("threenorths_service.batch.stream.time.monotonic", lambda: float(next(clock)))
    stream = encoded(POSITIONS, [{"position": "33VVK12"}] * 500, NDJSON)
    pieces = list(answer_stream(Source(io.BytesIO(stream), POSITIONS), PLAN, NDJSON, NDJSON))
    sizes = [piece.count(b"\n") for piece in pieces]
    assert sum(sizes) == 500
    assert sizes[0] == 128
    assert sizes[1] < sizes[0]  # a second for these was too long


def test_short_records_of_a_wide_table_are_held_a_few_at_a_time():
    """Each has all the columns, so that a small body would take gigabytes."""
    names = ["position", *(f"mine {place}" for place in range(1999))]
    stream = ",".join(names).encode() + b"\n" + b"33VVK12\n" * 5000
    counts = [chunk.rows.count for chunk in CsvReader(Source(io.BytesIO(stream), POSITIONS)).chunks()]
    assert sum(counts) == 5000
    assert max(counts) * len(names) <= CELLS_AT_ONCE


@pytest.mark.parametrize(
    "line",
    [
        '{{"q{}":1}}',
        '{{"q{}" :1}}',
        '{{"q{}"\t:1}}',
        '{{"q{}"\r:1}}',
        '{{"a":"",":q{}":1}}',
        '{{"b":1,"q{}\\"b":1}}',
        '{{"position":"33VVK12","mine":{{"q{}":1}}}}',
    ],
)
def test_lines_of_ever_other_names_do_not_each_pay_for_all_of_them(line, monkeypatch):
    """Arrow makes a column of each name, as long as there are lines: it must not be asked to."""
    monkeypatch.setattr("threenorths_service.batch.ndjson_rows.CELLS_AT_ONCE", 100_000)
    asked = []
    read = arrow_json.read_json

    def watched(source, *options):
        table = read(source, *options)
        asked.append(table.num_rows * (len(table.column_names) + sum(map(_within, table.schema.types))))
        return table

    monkeypatch.setattr("threenorths_service.batch.ndjson_rows.arrow_json.read_json", watched)
    lines = [line.format(number) for number in range(1500)]
    rows = answers_to("\n".join([lines[0]] * 3 + lines).encode(), NDJSON)
    assert len(rows) == 1503
    assert max(asked, default=0) <= 100_000


def _within(arrow_type):
    return arrow_type.num_fields


def test_a_list_that_is_too_long_makes_no_columns():
    sight = {"from": "33VVK12", "bearing": 10.0}
    lines = [orjson.dumps({"sights": [sight] * 2000, "north": "true"}), *[b"{}"] * 5000]
    reader = NdjsonReader(Source(io.BytesIO(b"\n".join(lines)), BATCHED["intersections"]))
    chunks = list(reader.chunks())
    assert sum(chunk.rows.count for chunk in chunks) == 5001
    assert max(len(chunk.rows.columns) for chunk in chunks) < 10
    rows = answered_as("intersections", b"\n".join(lines[:2]), NDJSON)
    with pytest.raises(ValidationError) as caught:
        BATCHED["intersections"].answer_to(orjson.loads(lines[0]))
    assert code_of(rows[0]) == faults_of(caught.value)[0]["code"]


def test_a_wide_table_of_lines_is_held_a_few_rows_at_a_time():
    first = {"position": "33VVK12", **{f"mine {place}": 1 for place in range(1999)}}
    stream = orjson.dumps(first) + b"\n" + b"{}\n" * 5000
    reader = NdjsonReader(Source(io.BytesIO(stream), POSITIONS))
    types = reader.carried_types()
    counts = [chunk.rows.count for chunk in reader.chunks()]
    assert sum(counts) == 5001
    assert max(counts) * len(types) <= CELLS_AT_ONCE


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "Inf"])
@pytest.mark.parametrize("name", ["mine", "lat_deg"])
def test_what_is_no_number_in_json_is_a_bad_row_wherever_it_stands(number, name):
    good, bad = '{"position":"33VVK12","mine":1.5}', f'{{"position":"33VVK12","{name}":{number}}}'
    for lines in ([good, bad, good], [bad, good, good], [good, good, '{"mine":[]}', bad]):
        rows = answers_to("\n".join([*lines, ""]).encode(), NDJSON)
        assert [code_of(row) for row in rows].count("malformed_row") == 1
        assert code_of(rows[lines.index(bad)]) == "malformed_row"


@pytest.mark.parametrize("before", [0, 100, 900_000])
def test_a_line_may_be_so_long_wherever_it_lies(before):
    filler = b'{"position":"33VVK12"}\n' * (before // 23 + 1)
    for length, code in ((LONGEST_LINE_BYTES, None), (LONGEST_LINE_BYTES + 1, "malformed_row")):
        empty = b'{"position":"33VVK12","mine":""}'
        line = empty[:-2] + b"x" * (length - len(empty)) + empty[-2:]
        rows = answers_to(filler + line + b"\n" + filler, NDJSON)
        assert {code_of(row) for row in rows} == {None, code}
        assert code_of(rows[before // 23 + 1]) == code


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b'{"id":"a","speed":NaN}', "at its character 19"),
        (b'{"x":1e400}', "number is infinity"),
        (b"[1]", "but another value"),
        (b'{"position":"33VVK12"', "unexpected end of data"),
        (b'{"x":' + b"[" * 200 + b"]" * 200 + b"}", "deeper than 100"),
        (b'{"x":"' + b"x" * LONGEST_LINE_BYTES + b'"}', "longer than 1048576 bytes"),
        (b'{"position.lat_deg":1}', "'position' with 'lat_deg' in it"),
    ],
)
def test_a_line_that_is_no_row_is_told_why(line, why):
    (row,) = answers_to(line + b"\n", NDJSON)
    assert why in row["error"]["text"]
    assert len(row["error"]["text"]) < 400


def test_json_of_the_caller_s_own_stays_on_its_line():
    own = ['{\n"a": 1\n}', "nonsense", None, '"text"', "[1, 2]"]
    column = pa.ExtensionArray.from_storage(pa.json_(), pa.array(own, pa.string()))
    table = pa.table({"position": ["33VVK12"] * 5, "own": column})
    source = Source(io.BytesIO(arrow_stream(table)), POSITIONS)
    rows = decoded(b"".join(answer_stream(source, PLAN, ARROW, NDJSON)), NDJSON)
    assert [row["own"] for row in rows] == [{"a": 1}, "nonsense", None, "text", [1, 2]]


@pytest.mark.parametrize("medium", [NDJSON, CSV])
def test_values_that_python_cannot_hold_are_carried_as_numbers(medium):
    moments = pa.array([[2**62, 0], None], pa.list_(pa.timestamp("s")))
    table = pa.table({"position": ["33VVK12"] * 2, "own": moments, "raw": pa.array([b"abc", b"\xff"])})
    source = Source(io.BytesIO(arrow_stream(table)), POSITIONS)
    first, second = decoded(b"".join(answer_stream(source, PLAN, ARROW, medium)), medium)
    own = first["own"] if medium == NDJSON else orjson.loads(first["own"])
    assert own == [str(2**62), "1970-01-01T00:00:00"]
    # Bytes are written alike whatever stands beside them.
    assert (first["raw"], second["raw"]) == ("YWJj", "/w==")


def test_long_values_that_rows_share_are_spread_out_for_few_rows_at_a_time():
    """A stream of some megabytes would become twenty gigabytes."""
    long = "x" * 10_000_000
    own = pa.DictionaryArray.from_arrays(pa.array([1] * 500, pa.int8()), pa.array(["a", long]))
    stream = arrow_stream(pa.table({"position": ["33VVK12"] * 500, "own": own}))
    counts = [chunk.rows.count for chunk in ArrowReader(Source(io.BytesIO(stream), POSITIONS)).chunks()]
    assert sum(counts) == 500
    assert max(counts) * len(long) <= MOST_SPREAD_BYTES


@pytest.mark.parametrize("medium", [CSV, ARROW])
def test_long_whole_numbers_of_the_caller_s_own_keep_their_digits(medium):
    long = "12345678901234567890123456"
    lines = [f'{{"position":"33VVK12","number":{long},"list":[{long}]}}', '{"position":"33VVK12","number":7}']
    source = Source(io.BytesIO("\n".join(lines).encode()), POSITIONS)
    first, second = decoded(b"".join(answer_stream(source, PLAN, NDJSON, medium)), medium)
    assert (first["number"], first["list"], second["number"]) == (long, f"[{long}]", "7")


@pytest.mark.parametrize("block_bytes", [14, 17, 40])
def test_records_are_the_same_wherever_blocks_of_the_stream_end(block_bytes, monkeypatch):
    lots = random.Random(block_bytes)
    cells = ("a", '"q"', '"q ""z"" q"', '"l1\nl2"', "", '5"', '"\n"', '""', '"a,b"', '"\r\n,"', 'a","')
    for _ in range(300):
        records = [",".join(lots.choice(cells) for _ in range(2)) for _ in range(lots.randint(1, 9))]
        stream = "\n".join(["position,note", *records, *lots.choice(((), ("",)))]).encode()
        whole = answers_to(stream, CSV)
        with monkeypatch.context() as patched:
            patched.setattr("threenorths_service.batch.csv_rows.BLOCK_BYTES", block_bytes)
            in_blocks = answers_to(stream, CSV)
        # Where a quote is out of place, how far it reaches hangs on what is seen of what follows.
        if "malformed_row" not in map(code_of, whole):
            assert in_blocks == whole
