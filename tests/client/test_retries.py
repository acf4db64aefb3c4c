"""When the client asks again, when it does not, and how long it waits. Every server here is on loopback."""

import datetime
import email.utils
import json
import time

import pytest

from client.misbehaving import (
    POSITION,
    MisbehavingServer,
    answer,
    cut_before_the_answer,
    cut_mid_answer,
    fall_silent_mid_answer,
    never_answer,
    not_http,
)
from threenorths import Client, ResponseError, ServiceError, TimedOutError, TransportError
from threenorths.waiting import LONGEST_RETRY_AFTER_S, LONGEST_WAIT_S, retry_after_s, wait_s

GOOD = answer(200, POSITION)
HTML = b"<html><body>502 Bad Gateway</body></html>"


@pytest.mark.parametrize("status", [429, 502, 503, 504])
def test_a_status_that_may_pass_is_asked_again_with_the_same_body(
    server: MisbehavingServer, waits: list[float], status: int
) -> None:
    server.acts = [answer(status, HTML, "text/html"), answer(status, b""), GOOD]
    with Client(server.url) as client:
        assert client.positions.read("33V VE 12 67").mgrs == "33VVE1267"
    assert [json.loads(request.body) for request in server.received] == [{"position": "33V VE 12 67"}] * 3
    assert len({request.headers["X-Request-ID"] for request in server.received}) == 1
    assert len(waits) == 2
    assert 0.1 <= waits[0] <= 0.2 <= waits[1] <= 0.4


@pytest.mark.parametrize("status", [400, 404, 413, 415, 422, 500])
def test_a_status_that_stays_is_not_asked_again(
    server: MisbehavingServer, waits: list[float], status: int
) -> None:
    server.acts = [answer(status, HTML, "text/html")]
    with Client(server.url) as client, pytest.raises((ResponseError, ServiceError)):
        client.positions.read("33V VE 12 67")
    assert len(server.received) == 1
    assert waits == []


@pytest.mark.parametrize("act", [cut_before_the_answer, cut_mid_answer])
def test_a_connection_that_breaks_is_made_again(
    server: MisbehavingServer, waits: list[float], act: object
) -> None:
    server.acts = [act, act, GOOD]
    with Client(server.url) as client:
        assert client.positions.read("33V VE 12 67").mgrs == "33VVE1267"
    assert len(server.received) == 3


@pytest.mark.parametrize("act", [cut_before_the_answer, cut_mid_answer, not_http])
def test_a_connection_that_always_breaks_is_an_error_in_the_end(
    server: MisbehavingServer, waits: list[float], act: object
) -> None:
    server.acts = [act]
    with Client(server.url, retries=2) as client, pytest.raises(TransportError) as caught:
        client.positions.read("33V VE 12 67")
    assert type(caught.value) is TransportError
    assert len(server.received) == 3
    assert server.url in str(caught.value)
    assert caught.value.request_id == server.received[0].headers["X-Request-ID"]
    assert caught.value.__cause__ is not None


def test_the_last_answer_is_the_error_when_the_service_stays_busy(
    server: MisbehavingServer, waits: list[float]
) -> None:
    server.acts = [answer(503, HTML, "text/html")]
    with Client(server.url) as client, pytest.raises(ServiceError) as caught:
        client.positions.read("33V VE 12 67")
    assert (caught.value.status, caught.value.code) == (503, None)
    assert len(server.received) == 4
    assert len(waits) == 3


def test_no_retries_means_one_request(server: MisbehavingServer) -> None:
    server.acts = [answer(503, b"")]
    with Client(server.url, retries=0) as client, pytest.raises(ServiceError):
        client.positions.read("33V VE 12 67")
    assert len(server.received) == 1


def test_retry_after_is_kept_to(server: MisbehavingServer) -> None:
    server.acts = [answer(503, b"", Retry_After="1"), GOOD]
    began = time.monotonic()
    with Client(server.url) as client:
        client.positions.read("33V VE 12 67")
    assert 1.0 <= time.monotonic() - began < 5.0


def test_a_service_that_asks_for_long_patience_is_not_asked_too_soon(
    server: MisbehavingServer, waits: list[float]
) -> None:
    server.acts = [answer(503, b"", Retry_After="31"), GOOD]
    with Client(server.url) as client, pytest.raises(ServiceError):
        client.positions.read("33V VE 12 67")
    assert len(server.received) == 1
    assert waits == []


@pytest.mark.parametrize("act", [never_answer, fall_silent_mid_answer])
def test_silence_ends_in_time_and_is_not_waited_for_again(server: MisbehavingServer, act: object) -> None:
    server.acts = [act]
    began = time.monotonic()
    with Client(server.url, timeout_s=(1.0, 0.2)) as client, pytest.raises(TimedOutError) as caught:
        client.positions.read("33V VE 12 67")
    assert time.monotonic() - began < 2.0
    assert len(server.received) == 1
    assert "0.2 s to answer" in str(caught.value)


def test_a_refused_connection_says_so_and_where(server: MisbehavingServer, waits: list[float]) -> None:
    server.close()
    address = server.url.removeprefix("http://")
    with Client(f"http://user:secret@{address}/base") as client, pytest.raises(TransportError) as caught:
        client.service.version()
    assert str(caught.value).startswith(f"no answer from http://{address}/base: Connection refused")
    assert "secret" not in str(caught.value)
    assert len(waits) == 3


def test_waits_grow_to_a_bound_and_differ() -> None:
    for retry, longest in enumerate([0.2, 0.4, 0.8, 1.6, 3.2, LONGEST_WAIT_S, LONGEST_WAIT_S]):
        waits = [wait_s(retry) for _ in range(50)]
        assert all(longest / 2.0 <= wait <= longest for wait in waits)
        assert len(set(waits)) > 1


@pytest.mark.parametrize(
    ("header", "seconds"),
    [(None, None), ("7", 7.0), (" 0 ", 0.0), ("soon", None), ("-3", None), ("1.5", None), ("٣", None)],
)
def test_retry_after_in_seconds_or_nothing(header: str | None, seconds: float | None) -> None:
    assert retry_after_s(header) == seconds


def test_retry_after_as_a_moment() -> None:
    now = datetime.datetime.now(datetime.UTC)
    later = email.utils.format_datetime(now + datetime.timedelta(seconds=20), usegmt=True)
    assert 17.0 < retry_after_s(later) <= 20.0
    assert retry_after_s("Sun, 06 Nov 1994 08:49:37 GMT") == 0.0  # the example of RFC 9110, section 5.6.7
    assert retry_after_s("Sun, 06 Nov 2044 08:49:37") > LONGEST_RETRY_AFTER_S
