"""Sending requests, and again where that is safe and may help. All that is known of `requests` is known here."""

from __future__ import annotations

import http.cookiejar
import platform
import secrets
import time
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.metadata import version
from urllib.parse import urlsplit

import requests
import urllib3.exceptions
from requests.adapters import HTTPAdapter

from .errors import ArgumentError, TimedOutError, TransportError
from .waiting import LONGEST_RETRY_AFTER_S, retry_after_s, wait_s

__all__ = ["GEOJSON", "RETRIED_STATUSES", "Reply", "Transport"]

#: Media types of answers.
JSON, GEOJSON = "application/json", "application/geo+json"

#: Answers of a proxy or a service that is overloaded or starting. Not 500: a fault of the program repeats itself.
RETRIED_STATUSES = frozenset({429, 502, 503, 504})

#: Connections kept open, so that as many threads share a client without opening new ones. A thread more still works.
POOLED_CONNECTIONS = 32

USER_AGENT = (
    f"threenorths/{version('threenorths')} python/{platform.python_version()} requests/{requests.__version__}"
)


@dataclass(frozen=True, slots=True)
class Reply:
    """What came back, whatever it is."""

    status: int
    content_type: str
    location: str | None
    body: bytes
    request_id: str


class Transport:
    """A base URL and the session to reach it through. Threads may share it.

    The retries are not left to urllib3, which cannot tell a connection that broke (worth another try: the server closed it
    while it lay idle) from a read that timed out (not so: the caller has waited long enough), and does not try again
    when an answer breaks off in its middle.
    """

    def __init__(
        self, base_url: str, timeout_s: tuple[float, float], retries: int, session: requests.Session | None
    ) -> None:
        self.base_url = _checked_url(base_url)
        self._timeout_s = timeout_s
        self._retries = retries
        self._owns_session = session is None
        self._session = _new_session() if session is None else session

    def close(self) -> None:
        """Close the connections. A session that was handed in stays open: it is its owner's."""
        if self._owns_session:
            self._session.close()

    def send(
        self,
        method: str,
        path: str,
        body: bytes | None = None,
        accept: str = JSON,
        *,
        content_type: str = JSON,
        headers: Mapping[str, str] | None = None,
    ) -> Reply:
        """The service's reply, of whatever status, asked for up to ``retries`` times more.

        ``content_type`` is the body's; ``headers`` are further ones of the request. Every operation is a pure function of its
        request, so a POST too may be repeated. Raises `TransportError`.
        """
        request_id = secrets.token_hex(8)
        sent = {"Accept": accept, "User-Agent": USER_AGENT, "X-Request-ID": request_id, **(headers or {})}
        if body is not None:
            sent["Content-Type"] = content_type
        retry = 0
        while True:
            last = retry >= self._retries
            try:
                response = self._send_once(method, path, body, sent)
            except (requests.ConnectionError, requests.exceptions.ChunkedEncodingError) as error:
                if last or _is_hopeless(error):
                    raise self._transport_error(error, request_id) from error
                wait = wait_s(retry)
            except (requests.RequestException, urllib3.exceptions.HTTPError) as error:
                raise self._transport_error(error, request_id) from error
            else:
                asked = retry_after_s(response.headers.get("Retry-After"))
                patient = asked is None or asked <= LONGEST_RETRY_AFTER_S
                if last or response.status_code not in RETRIED_STATUSES or not patient:
                    return _reply(response, request_id)
                wait = wait_s(retry) if asked is None else asked
            time.sleep(wait)
            retry += 1

    def _send_once(
        self, method: str, path: str, body: bytes | None, headers: dict[str, str]
    ) -> requests.Response:
        # The URL is put together by hand: urljoin would lose the base URL's own path.
        return self._session.request(
            method,
            self.base_url + path,
            data=body,
            headers=headers,
            timeout=self._timeout_s,
            allow_redirects=False,
            stream=False,  # whatever the session says: the body is to break off here, where that is caught
        )

    def _transport_error(self, error: Exception, request_id: str) -> TransportError:
        place = _without_password(self.base_url)
        if _is_timeout(error):
            connect_s, read_s = self._timeout_s
            return TimedOutError(
                f"no answer from {place} in time ({connect_s:g} s to connect, {read_s:g} s to answer)",
                request_id,
            )
        return TransportError(f"no answer from {place}: {_reason(error)}", request_id)


def _new_session() -> requests.Session:
    session = requests.Session()
    # Cookies are the one thing that a session changes from request to request. With none kept, threads may share it,
    # and no answer can depend on an earlier one.
    session.cookies.set_policy(http.cookiejar.DefaultCookiePolicy(allowed_domains=[]))
    adapter = HTTPAdapter(pool_maxsize=POOLED_CONNECTIONS)
    session.mount("http://", adapter)
    session.mount("https://", adapter)
    return session


def _checked_url(base_url: str) -> str:
    try:
        parts = urlsplit(base_url.strip())
        valid = (
            parts.scheme in ("http", "https") and bool(parts.hostname) and not (parts.query or parts.fragment)
        )
        valid = valid and (parts.port is None or parts.port > 0)
    except ValueError:
        valid = False
    if not valid:
        raise ArgumentError(
            f"{base_url!r} is no address of a service; write it like http://127.0.0.1:8080 or "
            "https://host.example/path"
        )
    return base_url.strip().rstrip("/")


def _without_password(url: str) -> str:
    parts = urlsplit(url)
    return parts._replace(netloc=parts.netloc.rpartition("@")[2]).geturl()


def _reply(response: requests.Response, request_id: str) -> Reply:
    return Reply(
        status=response.status_code,
        content_type=response.headers.get("Content-Type", "").partition(";")[0].strip().lower(),
        location=response.headers.get("Location"),
        body=response.content,
        request_id=response.headers.get("X-Request-ID", request_id),
    )


def _is_timeout(error: Exception) -> bool:
    # A read that times out within the body comes as a ConnectionError about it.
    return isinstance(error, requests.Timeout) or any(
        isinstance(argument, urllib3.exceptions.ReadTimeoutError) for argument in error.args
    )


def _is_hopeless(error: Exception) -> bool:
    """Whether another try would end the same: a certificate stays wrong, and time that ran out was the caller's bound."""
    read_timeout = _is_timeout(error) and not isinstance(error, requests.ConnectTimeout)
    return read_timeout or isinstance(error, requests.exceptions.SSLError)


def _reason(error: BaseException) -> str:
    """The innermost reason, which says in plain words what the layers above it wrap."""
    inner = error
    while True:
        reason = getattr(inner, "reason", None)
        beneath = [part for part in (reason, *inner.args, inner.__cause__) if isinstance(part, BaseException)]
        if not beneath:
            break
        inner = beneath[0]
    text = getattr(inner, "strerror", None) or str(inner) or type(inner).__name__
    return str(text)
