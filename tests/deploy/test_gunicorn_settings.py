"""`deploy/gunicorn.conf.py`: what it sets, and what comes of a service that is not ready and of clients that stall."""

import os
import runpy
import socket
import subprocess
from pathlib import Path
from typing import Any

import pytest
import requests
from gunicorn.config import Config

from serving import CHECKOUT, GUNICORN, running_service

# Known to gunicorn since 25.1; earlier releases pass over it and have no control socket.
NEWER_SETTINGS = {"control_socket_disable"}


def settings(monkeypatch: pytest.MonkeyPatch, **environment: str) -> dict[str, Any]:
    for name in ("THREENORTHS_HOST", "THREENORTHS_PORT", "WEB_CONCURRENCY"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    return runpy.run_path(str(CHECKOUT / "deploy" / "gunicorn.conf.py"))


def test_every_name_it_sets_is_a_setting(monkeypatch: pytest.MonkeyPatch) -> None:
    # gunicorn passes over a name that it does not know, so that a slip of the pen would go unseen.
    imported = {"Any", "Client", "Path", "TYPE_CHECKING", "os", "sys"}
    named = {name for name in settings(monkeypatch) if not name.startswith("_")} - imported
    assert named - set(Config().settings) <= NEWER_SETTINGS
    assert {"on_starting", "post_worker_init", "pre_request"} <= named


@pytest.mark.parametrize(
    ("environment", "bind"),
    [
        ({}, "127.0.0.1:8080"),
        ({"THREENORTHS_PORT": "0"}, "127.0.0.1:0"),
        ({"THREENORTHS_HOST": "::1", "THREENORTHS_PORT": "9000"}, "[::1]:9000"),
    ],
    ids=["default", "free port", "IPv6"],
)
def test_it_listens_where_the_environment_says(
    monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], bind: str
) -> None:
    assert settings(monkeypatch, **environment)["bind"] == bind


@pytest.mark.parametrize(("cores", "workers"), [(1, 1), (2, 2), (64, 2), (None, 1)])
def test_it_has_a_worker_for_each_core_but_at_most_two(
    monkeypatch: pytest.MonkeyPatch, cores: int | None, workers: int
) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    assert settings(monkeypatch)["workers"] == workers
    assert settings(monkeypatch, WEB_CONCURRENCY="3")["workers"] == 3


def test_a_service_whose_known_answer_is_wrong_does_not_start(tmp_path: Path) -> None:
    Path(tmp_path, "unready.py").write_text(
        "def application(environ, start_response):\n"
        "    ready = environ['PATH_INFO'] != '/readyz'\n"
        "    start_response('200 OK' if ready else '503 Service Unavailable', [])\n"
        "    return [b'the known answer is wrong']\n"
    )
    environment = {**os.environ, "THREENORTHS_PORT": "0", "PYTHONPATH": str(tmp_path)}
    run = subprocess.run(
        [*GUNICORN, "unready:application"], env=environment, capture_output=True, text=True, timeout=30
    )
    assert run.returncode == 1
    assert "not started, because not ready: the known answer is wrong" in run.stderr
    assert "answers at" not in run.stdout


def test_clients_that_stall_do_not_lock_out_the_others() -> None:
    begun = (
        b"POST /v1/map-distances HTTP/1.1\r\nHost: localhost\r\n"
        b"Content-Type: application/json\r\nContent-Length: 100\r\n\r\n{"
    )
    with running_service(WEB_CONCURRENCY="1", THREENORTHS_CLIENT_TIMEOUT_S="1") as base_url:
        host, port = base_url.removeprefix("http://").split(":")
        # As many as there are threads.
        stalled = [socket.create_connection((host, int(port)), timeout=10) for _ in range(8)]
        for client in stalled:
            client.sendall(begun)
        assert requests.get(f"{base_url}/livez", timeout=5).status_code == 200
        for client in stalled:
            with client:
                assert client.recv(100).startswith(b"HTTP/1.1 4")
