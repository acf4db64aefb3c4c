"""`threenorths batch`"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from ..batch_files import BatchFile, parts_folder
from ..client import REQUESTS_AT_ONCE, ROWS_PER_REQUEST, Client
from ..errors import ArgumentError, ThreeNorthsError
from .running import BAD_INPUT, FAILED, URL, Command, failing_plainly
from .tables import Rows, aligned

__all__ = ["batch"]


def _members(texts: tuple[str, ...]) -> dict[str, str]:
    members: dict[str, str] = {}
    for text in texts:
        name, equals, value = text.strip().partition("=")
        if not (name and equals) or name in members:
            raise click.BadParameter(
                f"{text!r} is no member of its own: write NAME=VALUE.", param_hint="--member"
            )
        members[name] = value
    return members


def _say_what_is_kept(answer: Path) -> None:
    if parts_folder(answer).exists():
        click.echo("What was answered is kept: the same command goes on from there.", err=True)


def _rows(done: BatchFile) -> Rows:
    rows: Rows = [
        ("Answer", str(done.path)),
        ("Rows", f"{done.rows:,}"),
        ("Rows with an error", f"{done.bad_rows:,}"),
    ]
    if done.resumed_rows:
        rows.append(("Answered by an earlier run", f"{done.resumed_rows:,}"))
    return rows


def _summary_rows(summary: dict[str, Any], path: str = "") -> Iterator[tuple[str, ...]]:
    """The summary, a line a number, each named by its path; what counts nothing is left out."""
    for name, value in summary.items():
        if isinstance(value, dict):
            yield from _summary_rows(value, f"{path}{name}.")
        elif isinstance(value, list):
            yield (f"{path}{name}", " ".join(_number(each) for each in value))
        elif value is not None:
            yield (f"{path}{name}", _number(value))


def _number(value: Any) -> str:
    return (
        f"{value:,}" if isinstance(value, int) else f"{value:g}" if isinstance(value, float) else str(value)
    )


@click.command(
    "batch",
    cls=Command,
    examples=(
        "threenorths batch positions places.csv answers.csv",
        "threenorths batch norths places.csv norths.ndjson --member date=2026-11-25 --columns declination_deg",
    ),
)
@click.argument("operation")
@click.argument("source", type=click.Path(dir_okay=False, path_type=Path))
@click.argument("answer", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--columns",
    multiple=True,
    metavar="NAME[,NAME...]",
    help="Members of the answer that are wanted, by path, or `all`; the usual ones unless said. May be repeated.",
)
@click.option(
    "--member",
    "members",
    multiple=True,
    metavar="NAME=VALUE",
    help="A member that all rows have, where they have none of their own, such as date=2026-11-25. Repeat it.",
)
@click.option(
    "--rows-per-request",
    type=click.IntRange(min=1),
    default=ROWS_PER_REQUEST,
    show_default=True,
    help="Most rows of one request.",
)
@click.option(
    "--at-once",
    type=click.IntRange(min=1),
    default=REQUESTS_AT_ONCE,
    show_default=True,
    help="Requests under way at once.",
)
@click.option(
    "--no-progress", is_flag=True, help="Draw no progress bar. Without a terminal there is none anyhow."
)
@click.option("--overwrite", is_flag=True, help="Put the answer in the place of one that is there already.")
@click.option("--anew", is_flag=True, help="Begin anew, rather than go on where an earlier run stopped.")
@click.option("--compress", is_flag=True, help="Compress what goes over the line, for slow ones.")
def batch(
    operation: str,
    source: Path,
    answer: Path,
    columns: tuple[str, ...],
    members: tuple[str, ...],
    rows_per_request: int,
    at_once: int,
    no_progress: bool,
    overwrite: bool,
    anew: bool,
    compress: bool,
    url: str | None,
) -> None:
    """Ask an operation about every row of a file, and write the answers to another.

    The operation is positions, norths, bearings, compass-settings, map-distances, lines, rays, intersections, resections or
    checks. The endings of the names say what the files are: .csv, .ndjson, .jsonl, .parquet or .arrow. A column's name is the
    path of a member, such as position or from.lat_deg; columns of your own are carried along. A row without an answer has an
    error in its place. A run that was stopped goes on where it was when the same command is given again. Parquet and Arrow
    need pyarrow: pip install 'threenorths[arrow]'. The exit code is 0 also where some rows have an error, and
    2 where all have.
    """
    with failing_plainly(), Client(url) as client:
        try:
            done = client.batch_file(
                operation,
                source,
                answer,
                members=_members(members),
                columns=",".join(columns) or None,
                resume=not anew,
                overwrite=overwrite,
                rows_per_request=rows_per_request,
                at_once=at_once,
                progress=False if no_progress else None,
                compress=compress,
            )
        except KeyboardInterrupt:
            click.echo("Stopped.", err=True)
            _say_what_is_kept(answer)
            sys.exit(FAILED)
        except ThreeNorthsError as error:
            if not isinstance(error, ArgumentError):
                _say_what_is_kept(answer)
            raise
    lines = aligned(_rows(done))
    if done.summary is not None:
        lines += ["", *aligned(list(_summary_rows(done.summary)))]
    click.echo("\n".join(lines))
    if done.rows and done.bad_rows == done.rows:
        sys.exit(BAD_INPUT)


batch.params.append(URL)
