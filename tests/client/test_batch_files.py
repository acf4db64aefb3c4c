"""Batches from file to file: what is written, and that nothing is lost, mixed up or overwritten, whatever stops a run."""

import csv
import datetime
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

import threenorths.batch_files
import threenorths.batch_parts
import threenorths.batch_state
from client.batch_stand_in import StandIn, send, slowly, source_files
from threenorths import ArgumentError, Client, FileError, ServiceError

ENDINGS = ["csv", "ndjson", "jsonl", "parquet", "arrow"]


def rows_of(path: Path) -> list[tuple[int, str, float, int | None]]:
    """Of each row of an answer its number, position and answer, and the row that its error names."""
    match path.suffix:
        case ".csv":
            with path.open(newline="") as file:
                flat: list[dict[str, Any]] = list(csv.DictReader(file))
            assert all(
                None not in row and None not in row.values() for row in flat
            )  # a cell a column, no more, no fewer
        case ".parquet":
            flat = pq.read_table(path).to_pylist()
        case ".arrow":
            with pa.OSFile(str(path)) as file, pa.ipc.open_file(file) as reader:
                flat = reader.read_all().to_pylist()
        case _:
            rows = [json.loads(line) for line in path.read_text().splitlines()]
            flat = [
                {
                    **row,
                    "answer.lat_deg": row.get("answer", {}).get("lat_deg"),
                    "error.row": row.get("error", {}).get("row"),
                }
                for row in rows
            ]
    return [
        (
            int(row["id"]),
            row["position"] or "",
            float(row["answer.lat_deg"]) if row["answer.lat_deg"] not in ("", None) else -1.0,
            int(row["error.row"]) if row["error.row"] not in ("", None) else None,
        )
        for row in flat
    ]


EXPECTED = [(number, "x" * (number % 50), float(number % 50), None) for number in range(53)]


@pytest.mark.parametrize("source", ENDINGS)
@pytest.mark.parametrize("answer", ENDINGS)
def test_every_kind_of_file_to_every_kind(
    service: StandIn, asker: Client, tmp_path: Path, source: str, answer: str
) -> None:
    path = tmp_path / f"answer.{answer}"
    done = asker.batch_file("positions", source_files(tmp_path, 53)[source], path, rows_per_request=10)
    assert (done.path, done.rows, done.bad_rows, done.resumed_rows, done.summary) == (path, 53, 0, 0, None)
    assert rows_of(path) == EXPECTED
    assert sorted(left.name for left in tmp_path.glob("answer*")) == [path.name]


def test_parquet_has_a_row_group_a_part(service: StandIn, asker: Client, tmp_path: Path) -> None:
    path = tmp_path / "answer.parquet"
    asker.batch_file("positions", source_files(tmp_path, 53)["csv"], path, rows_per_request=10)
    metadata = pq.read_metadata(path)
    assert [metadata.row_group(group).num_rows for group in range(metadata.num_row_groups)] == [10] * 5 + [3]


@pytest.mark.parametrize("answer", ENDINGS)
def test_bad_rows_and_a_summary(service: StandIn, asker: Client, tmp_path: Path, answer: str) -> None:
    service.with_summary = True
    source = tmp_path / "places.csv"
    lines = source_files(tmp_path, 53)["csv"].read_text().splitlines()
    lines[1 + 31] = "31,bad"
    source.write_text("\n".join(lines))
    path = tmp_path / f"answer.{answer}"
    done = asker.batch_file("checks", source, path, rows_per_request=10)
    expected = [*EXPECTED]
    expected[31] = (31, "bad", -1.0, 32)
    assert rows_of(path) == expected
    assert done.bad_rows == 1
    assert done.summary == {"count": 52, "largest": 49.0, "edges": [1.0], "counts": [52, 0]}
    if answer == "csv":
        assert "summary" not in path.read_text()


