"""Requests per second of each operation, against a bare Flask endpoint under the same gunicorn and its settings.

The bare endpoint parses its JSON body and gives a JSON answer: what any JSON service costs before it does anything. The
load comes from separate processes over kept-alive loopback connections, with as little of Python as a socket needs, and
shares the machine's cores with the servers, so only the ratio means anything.
"""

from __future__ import annotations

import multiprocessing
import socket
import statistics
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import orjson
from flask import Flask, jsonify, request

from serving import GUNICORN, started_service
from threenorths_service.api.operations import OPERATIONS

from .ratio import Ratio

__all__ = ["measure"]

CONNECTIONS = 4
PROCESSES = 2
SECONDS = 1.0
ROUNDS = 5
AIM = 0.75


def bare_app() -> Flask:
    """The least that takes JSON and gives JSON."""
    app = Flask(__name__)

    @app.get("/readyz")
    def ready() -> str:
        return "ready"

    @app.post("/v1/bare")
    def bare() -> object:
        body = request.get_json()
        return jsonify({"grid_azimuth_deg": 1.5, "taken": len(body)})

    return app


def measure() -> list[Ratio]:
    """Throughput of each operation's first example as a share of the bare endpoint's, both measured in turn."""
    with (
        _service("threenorths_service.api:create_app()") as ours,
        _service("benchmarks.request_throughput:bare_app()") as bare,
    ):
        ratios = []
        for operation in OPERATIONS:
            body = orjson.dumps(dict(operation.examples[0].request))
            shares = []
            for _ in range(ROUNDS):
                plain = _requests_per_second(bare, "/v1/bare", body)
                shares.append(_requests_per_second(ours, operation.path, body) / plain)
            ratios.append(
                Ratio(
                    f"one request of {operation.name}, throughput over a bare Flask JSON endpoint",
                    statistics.median(shares),
                    AIM,
                    True,
                    f"median of {ROUNDS} rounds, from {min(shares):.2f} to {max(shares):.2f}",
                )
            )
        return ratios


@contextmanager
def _service(application: str) -> Iterator[str]:
    tests = str(Path(__file__).parents[1])
    with started_service([*GUNICORN, application], PYTHONPATH=tests, WEB_CONCURRENCY="1") as service:
        yield service.base_url


def _requests_per_second(base_url: str, path: str, body: bytes) -> float:
    with multiprocessing.get_context("spawn").Pool(PROCESSES) as pool:
        pool.map(_count, [(base_url, path, body, 0.2)] * PROCESSES)  # connections, caches and imports warm up
        return sum(pool.map(_count, [(base_url, path, body, SECONDS)] * PROCESSES)) / SECONDS


def _count(task: tuple[str, str, bytes, float]) -> int:
    """Requests answered in so many seconds over a few connections, each asked in turn."""
    base_url, path, body, seconds = task
    address = urlsplit(base_url)
    head = (
        f"POST {path} HTTP/1.1\r\nHost: {address.netloc}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    message = head.encode() + body
    sockets = [socket.create_connection((address.hostname, address.port)) for _ in range(CONNECTIONS)]
    answered = 0
    try:
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            for connection in sockets:
                connection.sendall(message)
            for connection in sockets:
                _read_answer(connection)
                answered += 1
    finally:
        for connection in sockets:
            connection.close()
    return answered


def _read_answer(connection: socket.socket) -> None:
    received = b""
    while b"\r\n\r\n" not in received:
        received += connection.recv(65536)
    head, _, body = received.partition(b"\r\n\r\n")
    if not head.startswith(b"HTTP/1.1 200"):
        raise RuntimeError(received.decode(errors="replace"))
    length = int(head.lower().partition(b"content-length:")[2].partition(b"\r\n")[0])
    missing = length - len(body)
    while missing > 0:
        missing -= len(connection.recv(65536))


if __name__ == "__main__":
    for ratio in measure():
        print(ratio, file=sys.stdout)
