"""Answer a folder of Parquet files on a Dask cluster: on this machine by default, or on one whose scheduler is named.

What runs on a partition is `threenorths_service.batch.frames.answer_frame`, as it is. Run it where the service is installed;
Dask comes beside it: ``pip install 'dask[dataframe,distributed]'``. A Spark cluster needs no script: there it is
``frame.mapInArrow(lambda batches: answer_batches("positions", batches), schema)``. That is tested with an iterator of
record batches as Spark hands it over, and not on Spark itself, which needs Java.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import json
import shutil
import sys
import tempfile
import uuid
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.parquet as pq

from threenorths_service.batch.asked import columns_asked, members_of_texts, summarised_columns
from threenorths_service.batch.catalogue import BATCHED
from threenorths_service.batch.checks import summary_of
from threenorths_service.batch.faults import BatchError
from threenorths_service.batch.frames import answer_frame, answer_schema
from threenorths_service.navmath.checks.check_summary import CheckSummary, merge

if TYPE_CHECKING:
    import pandas as pd
    from distributed import Client

NEEDED = "this needs Dask, which the service does not: pip install 'dask[dataframe,distributed]'"
HELP = """
Answer every row of a folder of Parquet files, and write a folder of Parquet files with the answers beside the rows.

A partition is a file, or of a larger file as many row groups as have at most --rows rows. Its answer is a file of the same
name; the answers of a file of several partitions are NAME.0000.parquet, NAME.0001.parquet and so on. error.row is the row's
number, from 1, in its own partition, and so in the file of its answer.

ANSWER_FOLDER must not exist, and is there once all of it is: until then it is ANSWER_FOLDER.unfinished.

By itself it starts a cluster on this machine, on loopback, which is open to whoever else works on this machine. With
--scheduler, every worker must have the same release of the service installed, and see both folders under the same paths;
start it with one thread, and with MALLOC_TRIM_THRESHOLD_ set to null in Dask's distributed.nanny.pre-spawn-environ: with
what Dask sets there, norths take twice the time.
"""
#: How often a partition is tried again that failed. One whose worker was lost is tried again anyhow.
RETRIES = 2
#: What keeps linear algebra from starting threads of its own, of which each worker would have as many as there are cores.
_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


class Refused(Exception):  # noqa: N818 - it is an end, told in one line
    """Why nothing is done."""


@dataclass(frozen=True)
class Part:
    """A partition: row groups of a file, and the name of the file that its answer goes to."""

    path: str
    row_groups: tuple[int, ...]
    name: str

    def read(self) -> pd.DataFrame:
        """Its rows, in Arrow's own types: a null stays one, and a whole number does not become a fraction beside it."""
        import pandas as pd

        with pq.ParquetFile(self.path) as file:
            table = file.read_row_groups(list(self.row_groups), use_threads=False)
        return table.to_pandas(types_mapper=pd.ArrowDtype)


@dataclass(frozen=True)
class Asked:
    """What is asked of every partition."""

    operation: str
    #: The answer's members that are worked out, by default the usual ones, and the members that all rows have.
    columns: tuple[str, ...] | None
    members: Mapping[str, Any]
    #: The schema of the answers that are worked out, and the columns that are written.
    schema: pa.Schema
    written: tuple[str, ...]
    folder: str


def asked_of(
    operation: str,
    columns: tuple[str, ...] | None,
    members: Mapping[str, Any],
    schema: pa.Schema,
    folder: Path,
) -> Asked:
    """What is asked of partitions of this schema. Raises `BatchError` for wrong columns, before anything runs."""
    written = tuple(answer_schema(operation, schema, columns=columns).names)
    if columns is not None:
        columns = (*columns, *summarised_columns(BATCHED[operation]))
    answers = answer_schema(operation, schema, columns=columns)
    return Asked(operation, columns, members, answers, written, str(folder.resolve()))


