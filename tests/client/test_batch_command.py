"""`threenorths batch`, against the real service and, where that must misbehave, a stand-in."""

import inspect
import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest
import requests

from client.batch_stand_in import StandIn, send, source_files
from client.test_command_line import line_of, run
from threenorths import Client
from threenorths.command_line.batches import batch

#: Invented places, one of which is none.
PLACES = 'id,position\nhut,33V VK 1234 8012\nford,"62.9257 N, 13.3265 E"\nslip,12 34\n'


@pytest.fixture(autouse=True)
def beside_the_places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "places.csv").write_text(PLACES, encoding="utf-8")
    monkeypatch.chdir(tmp_path)


def test_every_example_of_the_help_works(service_url: str) -> None:
    for example in batch.examples:
        program, *arguments = shlex.split(example)
        result = run(*arguments, url=service_url)
        assert (program, result.exit_code, result.stderr) == ("threenorths", 0, "")
        assert line_of(result, "Rows  ") == "3"
        assert line_of(result, "Rows with an error") == "1"


def test_what_is_written(service_url: str) -> None:
    run("batch", "positions", "places.csv", "answers.ndjson", "--columns", "lat_deg,mgrs", url=service_url)
    hut, ford, slip = [json.loads(line) for line in Path("answers.ndjson").read_text("utf-8").splitlines()]
    assert hut["id"] == "hut"
    assert {"lat_deg", "mgrs"} <= hut["answer"].keys()
    assert ford["answer"]["mgrs"].startswith("33VVK15")
    assert slip["error"]["code"] == "unreadable_position"
    assert slip["error"]["row"] == 3


def test_csv_to_parquet_and_back(service_url: str) -> None:
    assert run("batch", "positions", "places.csv", "answers.parquet", url=service_url).exit_code == 0
    refused = run("batch", "positions", "answers.parquet", "again.csv", url=service_url)
    assert refused.exit_code == 2  # an answer has columns that a batch adds itself
    assert "error." in refused.stderr or "answer." in refused.stderr


def test_an_answer_is_not_overwritten_unless_wanted(service_url: str) -> None:
    Path("answers.csv").write_text("dear to somebody", encoding="utf-8")
    arguments = ["batch", "positions", "places.csv", "answers.csv"]
    result = run(*arguments, url=service_url)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert Path("answers.csv").read_text("utf-8") == "dear to somebody"
    assert run(*arguments, "--overwrite", url=service_url).exit_code == 0
    assert "33VVK12348012" in Path("answers.csv").read_text("utf-8")


def test_the_described_operations_can_be_asked(service_url: str) -> None:
    operations = requests.get(f"{service_url}/v1/batches", timeout=30).json()["operations"]
    assert "positions" in operations
    told = run("batch", "--help").stdout.split("The operation is ")[1].split(".")[0].replace(" or ", ", ")
    assert sorted(" ".join(told.split()).split(", ")) == sorted(operations)
    for operation in operations:
        described = requests.get(f"{service_url}/v1/batches/{operation}", timeout=30).json()
        column = next(answer["name"] for answer in described["answers"])
        result = run(
            "batch", operation, "places.csv", f"{operation}.csv", "--columns", column, url=service_url
        )
        # Its rows are those of positions: 2 where not one of them is a row of the operation.
        assert result.exit_code in (0, 2), result.stderr
        assert result.stderr == ""
        assert f"answer.{column}" in Path(f"{operation}.csv").read_text("utf-8").splitlines()[0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["positions", "places.csv", "answers.csv", "--columns", "nothing"], "nothing"),
        (["positions", "places.csv", "answers.csv", "--member", "nothing=1"], "nothing"),
        (["positions", "places.csv", "answers.csv", "--member", "date"], "write NAME=VALUE"),
        (
            ["positions", "places.csv", "answers.csv", "--member", "datum=ED50", "--member", "datum=x"],
            "NAME=VALUE",
        ),
        (["positions", "places.csv", "answers.txt"], "does not say what it is to hold"),
        (["Positions!", "places.csv", "answers.csv"], "no name of an operation"),
        (["positions", "places.csv", "answers.csv", "--at-once", "0"], "--at-once"),
    ],
)
def test_bad_input_is_said_in_words_with_exit_code_2(
    service_url: str, arguments: list[str], said: str
) -> None:
    result = run("batch", *arguments, url=service_url)
    assert result.exit_code == 2
    assert said in result.stderr
    assert not Path("answers.csv").exists()
    assert not Path("answers.csv.part").exists()


