"""Moments of a request: read into UTC, and written back by the clock that the request went by."""

from __future__ import annotations

import datetime
import re
from typing import Any

import numpy as np
from marshmallow import fields

from ..navmath.errors import OutOfRangeError
from ..navmath.skies.sky_time import moments
from .fields import Member

__all__ = ["MOMENT_PATTERN", "Moment", "MomentText", "at_offset_of", "read_moment", "universal"]

#: A moment of ISO 8601, to the minute or finer, which says how far its clock is from UTC. Whether there is such a day and
#: hour is seen when it is read.
MOMENT_PATTERN = re.compile(
    "[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:[.][0-9]{1,3})?)?(?:Z|[+-][0-9]{2}:[0-9]{2})"
)

_EPOCH = datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
_MILLISECOND = datetime.timedelta(milliseconds=1)


class MomentText(Member):
    """A moment in ISO 8601 with its offset from UTC, or ``now`` for the service's clock; loads as text of that form."""

    def __init__(self, description: str, **options: Any) -> None:
        allowed = "a moment such as 2026-11-25T16:30Z or 2026-11-25T17:30:15+01:00, or now"
        super().__init__(description, allowed=allowed, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:  # noqa: ARG002 - marshmallow's
        if value == "now":
            return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")
        if not isinstance(value, str) or MOMENT_PATTERN.fullmatch(value) is None:
            raise self.refuse("This is no moment with its offset from UTC.", "wrong_type")
        return value


class Moment(fields.DateTime):
    """A moment of an answer, as ISO 8601 has it, with its offset from UTC."""

    def __init__(self, description: str, **options: Any) -> None:
        super().__init__(metadata={"description": description}, **options)

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str:  # noqa: ARG002 - likewise
        text: str = value.isoformat()
        return text.replace("+00:00", "Z")


def read_moment(text: str, member: str) -> datetime.datetime:
    """The moment of a loaded `MomentText`, with its offset.

    Raises `OutOfRangeError`, naming ``member``, where there is no such day or hour, or the sky is not known for it.
    """
    try:
        moment = datetime.datetime.fromisoformat(text)
        moments(universal(moment))
    except OutOfRangeError as error:
        error.member = member
        raise
    except ValueError:
        raise OutOfRangeError(
            f"there is no moment {text}", member=member, value=text, allowed="a day and an hour that there is"
        ) from None
    return moment


def universal(moment: datetime.datetime) -> np.datetime64:
    """A moment with an offset as the mathematics has it, in UTC."""
    return np.datetime64((moment - _EPOCH) // _MILLISECOND, "ms")


def at_offset_of(given: datetime.datetime, moment: np.datetime64) -> datetime.datetime:
    """A moment in UTC, to the nearest second, by the clock of the moment given."""
    seconds = int(np.rint((moment - np.datetime64(0, "ms")) / np.timedelta64(1, "s")))
    return (_EPOCH + datetime.timedelta(seconds=seconds)).astimezone(given.tzinfo)
