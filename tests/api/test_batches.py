"""Batches over HTTP: media, compressions, options, limits, and what is refused before any row is answered."""

from __future__ import annotations

import gzip
import io

import orjson
import pyarrow as pa
import pyarrow.ipc as arrow_ipc
import pytest

from batch_rows import decoded, encoded
from threenorths_service.api import intake
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.stream import ARROW, CSV, MEDIA, NDJSON

POSITIONS = BATCHED["positions"]
BODIES = [{"position": f"33V VK {10_000 + row} 67890"} for row in range(7)] + [{"position": "nowhere"}]
#: The columns that are most asked for.
PLACE = "columns=lat_deg,lon_deg"


@pytest.fixture
def ask(app):
    """Post a stream and give the response; its status is checked."""

    def ask(body, *, medium=NDJSON, operation="positions", query=PLACE, status=200, **headers):
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        response = app.test_client().post(
            f"/v1/batches/{operation}?{query}",
            data=body,
            headers={"Content-Type": medium, **headers},
            buffered=True,
        )
        assert response.status_code == status, response.get_data(as_text=True)
        return response

    return ask


@pytest.mark.parametrize("medium", MEDIA)
@pytest.mark.parametrize("accepted", [None, "*/*", *MEDIA])
def test_a_batch_is_answered_in_the_medium_asked_for_or_its_own(ask, medium, accepted):
    headers = {} if accepted is None else {"Accept": accepted}
    response = ask(encoded(POSITIONS, BODIES, medium), medium=medium, **headers)
    expected = accepted if accepted in MEDIA else medium
    assert response.mimetype == expected
    rows = decoded(response.data, expected)
    assert [int(row["id"]) for row in rows] == list(range(8))
    assert (
        rows[-1].get("error.code") == "unreadable_position"
        or rows[-1]["error"]["code"] == "unreadable_position"
    )


@pytest.mark.parametrize(
    ("accepted", "expected"),
    [
        ("text/csv, application/x-ndjson;q=0.5", CSV),
        ("application/x-ndjson;q=0.5, text/csv;q=0.4", NDJSON),
        ("image/png, */*;q=0.1", NDJSON),
        ("text/*", CSV),
    ],
)
def test_the_medium_that_is_liked_best_is_given(ask, accepted, expected):
    assert ask(encoded(POSITIONS, BODIES, NDJSON), Accept=accepted).mimetype == expected


def test_a_medium_that_there_is_not_is_refused(ask):
    problem = ask(encoded(POSITIONS, BODIES, NDJSON), status=406, Accept="image/png").get_json()
    assert problem["code"] == "not_acceptable"
    assert CSV in problem["detail"]


@pytest.mark.parametrize("coding", ["gzip", "zstd"])
@pytest.mark.parametrize("medium", MEDIA)
def test_compressed_bodies_are_taken_and_given(ask, medium, coding):
    plain = ask(encoded(POSITIONS, BODIES, medium), medium=medium).data
    body = pa.Codec(coding).compress(encoded(POSITIONS, BODIES, medium)).to_pybytes()
    response = ask(body, medium=medium, Content_Encoding=coding, Accept_Encoding=coding)
    assert response.headers["Content-Encoding"] == coding
    assert "Accept-Encoding" in response.headers["Vary"]
    unpacked = pa.CompressedInputStream(pa.BufferReader(response.data), coding).read()
    assert unpacked == plain


def test_no_compression_is_given_that_is_not_asked_for(ask):
    body = encoded(POSITIONS, BODIES, NDJSON)
    for headers in (
        {},
        {"Accept_Encoding": "identity"},
        {"Accept_Encoding": "br"},
        {"Accept_Encoding": "gzip;q=0"},
    ):
        assert "Content-Encoding" not in ask(body, **headers).headers


@pytest.mark.parametrize("keep", [0.3, 0.6, 0.9])
@pytest.mark.parametrize("coding", ["gzip", "zstd"])
def test_a_compressed_body_that_breaks_off_is_answered_as_far_as_it_came(ask, coding, keep):
    bodies = [
        {"position": f"33V VK {10_000 + 7 * row % 80_000:05} {row * row % 90_000:05}"}
        for row in range(20_000)
    ]
    packed = pa.Codec(coding).compress(encoded(POSITIONS, bodies, NDJSON)).to_pybytes()
    rows = decoded(ask(packed[: int(len(packed) * keep)], Content_Encoding=coding).data, NDJSON)
    whole = decoded(ask(packed, Content_Encoding=coding).data, NDJSON)
    assert rows[-1]["error"]["code"] == "malformed_stream"
    assert 0.2 * keep < len(rows) / len(whole) < 1.0
    assert rows[:-1] == whole[: len(rows) - 1]


