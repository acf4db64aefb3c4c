"""Adding up the summaries of a batch's parts, whatever members they have."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from .errors import ResponseError

__all__ = ["merged"]

#: Sums are whole millionths of their unit; so rounded, they come out the same in whatever parts they are added.
_PLACES = 6


def merged(one: Mapping[str, Any] | None, other: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The summary of the rows of both; ``None`` is that of no rows.

    Numbers are added, lists of numbers one by one; of what begins with ``largest`` the larger is taken; ``edges`` stay as
    they are; a ``mean`` beside ``sum`` and ``count`` is worked out from these. Raises `ResponseError` where the two do not
    fit.
    """
    if one is None or other is None:
        known = other if one is None else one
        return None if known is None else dict(known)
    names = [*one, *(name for name in other if name not in one)]
    both = {
        name: _merged_member(name, one[name], other[name])
        if name in one and name in other
        else one.get(name, other.get(name))
        for name in names
    }
    if {"mean", "sum", "count"} <= both.keys():
        both["mean"] = both["sum"] / both["count"] if both["count"] else None
    return both


def _merged_member(name: str, one: Any, other: Any) -> Any:
    if one is None or other is None:
        return other if one is None else one
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return merged(one, other)
    if name == "edges" or isinstance(one, str | bool):
        if one != other:
            raise _misfit(name)
        return one
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            raise _misfit(name)
        return [_merged_member("", *pair) for pair in zip(one, other, strict=True)]
    if not (_is_number(one) and _is_number(other)):
        raise _misfit(name)
    if name.startswith("largest"):
        return max(one, other)
    total = one + other
    return round(total, _PLACES) if isinstance(total, float) else total


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _misfit(name: str) -> ResponseError:
    return ResponseError(
        f"the summaries of two parts do not fit together: {name or 'an entry'} differs in kind"
    )
