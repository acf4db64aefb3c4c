"""The documentation page, its assets and the service's health."""

from __future__ import annotations

import dataclasses
import re

import pytest

from threenorths_service.api import readiness
from threenorths_service.api.pages import code_marked
from threenorths_service.navmath.cautions import CAUTIONS


@pytest.fixture
def client(app):
    """Gets a path whole, so that no file stays open."""

    class Getter:
        def get(self, path, **options):
            with app.test_client().get(path, **options) as answer:
                answer.get_data()
                return answer

    return Getter()


def test_the_root_leads_to_the_documentation_page(client):
    answer = client.get("/", follow_redirects=True)
    assert answer.status_code == 200
    assert answer.request.path == "/docs"
    assert answer.mimetype == "text/html"


def test_the_documentation_page_asks_nothing_of_any_other_host(client):
    page = client.get("/docs").get_data(as_text=True)
    assert not re.search(r"(src|href)=\"(https?:)?//", page)
    policy = client.get("/docs").headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "http" not in policy


def test_every_asset_that_the_page_names_is_served(client):
    page = client.get("/docs").get_data(as_text=True)
    assets = re.findall(r"(?:src|href)=\"(/?docs/[^\"]+)\"", page)
    assert len(assets) >= 3
    for asset in assets:
        answer = client.get("/" + asset.lstrip("/"))
        assert answer.status_code == 200, asset
        assert answer.mimetype in {"text/css", "text/javascript", "application/javascript"}


def test_the_page_carries_the_usual_cautions(client):
    text = client.get("/docs").get_data(as_text=True)
    assert "trained people" in text
    assert "local rules" in text


def test_no_other_file_is_served(client):
    for path in ("/docs/README.md", "/docs/..%2Ffields.py", "/static/documentation.html", "/docs/LICENSE"):
        assert client.get(path).status_code == 404


@pytest.mark.parametrize(
    ("path", "member"), [("/livez", "status"), ("/readyz", "status"), ("/version", "version")]
)
def test_the_service_tells_its_health(client, path, member):
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.get_json()[member]


def test_a_service_that_computes_wrong_is_not_ready(client, monkeypatch):
    wrong = dataclasses.replace(readiness.KNOWN_ANSWERS[0], value=33.4)
    monkeypatch.setattr(readiness, "KNOWN_ANSWERS", (wrong,))
    answer = client.get("/readyz")
    assert answer.status_code == 503
    assert "lat_deg" in answer.get_json()["answers"][0]


def test_the_cautions_page_explains_every_caution(client):
    page = client.get("/cautions/").get_data(as_text=True)
    assert all(code in page for code in CAUTIONS)


@pytest.mark.parametrize("code", CAUTIONS)
def test_every_caution_has_an_address(client, code):
    answer = client.get(f"/cautions/{code}")
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"/cautions/#{code}"
    assert f'id="{code}"' in client.get("/cautions/").get_data(as_text=True)


def test_what_stands_between_backticks_is_code_and_nothing_else_is_marked_up(client):
    assert "<code>readings</code>" in client.get("/problems/ambiguous_position").get_data(as_text=True)
    assert code_marked("a `<b>` c") == "a <code>&lt;b&gt;</code> c"


def test_an_unknown_caution_has_no_page(client):
    assert client.get("/cautions/nothing").status_code == 404


def test_an_unknown_problem_has_no_page(client):
    assert client.get("/problems/nothing").status_code == 404
