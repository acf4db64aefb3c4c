"""The parts of an answer on their way into one file, which is there under its name either whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, BinaryIO

from .batch_answers import PartAnswer
from .batch_arrow_answers import conformed, unified_schema
from .batch_csv import quoted_whole
from .batch_csv_answers import rearranged, united_head
from .batch_pieces import ARROW, CSV, NDJSON
from .batch_state import JOINED_NAME, UNFINISHED_PART_NAME, part_path, sync_folder
from .errors import ArgumentError, FileError
from .optional_libraries import library

__all__ = ["ANSWER_MEDIA", "join_parts", "place", "write_part"]

#: The medium of an answer by the ending of its file's name.
ANSWER_MEDIA = {".csv": CSV, ".ndjson": NDJSON, ".jsonl": NDJSON, ".parquet": ARROW, ".arrow": ARROW}


def write_part(folder: Path, part: int, answer: PartAnswer, accept: str) -> int:
    """Write a part, so that it is whole on the disk before it has its name; its size. [bytes]"""
    unfinished = folder / UNFINISHED_PART_NAME
    with unfinished.open("wb") as file:
        if accept == ARROW:
            _write_table(file, answer.table)
        else:
            file.write(answer.head)
            file.writelines(line if line.endswith(b"\n") else line + b"\n" for line in answer.lines)
        file.flush()
        os.fsync(file.fileno())
    size = unfinished.stat().st_size
    unfinished.replace(part_path(folder, part))
    sync_folder(folder)
    return size


def _write_table(file: BinaryIO, table: Any) -> None:
    pa = library("pyarrow", "an answer in Parquet or Arrow")
    pq = library("pyarrow.parquet", "an answer in Parquet or Arrow")
    try:
        pq.write_table(table, file, row_group_size=max(table.num_rows, 1))
    except pa.ArrowException as error:
        raise FileError(f"the answer cannot be kept as Parquet: {error}") from error


def join_parts(folder: Path, parts: int, answer_path: Path) -> Path:
    """Write all parts into one file, holding no more than one of them in memory; the file's path."""
    joined = folder / JOINED_NAME
    # A run that was killed may have left it as a second name of the answer, which writing into it would destroy.
    joined.unlink(missing_ok=True)
    paths = [part_path(folder, part) for part in range(parts)]
    match answer_path.suffix.lower():
        case ".parquet":
            _join_parquet(paths, joined)
        case ".arrow":
            _join_arrow(paths, joined)
        case ".csv":
            _join_csv(paths, joined)
        case _:
            with joined.open("wb") as file:
                for path in paths:
                    _copy(path, file)
    with joined.open("rb+") as file:
        os.fsync(file.fileno())
    return joined


def place(joined: Path, answer_path: Path, overwrite: bool) -> None:
    """Give the whole answer its name. Raises `ArgumentError` where something else got that name meanwhile."""
    if overwrite:
        joined.replace(answer_path)
    else:
        try:
            os.link(joined, answer_path)  # which, unlike a renaming, never takes the place of another file
        except FileExistsError:
            raise ArgumentError(
                f"the answer {str(answer_path)!r} is there by now, and is not overwritten"
            ) from None
        except OSError:  # no file of two names on this disk
            if answer_path.exists():
                raise
            joined.rename(answer_path)
        else:
            joined.unlink()
    sync_folder(answer_path.parent)


def _copy(path: Path, file: BinaryIO) -> None:
    with path.open("rb") as part:
        shutil.copyfileobj(part, file, 1 << 20)


def _join_csv(paths: Sequence[Path], joined: Path) -> None:
    heads = []
    for path in paths:
        with path.open("rb") as part:
            heads.append(next(quoted_whole(part), b""))
    head = united_head(heads)
    with joined.open("wb") as file:
        file.write(head)
        for path, own in zip(paths, heads, strict=True):
            with path.open("rb") as part:
                part.seek(len(own))
                if own == head:
                    shutil.copyfileobj(part, file, 1 << 20)
                else:
                    file.writelines(rearranged(own, quoted_whole(part), head))


def _join_parquet(paths: Sequence[Path], joined: Path) -> None:
    pq = library("pyarrow.parquet", "an answer in Parquet")
    schema = _schema(paths)
    with pq.ParquetWriter(joined, schema, compression="zstd") as writer:
        for table in _tables(paths, schema):
            writer.write_table(table, row_group_size=max(table.num_rows, 1))


def _join_arrow(paths: Sequence[Path], joined: Path) -> None:
    pa = library("pyarrow", "an answer in Arrow")
    schema = _schema(paths)
    with pa.ipc.new_file(str(joined), schema) as writer:
        for table in _tables(paths, schema):
            writer.write_table(table)


def _schema(paths: Sequence[Path]) -> Any:
    pq = library("pyarrow.parquet", "an answer in Parquet or Arrow")
    return unified_schema([pq.read_schema(path) for path in paths])


def _tables(paths: Sequence[Path], schema: Any) -> Iterator[Any]:
    pq = library("pyarrow.parquet", "an answer in Parquet or Arrow")
    for path in paths:
        with path.open("rb") as file:
            table = pq.read_table(file)
        if table.num_rows:
            yield conformed(table, schema)
