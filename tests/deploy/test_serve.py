"""`deploy/serve`, started as a person starts it, in the environment of the tests."""

import signal
import socket
import subprocess
import sys
from collections.abc import Iterator

import pytest
import requests

from serving import CHECKOUT, StartedService, started_service

SERVE = str(CHECKOUT / "deploy" / "serve")

# The script wants a virtual environment and would make one for itself.
pytestmark = pytest.mark.skipif(sys.prefix == sys.base_prefix, reason="needs to run in a virtual environment")


@pytest.fixture(scope="module")
def service() -> Iterator[StartedService]:
    with started_service([SERVE, "--port", "0", "--workers=1"], VIRTUAL_ENV=sys.prefix) as service:
        yield service


def serve(*arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {"PATH": "/usr/bin:/bin", "VIRTUAL_ENV": sys.prefix}
    return subprocess.run([SERVE, *arguments], env=environment, capture_output=True, text=True, timeout=180)


@pytest.mark.parametrize(
    ("path", "media_type"),
    [
        ("/livez", "application/json"),
        ("/readyz", "application/json"),
        ("/version", "application/json"),
        ("/openapi.json", "application/json"),
        ("/openapi.yaml", "application/yaml"),
        ("/docs", "text/html"),
        ("/docs/documentation.js", "text/javascript"),
        ("/docs/documentation.css", "text/css"),
        ("/docs/swagger-ui-bundle.js", "text/javascript"),
        ("/docs/swagger-ui.css", "text/css"),
        ("/problems/", "text/html"),
        ("/cautions/", "text/html"),
    ],
)
def test_it_answers_at_the_address_it_says(service: StartedService, path: str, media_type: str) -> None:
    answer = requests.get(service.base_url + path, timeout=10)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].split(";")[0] == media_type
    assert answer.content


def test_it_listens_on_loopback_only(service: StartedService) -> None:
    assert service.base_url.startswith("http://127.0.0.1:")


def test_the_root_leads_to_the_documentation(service: StartedService) -> None:
    assert requests.get(service.base_url, timeout=10).url == f"{service.base_url}/docs"


@pytest.mark.parametrize("stop", [signal.SIGTERM, signal.SIGINT], ids=lambda stop: stop.name)
def test_it_stops_cleanly(stop: signal.Signals) -> None:
    with started_service([SERVE, "--workers", "1"], VIRTUAL_ENV=sys.prefix) as service:
        service.process.send_signal(stop)
        assert service.process.wait(30) == 0
        with pytest.raises(requests.ConnectionError):
            requests.get(service.base_url, timeout=10)


def test_a_taken_port_is_said_at_once() -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        run = serve("--port", str(port))
    assert run.returncode == 1
    assert run.stderr.startswith(f"error: port {port} of 127.0.0.1 is taken;")
    assert "--port 0" in run.stderr


def test_help_says_the_options_and_the_environment() -> None:
    run = serve("--help")
    assert run.returncode == 0
    for word in (
        "--host",
        "--port",
        "--workers",
        "THREENORTHS_PORT",
        "THREENORTHS_HOST",
        "WEB_CONCURRENCY",
        "8080",
    ):
        assert word in run.stdout


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--port", "65536"], "the port must be a whole number from 0 to 65535, not '65536'"),
        (["--port", "eighty"], "the port must be a whole number from 0 to 65535, not 'eighty'"),
        (["--port="], "--port needs a value"),
        (["--workers", "0"], "the number of workers must be a whole number from 1 to 64, not '0'"),
        (["--port"], "--port needs a value"),
        (["--prot", "80"], "unknown argument '--prot'"),
        (["8080"], "unknown argument '8080'"),
        (["--port", "0", "--host", "not-a-host.invalid"], "cannot listen on port 0 of not-a-host.invalid"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_argument_is_named(arguments: list[str], message: str) -> None:
    run = serve(*arguments)
    assert run.returncode == 1
    assert run.stderr.startswith("error: ")
    assert message in run.stderr
