"""What is sent, through which session, and that no exception of another library gets out."""

import inspect
import pickle
import platform
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
import requests
import requests.adapters
import urllib3.exceptions

import threenorths
from client.misbehaving import POSITION, MisbehavingServer, answer, cut_mid_answer
from threenorths import ArgumentError, Client, ThreeNorthsError, TransportError

EXCEPTIONS = [
    value
    for _, value in inspect.getmembers(requests.exceptions, inspect.isclass)
    if issubclass(value, requests.RequestException)
]
DEEPER_EXCEPTIONS = [
    urllib3.exceptions.HTTPError("said by urllib3"),
    urllib3.exceptions.ProtocolError("said by urllib3"),
    urllib3.exceptions.LocationParseError("said by urllib3"),
]


class FailingAdapter(requests.adapters.BaseAdapter):
    """Raises instead of sending."""

    def __init__(self, error: Exception) -> None:
        super().__init__()
        self.error = error

    def send(self, *_: object, **__: object) -> requests.Response:
        raise self.error

    def close(self) -> None:
        """There is nothing to close."""


def session_that_raises(error: Exception) -> requests.Session:
    session = requests.Session()
    session.mount("http://", FailingAdapter(error))
    return session


def made(kind: type[requests.RequestException]) -> requests.RequestException:
    return kind("said by requests", "", 0) if kind is requests.exceptions.JSONDecodeError else kind("said")


@pytest.mark.parametrize("kind", EXCEPTIONS, ids=lambda kind: kind.__name__)
def test_no_exception_of_requests_gets_out(kind: type[requests.RequestException], waits: list[float]) -> None:
    with session_that_raises(made(kind)) as session, Client(session=session) as client:
        with pytest.raises(TransportError) as caught:
            client.positions.read("33V VE 12 67")
        assert isinstance(caught.value.__cause__, kind)
        assert isinstance(pickle.loads(pickle.dumps(caught.value)), TransportError)  # noqa: S301 - made here


@pytest.mark.parametrize("error", DEEPER_EXCEPTIONS, ids=lambda error: type(error).__name__)
def test_nor_one_of_urllib3(error: Exception, waits: list[float]) -> None:
    with (
        session_that_raises(error) as session,
        Client(session=session) as client,
        pytest.raises(TransportError, match="said by urllib3"),
    ):
        client.positions.read("33V VE 12 67")


def test_a_certificate_that_does_not_hold_is_not_asked_again(waits: list[float]) -> None:
    error = requests.exceptions.SSLError("certificate verify failed")
    with (
        session_that_raises(error) as session,
        Client(session=session) as client,
        pytest.raises(TransportError, match="certificate verify failed"),
    ):
        client.service.version()
    assert waits == []


def test_what_is_sent(server: MisbehavingServer) -> None:
    with Client(server.url) as client:
        client.positions.read("33V VE 12 67", digits=0)
    (request,) = server.received
    assert (request.method, request.path) == ("POST", "/v1/positions")
    assert request.body == b'{"position": "33V VE 12 67", "digits": 0}'
    assert request.headers["Content-Type"] == "application/json"
    assert request.headers["User-Agent"] == (
        f"threenorths/{threenorths.__version__} python/{platform.python_version()} requests/{requests.__version__}"
    )
    assert len(request.headers["X-Request-ID"]) == 16


@pytest.mark.parametrize("path", ["/maps/north", "/maps/north/"])
def test_the_base_url_keeps_its_path(server: MisbehavingServer, path: str) -> None:
    with Client(server.url + path) as client:
        client.positions.read("33V VE 12 67")
    assert server.received[0].path == "/maps/north/v1/positions"
    assert client.base_url == f"{server.url}/maps/north"


@pytest.mark.parametrize(
    "url",
    [
        "",
        "  ",
        "127.0.0.1:8080",
        "ftp://host.example",
        "http://",
        "http://host.example?a=1",
        "http://[::1",
        "http://h:x",
    ],
)
def test_an_address_that_is_none_is_refused_at_once(url: str) -> None:
    with pytest.raises(ArgumentError, match="no address of a service"):
        Client(url)


def test_the_environment_names_the_service(
    server: MisbehavingServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert Client().base_url == "http://127.0.0.1:8080"
    monkeypatch.setenv("THREENORTHS_URL", "")
    assert Client().base_url == "http://127.0.0.1:8080"
    monkeypatch.setenv("THREENORTHS_URL", server.url)
    with Client() as client:
        client.positions.read("33V VE 12 67")
    assert len(server.received) == 1
    assert Client("http://host.example").base_url == "http://host.example"


def test_a_context_closes_the_clients_own_session_and_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    closed = []
    monkeypatch.setattr(requests.Session, "close", lambda session: closed.append(session))
    with Client():
        assert closed == []
    assert len(closed) == 1
    session = requests.Session()
    with Client(session=session):
        pass
    assert session not in closed


def test_connections_are_closed_at_the_end(server: MisbehavingServer) -> None:
    with Client(server.url) as client:
        client.positions.read("33V VE 12 67")
        client.positions.read("33V VE 12 67")
    # An idle connection that stayed open would be a ResourceWarning, and those are errors here.
    assert len(server.received) == 2


def test_no_cookie_is_kept(server: MisbehavingServer) -> None:
    server.acts = [answer(200, POSITION, Set_Cookie="who=you; Path=/")]
    with Client(server.url) as client:
        client.positions.read("33V VE 12 67")
        client.positions.read("33V VE 12 67")
    assert "Cookie" not in server.received[1].headers


def test_a_session_of_ones_own_is_used_and_left_as_it_was(server: MisbehavingServer) -> None:
    with requests.Session() as session:
        session.headers["Authorization"] = "Bearer invented"
        before = dict(session.headers)
        with Client(server.url, session=session) as client:
            client.positions.read("33V VE 12 67")
        assert dict(session.headers) == before
    assert server.received[0].headers["Authorization"] == "Bearer invented"


def test_a_session_that_streams_makes_no_difference(server: MisbehavingServer, waits: list[float]) -> None:
    server.acts = [cut_mid_answer]
    with requests.Session() as session:
        session.stream = True
        with Client(server.url, session=session) as client, pytest.raises(TransportError):
            client.positions.read("33V VE 12 67")


@pytest.mark.parametrize("timeout_s", [0.2, (5.0, 0.2)])
def test_one_timeout_or_two(server: MisbehavingServer, timeout_s: float | tuple[float, float]) -> None:
    with Client(server.url, timeout_s=timeout_s) as client:
        assert client.positions.read("33V VE 12 67").square_m == 1000.0


def test_threads_share_a_client(service_url: str) -> None:
    """Each of 8 threads asks 20 times for places of its own, and gets its own answers."""
    barrier = threading.Barrier(8)

    def ask(thread: int) -> list[tuple[float, float]]:
        barrier.wait()
        places = [(float(thread), call / 10.0) for call in range(20)]
        answers = [client.positions.read(f"{lat} N {lon} E") for lat, lon in places]
        assert [(answer.lat_deg, answer.lon_deg) for answer in answers] == places
        return places

    with Client(service_url) as client, ThreadPoolExecutor(8) as pool:
        assert len([place for places in pool.map(ask, range(8)) for place in places]) == 160


def test_an_error_of_the_client_can_be_caught_by_its_base(server: MisbehavingServer) -> None:
    server.acts = [answer(500, b"")]
    with Client(server.url) as client, pytest.raises(ThreeNorthsError):
        client.positions.read("33V VE 12 67")
