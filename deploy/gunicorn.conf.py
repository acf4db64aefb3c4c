"""Settings of gunicorn, the same for `deploy/serve`, the image and the tests.

From the environment: THREENORTHS_HOST, THREENORTHS_PORT (0 is any free port), WEB_CONCURRENCY, and
THREENORTHS_CLIENT_TIMEOUT_S, how long a client may fall silent within a request before it is given up.
"""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from werkzeug.test import Client

if TYPE_CHECKING:
    from gunicorn.arbiter import Arbiter
    from gunicorn.http.message import Request
    from gunicorn.workers.base import Worker

_host = os.environ.get("THREENORTHS_HOST", "127.0.0.1")
_port = os.environ.get("THREENORTHS_PORT", "8080")
_client_timeout_s = float(os.environ.get("THREENORTHS_CLIENT_TIMEOUT_S", "15"))

# One request is worked on by one thread, and batches by as many as there are: the threads that the linear algebra would start
# beside them wait for each other and make it several times slower. Read by OpenBLAS when numpy is loaded, after this file.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

bind = f"[{_host}]:{_port}" if ":" in _host else f"{_host}:{_port}"

# More machines, not more workers, carry more load: kept-alive connections may all land on one worker of many.
workers = int(os.environ.get("WEB_CONCURRENCY") or min(2, os.cpu_count() or 1))
worker_class = "gthread"
# More than the batches that a worker takes at once: single requests and probes find a thread.
threads = 8
# The tables and coordinate operations are made once, before the fork, and their memory is shared.
preload_app = True

# How long a worker may fail to say that it lives; its threads' requests may take longer.
timeout = 60
graceful_timeout = 25
# Longer than the idle time of clients and proxies, so that they close a connection and never find it closed.
keepalive = 75

# What is asked is in the body; only batches name their columns, and members that all rows have, in the address.
limit_request_line = 8190
limit_request_fields = 64

# The heartbeat file in memory: a slow disk must not make a worker look dead.
worker_tmp_dir = "/dev/shm" if Path("/dev/shm").is_dir() and os.access("/dev/shm", os.W_OK) else None  # noqa: S108
# A control socket would write into the home directory. Releases before 25.1 know none, and pass over the name.
control_socket_disable = True

# No access log: who asked when is for a proxy to keep or not. Of gunicorn's messages, those that need somebody.
loglevel = "warning"


def on_starting(server: "Arbiter") -> None:
    """Refuse to serve when the known answer comes out wrong."""
    answer = Client(server.app.wsgi()).get("/readyz")
    if answer.status_code != 200:
        server.log.critical("not started, because not ready: %s", answer.get_data(as_text=True).strip())
        sys.exit(1)


def post_worker_init(worker: "Worker") -> None:
    """Say the address when the first worker is about to answer."""
    if worker.age == 1:
        host, port = worker.sockets[0].getsockname()[:2]
        url = f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
        sys.stdout.write(f"threenorths answers at {url}\nits documentation is at {url}/docs\n")
        sys.stdout.flush()


def pre_request(worker: "Worker", request: "Request") -> None:  # noqa: ARG001
    """Bound how long a client that stops sending or reading holds a thread; the worker itself sets no bound."""
    request.unreader.sock.settimeout(_client_timeout_s)