def test_a_member_of_all_rows_and_an_operation_that_needs_it(service_url: str) -> None:
    arguments = ["batch", "norths", "places.csv", "answers.csv"]
    none = run(*arguments, url=service_url)
    assert none.exit_code == 2  # no row has an answer
    assert "Rows with an error  3" in none.stdout
    result = run(*arguments, "--overwrite", "--member", "date=2026-11-25", url=service_url)
    assert line_of(result, "Rows with an error") == "1"


def test_a_run_that_failed_goes_on_with_the_same_command(
    service: StandIn, waits: list[float], tmp_path: Path
) -> None:
    source = str(source_files(tmp_path, 53)["csv"])

    def hook(handler: object, number: int, body: bytes) -> bool:
        fails = b"\n30," in body
        if fails:
            send(handler, 503, b"busy", "text/plain")
        return fails

    service.hook = hook
    arguments = ["batch", "positions", source, "answers.csv", "--rows-per-request", "10", "--at-once", "2"]
    result = run(*arguments, "--compress", url=service.url)
    assert result.exit_code == 3
    assert "the same command goes on from there" in result.stderr
    service.hook = None
    result = run(*arguments, url=service.url)
    assert line_of(result, "Rows  ") == "53"
    assert line_of(result, "Answered by an earlier run") == "30"


def test_begun_anew_where_wanted(service: StandIn, waits: list[float], tmp_path: Path) -> None:
    source = str(source_files(tmp_path, 53)["csv"])

    def hook(handler: object, number: int, body: bytes) -> bool:
        if number > 0:
            send(handler, 500, b"", "text/plain")
        return number > 0

    service.hook = hook
    arguments = ["batch", "positions", source, "answers.csv", "--rows-per-request", "10", "--at-once", "1"]
    assert run(*arguments, url=service.url).exit_code == 1
    service.hook = None
    result = run(*arguments, "--columns", "all", url=service.url)
    assert result.exit_code == 2
    assert "another query" in result.stderr
    assert "goes on from there" not in result.stderr
    result = run(*arguments, "--columns", "all", "--anew", url=service.url)
    assert result.exit_code == 0
    assert "earlier run" not in result.stdout


def test_a_summary_is_printed_by_its_paths(service: StandIn, tmp_path: Path) -> None:
    service.with_summary = True
    source = str(source_files(tmp_path, 2_053)["csv"])
    result = run("batch", "checks", source, "answers.csv", "--rows-per-request", "100", url=service.url)
    assert line_of(result, "count  ") == "2,053"
    assert line_of(result, "largest") == "49"
    assert line_of(result, "counts") == "2,053 0"


def test_no_service_is_exit_code_3(service: StandIn) -> None:
    service.close()
    result = run("batch", "positions", "places.csv", "answers.csv", url=service.url)
    assert result.exit_code == 3
    assert not Path("answers.csv.part").exists()


def test_a_terminal_has_a_progress_bar_and_a_pipe_has_none(service_url: str) -> None:
    termios = pytest.importorskip("termios")
    program = Path(sys.executable).with_name("threenorths")
    for options, bar in (([], True), (["--no-progress"], False)):
        ours, theirs = os.openpty()
        termios.tcsetwinsize(theirs, (24, 100))
        done = subprocess.run(
            [
                program,
                "batch",
                "positions",
                "places.csv",
                "answers.csv",
                "--overwrite",
                "--url",
                service_url,
                *options,
            ],
            stderr=theirs,
            stdout=subprocess.PIPE,
            timeout=60,
        )
        os.write(theirs, b"end")
        said = os.read(ours, 100_000).decode()
        os.close(ours)
        os.close(theirs)
        assert done.returncode == 0
        assert bool(re.search(r"positions: 100%.* 3\.00/3\.00", said)) == bar


def test_every_argument_of_the_client_is_an_option() -> None:
    arguments = set(inspect.signature(Client.batch_file).parameters) - {
        "self",
        "source_path",
        "answer_path",
        "operation",
    }
    options = {option.name for option in batch.params if isinstance(option, click.Option)}
    # The summary is always wanted here, and what is usual in Python is turned off by a flag.
    assert options == (arguments - {"summary", "resume", "progress"}) | {"anew", "no_progress", "url"}
