"""Batches against a stand-in of the service: order, faults, rows that are bad, every kind of source, and memory."""

import csv
import datetime
import io
import itertools
import json
import random
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import polars as pl
import pyarrow as pa
import pytest

import threenorths.batch_line_sources
from client.batch_stand_in import (
    ARROW,
    CSV,
    NDJSON,
    StandIn,
    answered,
    places,
    read,
    send,
    source_files,
    written,
)
from threenorths import (
    ApiError,
    ArgumentError,
    Client,
    DamagedStreamError,
    FileError,
    InvalidRequestError,
    LatLon,
    ResponseError,
    ServiceError,
    Sheet,
    SheetGrid,
)
from threenorths.batch_csv import cells_of, record_of, records
from threenorths.batch_options import SummaryChoice

PROBLEM = (
    b'{"type": "/problems/unknown_column", "title": "No such column", "status": 422, "detail": "there is no column \'x\'", '
    b'"code": "invalid_request", "request_id": "invented"}'
)


def test_rows_come_in_order_whatever_order_their_requests_end_in(service: StandIn, asker: Client) -> None:
    answered: list[int] = []
    others = threading.Event()

    def hook(_: object, __: int, body: bytes) -> None:
        first = json.loads(body.split(b"\n", 1)[0])["id"]
        if first == 0:
            assert others.wait(30.0)
        answered.append(first)
        if len(answered) == 10:
            others.set()

    service.hook = hook
    rows = list(asker.batch("positions", places(400), rows_per_request=10, at_once=8))
    assert [row["id"] for row in rows] == list(range(400))
    assert [row["answer"]["lat_deg"] for row in rows] == [float(number % 50) for number in range(400)]
    assert answered.index(0) >= 10
    assert all(len(asked.rows) == 10 for asked in service.asked)


def test_so_many_requests_are_under_way_at_once_and_no_more(service: StandIn, asker: Client) -> None:
    together = threading.Barrier(5)

    def hook(*_: object) -> None:
        together.wait(30.0)  # which fewer than five at once never pass

    service.hook = hook
    assert len(list(asker.batch("positions", places(200), rows_per_request=10, at_once=5))) == 200
    assert service.most_at_once == 5


def test_a_part_that_fails_is_repeated_alone(service: StandIn, asker: Client, waits: list[float]) -> None:
    failures = iter([503, 0, 429])

    def hook(handler: Any, number: int, body: bytes) -> bool:
        if b'"id":30,' not in body:
            return False
        status = next(failures, None)
        if status == 0:
            handler.close_connection = True
        elif status is not None:
            send(handler, status, b"busy", "text/plain")
        return status is not None

    service.hook = hook
    rows = list(asker.batch("positions", places(100), rows_per_request=10))
    assert [row["id"] for row in rows] == list(range(100))
    firsts = sorted(asked.rows[0]["id"] for asked in service.asked)
    assert firsts == [0, 10, 20, 30, 30, 30, 30, 40, 50, 60, 70, 80, 90]
    assert len(waits) == 3


def test_a_part_that_keeps_failing_is_an_error_after_the_rows_before_it(
    service: StandIn, asker: Client, waits: list[float]
) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        fails = b'"id":30,' in body
        if fails:
            send(handler, 503, b"busy", "text/plain")
        return fails

    service.hook = hook
    rows = iter(asker.batch("positions", places(100), rows_per_request=10))
    assert [next(rows)["id"] for _ in range(30)] == list(range(30))
    with pytest.raises(ServiceError):
        next(rows)


def test_bad_rows_come_in_their_places_with_their_numbers_in_the_whole_source(
    service: StandIn, asker: Client
) -> None:
    source = places(30)
    source[4]["position"] = source[17]["position"] = "bad"
    batch = asker.batch("positions", source, rows_per_request=10)
    rows = list(batch)
    assert [row["error"]["row"] for row in rows if "error" in row] == [5, 18]
    assert rows[17]["id"] == 17
    assert rows[17]["error"]["code"] == "unreadable_position"
    assert (batch.rows, batch.bad_rows, batch.summary) == (30, 2, None)


