"""The client: one object for all operations."""

from __future__ import annotations

import os
from collections.abc import Generator, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import requests

from .batch_answers import PartAnswer
from .batch_files import BatchFile, answer_file
from .batch_options import SummaryChoice, batch_options
from .batch_sources import BatchSource, source_of
from .batches import Batch, BatchProgress, answered_parts
from .bearings import BearingOperations
from .checks import CheckOperations
from .compass_checks import CompassCheckOperations
from .compass_settings import CompassSettingOperations
from .fixes import FixOperations
from .gradients import GradientOperations
from .heights import HeightOperations
from .intersections import IntersectionOperations
from .lines import LineOperations
from .local_attractions import LocalAttractionOperations
from .map_distances import MapDistanceOperations
from .mil_relations import MilRelationOperations
from .norths import NorthOperations
from .positions import PositionOperations
from .rays import RayOperations
from .reckonings import ReckoningOperations
from .resections import ResectionOperations
from .search_areas import SearchAreaOperations
from .service import ServiceOperations
from .sheets import SheetOperations
from .sight_lines import SightLineOperations
from .sky_bearings import SkyBearingOperations
from .transport import Transport
from .travel_times import TravelTimeOperations
from .twilights import TwilightOperations
from .widths import WidthOperations

__all__ = ["DEFAULT_URL", "REQUESTS_AT_ONCE", "ROWS_PER_REQUEST", "URL_VARIABLE", "Client"]

#: Where a service is looked for that nobody named.
DEFAULT_URL = "http://127.0.0.1:8080"

#: Environment variable that names the service.
URL_VARIABLE = "THREENORTHS_URL"

#: How a batch is split unless said otherwise: rows of a request, and requests under way at once.
ROWS_PER_REQUEST, REQUESTS_AT_ONCE = 20_000, 4


