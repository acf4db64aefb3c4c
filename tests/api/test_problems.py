"""Everything that can go wrong is answered as one shape: RFC 9457 problem details."""

from __future__ import annotations

import json
import socket
from urllib.parse import urlsplit

import pytest

from threenorths_service.api import create_app
from threenorths_service.api.problems import KINDS
from threenorths_service.navmath.errors import NavigationError, all_errors
from threenorths_service.operations.catalogue import OPERATIONS

GOOD = {"position": "33V VK 12345 67890"}
UTM = {"zone": 33, "hemisphere": "north", "easting_m": 5e5, "northing_m": 7e6}


def check_problem(answer, status, code):
    assert answer.status_code == status, answer.get_data(as_text=True)
    assert answer.mimetype == "application/problem+json"
    body = answer.get_json()
    assert {"type", "title", "status", "detail", "code", "request_id"} <= set(body)
    assert body["type"] == f"/problems/{code}"
    assert (body["status"], body["code"], body["title"]) == (status, code, KINDS[code].title)
    assert body["request_id"] == answer.headers["X-Request-ID"]
    return body


@pytest.fixture
def client(app):
    return app.test_client()


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b"", "empty_body"),
        (b"  \n", "empty_body"),
        (b"{", "malformed_json"),
        (b'{"position": NaN}', "malformed_json"),
        (b'{"position": {"lat_deg": Infinity, "lon_deg": 0}}', "malformed_json"),
        (b'{"digits": 1e999}', "malformed_json"),
        (b'"\\ud800"', "malformed_json"),
        (b"\xff\xfe", "malformed_json"),
        (b"[" * 100_000, "malformed_json"),
        (b'{"a":' * 5_000 + b"1" + b"}" * 5_000, "malformed_json"),
    ],
    ids=[
        "empty",
        "blank",
        "cut",
        "nan",
        "infinity",
        "too-large",
        "surrogate",
        "not-utf-8",
        "deep-list",
        "deep-object",
    ],
)
def test_a_body_that_is_no_json(client, body, code):
    answer = client.post("/v1/positions", data=body, content_type="application/json")
    check_problem(answer, 400, code)


@pytest.mark.parametrize("body", [b"[]", b"1", b'"33V VK 1 6"', b"null", b"true", b"1" + b"0" * 6000])
def test_a_body_that_is_no_object(client, body):
    answer = client.post("/v1/positions", data=body, content_type="application/json")
    assert answer.status_code in {400, 422}
    check_problem(
        answer, answer.status_code, "invalid_request" if answer.status_code == 422 else "malformed_json"
    )


@pytest.mark.parametrize(
    "media_type", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "text/csv", ""]
)
def test_a_wrong_media_type(client, media_type):
    body = check_problem(
        client.post("/v1/positions", data=b"{}", content_type=media_type), 415, "unsupported_media_type"
    )
    assert "application/json" in body["detail"]


def test_no_media_type_at_all(client):
    check_problem(client.post("/v1/positions", data=b"{}", headers={}), 415, "unsupported_media_type")


def test_a_charset_beside_the_media_type_is_fine(client):
    assert (
        client.post(
            "/v1/positions", data=json.dumps(GOOD), content_type="application/json; charset=utf-8"
        ).status_code
        == 200
    )


def test_an_unknown_path(client):
    check_problem(client.get("/v1/nowhere"), 404, "not_found")


@pytest.mark.parametrize("method", ["get", "put", "delete", "patch"])
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda operation: operation.name)
def test_a_wrong_method_says_what_is_allowed(client, method, operation):
    answer = getattr(client, method)(operation.path)
    check_problem(answer, 405, "method_not_allowed")
    assert "POST" in answer.headers["Allow"]


def test_a_body_that_is_too_large(app, client):
    body = b'{"position": "' + b"9" * app.config["MAX_CONTENT_LENGTH"] + b'"}'
    check_problem(client.post("/v1/positions", data=body, content_type="application/json"), 413, "too_large")


def test_a_body_cut_short_of_its_length(service_url):
    # What came is whole JSON by itself: only the length tells that something is missing.
    address = urlsplit(service_url)
    with socket.create_connection((address.hostname, address.port), timeout=20) as connection:
        connection.sendall(
            b"POST /v1/positions HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            b"Content-Length: 999\r\n\r\n" + json.dumps(GOOD).encode()
        )
        connection.shutdown(socket.SHUT_WR)
        answer = b"".join(iter(lambda: connection.recv(65536), b""))
    assert answer.startswith(b"HTTP/1.1 400")
    assert b'"code":"bad_request"' in answer