@pytest.mark.parametrize("medium", ["rows", "table"])
def test_a_row_that_carries_the_word_error_is_no_bad_row(
    service: StandIn, asker: Client, medium: str
) -> None:
    source = [{"position": "x", "note": '"error"', "nested": '{"error": 1}'}]
    batch = asker.batch("positions", source)
    rows = list(batch) if medium == "rows" else batch.table().to_pylist()
    assert rows[0]["note"] == '"error"'
    assert batch.bad_rows == 0


def test_a_row_that_ends_the_stream_is_a_bad_row_and_those_behind_it_are_answered(
    service: StandIn, asker: Client
) -> None:
    source = places(30)
    source[12]["position"] = "end"
    rows = list(asker.batch("positions", source, rows_per_request=10))
    assert len(rows) == 30
    assert rows[12] == {
        "error": {"code": "malformed_stream", "text": "it ends here", "row": 13, "byte": None}
    }
    assert [row["id"] for row in rows[13:]] == list(range(13, 30))
    # Once, once more to tell it from damage on the way, and once for the seven rows behind it.
    assert sorted(len(asked.rows) for asked in service.asked) == [7, 10, 10, 10, 10]


def test_it_is_one_in_a_table_too(service: StandIn, asker: Client) -> None:
    source = places(12)
    source[3]["position"] = source[11]["position"] = "end"
    batch = asker.batch("positions", source)
    table = batch.table()
    assert table["error.row"].to_pylist() == [None] * 3 + [4] + [None] * 7 + [12]
    assert table["id"].to_pylist() == [0, 1, 2, None, 4, 5, 6, 7, 8, 9, 10, None]
    assert batch.bad_rows == 2


def broken_answer(handler: Any, row: int) -> None:
    fault = {"code": "malformed_stream", "text": "cut", "row": row, "byte": 7}
    records = [{"answer": {}} for _ in range(row - 1)] + [{"error": fault}]
    send(handler, 200, b"".join(json.dumps(record).encode() + b"\n" for record in records), NDJSON)


def test_damage_on_the_way_is_cured_by_sending_again(service: StandIn, asker: Client) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        if number == 0:
            broken_answer(handler, 5)
        return number == 0

    service.hook = hook
    rows = list(asker.batch("positions", places(10)))
    assert [row["id"] for row in rows] == list(range(10))
    assert not any("error" in row for row in rows)


def test_damage_time_after_time_is_a_named_error(service: StandIn, asker: Client) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        broken_answer(handler, number + 2)
        return True

    service.hook = hook
    with pytest.raises(DamagedStreamError, match="not what was sent: cut"):
        list(asker.batch("positions", places(10)))
    assert len(service.asked) == 3


def test_so_is_an_answer_without_all_its_rows(service: StandIn, asker: Client) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        send(handler, 200, b'{"answer": {}}\n', NDJSON)
        return True

    service.hook = hook
    with pytest.raises(DamagedStreamError, match="10 rows were to come and 1 came"):
        list(asker.batch("positions", places(10)))
    assert len(service.asked) == 3


@pytest.mark.parametrize("source", ["rows", "table"])
def test_rows_that_are_lost_once_are_asked_for_again(service: StandIn, asker: Client, source: str) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        if number == 0:
            send(handler, 200, b'{"answer": {}}\n', NDJSON)
        return number == 0

    service.hook = hook
    rows = places(10)
    answered = list(asker.batch("positions", rows if source == "rows" else pa.Table.from_pylist(rows)))
    assert [row["id"] for row in answered] == list(range(10))
    assert len(service.asked) == 2


def test_so_is_a_break_in_a_row_that_was_not_sent(service: StandIn, asker: Client) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        broken_answer(handler, 12)
        return True

    service.hook = hook
    with pytest.raises(DamagedStreamError, match="not what was sent: cut"):
        list(asker.batch("positions", places(10)))
    assert len(service.asked) == 3


