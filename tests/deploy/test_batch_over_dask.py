"""`deploy/batch_over_dask.py`: a partitioned data set on a cluster of two workers is answered as one table is."""

from __future__ import annotations

import contextlib
import os
import runpy
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import orjson
import psutil
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from frame_rows import ROWS, TABLES, answered_over_http
from serving import CHECKOUT
from threenorths_service.batch.frames import answer_table

SCRIPT = str(CHECKOUT / "deploy" / "batch_over_dask.py")
#: How the rows are divided: a file without any, one of one, two of many, one of which has two row groups.
PARTS = {"0": [0], "1": [1], "2": [25, 19], "3": [ROWS - 45]}
#: As many rows as leave a file of row groups in two partitions.
DIVIDED = ("--rows", "30")
#: A machine under load is slow without anything being wrong.
TIMEOUT_S = 180.0


def run(*arguments: str) -> None:
    """The script as a command, in this process."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["batch_over_dask.py", *arguments])
        runpy.run_path(SCRIPT, run_name="__main__")


@pytest.fixture(scope="module")
def scheduler() -> Iterator[str]:
    """The address of the cluster that the script starts by itself, started once."""
    with runpy.run_path(SCRIPT)["connected"](None, 2) as client:
        assert len(client.scheduler_info()["workers"]) == 2
        yield client.scheduler.address


@pytest.fixture
def refused(tmp_path, capsys) -> Callable[..., str]:
    """Run what is refused, and give what is said of it; nothing is left of it."""

    def refused(*arguments: str, source: Path | None = None) -> str:
        operation, *more = arguments
        answer = tmp_path / "refused"
        with pytest.raises(SystemExit) as ended:
            run(operation, str(source or tmp_path / "source"), str(answer), *more)
        assert ended.value.code != 0
        assert not list(tmp_path.glob("refused*"))
        return f"{ended.value.code} {capsys.readouterr().err}"

    return refused


def write(table: pa.Table, folder: Path) -> Path:
    """The table as files of `PARTS`."""
    folder.mkdir()
    start = 0
    for name, groups in PARTS.items():
        with pq.ParquetWriter(folder / f"{name}.parquet", table.schema) as file:
            for rows in groups:
                file.write_table(table.slice(start, rows))
                start += rows
    assert start == table.num_rows
    return folder


def living(group: int) -> list[str]:
    """The processes of a group that have not ended."""
    found = []
    for process in psutil.process_iter(["status", "cmdline"]):
        with contextlib.suppress(ProcessLookupError, PermissionError):
            if os.getpgid(process.pid) == group and process.info["status"] != psutil.STATUS_ZOMBIE:
                found.append(str(process.info["cmdline"]))
    return found


def without_row_numbers(table: pa.Table) -> pa.Table:
    return table.drop_columns(["error.row"])


@pytest.mark.parametrize(
    ("operation", "options"),
    [("positions", {"columns": "lat_deg,lon_deg,mgrs"}), ("norths", {}), ("checks", {"columns": "verdict"})],
)
def test_a_data_set_on_two_workers_is_answered_as_its_table_and_as_the_service_does(
    scheduler, tmp_path, capsys, operation, options
):
    table = TABLES[operation]()
    source, answer = write(table, tmp_path / "source"), tmp_path / "answer"
    given = [f"--columns={columns}" for columns in options.values()]
    run(operation, str(source), str(answer), "--scheduler", scheduler, *DIVIDED, *given)
    names = sorted(path.name for path in answer.iterdir())
    assert names == ["0.parquet", "1.parquet", "2.0000.parquet", "2.0001.parquet", "3.parquet"]
    assert not list(tmp_path.glob("*.unfinished"))

    parts = [pq.read_table(answer / name) for name in names]
    assert [part.num_rows for part in parts] == [0, 1, 25, 19, ROWS - 45]
    columns = {name: text.split(",") for name, text in options.items()}
    whole = answer_table(operation, table, **columns)
    together = pa.concat_tables(parts)
    assert without_row_numbers(together).equals(without_row_numbers(whole))
    for part in parts:  # each counts its own
        bad = part["error.code"].is_valid().to_pylist()
        assert part["error.row"].to_pylist() == [
            row if each else None for row, each in enumerate(bad, start=1)
        ]

    query = "&".join(f"{name}={text}" for name, text in options.items())
    over_http = answered_over_http(operation, table, query)
    said = capsys.readouterr().out.splitlines()
    errors = whole["error.code"].drop_null()
    assert said[0] == f"{ROWS} rows, of which {len(errors)} have an error instead of an answer"
    counts = {code["values"]: code["counts"] for code in errors.value_counts().to_pylist()}
    assert said[1 : len(counts) + 1] == [f"  {code}: {counts[code]}" for code in sorted(counts)]
    if operation == "checks":
        assert orjson.loads(said[-1]) == orjson.loads(over_http["summary"].to_pylist()[-1])
        over_http = over_http.drop_columns(["summary"]).slice(0, ROWS)
    else:
        assert len(said) == len(counts) + 1
    assert over_http.equals(whole)


def test_members_that_all_rows_have_are_read_as_in_an_address(scheduler, tmp_path):
    table = TABLES["norths"]().drop_columns(["date"])
    source, answer = write(table, tmp_path / "source"), tmp_path / "answer"
    given = ("--member", "date=2026-11-25", "--member", "height_m=1500")
    run("norths", str(source), str(answer), "--scheduler", scheduler, *given)
    together = pa.concat_tables([pq.read_table(path) for path in sorted(answer.iterdir())])
    whole = answer_table("norths", table, members={"date": "2026-11-25", "height_m": 1500.0})
    assert without_row_numbers(together).equals(without_row_numbers(whole))


def test_the_command_by_itself_starts_a_cluster_and_leaves_nothing_of_it(tmp_path):
    table = TABLES["positions"]()
    source, answer = write(table, tmp_path / "source"), tmp_path / "answer"
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    command = subprocess.Popen(
        [sys.executable, SCRIPT, "positions", str(source), str(answer), "--workers=1"],
        cwd=scratch,
        env={**os.environ, "TMPDIR": str(scratch)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        process_group=0,
    )
    try:
        said, complained = command.communicate(timeout=TIMEOUT_S)
        assert (command.returncode, complained) == (0, "")
        deadline_s = time.monotonic() + 10.0
        while living(command.pid) and time.monotonic() < deadline_s:
            time.sleep(0.1)
        assert not living(command.pid)
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(command.pid, signal.SIGKILL)
    assert said.startswith(f"{ROWS} rows, of which ")
    together = pa.concat_tables([pq.read_table(path) for path in sorted(answer.iterdir())])
    assert without_row_numbers(together).equals(without_row_numbers(answer_table("positions", table)))
    assert list(scratch.iterdir()) == []


def test_what_is_wrong_with_the_question_is_named_before_a_cluster_is_started(tmp_path, refused, monkeypatch):
    monkeypatch.setattr("distributed.LocalCluster", None)
    write(TABLES["positions"](), tmp_path / "source")
    assert "'bearing_checks'" in refused("bearing_checks")
    assert "no column 'latitude', but with" in refused("positions", "--columns=latitude")
    assert "positions has no member 'digit'" in refused("positions", "--member", "digit=3")
    assert "'digits' is not NAME=VALUE" in refused("positions", "--member", "digits")
    assert "given twice" in refused("positions", "--member", "digits=3", "--member", "digits=4")
    twice = ("--member", "position=33V", "--member", "position.lat_deg=1")
    assert "'position' is given twice" in refused("positions", *twice)
    assert "digits: This number is out of range" in refused("positions", "--member", "digits=7")
    assert "'sheet.squares' is no JSON" in refused("positions", "--member", "sheet.squares=[VK]")
    assert "'0' is no whole number" in refused("positions", "--rows=0")
    assert "is no folder with files" in refused("positions", source=tmp_path / "nowhere")
    assert "is no folder with files" in refused("positions", source=tmp_path)
    for columns, named in (
        ({"positon": ["33V VK 12 67"]}, "was 'position' meant?"),
        ({"position": [7.5]}, "string is wanted"),
    ):
        pq.write_table(pa.table(columns), tmp_path / "wrong.parquet")
        assert named in refused("positions", source=tmp_path)


def test_files_that_differ_or_whose_answers_would_share_a_name_are_refused(tmp_path, refused):
    source = write(TABLES["positions"](), tmp_path / "source")
    pq.write_table(TABLES["positions"](), source / "2.0001.parquet")
    assert "would be named as another" in refused("positions", *DIVIDED)
    pq.write_table(TABLES["checks"](), source / "4.parquet")
    assert "4.parquet has other columns" in refused("positions")


def test_an_answer_that_is_there_is_not_written_over(tmp_path):
    write(TABLES["positions"](), tmp_path / "source")
    for name in ("answer", "answer.unfinished"):
        (tmp_path / name).mkdir()
        with pytest.raises(SystemExit, match=f"{name} is there already"):
            run("positions", str(tmp_path / "source"), str(tmp_path / "answer"))
        (tmp_path / name).rmdir()


def test_without_dask_it_says_what_to_install(tmp_path, refused, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert "pip install 'dask[dataframe,distributed]'" in refused("positions")
