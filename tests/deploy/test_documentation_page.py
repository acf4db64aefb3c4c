"""The documentation page: everything it needs comes from the service, as its content security policy demands."""

import re
from pathlib import Path

import pytest

import threenorths_service.api
from serving import CHECKOUT
from threenorths_service.api import create_app

STATIC = Path(threenorths_service.api.__file__).parent / "static"
OWN_FILES = ("documentation.html", "documentation.js", "documentation.css")


@pytest.mark.parametrize("name", OWN_FILES)
def test_our_own_files_name_no_other_host(name: str) -> None:
    assert "//" not in re.sub(r"^\s*//.*$", "", Path(STATIC, name).read_text(), flags=re.MULTILINE)


def test_everything_the_page_refers_to_is_served() -> None:
    page = Path(STATIC, "documentation.html").read_text()
    addresses = [*re.findall(r'(?:href|src)="([^"]+)"', page), "openapi.json"]
    client = create_app().test_client()
    addresses = [address for address in addresses if not address.startswith("data:")]
    assert len(addresses) >= 8
    for address in addresses:
        with client.get(f"/{address}") as answer:
            assert answer.status_code == 200, address


def test_the_page_runs_no_script_of_its_own_text() -> None:
    page = Path(STATIC, "documentation.html").read_text()
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", page, re.DOTALL)
    assert len(scripts) == 2
    assert "".join(scripts) == ""
    assert not re.search(r"<style|\son\w+=|javascript:", page)


def test_the_page_says_to_check_and_to_defer() -> None:
    page = " ".join(Path(STATIC, "documentation.html").read_text().split())
    assert (
        "Check every answer against the map and the ground. Defer to local rules and to trained people."
        in page
    )


def test_the_vendored_files_ask_for_no_source_map() -> None:
    for name in ("swagger-ui-bundle.js", "swagger-ui.css"):
        assert "sourceMappingURL" not in Path(STATIC, "swagger-ui", name).read_text()


def test_the_vendored_version_is_the_one_in_its_readme() -> None:
    readme = Path(STATIC, "swagger-ui", "README.md").read_text()
    version = re.search(r"\| Version \| (\S+) \|", readme)
    assert version is not None
    assert f'"{version[1]}"' in Path(STATIC, "swagger-ui", "swagger-ui-bundle.js").read_text()
    for name in re.findall(r"`([\w.-]+)`", readme):
        assert name == "swagger-ui-dist" or Path(STATIC, "swagger-ui", name).is_file()


def test_the_licence_beside_the_vendored_files_is_the_whole_text() -> None:
    ours = Path(CHECKOUT, "LICENSE").read_text()
    theirs = Path(STATIC, "swagger-ui", "LICENSE").read_text()
    assert "Apache License" in ours
    assert "END OF TERMS AND CONDITIONS" in theirs