@pytest.mark.parametrize(
    ("status", "body", "media", "kind"),
    [
        (422, PROBLEM, "application/problem+json", InvalidRequestError),
        (200, b"<html>login</html>", "text/html", ResponseError),
        (200, b"<html>login</html>", NDJSON, ResponseError),
        (200, b"[1]\n" * 10, NDJSON, ResponseError),
        (302, b"", "text/html", ResponseError),
    ],
)
def test_what_is_no_answer_is_its_own_error(
    service: StandIn, asker: Client, status: int, body: bytes, media: str, kind: type[Exception]
) -> None:
    def hook(handler: Any, *_: object) -> bool:
        send(handler, status, body, media)
        return True

    service.hook = hook
    with pytest.raises(kind) as caught:
        list(asker.batch("positions", places(10)))
    assert isinstance(caught.value, ApiError | ResponseError)


def test_what_is_sent(service: StandIn, asker: Client) -> None:
    members = {
        "date": datetime.date(2026, 11, 25),
        "allow_ballpark": True,
        "reach_m": 500.0,
        "near": LatLon(62.94, 13.27),
        "sheet": Sheet(grid=SheetGrid(epsg=3006)),
        "sights": [{"sd_deg": 1.0}],
        "height_m": None,
    }
    source = [
        {"position": LatLon(62.94, 13.27), "when": datetime.datetime(2026, 11, 25, 12, tzinfo=datetime.UTC)}
    ]
    batch = asker.batch(
        "compass_settings", source, members=members, columns=["lat_deg", "written"], summary=False
    )
    assert len(list(batch)) == 1
    (asked,) = service.asked
    assert asked.path == "/v1/batches/compass-settings"
    assert asked.query == {
        "columns": ["lat_deg,written"],
        "summary": ["false"],
        "date": ["2026-11-25"],
        "allow_ballpark": ["true"],
        "reach_m": ["500.0"],
        "near.lat_deg": ["62.94"],
        "near.lon_deg": ["13.27"],
        "sheet.grid.epsg": ["3006"],
        "sights.0.sd_deg": ["1.0"],
    }
    assert asked.rows == [
        {"position": {"lat_deg": 62.94, "lon_deg": 13.27}, "when": "2026-11-25T12:00:00+00:00"}
    ]
    assert (asked.media, asked.accept) == (NDJSON, NDJSON)
    assert asked.headers["Accept-Encoding"] == "identity"
    assert "Content-Encoding" not in asked.headers


def test_compressed_both_ways_where_wanted(service: StandIn, asker: Client) -> None:
    rows = list(asker.batch("positions", places(100), compress=True))
    assert [row["id"] for row in rows] == list(range(100))
    (asked,) = service.asked
    assert asked.headers["Content-Encoding"] == asked.headers["Accept-Encoding"] == "gzip"


def source_of_kind(kind: str, rows: list[dict[str, Any]], folder: Path) -> Any:
    match kind:
        case "list":
            return rows
        case "generator":
            return (row for row in rows)
        case "pandas":
            return pd.DataFrame(rows, index=range(100, 100 + len(rows)))
        case "pandas, categories":
            return pd.DataFrame(rows).astype({"position": "category"})
        case "polars":
            return pl.DataFrame(rows)
        case "polars, categories":
            return pl.DataFrame(rows).cast({"position": pl.Categorical})
        case "Arrow table":
            return pa.Table.from_pylist(rows)
        case "record batch":
            return pa.RecordBatch.from_pylist(rows)
        case "reader of record batches":
            return pa.Table.from_pylist(rows).to_reader(max_chunksize=7)
    return source_files(folder, len(rows))[kind]


TEXT_KINDS = {"list": NDJSON, "generator": NDJSON, "ndjson": NDJSON, "jsonl": NDJSON, "csv": CSV}
ARROW_KINDS = [
    "pandas",
    "pandas, categories",
    "polars",
    "polars, categories",
    "Arrow table",
    "record batch",
    "reader of record batches",
    "parquet",
    "arrow",
]


