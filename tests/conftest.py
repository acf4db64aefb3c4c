"""Fixtures of every folder of tests."""

from collections.abc import Iterator

import pytest
from hypothesis import settings

from serving import running_service

# A machine under load is slow without anything being wrong: no deadline. The suite draws the same examples each time, so
# that it fails for whoever broke something; `--hypothesis-profile=exploring` draws others, and more of them.
settings.register_profile("repeatable", deadline=None, derandomize=True)
settings.register_profile("exploring", deadline=None, max_examples=1000, print_blob=True)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def service_url() -> Iterator[str]:
    """The base URL of one real service, shared by all tests that talk to it over a socket."""
    with running_service() as base_url:
        yield base_url
