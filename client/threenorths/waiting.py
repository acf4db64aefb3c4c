"""How long to wait before asking again."""

from __future__ import annotations

import datetime
import email.utils
import random

__all__ = ["LONGEST_RETRY_AFTER_S", "LONGEST_WAIT_S", "retry_after_s", "wait_s"]

#: First wait, doubled at each further one. [s]
FIRST_WAIT_S = 0.2
#: No wait of the client's own is longer. [s]
LONGEST_WAIT_S = 5.0
#: A service that asks for more patience than this is given up at once, rather than asked too soon. [s]
LONGEST_RETRY_AFTER_S = 30.0


def wait_s(retry: int) -> float:
    """The wait before the retry numbered from 0. [s]

    Half of it is drawn by lot, so that many clients thrown off at one moment do not come back at one moment.
    """
    longest = min(FIRST_WAIT_S * 2.0**retry, LONGEST_WAIT_S)
    return longest * random.uniform(0.5, 1.0)  # noqa: S311 - nothing secret


def retry_after_s(header: str | None) -> float | None:
    """What a ``Retry-After`` header (RFC 9110, section 10.2.3) asks for; ``None`` where it asks for nothing. [s]"""
    if header is None:
        return None
    text = header.strip()
    if text.isascii() and text.isdigit():
        return float(text)
    try:
        moment = email.utils.parsedate_to_datetime(text)
    except ValueError:
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=datetime.UTC)
    return max((moment - datetime.datetime.now(datetime.UTC)).total_seconds(), 0.0)