@pytest.mark.parametrize("kind", [*TEXT_KINDS, *ARROW_KINDS])
@pytest.mark.parametrize("taken", ["rows", "table", "frame"])
def test_every_source_is_answered_as_rows_and_as_a_table(
    service: StandIn, asker: Client, tmp_path: Path, kind: str, taken: str
) -> None:
    source = source_of_kind(kind, places(53), tmp_path)
    batch = asker.batch("positions", source, rows_per_request=10)
    if taken == "rows":
        rows = [(row["id"], row["position"], row["answer"]["lat_deg"]) for row in batch]
    elif taken == "table":
        columns = batch.table().select(["id", "position", "answer.lat_deg"]).to_pydict()
        rows = list(zip(*columns.values(), strict=True))
    else:
        rows = list(batch.frame()[["id", "position", "answer.lat_deg"]].itertuples(index=False, name=None))
    assert [(int(number), place or "", lat_deg) for number, place, lat_deg in rows] == [
        (number, "x" * (number % 50), float(number % 50)) for number in range(53)
    ]
    assert sorted(len(asked.rows) for asked in service.asked) == [3, 10, 10, 10, 10, 10]
    assert {asked.media for asked in service.asked} == {TEXT_KINDS.get(kind, ARROW)}


def test_tables_come_part_by_part(service: StandIn, asker: Client) -> None:
    tables = asker.batch("positions", places(30), rows_per_request=10).tables()
    assert [table.num_rows for table in tables] == [10, 10, 10]


