"""Requests made from the description: whatever fits it is answered as described, whatever does not is refused.

Some requests fit their description and yet have no answer, such as two parallel sights: those are the named problems,
with status 422 and their own code. So the stock check that what fits is accepted is replaced by a stricter reading of
it: what fits is never called an invalid request.
"""

from __future__ import annotations

import os

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks

from threenorths_service.api import create_app
from threenorths_service.batch.stream import MEDIA

load_all_checks()
EXCLUDED = CHECKS.get_by_names(["positive_data_acceptance"])
#: What is no text to the description is still sent as some text, and that is a stream of rows, if of bad ones.
EXCLUDED_OF_STREAMS = [*EXCLUDED, *CHECKS.get_by_names(["negative_data_rejection"])]
#: More finds more: THREENORTHS_FUZZ_EXAMPLES=2000 runs for some minutes.
EXAMPLES = int(os.environ.get("THREENORTHS_FUZZ_EXAMPLES", "30"))


@schemathesis.serializer(*MEDIA)
def stream(_context, value):
    """A stream is a text to the description, and sent as it is."""
    return value if isinstance(value, bytes) else str(value).encode()


def closing(app):
    """The application, each answer taken whole and closed, as a server does and the client of these tests does not."""

    def answer(environ, start_response):
        pieces = app(environ, start_response)
        try:
            return [b"".join(pieces)]
        finally:
            pieces.close()

    return answer


description = schemathesis.openapi.from_wsgi("/openapi.json", closing(create_app()))


@description.parametrize()
@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_service_keeps_to_its_description(case):
    excluded = EXCLUDED_OF_STREAMS if case.path.startswith("/v1/batches/") else EXCLUDED
    response = case.call_and_validate(excluded_checks=excluded)
    fits = case.meta is not None and case.meta.generation.mode is GenerationMode.POSITIVE
    if fits and response.status_code == 422:
        assert response.json()["code"] != "invalid_request", response.text
