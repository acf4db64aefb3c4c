from __future__ import annotations

import pytest

from threenorths_service.api import create_app


@pytest.fixture(scope="session")
def app():
    return create_app()


@pytest.fixture
def post(app):
    """Post a body to an operation and give the answer's JSON; a status other than the one expected fails the test."""

    def post(operation, body, status=200):
        answer = app.test_client().post(f"/v1/{operation}", json=body)
        assert answer.status_code == status, answer.get_data(as_text=True)
        return answer.get_json()

    return post


@pytest.fixture
def refuse(post):
    """Post a body that has no answer and give the problem; its code and the first member at fault are checked."""

    def refuse(operation, body, code, pointer=None):
        problem = post(operation, body, 422)
        assert problem["code"] == code, problem
        if pointer is not None:
            assert problem["errors"][0]["pointer"] == pointer, problem
        return problem

    return refuse