def test_csv_goes_as_it_stands_with_its_header_in_each_request(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    path = tmp_path / "places.csv"
    records = [
        b'1,"33V VK, 1234\r\n8012",0012\r\n',
        b"\r\n",
        b'2,"said ""here""\n\n",\r\n',
        "3,höjd,1e5\n".encode(),
        b"4,bad,7",
    ]
    path.write_bytes(b'\xef\xbb\xbfid,position,"own\ncolumn"\r\n' + b"".join(records))
    rows = list(asker.batch("positions", path, rows_per_request=2, at_once=1))
    head = b'id,position,"own\ncolumn"\r\n'
    assert [asked.body for asked in service.asked] == [
        head + records[0] + records[2],
        head + records[3] + records[4] + b"\n",
    ]
    assert [row["position"] for row in rows] == ["33V VK, 1234\r\n8012", 'said "here"\n\n', "höjd", "bad"]
    assert rows[0]["own\ncolumn"] == "0012"
    assert rows[3]["error"]["row"] == 4


def test_where_a_stream_ends_is_told_by_its_byte_in_the_file(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    path = tmp_path / "places.csv"
    content = b"id,position\n1,x\n\n2,y\n3,zz\n4,end\n5,z\n"
    path.write_bytes(content)

    def hook(handler: Any, number: int, body: bytes) -> bool:
        at = body.find(b"end")
        if at >= 0:
            fault = {"code": "malformed_stream", "text": "it ends", "row": 2, "byte": at}
            rows = [{"id": "3", "answer": {}}, {"error": fault}]
            send(handler, 200, b"".join(json.dumps(row).encode() + b"\n" for row in rows), NDJSON)
        return at >= 0

    service.hook = hook
    rows = list(asker.batch("positions", path, rows_per_request=2, at_once=1))
    assert rows[3]["error"]["byte"] == content.index(b"end")
    assert rows[3]["error"]["row"] == 4
    assert [row["id"] for row in rows if "id" in row] == ["1", "2", "3", "5"]


@pytest.mark.parametrize("limit", [2, 400])
def test_a_request_is_bounded_in_bytes_too(
    service: StandIn, asker: Client, monkeypatch: pytest.MonkeyPatch, limit: int
) -> None:
    monkeypatch.setattr(threenorths.batch_line_sources, "LARGEST_BODY_BYTES", limit)
    rows = list(asker.batch("positions", places(60)))
    assert [row["id"] for row in rows] == list(range(60))
    assert all(len(asked.body) <= limit or len(asked.rows) == 1 for asked in service.asked)
    assert len(service.asked) > 5


def test_an_endless_source_is_held_back_by_whoever_takes_slowly(service: StandIn, asker: Client) -> None:
    drawn = itertools.count()

    def endless() -> Iterator[dict[str, Any]]:
        while True:
            yield {"id": next(drawn), "position": "x"}

    taken = 0
    ahead = []
    with asker.batch("positions", endless(), rows_per_request=10, at_once=3) as batch:
        for row in batch:
            taken += 1
            if taken % 10 == 0:
                time.sleep(0.02)
            ahead.append(int(repr(drawn)[6:-1]) - row["id"])
            if taken == 300:
                break
    # Six parts wait or are under way, one is being taken, and a row stands at the gate.
    assert max(ahead) <= 8 * 10
    assert len(service.asked) <= 30 + 7


def test_leaving_early_ends_the_threads(service: StandIn, asker: Client) -> None:
    before = set(threading.enumerate())

    def ours() -> set[threading.Thread]:
        """Those of the client: the stand-in and the progress bar have threads too."""
        return {thread for thread in set(threading.enumerate()) - before if "threenorths" in thread.name}

    rows = iter(asker.batch("positions", ({"position": "x"} for _ in itertools.count()), rows_per_request=1))
    next(rows)
    assert ours()
    rows.close()
    deadline_s = time.monotonic() + 10.0
    while ours():
        assert time.monotonic() < deadline_s
        time.sleep(0.01)


def test_threads_share_a_client(service: StandIn, asker: Client) -> None:
    found: dict[int, list[int]] = {}

    def ask(thread: int) -> None:
        source = [{"id": thread * 1000 + number, "position": "x"} for number in range(50)]
        found[thread] = [row["id"] for row in asker.batch("positions", source, rows_per_request=5)]

    threads = [threading.Thread(target=ask, args=(thread,)) for thread in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == {thread: [thread * 1000 + number for number in range(50)] for thread in range(4)}


def test_nothing_is_asked_before_it_is_wanted_and_nothing_twice(service: StandIn, asker: Client) -> None:
    batch = asker.batch("positions", places(3))
    assert service.asked == []
    assert len(list(batch)) == 3
    with pytest.raises(ArgumentError, match="asked already"):
        list(batch)
    with pytest.raises(ArgumentError, match="asked already"):
        batch.table()


def test_summaries_are_taken_off_and_added_up(service: StandIn, asker: Client, tmp_path: Path) -> None:
    service.with_summary = True
    paths = source_files(tmp_path, 53)
    for source in (places(53), paths["csv"], paths["parquet"]):
        batch = asker.batch("checks", source, rows_per_request=10)
        assert len(list(batch)) == 53
        assert batch.summary == {"count": 53, "largest": 49.0, "edges": [1.0], "counts": [53, 0]}
        batch = asker.batch("checks", source, rows_per_request=10)
        table = batch.table()
        assert table.num_rows == 53
        assert "summary" not in table.column_names
        assert batch.summary["count"] == 53


def test_the_summary_alone(service: StandIn, asker: Client) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        send(handler, 200, b'{"summary": {"count": 10}}\n', NDJSON)
        return True

    service.hook = hook
    batch = asker.batch("checks", places(30), summary="only", rows_per_request=10)
    assert list(batch) == []
    assert batch.summary == {"count": 30}
    assert service.asked[0].query == {"summary": ["only"]}


@pytest.mark.parametrize("summary", [True, "only"])
def test_the_rows_that_end_the_stream_are_summed_up_too(
    service: StandIn, asker: Client, summary: SummaryChoice
) -> None:
    def hook(handler: Any, number: int, body: bytes) -> bool:
        records = answered(read(NDJSON, body)[0], with_summary=False)
        rows = [record for record in records if record.get("error", {}).get("code") != "malformed_stream"]
        codes = Counter(row["error"]["code"] for row in rows if "error" in row)
        closing = [*records[len(rows) :], {"summary": {"rows": len(rows), "errors": dict(codes)}}]
        send(handler, 200, written(NDJSON, closing if summary == "only" else rows + closing, []), NDJSON)
        return True

    service.hook = hook
    source = places(9)
    source[2]["position"] = "bad"
    source[4]["position"] = source[8]["position"] = "end"
    batch = asker.batch("checks", source, summary=summary, rows_per_request=6)
    assert len(list(batch)) == (0 if summary == "only" else 9)
    assert batch.summary == {"rows": 9, "errors": {"unreadable_position": 1, "malformed_stream": 2}}
    assert (batch.rows, batch.bad_rows) == (9, 3)


def test_bad_rows_are_counted_without_the_rows_too(client: Client, tmp_path: Path) -> None:
    path = tmp_path / "reports.csv"
    path.write_text(
        'reported,expected\n33V VK 1234 8012,33V VK 1234 8012\n33V VK 1234 8012,x\n"never,closed\n'
    )
    choices: list[SummaryChoice] = [True, "only"]
    for summary in choices:
        batch = client.batch("checks", path, summary=summary, members={"tolerance_m": 50})
        list(batch)
        assert (batch.rows, batch.bad_rows, batch.summary["rows"]) == (3, 2, 3)
        assert sum(batch.summary["errors"].values()) == 2


def test_a_source_without_rows_has_its_columns(service: StandIn, asker: Client, tmp_path: Path) -> None:
    assert list(asker.batch("positions", [])) == []
    assert service.asked == []
    (tmp_path / "none.csv").write_text("id,position\n")
    for source in (tmp_path / "none.csv", pa.table({"id": pa.array([], pa.int64())})):
        table = asker.batch("positions", source).table()
        assert table.num_rows == 0
        assert "answer.lat_deg" in table.column_names


def test_columns_that_only_some_parts_have_are_brought_together(service: StandIn, asker: Client) -> None:
    source = [{"position": "x", "own": 1}, {"position": "x", "own": 2.5}, {"position": "x", "other": "y"}]
    source.append({"position": "x", "own": "text"})
    table = asker.batch("positions", source, rows_per_request=1).table()
    assert table.column_names[:3] == ["position", "own", "other"]
    assert table.column_names[-1] == "error.byte"
    assert table["own"].to_pylist() == ["1", "2.5", None, '"text"']
    assert table["own"].type == pa.json_()


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("places.txt", "does not say what it holds"),
        ({"position": "x"}, "no source of rows"),
        (b"x", "no source of rows"),
        (7, "no source of rows"),
        (["x"], "row 1 is no dictionary but 'x'"),
        ([{"position": object()}], "row 1 cannot be written as JSON"),
    ],
)
def test_what_is_no_source_is_said(service: StandIn, asker: Client, source: Any, said: str) -> None:
    with pytest.raises(ArgumentError, match=said):
        list(asker.batch("positions", source))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"\xff\xfei\0d\0", "UTF-16"),
        (b"id,position\r1,x\r", "carriage returns alone"),
        (b'id,position\n1,"x"\r2,x\r\n', "carriage returns alone"),
        (b'id,"position\n' + b"2,x\n" * 50_000, "the quotes in the header of 'places.csv' are not closed"),
    ],
)
def test_a_file_that_is_no_csv_is_refused(asker: Client, tmp_path: Path, content: bytes, said: str) -> None:
    (tmp_path / "places.csv").write_bytes(content)
    with pytest.raises(ArgumentError, match=said):
        list(asker.batch("positions", tmp_path / "places.csv"))


