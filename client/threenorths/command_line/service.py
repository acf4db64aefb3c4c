"""`threenorths service`: which version runs, and whether it is ready."""

from __future__ import annotations

import sys

import click

from ..client import Client
from .running import FAILED, URL, Command, failing_plainly
from .tables import aligned

__all__ = ["service"]


@click.command("service", cls=Command, examples=("threenorths service --url http://127.0.0.1:8080",))
def service(url: str | None) -> None:
    """Which service answers, and whether it is ready."""
    with failing_plainly(), Client(url) as client:
        version, ready = client.service.version(), client.service.ready()
        address = client.base_url
    rows: list[tuple[str, ...]] = [
        ("Service", address),
        ("Version", version),
        ("Ready", "yes" if ready else "no"),
    ]
    click.echo("\n".join(aligned(rows)))
    if not ready:
        sys.exit(FAILED)


service.params.append(URL)
