"""Answers that are none, problems as errors, and what the errors say."""

import json
import pickle

import pytest

from client.misbehaving import POSITION, MisbehavingServer, answer
from threenorths import (
    ApiError,
    ArgumentError,
    Client,
    InvalidRequestError,
    LatLon,
    MemberError,
    NoAnswerError,
    NotFoundError,
    ResponseError,
    ServiceError,
    SightFrom,
    TransportError,
)

HTML = b"<!doctype html><title>Sign in to the network</title>"

NOT_ANSWERS = {
    "a login page": (HTML, "text/html"),
    "nothing": (b"", "application/json"),
    "truncated": (POSITION[:300], "application/json"),
    "not UTF-8": (b'{"mgrs": "\xff"}', "application/json"),
    "a list": (b"[]", "application/json"),
    "another object": (b'{"status": "alive"}', "application/json"),
    "NaN": (POSITION.replace(b"58.3", b"NaN"), "application/json"),
    "a number too large": (POSITION.replace(b"58.3", b"1e999"), "application/json"),
    "a number as text": (POSITION.replace(b"58.3", b'"58.3"'), "application/json"),
    "a truth as number": (POSITION.replace(b"58.3", b"true"), "application/json"),
    "null where none may be": (POSITION.replace(b'"WGS84"', b"null"), "application/json"),
    "a text for a list": (POSITION.replace(b'"cautions": []', b'"cautions": "none"'), "application/json"),
    "nested too deep": (b"[" * 100_000, "application/json"),
    "digits without end": (b'{"lat_deg": ' + b"1" * 10_000 + b"}", "application/json"),
}


@pytest.mark.parametrize(("body", "content_type"), NOT_ANSWERS.values(), ids=NOT_ANSWERS.keys())
def test_what_is_no_answer_is_a_response_error(
    server: MisbehavingServer, body: bytes, content_type: str
) -> None:
    server.acts = [answer(200, body, content_type)]
    with Client(server.url) as client, pytest.raises(ResponseError) as caught:
        client.positions.read("33V VE 12 67")
    assert caught.value.status == 200
    assert caught.value.request_id == server.received[0].headers["X-Request-ID"]
    assert len(str(caught.value)) < 400


def test_a_response_error_names_the_member(server: MisbehavingServer) -> None:
    server.acts = [answer(200, POSITION.replace(b'"degrees_minutes": ""', b'"degrees_minutes": 3'))]
    with (
        Client(server.url) as client,
        pytest.raises(ResponseError, match=r"written\.degrees_minutes is 3, not a text"),
    ):
        client.positions.read("33V VE 12 67")


def test_members_of_tomorrow_are_passed_over_but_kept_in_the_text(server: MisbehavingServer) -> None:
    with Client(server.url) as client:
        read = client.positions.read("33V VE 12 67")
    assert not hasattr(read, "a_member_of_tomorrow")
    assert json.loads(read.raw_json)["a_member_of_tomorrow"] == [1]
    assert read.raw_json == POSITION.decode()


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_redirect_is_not_followed_but_told(server: MisbehavingServer, status: int) -> None:
    server.acts = [answer(status, b"", Location="https://elsewhere.example/v1/positions")]
    with Client(server.url) as client, pytest.raises(ResponseError, match=r"elsewhere\.example"):
        client.positions.read("33V VE 12 67")
    assert len(server.received) == 1


@pytest.mark.parametrize(
    ("status", "kind"),
    [
        (401, ResponseError),
        (404, ResponseError),
        (407, ResponseError),
        (599, ServiceError),
        (500, ServiceError),
    ],
)
def test_a_proxys_page_is_told_by_its_status(
    server: MisbehavingServer, status: int, kind: type[Exception]
) -> None:
    server.acts = [answer(status, HTML, "text/html")]
    with Client(server.url) as client, pytest.raises(kind) as caught:
        client.positions.read("33V VE 12 67")
    assert caught.value.status == status
    assert "text/html" in str(caught.value)


@pytest.mark.parametrize(
    ("status", "code", "kind"),
    [
        (400, "malformed_json", InvalidRequestError),
        (404, "not_found", NotFoundError),
        (405, "method_not_allowed", NotFoundError),
        (413, "too_large", InvalidRequestError),
        (415, "unsupported_media_type", InvalidRequestError),
        (422, "invalid_request", InvalidRequestError),
        (422, "parallel_sights", NoAnswerError),
        (422, "a_code_of_tomorrow", NoAnswerError),
        (500, "internal_error", ServiceError),
    ],
)
def test_a_problem_becomes_the_error_of_its_kind(
    server: MisbehavingServer, status: int, code: str, kind: type[ApiError]
) -> None:
    problem = {"title": "T", "status": status, "detail": "D", "code": code, "request_id": "r-1", "new": 1}
    server.acts = [answer(status, json.dumps(problem).encode(), "application/problem+json")]
    with Client(server.url) as client, pytest.raises(ApiError) as caught:
        client.positions.read("33V VE 12 67")
    error = caught.value
    assert type(error) is kind
    assert (error.status, error.code, error.title, error.detail) == (status, code, "T", "D")
    assert error.request_id == "r-1"
    assert str(error) == f"T: D [status {status}, code {code}, request id r-1]"