def test_csv_whose_parts_differ_in_columns_has_all_of_them(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    source = tmp_path / "places.ndjson"
    source.write_text('{"id": 1, "position": "x"}\n{"id": 2, "own": "a,b", "position": "xx"}\n')
    path = tmp_path / "answer.csv"
    asker.batch_file("positions", source, path, rows_per_request=1)
    assert path.read_text() == (
        "id,position,own,answer.lat_deg,error.code,error.member,error.text,error.row,error.byte\n"
        '1,x,,1.0,,,,,\n2,xx,"a,b",2.0,,,,,\n'
    )


@pytest.mark.parametrize("answer", ENDINGS)
def test_a_source_without_rows(service: StandIn, asker: Client, tmp_path: Path, answer: str) -> None:
    for name, text in (("none.csv", "id,position\n"), ("none.ndjson", "")):
        (tmp_path / name).write_text(text)
        path = tmp_path / f"{name}.{answer}"
        assert asker.batch_file("positions", tmp_path / name, path).rows == 0
        assert rows_of(path) == []


RUN = """
import sys
from threenorths import Client
url, source, answer = sys.argv[1:]
with Client(url) as client:
    client.batch_file("checks", source, answer, rows_per_request=100, at_once=2)
"""


def stopped_midway(
    service: StandIn, source: Path, answer: Path, how: signal.Signals
) -> subprocess.Popen[bytes]:
    """A run in a process of its own, stopped when it has kept some parts and not all."""
    service.hook = slowly(0.05)
    run = subprocess.Popen([sys.executable, "-c", RUN, service.url, str(source), str(answer)])
    folder = answer.with_name(f"{answer.name}.part")
    deadline_s = time.monotonic() + 60.0
    while not (folder / "000002").exists():
        assert time.monotonic() < deadline_s
        assert run.poll() is None
        time.sleep(0.005)
    run.send_signal(how)
    run.wait(30.0)
    service.hook = None
    return run


@pytest.mark.parametrize(
    ("source", "answer"),
    [
        ("csv", "csv"),
        ("ndjson", "ndjson"),
        ("csv", "parquet"),
        ("parquet", "csv"),
        ("parquet", "arrow"),
        ("arrow", "jsonl"),
    ],
)
def test_a_killed_run_goes_on_where_it_was(
    service: StandIn, asker: Client, tmp_path: Path, source: str, answer: str
) -> None:
    service.with_summary = True
    source_path = source_files(tmp_path, 2_050)[source]
    whole, path = tmp_path / f"whole.{answer}", tmp_path / f"answer.{answer}"
    uninterrupted = asker.batch_file("checks", source_path, whole, rows_per_request=100)
    run = stopped_midway(service, source_path, path, signal.SIGKILL)
    assert run.returncode == -signal.SIGKILL
    assert not path.exists()
    service.asked.clear()
    done = asker.batch_file("checks", source_path, path, rows_per_request=100)
    assert path.read_bytes() == whole.read_bytes()
    assert (done.rows, done.bad_rows, done.summary) == (2_050, 0, uninterrupted.summary)
    assert done.resumed_rows >= 200
    assert sum(len(asked.rows) for asked in service.asked) == 2_050 - done.resumed_rows
    assert not path.with_name(f"{path.name}.part").exists()


def test_an_interrupt_stops_promptly_and_can_be_resumed(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    source, path = source_files(tmp_path, 2_050)["csv"], tmp_path / "answer.csv"
    service.hook = slowly(20.0)
    run = subprocess.Popen(
        [sys.executable, "-c", RUN, service.url, str(source), str(path)], stderr=subprocess.PIPE
    )
    try:
        deadline_s = time.monotonic() + 60.0
        while len(service.asked) < 2:
            assert time.monotonic() < deadline_s
            assert run.poll() is None
            time.sleep(0.01)
        began = time.monotonic()
        run.send_signal(signal.SIGINT)
        assert b"KeyboardInterrupt" in run.communicate(timeout=60.0)[1]
        assert time.monotonic() - began < 15.0  # no answer, which takes 20 s, was waited for
    finally:
        run.kill()
        run.communicate()
    service.hook = None
    assert asker.batch_file("checks", source, path).rows == 2_050


def test_a_failed_run_keeps_what_it_had(
    service: StandIn, asker: Client, tmp_path: Path, waits: list[float]
) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"

    def hook(handler: Any, number: int, body: bytes) -> bool:
        fails = b"\n30," in body
        if fails:
            send(handler, 503, b"busy", "text/plain")
        return fails

    service.hook = hook
    with pytest.raises(ServiceError):
        asker.batch_file("positions", source, path, rows_per_request=10)
    assert not path.exists()
    service.hook = None
    done = asker.batch_file("positions", source, path, rows_per_request=20, at_once=1)
    assert done.resumed_rows == 30
    assert rows_of(path) == EXPECTED


def begun(service: StandIn, asker: Client, folder: Path, **options: Any) -> tuple[Path, Path]:
    """A source and an answer of which 30 rows are kept."""
    source, path = source_files(folder, 53)["csv"], folder / "answer.csv"

    def hook(handler: Any, number: int, body: bytes) -> bool:
        fails = b"\n30," in body
        if fails:
            send(handler, 500, b"", "text/plain")
        return fails

    service.hook = hook
    with pytest.raises(ServiceError):
        asker.batch_file("positions", source, path, rows_per_request=10, **options)
    service.hook = None
    return source, path


def test_a_changed_source_is_refused_and_can_be_begun_anew(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    source, path = begun(service, asker, tmp_path)
    with source.open("a") as file:
        file.write("53,xxx\n")
    with pytest.raises(ArgumentError, match="the source has changed since"):
        asker.batch_file("positions", source, path)
    assert not path.exists()
    done = asker.batch_file("positions", source, path, resume=False)
    assert (done.rows, done.resumed_rows) == (54, 0)


def test_so_is_one_that_only_its_time_tells(service: StandIn, asker: Client, tmp_path: Path) -> None:
    source, path = begun(service, asker, tmp_path)
    os.utime(source, (1.0, 1.0))
    with pytest.raises(ArgumentError, match="the source has changed since"):
        asker.batch_file("positions", source, path)


@pytest.mark.parametrize(
    ("operation", "options", "said"),
    [
        ("norths", {}, "another operation: 'positions'"),
        ("positions", {"columns": "all"}, "another query"),
        ("positions", {"members": {"date": "today"}}, "another query"),
    ],
)
def test_what_is_asked_otherwise_is_refused(
    service: StandIn, asker: Client, tmp_path: Path, operation: str, options: dict[str, Any], said: str
) -> None:
    source, path = begun(service, asker, tmp_path)
    with pytest.raises(ArgumentError, match=said):
        asker.batch_file(operation, source, path, **options)


def test_today_is_not_gone_on_with_on_another_day(service: StandIn, asker: Client, tmp_path: Path) -> None:
    members = {"sheet": {"date": "today"}}
    source, path = begun(service, asker, tmp_path, members=members)
    state = tmp_path / "answer.csv.part" / "state.json"
    today = datetime.datetime.now(datetime.UTC).date().isoformat()
    kept = json.loads(state.read_text())
    kept["asked"]["today"] = "2026-11-25"
    state.write_text(json.dumps(kept))
    with pytest.raises(
        ArgumentError, match=f"'today' was 2026-11-25 and is {today} by now, so begin with the date"
    ):
        asker.batch_file("positions", source, path, members=members)
    del kept["asked"]["today"]  # as an earlier version of the client left it
    state.write_text(json.dumps(kept))
    with pytest.raises(ArgumentError, match=f"'today' was another day and is {today}"):
        asker.batch_file("positions", source, path, members=members)
    kept["asked"]["today"] = today
    state.write_text(json.dumps(kept))
    assert asker.batch_file("positions", source, path, members=members).resumed_rows == 30


@pytest.mark.parametrize("harm", ["part gone", "part shorter", "state broken", "another format"])
def test_parts_that_are_not_as_they_were_left_are_refused(
    service: StandIn, asker: Client, tmp_path: Path, harm: str
) -> None:
    source, path = begun(service, asker, tmp_path)
    folder = tmp_path / "answer.csv.part"
    part, state = folder / "000001", folder / "state.json"
    match harm:
        case "part gone":
            part.unlink()
        case "part shorter":
            part.write_bytes(part.read_bytes()[:-5])
        case "state broken":
            state.write_text('{"rows": ')
        case _:
            state.write_text(state.read_text().replace('"format": 1', '"format": 0'))
    with pytest.raises(ArgumentError, match="cannot be gone on with"):
        asker.batch_file("positions", source, path)
    assert asker.batch_file("positions", source, path, resume=False).rows == 53


def test_an_answer_that_is_there_is_not_overwritten_unless_wanted(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"
    path.write_text("dear to somebody")
    with pytest.raises(ArgumentError, match="is there already"):
        asker.batch_file("positions", source, path)
    assert path.read_text() == "dear to somebody"
    assert service.asked == []
    asker.batch_file("positions", source, path, overwrite=True)
    assert rows_of(path) == EXPECTED


def test_nor_is_one_that_came_meanwhile(service: StandIn, asker: Client, tmp_path: Path) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"

    def hook(*_: object) -> None:
        path.write_text("dear to somebody")

    service.hook = hook
    with pytest.raises(ArgumentError, match="is there by now"):
        asker.batch_file("positions", source, path)
    assert path.read_text() == "dear to somebody"
    path.unlink()
    service.hook = None
    assert asker.batch_file("positions", source, path).resumed_rows == 53


def test_a_source_is_never_its_own_answer(service: StandIn, asker: Client, tmp_path: Path) -> None:
    source = source_files(tmp_path, 53)["csv"]
    (tmp_path / "link.csv").symlink_to(source)
    for path in (source, tmp_path / "link.csv"):
        with pytest.raises(ArgumentError, match="take the place of its source"):
            asker.batch_file("positions", source, path, overwrite=True)


def test_a_source_that_changes_meanwhile_gives_no_answer(
    service: StandIn, asker: Client, tmp_path: Path
) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"
    service.hook = lambda *_: os.utime(source, (1.0, 1.0))  # type: ignore[assignment]
    with pytest.raises(ArgumentError, match="was changed while it was read"):
        asker.batch_file("positions", source, path)
    assert not path.exists()


@pytest.mark.parametrize("resume", [True, False])
def test_a_folder_of_somebody_else_is_left_alone(
    service: StandIn, asker: Client, tmp_path: Path, resume: bool
) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"
    dear = tmp_path / "answer.csv.part" / "000000"
    dear.parent.mkdir()
    dear.write_text("dear to somebody")
    with pytest.raises(FileError, match=r"answer\.csv\.part', which .*, holds something else"):
        asker.batch_file("positions", source, path, resume=resume)
    assert service.asked == []
    assert [left.read_text() for left in dear.parent.iterdir()] == ["dear to somebody"]
    dear.unlink()
    assert asker.batch_file("positions", source, path, resume=resume).rows == 53
    assert not dear.parent.exists()


@pytest.mark.parametrize("resume", [True, False])
def test_so_is_what_somebody_put_among_the_parts(
    service: StandIn, asker: Client, tmp_path: Path, resume: bool
) -> None:
    source, path = begun(service, asker, tmp_path)
    folder = tmp_path / "answer.csv.part"
    (folder / "notes.txt").write_text("dear to somebody")
    (folder / "pictures").mkdir()
    asker.batch_file("positions", source, path, resume=resume)
    assert rows_of(path) == EXPECTED
    assert sorted(left.name for left in folder.iterdir()) == ["notes.txt", "pictures"]


def killed(*_: object) -> None:
    raise KeyboardInterrupt


def test_an_answer_with_a_second_name_is_not_written_into(
    service: StandIn, asker: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One run is killed when the answer has just got its name, and the next one, which overwrites, while it joins."""
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"
    link = os.link

    def last_deed(*paths: Path) -> None:
        link(*paths)
        killed()

    with monkeypatch.context() as patched:
        patched.setattr(threenorths.batch_parts.os, "link", last_deed)
        with pytest.raises(KeyboardInterrupt):
            asker.batch_file("positions", source, path, rows_per_request=10)
    assert path.samefile(tmp_path / "answer.csv.part" / "joined")
    with monkeypatch.context() as patched:
        patched.setattr(threenorths.batch_parts.shutil, "copyfileobj", killed)
        with pytest.raises(KeyboardInterrupt):
            asker.batch_file("positions", source, path, overwrite=True)
    assert rows_of(path) == EXPECTED
    assert asker.batch_file("positions", source, path, overwrite=True).resumed_rows == 53
    assert rows_of(path) == EXPECTED


def test_the_folder_goes_while_it_is_locked_and_the_answer_has_one_name(
    service: StandIn, asker: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"
    names: list[int] = []

    def removed(folder: Path) -> None:
        names.append(path.stat().st_nlink)
        with pytest.raises(ArgumentError, match="another run"), threenorths.batch_state.locked(folder):
            pass
        threenorths.batch_state.removed(folder)

    monkeypatch.setattr(threenorths.batch_files, "removed", removed)
    asker.batch_file("positions", source, path)
    assert names == [1]
    assert not (tmp_path / "answer.csv.part").exists()


def test_a_lock_whose_file_is_gone_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Such is one that was waited for while the run before ended, and removed its folder."""
    flock = threenorths.batch_state.fcntl.flock

    def late(*arguments: Any) -> None:
        (tmp_path / "lock").unlink()
        flock(*arguments)

    monkeypatch.setattr(threenorths.batch_state.fcntl, "flock", late)
    with pytest.raises(ArgumentError, match="another run"), threenorths.batch_state.locked(tmp_path):
        pass


def test_two_runs_at_once_do_not_mix(service: StandIn, asker: Client, tmp_path: Path) -> None:
    source, path = source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv"
    folder = tmp_path / "answer.csv.part"
    folder.mkdir()
    with (
        threenorths.batch_state.locked(folder),
        pytest.raises(ArgumentError, match="another run is writing"),
    ):
        asker.batch_file("positions", source, path)
    assert asker.batch_file("positions", source, path).rows == 53


@pytest.mark.parametrize(
    ("source", "answer", "said"),
    [
        ("places.csv", "answer.txt", "does not say what it is to hold"),
        ("places.txt", "answer.csv", "does not say what it holds"),
        ("places.csv", "nowhere/answer.csv", "there is no folder"),
    ],
)
def test_what_cannot_be_written_is_said_at_once(
    service: StandIn, asker: Client, tmp_path: Path, source: str, answer: str, said: str
) -> None:
    source_files(tmp_path, 5)
    (tmp_path / "places.txt").touch()
    with pytest.raises(ArgumentError, match=said):
        asker.batch_file("positions", tmp_path / source, tmp_path / answer)
    assert service.asked == []
    assert list(tmp_path.glob("*.part")) == []


def test_the_summary_alone_is_no_file(asker: Client, tmp_path: Path) -> None:
    with pytest.raises(ArgumentError, match="a file is of rows"):
        asker.batch_file("checks", source_files(tmp_path, 5)["csv"], tmp_path / "answer.csv", summary="only")


def test_a_source_that_is_not_there_leaves_nothing(asker: Client, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be read"):
        asker.batch_file("positions", tmp_path / "none.csv", tmp_path / "answer.csv")
    assert list(tmp_path.iterdir()) == []


def test_a_disk_without_second_names_for_files(
    service: StandIn, asker: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_link(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(threenorths.batch_parts.os, "link", no_link)
    path = tmp_path / "answer.csv"
    asker.batch_file("positions", source_files(tmp_path, 53)["csv"], path)
    assert rows_of(path) == EXPECTED


def test_what_is_wrong_with_the_disk_is_a_named_error(
    service: StandIn, asker: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(threenorths.batch_parts.os, "fsync", full)
    with pytest.raises(FileError, match="No space left on device"):
        asker.batch_file("positions", source_files(tmp_path, 53)["csv"], tmp_path / "answer.csv")
    assert not (tmp_path / "answer.csv").exists()