@pytest.mark.parametrize("name", ["none.csv", "none.ndjson", "none.parquet", "none.arrow"])
def test_a_source_that_is_not_there(asker: Client, tmp_path: Path, name: str) -> None:
    with pytest.raises(FileError, match="cannot be read") as caught:
        asker.batch("positions", tmp_path / name)
    assert isinstance(caught.value.__cause__, OSError)


def test_a_file_that_is_no_parquet(asker: Client, tmp_path: Path) -> None:
    (tmp_path / "places.parquet").write_bytes(b"no Parquet")
    with pytest.raises(FileError, match="cannot be read"):
        asker.batch("positions", tmp_path / "places.parquet")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"rows_per_request": 0}, "rows_per_request is a whole number"),
        ({"at_once": True}, "at_once is a whole number"),
        ({"members": {"summary": True}}, "no member of a row"),
        ({"members": {"reach_m": float("inf")}}, "reach_m cannot be sent"),
        ({"operation": "../positions"}, "no name of an operation"),
    ],
)
def test_what_cannot_be_asked_is_said_at_once(asker: Client, options: dict[str, Any], said: str) -> None:
    arguments = {"operation": "positions", "source": [], **options}
    with pytest.raises(ArgumentError, match=said):
        asker.batch(**arguments)


def test_a_progress_bar_counts_rows_and_bad_rows(
    service: StandIn, asker: Client, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    source = places(40)
    source[3]["position"] = "bad"
    assert len(list(asker.batch("positions", source, rows_per_request=10, progress=True))) == 40
    said = capfd.readouterr().err
    assert "positions" in said
    assert "40.0/40.0" in said
    assert "bad_rows=1" in said
    paths = source_files(tmp_path, 40)
    assert len(list(asker.batch("positions", paths["csv"], rows_per_request=10, progress=True))) == 40
    assert "40.0/40.0" in capfd.readouterr().err
    for progress in (False, None):
        assert len(list(asker.batch("positions", source, progress=progress))) == 40
    assert capfd.readouterr().err == ""


WITHOUT = """
import sys
from threenorths import ArgumentError, Client
sys.modules[sys.argv[2]] = None
with Client(sys.argv[1]) as client:
    assert len(list(client.batch("positions", [{"id": 1, "position": "x"}]))) == 1
    assert client.batch_file("positions", sys.argv[3], "answer.csv").rows == 5
    try:
        client.batch("positions", [{"id": 1, "position": "x"}]).frame()
    except ArgumentError as error:
        print(error)
"""


@pytest.mark.parametrize("missing", ["pyarrow", "pandas"])
def test_without_the_libraries_the_rest_goes_on(service: StandIn, tmp_path: Path, missing: str) -> None:
    source = source_files(tmp_path, 5)["csv"]
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT, service.url, missing, str(source)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.stderr == ""
    assert f"needs {missing}, which is missing here: pip install 'threenorths[arrow]'" in done.stdout


@pytest.mark.parametrize("name", ["places.parquet", "places.arrow"])
def test_without_pyarrow_its_files_say_what_they_need(
    asker: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    source_files(tmp_path, 5)
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(ArgumentError, match="needs pyarrow, which is missing here: pip install"):
        asker.batch("positions", tmp_path / name)
    with pytest.raises(ArgumentError, match="needs pyarrow"):
        asker.batch_file("positions", tmp_path / "places.csv", tmp_path / f"answer.{name}")
    assert not list(tmp_path.glob("answer*"))


def test_against_the_real_service(client: Client) -> None:
    """Rows that are read in single requests have the same answers in a batch, in whatever medium."""
    texts = ["33V VK 1234 8012", "62.9257 N, 13.3265 E", "12 34", "33V VK 150 784"] * 5
    source = [{"own": number, "position": text} for number, text in enumerate(texts)]
    alone = {text: client.positions.read(text) for text in texts if text != "12 34"}
    rows = list(client.batch("positions", source, rows_per_request=6, columns="lat_deg,mgrs"))
    table = client.batch("positions", pa.Table.from_pylist(source), rows_per_request=6).table().to_pylist()
    for number, (row, flat) in enumerate(zip(rows, table, strict=True)):
        text = texts[number]
        assert (row["own"], row["position"], flat["own"], flat["position"]) == (number, text, number, text)
        if text == "12 34":
            assert row["error"]["code"] == flat["error.code"] == "unreadable_position"
            assert row["error"]["row"] == flat["error.row"] == number + 1
        else:
            assert (row["answer"]["lat_deg"], row["answer"]["mgrs"]) == (
                alone[text].lat_deg,
                alone[text].mgrs,
            )
            assert (flat["answer.lat_deg"], flat["answer.mgrs"]) == (alone[text].lat_deg, alone[text].mgrs)


def test_a_broken_end_of_a_file_against_the_real_service(client: Client, tmp_path: Path) -> None:
    path = tmp_path / "places.csv"
    content = 'id,position\n1,33V VK 1234 8012\n2,a,b\n\n3,33V VK 1234 8012\n4,"never closed\n5,x\n'
    path.write_text(content)
    rows = list(client.batch("positions", path, rows_per_request=2))
    assert [row.get("error", {}).get("row") for row in rows] == [None, 2, None, 4, 5]
    codes = [row["error"]["code"] for row in rows if "error" in row]
    assert codes == ["malformed_row", "malformed_row", "unreadable_position"]
    assert "a quoted cell is not closed" in rows[3]["error"]["text"]
    path = tmp_path / "places.ndjson"
    path.write_text(
        '{"position": "33V VK 1234 8012"}\n[1]\n\n{"position": \n{"position": "33V VK 1234 8012"}'
    )
    rows = list(client.batch("positions", path, rows_per_request=3))
    assert [row.get("error", {}).get("row") for row in rows] == [None, 2, 3, None]


@pytest.fixture
def low_csv_limit() -> Iterator[None]:
    """The csv module's limit on cells, which is one of the process, as low as somebody else may have set it."""
    limit = csv.field_size_limit(1_000)
    yield
    csv.field_size_limit(limit)


@pytest.mark.usefixtures("low_csv_limit")
@pytest.mark.parametrize(
    ("rows", "end"),
    [
        (200, ""),
        (5_000, ""),
        (12_000, ""),
        (5_000, 'x,"33V VK 1234 8012"\n'),
        # Behind more than a record may hold, what would close it is no longer looked for.
        (60_000, ""),
        (60_000, '"\n'),
    ],
)
def test_a_quote_that_is_never_closed_costs_its_own_row_alone(
    client: Client, tmp_path: Path, rows: int, end: str
) -> None:
    path, answer = tmp_path / "places.csv", tmp_path / "answer.ndjson"
    lines = [f"{number},33V VK 1234 8012\n" for number in range(1, rows + 1)]
    lines[100] = '101,"33V VK 1234 8012\n'
    path.write_text("id,position\n" + "".join(lines) + end)
    done = client.batch_file("positions", path, answer, columns="lat_deg", rows_per_request=70_000)
    assert done.rows == rows + bool(end)
    answered = [json.loads(line) for line in answer.read_text().splitlines()]
    bad = [row["error"]["row"] for row in answered if "error" in row]
    assert bad == ([101, rows + 1] if end == '"\n' else [101])
    good = [row["id"] for row in answered if "answer" in row]
    assert good[: rows - 1] == [str(number) for number in range(1, rows + 1) if number != 101]


@pytest.mark.usefixtures("low_csv_limit")
def test_a_long_cell_is_read_in_answers_too(client: Client, tmp_path: Path) -> None:
    path, answer = tmp_path / "places.csv", tmp_path / "answer.csv"
    cell = 'said ""so"",\n' * 20_000
    path.write_text(f'own,position\n"{cell}",33V VK 1234 8012\n"{cell}",nowhere\n')
    done = client.batch_file("positions", path, answer, columns="lat_deg")
    assert (done.rows, done.bad_rows) == (2, 1)
    assert answer.read_text().count(cell) == 2


@pytest.mark.parametrize(("count", "last"), [(200_000, b"x\n"), (100_000, b'"x\n')])
def test_many_quotes_that_are_never_closed_are_found_in_one_reading(count: int, last: bytes) -> None:
    """A second look at all behind each of them would take hours: in each line a cell ends, and the next goes on."""
    lines = [b'a",b,"c\n'] * count
    assert list(records(iter([*lines, last]))) == [*((line, False) for line in lines), (last, last == b"x\n")]


def test_records_are_those_of_the_csv_module() -> None:
    lots = random.Random(7)
    broken = 0
    for _ in range(3_000):
        text = "".join(lots.choices(["a", ",", '"', ',"', '",', "\n", "\r\n"], k=25))
        found = list(records(io.BytesIO(text.encode())))
        assert b"".join(record for record, _ in found) == text.encode()
        begin = 0
        for record, whole in found:
            lines = text[begin:].split("\n")
            reader = csv.reader((line + "\n" for line in lines), strict=True)
            try:
                next(reader)
            except csv.Error:
                count = 1  # only the line that it begins on
                broken += 1
            else:
                assert whole
                count = reader.line_num
            assert record.decode() == "".join(text[begin:].splitlines(keepends=True)[:count])
            begin += len(record)
    assert broken > 100


def test_cells_are_those_of_the_csv_module() -> None:
    lots = random.Random(8)
    for _ in range(2_000):
        cells = ["".join(lots.choices('aé,"\n\r', k=lots.randrange(6))) for _ in range(lots.randrange(1, 5))]
        assert cells_of(record_of(cells)) == cells
    for raw in (b'"a', b'"a"b"', b"a\rb", b"\xff"):
        with pytest.raises(ValueError, match=r"no CSV|decode"):
            cells_of(raw)
    assert cells_of(b"\n") == []