class Client:
    """Calls a threenorths service. Threads may share one client; use it in a ``with`` statement, or `close` it.

    Parameters
    ----------
    base_url
        Address of the service, with a path if it has one. Left out: the environment variable ``THREENORTHS_URL``, or
        else ``http://127.0.0.1:8080``.
    timeout_s
        How long to wait for a connection, and how long for the service to say anything once it has been asked; one
        number is for both. A wait that runs out is not repeated, but a connection that cannot be had is. [s]
    retries
        How many times more to ask after a broken connection or the statuses 429, 502, 503, 504, each after a longer
        wait. A ``Retry-After`` of the service is kept to, or above 30 s taken for an answer at once.
    session
        A `requests.Session` to send through, for a proxy, certificates or authentication of one's own. It is not
        changed and not closed; threads may share the client where they may share the session.

    Raises `ArgumentError` where the address is none. All methods raise errors of `threenorths.ThreeNorthsError` only:
    see `threenorths.errors`. In them ``None`` leaves a value to the service.
    """

    def __init__(
        self,
        base_url: str | None = None,
        *,
        timeout_s: float | tuple[float, float] = (3.05, 30.0),
        retries: int = 3,
        session: requests.Session | None = None,
    ) -> None:
        if base_url is None:
            base_url = os.environ.get(URL_VARIABLE) or DEFAULT_URL
        connect_s, read_s = timeout_s if isinstance(timeout_s, tuple) else (timeout_s, timeout_s)
        self._transport = Transport(base_url, (connect_s, read_s), retries, session)
        self.positions = PositionOperations(self._transport)
        self.sheets = SheetOperations(self._transport)
        self.norths = NorthOperations(self._transport)
        self.bearings = BearingOperations(self._transport)
        self.compass_settings = CompassSettingOperations(self._transport)
        self.map_distances = MapDistanceOperations(self._transport)
        self.lines = LineOperations(self._transport)
        self.rays = RayOperations(self._transport)
        self.reckonings = ReckoningOperations(self._transport)
        self.fixes = FixOperations(self._transport)
        self.intersections = IntersectionOperations(self._transport)
        self.resections = ResectionOperations(self._transport)
        self.widths = WidthOperations(self._transport)
        self.heights = HeightOperations(self._transport)
        self.mil_relations = MilRelationOperations(self._transport)
        self.travel_times = TravelTimeOperations(self._transport)
        self.gradients = GradientOperations(self._transport)
        self.sight_lines = SightLineOperations(self._transport)
        self.compass_checks = CompassCheckOperations(self._transport)
        self.local_attractions = LocalAttractionOperations(self._transport)
        self.sky_bearings = SkyBearingOperations(self._transport)
        self.twilights = TwilightOperations(self._transport)
        self.search_areas = SearchAreaOperations(self._transport)
        self.checks = CheckOperations(self._transport)
        self.service = ServiceOperations(self._transport)

    @property
    def base_url(self) -> str:
        """The address that requests go to, without a slash at its end."""
        return self._transport.base_url

    def batch(
        self,
        operation: str,
        source: BatchSource,
        *,
        members: Mapping[str, Any] | None = None,
        columns: str | Sequence[str] | None = None,
        summary: SummaryChoice | None = None,
        rows_per_request: int = ROWS_PER_REQUEST,
        at_once: int = REQUESTS_AT_ONCE,
        progress: bool | None = False,
        compress: bool = False,
    ) -> Batch:
        """Ask an operation about many rows; nothing is sent before the `Batch` is iterated.

        Parameters
        ----------
        operation
            The operation by its path, such as ``"positions"``.
        source
            The rows: an iterable of dictionaries, each as the body of a single request, which is drawn from as answers are
            taken; the path of a ``.csv``, ``.ndjson``, ``.jsonl``, ``.parquet`` or ``.arrow`` file; a frame of pandas or
            polars; or an Arrow table or reader. A column's name is the member's path, such as ``position`` or
            ``from.lat_deg``. Columns of one's own are carried along. NaN and infinity in a dictionary go by their names, and
            are the row's error where they stand for a member; in a frame NaN is nothing, as pandas means it.
        members
            Members that all rows have, such as ``{"date": "2026-11-25"}``. A row's own go before them.
        columns
            Which members of the answer are wanted, by path, or ``"all"``. Left out: the usual ones.
        summary
            Of checks only: whether they are summed up too, as the service does unless told not to; ``"only"`` gives no rows.
        rows_per_request
            A request holds no more rows than this, nor, of text, than 8 MiB.
        at_once
            How many requests are under way at once. As many again at most wait to be taken.
        progress
            Whether a progress bar is drawn on the standard error stream; ``None``, only if that is a terminal.
        compress
            Whether requests and answers are compressed with gzip, which is worth it on slow lines only.

        A request that fails is repeated by itself, as the client's ``retries`` say. Raises `ArgumentError` where it cannot be
        asked so, or a library is missing that the source needs, and `FileError`; the rest is raised while rows are taken.
        """
        options = batch_options(operation, members, columns, summary, rows_per_request, at_once, compress)
        rows = source_of(source)

        def ask(accept: str, so_far: BatchProgress) -> Generator[PartAnswer, None, None]:
            return answered_parts(self._transport, rows, options, accept, so_far, progress)

        return Batch(ask)

    def batch_file(
        self,
        operation: str,
        source_path: str | os.PathLike[str],
        answer_path: str | os.PathLike[str],
        *,
        members: Mapping[str, Any] | None = None,
        columns: str | Sequence[str] | None = None,
        summary: SummaryChoice | None = None,
        resume: bool = True,
        overwrite: bool = False,
        rows_per_request: int = ROWS_PER_REQUEST,
        at_once: int = REQUESTS_AT_ONCE,
        progress: bool | None = False,
        compress: bool = False,
    ) -> BatchFile:
        """Ask an operation about the rows of a file, and write the answers to another; go on where an earlier run stopped.

        The endings of the names, of those that `batch` takes, say what is read and what is written; the other arguments are
        those of `batch`. Parts of the answer wait in the folder ``<answer>.part``, on the disk from the moment they are
        there, until all are; then the answer gets its name, whole, and the folder goes. The same call again, after whatever
        stopped the first, asks only for what is missing. ``resume=False`` begins anew. An answer that is there already is
        kept, unless ``overwrite``.

        Raises `ArgumentError` where the answer is there already, or what was begun is of another source, was asked otherwise,
        or was asked for ``today`` on another day; `FileError` where a folder of that name is somebody else's; and else as
        `batch` and its `Batch` do.
        """
        options = batch_options(operation, members, columns, summary, rows_per_request, at_once, compress)
        return answer_file(
            self._transport, options, Path(source_path), Path(answer_path), resume, overwrite, progress
        )

    def close(self) -> None:
        """Close the client's connections."""
        self._transport.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
