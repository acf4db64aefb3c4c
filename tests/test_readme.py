"""Every example of the README is run against the real service, and answers as it is printed there."""

from __future__ import annotations

import doctest
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from threenorths import Client

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
WRITTEN_URL = "http://127.0.0.1:8080"


def blocks(language):
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def files():
    """The files that the examples name, each shown below its name."""
    return re.findall(
        r"`([\w-]+\.(?:json|csv))`:\n\n```(?:json|csv)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL
    )


def console_examples():
    """Each command after a ``$`` with what is printed below it."""
    for block in blocks("console"):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, output = re.sub(r"\\\n\s*", "", part).partition("\n")
            yield command, output


@pytest.mark.parametrize(
    ("command", "output"), list(console_examples()), ids=lambda part: part.split(" -")[0][:40]
)
def test_a_console_example_prints_what_the_readme_says(service_url, tmp_path, command, output):
    for name, text in files():
        (tmp_path / name).write_text(text, encoding="utf-8")
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    done = subprocess.run(
        ["bash", "-c", command.replace(WRITTEN_URL, service_url)],
        env={**os.environ, "THREENORTHS_URL": service_url, "PATH": path},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stderr == ""
    assert done.stdout.rstrip() == output.rstrip()


@pytest.mark.parametrize("block", blocks("python"), ids=lambda block: block.splitlines()[0])
def test_a_python_example_answers_what_the_readme_says(service_url, monkeypatch, block):
    monkeypatch.setenv("THREENORTHS_URL", service_url)
    test = doctest.DocTestParser().get_doctest(block, {}, "README.md", "README.md", 0)
    assert test.examples
    failures = []
    doctest.DocTestRunner(verbose=False).run(test, out=failures.append)
    assert failures == []


def test_the_readme_has_its_examples():
    assert len(list(console_examples())) >= 6
    assert len(blocks("python")) >= 1


def test_the_two_commands_exist_and_can_be_run():
    (commands,) = blocks("sh")
    for line in commands.splitlines():
        assert os.access(Path(__file__).parents[1] / line.split()[0], os.X_OK), line


def written_positions():
    """The spellings that the paragraph on positions shows, without the objects and the page."""
    (paragraph,) = re.findall(r"^\*\*Positions\*\* are read as.*?\n\n", README, re.MULTILINE | re.DOTALL)
    texts = [" ".join(text.split()) for text in re.findall(r"`([^`]+)`", paragraph)]
    return [text for text in texts if not text.startswith(("{", "/"))]


@pytest.mark.parametrize("text", written_positions())
def test_every_spelling_that_the_readme_shows_is_read(service_url, text):
    with Client(service_url) as client:
        read = client.positions.read(text)
    # All but the polar and the British one are the invented hut's, to what each is written to.
    if not text.startswith(("Z", "British")):
        assert (round(read.lat_deg, 2), round(read.lon_deg, 2)) == (62.94, 13.27)


def test_the_readme_s_spellings_were_found():
    assert len(written_positions()) >= 8