def test_an_error_tells_a_person_what_is_wrong_and_what_is_allowed(client: Client) -> None:
    with pytest.raises(InvalidRequestError) as caught:
        client.intersections.fix(
            [SightFrom("33V VE 1200 6500", 52), SightFrom(LatLon(95.0, 13.5), -3, sd_deg=60)], north="up"
        )
    error = caught.value
    assert {entry.member for entry in error.errors} == {
        "north",
        "sights[1].bearing",
        "sights[1].from.lat_deg",
        "sights[1].sd_deg",
    }
    lines = str(error).splitlines()
    assert any("north: " in line and "'up'" in line and "true, grid, magnetic" in line for line in lines)
    assert any(
        "sights[1].from.lat_deg: " in line and "95.0" in line and "-90 to 90" in line for line in lines
    )
    assert lines[-1] == f"[status 422, code invalid_request, request id {error.request_id}]"


def test_a_value_of_nought_is_quoted_too(client: Client) -> None:
    with pytest.raises(InvalidRequestError, match=r"sd_deg: .* Given: 0\. Allowed: "):
        client.intersections.fix(
            [SightFrom("33V VE 12 65", 52), SightFrom("33V VE 17 64", 331)], "grid", sd_deg=0
        )


def test_an_ambiguous_text_comes_back_with_its_readings(client: Client) -> None:
    with pytest.raises(NoAnswerError) as caught:
        client.positions.read("-5 N 6 E")
    error = caught.value
    assert error.code == "ambiguous_position"
    assert len(error.readings) == 2
    for reading in error.readings:
        assert f"could be read as: {reading.read_as}" in str(error)
        read = client.positions.read(reading.read_as)
        assert (read.lat_deg, read.lon_deg) == (reading.lat_deg, reading.lon_deg)


def test_parallel_sights_are_named(client: Client) -> None:
    sights = [SightFrom("33V VE 1200 6500", 52), SightFrom("33V VE 1710 6480", 52)]
    with pytest.raises(NoAnswerError) as caught:
        client.intersections.fix(sights, "grid")
    assert caught.value.code == "parallel_sights"
    assert caught.value.sights == (0, 1)


def test_a_missing_member_of_a_pair_is_for_the_service_to_tell(client: Client) -> None:
    with pytest.raises(NoAnswerError) as caught:
        client.bearings.convert(78, "magnetic", position="33V VE 12345 67890")
    assert caught.value.code == "date_missing"


def test_another_path_is_not_found(service_url: str) -> None:
    with Client(f"{service_url}/elsewhere") as client, pytest.raises(NotFoundError):
        client.positions.read("33V VE 12 67")


@pytest.mark.parametrize(
    "error",
    [
        ArgumentError("no position"),
        TransportError("no answer", "r-1"),
        ResponseError("not JSON", 200, "r-1"),
        NoAnswerError(422, "x", "T", "D", (MemberError("/a", "x", "d", 1.5, "2"),), (), (0, 1), "r-1"),
    ],
    ids=lambda error: type(error).__name__,
)
def test_errors_survive_pickling(error: Exception) -> None:
    again = pickle.loads(pickle.dumps(error))  # noqa: S301 - made here
    assert type(again) is type(error)
    assert vars(again) == vars(error)
    assert str(again) == str(error)
    assert type(error).__name__ in repr(error)


@pytest.mark.parametrize(
    ("pointer", "member"),
    [
        ("", ""),
        ("/position", "position"),
        ("/sights/0/from/lat_deg", "sights[0].from.lat_deg"),
        ("/sights/12", "sights[12]"),
        ("/a~1b/c~0d", "a/b.c~d"),
        ("/sheet/year", "sheet.year"),
    ],
)
def test_a_pointer_as_one_writes_it(pointer: str, member: str) -> None:
    assert MemberError(pointer, "x", "d").member == member


@pytest.mark.parametrize("value", [float("nan"), float("inf"), {1, 2}, object()])
def test_what_json_cannot_hold_is_refused_before_it_is_sent(value: object) -> None:
    # Nothing listens at the address: the error comes first.
    with Client("http://nobody.invalid") as client, pytest.raises(ArgumentError):
        client.bearings.convert(value, "true")


@pytest.mark.parametrize("position", [None, 47.5, (47.5, 8.5)])
def test_what_is_no_position_is_refused_with_its_name(position: object) -> None:
    with Client("http://nobody.invalid") as client, pytest.raises(ArgumentError, match=r"^to is no position"):
        client.lines.between("33V VE 12 67", position)
