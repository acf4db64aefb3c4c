"""Requests per second of each operation, against a bare Flask endpoint under the same gunicorn and its settings.

The bare endpoint parses its JSON body and gives a JSON answer: what any JSON service costs before it does anything. The
load comes from separate processes over kept-alive loopback connections, with as little of Python as a socket needs, and
shares the machine's cores with the servers, so only the ratio means anything.
"""

from __future__ import annotations

import multiprocessing
import statistics
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import orjson
from flask import Flask, jsonify, request

from serving import GUNICORN, started_service
from threenorths_service.operations.catalogue import OPERATIONS

from .load import count_answers
from .ratio import Ratio

__all__ = ["measure"]

PROCESSES = 2
SECONDS = 1.0
ROUNDS = 3
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
        pool.map(
            count_answers, [(base_url, path, body, 0.2)] * PROCESSES
        )  # connections, caches and imports warm up
        return sum(pool.map(count_answers, [(base_url, path, body, SECONDS)] * PROCESSES)) / SECONDS


if __name__ == "__main__":
    for ratio in measure():
        print(ratio, file=sys.stdout)