def test_a_body_that_is_no_gzip_is_refused(ask):
    problem = ask(b'{"position":"33VVK12"}', status=400, Content_Encoding="gzip").get_json()
    assert "gzip" in problem["detail"]


def test_a_compression_that_is_not_known_is_refused(ask):
    assert ask(b"x", status=415, Content_Encoding="br").get_json()["code"] == "unsupported_media_type"


def test_a_body_that_grows_out_of_all_proportion_is_refused(ask, monkeypatch):
    monkeypatch.setattr(intake, "EXPANSION_BYTES", 1 << 20)
    trap = gzip.compress(b" " * (64 << 20))
    assert len(trap) < 70_000
    problem = ask(trap, status=413, Content_Encoding="gzip").get_json()
    assert problem["code"] == "too_large"
    assert "once unpacked" in problem["detail"]


def test_a_body_beyond_the_limit_is_refused(ask, monkeypatch):
    monkeypatch.setattr(intake, "MAX_BATCH_BYTES", 1000)
    assert ask(b"x" * 1001, status=413).get_json()["code"] == "too_large"


def test_a_batch_may_be_larger_than_the_body_of_a_single_request(ask):
    body = encoded(POSITIONS, [{**BODIES[0], "note": "x" * 1000}] * 2000, NDJSON)
    assert len(body) > 2_000_000
    assert ask(body).data.count(b"\n") == 2000


@pytest.mark.parametrize(
    ("medium", "status", "code"),
    [
        ("application/json", 415, "unsupported_media_type"),
        (NDJSON, 400, "empty_body"),
        (CSV, 400, "empty_body"),
    ],
)
def test_a_body_that_is_no_stream_is_refused(ask, medium, status, code):
    assert ask(b"", medium=medium, status=status).get_json()["code"] == code


def test_a_body_that_is_no_arrow_stream_is_refused(ask):
    problem = ask(b"id,position\n", medium=ARROW, status=422).get_json()
    assert (problem["code"], problem["errors"][0]["code"]) == ("invalid_batch", "malformed_header")


@pytest.mark.parametrize("path", ["/v1/batches/reckonings", "/v1/batches/nothing"])
def test_an_operation_that_is_not_row_wise_has_no_batches(app, path):
    for response in (
        app.test_client().get(path),
        app.test_client().post(path, data=b"{}", content_type=NDJSON),
    ):
        assert (response.status_code, response.get_json()["code"]) == (404, "not_found")


@pytest.mark.parametrize(
    ("query", "code", "pointer"),
    [
        ("columns=lat", "unknown_column", "/columns"),
        ("columns=", "unknown_column", "/columns"),
        ("columns=all,lat", "unknown_column", "/columns"),
        ("dat=2026-11-25", "unknown_member", "/dat"),
        ("digits=2&digits=3", "given_twice", "/digits"),
        ("position=33V&position.lat_deg=1", "given_twice", "/position"),
        ("position.lat_deg=1&position=33V", "given_twice", "/position"),
        ('sheet.squares=["VK"]&sheet.squares.0=VK', "given_twice", "/sheet.squares"),
        ("sheet.squares.0=VK&sheet.squares.00=VK", "given_twice", "/sheet.squares.00"),
        ("digits=two", "wrong_type", "/digits"),
        ("digits=9", "out_of_range", "/digits"),
        ("take=middle", "not_a_choice", "/take"),
        ("summary=true", "unknown_member", "/summary"),
    ],
)
def test_a_wrong_parameter_is_refused_and_named(ask, query, code, pointer):
    problem = ask(encoded(POSITIONS, BODIES, NDJSON), query=query, status=422).get_json()
    assert problem["code"] == "invalid_batch"
    assert (problem["errors"][0]["code"], problem["errors"][0]["pointer"]) == (code, pointer)


def test_what_all_rows_have_stands_in_the_address_and_a_row_goes_before(ask, post):
    body = b'{"position":"33VVK1234567890"}\n{"position":"33VVK1234567890","digits":4}\n'
    rows = decoded(ask(body, query="columns=mgrs&digits=2").data, NDJSON)
    assert [row["answer"]["mgrs"] for row in rows] == ["33VVK1267", "33VVK12346789"]
    rows = decoded(
        ask(body, operation="norths", query="date=2026-11-25&columns=declination_deg").data, NDJSON
    )
    single = post("norths", {"position": "33VVK1234567890", "date": "2026-11-25"})
    assert rows[0]["answer"]["declination_deg"] == single["declination_deg"]


def test_a_member_of_an_object_may_be_common_too(ask):
    body = encoded(BATCHED["bearings"], [{"bearing": 10, "north": "grid"}, {"bearing": 10}], NDJSON)
    rows = decoded(
        ask(body, operation="bearings", query="north=magnetic&sheet.grid_magnetic_angle_deg=5.5").data, NDJSON
    )
    assert rows[0]["answer"]["magnetic"]["azimuth_deg"] == 4.5
    assert rows[1]["answer"]["grid"]["azimuth_deg"] == 15.5


