"""Fixtures of the client's tests."""

import types
from collections.abc import Iterator

import pytest

from client.batch_stand_in import StandIn
from client.misbehaving import MisbehavingServer
from threenorths import Client


@pytest.fixture(autouse=True)
def no_named_service(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test depends on what the environment says of the service, or of a proxy on the way to it."""
    monkeypatch.delenv("THREENORTHS_URL", raising=False)
    monkeypatch.setenv("NO_PROXY", "*")
    monkeypatch.setenv("no_proxy", "*")


@pytest.fixture(scope="module")
def client(service_url: str) -> Iterator[Client]:
    """A client of the real service."""
    with Client(service_url) as client:
        yield client


@pytest.fixture
def server() -> Iterator[MisbehavingServer]:
    server = MisbehavingServer()
    yield server
    server.close()


@pytest.fixture
def service() -> Iterator[StandIn]:
    """A stand-in of the service's batches."""
    service = StandIn()
    yield service
    service.close()


@pytest.fixture
def asker(service: StandIn) -> Iterator[Client]:
    """A client of that."""
    with Client(service.url) as client:
        yield client


@pytest.fixture
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The waits between tries, which are not waited out. [s]"""
    waits: list[float] = []
    monkeypatch.setattr("threenorths.transport.time", types.SimpleNamespace(sleep=waits.append))
    return waits