@dataclass
class Told:
    """What is told of partitions that are done."""

    rows: int = 0
    errors: Counter[str] = field(default_factory=Counter)
    summary: CheckSummary | None = None

    def add(self, rows: int, errors: Counter[str], summary: CheckSummary | None) -> None:
        """Count in a partition."""
        self.rows += rows
        self.errors += errors
        if summary is not None:
            self.summary = summary if self.summary is None else merge(self.summary, summary)

    def lines(self) -> Iterator[str]:
        """In words, and the summary as JSON, like the last record that the service answers a batch of checks with."""
        yield f"{self.rows} rows, of which {self.errors.total()} have an error instead of an answer"
        errors = dict(sorted(self.errors.items()))
        yield from (f"  {code}: {count}" for code, count in errors.items())
        if self.summary is not None:
            yield json.dumps({"rows": self.rows, "errors": errors, **self.summary.as_details()})


def parts_in(folder: Path, rows: int) -> tuple[list[Part], pa.Schema]:
    """The partitions of at most so many rows, a row group being the least, in the order of the files' names."""
    paths = sorted(folder.glob("*.parquet")) if folder.is_dir() else []
    if not paths:
        raise Refused(f"{folder} is no folder with files *.parquet")
    schema = pq.read_schema(paths[0]).remove_metadata()
    parts = []
    for path in paths:
        with pq.ParquetFile(path) as file:
            if not file.schema_arrow.equals(schema):
                raise Refused(f"{path.name} has other columns or types than {paths[0].name}")
            counts = [file.metadata.row_group(group).num_rows for group in range(file.num_row_groups)]
        groups = list(_packed(counts, rows))
        for place, packed in enumerate(groups):
            name = path.name if len(groups) == 1 else f"{path.stem}.{place:04d}.parquet"
            parts.append(Part(str(path.resolve()), packed, name))
    if len({part.name for part in parts}) < len(parts):
        raise Refused("the partitions of one file would be named as another file is")
    return parts, schema


def _packed(counts: Sequence[int], rows: int) -> Iterator[tuple[int, ...]]:
    packed: list[int] = []
    held = 0
    for group, count in enumerate(counts):
        if packed and held + count > rows:
            yield tuple(packed)
            packed, held = [], 0
        packed.append(group)
        held += count
    yield tuple(packed)


def write_part(
    answered: pd.DataFrame, part: Part, asked: Asked
) -> tuple[int, Counter[str], CheckSummary | None]:
    """Write the answer of a partition. Done again, or by two workers at once, it comes to the same."""
    table = pa.Table.from_pandas(answered, asked.schema, preserve_index=False)
    unfinished = Path(asked.folder, f"{part.name}.{uuid.uuid4().hex}")
    pq.write_table(table.select(asked.written), unfinished)
    unfinished.replace(Path(asked.folder, part.name))
    codes = table["error.code"]
    summary = None
    if summarised := summarised_columns(BATCHED[asked.operation]):
        columns = {name: table[f"answer.{name}"] for name in summarised}
        summary = summary_of(columns, codes.is_null().to_numpy())
    return table.num_rows, Counter(codes.drop_null().to_pylist()), summary


def answer_parts(client: Client, parts: Sequence[Part], columns: pa.Schema, asked: Asked) -> Told:
    """Answer the partitions on the cluster."""
    import dask
    import dask.dataframe as dd
    import pandas as pd
    from distributed import KilledWorker

    options = {"columns": asked.columns, "members": asked.members}
    empty = columns.empty_table().to_pandas(types_mapper=pd.ArrowDtype)
    meta = answer_frame(empty, asked.operation, **options)
    frames = dd.from_map(Part.read, parts, meta=empty)
    answered = frames.map_partitions(answer_frame, asked.operation, **options, meta=meta)
    write = dask.delayed(write_part)
    written = [write(frame, part, asked) for frame, part in zip(answered.to_delayed(), parts, strict=True)]
    told = Told()
    try:
        for done in client.gather(client.compute(written, retries=RETRIES)):
            told.add(*done)
    except KilledWorker as error:
        raise Refused(
            f"workers were lost, as they are when memory runs out; --rows takes less. {error}"
        ) from None
    return told