@pytest.mark.parametrize("medium", MEDIA)
def test_all_columns_are_those_of_a_single_answer(ask, post, medium):
    body = {"position": "33V VK 123 678"}
    rows = decoded(
        ask(encoded(POSITIONS, [body], medium), medium=medium, query="columns=all", Accept=NDJSON).data,
        NDJSON,
    )
    assert rows[0]["answer"] == post("positions", body)


def test_all_columns_may_be_asked_for_with_others(ask):
    body = encoded(POSITIONS, BODIES, NDJSON)
    whole = ask(body, query="columns=all").data
    for query in ("columns=all&columns=mgrs", "columns=mgrs,all"):
        assert ask(body, query=query).data == whole
    (row, *_others) = decoded(ask(body, query="columns=working&columns=all").data, NDJSON)
    assert {"mgrs", "working"} <= set(row["answer"])


@pytest.mark.parametrize("name", BATCHED)
def test_the_columns_of_a_batch_are_described(app, name):
    described = app.test_client().get(f"/v1/batches/{name}").get_json()
    members = {member["name"]: member for member in described["members"]}
    for required, field in BATCHED[name].request.fields.items():
        path = field.data_key or required
        assert path in members or any(other.startswith(f"{path}.") for other in members)
    assert all(member["description"] for member in members.values())
    answers = {column["name"]: column for column in described["answers"]}
    usual = [path for path, column in answers.items() if column["usual"]]
    assert "cautions" in usual
    assert set(usual) == set(COLUMNAR[name].usual)
    assert all(answers[path]["in_columns"] for path in usual)


def test_the_list_of_batches_is_that_of_the_operations(app):
    assert app.test_client().get("/v1/batches").get_json()["operations"] == list(BATCHED)


CHECKS = (
    b"id,reported,expected\n"
    b"1,33V VK 1234 6789,33V VK 12345 67890\n"
    b"2,33V VK 1324 6789,33V VK 12345 67890\n"
    b"3,nowhere,33V VK 12345 67890\n"
    b"4,33V VK 1234 6789,\n"
)


@pytest.mark.parametrize("accepted", MEDIA)
def test_checks_end_with_a_summary(ask, accepted):
    rows = decoded(
        ask(CHECKS, medium=CSV, operation="checks", query="tolerance_m=50", Accept=accepted).data, accepted
    )
    assert len(rows) == 5
    last = rows[-1]
    assert set(last) == {"summary"}
    summary = last["summary"] if accepted == NDJSON else orjson.loads(last["summary"])
    assert (summary["rows"], summary["errors"], summary["count"]) == (4, {"members_missing": 1}, 3)
    assert summary["verdicts"] == {"right": 1, "wrong": 1, "undecided": 0, "too_coarse": 0, "unreadable": 1}
    assert summary["slips"] == {"digits_transposed": 1}
    assert sum(summary["distance_m"]["counts"]) == summary["distance_m"]["count"] == 2


def test_a_summary_may_be_left_out_or_given_alone(ask):
    def rows(query):
        return decoded(ask(CHECKS, medium=CSV, operation="checks", query=query, Accept=NDJSON).data, NDJSON)

    assert len(rows("tolerance_m=50&summary=false")) == 4
    only = rows("tolerance_m=50&summary=only")
    assert only == rows("tolerance_m=50")[-1:]
    # Columns that a summary is made from are not shown for that.
    assert set(rows("tolerance_m=50&columns=left_open_m")[0]["answer"]) == {"left_open_m", "cautions"}
    ask(CHECKS, medium=CSV, operation="checks", query="tolerance_m=50&summary=some", status=422)


def test_a_failure_in_one_row_costs_the_others_nothing(ask, monkeypatch):
    def fail(*_arguments):
        raise ZeroDivisionError("broken for the test")

    monkeypatch.setattr("threenorths_service.operations.positions.describe", fail)
    rows = decoded(ask(encoded(POSITIONS, [*BODIES[:2], {"position": "61.5 N 8.5 E"}], NDJSON)).data, NDJSON)
    assert [row.get("error", {}).get("code") for row in rows] == [None, None, "internal_error"]
    assert "ZeroDivision" not in rows[2]["error"]["text"]


def test_large_arrow_batches_are_answered_in_parts(ask):
    count = 70_000
    table = pa.table({"position": ["33VVK1234567890"] * count})
    sink = io.BytesIO()
    with arrow_ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    reader = arrow_ipc.open_stream(ask(sink.getvalue(), medium=ARROW).data)
    sizes = [batch.num_rows for batch in reader]
    assert sum(sizes) == count
    assert max(sizes) < count
