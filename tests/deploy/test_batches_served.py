"""Batches over a real socket: clients that write before they read, fall silent or go away; and the memory that it takes."""

from __future__ import annotations

import socket
import time
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest
import requests

from serving import APPLICATION, GUNICORN, started_service
from threenorths_service.navmath.references.mgrs import write_mgrs

#: What a worker may take over what it has when idle. [MiB]
MOST_MIB = 150.0
PATH = "/v1/batches/positions?columns=lat_deg,lon_deg"

pytestmark = pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="looks at processes by /proc")


@pytest.fixture(scope="module")
def service():
    with started_service(
        [*GUNICORN, APPLICATION], WEB_CONCURRENCY="1", THREENORTHS_CLIENT_TIMEOUT_S="5"
    ) as started:
        yield started


@pytest.fixture(scope="module")
def worker(service):
    """The process that answers."""
    (child,) = Path(f"/proc/{service.process.pid}/task/{service.process.pid}/children").read_text().split()
    return Path(f"/proc/{child}")


def csv_of(rows):
    generator = np.random.default_rng(5)
    texts = write_mgrs(generator.uniform(-79, 83, rows), generator.uniform(-180, 180, rows)).tolist()
    return ("id,position\n" + "".join(f"{row},{text}\n" for row, text in enumerate(texts))).encode()


def connected(service):
    parts = urlsplit(service.base_url)
    return socket.create_connection((parts.hostname, parts.port), timeout=30)


def head(service, *lines):
    parts = urlsplit(service.base_url)
    return "\r\n".join(
        [f"POST {PATH} HTTP/1.1", f"Host: {parts.netloc}", "Content-Type: text/csv", *lines, "", ""]
    ).encode()


def held_files(worker):
    """The bodies that the worker holds on disk: files without a name, but for those that the service writes its words to."""
    targets = []
    for link in (worker / "fd").iterdir():
        try:
            targets.append(link.readlink())
        except FileNotFoundError:  # closed meanwhile
            continue
    said = {(worker / "fd" / name).readlink() for name in ("1", "2")}
    return [target for target in targets if "/#" in str(target) and target not in said]


def wait_until(condition):
    deadline_s = time.monotonic() + 20.0
    while not condition() and time.monotonic() < deadline_s:
        time.sleep(0.05)
    assert condition()


def peak_mib(worker, name="VmHWM"):
    for line in (worker / "status").read_text().splitlines():
        if line.startswith(f"{name}:"):
            return int(line.split()[1]) / 1024.0
    raise AssertionError(name)


def test_memory_does_not_grow_with_the_batch(service, worker):
    small, large = csv_of(1000), csv_of(1_000_000)
    requests.post(service.base_url + PATH, data=small, headers={"Content-Type": "text/csv"}, timeout=60)
    idle_mib = peak_mib(worker, "VmRSS")
    answer = requests.post(
        service.base_url + PATH,
        data=large,
        headers={"Content-Type": "text/csv", "Accept-Encoding": "identity"},
        timeout=300,
        stream=True,
    )
    lines = sum(piece.count(b"\n") for piece in answer.iter_content(1 << 20))
    assert lines == 1_000_001
    assert peak_mib(worker) - idle_mib < MOST_MIB


def test_a_client_that_writes_all_before_it_reads_is_answered(service):
    body = csv_of(300_000)
    with connected(service) as client:
        client.sendall(head(service, f"Content-Length: {len(body)}", "Connection: close") + body)
        received = b""
        lines = 0
        while piece := client.recv(1 << 20):
            received = received or piece
            lines += piece.count(b"\n")
    assert received.startswith(b"HTTP/1.1 200")
    assert lines > 300_000


def test_a_client_that_goes_away_in_the_middle_of_the_answer_leaves_nothing_behind(service, worker):
    assert held_files(worker) == []
    body = csv_of(400_000)
    client = connected(service)
    client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    client.sendall(head(service, f"Content-Length: {len(body)}") + body)
    assert client.recv(4096).startswith(b"HTTP/1.1 200")
    assert len(held_files(worker)) == 1  # the body, on disk and without a name
    client.close()
    wait_until(lambda: held_files(worker) == [])
    assert requests.get(service.base_url + "/livez", timeout=10).status_code == 200


@pytest.mark.parametrize("framing", ["Content-Length: 100000000", "Transfer-Encoding: chunked"])
def test_a_client_that_goes_away_while_it_sends_leaves_nothing_behind(service, worker, framing):
    body = csv_of(300_000)
    client = connected(service)
    sent = body if framing.startswith("C") else f"{len(body):x}\r\n".encode() + body[: len(body) // 2]
    client.sendall(head(service, framing) + sent)
    client.close()
    wait_until(lambda: held_files(worker) == [])
    assert requests.get(service.base_url + "/livez", timeout=10).status_code == 200


@pytest.mark.parametrize("framing", ["Content-Length: 1000", "Transfer-Encoding: chunked"])
def test_a_body_that_ends_before_its_end_is_refused_and_never_answered_in_part(service, framing):
    body = csv_of(10)
    sent = body if framing.startswith("C") else f"{len(body) + 500:x}\r\n".encode() + body
    with connected(service) as client:
        client.sendall(head(service, framing, "Connection: close") + sent)
        client.shutdown(socket.SHUT_WR)
        received = b"".join(iter(lambda: client.recv(1 << 16), b""))
    assert received.startswith(b"HTTP/1.1 400")


def test_a_client_that_falls_silent_while_it_sends_is_given_up(service, worker):
    with connected(service) as client:
        client.sendall(head(service, "Content-Length: 1000", "Connection: close") + b"id,position\n")
        started_s = time.monotonic()
        received = b"".join(iter(lambda: client.recv(1 << 16), b""))
    assert 3.0 < time.monotonic() - started_s < 20.0
    assert not received.startswith(b"HTTP/1.1 200")
    assert held_files(worker) == []


def test_a_body_sent_in_chunks_is_taken(service):
    pieces = (csv_of(5000)[start : start + 1000] for start in range(0, 200_000, 1000))
    answer = requests.post(
        service.base_url + PATH, data=pieces, headers={"Content-Type": "text/csv"}, timeout=60
    )
    assert answer.status_code == 200
    assert answer.content.count(b"\n") == 5001
