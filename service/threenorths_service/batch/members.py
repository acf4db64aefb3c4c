"""The columns that a batch of an operation takes: each member of a request by its path, such as ``sights.0.bearing``."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any, Literal

import pyarrow as pa
from marshmallow import Schema, fields

from ..operations.fields import Bearing, Flag, List, Number, Scale, WholeNumber
from ..operations.north_angles import GIVEN_ANGLES
from ..operations.operation import Operation
from ..operations.request_schemas import OneOf
from ..operations.shapes_given import GivenLine

__all__ = ["Kind", "Member", "likely_meant", "member_of", "members_of", "parts_of"]

#: What a column holds. ``mixed`` is a number or a text; ``json`` a list or an object, as JSON text.
Kind = Literal["text", "number", "whole", "flag", "mixed", "json"]

ARROW_TYPES: Mapping[str, pa.DataType] = {
    "text": pa.string(),
    "number": pa.float64(),
    "whole": pa.int64(),
    "flag": pa.bool_(),
    # A row with a text there goes by itself.
    "mixed": pa.float64(),
    "json": pa.string(),
}
#: So like a member's name that a slip is likelier than a name of the caller's own.
LIKENESS = 0.8
#: A name longer than this is like none.
LONGEST_NAME = 100


@dataclass(frozen=True, slots=True)
class Member:
    """One column of a request: its path, what it holds, and what the schema says of it."""

    path: str
    kind: Kind
    description: str
    required: bool
    #: Of a list, the most that its places can be; a place is written as a number in the path.
    most: int | None = None

    @property
    def arrow_type(self) -> pa.DataType:
        """The type of its column in Arrow."""
        return ARROW_TYPES[self.kind]


def parts_of(path: str) -> list[str | int]:
    """The steps of a path; what is all figures is a place in a list."""
    return [int(part) if part.isdigit() else part for part in path.split(".")]


@cache
def members_of(operation: Operation) -> Mapping[str, Member]:
    """The members by path; in the path of a list's members, the place is 0 and stands for any."""
    return {member.path: member for member in _members(operation.request, "")}


def member_of(operation: Operation, path: str) -> Member | None:
    """The member that a column's name is the path of, if there is one."""
    try:
        parts = parts_of(path)
    except ValueError:  # figures beyond what is a number
        return None
    general = ".".join("0" if isinstance(part, int) else part for part in parts)
    members = members_of(operation)
    member = members.get(general)
    if member is None or general == path:
        return member
    seen: list[str] = []
    for part in parts:
        if isinstance(part, int):
            most = members[".".join(seen)].most or 0
            if part >= most:
                return None
        seen.append("0" if isinstance(part, int) else part)
    return replace(member, path=path)


def likely_meant(operation: Operation, name: str) -> str | None:
    """The member that a column was likely meant for whose name is no member's; ``None`` of a name of the caller's own."""
    return None if len(name) > LONGEST_NAME else _meant(operation, name)


@lru_cache(maxsize=10_000)
def _meant(operation: Operation, name: str) -> str | None:
    members = members_of(operation)
    plain = name.strip().casefold()
    if plain in members:
        return plain
    if "north" in members and plain in GIVEN_ANGLES:
        return "north"  # whoever gives an angle wants bearings turned by it, and here it would do nothing
    if plain.split(".")[0] in {path.split(".")[0] for path in members}:
        near = difflib.get_close_matches(plain, members, n=1, cutoff=0.0)
        return near[0]
    if plain.endswith(("_deg", "_m")):
        # Of a place, not of the sheet: its members are too many, and "year" may well be the caller's own.
        homes = [path for path in members if path.endswith(f".{plain}") and not path.startswith("sheet.")]
        homes.sort(key=lambda path: path.startswith("near."))
        if homes:
            return homes[0]
    near = difflib.get_close_matches(
        plain, [path for path in members if "." not in path], n=1, cutoff=LIKENESS
    )
    return near[0] if near else None


def _members(schema: Schema, prefix: str) -> Iterator[Member]:
    for name, field in schema.fields.items():
        yield from _member(field, f"{prefix}{field.data_key or name}")


def _member(field: fields.Field[Any], path: str) -> Iterator[Member]:
    description, required = str(field.metadata.get("description", "")), field.required
    if isinstance(field, fields.Nested):
        yield from _members(field.schema, f"{path}.")
    elif isinstance(field, List):
        yield Member(path, "json", description, required, field.maximum)
        yield from _member(field.inner, f"{path}.0")
    elif isinstance(field, OneOf):
        if field.TEXT:
            yield Member(path, "text", description, required)
        yield from _forms(field, path)
    else:
        yield Member(path, _kind(field), description, required)


def _forms(field: OneOf, path: str) -> Iterator[Member]:
    """The members of every form of an object, each once."""
    seen: dict[str, Member] = {}
    for schema in field.FORMS:
        for member in _members(schema, f"{path}."):
            seen.setdefault(member.path, member)
    for member in seen.values():
        yield Member(member.path, member.kind, member.description, required=False)


def _kind(field: fields.Field[Any]) -> Kind:
    for types, kind in _KINDS:
        if isinstance(field, types):
            return kind
    return "text"


_KINDS: tuple[tuple[tuple[type, ...], Kind], ...] = (
    ((Number,), "number"),
    ((WholeNumber,), "whole"),
    ((Flag,), "flag"),
    ((Bearing, Scale), "mixed"),
    ((GivenLine,), "json"),
)
