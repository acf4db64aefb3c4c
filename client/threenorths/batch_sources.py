"""What a batch may be asked about, and how each kind of source is split into pieces."""

from __future__ import annotations

import os
from collections.abc import Generator, Iterable, Mapping
from pathlib import Path
from typing import Any, Protocol

from .batch_arrow_sources import ArrowRows, arrow_file_rows, frame_rows
from .batch_line_sources import CsvFile, DictRows, NdjsonFile
from .batch_pieces import Mark, Piece
from .errors import ArgumentError

__all__ = ["ArrowStream", "BatchSource", "Source", "file_source", "source_of"]


class ArrowStream(Protocol):
    """What gives its columns by the Arrow PyCapsule interface: frames of pandas and polars, Arrow tables and readers."""

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        """A capsule with the stream."""


#: What `Client.batch` takes.
BatchSource = Iterable[Mapping[str, Any]] | str | os.PathLike[str] | ArrowStream


class Source(Protocol):
    """Rows that can be split into pieces. ``total_rows`` or ``total_bytes`` say how much there is, where that is known."""

    @property
    def media(self) -> str:
        """The media type of its pieces."""

    @property
    def total_rows(self) -> int | None:
        """How many rows there are."""

    @property
    def total_bytes(self) -> int | None:
        """How many bytes there are."""

    def pieces(self, rows_per_request: int, after: Mark) -> Generator[Piece, None, None]:
        """The pieces of what comes after the mark."""


def source_of(source: BatchSource) -> Source:
    """The source that an argument is. Raises `ArgumentError` where it is none."""
    if isinstance(source, str | os.PathLike):
        return file_source(Path(source))
    home = type(source).__module__.partition(".")[0]
    if home in ("pandas", "polars", "pyarrow") or hasattr(source, "__arrow_c_stream__"):
        return frame_rows(source, home)
    if isinstance(source, Mapping | bytes) or not isinstance(source, Iterable):
        raise ArgumentError(
            f"the source is no source of rows but {source!r:.100}; use an iterable of dictionaries, the path of a file, a "
            "frame of pandas or polars, or an Arrow table"
        )
    return DictRows(source)


def file_source(path: Path) -> CsvFile | NdjsonFile | ArrowRows:
    """The source that a file is by the ending of its name. Raises `ArgumentError` or `FileError`."""
    match path.suffix.lower():
        case ".csv":
            return CsvFile(path)
        case ".ndjson" | ".jsonl":
            return NdjsonFile(path)
        case ".parquet" | ".arrow":
            return arrow_file_rows(path)
    raise ArgumentError(
        f"{path.name!r} does not say what it holds; sources end in .csv, .ndjson, .jsonl, .parquet or .arrow"
    )
