"""A real service on a free loopback port, for the tests and measurements that need one."""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent
APPLICATION = "threenorths_service.api:create_app()"
GUNICORN = (sys.executable, "-m", "gunicorn", "--config", str(CHECKOUT / "deploy" / "gunicorn.conf.py"))

# The first start of deploy/serve in an environment installs into it.
START_TIMEOUT_S = 180.0
STOP_TIMEOUT_S = 40.0


@dataclass
class StartedService:
    """A service that has said that it answers."""

    process: subprocess.Popen[bytes]
    base_url: str


@contextmanager
def started_service(command: Sequence[str], **environment: str) -> Iterator[StartedService]:
    """Run the command, which must start a service and say so as `deploy/serve` does; stop it at the end."""
    environment = {**os.environ, "THREENORTHS_PORT": "0", **environment}
    with tempfile.TemporaryFile() as output:
        process = subprocess.Popen(
            command, cwd=CHECKOUT, env=environment, stdin=subprocess.DEVNULL, stdout=output, stderr=output
        )
        try:
            yield StartedService(process, _announced_url(process, output.fileno()))
        finally:
            process.terminate()
            process.wait(STOP_TIMEOUT_S)


@contextmanager
def running_service(**environment: str) -> Iterator[str]:
    """Yield the base URL of a service on a free loopback port, with the settings it is deployed with."""
    with started_service([*GUNICORN, APPLICATION], **environment) as service:
        yield service.base_url


def _announced_url(process: subprocess.Popen[bytes], output: int) -> str:
    """Wait for the line with the address. The output is a file, so that nobody has to empty a pipe meanwhile."""
    deadline_s = time.monotonic() + START_TIMEOUT_S
    while time.monotonic() < deadline_s:
        ended = process.poll() is not None
        said = os.pread(output, 1_000_000, 0).decode()
        if found := re.search(r"^threenorths answers at (http://\S+)$", said, re.MULTILINE):
            return found[1]
        if ended:
            raise RuntimeError(f"the service ended with exit code {process.returncode} and said:\n{said}")
        time.sleep(0.05)
    raise TimeoutError(f"the service did not say its address within {START_TIMEOUT_S:g} s, but said:\n{said}")
