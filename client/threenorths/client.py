"""The client: one object for all operations."""

from __future__ import annotations

import os
from types import TracebackType
from typing import Self

import requests

from .bearings import BearingOperations
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

__all__ = ["DEFAULT_URL", "URL_VARIABLE", "Client"]

#: Where a service is looked for that nobody named.
DEFAULT_URL = "http://127.0.0.1:8080"

#: Environment variable that names the service.
URL_VARIABLE = "THREENORTHS_URL"


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
        self.service = ServiceOperations(self._transport)

    @property
    def base_url(self) -> str:
        """The address that requests go to, without a slash at its end."""
        return self._transport.base_url

    def close(self) -> None:
        """Close the client's connections."""
        self._transport.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