@contextlib.contextmanager
def connected(scheduler: str | None, workers: int) -> Iterator[Client]:
    """A client of the cluster: the one named, or one on this machine, which leaves nothing behind."""
    import dask
    from distributed import Client, LocalCluster

    if scheduler is not None:
        with Client(scheduler, set_as_default=False) as client:
            yield client
        return
    settings: dict[str, Any] = {
        # Distributed opens a port for its pages whatever it is told: let it be a free one, with no pages behind it.
        "distributed.scheduler.http.routes": [],
        "distributed.worker.http.routes": [],
        # Left out is MALLOC_TRIM_THRESHOLD_, which it sets as well: every array would be new memory from the system, and
        # norths take twice the time.
        "distributed.nanny.pre-spawn-environ": dict.fromkeys(_ONE_THREAD, 1),
    }
    with (
        tempfile.TemporaryDirectory() as folder,
        dask.config.set({"temporary-directory": folder, **settings}),
        LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            scheduler_kwargs={"dashboard": False},
            local_directory=folder,
        ) as cluster,
        Client(cluster, set_as_default=False) as client,
    ):
        yield client


def run(options: argparse.Namespace) -> Told:
    """Do what the command line asks."""
    source, answer = Path(options.source_folder), Path(options.answer_folder)
    unfinished = answer.with_name(f"{answer.name}.unfinished")
    for folder in (answer, unfinished):
        if folder.exists():
            raise Refused(f"{folder} is there already")
    wanted = columns_asked(BATCHED[options.operation], options.columns)
    members = members_of_texts(BATCHED[options.operation], options.member)
    parts, columns = parts_in(source, options.rows)
    asked = asked_of(options.operation, wanted, members, columns, unfinished)
    unfinished.mkdir()
    try:
        with connected(options.scheduler, options.workers) as client:
            told = answer_parts(client, parts, columns, asked)
        # A worker that was lost may have left a part of a file.
        names = {part.name for part in parts}
        for stray in unfinished.iterdir():
            if stray.name not in names:
                stray.unlink()
        unfinished.rename(answer)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return told


def _arguments() -> argparse.ArgumentParser:
    opening, closing = HELP.strip().split("\n\n", 1)
    parser = argparse.ArgumentParser(
        description=opening, epilog=closing, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("operation", metavar="OPERATION", choices=list(BATCHED), help=", ".join(BATCHED))
    parser.add_argument("source_folder", metavar="SOURCE_FOLDER", help="whose files *.parquet are answered")
    parser.add_argument("answer_folder", metavar="ANSWER_FOLDER", help="which is made")
    parser.add_argument(
        "--columns", metavar="A,B", help="members of the answer by path, or all; else the usual ones"
    )
    parser.add_argument(
        "--member",
        metavar="NAME=VALUE",
        type=_named,
        action="append",
        default=[],
        help="what all rows have; a row's own goes before",
    )
    parser.add_argument(
        "--rows", metavar="N", type=_count, default=500_000, help="of a partition (default %(default)s)"
    )
    parser.add_argument(
        "--workers", metavar="N", type=_count, default=2, help="processes here (default %(default)s)"
    )
    parser.add_argument("--scheduler", metavar="ADDRESS", help="of a cluster, such as tcp://10.0.0.1:8786")
    return parser


def _named(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f"{text!r} is not NAME=VALUE")
    return name, value


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 1")
    return int(text)


def main() -> None:
    """Run as a command."""
    options = _arguments().parse_args()
    try:
        for name in ("dask.dataframe", "distributed"):
            importlib.import_module(name)
    except ImportError as error:
        sys.exit(f"error: {NEEDED} ({error})")
    try:
        told = run(options)
    except (Refused, BatchError, OSError) as error:
        sys.exit(f"error: {error}")
    sys.stdout.writelines(f"{line}\n" for line in told.lines())


if __name__ == "__main__":
    main()
