"""A batch from file to file, which goes on where it stopped."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

from .batch_options import BatchOptions
from .batch_parts import ANSWER_MEDIA, join_parts, place, write_part
from .batch_pieces import ARROW, Mark
from .batch_sources import file_source
from .batch_state import (
    BatchState,
    emptied,
    has_state,
    is_ours,
    locked,
    read_state,
    removed,
    source_traits,
    write_state,
)
from .batches import BatchProgress, answered_parts
from .errors import ArgumentError, FileError
from .optional_libraries import library
from .transport import Transport

__all__ = ["BatchFile", "answer_file", "parts_folder"]


@dataclass(frozen=True, slots=True)
class BatchFile:
    """A batch that has been written to a file: what `Client.batch_file` gives.

    ``rows`` are all rows of the answer, ``bad_rows`` those with an error in the place of an answer, and ``resumed_rows``
    those that an earlier run had answered. ``summary`` is that of checks, ``None`` of other operations.
    """

    path: Path
    rows: int
    bad_rows: int
    resumed_rows: int
    summary: dict[str, Any] | None


def parts_folder(answer_path: Path) -> Path:
    """The folder beside an answer in which its parts wait until all are there."""
    return answer_path.with_name(answer_path.name + ".part")


def answer_file(
    transport: Transport,
    options: BatchOptions,
    source_path: Path,
    answer_path: Path,
    resume: bool,
    overwrite: bool,
    bar: bool | None,
) -> BatchFile:
    """Write the answers to ``source_path`` into ``answer_path``; see `Client.batch_file`."""
    accept = _checked_media(options, source_path, answer_path, overwrite)
    traits = source_traits(source_path)
    asked = {"operation": options.operation, "query": options.query, "media": accept}
    if any(value == "today" for _, value in parse_qsl(options.query)):
        asked["today"] = datetime.datetime.now(datetime.UTC).date().isoformat()  # as the service takes it
    folder = parts_folder(answer_path)
    with _file_errors(answer_path):
        folder.mkdir(exist_ok=True)
        if not is_ours(folder):
            raise FileError(
                f"the folder {str(folder)!r}, which the parts of the answer would wait in, holds something else; move it "
                "away, or give the answer another name"
            )
        with locked(folder):
            if not resume:
                emptied(folder)
            state = read_state(folder, traits, asked) or BatchState(traits, asked)
            resumed_rows = state.rows
            try:
                state = _answered(transport, options, source_path, accept, folder, state, bar)
            except BaseException:
                if not has_state(folder):
                    removed(folder)  # nothing is in it to go on with
                raise
            if source_traits(source_path) != traits:
                raise ArgumentError(f"the source {source_path.name!r} was changed while it was read")
            place(join_parts(folder, state.parts, answer_path), answer_path, overwrite)
            removed(folder)
    return BatchFile(answer_path, state.rows, state.bad_rows, resumed_rows, state.summary)


def _answered(
    transport: Transport,
    options: BatchOptions,
    source_path: Path,
    accept: str,
    folder: Path,
    state: BatchState,
    bar: bool | None,
) -> BatchState:
    """Ask for all that has no answer yet, and keep each part, with how far that is, before the next is waited for."""
    source = file_source(source_path)
    progress = BatchProgress(state.rows, state.bad_rows, state.summary)
    after = Mark(state.rows, state.byte)
    for part in answered_parts(transport, source, options, accept, progress, bar, after):
        size = write_part(folder, state.parts, part, accept)
        state = state.with_part(part.end, size, progress.bad_rows, progress.summary)
        write_state(folder, state)
    return state


def _checked_media(options: BatchOptions, source_path: Path, answer_path: Path, overwrite: bool) -> str:
    """The medium that the answer's name asks for. Raises `ArgumentError` where the answer may not be written there."""
    if not options.rows_come:
        raise ArgumentError("a file is of rows: ask for the summary alone with Client.batch")
    try:
        accept = ANSWER_MEDIA[answer_path.suffix.lower()]
    except KeyError:
        endings = ", ".join(ANSWER_MEDIA)
        raise ArgumentError(
            f"{answer_path.name!r} does not say what it is to hold; answers end in {endings}"
        ) from None
    if accept == ARROW:
        library("pyarrow", f"a {answer_path.suffix} file")
    if not answer_path.parent.is_dir():
        raise ArgumentError(f"there is no folder {str(answer_path.parent)!r} for the answer")
    if answer_path.exists():
        if source_path.exists() and answer_path.samefile(source_path):
            raise ArgumentError("the answer would take the place of its source; give it another name")
        if not overwrite:
            raise ArgumentError(f"the answer {str(answer_path)!r} is there already, and is not overwritten")
    return accept


@contextmanager
def _file_errors(answer_path: Path) -> Iterator[None]:
    """Tell what goes wrong with the files as a `FileError`."""
    try:
        yield
    except OSError as error:
        message = f"the answer {str(answer_path)!r} cannot be written: {error.strerror or error}"
        raise FileError(message) from error
