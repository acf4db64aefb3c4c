"""Fixtures of every folder of tests."""

from collections.abc import Iterator

import pytest
from hypothesis import settings

from serving import running_service

# A machine under load is slow without anything being wrong.
settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")


@pytest.fixture(scope="session")
def service_url() -> Iterator[str]:
    """The base URL of one real service, shared by all tests that talk to it over a socket."""
    with running_service() as base_url:
        yield base_url