@pytest.mark.parametrize(
    ("body", "pointer", "code", "value", "allowed"),
    [
        ({**GOOD, "digits": 6}, "/digits", "out_of_range", 6, "a whole number from 0 to 5"),
        ({**GOOD, "digits": "3"}, "/digits", "wrong_type", "3", "a whole number from 0 to 5"),
        ({**GOOD, "digits": True}, "/digits", "wrong_type", True, "a whole number from 0 to 5"),
        ({**GOOD, "digits": 2.5}, "/digits", "wrong_type", 2.5, "a whole number from 0 to 5"),
        ({**GOOD, "digits": None}, "/digits", "null_member", None, None),
        ({**GOOD, "take": "middle"}, "/take", "not_a_choice", "middle", "centre, corner"),
        ({**GOOD, "working": 1}, "/working", "wrong_type", 1, "true or false"),
        ({**GOOD, "digts": 3}, "/digts", "unknown_member", 3, None),
        ({**GOOD, "a/b~c": 3}, "/a~1b~0c", "unknown_member", 3, None),
        ({}, "/position", "missing_member", None, None),
        ({"position": 7}, "/position", "wrong_type", 7, None),
        ({"position": ""}, "/position", "out_of_range", "", "1 to 200 characters"),
        ({"position": {"lat_deg": 91, "lon_deg": 0}}, "/position/lat_deg", "out_of_range", 91, "a number from -90 to 90"),
        ({"position": {"lat_deg": "1", "lon_deg": 0}}, "/position/lat_deg", "wrong_type", "1", "a number from -90 to 90"),
        ({"position": {"lat_deg": 1}}, "/position/lon_deg", "missing_member", None, None),
        ({**GOOD, "datum": 4230}, "/datum", "wrong_type", 4230, "the name or the EPSG code of a datum"),
        ({"position": {**UTM, "zone": 61}}, "/position/zone", "out_of_range", 61, "a whole number from 1 to 60"),
        ({"position": {**UTM, "hemisphere": "up"}}, "/position/hemisphere", "not_a_choice", "up", "north, south"),
    ],
)  # fmt: skip
def test_a_wrong_member_is_named_with_its_value_and_what_is_allowed(
    client, body, pointer, code, value, allowed
):
    problem = check_problem(client.post("/v1/positions", json=body), 422, "invalid_request")
    (error,) = problem["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)
    assert error.get("value") == value
    if allowed is not None:
        assert error["allowed"] == allowed


def test_every_wrong_member_is_named_at_once(client):
    problem = check_problem(
        client.post("/v1/positions", json={"digits": 9, "tke": 1}), 422, "invalid_request"
    )
    assert {error["pointer"] for error in problem["errors"]} == {"/position", "/digits", "/tke"}


def test_a_member_deep_in_a_list_is_named(client):
    body = {
        "sights": [{"from": "33V VK 1200 6500", "bearing": 1}, {"from": "33V VK 1210 6500", "bearing": True}],
        "north": "true",
    }
    problem = check_problem(client.post("/v1/intersections", json=body), 422, "invalid_request")
    assert problem["errors"][0]["pointer"] == "/sights/1/bearing"


def test_a_long_value_is_quoted_short(client):
    problem = check_problem(
        client.post("/v1/positions", json={"position": "9" * 5000}), 422, "invalid_request"
    )
    assert len(problem["errors"][0]["value"]) < 300


@pytest.mark.parametrize("depth", [250, 300, 1000])
def test_a_value_nested_too_deep_to_quote_is_still_named(client, depth):
    body = b'{"position": ' + b'{"a":' * depth + b"1" + b"}" * depth + b"}"
    answer = client.post("/v1/positions", data=body, content_type="application/json")
    assert answer.status_code in {400, 422}
    body = b'{"north": "grid", "bearing": ' + b"[" * depth + b"]" * depth + b"}"
    answer = client.post("/v1/bearings", data=body, content_type="application/json")
    assert answer.status_code in {400, 422}


@pytest.mark.parametrize(
    "headers",
    [{"Content-Encoding": "gzip"}, {"Content-Type": "application/json; charset=utf-16"}],
    ids=["compressed", "charset"],
)
def test_a_body_in_another_coding_is_refused(client, headers):
    headers = {"Content-Type": "application/json", **headers}
    check_problem(
        client.post("/v1/positions", data=json.dumps(GOOD), headers=headers), 415, "unsupported_media_type"
    )


def test_a_given_request_id_is_kept_and_a_strange_one_is_not(client):
    kept = client.post("/v1/positions", json={}, headers={"X-Request-ID": "dispatch-17"})
    assert kept.get_json()["request_id"] == kept.headers["X-Request-ID"] == "dispatch-17"
    strange = client.post("/v1/positions", json={}, headers={"X-Request-ID": "a b"})
    assert strange.headers["X-Request-ID"] != "a b"


def test_a_failure_of_ours_tells_nothing_of_its_insides(monkeypatch, caplog):
    app = create_app()

    def fail(*_):
        raise ZeroDivisionError("secret 47.123")

    monkeypatch.setattr("threenorths_service.operations.positions.describe", fail)
    answer = app.test_client().post("/v1/positions", json=GOOD)
    body = check_problem(answer, 500, "internal_error")
    assert "secret" not in json.dumps(body)
    assert body["request_id"] in caplog.text
    assert "12345" not in caplog.text  # positions are not logged


@pytest.mark.parametrize("error", all_errors(), ids=lambda error: error.code)
def test_every_named_error_becomes_its_problem(monkeypatch, error):
    app = create_app()

    def fail(*_):
        raise error("what was wrong", member="position", value="x", allowed="y")

    monkeypatch.setattr("threenorths_service.operations.positions.describe", fail)
    body = check_problem(app.test_client().post("/v1/positions", json=GOOD), 422, error.code)
    assert body["errors"] == [
        {"pointer": "/position", "code": error.code, "detail": "what was wrong", "value": "x", "allowed": "y"}
    ]


def test_codes_are_unique_and_the_base_error_is_no_kind():
    codes = [error.code for error in all_errors()]
    assert len(codes) == len(set(codes))
    assert NavigationError.code not in KINDS


@pytest.mark.parametrize("code", sorted(KINDS))
def test_every_problem_type_has_a_page(client, code):
    page = client.get(f"/problems/{code}")
    assert page.status_code == 200
    assert page.mimetype == "text/html"
    assert code in page.get_data(as_text=True)


def test_every_answer_carries_its_headers(client):
    answer = client.post("/v1/positions", json=GOOD)
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cache-Control"] == "no-store"
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
