"""How far a batch from file to file has come, kept so that neither a killed program nor a power cut loses it."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from .batch_pieces import Mark
from .errors import ArgumentError, FileError

try:
    import fcntl
except ImportError:  # there is none on Windows, where two runs at once are left to the user's care
    fcntl = None  # type: ignore[assignment]  # a module or nothing

__all__ = [
    "JOINED_NAME",
    "UNFINISHED_PART_NAME",
    "BatchState",
    "emptied",
    "has_state",
    "is_ours",
    "locked",
    "part_path",
    "read_state",
    "removed",
    "source_traits",
    "sync_folder",
    "write_state",
]

#: Of this arrangement of the folder; another is not gone on with.
FORMAT = 1

#: So much of a source's beginning is looked at to tell whether it is the same. [bytes]
HEAD_BYTES = 65_536

_NAME = "state.json"

#: What holds the lock of a folder.
_LOCK_NAME = "lock"

#: The answer while its parts are joined, and a part while it is written.
JOINED_NAME, UNFINISHED_PART_NAME = "joined", "part.new"


@dataclass(frozen=True, slots=True)
class BatchState:
    """What has been answered: of which source, asked how, how many parts, and up to where."""

    source: Mapping[str, Any]
    asked: Mapping[str, Any]
    parts: int = 0
    rows: int = 0
    byte: int = 0
    #: How much the parts hold together.
    bytes_kept: int = 0
    bad_rows: int = 0
    summary: dict[str, Any] | None = None
    format: int = field(default=FORMAT)

    def with_part(self, end: Mark, size: int, bad_rows: int, summary: dict[str, Any] | None) -> BatchState:
        """The state with one more part, of ``size`` bytes, up to ``end``; the rest is of all parts."""
        return replace(
            self,
            parts=self.parts + 1,
            rows=end.rows,
            byte=end.byte,
            bytes_kept=self.bytes_kept + size,
            bad_rows=bad_rows,
            summary=summary,
        )


def source_traits(path: Path) -> dict[str, Any]:
    """What tells a source from another, or from what it was before. Raises `FileError` where it cannot be read."""
    try:
        status = path.stat()
        with path.open("rb") as file:
            head = hashlib.sha256(file.read(HEAD_BYTES)).hexdigest()
    except OSError as error:
        raise FileError(f"the source {str(path)!r} cannot be read: {error.strerror or error}") from error
    return {"size": status.st_size, "modified_ns": status.st_mtime_ns, "head_sha256": head}


def read_state(folder: Path, source: Mapping[str, Any], asked: Mapping[str, Any]) -> BatchState | None:
    """The state of an earlier run; ``None`` where there was none.

    Raises `ArgumentError` where that run was of another source, was asked otherwise, or on another day though "today" is
    asked for, or its parts are not as it left them.
    """
    try:
        kept = json.loads((folder / _NAME).read_bytes())
    except FileNotFoundError:
        return None
    except ValueError:
        raise _refused(folder, "its state cannot be read") from None
    if not isinstance(kept, dict) or kept.get("format") != FORMAT:
        raise _refused(folder, "it was kept by another version of this client")
    if kept["source"] != source:
        raise _refused(folder, "the source has changed since")
    for name, value in asked.items():
        if kept["asked"].get(name) != value:
            if name == "today":
                begun = kept["asked"].get(name) or "another day"
                why = f"'today' was {begun} and is {value} by now, so begin with the date itself in its place"
                raise _refused(folder, why)
            raise _refused(folder, f"it was asked with another {name}: {kept['asked'].get(name)!r}")
    state = BatchState(**kept)
    if _bytes_kept(folder, state.parts) != state.bytes_kept:
        raise _refused(folder, "its parts are not as it left them")
    return state


def is_ours(folder: Path) -> bool:
    """Whether a folder is one of a batch, or a new one: nobody else's files are taken for parts, or lost with them."""
    return has_state(folder) or (folder / _LOCK_NAME).is_file() or not any(folder.iterdir())


def emptied(folder: Path) -> None:
    """Delete what a run has kept, and nothing else. The state goes first: without it, what is left is of no run."""
    (folder / _NAME).unlink(missing_ok=True)
    for path in list(folder.iterdir()):
        if path.name in (f"{_NAME}.new", JOINED_NAME, UNFINISHED_PART_NAME) or re.fullmatch(
            r"[0-9]{6,}", path.name
        ):
            path.unlink()


def removed(folder: Path) -> None:
    """Delete the folder, which is locked, with what a run has kept; what else is in it stays, and the folder with it."""
    emptied(folder)
    (folder / _LOCK_NAME).unlink(missing_ok=True)
    with suppress(OSError):
        folder.rmdir()


def has_state(folder: Path) -> bool:
    """Whether anything has been kept."""
    return (folder / _NAME).is_file()


def write_state(folder: Path, state: BatchState) -> None:
    """Keep the state in the place of the one before, on the disk itself and not only in the system's memory."""
    unfinished = folder / f"{_NAME}.new"
    with unfinished.open("wb") as file:
        file.write(json.dumps(asdict(state)).encode())
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(folder / _NAME)
    sync_folder(folder)


def part_path(folder: Path, part: int) -> Path:
    """The file of a part, numbered from 0."""
    return folder / f"{part:06d}"


def _bytes_kept(folder: Path, parts: int) -> int:
    """How much the parts hold that are there; -1 where one is missing."""
    paths = [part_path(folder, part) for part in range(parts)]
    return sum(path.stat().st_size for path in paths) if all(path.is_file() for path in paths) else -1


def sync_folder(folder: Path) -> None:
    """Have the folder's names on the disk itself, where the system can do that to a folder."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Keep other runs away from the folder. The system takes the lock off a killed program by itself."""
    path = folder / _LOCK_NAME
    with path.open("wb") as file:
        if fcntl is None:
            file.close()  # an open file could not be removed there
        else:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                # A run that ended in this moment has removed the file, and a third may have made its own.
                is_held = os.path.samestat(os.fstat(file.fileno()), path.stat())
            except (BlockingIOError, FileNotFoundError):
                is_held = False
            if not is_held:
                raise ArgumentError(f"another run is writing into {folder.name!r} at this moment")
        yield


def _refused(folder: Path, why: str) -> ArgumentError:
    return ArgumentError(
        f"the run that left {folder.name!r} cannot be gone on with: {why}; remove that folder, or say that it is not to "
        "be resumed, to begin anew"
    )
